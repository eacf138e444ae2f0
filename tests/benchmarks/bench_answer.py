"""Time of one answer against the time that importing its libraries alone takes.

Run it from a checkout or with the package installed::

    python tests/benchmarks/bench_answer.py [REPETITIONS] [CASE ... | all]

Each figure is a fresh process, and the median of so many. The kinds take turns, so that a busy
machine disturbs all alike. Times differ from machine to machine, so nothing is asserted: read the
ratios. The goals are 1.25 times the import of the libraries for the crate in brief, 1.5 with what
would have to give, and for every other case 4 times and 2 s of processor time; which of them are
met, and what stands against the others, is in DEVELOPERS.md.

Printed besides are the commands that only read something, against the libraries that they cannot do
without, where the time of an answer goes, and after how long what the page shows is known.
"""

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout
from importlib import import_module
from io import StringIO
from pathlib import Path
from typing import Any, NamedTuple

from recommender.inputs.files import shipped

REPETITIONS = 5
PROFILE = "--profile"

# What an answer cannot do without of others. The unit library is loaded only for units beyond the
# usual ones, which no worked case has.
FLOOR = "import ortools.sat.python.cp_model, numpy, pydantic, rich, typer"
# What no command can do without that reads options or a case.
DOOR = "import typer, pydantic"
# Most of the second library is loaded with its first model, which a case cannot be read without.
MODEL = f"{DOOR}\nclass Model(pydantic.BaseModel):\n    number: float\n"

# Where the time of an answer goes: stage, module and name by which it is called. A stage that runs
# within another is taken off it.
STAGES = (
    ("load cases", "recommender.choice.search.axes", "straight_loads"),
    ("load cases", "recommender.choice.search.axes", "bend_loads"),
    ("load cases", "recommender.choice.search.screen", "straight_loads"),
    ("load cases", "recommender.choice.search.screen", "bend_loads"),
    ("search", "recommender.choice.decision.options_search", "axes_of"),
    ("search", "recommender.choice.decision.options_search", "explore"),
    ("search", "recommender.choice.decision.decide", "screen"),
    ("proof", "recommender.choice.decision.options_search", "explore_further"),
    ("settling", "recommender.choice.decision.options_search", "finish"),
    ("nearest to passing", "recommender.choice.decision.option_report", "nearest"),
    ("gentlest motion", "recommender.choice.decision.options_search", "made_gentle"),
    ("gentlest motion", "recommender.choice.decision.option_report", "made_gentle"),
    ("audit", "recommender.choice.decision.decide", "audit"),
    ("audit", "recommender.choice.decision.option_report", "report"),
    ("audit", "recommender.choice.decision.finish", "audit"),
    ("explanations", "recommender.recommend", "explain_decision"),
    ("explanations", "recommender.filling.explanations", "rejections"),
)


class Taken(NamedTuple):
    """What a process took, s: by the clock and of the processor."""

    clock: float
    processor: float


def taken_by(*arguments: str, may_fail: bool = False) -> Taken:
    """What a fresh interpreter takes with these arguments, bytecode kept as usual."""
    usual = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    before, begin = os.times(), time.perf_counter()
    ended = subprocess.run(
        [sys.executable, *arguments],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        check=False,
        env=usual,
    )
    clock, after = time.perf_counter() - begin, os.times()
    if ended.returncode and not may_fail:
        raise SystemExit(ended.stderr.decode())
    user, system = (after[k] - before[k] for k in (2, 3))  # of children that have ended
    return Taken(clock, user + system)


def medians(runs: dict[str, tuple[str, ...]], repetitions: int) -> dict[str, Taken]:
    """Median times of each kind of run, printed with their range by the clock."""
    taken: dict[str, list[Taken]] = {name: [] for name in runs}
    for number in range(repetitions + 1):
        for name, arguments in runs.items():
            spent = taken_by(*arguments, may_fail="mistyped" in name or "answering" in name)
            if number:  # files come into the memory of the system, bytecode is written
                taken[name].append(spent)
    found = {
        name: Taken(*map(statistics.median, zip(*times, strict=True)))
        for name, times in taken.items()
    }
    for name, times in taken.items():
        least, most = min(times).clock, max(times).clock
        clock, processor = found[name]
        spread = f"({least:.3f} to {most:.3f} s), processor {processor:6.3f} s"
        print(f"{name:<36} median {clock:7.3f} s  {spread}")
    return found


def answers(names: list[str], repetitions: int) -> None:
    """Answers to worked cases against what they import."""
    answer = ("-m", "recommender", "answer")
    runs: dict[str, tuple[str, ...]] = {FLOOR: ("-c", FLOOR)}
    for name in names:
        case = str(shipped("cases") / f"{name}.toml")
        runs[f"answering {name} in brief"] = (*answer, case, "--brief")
        runs[f"answering {name}"] = (*answer, case)
    _ratios(medians(runs, repetitions), FLOOR)


