"""One carrier under its loads: bodies, load cases, and tables of motion settings."""
