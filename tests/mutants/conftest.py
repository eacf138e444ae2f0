"""The run over mutants is a command of its own and imports what lies beside it."""

collect_ignore = ["run_mutants.py", "chosen.py", "forked.py", "seen.py"]
