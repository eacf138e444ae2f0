"""What feeds a finished loop: the supplies and their sections, the feeds, and the controller.

The sections form a ring. Each supply serves a run of neighbours whose power it covers, one kind of
feed leads in at intervals that it bridges, in each run at least once, and only on sections that
allow it. The cheapest such set is proven by the model of `recommender.choice.supplies.model`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement
from math import comb

import numpy as np
from numpy.typing import NDArray

from recommender.choice.loop.demand import LoopDemand
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.ring import least_feeds
from recommender.choice.parts.configuration import Electrics, Group
from recommender.choice.parts.electrical import cheapest_controller
from recommender.choice.parts.pricing import Cents, cents, offered
from recommender.choice.supplies.data import FeedData, SupplyData, feed_data, supply_data
from recommender.choice.supplies.model import Feeding, FeedingInstance, Run, solve_feeding
from recommender.inputs.catalogue import Catalogue

Whole = NDArray[np.int64]

_MOST_SETS = 20_000


@dataclass(frozen=True)
class Fed:
    """Supplies, feeds and controller of a loop; their price, and whether none cheaper will do."""

    electrics: Electrics
    price: Cents
    proven: bool


def feed_loop(
    layout: LayoutContext, *, work: float = 10.0, workers: int = 1, seed: int = 0
) -> Fed | None:
    """The cheapest supplies, feeds and controller for the only row of settings of a layout.

    Parameters
    ----------
    layout : LayoutContext
        Of one row.
    work : float
        When it has passed, the best that is known is given, and ``proven`` is false.
    workers, seed : int
        Threads and random seed of the solver; the answer is the same with any.

    Returns
    -------
    Fed or None
        ``None`` if nothing in the catalogue serves the loop.

    Raises
    ------
    Unknown
        If the time is too short to find anything.
    """
    catalogue = offered(layout.about.catalogue, layout.about.case)
    fleet = layout.carriers[0]
    if not np.isfinite(fleet):
        return None
    demand = LoopDemand(layout)
    controller = cheapest_controller(catalogue, len(demand.sections), int(fleet))
    if controller is None:
        return None
    fed = _cheapest_feeding(demand, catalogue, work=work, workers=workers, seed=seed)
    if fed is None:
        return None
    groups = sorted(fed.runs, key=lambda run: run.first)
    electrics = Electrics(
        tuple(Group(catalogue.supply[run.supply].id, run.first, run.count) for run in groups),
        catalogue.feed[fed.feed].id,
        fed.places,
        controller.id,
    )
    return Fed(electrics, fed.price + cents(controller.price), fed.proven)


def servable_runs(
    supplies: Sequence[SupplyData], first: Whole, count: Whole, mean: Whole, peak: Whole
) -> list[Run]:
    """Each run with each supply that can serve it. Powers are whole milliwatts."""
    found = []
    for kind, part in enumerate(supplies):
        able = (count <= part.max_sections) & (mean <= part.mean_power) & (peak <= part.peak_power)
        shares = np.array(
            [mean / part.mean_power, peak / part.peak_power, count / part.max_sections]
        )
        used = np.ceil(100.0 * shares.max(axis=0)).astype(np.int64)
        kept = (first[able].tolist(), count[able].tolist(), used[able].tolist())
        found += [
            Run(start, number, kind, share) for start, number, share in zip(*kept, strict=True)
        ]
    return found


def _cheapest_feeding(
    demand: LoopDemand, catalogue: Catalogue, *, work: float, workers: int, seed: int
) -> Feeding | None:
    """One supply if no more can be cheaper, else the best of all divisions of the ring."""
    supplies, feeds = supply_data(catalogue), feed_data(catalogue)
    takes = tuple(section.takes_feed for section in demand.sections)
    size, most = len(takes), catalogue.rules.most_supplies
    least = [least_feeds(takes, feed.max_sections) for feed in feeds]
    if all(number is None for number in least):
        return None
    everything = np.array([0]), np.array([size])
    mean, peak = demand.whole_steps(*everything)
    together = int(mean[0]), int(peak[0])
    alone = servable_runs(supplies, *everything, mean, peak)
    at_most = None
    if alone:
        at_most = min(supplies[run.supply].price for run in alone) + _feed_price(feeds, least, 1)
    at_least = _several_at_least(supplies, feeds, least, most, size, *together)
    if at_least is not None and (at_most is None or at_least < at_most):
        longest = min(max(part.max_sections for part in supplies), size - 1)
        first, count = np.divmod(np.arange(size * longest), longest)
        runs = servable_runs(supplies, first, count + 1, *demand.whole_steps(first, count + 1))
        instance = FeedingInstance(
            takes, (*alone, *runs), supplies, feeds, most, together, at_least, at_most
        )
    elif at_most is not None:
        instance = FeedingInstance(
            takes, tuple(alone), supplies, feeds, 1, together, at_most, at_most
        )
    else:
        return None
    return solve_feeding(instance, work=work, workers=workers, seed=seed)


def _feed_price(feeds: Sequence[FeedData], least: Sequence[int | None], supplies: int) -> Cents:
    """Price of feeds that is not undercut with so many supplies; exact for one supply."""
    return min(
        max(number, supplies) * feed.price
        for feed, number in zip(feeds, least, strict=True)
        if number is not None
    )


def _several_at_least(
    supplies: tuple[SupplyData, ...],
    feeds: Sequence[FeedData],
    least: Sequence[int | None],
    most: int,
    size: int,
    mean: int,
    peak: int,
) -> Cents | None:
    """A price that no set of two supplies or more undercuts; ``None`` if no such set suffices.

    Runs come to no less together than the whole loop, so all supplies together must cover it.
    """
    if comb(most + len(supplies), most) > _MOST_SETS:
        return _several_by_share(supplies, feeds, least, most, (mean, peak, size))
    number, price, means, peaks, reach = _sets(supplies, most)
    covers = (means >= mean) & (peaks >= peak) & (reach >= size) & (number <= size)
    if not covers.any():
        return None
    fed = [_feed_price(feeds, least, pieces) for pieces in range(most + 1)]
    return int((price + np.array(fed, dtype=np.int64)[number])[covers].min())


def _several_by_share(
    supplies: tuple[SupplyData, ...],
    feeds: Sequence[FeedData],
    least: Sequence[int | None],
    most: int,
    asked: tuple[int, int, int],
) -> Cents | None:
    """The same, weaker, without looking at sets: each limit at the price of the cheapest share."""
    bound = 2 * min(part.price for part in supplies)
    for field, demand in zip(("mean_power", "peak_power", "max_sections"), asked, strict=True):
        if most < 2 or most * max(getattr(part, field) for part in supplies) < demand:
            return None
        bound = max(bound, min(demand * part.price // getattr(part, field) for part in supplies))
    return bound + _feed_price(feeds, least, 2)


@lru_cache(maxsize=16)
def _sets(supplies: tuple[SupplyData, ...], most: int) -> tuple[Whole, Whole, Whole, Whole, Whole]:
    """Number, price, mean and peak power and reach of all sets of two supplies or more."""
    chosen = [
        combination
        for pieces in range(2, most + 1)
        for combination in combinations_with_replacement(range(len(supplies)), pieces)
    ]
    counts = np.zeros((len(chosen), len(supplies)), dtype=np.int64)
    for row, combination in enumerate(chosen):
        np.add.at(counts[row], list(combination), 1)

    def total(values: Sequence[int]) -> Whole:
        return np.asarray(counts @ np.array(values, dtype=np.int64))

    return (
        counts.sum(axis=1),
        total([part.price for part in supplies]),
        total([part.mean_power for part in supplies]),
        total([part.peak_power for part in supplies]),
        total([part.max_sections for part in supplies]),
    )
