"""Which straight sections make up the two sides of a loop: every make-up worth looking at."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, product

import numpy as np

from recommender.choice.parts.pricing import Cents, cents, lines_price
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

_MICRO = 1e-6


@dataclass(frozen=True)
class Build:
    """Pieces of each straight section on the front and on the back, in the catalogue's order.

    Both sides are ``length`` metres long. ``pieces`` and ``price`` are those of both sides
    together, the price by whether a lower rail runs along them, and so are the ``weeks`` of what is
    waited for longest, where weeks matter.
    """

    front: tuple[int, ...]
    back: tuple[int, ...]
    length: float
    pieces: int
    price: tuple[Cents, Cents]
    weeks: tuple[float, float] = (0.0, 0.0)

    @property
    def counts(self) -> tuple[int, ...]:
        """Pieces of each section on both sides."""
        return tuple(a + b for a, b in zip(self.front, self.back, strict=True))


@dataclass(frozen=True)
class _Side:
    """One side: pieces of each section, and what they cost plain and with lower rail."""

    counts: tuple[int, ...]
    length: float
    pieces: int
    price: tuple[Cents, Cents]
    weeks: tuple[float, float]


def builds(
    catalogue: Catalogue,
    longest: float,
    *,
    joints_matter: bool = False,
    sides_differ: bool = False,
    weeks_matter: bool = False,
) -> tuple[Build, ...]:
    """All ways to build the straights up to ``longest`` metres that no other way betters.

    A way is dropped if another of the same length costs no more with and without lower rail and
    has no more pieces, since pieces only add idle power, feeds and controller size.

    Parameters
    ----------
    catalogue : Catalogue
    longest : float, m
        Greatest length of one side.
    joints_matter : bool
        Whether some station must be clear of joints. What is dearer may then be needed for its
        joints, and nothing is dropped.
    sides_differ : bool
        Whether front and back are told apart, so that both ways round are looked at.
    weeks_matter : bool
        Whether what is sooner betters what is later.

    Returns
    -------
    tuple of Build
        By length, then price.
    """
    best: dict[int, list[_Side]] = {}
    for side in _sides(catalogue, longest, weeks_matter=weeks_matter):
        rivals = best.setdefault(round(side.length / _MICRO), [])
        if joints_matter:
            rivals.append(side)
        elif not any(_no_worse(old, side) for old in rivals):
            rivals[:] = [old for old in rivals if not _no_worse(side, old)] + [side]
    found: list[Build] = []
    for length in sorted(best):
        both = _pairs(best[length], ordered=joints_matter and sides_differ)
        kept: list[Build] = []
        for build in sorted(both, key=lambda entry: (entry.price, entry.pieces)):
            if joints_matter or not any(_no_worse(old, build) for old in kept):
                kept.append(build)
        found.extend(kept)
    return tuple(found)


def _pairs(sides: Sequence[_Side], *, ordered: bool) -> list[Build]:
    """Front and back of the same length; alike sides either way round count once."""
    ways = product(sides, repeat=2) if ordered else combinations_with_replacement(sides, 2)
    return [
        Build(
            front.counts,
            back.counts,
            front.length,
            front.pieces + back.pieces,
            (front.price[0] + back.price[0], front.price[1] + back.price[1]),
            (max(front.weeks[0], back.weeks[0]), max(front.weeks[1], back.weeks[1])),
        )
        for front, back in ways
    ]


def _sides(catalogue: Catalogue, longest: float, *, weeks_matter: bool) -> list[_Side]:
    """Every side that fits, the empty one left out."""
    section = lines_price(catalogue, "section")
    plain = [cents(part.price) + section for part in catalogue.straight]
    railed = [
        price + (cents(rail.price) if (rail := catalogue.lower_rails.get(part.id)) else 0)
        for price, part in zip(plain, catalogue.straight, strict=True)
    ]
    alone, both = _weeks(catalogue) if weeks_matter else (np.zeros(len(plain)),) * 2
    return [
        _Side(
            counts,
            sum(n * part.length for n, part in zip(counts, catalogue.straight, strict=True)),
            sum(counts),
            (int(np.dot(counts, plain)), int(np.dot(counts, railed))),
            (_longest(alone, counts), _longest(both, counts)),
        )
        for counts in _counts([part.length for part in catalogue.straight], longest)
    ]


def _longest(weeks: Array, counts: tuple[int, ...]) -> float:
    return max(float(time) for count, time in zip(counts, weeks, strict=True) if count)


def _weeks(catalogue: Catalogue) -> tuple[Array, Array]:
    """Weeks until each straight section is there, plain and with lower rail."""
    alone = np.array([part.lead_time for part in catalogue.straight])
    rails = (catalogue.lower_rails.get(part.id) for part in catalogue.straight)
    return alone, np.maximum(alone, [rail.lead_time if rail else 0.0 for rail in rails])


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


def _no_worse(one: _Side | Build, other: _Side | Build) -> bool:
    return (
        one.pieces <= other.pieces
        and one.weeks[0] <= other.weeks[0]
        and one.weeks[1] <= other.weeks[1]
        and one.price[0] <= other.price[0]
        and one.price[1] <= other.price[1]
    )
