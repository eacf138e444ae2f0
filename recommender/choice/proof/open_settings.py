"""Settings of an option that might still be cheaper somewhere than the best that is known.

For each setting the number of carriers and the price are bounded from below over all places of the
stations. What the bound does not let undercut the best price needs no closer look.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice import rounding
from recommender.choice.braking import fleet_price
from recommender.choice.builds import Build
from recommender.choice.electrical import NEVER
from recommender.choice.lap import LegPlan, run_lap
from recommender.choice.power import lap_energy, lap_peak_power
from recommender.choice.price_bound import PricedBuild
from recommender.choice.pricing import Cents
from recommender.choice.proof.lap_bound import LapBound
from recommender.choice.setting import SettingContext
from recommender.choice.wear import carrier_life, most_laps_of_each_roller
from recommender.choice.workshop import Workshop
from recommender.physics.constants import Array


@dataclass(frozen=True)
class OpenSettings:
    """Settings on one build, a row each, and what they cannot undercut."""

    priced: PricedBuild
    setting: SettingContext
    used: Array
    carriers: NDArray[np.int64]
    price: NDArray[np.int64]

    @property
    def build(self) -> Build:
        """The straights that they run on."""
        return self.priced.build

    @property
    def least(self) -> Cents:
        """The price that none of them undercuts."""
        return int(self.price.min(initial=NEVER))

    def take(self, rows: NDArray[np.intp]) -> "OpenSettings":
        """Some of the rows."""
        return OpenSettings(
            self.priced,
            self.setting.take(rows),
            self.used[rows],
            self.carriers[rows],
            self.price[rows],
        )

    def below(self, price: Cents) -> "OpenSettings":
        """The rows that might cost less."""
        return self.take(np.flatnonzero(self.price < price))


def open_settings(
    priced: PricedBuild, setting: SettingContext, used: Array, workshop: Workshop
) -> OpenSettings:
    """Bounds of every setting that may keep the takt somewhere on a build.

    Parameters
    ----------
    priced : PricedBuild
    setting : SettingContext
        Settings in which every check without a loop holds.
    used : ndarray (rows,)
        What they use of those checks.
    workshop : Workshop
    """
    bound = LapBound(setting.about, priced.build.length, setting.settings)
    return with_laps(priced, setting, used, workshop, bound, bound.lap_time)


def with_laps(
    priced: PricedBuild,
    setting: SettingContext,
    used: Array,
    workshop: Workshop,
    bound: LapBound,
    lap_time: Array,
) -> OpenSettings:
    """Bounds of settings whose quickest laps are known, or bounded, already."""
    carriers = bound.carriers(lap_time, _for_life(setting, bound))
    rows = np.flatnonzero(np.isfinite(carriers))
    needed = carriers[rows]
    price = _least_price(priced, setting.take(rows), needed, workshop, bound.take(rows))
    found = OpenSettings(priced, setting.take(rows), used[rows], needed.astype(np.int64), price)
    return found.take(np.flatnonzero(price < NEVER))


def _for_life(setting: SettingContext, bound: LapBound) -> Array:
    """Carriers without which the rollers cannot last, however a lap is shared out, (rows,)."""
    about = setting.about
    turning = 2.0 * (about.bend_length + about.option.base)
    laps = carrier_life(most_laps_of_each_roller(setting, 2.0 * bound.available, turning))
    return np.ceil(about.case.life.hours * 3600.0 / (about.takt * laps) - 1e-6)


def _least_price(
    priced: PricedBuild,
    setting: SettingContext,
    carriers: Array,
    workshop: Workshop,
    bound: LapBound,
) -> NDArray[np.int64]:
    """Price with so many carriers and the cheapest supplies for the least power, (rows,)."""
    if not len(carriers):
        return np.empty(0, dtype=np.int64)
    mean, peak = _least_powers(setting, carriers, bound)
    idle_power = priced.sections * workshop.catalogue.catalogue.section_idle_power
    idle = rounding.demand(idle_power, "power")
    sets = workshop.electrical.choice(priced.sections)
    powers = (rounding.demand(power, "power") + idle for power in (mean, peak))
    supply = sets.cheapest(*powers)
    number, option = carriers.astype(np.int64), setting.about.option
    control = workshop.electrical.controller_price(priced.sections, number)
    price = (
        priced.base
        + fleet_price(option, workshop.case, workshop.catalogue, priced.build.length, number)
        + sets.price[supply]
        + control
    )
    return np.where((supply >= 0) & (control < NEVER), price, NEVER)


def _least_powers(setting: SettingContext, carriers: Array, bound: LapBound) -> tuple[Array, Array]:
    """Mean and peak power that no places of the stations undercut, (rows,), W.

    Longer stretches take more energy and reach higher speeds, so each is taken as short as may be.
    """
    turning = 2.0 * (bound.about.bend_length + bound.about.option.base)
    means, peaks = [], []
    for plan in filter(None, (_both_sides(bound), _one_side(bound))):
        lap = run_lap(plan, setting.settings, turning)
        rest = 2.0 * bound.available - (plan.times[:, None] * plan.distance).sum(axis=0)
        energy = lap_energy(setting, lap, turning)
        energy = energy + setting.cruise_resistance * np.maximum(rest, 0.0)
        means.append(energy / bound.about.takt)
        peaks.append(lap_peak_power(setting, lap, carriers))
    return np.min(means, axis=0), np.min(peaks, axis=0)


def _both_sides(bound: LapBound) -> LegPlan | None:
    """Shortest stretches of a lap with stations on both straights."""
    if not bound.shared.both_sides:
        return None
    return _plan(bound, at_bends=2, between=len(bound.about.positions) - 2, through=0)


def _one_side(bound: LapBound) -> LegPlan | None:
    """Shortest stretches of a lap with all stations on one straight."""
    if not bound.shared.one_side:
        return None
    return _plan(bound, at_bends=1, between=len(bound.about.positions) - 1, through=1)


def _plan(bound: LapBound, *, at_bends: int, between: int, through: int) -> LegPlan:
    near = bound.from_bend
    apart = bound.between.min(axis=1)
    whole = np.full_like(near, bound.available)
    legs = [
        (near, True, False, at_bends),
        (apart, False, False, between),
        (near, False, True, at_bends),
        (whole, True, True, through),
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
