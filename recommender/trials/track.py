"""The guide of a finished loop as carriers meet it: how far apart they keep, how fast they may go.

Places along the guide are counted in metres from the start of the front straight, lap after lap.
Beside them stand *spacings*: every stretch divided by the least spacing that holds on it, added up,
as `recommender.choice.loop.layout.LoopContext.gaps` counts room. Two carriers are far enough apart
where their places differ by one spacing or more.
"""

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from recommender.physics.constants import Array


@dataclass(frozen=True)
class Limits:
    """What a carrier may do: top speed, speed in bends, acceleration and jerk, SI."""

    speed: float
    bend_speed: float
    acceleration: float
    jerk: float


@dataclass(frozen=True)
class Track:
    """A loop of two straights and two bends.

    Parameters
    ----------
    straight, bend : float, m
        Length of one straight and of one bend.
    overhang : float, m
        How far beyond either end of a bend its speed is held.
    widening : float, m
        How far beyond either end of a bend its spacing is kept.
    spacing, bend_spacing : float, m
        Least distance between two carriers on straights and in bends.
    limits : Limits
    """

    straight: float
    bend: float
    overhang: float
    widening: float
    spacing: float
    bend_spacing: float
    limits: Limits

    @cached_property
    def length(self) -> float:
        """Once round, m."""
        return 2.0 * (self.straight + self.bend)

    @cached_property
    def _marks(self) -> tuple[list[float], list[float]]:
        """Places at which the spacing changes, m, and the same in spacings, once round."""
        half = self.straight + self.bend
        wide = min(self.widening, 0.5 * self.straight)
        at = [0.0, wide, self.straight - wide, half + wide, half + self.straight - wide]
        at.append(self.length)
        spacings = [0.0]
        for number, (a, b) in enumerate(pairwise(at)):
            held = self.bend_spacing if number % 2 == 0 else self.spacing
            spacings.append(spacings[-1] + (b - a) / held)
        return at, spacings

    @cached_property
    def places(self) -> float:
        """Spacings once round."""
        return self._marks[1][-1]

    def spacings(self, at: float) -> float:
        """A place in spacings."""
        return _mapped(at, *self._marks)

    def place(self, spacings: float) -> float:
        """A place, m, from its spacings."""
        at, given = self._marks
        return _mapped(spacings, given, at)

    def all_spacings(self, at: Array) -> Array:
        """Places in spacings."""
        marks, spacings = self._marks
        laps = np.floor(at / marks[-1])
        return np.asarray(np.interp(at - laps * marks[-1], marks, spacings) + laps * spacings[-1])

    @cached_property
    def slow(self) -> tuple[tuple[float, float], ...]:
        """Stretches on which carriers keep to the speed of bends, m; the second ends in the next
        lap."""
        half = self.straight + self.bend
        return tuple(
            (start - self.overhang, start + self.bend + self.overhang)
            for start in (self.straight, half + self.straight)
        )


def _mapped(value: float, given: list[float], wanted: list[float]) -> float:
    laps, rest = divmod(value, given[-1])
    k = min(bisect_right(given, rest), len(given) - 1)
    share = (rest - given[k - 1]) / (given[k] - given[k - 1]) if given[k] > given[k - 1] else 0.0
    return wanted[k - 1] + share * (wanted[k] - wanted[k - 1]) + laps * wanted[-1]
