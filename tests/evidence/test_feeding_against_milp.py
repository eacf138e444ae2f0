"""Supplies, feeds and controller of a loop against integer programming.

Random rings of sections on which carriers run. HiGHS, as scipy brings it, gets a programme that is
written here from what is asked of a ring: a binary for each run of neighbouring sections with each
supply, for each feed on each section, and for each controller. Powers of runs come from
`recommender.choice.loop.demand`, which is compared elsewhere.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from numpy.random import Generator
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.demand import LoopDemand
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.parts.configuration import Electrics, Motion
from recommender.choice.parts.options import list_options
from recommender.choice.parts.placement import Loop, Placement
from recommender.choice.supplies.feed import feed_loop
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue

RINGS = 60

Altered = Callable[..., Catalogue]
Terms = dict[int, float]


class Programme:
    """Binaries with their prices in cents, and rows that bound sums of them."""

    def __init__(self) -> None:
        self.prices: list[float] = []
        self.rows: list[tuple[Terms, float, float]] = []

    def binary(self, price: Decimal | int = 0) -> int:
        self.prices.append(float(100 * price))
        return len(self.prices) - 1

    def row(self, terms: Terms, low: float = -np.inf, high: float = np.inf) -> None:
        self.rows.append((terms, low, high))

    def solve(self) -> list[bool] | None:
        """Which binaries are set at the optimum; ``None`` if the rows contradict each other."""
        matrix = np.zeros((len(self.rows), len(self.prices)))
        for number, (terms, _, _) in enumerate(self.rows):
            matrix[number, list(terms)] = list(terms.values())
        result = milp(
            np.array(self.prices),
            constraints=LinearConstraint(
                coo_array(matrix).tocsc(),
                [low for _, low, _ in self.rows],
                [high for _, _, high in self.rows],
            ),
            bounds=Bounds(0.0, 1.0),
            integrality=np.ones(len(self.prices)),
            options={"mip_rel_gap": 0.0},
        )
        assert result.status in (0, 2), result.message
        return [bool(x > 0.5) for x in result.x] if result.status == 0 else None


def drawn_parts(rng: Generator, catalogue: Catalogue, altered: Altered) -> Catalogue:
    """Two straights and bends, most of which may carry a feed, and two feeds."""
    takes = rng.random(3) < 0.8
    straight = tuple(
        part.model_copy(update={"takes_feed": bool(may), "length": length})
        for part, may, length in zip(catalogue.straight, takes[:2], (0.2, 0.3), strict=True)
    )
    divided = {"takes_feed": bool(takes[2]), "sections": int(rng.integers(1, 4))}
    feed = tuple(
        catalogue.feed[0].model_copy(
            update={
                "id": f"f-{k}",
                "max_sections": int(rng.integers(2, 9)),
                "price": Decimal(int(rng.integers(40, 300))),
            }
        )
        for k in range(2)
    )
    bend = tuple(part.model_copy(update=divided) for part in catalogue.bend)
    return altered(catalogue, straight=straight, bend=bend, feed=feed)


def drawn_layout(rng: Generator, catalogue: Catalogue, altered: Altered) -> LayoutContext:
    """A ring of sections on which a few carriers run between two to four stations."""
    drawn = drawn_parts(rng, catalogue, altered)
    short, long = (part.id for part in drawn.straight)
    # Either side is 1.2 m long.
    sides = ([short] * 6, [short] * 3 + [long] * 2, [long] * 4)
    front, back = (tuple(rng.permutation(sides[k]).tolist()) for k in rng.integers(3, size=2))
    names = "abcd"[: int(rng.integers(2, 5))]
    case = make_case(
        {
            "load": {
                "mass": f"{rng.uniform(1.0, 6.0):.1f} kg",
                "length": "100 mm",
                "width": "80 mm",
                "reach": "0 mm",
                "held": "clamped",
            },
            "station": [
                {"name": name, "dwell": f"{rng.uniform(0.5, 1.5):.2f} s"} for name in names
            ],
            "rate": {"items": f"{rng.uniform(10.0, 30.0):.1f}/min"},
        },
        "drawn",
    )
    options = [o for o in list_options(case, drawn) if o.carrier.plate_length <= 0.2]
    about = OptionContext(options[int(rng.integers(len(options)))], case, drawn)
    loop = Loop(1.2, about.bend_length)
    along = np.array([0.4, 0.8]) + rng.uniform(-0.1, 0.1, 2)
    at = sorted([*along, *(along + loop.back_start)])[: len(names)]
    gaps = tuple(b - a for a, b in pairwise([*at, at[0] + loop.length]))
    motion = Motion(rng.uniform(1.0, 4.0), 80.0, rng.uniform(1.0, 2.0), rng.uniform(0.3, 0.6))
    on = LoopContext(about, loop, Placement(tuple(at), gaps), front, back)
    return LayoutContext(on, setting_of(about, motion), int(rng.integers(3, 9)))


def with_supplies(rng: Generator, layout: LayoutContext, altered: Altered) -> LayoutContext:
    """Supplies and controllers of which one alone may do for the loop, or some, or none."""
    catalogue = layout.about.catalogue
    demand = LoopDemand(layout)
    size = len(demand.sections)
    mean, peak = demand.of(0, size)
    supply = tuple(
        catalogue.supply[0].model_copy(
            update={
                "id": f"dc-{k}",
                "mean_power": float(mean * rng.uniform(0.4, 1.5)),
                "peak_power": float(peak * rng.uniform(0.5, 1.6)),
                "max_sections": int(rng.integers(4, size + 4)),
                "price": Decimal(int(rng.integers(300, 900))),
            }
        )
        for k in range(int(rng.integers(1, 4)))
    )
    controller = tuple(
        part.model_copy(
            update={
                "max_sections": int(rng.integers(size - 1, size + 9)),
                "max_carriers": int(rng.integers(4, 12)),
                "price": Decimal(int(rng.integers(2000, 5000))),
            }
        )
        for part in catalogue.controller
    )
    rules = catalogue.rules.model_copy(update={"most_supplies": int(rng.integers(2, 6))})
    drawn = altered(catalogue, supply=supply, controller=controller, rules=rules)
    about = replace(layout.about, catalogue=drawn)
    setting = replace(layout.setting, about=about)
    return replace(layout, on=replace(layout.on, about=about), setting=setting)


def runs_of(layout: LayoutContext) -> Iterator[tuple[frozenset[int], float, float]]:
    """Every run of neighbouring sections with its mean and peak power, W."""
    demand = LoopDemand(layout)
    size = len(demand.sections)
    ends = [(first, count) for first in range(size) for count in range(1, size)] + [(0, size)]
    powers = demand.of_runs(*np.array(ends).T)
    for (first, count), mean, peak in zip(ends, *powers, strict=True):
        yield frozenset((first + k) % size for k in range(count)), float(mean), float(peak)


@dataclass(frozen=True)
class Cheapest:
    """Price of supplies, feeds and controller, cents, and the number of supplies."""

    price: int
    supplies: int


def each(catalogue: Catalogue, per: str) -> Decimal:
    """What the lines of the order add to each supply or feed."""
    lines = (line for line in catalogue.order_line if line.per == per)
    return sum((line.pieces * line.price for line in lines), Decimal(0))


def fed_cheapest(layout: LayoutContext) -> Cheapest | None:
    """The cheapest way to feed and command a ring, by HiGHS; ``None`` if there is none."""
    catalogue, programme = layout.about.catalogue, Programme()
    sections = LoopDemand(layout).sections
    size, fleet = len(sections), layout.fixed_carriers or 0
    served: dict[int, frozenset[int]] = {}
    for run, mean, peak in runs_of(layout):
        for part in catalogue.supply:
            powered = mean <= part.mean_power and peak <= part.peak_power
            if powered and len(run) <= part.max_sections:
                served[programme.binary(part.price + each(catalogue, "supply"))] = run
    for section in range(size):
        programme.row({c: 1.0 for c, run in served.items() if section in run}, 1, 1)
    programme.row(dict.fromkeys(served, 1.0), high=catalogue.rules.most_supplies)

    kinds = [programme.binary() for _ in catalogue.feed]
    feeds: dict[int, int] = {}
    programme.row(dict.fromkeys(kinds, 1.0), 1, 1)
    for kind, part in zip(kinds, catalogue.feed, strict=True):
        placed = {
            programme.binary(part.price + each(catalogue, "feed")): number
            for number, section in enumerate(sections)
            if section.takes_feed
        }
        for column in placed:
            programme.row({column: 1.0, kind: -1.0}, high=0)
        # Of as many neighbours as a feed bridges, wherever they begin, one carries a feed.
        for first in range(size):
            bridged = {(first + k) % size for k in range(min(part.max_sections, size))}
            inside = {c: 1.0 for c, number in placed.items() if number in bridged}
            programme.row({**inside, kind: -1.0}, 0)
        feeds |= placed
    for column, run in served.items():
        programme.row({**{c: 1.0 for c, number in feeds.items() if number in run}, column: -1.0}, 0)

    controllers = {
        programme.binary(part.price): 1.0
        for part in catalogue.controller
        if part.max_sections >= size and part.max_carriers >= fleet
    }
    programme.row(controllers, 1, 1)
    values = programme.solve()
    if values is None:
        return None
    price = round(float(np.dot(programme.prices, values)))
    return Cheapest(price, sum(values[c] for c in served))


@dataclass(frozen=True)
class Ring:
    layout: LayoutContext
    cheapest: Cheapest | None


@pytest.fixture(scope="module")
def rings(catalogue: Catalogue, altered: Altered) -> list[Ring]:
    found = []
    for seed in range(RINGS):
        rng = np.random.default_rng(seed)
        layout = with_supplies(rng, drawn_layout(rng, catalogue, altered), altered)
        found.append(Ring(layout, fed_cheapest(layout)))
    return found


def serves(layout: LayoutContext, electrics: Electrics) -> bool:
    """Whether every section is in one run, and every run is powered and fed."""
    catalogue, demand = layout.about.catalogue, LoopDemand(layout)
    size, fed = len(demand.sections), sorted(electrics.feed_sections)
    covered: list[int] = []
    for group in electrics.groups:
        part = next(part for part in catalogue.supply if part.id == group.supply)
        mean, peak = demand.of(group.first, group.count)
        run = [(group.first + k) % size for k in range(group.count)]
        powered = mean <= part.mean_power and peak <= part.peak_power
        if not powered or len(run) > part.max_sections or not set(run) & set(fed):
            return False
        covered += run
    feed = next(part for part in catalogue.feed if part.id == electrics.feed)
    bridged = all(b - a <= feed.max_sections for a, b in pairwise([*fed, fed[0] + size]))
    allowed = all(demand.sections[number].takes_feed for number in fed)
    return sorted(covered) == list(range(size)) and bridged and allowed


def test_rings_are_of_every_sort(rings: list[Ring]) -> None:
    """Rings that cannot be fed, and rings with one supply, two, and more."""
    assert all(np.isfinite(ring.layout.lap_time[0]) for ring in rings)
    supplies = [ring.cheapest.supplies if ring.cheapest else 0 for ring in rings]
    assert min(supplies.count(number) for number in (0, 1, 2)) >= 5
    assert max(supplies) >= 3


def test_no_feeding_is_cheaper(rings: list[Ring]) -> None:
    for seed, ring in enumerate(rings):
        fed = feed_loop(ring.layout)
        if ring.cheapest is None:
            assert fed is None, seed
            continue
        assert fed is not None and fed.proven, seed
        assert fed.price == ring.cheapest.price, seed
        assert serves(ring.layout, fed.electrics), seed
