"""Where stations stand and sections lie: the constraint model and its tables."""
