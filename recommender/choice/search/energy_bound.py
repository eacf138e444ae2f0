"""Mean power that no setting of a box undercuts, closely enough to prove a least energy.

`least_powers` takes each stretch of a lap as short as may be, which is enough for a price. But the
straights have their length: what the stretches leave of it some of them must run, and that takes
speed. And where the lap of a box ends well before the fleet's, carriers queue, which costs starts.
"""

import numpy as np

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.loop.lap import LegPlan
from recommender.choice.loop.power import (
    bends_energy,
    change_energy,
    holding_energies,
    hop_energy,
    motor_constant,
)
from recommender.choice.search.lap_bound import LapBound
from recommender.choice.search.least_lap import least_lap
from recommender.physics.constants import Array
from recommender.physics.drive import copper_loss
from recommender.physics.fleet_supply import queue_hops
from recommender.physics.motion import speed_change_distance, speed_change_time

_PARTS = 16
"""Parts in which stretches share what is left of a straight."""


def least_mean_power(context: SettingContext, carriers: Array, bound: LapBound) -> Array:
    """Mean power that no setting of a box undercuts with some carriers or more, (rows,), W.

    Parameters
    ----------
    context : SettingContext
        What no setting of each box undercuts.
    carriers : ndarray (rows,)
    bound : LapBound
        Of the quickest settings.
    """
    about = bound.about
    turning = 2.0 * (about.bend_length + about.option.base)
    energy = _straights(context, bound) + bends_energy(context, turning)
    energy = energy + sum(holding_energies(context))
    energy = energy + _hops(context, carriers, bound) * hop_energy(context)
    return np.asarray(energy / about.takt)


def _straights(context: SettingContext, bound: LapBound) -> Array:
    """Least energy on both straights over all share-outs and places of the stations, (rows,), J.

    What the shortest stretches leave of a straight, those beside the bends and the longest between
    stations share so that it costs least (`_least_shared`). The box knows the speed in bends
    between two ends only, so that either stretch beside a bend may cost less by what lies between.
    """
    slow, swift = context.settings, context.swift
    stopping = speed_change_distance(slow.bend_speed, 0.0, swift.acceleration, swift.jerk)
    near = np.maximum(bound.from_bend, stopping)
    behind, between = bound.shared.behind, bound.between
    left = (bound.available - 2.0 * near)[:, None] - between @ behind.T
    fits = left >= -1e-9
    left = np.maximum(left, 0.0)
    at_bends = _stretch(context, np.stack([near, near]), (True, False), (False, True))
    inside = _stretch(context, between.T, *((False,) * between.shape[1],) * 2).T
    parts = np.linspace(0.0, 1.0, _PARTS + 1)[:, None, None] * left.T

    def gains(shortest: Array, at_shortest: Array, *ends: bool) -> Array:
        """What stretches gain in energy by running each part of what is left besides."""
        distance = np.broadcast_to(shortest.T + parts, parts.shape).reshape(-1, left.shape[0])
        longer = _stretch(context, distance, *((end,) * len(distance) for end in ends))
        return np.asarray(longer.reshape(parts.shape) - at_shortest.T)

    # Of the stretches between stations the longest gains least from being longer still.
    longest = np.where(behind[None], between[:, None, :], -1.0).argmax(axis=2)
    most = np.take_along_axis(between, longest, axis=1)
    inner = gains(most, np.take_along_axis(inside, longest, axis=1), False, False)
    inner[1:, ~behind.any(axis=1)] = np.inf
    out_of, into = (
        gains(near[:, None], at_bends[number][:, None], *ends)
        for number, ends in enumerate(((True, False), (False, True)))
    )
    bent = 2.0 * change_energy(
        context, slow.bend_speed, np.maximum(swift.bend_speed, slow.bend_speed)
    )
    least = _least_shared(out_of, into, inner).T - bent[:, None]
    total = at_bends.sum(axis=0)[:, None] + inside @ behind.T + np.maximum(least, 0.0)
    through = _stretch(context, np.maximum(bound.available, 0.0)[None], (True,), (True,)).T
    sides = np.concatenate([np.where(fits, total, np.inf), through], axis=1)
    front, back = bound.shared.ways.T
    best = (sides[:, front] + sides[:, back]).min(axis=1, initial=np.inf)
    return np.where(np.isfinite(best), best, 0.0)