def doors(repetitions: int) -> None:
    """Commands that only read something against the libraries that reading takes."""
    case = str(shipped("cases") / "crate.toml")
    runs = {
        DOOR: ("-c", DOOR),
        "--help": ("-m", "recommender", "--help"),
        "case check": ("-m", "recommender", "case", "check", case),
        "a mistyped option": ("-m", "recommender", "answer", case, "--breif"),
    }
    _ratios(medians(runs, repetitions), DOOR)


def _ratios(found: dict[str, Taken], floor: str) -> None:
    for name, taken in found.items():
        if name != floor:
            print(f"{name:<36} ratio  {taken.clock / found[floor].clock:7.2f}")


class Clock:
    """Time spent in stages, each without those that run within it."""

    def __init__(self) -> None:
        self.spent: dict[str, float] = {}
        self._running: list[str] = []
        self._since = time.perf_counter()

    def _passed(self) -> None:
        now = time.perf_counter()
        if self._running:
            stage = self._running[-1]
            self.spent[stage] = self.spent.get(stage, 0.0) + now - self._since
        self._since = now

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Count what runs within towards a stage."""
        self._passed()
        self._running.append(name)
        try:
            yield
        finally:
            self._passed()
            self._running.pop()

    def timed(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """The same function, its time counted; of a generator that of each step."""

        def call(*given: Any, **named: Any) -> Any:
            with self.stage(name):
                result = function(*given, **named)
            return self._steps(name, result) if isinstance(result, Iterator) else result

        return call

    def _steps(self, name: str, steps: Iterator[Any]) -> Iterator[Any]:
        while True:
            with self.stage(name):
                try:
                    value = next(steps)
                except StopIteration:
                    return
            yield value


def profile(name: str) -> None:
    """Where the time of one answer goes that is shown, in a process that has loaded little yet."""
    clock = Clock()
    with clock.stage("importing"):
        from recommender.inputs.case import read_case  # noqa: PLC0415
        from recommender.inputs.catalogue import read_catalogue  # noqa: PLC0415
        from recommender.recommend import recommend  # noqa: PLC0415
        from recommender.results.answer import NEAREST  # noqa: PLC0415
        from recommender.running import console  # noqa: PLC0415
        from recommender.units import written_in  # noqa: PLC0415
        from recommender.views.summary import show_summary  # noqa: PLC0415
    for stage, module, function in STAGES:
        place = import_module(module)
        setattr(place, function, clock.timed(stage, getattr(place, function)))
    with clock.stage("reading"):
        case = read_case(shipped("cases") / f"{name}.toml")
        catalogue = read_catalogue(shipped("catalog"))
    with clock.stage("all else"):
        answer = recommend(case, catalogue, nearest=NEAREST)
    with clock.stage("printing"), redirect_stdout(StringIO()), written_in(answer.units):
        show_summary(console(), answer)
    whole = sum(clock.spent.values())
    print(f"where the time of {name} goes, {whole:.2f} s in all, measuring included:")
    for stage, spent in clock.spent.items():
        print(f"  {stage:<34} {spent:14.3f} s  {spent / whole:6.1%}")


def steps(names: list[str]) -> None:
    """When what the page shows is known, in a process that has everything loaded."""
    from recommender.inputs.case import read_case  # noqa: PLC0415
    from recommender.inputs.catalogue import read_catalogue  # noqa: PLC0415
    from recommender.recommend import recommend_in_steps  # noqa: PLC0415

    catalogue = read_catalogue(shipped("catalog"))
    for number, name in enumerate((names[0], *names)):
        case = read_case(shipped("cases") / f"{name}.toml")
        begin = time.perf_counter()
        known = [
            (answer, time.perf_counter() - begin) for answer in recommend_in_steps(case, catalogue)
        ]
        if number:  # the first run writes bytecode and fills the memory of the system
            told = [after for answer, after in known if answer.calculation is None]
            words = ("so far", "the choice", "all options", "explanations")[-len(told) :]
            texts = (f"{word} {after:6.2f} s" for word, after in zip(words, told, strict=True))
            print(f"{name:<36} " + "  ".join(texts))


def main(arguments: list[str]) -> None:
    """Measure and print."""
    if arguments[:1] == [PROFILE]:
        profile(arguments[1])
        return
    repetitions = int(arguments.pop(0)) if arguments and arguments[0].isdigit() else REPETITIONS
    every = sorted(Path(path).stem for path in shipped("cases").glob("*.toml"))
    names = every if arguments == ["all"] else arguments or ["crate"]
    for name in names:
        # Each in a process of its own, that has loaded nothing yet.
        subprocess.run([sys.executable, __file__, PROFILE, name], check=True)
    steps(names)
    doors(repetitions)
    answers(names, repetitions)


if __name__ == "__main__":
    main(sys.argv[1:])
