"""Seeded mutants of the physics and the choice, each against the tests that look at its module.

``python tests/mutants/run_mutants.py --seed 1 --sample 200`` changes one sign, number, comparison
or call of a copy of the project at a time and runs the tests of the changed module until one
fails. Where none does the mutant has survived: either nothing that anybody sees depends on the
change, or a test is missing. ``--again LOG`` runs survivors of an earlier run once more.
"""

import argparse
import importlib.util
import json
import random
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from changes import Change, changes
from chosen import Chooser, files_of, watched
from forked import OF_ITS_TIME, run_tests
from seen import Order

ROOT = Path(__file__).parents[2]
COPIED = (
    "recommender",
    "catalog",
    "cases",
    "tests",
    "pyproject.toml",
    "README.md",
    "DEVELOPERS.md",
)
MUTATED = ("recommender/physics", "recommender/choice")


@dataclass(frozen=True)
class Result:
    """What became of a mutant, and which test told or which limit."""

    module: str
    line: int
    begin: int
    old: str
    new: str
    killed: bool
    by: str
    seconds: float


def main() -> int:
    asked = _arguments()
    with tempfile.TemporaryDirectory() as folder:
        project = Path(folder) / "project"
        _copy(project)
        kept = asked.seen if asked.seen is not None else Path(folder) / "seen"
        chooser = Chooser(watched(project, MUTATED, kept.resolve()), asked.budget)
        results = _known(asked.log) if asked.again is None else []
        known = {(entry.module, entry.begin, entry.new) for entry in results}
        for module, change in _sampled(asked, project):
            if (module, change.begin, change.new) in known:
                continue
            result = _run(project, module, change, chooser)
            results.append(result)
            _tell(result, len(results))
            if asked.log is not None:
                lines = (json.dumps(asdict(entry)) for entry in results)
                asked.log.write_text("\n".join(lines) + "\n", encoding="utf-8")
    killed = sum(result.killed for result in results)
    print(f"{killed} of {len(results)} killed ({killed / max(len(results), 1):.1%})")
    return 0


def _known(log: Path | None) -> list[Result]:
    """Results of a run that was broken off."""
    if log is None or not log.exists():
        return []
    return [Result(**json.loads(line)) for line in log.read_text(encoding="utf-8").splitlines()]


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sample", type=int, default=200, help="how many mutants")
    parser.add_argument("--budget", type=float, default=40.0, help="s of tests for each")
    parser.add_argument("--only", default="", help="part of the names of the modules")
    parser.add_argument("--seen", type=Path, help="folder that keeps what each test calls")
    parser.add_argument("--log", type=Path, help="file for results, to go on from")
    parser.add_argument("--again", type=Path, help="log whose survivors are run once more")
    return parser.parse_args()


def _copy(project: Path) -> None:
    project.mkdir()
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, project / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy2(source, project / name)


def _sampled(asked: argparse.Namespace, project: Path) -> Iterator[tuple[str, Change]]:
    """Mutants in random order; of an earlier run those that survived."""
    found = [
        (str(file.relative_to(project)), change)
        for folder in MUTATED
        for file in sorted((project / folder).rglob("*.py"))
        if asked.only in str(file.relative_to(project))
        for change in changes(file.read_bytes())
    ]
    if asked.again is not None:
        yield from _survivors(asked.again, found)
        return
    dice = random.Random(asked.seed)
    yield from dice.sample(found, min(asked.sample, len(found)))


def _survivors(log: Path, found: list[tuple[str, Change]]) -> Iterator[tuple[str, Change]]:
    """Survivors of a log; the lines around them may have moved since."""
    for line in log.read_text(encoding="utf-8").splitlines():
        entry = json.loads(line)
        if entry["killed"]:
            continue
        alike = [
            (module, change)
            for module, change in found
            if (module, change.old, change.new) == (entry["module"], entry["old"], entry["new"])
        ]
        if alike:
            yield min(alike, key=lambda each: abs(each[1].begin - entry["begin"]))


def _run(project: Path, module: str, change: Change, chooser: Chooser) -> Result:
    """Tests of a mutant until one fails, or its time on the processor is used up."""
    file = project / module
    original = file.read_bytes()
    tests = chooser.tests(module, original, change.line)
    # Byte code is kept by the second in which a file was written, and its size.
    byte_code = Path(importlib.util.cache_from_source(str(file)))
    byte_code.unlink(missing_ok=True)
    file.write_bytes(change.applied(original))
    try:
        done = run_tests(project, ["-x", *files_of(tests)], None, [Order(tests)])
    finally:
        file.write_bytes(original)
        byte_code.unlink(missing_ok=True)
    told = re.search(r"^(?:FAILED|ERROR) (\S+)", done.text, re.MULTILINE)
    by = told[1] if told else "its time" if done.status == OF_ITS_TIME else "no start"
    killed = done.status not in (0, 5)
    where = change.line, change.begin, change.old, change.new
    return Result(module, *where, killed, by if killed else "", round(done.seconds, 1))


def _tell(result: Result, number: int) -> None:
    what = "killed  " if result.killed else "SURVIVED"
    where = f"{result.module}:{result.line}"
    how = f"'{result.old}' -> '{result.new}'"
    by = f" by {result.by}" if result.by else ""
    print(f"{number:4} {what} {where}  {how}{by} ({result.seconds} s)", flush=True)


if __name__ == "__main__":
    sys.exit(main())
