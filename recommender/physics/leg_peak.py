"""Peak speed of a leg: the equations behind the legs of `recommender.physics.motion`.

The peak is expressed by the excess e over the higher boundary speed v_h; the lower one is v_l, and
Δ = v_h − v_l. A short speed change by e and a long one by Δ + e then make up a leg without cruise.
Arguments are taken as checked.
"""

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from recommender.physics.constants import Array

_TINY = 1e-300
_TANGENTS = 4
_NEWTON_STEPS = 6


def change_time(change: Array, acceleration: Array, jerk: Array) -> Array:
    """Least time of a speed change, zero or more, between two speeds held without acceleration."""
    ramp = acceleration / jerk
    return np.where(
        change >= acceleration * ramp,
        change / acceleration + ramp,
        2.0 * np.sqrt(change / jerk),
    )


def ramps(
    excess: Array, lower: Array, higher: Array, acceleration: Array, jerk: Array
) -> tuple[Array, Array]:
    """Time and distance of both speed changes, the peak `excess` above the higher boundary."""
    short = change_time(excess, acceleration, jerk)
    long = change_time(higher - lower + excess, acceleration, jerk)
    distance = 0.5 * (short * (2.0 * higher + excess) + long * (lower + higher + excess))
    return short + long, np.asarray(distance)


def ramps_distance(
    excess: Array, lower: Array, higher: Array, acceleration: Array, jerk: Array
) -> Array:
    """Distance of both speed changes when the peak lies `excess` above the higher boundary."""
    return ramps(excess, lower, higher, acceleration, jerk)[1]


def stop_to_stop(distance: Array, speed: Array, acceleration: Array, jerk: Array) -> Array:
    """Least time of a leg that starts and ends at rest, where the peak needs no quartic.

    With b = a²/2j both speed changes reach the acceleration from a distance of 8·b²/a on, with a
    peak of √(b² + a·d) − b; below it the time is that of four equal ramps, 4·∛(d/2j).
    """
    ramp = acceleration / jerk
    half = 0.5 * acceleration * ramp
    further = acceleration * distance
    to_speed = change_time(speed, acceleration, jerk)
    # The quotient keeps the digits that the root less b would lose; no way at all takes no time.
    peak_over = distance / np.maximum(half + np.sqrt(half * half + further), _TINY)
    return np.where(
        distance >= speed * to_speed,
        to_speed + distance / speed,
        np.where(
            further >= 8.0 * half * half,
            2.0 * (peak_over + ramp),
            np.cbrt(32.0 * distance / jerk),
        ),
    )


def _excess_both_reach(
    distance: Array, lower: Array, higher: Array, acceleration: Array, jerk: Array
) -> Array:
    """Excess where both speed changes reach the acceleration: a quadratic.

    With b = a²/2j the distance is [e² + 2·(v_h + b)·e + Δ·(v_h + v_l)/2 + b·(3·v_h + v_l)]/a.
    """
    b = 0.5 * acceleration * (acceleration / jerk)
    rest = acceleration * distance - (
        0.5 * (higher - lower) * (higher + lower) + b * (3.0 * higher + lower)
    )
    rest = np.maximum(rest, 0.0)
    linear = higher + b
    return np.asarray(rest / (linear + np.sqrt(linear * linear + rest)))


def _excess_one_reaches(
    distance: Array, lower: Array, higher: Array, acceleration: Array, jerk: Array
) -> Array:
    """Excess where only the longer speed change reaches the acceleration: a quartic.

    With e = (a²/j)·s², A = a³/2j² and B = v_h·a/j the distance is that of a direct change at full
    acceleration, ½·(v_h + v_l)·(Δ/a + a/j), plus A·q² + B·(q + s) with q = s·(1 + s). As s is 1 at
    most, or the shorter change would reach the acceleration too, q is between s and 2·s.

    s = ½·(w − 1), w = √(1 + 4·q), hardly bends over q, and its tangent in its place, which is
    s + (q' − q)/w and never lies below it, leaves a quadratic for q'. A relative error r of q so
    becomes at most r²·q/(w³ + w²), w at the lesser of the two, which is less than r²/14. The first
    q is the lesser of two upper bounds, √(R/A) and R/1.5·B for a rest R of the distance, and at
    most 1.87·q, where both are the same: from 0.87 to 0.06, 2e-4, 4e-9 and 1e-18 in 4 steps.
    """
    ramp = acceleration / jerk
    rest = distance - 0.5 * (higher + lower) * ((higher - lower) / acceleration + ramp)
    rest = np.maximum(rest, 0.0)
    quartic = 0.5 * acceleration * ramp * ramp
    linear = higher * ramp
    q = np.minimum(np.sqrt(rest / quartic), rest / (1.5 * linear))
    for _ in range(_TANGENTS):
        root = np.sqrt(1.0 + 4.0 * q)
        along = linear + linear / root
        left = rest - linear * (root - 1.0) ** 2 / (4.0 * root)
        q = 2.0 * left / (along + np.sqrt(along * along + 4.0 * quartic * left))
    s = 2.0 * q / (1.0 + np.sqrt(1.0 + 4.0 * q))
    return np.asarray(acceleration * ramp * s * s)


