"""The same answer to the byte: alone or beside busy processes, on one thread or two, however the
keys of sets are scattered in memory.

The solver has one worker always. On two it proves the same and settles the same choice; what may
differ is where the stations of a dearer option were seated first.
"""

import contextlib
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from recommender.inputs.files import shipped

PROGRAM = Path(__file__).parent / "own_process.py"
QUICK = ("crate",)
NAMES = sorted(path.stem for path in shipped("cases").glob("*.toml"))


def answered(
    name: str, *, seed: int, threads: int, workers: int = 1, more: tuple[str, ...] = ()
) -> bytes:
    environment = {**os.environ, "PYTHONHASHSEED": str(seed)}
    # Threads of the numerical libraries.
    for library in ("OPENBLAS", "OMP", "MKL", "VECLIB_MAXIMUM"):
        environment[f"{library}_NUM_THREADS"] = str(threads)
    case = str(shipped("cases") / f"{name}.toml")
    words = [sys.executable, str(PROGRAM), str(workers), "answer", case, "--json", *more]
    ended = subprocess.run(words, env=environment, capture_output=True, check=False)
    assert ended.returncode in (0, 3), ended.stderr.decode()
    return ended.stdout


@contextlib.contextmanager
def busy(processes: int) -> Iterator[None]:
    """Other processes that never rest."""
    turning = [sys.executable, "-c", "while True: pass"]
    running = [subprocess.Popen(turning) for _ in range(processes)]
    try:
        yield
    finally:
        for process in running:
            process.kill()
            process.wait()


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[] if name in QUICK else pytest.mark.nightly) for name in NAMES],
)
def test_an_answer_is_the_same_alone_and_on_a_busy_machine(name: str) -> None:
    more = ("--brief",) if name in QUICK else ()
    alone = answered(name, seed=1, threads=1, more=more)
    with busy(4):
        beside = answered(name, seed=2, threads=2, more=more)
    assert beside == alone


@pytest.mark.nightly
@pytest.mark.parametrize("name", QUICK)
def test_a_quick_answer_in_full_is_the_same_too(name: str) -> None:
    alone = answered(name, seed=1, threads=1)
    with busy(4):
        assert answered(name, seed=2, threads=2) == alone


def settled(text: bytes) -> dict[str, Any]:
    """An answer without what is only found first and not settled: how a dearer option is built."""
    answer = json.loads(text)
    told = ("id", "verdict", "price", "at_least", "carriers", "conflicts", "relaxations", "causes")
    answer["options"] = [
        option if option["verdict"] == "recommended" else {key: option[key] for key in told}
        for option in answer["options"]
    ]
    return dict(answer)


@pytest.mark.nightly
@pytest.mark.parametrize("name", NAMES)
def test_what_is_settled_is_the_same_on_two_workers(name: str) -> None:
    one = answered(name, seed=1, threads=1, workers=1)
    two = answered(name, seed=1, threads=2, workers=2)
    assert settled(two) == settled(one)
