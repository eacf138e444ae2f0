"""What of all that one loop may contribute can be part of the cheapest line.

Whatever the others are, the price of a line is the sum of the loops' own parts and of what is
shared, and what is shared never gets cheaper where more is asked of it: the controller by carriers
and sections, the supplies by powers and sections, the floor by its extents. That alone decides what
may be left out.

**Dominance.** Let y and x be two ways to build the same loop, y with no more carriers, sections,
mean and peak power and floor than x, and suiting every way to settle the handovers that x suits.
Take any line that holds x and put y in its place. Its controller
still commands all, its supplies still suffice, it still stands on its floor, its handovers still
agree. Of what is paid for, three things may change: the own parts, by own(y) - own(x); the kinds of
carrier, by kind(y) at most where y is of another kind than x, as the kind of x may stay in the
line; and the feeds that are bought beyond those the loops need anyhow, by at most
(feeds(x) - feeds(y)) times the least price of a feed, since for each supply beyond the feeds of all
loops one is bought. So if

    own(y) + [kind(y) if another kind] + max(feeds(x) - feeds(y), 0) * feed <= own(x)

no line with x is cheaper than the same with y, and x may be left out. Of two that dominate each
other the first is kept.

**Bound.** Where a line is known that costs U, x may also be left out if the cheapest line with x
costs at least U whatever the other loops are: `LeastWith` works out a price that no line with x
undercuts. What the others are is only needed as far as it matters to what is shared: any vector
that is nowhere more than theirs gives a bound, so several of them may be merged into the least of
each of their numbers. This is what makes a loop's candidate too dear that exceeds its cheapest by
more than sharing can save.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache, reduce
from itertools import combinations_with_replacement, product

import numpy as np
from numpy.typing import NDArray

from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.pricing import Cents
from recommender.choice.supplies.data import SupplyData
from recommender.lines.shared import Asks, Terms

Whole = NDArray[np.int64]

MOST_CONTEXTS = 48
"""Ways in which the other loops are looked at beside one; more of them are merged."""

_MANY = 400


def dominates(one: Asks, other: Asks, terms: Terms) -> bool:
    """Whether one may take the other's place in any line and make it no dearer."""
    if other.ways & ~one.ways:
        return False
    if any(
        getattr(one, name) > getattr(other, name)
        for name in ("carriers", "sections", "mean", "peak")
    ):
        return False
    if terms.width is not None and one.across > other.across:
        return False
    if terms.length is not None and one.along > other.along:
        return False
    another = terms.kinds[one.kind] if one.kind != other.kind else 0
    feeds = max(other.feeds - one.feeds, 0) * terms.feed
    return one.own + another + feeds <= other.own


def undominated(asks: Sequence[Asks], terms: Terms) -> list[int]:
    """Numbers of those that no other dominates, cheapest first; of equal ones the first."""
    order = sorted(range(len(asks)), key=lambda k: (asks[k].own, k))
    kept: list[int] = []
    for k in order:
        if not any(dominates(asks[known], asks[k], terms) for known in kept):
            kept = [known for known in kept if not dominates(asks[k], asks[known], terms)]
            kept.append(k)
    return sorted(kept, key=lambda k: (asks[k].own, k))


@dataclass(frozen=True)
class Rest:
    """The other loops of a line beside one, or less than they ask for: a vector that bounds them.

    ``kinds`` are those of which it is known that they are in the line.
    """

    own: Cents
    kinds: frozenset[str]
    carriers: int
    sections: int
    mean: int
    peak: int
    across: int
    ways: int

    @staticmethod
    def of(asks: Asks) -> "Rest":
        """One way to build one loop."""
        return Rest(
            asks.own,
            frozenset([asks.kind]),
            asks.carriers,
            asks.sections,
            asks.mean,
            asks.peak,
            asks.across,
            asks.ways,
        )

    def beside(self, other: "Rest") -> "Rest":
        """Both of them."""
        return Rest(
            self.own + other.own,
            self.kinds | other.kinds,
            self.carriers + other.carriers,
            self.sections + other.sections,
            self.mean + other.mean,
            self.peak + other.peak,
            self.across + other.across,
            self.ways & other.ways,
        )

    def least(self, other: "Rest") -> "Rest":
        """What is nowhere more than either, and suits what either suits.

        Kinds that only one holds are left open, and so are free: see `LeastWith`.
        """
        return Rest(
            min(self.own, other.own),
            self.kinds & other.kinds,
            min(self.carriers, other.carriers),
            min(self.sections, other.sections),
            min(self.mean, other.mean),
            min(self.peak, other.peak),
            min(self.across, other.across),
            self.ways | other.ways,
        )


def rests(others: Sequence[Sequence[Asks]], terms: Terms) -> list[Rest]:
    """The other loops, each with its candidates, in at most `MOST_CONTEXTS` ways."""
    found: list[Rest] | None = None
    for asks in others:
        kept = [asks[k] for k in undominated(asks, terms)] if len(asks) < _MANY else list(asks)
        one = _merged([Rest.of(entry) for entry in kept])
        beside = one if found is None else [a.beside(b) for a, b in product(found, one)]
        found = _merged([entry for entry in beside if entry.ways])
    return [Rest(0, frozenset(), 0, 0, 0, 0, 0, -1)] if found is None else found


