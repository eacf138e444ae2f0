"""Damaged cases, catalogues, quantities and command lines through the gates, counted.

``python tests/fuzz/fuzz_inputs.py --seconds 600 --seed 1`` runs for ten minutes,
``--count 1000000`` as many inputs. It ends with 1 if anything went wrong, and shows the first
inputs that did it. Without damage the inputs of ``corpus/`` go first. The search for an answer is
left out: what passes the gate of the command line is taken for done.
"""

import argparse
import contextlib
import io
import math
import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from mutations import NASTY, mutated
from rich.console import Console
from watch import Watch

from recommender import cli
from recommender.filling.questions import asked_of_customer
from recommender.inputs.case import read_case
from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.catalogue_entries import described
from recommender.inputs.errors import InputError
from recommender.inputs.files import shipped
from recommender.inputs.quantities import KINDS, USUAL_UNITS, parse
from recommender.shown import is_plain
from recommender.views.case import show_checked
from recommender.views.catalogue import show_part

CORPUS = Path(__file__).parent / "corpus"
MOST_LINES, LONGEST_LINE = 11, 1200
# Of a thousand inputs; a catalogue takes a thousand times as long as a quantity.
SHARES = {"quantity": 870, "case": 100, "command line": 25, "catalogue": 5}

# With the kind that is wanted, as a mark before the text that no damage touches.
QUANTITIES = (
    *(f"{kind.name}|{kind.example}" for kind in KINDS.values()),
    *(
        f"{kind.name}|7.5{'' if unit.startswith('/') else ' '}{unit}"
        for kind in KINDS.values()
        for unit in USUAL_UNITS[kind.si]
    ),
    *("mass|66 lb", "length|8 in", "acceleration|0.25 g0", "rate|18 rpm", "speed|5 ft/min"),
    *("force|3 kg*m^2/s^2/m", "motor constant|1 lbf/W^0.5", "jerk|5 ft/s**3", "length|1e3 mm"),
)
_TEXTS = tuple(text.partition("|")[2] for text in QUANTITIES)
WORDS = (
    *("answer", "compare", "why", "parts", "evidence", "catalogue", "case", "check", "list"),
    *("show", "--mass", "30 kg", "--rate", "18/min", "--reach", "200 mm", "--held", "nested"),
    *("--max-length", "8 m", "--brief", "--json", "--quiet", "--time-limit", "1 s", "--force"),
    *("--option", "bs-180_arc-280_x1", "-o", "parts.csv", "--catalogue", "--help", "--version"),
    *("--", "-x", "", "std-68", "none.toml", "/dev/zero", "/dev/full", "x" * 300, "\udc80.toml"),
)


class BrokenError(Exception):
    """Something that the gates promise does not hold."""


def hold(condition: bool, promise: str, *shown: object) -> None:
    if not condition:
        raise BrokenError(promise, *shown)


def as_bytes(text: str) -> bytes:
    """Text as a file holds it; what is no text of UTF-8 is no UTF-8 there either."""
    try:
        return text.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:
        return text.encode("utf-8", "surrogatepass")


class Fuzzer:
    """One input after the other, from one seed."""

    def __init__(self, folder: Path, seed: int, patience: float) -> None:
        self.dice = random.Random(seed)
        self.watch = Watch(patience)
        self.counts: Counter[str] = Counter()
        self.passed: Counter[str] = Counter()
        self.folder = folder
        self.file = folder / "case.toml"
        self.catalogue = Path(shutil.copytree(shipped("catalog"), folder / "catalog"))
        self.cases = [path.read_text(encoding="utf-8") for path in shipped("cases").glob("*.toml")]
        self.tables = {
            path: path.read_text(encoding="utf-8") for path in self.catalogue.glob("*.toml")
        }
        self.words = (*WORDS, *map(str, shipped("cases").glob("*.toml")))

    def run(self, inputs: Iterator[tuple[str, str]]) -> None:
        for what, given in inputs:
            self.counts[what] += 1
            prepare = {"case": self._write, "catalogue": self._write_table}.get(what)
            restored = prepare(given) if prepare else None
            with self.watch.over(what, given):
                self.passed[what] += self._gate(what, given)
            if restored is not None:
                restored.write_text(self.tables[restored], encoding="utf-8")

    def _write(self, text: str) -> None:
        self.file.write_bytes(as_bytes(text))

    def _write_table(self, text: str) -> Path:
        """Put a damaged table in the place of one of the catalogue's, mostly of its own."""
        alike = (path for path, whole in self.tables.items() if whole[:60] == text[:60])
        path = next(alike, self.dice.choice(list(self.tables)))
        path.write_bytes(as_bytes(text))
        return path

    def _gate(self, what: str, given: str) -> bool:
        """Whether an input is let through; what is refused must be refused well."""
        if what == "command line":
            return command_line(given.split("\x1f"))
        try:
            if what == "quantity":
                quantity(given)
            elif what == "case":
                case(self.file)
            else:
                catalogue(self.catalogue)
        except InputError as refused:
            hold(len(str(refused).split("\n")) <= MOST_LINES, "few lines", str(refused))
            for line in str(refused).split("\n"):
                hold(is_plain(line), "lines that can be seen", line)
                hold(len(line) <= LONGEST_LINE, "short lines", line)
            return False
        except ValueError as refused:
            if what != "quantity":
                raise
            hold(is_plain(str(refused)), "lines that can be seen", str(refused))
            return False
        return True

    def damaged(self) -> Iterator[tuple[str, str]]:
        """Inputs without end."""
        kinds, weights = list(SHARES), list(SHARES.values())
        tables = list(self.tables.values())
        while True:
            what = self.dice.choices(kinds, weights)[0]
            if what == "command line":
                yield what, "\x1f".join(self._damaged_words())
                continue
            if what == "quantity":
                kind, _, text = self.dice.choice(QUANTITIES).partition("|")
                yield what, f"{kind}|{mutated(text, _TEXTS, self.dice)}"
                continue
            alike = self.cases if what == "case" else tables
            yield what, mutated(self.dice.choice(alike), alike, self.dice)

    def _damaged_words(self) -> Iterator[str]:
        for _ in range(self.dice.randint(0, 8)):
            word = self.dice.choice(self.words)
            if self.dice.random() < 0.15:
                word = mutated(word, self.words, self.dice)[:5000]
            elif self.dice.random() < 0.05:
                word = self.dice.choice(NASTY)
            # No process can be given a null.
            yield word.replace("\x00", "").replace("\x1f", "")


