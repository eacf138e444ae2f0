"""Writes tests/slow.txt: the tests that the default run leaves out, so that it takes minutes.

``python tests/pick_slow.py DURATIONS [SECONDS]`` reads what
``python -m pytest -m "not nightly" --durations=0 --durations-min=0.05`` printed on an idle machine
and names each test that took longer. Files and worked cases stay listed as they are: what tests
share is paid for by the first that needs it, so that leaving out one test makes the next one slow.
The continuous integration runs all of them after the default run.
"""

import re
import sys
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.conftest import NIGHTLY, names_of

USUAL = 1.0
SLOW = Path(__file__).with_name("slow.txt")


def durations(text: str) -> dict[str, float]:
    """Seconds by test, its fixtures included.

    >>> durations("1.50s call     tests/a.py::test_b[c d]\\n0.25s setup    tests/a.py::test_b[c d]")
    {'tests/a.py::test_b[c d]': 1.75}
    """
    found: dict[str, float] = defaultdict(float)
    for line in text.splitlines():
        if entry := re.fullmatch(r"([\d.]+)s +(?:call|setup|teardown) +(\S.*)", line.strip()):
            found[entry[2].strip()] += float(entry[1])
    return dict(found)


def main() -> None:
    found = durations(Path(sys.argv[1]).read_text(encoding="utf-8"))
    longest = float(sys.argv[2]) if len(sys.argv) > 2 else USUAL
    listed = SLOW.read_text(encoding="utf-8").splitlines()
    head = [line for line in listed if line and ("::" not in line or line.startswith(NIGHTLY))]
    # A path of this machine is no name of a test.
    slow = sorted(
        {
            test.partition("[")[0] if "'/" in test else test
            for test, seconds in found.items()
            if seconds > longest
        }
    )
    kept = {line.removeprefix(NIGHTLY) for line in head}
    slow = [test for test in slow if not names_of(test) & kept]
    SLOW.write_text("\n".join([*head, *slow]) + "\n", encoding="utf-8")
    listed = {*kept, *slow}
    left = sum(seconds for test, seconds in found.items() if not names_of(test) & listed)
    print(f"{len(slow)} tests are slow by themselves; those that stay took {left:.0f} s of work")


if __name__ == "__main__":
    main()
