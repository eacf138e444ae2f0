"""From candidates to a choice that is built, audited, proven and reported."""
