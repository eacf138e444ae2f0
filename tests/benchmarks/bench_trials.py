"""A shift of twenty carriers, and a map: ``python bench_trials.py [REPETITIONS [POINTS]]``.

Eight hours of an invented loop of 21 carriers at 42 items a minute, where all dwells vary, with its
power summed over time; and the map of the crate over mass and rate, so many values of each, 20
unless it is said, of the whole catalogue, in two processes. Seconds on the clock, the least of the
repetitions, and how many times as long as the choice of the same case alone takes here.
"""

import sys
import time
from collections.abc import Callable

from recommender.choice.decision.decide import decide, price_alone
from recommender.inputs.case import Case, make_case, read_case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.maps.study import map_of, read_inputs
from recommender.trials.batch import processes
from recommender.trials.chance import Chance, Spread
from recommender.trials.rehearse import rehearse

SHIFT = {
    "load": {
        "mass": "12 kg",
        "length": "250 mm",
        "width": "250 mm",
        "reach": "80 mm",
        "cg_height": "120 mm",
        "held": "clamped",
    },
    "rate": {"items": "40/min"},
    "life": {"hours": 20000},
    "loop": {"max_length": "16 m"},
    "station": [
        {"name": "load", "dwell": "2.5 s", "positions": 3},
        {"name": "cure", "dwell": "6 s", "positions": 6, "after": "2 m"},
        {"name": "unload", "dwell": "2 s", "positions": 3},
    ],
}


def timed(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def shift(catalogue: Catalogue, repetitions: int) -> None:
    case = make_case(SHIFT, "the shift")
    alone = timed(lambda: price_alone(case, catalogue))
    chosen = decide(case, catalogue).chosen
    assert chosen is not None
    chance = Chance({station.name: Spread(share=0.2) for station in case.station})

    def run() -> None:
        rehearse(chosen, case, catalogue, chance, hours=8.0, replications=1)

    taken = min(timed(run) for _ in range(repetitions))
    carriers = chosen.configuration.carriers
    print(f"a shift of {carriers} carriers: {taken:.2f} s, {taken / alone:.1f} choices")


def squared_map(case: Case, catalogue: Catalogue, repetitions: int, points: int) -> None:
    alone = timed(lambda: price_alone(case, catalogue))
    over = read_inputs(("mass,rate",), case, catalogue, points)

    def run() -> None:
        with processes(2) as executor:
            asked.append(map_of(case, over, catalogue, executor=executor).worked_out)

    asked: list[int] = []
    taken = min(timed(run) for _ in range(repetitions))
    told = f"{taken:.2f} s, {taken / alone:.1f} choices, {asked[0]} asked"
    print(f"a map of {points**2:,} cells: {told}")


def main(repetitions: int, points: int) -> None:
    """Print both."""
    catalogue = read_catalogue(shipped("catalog"))
    case = read_case(shipped("cases") / "crate.toml")
    price_alone(case, catalogue)
    shift(catalogue, repetitions)
    squared_map(case, catalogue, repetitions, points)


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*(given + [3, 20][len(given) :]))
