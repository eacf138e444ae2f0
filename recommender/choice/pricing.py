"""What a configuration costs, in cents, prepared so that the search only adds up.

Prices are whole cents throughout, so nothing is rounded. The bill of materials
(``recommender.choice.parts``) adds up the same prices from the finished configuration.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations_with_replacement
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from recommender.choice import rounding
from recommender.choice.options import Option
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

Cents = int
_MICRO = 1e-6


def cents(amount: Decimal) -> Cents:
    """Whole cents of a price."""
    return int(amount * 100)


@dataclass(frozen=True)
class Composition:
    """Pieces of each straight section on one side, in the catalogue's order.

    ``price`` is what both sides cost, by whether a lower rail runs along them.
    """

    counts: tuple[int, ...]
    length: float
    pieces: int
    price: tuple[Cents, Cents]


def engineering_price(
    catalogue: Catalogue, per: Literal["order", "station", "carrier", "section"]
) -> Cents:
    """Work that is charged once for each ``per``."""
    return sum(cents(work.price) for work in catalogue.engineering if work.per == per)


def compositions(catalogue: Catalogue, longest: float) -> tuple[Composition, ...]:
    """All ways to build one side up to ``longest`` metres that no other way betters.

    A composition is dropped if another of the same length costs no more with and without lower
    rail and has no more pieces, since pieces only add idle power, feeds and controller size.
    """
    section = engineering_price(catalogue, "section")
    plain = [cents(part.price) + section for part in catalogue.straight]
    railed = [
        price + (cents(rail.price) if (rail := catalogue.lower_rails.get(part.id)) else 0)
        for price, part in zip(plain, catalogue.straight, strict=True)
    ]
    best: dict[int, list[Composition]] = {}
    for counts in _counts([part.length for part in catalogue.straight], longest):
        length = sum(n * part.length for n, part in zip(counts, catalogue.straight, strict=True))
        new = Composition(
            counts=counts,
            length=length,
            pieces=sum(counts),
            price=(2 * int(np.dot(counts, plain)), 2 * int(np.dot(counts, railed))),
        )
        rivals = best.setdefault(round(length / _MICRO), [])
        if not any(_no_worse(old, new) for old in rivals):
            rivals[:] = [old for old in rivals if not _no_worse(new, old)] + [new]
    return tuple(entry for length in sorted(best) for entry in best[length])


def _counts(lengths: Sequence[float], longest: float) -> list[tuple[int, ...]]:
    """Every count of pieces that fits, the empty side left out."""
    partial: list[tuple[tuple[int, ...], float]] = [((), 0.0)]
    for length in lengths:
        partial = [
            ((*counts, n), used + n * length)
            for counts, used in partial
            for n in range(int((longest - used) / length + _MICRO) + 1)
        ]
    return [counts for counts, used in partial if used > 0]


def _no_worse(one: Composition, other: Composition) -> bool:
    return (
        one.pieces <= other.pieces
        and one.price[0] <= other.price[0]
        and one.price[1] <= other.price[1]
    )


@dataclass(frozen=True)
class ElectricalChoice:
    """Sets of supplies for a loop of some sections, cheapest first, feeds included.

    Powers are whole milliwatts.
    """

    counts: NDArray[np.int64]
    price: NDArray[np.int64]
    mean: NDArray[np.int64]
    peak: NDArray[np.int64]
    feeds: tuple[tuple[tuple[str, int], ...], ...]

    def cheapest(self, mean: NDArray[np.int64], peak: NDArray[np.int64]) -> NDArray[np.int64]:
        """Index of the cheapest set that covers each demand, or -1 where none does."""
        found = np.full(mean.shape, -1, dtype=np.int64)
        left = np.ones(mean.shape, dtype=bool)
        for index in range(len(self.price)):
            hit = left & (mean <= self.mean[index]) & (peak <= self.peak[index])
            found[hit] = index
            left &= ~hit
            if not left.any():
                break
        return found


def electrical_choice(catalogue: Catalogue, sections: int) -> ElectricalChoice:
    """All undominated sets of supplies that may serve ``sections``, with their feeds."""
    sets = []
    for size in range(1, catalogue.rules.most_supplies + 1):
        for chosen in combinations_with_replacement(range(len(catalogue.supply)), size):
            parts = [catalogue.supply[k] for k in chosen]
            if sum(part.max_sections for part in parts) < sections:
                continue
            feed_price, feed = cheapest_feeds(catalogue, sections, size)
            sets.append(
                (
                    sum(cents(part.price) for part in parts) + feed_price,
                    sum(int(rounding.capacity(part.mean_power, "power")) for part in parts),
                    sum(int(rounding.capacity(part.peak_power, "power")) for part in parts),
                    tuple(chosen.count(k) for k in range(len(catalogue.supply))),
                    feed,
                )
            )
    sets.sort(key=lambda entry: (entry[0], -entry[1], -entry[2]))
    kept: list[tuple[Cents, int, int, tuple[int, ...], tuple[tuple[str, int], ...]]] = []
    for entry in sets:
        if not any(old[1] >= entry[1] and old[2] >= entry[2] for old in kept):
            kept.append(entry)
    return ElectricalChoice(
        counts=np.array([entry[3] for entry in kept], dtype=np.int64),
        price=np.array([entry[0] for entry in kept], dtype=np.int64),
        mean=np.array([entry[1] for entry in kept], dtype=np.int64),
        peak=np.array([entry[2] for entry in kept], dtype=np.int64),
        feeds=tuple(entry[4] for entry in kept),
    )


def cheapest_feeds(
    catalogue: Catalogue, sections: int, supplies: int
) -> tuple[Cents, tuple[tuple[str, int], ...]]:
    """Feeds of one kind that reach all sections, one for each supply at least."""
    choices = [
        (count * cents(feed.price), ((feed.id, count),))
        for feed in catalogue.feed
        for count in [max(supplies, -(-sections // feed.max_sections))]
    ]
    return min(choices)


def cheapest_controller(catalogue: Catalogue, sections: int) -> tuple[tuple[int, Cents, str], ...]:
    """Controllers for a loop of ``sections``: (most carriers, price, id), cheapest first."""
    return tuple(
        sorted(
            (
                (part.max_carriers, cents(part.price), part.id)
                for part in catalogue.controller
                if part.max_sections >= sections
            ),
            key=lambda entry: (entry[1], -entry[0]),
        )
    )


def controller_price(
    controllers: tuple[tuple[int, Cents, str], ...], carriers: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Price of the cheapest controller for each number of carriers; -1 where none commands it."""
    price = np.full(carriers.shape, -1, dtype=np.int64)
    for most, cost, _ in reversed(controllers):
        price[carriers <= most] = cost
    return price


def fixed_price(option: Option, case: Case, catalogue: Catalogue) -> Cents:
    """What an option costs before its straights, carriers and electrical parts."""
    bend = cents(option.bend.price) + option.bend.sections * engineering_price(catalogue, "section")
    if option.family.lower_guide:
        bend += cents(catalogue.lower_rails[option.bend.id].price)
    return (
        2 * bend
        + engineering_price(catalogue, "order")
        + len(case.station) * engineering_price(catalogue, "station")
    )


def carrier_price(option: Option, catalogue: Catalogue) -> Cents:
    """What one carrier more costs."""
    return cents(option.carrier.price) + engineering_price(catalogue, "carrier")
