"""Published values, each beside the function of ours that must reproduce it."""
