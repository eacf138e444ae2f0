"""The page: a case as a form with its answer beside it, served to this machine alone."""
