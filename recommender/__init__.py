"""Recommends the cheapest carriers and loop that meet an enquiry, and explains the rest."""
