"""Bounds over ranges of settings, and candidates on one loop."""
