"""Travel from each station to the next at one setting, stretch by stretch, one after the other.

Where a loop's legs are timed for many settings at once they are told apart, counted and put
together again; here the guide is followed from each station to the next.
"""

from dataclasses import dataclass

import numpy as np

from recommender.choice.carrier.settings import Settings
from recommender.choice.loop.layout import LoopContext
from recommender.physics.motion import leg_time


@dataclass(frozen=True)
class _Stretch:
    """Straight guide covered in one go, and whether a bend adjoins its ends."""

    distance: float
    from_bend: bool
    to_bend: bool


def travel(on: LoopContext, settings: Settings, row: int = 0) -> list[float]:
    """From each station, in the case's order, to the next: rest to rest, s; inf if one cannot."""
    bend = float(settings.bend_speed[row])
    bend_time = (on.loop.bend + 2.0 * on.overhang) / bend
    limits = tuple(
        float(each[row]) for each in (settings.speed, settings.acceleration, settings.jerk)
    )
    found = []
    for station in range(len(on.placement.at)):
        stretches = _between(on, station)
        moving = sum(_time(stretch, bend, limits) for stretch in stretches)
        found.append(moving + bend_time * sum(stretch.to_bend for stretch in stretches))
    # A leg too short for the speeds at its ends cannot be run at all.
    return found if np.all(np.isfinite(found)) else [np.inf] * len(found)


def _time(stretch: _Stretch, bend: float, limits: tuple[float, ...]) -> float:
    ends = (bend if stretch.from_bend else 0.0, bend if stretch.to_bend else 0.0)
    return float(leg_time(stretch.distance, *ends, *limits))


def _between(on: LoopContext, station: int) -> list[_Stretch]:
    """Straight stretches from one station to the next, bends lying between them."""
    at, gap = on.placement.at[station], on.placement.gaps[station]
    here = on.loop.back_start if at >= on.loop.back_start else 0.0
    half = on.loop.straight + on.loop.bend
    stretches, travelled, from_bend = [], 0.0, False
    position = at - here
    while True:
        left = gap - travelled
        to_end = on.loop.straight - position
        trim = on.overhang if from_bend else 0.0
        if left <= to_end + 1e-9:
            stretches.append(_Stretch(left - trim, from_bend, to_bend=False))
            return stretches
        stretches.append(_Stretch(to_end - trim - on.overhang, from_bend, to_bend=True))
        travelled += half - position
        position, from_bend = 0.0, True
