"""Commands by what they are about; each imports what it needs when it runs."""
