"""Time of one answer against the time that importing its libraries alone takes.

Run it from a checkout or with the package installed::

    python tests/benchmarks/bench_answer.py [REPETITIONS]

Each figure is a fresh process; the two kinds take turns, so that a busy machine disturbs both
alike. Times differ from machine to machine, so nothing is asserted: read the ratio. The goal is 2
at most for the choice, the audit and the bill of materials of all options; proving for each option
what would have to give comes on top.
"""

import statistics
import subprocess
import sys
import time

from recommender.inputs.files import shipped

GOAL = 2.0
REPETITIONS = 7

# What `recommender answer` loads of others, the submodules that it uses included. The unit library
# is loaded only for units beyond the usual ones, which the crate case has none of.
LOADED = """
import numpy
from ortools.sat.python import cp_model
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic import field_validator, model_validator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError
from rich import box
from rich.console import Console, Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text
import typer
typer.Typer
"""


def seconds(*arguments: str) -> float:
    """Wall-clock time of a fresh interpreter with these arguments."""
    begin = time.perf_counter()
    ended = subprocess.run(
        [sys.executable, *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=False
    )
    taken = time.perf_counter() - begin
    if ended.returncode:
        raise SystemExit(ended.stderr.decode())
    return taken


def main(repetitions: int) -> None:
    """Measure and print."""
    case = str(shipped("cases") / "crate.toml")
    runs = {
        "importing all runtime packages": ("-c", f"import pint\n{LOADED}"),
        "importing those that are loaded": ("-c", LOADED),
        "answering in brief": ("-m", "recommender", "answer", case, "--brief"),
        "answering with explanations": ("-m", "recommender", "answer", case),
    }
    for arguments in runs.values():
        seconds(*arguments)  # files come into the memory of the system, bytecode is written
    taken: dict[str, list[float]] = {name: [] for name in runs}
    for _ in range(repetitions):
        for name, arguments in runs.items():
            taken[name].append(seconds(*arguments))
    for name, times in taken.items():
        least, most = min(times), max(times)
        print(f"{name:<32} median {statistics.median(times):.3f} s  ({least:.3f} to {most:.3f} s)")
    every, _, brief, full = (statistics.median(times) for times in taken.values())
    print(f"{'brief to all runtime packages':<32} ratio  {brief / every:.2f}  (goal: {GOAL:g})")
    print(f"{'explained to all packages':<32} ratio  {full / every:.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else REPETITIONS)
