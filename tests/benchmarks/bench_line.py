"""Time of the answer to a line of two loops against its loops answered alone.

Run it from a checkout or with the package installed::

    python tests/benchmarks/bench_line.py [REPETITIONS] [LINE ...]

Over the whole demonstration catalogue, with all explanations. Loops and line take turns in one
process, and what is told is the median of the time of the processor, which a busy machine disturbs
least. Times differ from machine to machine, so nothing is asserted: read the ratios. The goal is
2.5 at most. Of a line whose direct handovers leave something open, the loops are those of all ways
to settle it, each answered once.
"""

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.lines.decide import decide_line
from recommender.lines.direct import variants
from recommender.lines.model import Line
from recommender.lines.reading import read_line
from recommender.lines.recommend import recommend_line
from recommender.recommend import decision_of, recommend

GOAL = 2.5
REPETITIONS = 3


def seconds(work: Callable[[], object]) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def cases_of(line: Line, catalogue: Catalogue) -> list[Case]:
    """Each case of each loop once."""
    found: list[Case] = []
    for variant in variants(line, catalogue):
        found += [c for c in variant.cases.values() if all(c is not known for known in found)]
    return found


def measured(path: Path, catalogue: Catalogue, repetitions: int) -> None:
    line = read_line(path)
    cases = cases_of(line, catalogue)
    works: dict[str, tuple[Callable[[], object], Callable[[], object]]] = {
        "choice and proof": (
            lambda: [decision_of(case, catalogue) for case in cases],
            lambda: decide_line(line, catalogue),
        ),
        "whole answer": (
            lambda: [recommend(case, catalogue) for case in cases],
            lambda: recommend_line(line, catalogue),
        ),
    }
    print(f"{path.stem}: {len(line.loops)} loops, {len(cases)} cases of them")
    for name, (alone, together) in works.items():
        times = [(seconds(alone), seconds(together)) for _ in range(repetitions)]
        apart, joined = (statistics.median(column) for column in zip(*times, strict=True))
        ratio = joined / apart
        print(
            f"  {name:18} loops alone {apart:6.1f} s   line {joined:6.1f} s   ratio {ratio:5.2f}"
            f"   goal {GOAL} {'met' if ratio <= GOAL else 'missed'}"
        )


def main(arguments: list[str]) -> None:
    repetitions = int(arguments[0]) if arguments else REPETITIONS
    catalogue = read_catalogue(shipped("catalog"))
    paths = [Path(name) for name in arguments[1:]] or [shipped("cases") / "lines" / "bottles.toml"]
    for path in paths:
        measured(path, catalogue, repetitions)


if __name__ == "__main__":
    main(sys.argv[1:])
