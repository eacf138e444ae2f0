"""Lines of loops: several loops tied by handovers, under one control."""