def quantity(given: str) -> None:
    name, _, text = given.partition("|")
    kind = KINDS[name]
    value = parse(text, kind)
    hold(math.isfinite(value), "finite numbers", value)
    hold(value == 0.0 or kind.least <= abs(value) <= kind.most, "values within reason", value)


def case(path: Path) -> None:
    found = read_case(path)
    lines = [vars(line) for line in asked_of_customer(found)]
    seen(lambda console: show_checked(console, found.title, [], lines))


def catalogue(folder: Path) -> None:
    found = read_catalogue(folder)
    for id_ in found.ids:
        entry = found.entry(id_)
        assert entry is not None
    seen(lambda console: show_part(console, described(entry, found.catalogue.currency)))


def seen(show: object) -> None:
    """A view of what was let through prints nothing that cannot be seen."""
    console = Console(file=io.StringIO(), width=80)
    assert callable(show)
    show(console)
    assert isinstance(console.file, io.StringIO)
    text = console.file.getvalue()
    hold(is_plain(text.replace("\n", "")), "views that can be seen", text)


def command_line(words: list[str]) -> bool:
    out, err = io.StringIO(), io.StringIO()
    sys.argv = ["recommender", *words]
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            cli.run()
        except SystemExit as ended:
            status = ended.code
    hold(status in {0, 2, 3}, "a status for what was given", status, err.getvalue())
    hold(status == 0 or bool(err.getvalue().strip()), "a message", status)
    for text in (out.getvalue(), err.getvalue()):
        hold(is_plain(text.replace("\n", "")), "text that can be seen", text)
        hold("raceback" not in text, "no traceback", text)
    return status == 0


def corpus() -> Iterator[tuple[str, str]]:
    """Inputs that once went wrong, by the folder that they lie in."""
    for path in sorted(CORPUS.glob("*/*")):
        text = path.read_bytes().decode("utf-8", "surrogateescape")
        what = path.parent.name.replace("-", " ")
        if what == "quantity":
            yield from ((what, line) for line in text.split("\n"))
        elif what == "command line":
            yield from ((what, line.replace("\t", "\x1f")) for line in text.split("\n"))
        else:
            yield what, text


def until(count: int | None, seconds: float | None) -> Iterator[int]:
    began, number = time.monotonic(), 0
    while (count is None or number < count) and (
        seconds is None or time.monotonic() - began < seconds
    ):
        yield number
        number += 1


def passes_the_gate(*_: object, **__: object) -> None:
    raise InputError("it is let through, and no answer is looked for")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float)
    parser.add_argument("--count", type=int)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--patience", type=float, default=30.0, help="seconds until a hang")
    given = parser.parse_args()
    if given.seconds is None and given.count is None:
        given.seconds = 60.0
    sys.dont_write_bytecode = True
    import recommender.recommend  # noqa: PLC0415

    recommender.recommend.recommend = passes_the_gate  # type: ignore[assignment]
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        fuzzer = Fuzzer(Path(folder), given.seed, given.patience)
        fuzzer.watch.begin()
        there = sorted(path.name for path in Path(folder).iterdir())
        fuzzer.run(corpus())
        inputs = zip(until(given.count, given.seconds), fuzzer.damaged(), strict=False)
        fuzzer.run(item for _, item in inputs)
        left = {path.name for path in Path(folder).iterdir()} - {*there, "case.toml"}
    return report(fuzzer, left, time.monotonic() - began)


def report(fuzzer: Fuzzer, left: set[str], seconds: float) -> int:
    watch = fuzzer.watch
    for text in watch.reports:
        print(text, end="\n\n")
    for what, count in sorted(fuzzer.counts.items()):
        print(f"{what}: {count} inputs, {fuzzer.passed[what]} of them let through")
    touched = watch.touched + len(left)
    print(
        f"{fuzzer.counts.total()} inputs in {seconds:.0f} s: {watch.tracebacks} tracebacks,"
        f" {watch.hangs} hangs, {touched} files touched"
    )
    return int(bool(watch.tracebacks or watch.hangs or touched))


if __name__ == "__main__":
    sys.exit(main())