def _excess_none_reaches(
    distance: Array, lower: Array, higher: Array, acceleration: Array, jerk: Array
) -> Array:
    """Excess where neither speed change reaches the acceleration: a quartic in the leg's time.

    The distance is j·T³/32 + ½·(v_l + v_h)·T − Δ²/(2·j·T), and e = j·(T/4 − Δ/(j·T))².

    At T ≥ 2·√(Δ/j), the time of the direct change, the last term is no greater than either of the
    others, so each of them alone gives an upper bound of T; the lesser bound is at most 2·T. The
    distance is convex in T there, and Newton's method descends monotonically, its relative error r
    shrinking to at most r²/(1 + r) in a step: 1, 1/2, 1/6, 1/42, 1/1806, 3e-7, 1e-13.
    """
    change = higher - lower
    mean = 0.5 * (higher + lower)
    time = np.cbrt(32.0 * distance / jerk)
    time = np.minimum(
        time, np.divide(distance, mean, out=np.full_like(time, np.inf), where=mean > 0.0)
    )
    cubic = jerk / 32.0
    inverse = 0.5 * change * change / jerk
    for _ in range(_NEWTON_STEPS):
        upper = cubic * time**2
        last = inverse / time
        time = (2.0 * (upper * time + last) + distance) / (3.0 * upper + mean + last / time)
    half = 0.25 * time - change / (jerk * time)
    return np.asarray(jerk * half * half)


def _ways(
    short: NDArray[np.bool_],
    distance: Array,
    lower: Array,
    higher: Array,
    acceleration: Array,
    jerk: Array,
) -> Iterator[tuple[NDArray[np.bool_], Callable[..., Array]]]:
    """Which of the short legs have which equation."""
    ramp = acceleration / jerk
    plateau = acceleration * ramp
    change = higher - lower
    # Where the shorter change just reaches the acceleration, and where the longer one does.
    full = ramp * (2.0 * higher + plateau)
    full = full + (0.5 * change / acceleration + ramp) * (lower + higher + plateau)
    both = distance >= full
    gap = np.maximum(plateau - change, 0.0)
    part = np.sqrt(gap / jerk) * (2.0 * higher + gap)
    longer = np.maximum(plateau, change) / acceleration + ramp
    one = (distance >= part + 0.5 * longer * (lower + higher + gap)) & (gap < plateau)
    yield short & both, _excess_both_reach
    short = short & ~both
    yield short & one, _excess_one_reaches
    yield short & ~one, _excess_none_reaches


def peak_excess(
    distance: Array, lower: Array, higher: Array, speed: Array, acceleration: Array, jerk: Array
) -> Array:
    """Excess of the peak of any legs, nan where infeasible; arguments of any shapes.

    Most legs reach the speed limit and need no equation solved; the others are picked out.
    """
    limits = (lower, higher, acceleration, jerk)
    room = speed - higher
    direct = 0.5 * change_time(higher - lower, acceleration, jerk) * (lower + higher)
    possible = (room >= 0.0) & (direct <= distance)
    reaches = possible & (ramps_distance(np.maximum(room, 0.0), *limits) <= distance)
    excess = np.where(reaches, room, np.where(possible, 0.0, np.nan))
    # A leg without length has nothing to solve; it is possible at equal boundary speeds only.
    short = possible & ~reaches & (distance > 0.0)
    if not short.any():
        return excess
    for where, solve in _ways(short, distance, *limits):
        count = np.count_nonzero(where)
        if count == excess.size:
            return np.broadcast_to(solve(distance, *limits), excess.shape)
        if count:
            rows = where.nonzero()
            excess[rows] = solve(*(_picked(value, rows) for value in (distance, *limits)))
    return excess


def _picked(value: Array, rows: tuple[NDArray[np.intp], ...]) -> Array:
    """Some entries of what an array is broadcast to, itself where it has but one."""
    if value.size == 1:
        return value.reshape(())
    along = zip(rows[-value.ndim :], value.shape, strict=True)
    return np.asarray(value[tuple(row if size > 1 else 0 for row, size in along)])
