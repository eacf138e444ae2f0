"""Small random lines in whole numbers, and what is compared with: plain enumeration and HiGHS."""

from collections.abc import Iterator
from itertools import product
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from recommender.choice.supplies.data import SupplyData
from recommender.lines.shared import Asks, ControllerData, Terms

KINDS = ("one", "two", "three")
LIMITS = {"mean": "mean_power", "peak": "peak_power", "sections": "max_sections"}


def random_terms(rng: np.random.Generator) -> Terms:
    draw = rng.integers
    many = int(draw(1, 4))
    return Terms(
        once=int(draw(0, 900_000)),
        kinds={kind: int(draw(0, 150_000)) for kind in KINDS},
        supplies=tuple(
            SupplyData(
                mean_power=int(draw(200, 2_500)),
                peak_power=int(draw(600, 8_000)),
                max_sections=int(draw(6, 33)),
                price=int(draw(30_000, 200_000)),
            )
            for _ in range(many)
        ),
        supply_spares=tuple(int(spare) for spare in draw(0, 2) * draw(0, 80_000, size=many)),
        controllers=tuple(
            ControllerData(int(draw(6, 45)), int(draw(12, 80)), int(draw(200_000, 900_000)))
            for _ in range(draw(1, 4))
        ),
        most_supplies=int(draw(1, 4)),
        cabinet=int(draw(0, 2) * draw(0, 150_000)),
        feed=int(draw(0, 30_000)),
        length=int(draw(3_000, 9_000)) if draw(0, 3) == 0 else None,
        width=int(draw(2_500, 8_000)) if draw(0, 3) == 0 else None,
        gap=int(draw(0, 900)),
        budget=int(draw(3_000_000, 9_000_000)) if draw(0, 4) == 0 else None,
    )


def random_asks(rng: np.random.Generator, tied: bool, most: int = 9) -> tuple[Asks, ...]:
    """Candidates near enough to each other in price that sharing decides among them."""
    draw = rng.integers
    middle = int(draw(1_000_000, 3_000_000))
    found = []
    for _ in range(draw(1, most)):
        found.append(
            Asks(
                own=middle + int(draw(0, 400_000)),
                kind=KINDS[draw(0, len(KINDS))],
                carriers=int(draw(2, 20)),
                sections=int(draw(4, 24)),
                mean=int(draw(50, 2_000)),
                peak=int(draw(200, 6_000)),
                feeds=int(draw(0, 4)),
                across=int(draw(800, 3_000)),
                along=int(draw(2_000, 8_000)),
                ways=int(draw(1, 8)) if tied else 1,
            )
        )
    return tuple(found)


def random_line(seed: int) -> tuple[Terms, list[tuple[Asks, ...]]]:
    rng = np.random.default_rng(seed)
    loops = int(rng.integers(1, 4))
    tied = bool(rng.integers(0, 2))
    terms = random_terms(rng)
    return terms, [random_asks(rng, tied) for _ in range(loops)]


def priced(terms: Terms, asks: tuple[Asks, ...], counts: tuple[int, ...]) -> int | None:
    """Least price of some candidates with some supplies, written out; ``None`` if they fail."""
    control = [
        part.price
        for part in terms.controllers
        if sum(loop.carriers for loop in asks) <= part.max_carriers
        and sum(loop.sections for loop in asks) <= part.max_sections
    ]
    if not control or not served(terms, asks, counts) or not fits(terms, asks):
        return None
    number = sum(counts)
    price = terms.once + sum(loop.own for loop in asks) + min(control)
    price += sum(terms.kinds[kind] for kind in {loop.kind for loop in asks})
    price += sum(n * part.price for n, part in zip(counts, terms.supplies, strict=True))
    price += sum(s for n, s in zip(counts, terms.supply_spares, strict=True) if n > 0)
    cabinets = 1
    while cabinets * terms.most_supplies < number:
        cabinets += 1
    price += cabinets * terms.cabinet
    price += max(0, number - sum(loop.feeds for loop in asks)) * terms.feed
    return price if terms.budget is None or price <= terms.budget else None


def served(terms: Terms, asks: tuple[Asks, ...], counts: tuple[int, ...]) -> bool:
    return all(
        sum(getattr(loop, name) for loop in asks)
        <= sum(n * getattr(part, limit) for n, part in zip(counts, terms.supplies, strict=True))
        for name, limit in LIMITS.items()
    )


def fits(terms: Terms, asks: tuple[Asks, ...]) -> bool:
    if not any(all(loop.ways & 1 << k for loop in asks) for k in range(3)):
        return False
    for loop in asks:
        if terms.length is not None and loop.along > terms.length:
            return False
    needed = sum(loop.across for loop in asks) + terms.gap * (len(asks) - 1)
    return terms.width is None or needed <= terms.width


def supply_counts(terms: Terms, loops: int) -> Iterator[tuple[int, ...]]:
    most = terms.most_supplies * loops
    for counts in product(range(most + 1), repeat=len(terms.supplies)):
        if 1 <= sum(counts) <= most:
            yield counts


def enumerated(terms: Terms, loops: list[tuple[Asks, ...]]) -> int | None:
    """Least price of everything that there is."""
    counts = list(supply_counts(terms, len(loops)))
    prices = [
        price
        for asks in product(*loops)
        for number in counts
        if (price := priced(terms, asks, number)) is not None
    ]
    return min(prices, default=None)


