"""The gentlest motion of a configuration whose price is known.

Of all settings that hold every check with the same carriers, loop and supplies, the one with the
least acceleration is taken, of these the one with the least bend speed, then with the least top
speed. Accelerations and speeds are round numbers, so that what is printed is what was audited. A
coarse table of settings is looked at first, then ever finer ones below the best that is known.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.load_cases import bend_loads, straight_loads
from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import (
    BEND_CHECKS,
    FLEET_CHECKS,
    GEOMETRY_CHECKS,
    LAYOUT_CHECKS,
    SETTING_CHECKS,
    STRAIGHT_CHECKS,
    TIME_CHECKS,
)
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.findings import MOST_TAKTS, keeps_takt
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.loop.power import mean_power, peak_fleet_power
from recommender.choice.parts import rounding
from recommender.choice.parts.configuration import Configuration, Motion
from recommender.choice.search.axes import Axes, axes_of
from recommender.choice.search.grid import jerk_for, worst
from recommender.choice.search.screen import fastest, speed_ceiling
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

DIGITS = 3
"""Digits of an acceleration or a speed that are printed, and so are audited."""

_MORE_DIGITS = 6
_PARTS = 40
_FIRST = 2
_CLOSE = 24
_SHARES = np.linspace(0.0, 1.0, _CLOSE)
_NEAR = np.linspace(0.93, 1.07, 15)
_MOST_ROUND = 3000
_BEYOND = np.array([1.02, 1.1, 1.3, 1.7])

Triple = tuple[float, float, float]


@dataclass(frozen=True)
class Fixed:
    """What stays as it is while the motion changes: loop, carriers, power that is bought.

    Powers are whole milliwatts that the supplies may give at most.
    """

    on: LoopContext
    carriers: int
    mean_power: int
    peak_power: int

    @staticmethod
    def of(on: LoopContext, built: Configuration, catalogue: Catalogue) -> "Fixed":
        """All of a configuration but its motion."""
        supplies = {part.id: part for part in catalogue.supply}
        parts = [supplies[group.supply] for group in built.electrics.groups]
        mean = sum(int(rounding.capacity(part.mean_power, "power")) for part in parts)
        peak = sum(int(rounding.capacity(part.peak_power, "power")) for part in parts)
        return Fixed(on, built.carriers, mean, peak)


def gentlest(axes: Axes, fixed: Fixed, known: SettingContext) -> SettingContext:
    """The gentlest setting in round numbers that holds, or the known one if none does.

    Parameters
    ----------
    axes : Axes
        What the option may do.
    fixed : Fixed
    known : SettingContext
        One setting that holds.
    """
    for digits in (DIGITS, _MORE_DIGITS):
        found = _Search(axes, fixed, digits, known).run()
        if found is not None:
            return found
    return known


class _Search:
    """Looks for the least acceleration, then the least bend speed, then the least top speed.

    What holds at an acceleration holds at a greater one as well, with speeds that may be lower; so
    the round numbers between the least and one that holds are narrowed down a few at a time, each
    with a close table of speeds.
    """

    def __init__(self, axes: Axes, fixed: Fixed, digits: int, known: SettingContext) -> None:
        self.fixed, self.digits, self.loads, settings = fixed, digits, known, known.settings
        self.ramp_time = float(settings.acceleration[0] / settings.jerk[0])
        # No gentler setting runs any leg quicker than this one without a limit of speed.
        bends = axes.bend.values
        reached = max(
            float(LayoutContext(fixed.on, replace(known, settings=free)).lap.peak.max())
            for bend_speed in (settings.bend_speed, bends[-1:])
            for free in [replace(settings, speed=np.array([axes.fastest]), bend_speed=bend_speed)]
        )
        self.known: Triple = (
            float(settings.acceleration[0]),
            float(settings.bend_speed[0]),
            min(reached, float(settings.speed[0])),
        )
        self.least: Triple = float(axes.straight.values[0]), float(bends[0]), axes.slowest
        self.most: Triple = self.known[0], float(bends[-1]), max(reached, axes.slowest)

    def run(self) -> SettingContext | None:
        """The gentlest setting with at most the known acceleration, in round numbers."""
        found: Triple | None = None
        for axis in range(3):
            held = found[:axis] if found else ()
            top = found[axis] if found else self._above(self.most[0])
            found = self._narrowed(axis, held, self._round(self.least[axis], top), found)
            if found is None:
                return None
        assert found is not None
        acceleration, bend_speed, speed = (np.array([value]) for value in found)
        return self._table(acceleration, bend_speed, speed)

    def _narrowed(
        self, axis: int, held: tuple[float, ...], rounds: Array, found: Triple | None
    ) -> Triple | None:
        """The gentlest that holds with some values held, by the next axis; its values rise."""
        fails, holds = -1, len(rounds) - 1
        tables = [np.array([value]) for value in held]
        while found is None or holds - fails > 1:
            tried = np.linspace(fails, holds, _PARTS + 2).round().astype(int)[1:]
            if found is None:
                # Near what is known to do, rounded to either side, there is most to find.
                tried = np.append(tried, holds - 1)
            tried = np.unique(tried[(tried > fails) & ((tried < holds) | (found is None))])
            near = found or self.known
            others = [self._speeds(k, near[k]) for k in range(axis + 1, 3)]
            hit = self._first([*tables, rounds[tried], *others])
            if hit is None and found is None:
                return None
            if hit is None:
                fails = int(tried[-1])
                continue
            found, holds = hit, int(np.searchsorted(rounds, hit[axis] * (1.0 - 1e-9)))
            earlier = tried[tried < holds]
            fails = int(earlier[-1]) if len(earlier) else fails
        return found

    def _speeds(self, axis: int, near: float) -> Array:
        """Bend speeds or top speeds to look at beside, close to each other near one that does."""
        low, high = self.least[axis], self.most[axis]
        even = np.linspace(low, high, _CLOSE) if axis == 1 else low * (high / low) ** _SHARES
        close = np.clip(near * _NEAR, low, high)
        values = rounded_down(np.concatenate([even, close, [near]]), self.digits)
        values = np.append(values, self._above(near))
        return np.unique(values[(values >= low) & (values <= self._above(high))])

    def _above(self, value: float) -> float:
        """The next round number."""
        below = rounded_down(np.array([value]), self.digits)
        if below[0] >= value * (1.0 - 1e-12):
            return float(below[0])
        step = 10.0 ** (np.floor(np.log10(below)) - (self.digits - 1))
        return float(rounded_down(below + step, self.digits)[0])

    def _round(self, low: float, high: float) -> Array:
        """Round numbers from one to another, the next to either among them."""
        steps = low * (max(high, low) / low) ** np.linspace(0.0, 1.0, _MOST_ROUND)
        values = np.unique(rounded_down(np.append(steps, high), self.digits))
        return values[values >= low * (1.0 - 1e-12)]

    def _jerk(self, acceleration: Array) -> Array:
        case = self.fixed.on.about.case
        return rounded_down(jerk_for(acceleration, self.ramp_time, case), self.digits)

    def _table(self, acceleration: Array, bend_speed: Array, speed: Array) -> SettingContext:
        jerk = self._jerk(acceleration)
        return table_of(self.fixed.on.about, acceleration, jerk, bend_speed, speed)

    def _first(self, values: Sequence[Array]) -> Triple | None:
        """The gentlest setting of a table that holds: acceleration, bend speed, top speed.

        Most accelerations and bend speeds are too slow at any top speed, which is known before any
        load case is worked out. Of the others the gentlest accelerations are looked at first.
        """
        acceleration, bend_speed, speed = values
        jerk = self._jerk(acceleration)
        settings, of_a, of_b = product_of(acceleration, jerk, bend_speed, speed[-1:])
        quick = self._quick_enough(settings)
        able = np.unique(of_a[quick])
        for some in (able[:_FIRST], able[_FIRST:]):
            rows = quick[np.isin(of_a[quick], some)]
            if not len(rows):
                continue
            bends = np.unique(of_b[rows])
            found = self._first_of(acceleration[some], jerk[some], bend_speed[bends], speed)
            if found is not None:
                return found
        return None

    def _first_of(
        self, acceleration: Array, jerk: Array, bend_speed: Array, speed: Array
    ) -> Triple | None:
        """The gentlest setting that holds, of some values of each axis."""
        settings, of_a, of_b = product_of(acceleration, jerk, bend_speed, speed)
        quick = self._quick_enough(settings)
        if not len(quick):
            return None
        a, b = np.unique(of_a[quick]), np.unique(of_b[quick])
        about, settings = self.fixed.on.about, settings.take(quick)
        setting = SettingContext(
            about,
            settings,
            LoadTable(
                straight_loads(about.alone, acceleration[a][None]),
                0,
                np.searchsorted(a, of_a[quick]),
            ),
            LoadTable(
                bend_loads(about.alone, bend_speed[b][None]), 0, np.searchsorted(b, of_b[quick])
            ),
        )
        rows = holding_rows(self.fixed, setting)[:MOST_TAKTS]
        layout = LayoutContext(self.fixed.on, setting.take(rows), self.fixed.carriers)
        for number, row in enumerate(rows):
            if keeps_takt(layout, self.fixed.carriers, number):
                return (
                    float(settings.acceleration[row]),
                    float(settings.bend_speed[row]),
                    float(settings.speed[row]),
                )
        return None

    def _quick_enough(self, settings: Settings) -> NDArray[np.intp]:
        """Rows that keep the lap and every spacing in time, whatever their loads."""
        # The load cases of the known setting stand in for what these checks do not look at.
        straight, bend = self.loads.straight, self.loads.bend
        rows = np.arange(len(settings))
        layout = None
        for check in TIME_CHECKS:
            if layout is None:
                light = SettingContext(self.fixed.on.about, settings.take(rows), straight, bend)
                layout = LayoutContext(self.fixed.on, light, self.fixed.carriers)
            outcome = check.evaluate(layout)
            if outcome is None:
                continue
            kept = np.flatnonzero(outcome.utilisation() <= HOLDS)
            if len(kept) < len(rows):
                rows, layout = rows[kept], None
            if not len(rows):
                break
        return rows


def rounded_down(values: Array, digits: int = DIGITS) -> Array:
    """The last number of so many digits.

    Examples
    --------
    >>> rounded_down(np.array([0.65211, 1.48])).tolist()
    [0.652, 1.48]
    """
    places = (digits - 1) - np.floor(np.log10(values))
    whole = np.floor(values * 10.0**places + 1e-9)
    # One division of whole numbers leaves no trace of binary fractions.
    return np.where(places > 0.0, whole / 10.0**places, whole * 10.0**-places)


@dataclass(frozen=True)
class Harder:
    """Motions from one up to the hardest that an option may run: a few steps along each axis."""

    acceleration: Array
    bend_speed: Array
    speed: Array
    ramp_time: float

    @staticmethod
    def of(about: OptionContext, motion: Motion) -> "Harder":
        """From a motion on."""
        axes = next(axes_of((about.option,), about.case, about.catalogue))
        acceleration, quicker, speed = (
            value * max(most / value, 1.0) ** np.linspace(0.0, 1.0, count)
            for value, most, count in (
                (motion.acceleration, float(axes.straight.values[-1]), 8),
                (motion.bend_speed, float(axes.bend.values[-1]), 4),
                (motion.speed, axes.fastest, 4),
            )
        )
        # Bends may also have to be taken more slowly, most often by little.
        slower = motion.bend_speed * (1.0 - 0.3 * np.linspace(1.0, 0.0, 9)[:-1] ** 2)
        bend_speed = np.concatenate([slower, quicker])
        return Harder(acceleration, bend_speed, speed, motion.acceleration / motion.jerk)

    def beyond(self) -> "Harder":
        """The same, and on to some that are harder than the option may run."""
        return replace(
            self,
            acceleration=np.append(self.acceleration, self.acceleration[-1] * _BEYOND),
            bend_speed=np.append(self.bend_speed, self.bend_speed[-1] * np.sqrt(_BEYOND)),
        )

    def under(self, about: OptionContext) -> SettingContext:
        """All of them under a case, gentlest first."""
        jerk = jerk_for(self.acceleration, self.ramp_time, about.case)
        return table_of(about, self.acceleration, jerk, self.bend_speed, self.speed)


def table_of(
    about: OptionContext, acceleration: Array, jerk: Array, bend_speed: Array, speed: Array
) -> SettingContext:
    """All settings of some accelerations, bend speeds and top speeds, gentlest first.

    The jerk belongs to the acceleration. A bend speed above the top speed is no setting.
    """
    settings, a, b = product_of(acceleration, jerk, bend_speed, speed)
    straight = straight_loads(about.alone, acceleration[None])
    bend = bend_loads(about.alone, bend_speed[None])
    return SettingContext(about, settings, LoadTable(straight, 0, a), LoadTable(bend, 0, b))


def product_of(
    acceleration: Array, jerk: Array, bend_speed: Array, speed: Array
) -> tuple[Settings, NDArray[np.intp], NDArray[np.intp]]:
    """Each setting of some values, gentlest first, and which acceleration and bend speed it has."""
    first, second = np.arange(len(acceleration)), np.arange(len(bend_speed))
    grid = np.meshgrid(first, second, speed, indexing="ij")
    a, b, v = grid[0].ravel(), grid[1].ravel(), np.asarray(grid[2].ravel(), dtype=np.float64)
    rows = np.flatnonzero(bend_speed[b] <= v)
    a, b, v = a[rows], b[rows], v[rows]
    return Settings(acceleration[a], jerk[a], v, bend_speed[b]), a, b


def holding_rows(fixed: Fixed, setting: SettingContext) -> NDArray[np.intp]:
    """Rows of settings that hold every check with what is fixed."""
    ceiling = float(speed_ceiling(fixed.on.about.alone)[0, 0])
    top = fastest(setting.straight, ceiling)
    straight, bend = setting.straight.loads, setting.bend.loads
    used = [
        setting.straight.pick(worst(STRAIGHT_CHECKS, straight)[0]),
        setting.bend.pick(worst(BEND_CHECKS, bend)[0]),
    ]
    rows = np.flatnonzero((np.max(used, axis=0) <= HOLDS) & (setting.settings.speed <= top))
    setting = setting.take(rows)
    for check in SETTING_CHECKS:
        outcome = check.evaluate(setting) if len(rows) else None
        if outcome is not None:
            kept = np.flatnonzero(outcome.utilisation() <= HOLDS)
            rows, setting = rows[kept], setting.take(kept)
    layout = LayoutContext(fixed.on, setting, fixed.carriers)
    for asked in (*GEOMETRY_CHECKS, *FLEET_CHECKS, *LAYOUT_CHECKS):
        outcome = asked.evaluate(layout) if len(rows) else None
        if outcome is not None:
            kept = np.flatnonzero(outcome.utilisation() <= HOLDS)
            if len(kept) < len(rows):
                rows = rows[kept]
                layout = LayoutContext(fixed.on, layout.setting.take(kept), fixed.carriers)
    if len(rows):
        idle = rounding.demand(layout.idle_power, "power")
        mean = rounding.demand(mean_power(layout), "power") + idle
        peak = rounding.demand(peak_fleet_power(layout), "power") + idle
        rows = rows[(mean <= fixed.mean_power) & (peak <= fixed.peak_power)]
    return rows