def _merged(rests: Sequence[Rest]) -> list[Rest]:
    """The same, or fewer that bound them: of the same kinds and ways, near to each other in price.

    Vectors of other kinds are never merged while there is room for one of each.
    """
    if len(rests) <= MOST_CONTEXTS:
        return list(rests)
    classes: dict[object, list[Rest]] = {}
    for rest in rests:
        classes.setdefault((tuple(sorted(rest.kinds)), rest.ways), []).append(rest)
    groups = [sorted(group, key=lambda rest: (rest.own, rest.peak)) for group in classes.values()]
    each = max(MOST_CONTEXTS // len(groups), 1)
    merged = [
        reduce(Rest.least, group[start : start + size])
        for group in groups
        for size in [-(-len(group) // each)]
        for start in range(0, len(group), size)
    ]
    while len(merged) > MOST_CONTEXTS:
        merged.sort(key=lambda rest: (rest.own, rest.peak))
        merged = [reduce(Rest.least, merged[k : k + 2]) for k in range(0, len(merged), 2)]
    return merged


@dataclass(frozen=True)
class Vectors:
    """What many ways to build one loop ask for, (rows,); kind, ways and floor across are one's."""

    own: Whole
    carriers: Whole
    sections: Whole
    mean: Whole
    peak: Whole
    about: Asks

    @staticmethod
    def of(asks: Asks) -> "Vectors":
        """A single one."""
        numbers = (asks.own, asks.carriers, asks.sections, asks.mean, asks.peak)
        own, carriers, sections, mean, peak = (np.array([x], dtype=np.int64) for x in numbers)
        return Vectors(own, carriers, sections, mean, peak, asks)


class LeastWith:
    """A price that no line undercuts that holds some way to build one loop.

    The rest of the line is one of some vectors, the supplies are a set that gives what all loops
    draw together, with its cabinets and spares, and the controller the cheapest that commands all.
    A kind of carrier that is not known to be in the rest is paid for; what a merged rest holds
    beside is not. Feeds beyond those of each loop are left out. So the price is never above that
    of any line, and with a rest that is a real one it is that of the line but for those feeds.
    """

    def __init__(self, loops: int, rests: Sequence[Rest], terms: Terms) -> None:
        self.loops, self.rests, self.terms = loops, rests, terms

    @cached_property
    def _sets(self) -> tuple[Whole, Whole, Whole, Whole]:
        return supply_sets(self.terms, self.loops * self.terms.most_supplies)

    def __call__(self, vectors: Vectors) -> Whole:
        """The prices, cents; `NEVER` where no line can hold it."""
        best = np.full(len(vectors.own), NEVER, dtype=np.int64)
        for rest in self._suiting(vectors.about):
            control = self._controllers(
                vectors.carriers + rest.carriers, vectors.sections + rest.sections
            )
            supplies = self._supplies(
                vectors.mean + rest.mean,
                vectors.peak + rest.peak,
                vectors.sections + rest.sections,
            )
            kinds = sum(self.terms.kinds[kind] for kind in rest.kinds | {vectors.about.kind})
            price = vectors.own + (rest.own + kinds + self.terms.once)
            able = (control < NEVER) & (supplies < NEVER)
            best = np.where(able, np.minimum(best, price + control + supplies), best)
        return best

    def _suiting(self, about: Asks) -> Iterable[Rest]:
        for rest in self.rests:
            if self.terms.width is not None:
                across = about.across + rest.across + (self.loops - 1) * self.terms.gap
                if across > self.terms.width:
                    continue
            if rest.ways & about.ways:
                yield rest

    def _controllers(self, carriers: Whole, sections: Whole) -> Whole:
        price = np.full(len(carriers), NEVER, dtype=np.int64)
        for part in self.terms.controllers:
            able = (carriers <= part.max_carriers) & (sections <= part.max_sections)
            price = np.where(able, np.minimum(price, part.price), price)
        return price

    def _supplies(self, mean: Whole, peak: Whole, sections: Whole) -> Whole:
        prices, means, peaks, reach = self._sets
        found = np.full(len(mean), NEVER, dtype=np.int64)
        left = np.arange(len(mean))
        for price, most_mean, most_peak, most in zip(prices, means, peaks, reach, strict=True):
            if not len(left):
                break
            hit = (mean[left] <= most_mean) & (peak[left] <= most_peak) & (sections[left] <= most)
            found[left[hit]] = price
            left = left[~hit]
        return found


@lru_cache(maxsize=8)
def _priced_sets(
    supplies: tuple[SupplyData, ...],
    spares: tuple[Cents, ...],
    cabinet: Cents,
    most_supplies: int,
    most: int,
) -> tuple[Whole, Whole, Whole, Whole]:
    kinds = range(len(supplies))
    chosen = [
        combination
        for number in range(1, most + 1)
        for combination in combinations_with_replacement(kinds, number)
    ]
    counts = np.zeros((len(chosen), len(supplies)), dtype=np.int64)
    for row, combination in enumerate(chosen):
        np.add.at(counts[row], list(combination), 1)
    cabinets = -(-counts.sum(axis=1) // most_supplies)
    price = counts @ np.array([part.price for part in supplies], dtype=np.int64)
    price = price + (counts > 0) @ np.array(spares, dtype=np.int64) + cabinets * cabinet
    gains = np.stack(
        [
            counts @ np.array([getattr(part, name) for part in supplies], dtype=np.int64)
            for name in ("mean_power", "peak_power", "max_sections")
        ],
        axis=1,
    )
    kept: list[int] = []
    for row in np.lexsort((*(-gains.T[::-1]), price)):
        if not (gains[kept] >= gains[row]).all(axis=1).any():
            kept.append(int(row))
    return price[kept], gains[kept, 0], gains[kept, 1], gains[kept, 2]


def supply_sets(terms: Terms, most: int) -> tuple[Whole, Whole, Whole, Whole]:
    """Price, mean and peak power and sections of all sets of supplies, cheapest first.

    Those that no cheaper or equal one matches in everything, cabinets and spares included.
    """
    return _priced_sets(
        terms.supplies, terms.supply_spares, terms.cabinet, terms.most_supplies, most
    )
