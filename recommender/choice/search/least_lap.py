"""The lap that no setting of a box undercuts in what it takes to run it."""

import numpy as np

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.loop.lap import Lap, LegPlan
from recommender.physics.motion import leg_peak_speed, speed_change_time


def least_lap(plan: LegPlan, context: SettingContext) -> Lap:
    """A lap whose speeds are the least of a box and whose times the shortest.

    What it takes to run it bounds what any setting of the box takes: a carrier speeds up at least
    from the quickest bend to the slowest peak, and no sooner than at the greatest acceleration.
    """
    slow, swift = context.settings, context.swift
    distance = plan.distance if plan.distance.ndim == 2 else plan.distance[:, None]
    from_bend, to_bend = plan.from_bend[:, None], plan.to_bend[:, None]
    ends = (np.where(side, slow.bend_speed, 0.0) for side in (from_bend, to_bend))
    start, end = ends
    peak = leg_peak_speed(distance, start, end, slow.speed, slow.acceleration, slow.jerk)
    peak = np.where(np.isnan(peak), np.maximum(start, end), peak)
    start, end = (
        np.where(side, np.minimum(swift.bend_speed, peak), 0.0) for side in (from_bend, to_bend)
    )
    up_time = speed_change_time(peak - start, swift.acceleration, swift.jerk)
    down_time = speed_change_time(peak - end, swift.acceleration, swift.jerk)
    up_distance, down_distance = 0.5 * up_time * (peak + start), 0.5 * down_time * (peak + end)
    cruise = np.maximum(distance - up_distance - down_distance, 0.0)
    return Lap(
        plan=plan,
        settings=slow,
        start=start,
        end=end,
        peak=peak,
        up_time=up_time,
        up_distance=up_distance,
        down_time=down_time,
        down_distance=down_distance,
        cruise=cruise,
        cruise_time=cruise / swift.speed,
        moving_time=np.zeros(len(slow)),
        feasible=np.ones(len(slow), dtype=np.bool_),
    )
