"""The fuzzer is a command of its own and imports what lies beside it."""

collect_ignore = ["fuzz_inputs.py"]
