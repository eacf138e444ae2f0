"""Which supply serves which sections, and where they are fed."""