def _least_shared(*gains: Array) -> Array:
    """The least that stretches gain together by sharing a length, (...), from even parts of it.

    ``gains`` holds what one of them gains by each part, the first of nothing; inf where it cannot
    run any. A stretch that is only just longer than the shortest, and so hardly speeds up, costs
    less than in proportion, later ones more. Between two parts a gain that curves upward lies below
    its chord, by an eighth of the second difference at most where that is the same all along.

    Examples
    --------
    Of two stretches that cost x² and 2·x, four parts of one metre: all for the first one costs 1,
    which is less than any other share:

    >>> x = np.linspace(0.0, 1.0, 5)
    >>> float(_least_shared(x**2, 2.0 * x)) + 2 * 0.25**2 / 8
    1.0
    """
    parts = len(gains[0])
    best, below = gains[0], np.zeros(gains[0].shape[1:])
    for number, gain in enumerate(gains):
        with np.errstate(invalid="ignore"):
            curved = gain[:-2] - 2.0 * gain[1:-1] + gain[2:]
        below = below + np.where(np.isfinite(curved), np.maximum(curved, 0.0), 0.0).max(axis=0) / 8
        if number:
            best = np.stack([(best[: end + 1] + gain[end::-1]).min(axis=0) for end in range(parts)])
    return np.asarray(np.maximum(best[-1] - below, 0.0))


def _stretch(
    context: SettingContext, distance: Array, from_bend: tuple[bool, ...], to_bend: tuple[bool, ...]
) -> Array:
    """Energy that stretches of some length take at least, (stretches, rows), J."""
    each = len(distance)
    plan = LegPlan(
        distance=distance,
        from_bend=np.array(from_bend),
        to_bend=np.array(to_bend),
        together=np.ones(each),
        times=np.ones(each),
        order=(),
    )
    lap, cruise = least_lap(plan, context), context.cruise_resistance
    energy = change_energy(context, lap.start, lap.peak) + change_energy(context, lap.peak, lap.end)
    held = copper_loss(cruise, motor_constant(context))
    return np.asarray(energy + lap.cruise_time * held + lap.cruise * cruise)


def _hops(context: SettingContext, carriers: Array, bound: LapBound) -> Array:
    """Starts and stops in queues that no setting of a box undercuts at any places, (rows,)."""
    about = bound.about
    return queue_hops(
        carriers,
        longest_lap(context, bound),
        about.takt,
        (about.occupied + bound.exchange).max(axis=1),
        (bound.exchange / about.positions).max(axis=1),
        queues=1 if about.positions.max() == 1.0 else len(about.positions),
    )


def longest_lap(context: SettingContext, bound: LapBound) -> Array:
    """Unhindered lap that no setting of a box exceeds at any places, (rows,), s.

    The gentlest corner is the slowest. A stretch takes as long as at its top speed all the way, and
    besides what changing between that and the speed u at each end costs, t·(v − u)/(2·v). Where it
    is too short to reach the top speed it costs less, but for the rounding of the ramps by jerk: a
    change by y takes no more than (y + 2·x)/a, x = a²/(2·j), and (y + 2·x)·(2·(v − u) − y) is
    greatest at v − u − x, by x² above what it is at v − u. A change that never reaches a exceeds it
    by less.
    """
    slow, about = context.settings, bound.about
    motion = slow.acceleration, slow.jerk
    lost = []
    for speed in (np.zeros(len(slow)), np.minimum(slow.bend_speed, slow.speed)):
        time = speed_change_time(slow.speed - speed, *motion)
        lost.append(0.5 * time * (slow.speed - speed) / slow.speed)
    straights = 2.0 * np.maximum(bound.available, 0.0) / slow.speed
    turning = 2.0 * (about.bend_length + about.option.base) / slow.bend_speed
    changes = 2.0 * len(about.positions) + 4.0
    stops = 2.0 * len(about.positions) * lost[0] + 4.0 * lost[1]
    rounded = changes * slow.acceleration**3 / (8.0 * slow.jerk**2 * slow.speed)
    return np.asarray(straights + turning + stops + rounded + about.occupied.sum())