Name = tuple[str, int, int]


class Programme:
    """Columns of an integer programme by name, and its rows."""

    def __init__(self) -> None:
        self.column: dict[Name, int] = {}
        self.price: list[float] = []
        self.upper: list[float] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def add(self, name: Name, price: float, upper: float = 1.0) -> None:
        self.column[name] = len(self.price)
        self.price.append(price)
        self.upper.append(upper)

    def row(self, terms: list[tuple[Name, float]], low: float, high: float = np.inf) -> None:
        self.rows.append(({self.column[name]: factor for name, factor in terms}, low, high))

    def solve(self) -> int | None:
        matrix = np.zeros((len(self.rows), len(self.price)))
        for k, (entries, _, _) in enumerate(self.rows):
            for place, factor in entries.items():
                matrix[k, place] = factor
        low, high = [row[1] for row in self.rows], [row[2] for row in self.rows]
        result = milp(
            np.array(self.price),
            constraints=LinearConstraint(matrix, low, high),
            bounds=Bounds(0.0, self.upper),
            integrality=np.ones(len(self.price)),
            options={"mip_rel_gap": 0.0},
        )
        assert result.status in (0, 2), result.message
        return round(result.fun) if result.status == 0 else None


def programmed(terms: Terms, loops: list[tuple[Asks, ...]]) -> int | None:
    """The same by HiGHS, from rows of an integer programme of its own.

    Cabinets and feeds are columns that nothing but the price keeps down.
    """
    programme, most = Programme(), terms.most_supplies * len(loops)
    columns(programme, terms, loops, most)

    def picked(field: str, factor: float) -> list[tuple[Name, float]]:
        return [
            (("x", i, k), factor * getattr(asks, field))
            for i, loop in enumerate(loops)
            for k, asks in enumerate(loop)
        ]

    def given(kind: str, parts: tuple[Any, ...], limit: str) -> list[tuple[Name, float]]:
        return [((kind, 0, k), float(getattr(part, limit))) for k, part in enumerate(parts)]

    programme.row([(("one", 0, 0), 1.0)], 1, 1)
    programme.row([(("cabinets", 0, 0), 1.0)], 1)
    programme.row([(("c", 0, k), 1.0) for k in range(len(terms.controllers))], 1, 1)
    agreements(programme, terms, loops)
    for field in ("carriers", "sections"):
        row = given("c", terms.controllers, f"max_{field}") + picked(field, -1.0)
        programme.row(row, 0)
    for field, limit in LIMITS.items():
        programme.row(given("n", terms.supplies, limit) + picked(field, -1.0), 0)
    number: list[tuple[Name, float]] = [(("n", 0, k), -1.0) for k in range(len(terms.supplies))]
    programme.row(number, -most, 0)
    programme.row([(("cabinets", 0, 0), float(terms.most_supplies)), *number], 0)
    programme.row([(("more", 0, 0), 1.0), *number, *picked("feeds", 1.0)], 0)
    for k in range(len(terms.supplies)):
        programme.row([(("u", 0, k), float(most)), (("n", 0, k), -1.0)], 0)
    if terms.width is not None:
        room = terms.width - terms.gap * (len(loops) - 1)
        programme.row(picked("across", 1.0), -np.inf, room)
    if terms.budget is not None:
        programme.rows.append((dict(enumerate(programme.price)), -np.inf, terms.budget))
    return programme.solve()


def columns(programme: Programme, terms: Terms, loops: list[tuple[Asks, ...]], most: float) -> None:
    for i, loop in enumerate(loops):
        for k, asks in enumerate(loop):
            programme.add(("x", i, k), asks.own)
    for k, part in enumerate(terms.controllers):
        programme.add(("c", 0, k), part.price)
    for k, (supply, spare) in enumerate(zip(terms.supplies, terms.supply_spares, strict=True)):
        programme.add(("n", 0, k), supply.price, most)
        programme.add(("u", 0, k), spare)
    for k in range(3):
        programme.add(("w", 0, k), 0)
    for k, kind in enumerate(KINDS):
        programme.add(("kind", 0, k), terms.kinds[kind])
    programme.add(("cabinets", 0, 0), terms.cabinet, len(loops))
    programme.add(("more", 0, 0), terms.feed, most)
    programme.add(("one", 0, 0), terms.once)


def agreements(programme: Programme, terms: Terms, loops: list[tuple[Asks, ...]]) -> None:
    """One candidate of each loop, its kind bought, short enough, and as the others expect it."""
    for i, loop in enumerate(loops):
        programme.row([(("x", i, k), 1.0) for k in range(len(loop))], 1, 1)
        for k, asks in enumerate(loop):
            programme.row([(("kind", 0, KINDS.index(asks.kind)), 1.0), (("x", i, k), -1.0)], 0)
            if terms.length is not None and asks.along > terms.length:
                programme.row([(("x", i, k), 1.0)], 0, 0)
            able: list[tuple[Name, float]] = [
                (("w", 0, n), 1.0) for n in range(3) if asks.ways & 1 << n
            ]
            programme.row([*able, (("x", i, k), -1.0)], 0)
    programme.row([(("w", 0, n), 1.0) for n in range(3)], 1, 1)
