"""Trials of an answer: carriers let run on their loop, many cases, and inputs that are not sure."""
