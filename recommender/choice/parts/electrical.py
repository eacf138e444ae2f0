"""Sets of supplies with their feeds, and controllers, by the number of sections that they serve.

Prices are whole cents, powers whole milliwatts. A set is looked at as if its supplies were joined:
what they give together must cover what the whole loop draws. Where it is divided into runs of
sections it may take more, never less, so these prices are lower bounds, and exact for one supply.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from recommender.choice.parts import rounding
from recommender.choice.parts.pricing import Cents, cents, feed_price, supply_price
from recommender.inputs.catalogue import Catalogue, Controller

NEVER: Cents = 4 * 10**18
"""A price, or a rank, that nothing reaches, where a part cannot be had."""


@dataclass(frozen=True)
class ElectricalChoice:
    """Sets of supplies for a loop of some sections, cheapest first, feeds included.

    ``counts`` has the pieces of each supply in the catalogue's order, ``feeds`` the id and the
    pieces of the feed of each set.
    """

    counts: NDArray[np.int64]
    price: NDArray[np.int64]
    mean: NDArray[np.int64]
    peak: NDArray[np.int64]
    feeds: tuple[tuple[str, int], ...]

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


@dataclass(frozen=True)
class _Sets:
    """Every set of supplies that no other betters, whatever the number of sections."""

    counts: NDArray[np.int64]
    size: NDArray[np.int64]
    price: NDArray[np.int64]
    mean: NDArray[np.int64]
    peak: NDArray[np.int64]
    reach: NDArray[np.int64]

    def take(self, rows: NDArray[np.intp]) -> "_Sets":
        return _Sets(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))


def _all_sets(catalogue: Catalogue) -> _Sets:
    kinds = catalogue.supply
    chosen = [
        combination
        for size in range(1, catalogue.rules.most_supplies + 1)
        for combination in combinations_with_replacement(range(len(kinds)), size)
    ]
    counts = np.zeros((len(chosen), len(kinds)), dtype=np.int64)
    for row, combination in enumerate(chosen):
        np.add.at(counts[row], list(combination), 1)

    def total(values: Sequence[int]) -> NDArray[np.int64]:
        return np.asarray(counts @ np.array(values, dtype=np.int64))

    return _Sets(
        counts=counts,
        size=counts.sum(axis=1),
        price=total([supply_price(part, catalogue) for part in kinds]),
        mean=total([int(rounding.capacity(part.mean_power, "power")) for part in kinds]),
        peak=total([int(rounding.capacity(part.peak_power, "power")) for part in kinds]),
        reach=total([part.max_sections for part in kinds]),
    )


def _undominated(price: NDArray[np.int64], *gains: NDArray[np.int64]) -> NDArray[np.intp]:
    """Rows, cheapest first, that no cheaper or equal one matches in every gain."""
    order = np.lexsort((*(-gain for gain in reversed(gains)), price))
    table = np.stack(gains, axis=1)[order]
    kept: list[int] = []
    best = np.empty((0, table.shape[1]), dtype=np.int64)
    for row, values in enumerate(table):
        if not (best >= values).all(axis=1).any():
            kept.append(row)
            best = table[kept]
    return order[kept]


class ElectricalCatalogue:
    """Supplies, feeds and controllers of a catalogue, ready for any number of sections."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._choices: dict[int, ElectricalChoice] = {}

    @cached_property
    def _sets(self) -> _Sets:
        found = _all_sets(self.catalogue)
        # Fewer supplies never ask for more feeds, so a smaller set is a gain as well.
        return found.take(
            _undominated(found.price, found.mean, found.peak, found.reach, -found.size)
        )

    @cached_property
    def most_sections(self) -> int:
        """Most sections that some set of supplies and some controller serve."""
        most = max(part.max_sections for part in self.catalogue.controller)
        return min(most, int(self._sets.reach.max()))

    def choice(self, sections: int) -> ElectricalChoice:
        """All undominated sets of supplies that may serve so many sections, with their feeds."""
        if sections not in self._choices:
            self._choices[sections] = self._choice(sections)
        return self._choices[sections]

    def _choice(self, sections: int) -> ElectricalChoice:
        sets = self._sets.take(np.flatnonzero(self._sets.reach >= sections))
        feeds = {
            int(size): cheapest_feeds(self.catalogue, sections, int(size))
            for size in np.unique(sets.size)
        }
        price = sets.price + np.array([feeds[int(size)][0] for size in sets.size], dtype=np.int64)
        kept = _undominated(price, sets.mean, sets.peak)
        return ElectricalChoice(
            counts=sets.counts[kept],
            price=price[kept],
            mean=sets.mean[kept],
            peak=sets.peak[kept],
            feeds=tuple(feeds[int(size)][1] for size in sets.size[kept]),
        )

    def least_price(self, sections: NDArray[np.int64]) -> NDArray[np.int64]:
        """Price of the cheapest set for each number of sections, whatever the power, or `NEVER`."""
        numbers, place = np.unique(sections, return_inverse=True)
        prices = [
            int(self.choice(int(number)).price[0]) if number <= self.most_sections else NEVER
            for number in numbers
        ]
        return np.array(prices, dtype=np.int64)[place]

    def controller_price(
        self, sections: NDArray[np.int64] | int, carriers: NDArray[np.int64] | int
    ) -> NDArray[np.int64]:
        """Price of the cheapest controller for sections and carriers; `NEVER` where none does."""
        most = np.array(self._controllers.shape) - 1
        return np.asarray(
            self._controllers[np.minimum(sections, most[0]), np.minimum(carriers, most[1])]
        )

    @cached_property
    def _controllers(self) -> NDArray[np.int64]:
        """Prices by sections and carriers; the last of either stands for all that is more."""
        parts = self.catalogue.controller
        most = max(part.max_carriers for part in parts)
        table = np.full((self.most_sections + 2, most + 2), NEVER, dtype=np.int64)
        for part in parts:
            served = table[: part.max_sections + 1, : part.max_carriers + 1]
            np.minimum(served, cents(part.price), out=served)
        table[-1] = NEVER
        table[:, -1] = NEVER
        return table


def cheapest_controller(catalogue: Catalogue, sections: int, carriers: int) -> Controller | None:
    """The cheapest controller for so many sections and carriers; of equal price the larger."""
    able = [
        part
        for part in catalogue.controller
        if part.max_sections >= sections and part.max_carriers >= carriers
    ]
    return min(able, key=lambda part: (part.price, -part.max_carriers, part.id), default=None)


def cheapest_feeds(
    catalogue: Catalogue, sections: int, supplies: int
) -> tuple[Cents, tuple[str, int]]:
    """Feeds of one kind that reach all sections, one for each supply at least."""
    return min(
        (count * feed_price(feed, catalogue), (feed.id, count))
        for feed in catalogue.feed
        for count in [max(supplies, -(-sections // feed.max_sections))]
    )
