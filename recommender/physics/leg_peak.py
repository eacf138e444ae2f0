"""Peak speed of a leg: the equations behind the legs of `recommender.physics.motion`.

The peak is expressed by the excess e over the higher boundary speed v_h; the lower one is v_l, and
Δ = v_h − v_l. A short speed change by e and a long one by Δ + e then make up a leg without cruise.
Arguments are taken as checked.
"""

import numpy as np

from recommender.physics.constants import Array

_TINY = 1e-300
_NEWTON_STEPS_ONE_REACHES = 8
_NEWTON_STEPS_NONE_REACHES = 6


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
    acceleration, ½·(v_h + v_l)·(Δ/a + a/j), plus P(s) = A·s²·(1 + s)² + B·s·(s + 2).

    Each term of P alone gives an upper bound of s, and the lesser bound s₀ has P(s₀) ≤ 2·P(s), so
    s₀ ≤ 2·s because P(s)/s never falls. From there Newton's method descends monotonically, P being
    convex, and the relative error r shrinks to at most 1.5·r²/(1 + r) in a step, as s·P'' ≤ 3·P'
    for a quartic without negative coefficients: from 1 to below 1e-16 in 8 steps.
    """
    ramp = acceleration / jerk
    change = higher - lower
    rest = distance - 0.5 * (higher + lower) * (change / acceleration + ramp)
    rest = np.maximum(rest, 0.0)
    quartic = 0.5 * acceleration * ramp * ramp
    linear = higher * ramp
    root = np.sqrt(rest / quartic)
    ratio = rest / linear
    s = np.minimum(
        2.0 * root / (1.0 + np.sqrt(1.0 + 4.0 * root)), ratio / (1.0 + np.sqrt(1.0 + ratio))
    )
    square = quartic + linear
    for _ in range(_NEWTON_STEPS_ONE_REACHES):
        up = ((3.0 * s + 4.0) * quartic * s + square) * s * s + rest
        down = (((4.0 * s + 6.0) * s) * quartic + 2.0 * square) * s + 2.0 * linear
        s = up / down
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
    for _ in range(_NEWTON_STEPS_NONE_REACHES):
        upper = cubic * time**2
        last = inverse / time
        time = (2.0 * (upper * time + last) + distance) / (3.0 * upper + mean + last / time)
    half = 0.25 * time - change / (jerk * time)
    return np.asarray(jerk * half * half)


def _short_leg_excess(
    distance: Array, lower: Array, higher: Array, acceleration: Array, jerk: Array
) -> Array:
    """Excess of legs that are too short for the speed limit; all arguments of one length."""
    plateau = acceleration * (acceleration / jerk)
    limits = (lower, higher, acceleration, jerk)
    both = distance >= ramps_distance(plateau, *limits)
    gap = np.maximum(plateau - (higher - lower), 0.0)
    one = ~both & (distance >= ramps_distance(gap, *limits))
    excess = np.empty_like(distance)
    for rows, solve in (
        (both, _excess_both_reach),
        (one, _excess_one_reaches),
        (~(both | one), _excess_none_reaches),
    ):
        if rows.any():
            excess[rows] = solve(distance[rows], *(limit[rows] for limit in limits))
    return excess


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
    if np.any(short):
        rows = (np.full(excess.shape, value)[short] for value in (distance, *limits))
        excess[short] = _short_leg_excess(*rows)
    return excess
