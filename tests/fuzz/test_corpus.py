"""What once broke a reader, and a few hundred damaged inputs of a fixed seed."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

FUZZER = Path(__file__).parent / "fuzz_inputs.py"
CORPUS = Path(__file__).parent / "corpus"


@pytest.mark.skipif(os.name != "posix", reason="hangs are told by a signal of POSIX")
def test_no_input_ends_in_a_traceback_hangs_or_touches_a_file() -> None:
    ended = subprocess.run(
        [sys.executable, str(FUZZER), "--count", "500", "--seed", "1"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stdout + ended.stderr
    last = ended.stdout.splitlines()[-1]
    count = re.fullmatch(r"(\d+) inputs in \d+ s: 0 tracebacks, 0 hangs, 0 files touched", last)
    assert count is not None
    assert int(count[1]) > 500 + len(list(CORPUS.glob("*/*")))
    for what in ("case", "catalogue", "command line", "quantity"):
        assert re.search(rf"^{what}: [1-9]\d* inputs", ended.stdout, re.MULTILINE)
