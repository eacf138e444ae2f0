"""One lap of a carrier: legs between stops and bends, and what happens in each.

Arrays have the legs along their first axis and the motion settings along the second.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.settings import Settings
from recommender.choice.parts.placement import Loop, Placement
from recommender.physics.constants import Array
from recommender.physics.motion import (
    leg_peak_speed,
    speed_change_time,
)


@dataclass(frozen=True)
class LegPlan:
    """Straight stretches of the lap, each once with how often it occurs.

    ``distance`` is (legs,), or (legs, settings) where it differs between settings.
    ``from_bend`` and ``to_bend`` say at which end the carrier has bend speed instead of standing;
    ``together`` how many carriers set off at once. ``order`` lists the stretches along the lap.
    """

    distance: Array
    from_bend: Array
    to_bend: Array
    together: Array
    times: Array
    order: tuple[int, ...]


def plan_legs(
    loop: Loop, placement: Placement, positions: Sequence[int], overhang: float
) -> LegPlan:
    """The straight stretches of a lap.

    Parameters
    ----------
    loop : Loop
    placement : Placement
    positions : sequence of int
        Carriers that each station takes at once.
    overhang : float, m
        The bend speed is held this much longer at either end of a bend, until the whole base of
        the carrier is out of it.

    Returns
    -------
    LegPlan
    """
    lap = _stretches(loop, placement, positions, overhang)
    counted = Counter(lap)
    keys = sorted(counted)
    return LegPlan(
        distance=np.array([key[0] for key in keys]),
        from_bend=np.array([key[1] for key in keys]),
        to_bend=np.array([key[2] for key in keys]),
        together=np.array([float(key[3]) for key in keys]),
        times=np.array([float(counted[key]) for key in keys]),
        order=tuple(keys.index(leg) for leg in lap),
    )


def _stretches(
    loop: Loop, placement: Placement, positions: Sequence[int], overhang: float
) -> list[tuple[float, bool, bool, int]]:
    """Length, whether from and to a bend, and carriers at once of each stretch along the lap."""
    lap = []
    for start in (0.0, loop.back_start):
        end = start + loop.straight
        stops = sorted(
            (at, count)
            for at, count in zip(placement.at, positions, strict=True)
            if start <= at <= end
        )
        marks = [(start + overhang, 1), *stops, (end - overhang, 1)]
        for index in range(len(marks) - 1):
            distance = round(marks[index + 1][0] - marks[index][0], 9)
            lap.append((distance, index == 0, index == len(marks) - 2, marks[index][1]))
    return lap


@dataclass(frozen=True)
class Lap:
    """Motion of one lap for many settings; arrays are (legs, settings) unless said otherwise.

    Each leg has one speed change up, from ``start`` to ``peak``, and one down, to ``end``.
    """

    plan: LegPlan
    settings: Settings
    start: Array
    end: Array
    peak: Array
    up_time: Array
    up_distance: Array
    down_time: Array
    down_distance: Array
    cruise: Array
    cruise_time: Array
    moving_time: Array
    feasible: NDArray[np.bool_]

    def over_lap(self, values: Array) -> Array:
        """Sum over the legs of a lap, shape (settings,)."""
        return np.asarray(self.plan.times @ values)


def run_lap(plan: LegPlan, settings: Settings, bend_travel: float) -> Lap:
    """Time all legs of a lap with their true lengths.

    Parameters
    ----------
    plan : LegPlan
    settings : Settings
    bend_travel : float, m
        Length of guide covered at bend speed in a lap.

    Returns
    -------
    Lap
        ``moving_time`` is inf where a leg is too short for its boundary speeds.
    """
    distance = plan.distance if plan.distance.ndim == 2 else plan.distance[:, None]
    bend = settings.bend_speed[None, :]
    start = np.where(plan.from_bend[:, None], bend, 0.0)
    end = np.where(plan.to_bend[:, None], bend, 0.0)
    a, j = settings.acceleration[None, :], settings.jerk[None, :]
    peak = leg_peak_speed(distance, start, end, settings.speed[None, :], a, j)
    fits = ~np.isnan(peak)
    peak = np.where(fits, peak, np.maximum(start, end))
    up_time = speed_change_time(peak - start, a, j)
    down_time = speed_change_time(peak - end, a, j)
    up_distance = 0.5 * up_time * (peak + start)
    down_distance = 0.5 * down_time * (peak + end)
    cruise = np.maximum(distance - up_distance - down_distance, 0.0)
    cruise_time = cruise / peak
    leg_time = up_time + down_time + cruise_time
    feasible = np.asarray(fits.all(axis=0))
    moving = plan.times @ leg_time + bend_travel / settings.bend_speed
    return Lap(
        plan=plan,
        settings=settings,
        start=start,
        end=end,
        peak=peak,
        up_time=up_time,
        up_distance=up_distance,
        down_time=down_time,
        down_distance=down_distance,
        cruise=cruise,
        cruise_time=cruise_time,
        moving_time=np.where(feasible, moving, np.inf),
        feasible=feasible,
    )
