"""The continuous range of motion settings, bounded box by box."""
