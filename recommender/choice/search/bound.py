"""What the settings of a box cannot undercut on a build, wherever its stations stand.

The quickest corner of a box bounds lap, exchange and so the number of carriers from below; its
gentlest corner bounds forces, wear, energy and power. Where one number falls with the one and rises
with the other (an energy is a force times a time), each takes the corner at which it is least, so
that the bound meets the true value as the box shrinks.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.checks import SETTING_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.loop.lap import LegPlan
from recommender.choice.loop.power import lap_energy, lap_peak_power
from recommender.choice.loop.wear import carrier_life, most_laps_of_each_roller
from recommender.choice.parts import rounding
from recommender.choice.parts.braking import fleet_price
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import Goal
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.box import Boxes
from recommender.choice.search.energy_bound import least_mean_power
from recommender.choice.search.lap_bound import LapBound
from recommender.choice.search.least_lap import least_lap
from recommender.choice.search.price_bound import PricedBuild
from recommender.physics.constants import Array
from recommender.physics.motion import speed_change_distance


@dataclass(frozen=True)
class Bounded:
    """Boxes on one build, and what no setting of each undercuts: carriers, price and rank."""

    priced: PricedBuild
    boxes: Boxes
    carriers: NDArray[np.int64]
    price: NDArray[np.int64]
    rank: NDArray[np.int64]

    @property
    def least(self) -> int:
        """The rank that none of them undercuts."""
        return int(self.rank.min(initial=NEVER))

    def take(self, rows: NDArray[np.intp]) -> "Bounded":
        """Some of the boxes."""
        columns = (values[rows] for values in (self.carriers, self.price, self.rank))
        return Bounded(self.priced, self.boxes.take(rows), *columns)

    def joined(self, other: "Bounded") -> "Bounded":
        """These boxes and others on the same build."""
        return Bounded(
            self.priced,
            Boxes.joined([self.boxes, other.boxes]),
            np.concatenate([self.carriers, other.carriers]),
            np.concatenate([self.price, other.price]),
            np.concatenate([self.rank, other.rank]),
        )

    def with_one_more(self, price_book: PriceBook) -> "Bounded":
        """The same boxes with one carrier more in each, and what that costs."""
        if price_book.goal is Goal.ENERGY:
            # One more waits for its place, and what that takes is not a price of its own.
            context, where = self.boxes.context, np.zeros(len(self.carriers), dtype=np.intp)
            lap = _lap_bound(context, self.priced.build.length + np.zeros(len(where)), price_book)
            number = self.carriers + 1
            price, rank = _least_price([self.priced], where, context, number, price_book, lap)
            return Bounded(self.priced, self.boxes, number, price, rank)
        about, length = self.boxes.axes.about, self.priced.build.length
        asked = (about.option, price_book.case, price_book.catalogue, length)
        now, more = (fleet_price(*asked, self.carriers + k) for k in (0, 1))
        price, most = self.price + more - now, price_book.most_spent
        rank = self.rank + more - now
        rank = rank if most is None else np.where(price <= most, rank, NEVER)
        return Bounded(self.priced, self.boxes, self.carriers + 1, price, rank)

    def below(self, rank: int) -> "Bounded":
        """The boxes in which something may rank lower."""
        return self.take(np.flatnonzero(self.rank < rank))


def bounded(priced: PricedBuild, boxes: Boxes, price_book: PriceBook) -> Bounded:
    """Boxes in which something may hold on a build, with the least that it may cost.

    Parameters
    ----------
    priced : PricedBuild
    boxes : Boxes
    price_book : PriceBook
    """
    where = np.zeros(len(boxes), dtype=np.intp)
    _, boxes, carriers, price, rank = _bounds([priced], where, boxes, price_book)
    return Bounded(priced, boxes, carriers, price, rank)


def bounded_on_each(
    builds: Sequence[PricedBuild], whole: Boxes, price_book: PriceBook
) -> list[Bounded]:
    """One and the same box on each of some builds, the cheapest first.

    Parameters
    ----------
    builds : sequence of PricedBuild
    whole : Boxes
        One box.
    price_book : PriceBook
    """
    where = np.arange(len(builds))
    rows, boxes, carriers, price, rank = _bounds(
        builds, where, whole.take(np.zeros(len(builds), dtype=np.intp)), price_book
    )
    found = [
        Bounded(builds[row], boxes.take(one), carriers[one], price[one], rank[one])
        for number, row in enumerate(rows)
        for one in [np.array([number])]
    ]
    return sorted(found, key=lambda entry: entry.least)


def _bounds(
    builds: Sequence[PricedBuild], where: NDArray[np.intp], boxes: Boxes, price_book: PriceBook
) -> tuple[NDArray[np.intp], Boxes, NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Boxes, each on one of some builds, in which something may hold.

    Returns
    -------
    tuple
        The build's number of each box that is left, the boxes, fewest carriers, least prices and
        least ranks.
    """
    about = boxes.axes.about
    hop = max(about.spacing, about.bend_spacing) * float(about.positions.max())
    length = np.array([priced.build.length for priced in builds])
    rows, boxes = boxes.trimmed()
    where = where[rows]
    boxes = boxes.reaching(np.maximum(length[where] - about.option.base, hop))
    context = boxes.context
    rows = np.arange(len(boxes))
    for check in SETTING_CHECKS:
        outcome = check.evaluate(context) if len(rows) else None
        if outcome is not None:
            holds = np.flatnonzero(outcome.utilisation() <= HOLDS)
            if len(holds) < len(rows):
                rows, context = rows[holds], context.take(holds)
    if len(rows):
        lap = _lap_bound(context, length[where[rows]], price_book)
        carriers = lap.carriers(lap.lap_time, _for_life(context, lap))
        able = np.flatnonzero(np.isfinite(carriers))
        number = carriers[able].astype(np.int64)
        rows = rows[able]
        price, rank = _least_price(
            builds, where[rows], context.take(able), number, price_book, lap.take(able)
        )
        kept = np.flatnonzero(rank < NEVER)
        rows, number, price, rank = rows[kept], number[kept], price[kept], rank[kept]
    else:
        number = price = rank = np.empty(0, dtype=np.int64)
    return where[rows], boxes.take(rows), number, price, rank


