"""Boxes of motion settings: ranges of acceleration, top speed, bend speed and ramp time.

The acceleration and the bend speed lie between nodes of an option's axes, the top speed between any
two. Of a box the gentlest corner asks least of the parts, and the quickest is the soonest round.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.search.axes import Axes
from recommender.choice.search.grid import jerk_for
from recommender.choice.search.screen import fastest
from recommender.physics.constants import Array
from recommender.physics.motion import leg_peak_speed

Index = NDArray[np.intp]

FINEST_SPEED = 1.004
"""Ratio of its greatest to its least top speed below which a box is not divided along it."""

CALM = 1.05
"""Wave over freeboard beyond which no bend speed between two nodes is calm either."""

FINEST_RAMP = 1.05
"""The same for the time in which the acceleration is built up."""


@dataclass(frozen=True)
class Boxes:
    """Boxes of one option, a row each: first and last node of two axes, and ranges, SI."""

    axes: Axes
    gentle: Index
    sharp: Index
    slow_bend: Index
    quick_bend: Index
    slow: Array
    quick: Array
    shortest: Array
    longest: Array

    @staticmethod
    def whole(axes: Axes, ramps: tuple[float, float]) -> "Boxes":
        """One box that holds everything an option may do."""
        first, last = np.array([0]), np.array([len(axes.straight.values) - 1])
        least = max(axes.slowest, float(axes.bend.values[0]))
        return Boxes(
            axes,
            *(first, last) * 2,
            *(np.array([value]) for value in (least, axes.fastest, *ramps)),
        )

    def __len__(self) -> int:
        return len(self.slow)

    def take(self, rows: Index) -> "Boxes":
        """Some of the boxes."""
        return Boxes(self.axes, *(getattr(self, name)[rows] for name in _COLUMNS))

    @staticmethod
    def joined(parts: "list[Boxes]") -> "Boxes":
        """Boxes of the same option one behind the other."""
        columns = (np.concatenate([getattr(part, name) for part in parts]) for name in _COLUMNS)
        return Boxes(parts[0].axes, *columns)

    def trimmed(self) -> tuple[Index, "Boxes"]:
        """Which boxes are not empty, and these without speeds that none of their settings may run.

        A box of bend speeds of which each node raises too high a wave is empty: between two nodes,
        a per cent or two apart, a wave is taken to fall by no more than the share of `CALM`.
        The top speed ends where the drive force for the least acceleration ends, and is at least
        the bend speed.
        """
        top = fastest(self.axes.straight.between(self.gentle, self.sharp), self.axes.fastest)
        cut = replace(
            self,
            quick=np.minimum(self.quick, top),
            slow=np.maximum(self.slow, self.axes.bend.values[self.slow_bend]),
        )
        calm = self.axes.bend.between(self.slow_bend, self.quick_bend).pick(self.axes.waves)
        rows = np.flatnonzero((cut.slow <= cut.quick * (1.0 + 1e-12)) & (calm <= CALM))
        return rows, cut.take(rows)

    def reaching(self, distance: Array) -> "Boxes":
        """The boxes without top speeds that no leg of some length or less, (rows,), reaches.

        A setting whose top speed is not reached moves as the one that stops there.
        """
        most = self.quickest
        bend = most.bend_speed
        reached = leg_peak_speed(distance, bend, bend, most.speed, most.acceleration, most.jerk)
        return replace(self, quick=np.maximum(np.fmin(self.quick, reached), self.slow))

    @property
    def hull(self) -> "Boxes":
        """The one box that holds them all."""
        ends = (
            np.array([end(getattr(self, name))])
            for names in _ENDS
            for name, end in zip(names, (np.min, np.max), strict=True)
        )
        return Boxes(self.axes, *ends)

    def on_axes_of_their_own(self) -> "Boxes":
        """The only box, on axes that end where it ends."""
        straight, bend = self.axes.straight.values, self.axes.bend.values
        axes = self.axes.within(
            (float(straight[self.gentle[0]]), float(straight[self.sharp[0]])),
            (float(bend[self.slow_bend[0]]), float(bend[self.quick_bend[0]])),
        )
        first, last = np.array([0]), np.array([len(straight) - 1])
        return replace(self, axes=axes, gentle=first, sharp=last, slow_bend=first, quick_bend=last)

    @property
    def gentlest(self) -> Settings:
        """The gentlest corner of each box."""
        case = self.axes.about.case
        acceleration = self.axes.straight.values[self.gentle]
        jerk = jerk_for(acceleration, self.longest, case)
        return Settings(acceleration, jerk, self.slow, self.axes.bend.values[self.slow_bend])

    @property
    def quickest(self) -> Settings:
        """The quickest corner of each box."""
        acceleration = self.axes.straight.values[self.sharp]
        jerk = jerk_for(acceleration, self.shortest, self.axes.about.case)
        bend_speed = np.minimum(self.axes.bend.values[self.quick_bend], self.quick)
        return Settings(acceleration, jerk, self.quick, bend_speed)

    @property
    def context(self) -> SettingContext:
        """What no setting of each box undercuts."""
        return SettingContext(
            self.axes.about,
            self.gentlest,
            self.axes.straight.between(self.gentle, self.sharp),
            self.axes.bend.between(self.slow_bend, self.quick_bend),
            self.quickest,
        )

    @property
    def divisible(self) -> NDArray[np.bool_]:
        """Whether each box can be divided any further."""
        return np.asarray(self._widths.max(axis=0) > 0.0)

    @property
    def _widths(self) -> Array:
        """How far the ends of each box lie apart along each axis, (axes, rows); 0 if too near."""
        straight, bend = self.axes.straight.values, self.axes.bend.values
        ends = (
            (straight[self.gentle], straight[self.sharp], self.sharp - self.gentle > 1),
            (bend[self.slow_bend], bend[self.quick_bend], self.quick_bend - self.slow_bend > 1),
            (self.slow, self.quick, self.quick > FINEST_SPEED * self.slow),
            (self.shortest, self.longest, self.longest > FINEST_RAMP * self.shortest),
        )
        return np.stack([np.where(apart, np.log(most / least), 0.0) for least, most, apart in ends])

    def halves(self) -> "Boxes":
        """Every box divided along its widest axis."""
        widest = self._widths.argmax(axis=0)
        low = {name: getattr(self, name) for name in _COLUMNS}
        high = dict(low)
        for number, (first, last) in enumerate(_ENDS):
            least, most = low[first], low[last]
            whole = least.dtype.kind == "i"
            middle = (least + most) // 2 if whole else np.sqrt(least * most)
            here = widest == number
            low[last] = np.where(here, middle, most)
            high[first] = np.where(here, middle, least)
        parts = [Boxes(self.axes, *(part[name] for name in _COLUMNS)) for part in (high, low)]
        return Boxes.joined(parts)

    def divided(self, into: int) -> "Boxes":
        """Every box divided, again and again, until there are at least so many or none divides."""
        done: list[Boxes] = []
        rest = self
        while True:
            divisible = rest.divisible
            done.append(rest.take(np.flatnonzero(~divisible)))
            rest = rest.take(np.flatnonzero(divisible))
            if not len(rest):
                break
            rest = rest.halves()
            if len(rest) + sum(map(len, done)) >= into:
                break
        return Boxes.joined([rest, *done])

    def points(self) -> SettingContext:
        """Settings at corners of the boxes that can be run, each once."""
        bend = self.axes.bend
        one_ramp = np.array_equal(self.shortest, self.longest)
        ramps = (self.shortest,) if one_ramp else (self.shortest, self.longest)
        found = []
        for acceleration in (self.sharp, self.gentle):
            force_ends = fastest(self.axes.straight.at(acceleration), self.axes.fastest)
            top = np.minimum(force_ends, self.quick)
            # At one and the same speed in bends and on straights: no more is asked of the drive
            # than the bends allow anyway.
            level = np.clip(bend.values[self.quick_bend], self.slow, top)
            for speed in (top, level, self.slow):
                within = bend.values.searchsorted(speed * (1.0 + 1e-12), side="right") - 1
                for node in (np.minimum(self.quick_bend, within), self.slow_bend):
                    runs = (speed >= self.slow) & (speed <= top) & (node >= self.slow_bend)
                    for ramp in ramps:
                        corner = (acceleration, speed, node, ramp)
                        found.append(np.stack(corner, axis=1)[runs])
        return self._settings(_each_once(np.concatenate(found)))

    def _settings(self, table: Array) -> SettingContext:
        """Settings by node of acceleration, speed, node of the bend speed, and ramp time."""
        straight, bend = self.axes.straight, self.axes.bend
        a, b = table[:, 0].astype(np.intp), table[:, 2].astype(np.intp)
        acceleration = straight.values[a]
        jerk = jerk_for(acceleration, table[:, 3], self.axes.about.case)
        settings = Settings(acceleration, jerk, table[:, 1], bend.values[b])
        return SettingContext(self.axes.about, settings, straight.at(a), bend.at(b))


def _each_once(table: Array) -> Array:
    """The rows of a table in order, equal ones once; quicker than by records of whole rows."""
    table = table[np.lexsort(table.T[::-1])]
    new = np.ones(len(table), dtype=np.bool_)
    new[1:] = (table[1:] != table[:-1]).any(axis=1)
    return table[new]


_ENDS = (
    ("gentle", "sharp"),
    ("slow_bend", "quick_bend"),
    ("slow", "quick"),
    ("shortest", "longest"),
)
_COLUMNS = tuple(name for ends in _ENDS for name in ends)