def _lap_bound(context: SettingContext, length: Array, price_book: PriceBook) -> LapBound:
    """Bounds of the laps of boxes on straights of some lengths, (rows,)."""
    slowest, closely = context.settings.bend_speed, price_book.goal is Goal.ENERGY
    return LapBound(context.about, length, context.swift, slowest, closely)


def _for_life(context: SettingContext, lap: LapBound) -> Array:
    """Carriers without which the rollers cannot last, however a lap is shared out, (rows,)."""
    about = context.about
    turning = 2.0 * (about.bend_length + about.option.base)
    laps = carrier_life(most_laps_of_each_roller(context, 2.0 * lap.available, turning))
    return np.ceil(about.case.life.hours * 3600.0 / (about.takt * laps) - 1e-6)


def _least_price(
    builds: Sequence[PricedBuild],
    where: NDArray[np.intp],
    context: SettingContext,
    carriers: NDArray[np.int64],
    price_book: PriceBook,
    bound: LapBound,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Price and rank with so many carriers and the cheapest supplies for the least power."""
    price, rank = (np.full(len(carriers), NEVER, dtype=np.int64) for _ in range(2))
    if not len(carriers):
        return price, rank
    number = carriers.astype(np.float64)
    powers = least_powers(context, number, bound)
    if price_book.goal is Goal.ENERGY:
        mean = np.maximum(powers[0], least_mean_power(context, number, bound))
        powers = mean, powers[1]
    idle_power = price_book.catalogue.catalogue.section_idle_power
    for build in np.unique(where):
        priced, rows = builds[build], np.flatnonzero(where == build)
        idle = rounding.demand(priced.sections * idle_power, "power")
        mean, peak = (rounding.demand(power[rows], "power") + idle for power in powers)
        price[rows], rank[rows] = priced.ranked(
            context.about, price_book, carriers[rows], mean, peak
        )
    return price, rank


def least_powers(context: SettingContext, carriers: Array, bound: LapBound) -> tuple[Array, Array]:
    """Mean and peak power that no setting of a box undercuts at any places, (rows,), W.

    Longer stretches take more energy and reach higher speeds, so each is taken as short as may be.
    """
    turning = 2.0 * (bound.about.bend_length + bound.about.option.base)
    means, peaks = [], []
    for plan in filter(None, (_both_sides(bound, context), _one_side(bound, context))):
        lap = least_lap(plan, context)
        rest = 2.0 * bound.available - (plan.times[:, None] * plan.distance).sum(axis=0)
        energy = lap_energy(context, lap, turning)
        energy = energy + context.cruise_resistance * np.maximum(rest, 0.0)
        means.append(energy / bound.about.takt)
        peaks.append(lap_peak_power(context, lap, carriers))
    return np.min(means, axis=0), np.min(peaks, axis=0)


def _both_sides(bound: LapBound, context: SettingContext) -> LegPlan | None:
    """Shortest stretches of a lap with stations on both straights."""
    if not bound.shared.both_sides:
        return None
    between = len(bound.about.positions) - 2
    return _plan(bound, context, at_bends=2, between=between, through=0)


def _one_side(bound: LapBound, context: SettingContext) -> LegPlan | None:
    """Shortest stretches of a lap with all stations on one straight."""
    if not bound.shared.one_side:
        return None
    between = len(bound.about.positions) - 1
    return _plan(bound, context, at_bends=1, between=between, through=1)


def _plan(
    bound: LapBound, context: SettingContext, *, at_bends: int, between: int, through: int
) -> LegPlan:
    slow, swift = context.settings, context.swift
    stopping = speed_change_distance(slow.bend_speed, 0.0, swift.acceleration, swift.jerk)
    near = np.maximum(bound.from_bend, stopping)
    legs = [
        (near, True, False, at_bends),
        (bound.between.min(axis=1), False, False, between),
        (near, False, True, at_bends),
        (np.maximum(bound.available, 0.0), True, True, through),
    ]
    kept = [leg for leg in legs if leg[3]]
    return LegPlan(
        distance=np.stack([leg[0] for leg in kept]),
        from_bend=np.array([leg[1] for leg in kept]),
        to_bend=np.array([leg[2] for leg in kept]),
        together=np.ones(len(kept)),
        times=np.array([float(leg[3]) for leg in kept]),
        order=(),
    )


def least_with(
    priced: PricedBuild,
    boxes: Boxes,
    price_book: PriceBook,
    fewest: NDArray[np.int64] | None = None,
) -> tuple[Boxes, NDArray[np.int64], tuple[Array, Array]]:
    """Carriers and powers that no setting of some boxes undercuts on a build.

    Parameters
    ----------
    priced : PricedBuild
    boxes : Boxes
    price_book : PriceBook
    fewest : ndarray of int, optional
        Carriers that each box has at least, if that is known otherwise.

    Returns
    -------
    tuple
        The boxes in which something may hold, carriers, and mean and peak power of the moving
        fleet, W.
    """
    about = boxes.axes.about
    hop = max(about.spacing, about.bend_spacing) * float(about.positions.max())
    length = priced.build.length
    rows, boxes = boxes.trimmed()
    reach = np.full(len(boxes), max(length - about.option.base, hop))
    boxes = boxes.reaching(reach)
    context = boxes.context
    for check in SETTING_CHECKS:
        outcome = check.evaluate(context) if len(rows) else None
        if outcome is not None:
            holds = np.flatnonzero(outcome.utilisation() <= HOLDS)
            rows, boxes, context = rows[holds], boxes.take(holds), context.take(holds)
    if not len(rows):
        return boxes, np.empty(0, dtype=np.int64), (np.empty(0), np.empty(0))
    lap = _lap_bound(context, np.full(len(rows), length), price_book)
    carriers = lap.carriers(lap.lap_time, _for_life(context, lap))
    if fewest is not None:
        carriers = np.maximum(carriers, fewest[rows])
    able = np.flatnonzero(np.isfinite(carriers))
    boxes, number = boxes.take(able), carriers[able]
    powers = least_powers(context.take(able), number, lap.take(able))
    return boxes, number.astype(np.int64), powers
