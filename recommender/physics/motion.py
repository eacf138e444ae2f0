"""Jerk-limited motion of a carrier: changes of speed, and legs between two speeds.

A lap is a chain of legs: from a stop to a bend, round the bend, on to the next stop. A leg covers
a distance from one boundary speed to another, both held at zero acceleration, in the least time
that the limits of speed, acceleration and jerk allow (double-S profile): up to a peak speed, along
at it if the leg is long enough, and down. Speed stays between the lower boundary speed and the
peak, so a carrier never dips below both of its boundary speeds.

Every function broadcasts. ``jerk`` may be ``inf``, which gives the trapezoidal profile.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import Array
from recommender.physics.leg_peak import change_time, peak_excess, ramps, stop_to_stop


def speed_change_time(change: ArrayLike, acceleration: ArrayLike, jerk: ArrayLike) -> Array:
    """Least time in which the speed changes, starting and ending without acceleration.

    t = |Δv|/a + a/j if |Δv|·j ≥ a², else 2·√(|Δv|/j): the acceleration is a trapezium, or a
    triangle where the change is too small to reach the limit.

    Parameters
    ----------
    change : array_like, m/s
        Change of speed; its sign does not matter.
    acceleration : array_like, m/s²
        Limit of acceleration and of deceleration.
    jerk : array_like, m/s³
        Limit of jerk; ``inf`` for none.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        If a limit is not positive or an argument is not a number.

    Examples
    --------
    Starting from 1 to 5 m/s and braking from 5 to 0 m/s at 10 m/s² and 30 m/s³ take
    4/10 + 10/30 = 0.7333 s and 5/10 + 10/30 = 0.8333 s (example 3.9 of [1]_):

    >>> speed_change_time([4.0, -5.0], 10.0, 30.0).round(4)
    array([0.7333, 0.8333])

    References
    ----------
    .. [1] L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, section 3.4, equations 3.19 to 3.24.
    """
    return change_time(
        not_negative("change", np.abs(change)),
        positive("acceleration", acceleration),
        positive("jerk", jerk, unlimited=True),
    )


def speed_change_distance(
    start: ArrayLike, end: ArrayLike, acceleration: ArrayLike, jerk: ArrayLike
) -> Array:
    """Distance covered while the speed changes in the least time.

    d = t·(v0 + v1)/2, t from `speed_change_time`: the speed runs symmetrically about its mean.

    Parameters
    ----------
    start, end : array_like, m/s
        Speed before and after, zero or more.
    acceleration : array_like, m/s²
        Limit of acceleration and of deceleration.
    jerk : array_like, m/s³
        Limit of jerk; ``inf`` for none.

    Returns
    -------
    ndarray, m

    Raises
    ------
    ValueError
        If a limit is not positive, a speed negative, or an argument is not a number.

    Examples
    --------
    From 1 to 5 m/s in 0.7333 s at 3 m/s on average:

    >>> round(float(speed_change_distance(1.0, 5.0, 10.0, 30.0)), 9)
    2.2
    """
    start = not_negative("start", start)
    end = not_negative("end", end)
    acceleration = positive("acceleration", acceleration)
    jerk = positive("jerk", jerk, unlimited=True)
    return np.asarray(0.5 * change_time(np.abs(end - start), acceleration, jerk) * (start + end))


def speed_change_ramp(change: ArrayLike, acceleration: ArrayLike, jerk: ArrayLike) -> Array:
    """Time for which the jerk acts at either end of a speed change.

    T_j = min(a/j, √(|Δv|/j)), equation 3.17 of [1]_. Parameters and errors as for
    `speed_change_time`.

    Returns
    -------
    ndarray, s

    Examples
    --------
    From rest to the peak of example 3.13 of [1]_, 9.0856 m/s, which 20 m/s² do not limit:
    √(9.0856/30) s.

    >>> round(float(speed_change_ramp(9.0856, 20.0, 30.0)), 4)
    0.5503

    References
    ----------
    .. [1] L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, section 3.4.
    """
    change = not_negative("change", np.abs(change))
    acceleration = positive("acceleration", acceleration)
    jerk = positive("jerk", jerk, unlimited=True)
    return np.asarray(np.minimum(acceleration / jerk, np.sqrt(change / jerk)))


def speed_change_peak(change: ArrayLike, acceleration: ArrayLike, jerk: ArrayLike) -> Array:
    """Greatest acceleration that occurs during a speed change.

    min(a, √(|Δv|·j)), which is j·T_j. Parameters and errors as for `speed_change_time`.

    Returns
    -------
    ndarray, m/s²

    Examples
    --------
    A change by 1 m/s at 100 m/s³ peaks at √(1·100) = 10 m/s², or at the limit below that:

    >>> speed_change_peak(1.0, [20.0, 5.0], 100.0)
    array([10.,  5.])
    """
    change = not_negative("change", np.abs(change))
    acceleration = positive("acceleration", acceleration)
    jerk = positive("jerk", jerk, unlimited=True)
    with np.errstate(invalid="ignore"):  # no change at infinite jerk is 0·inf, and needs no force
        reached = np.minimum(acceleration, np.sqrt(change * jerk))
    return np.where(change > 0.0, reached, 0.0)


def _checked_leg(
    distance: ArrayLike,
    start: ArrayLike,
    end: ArrayLike,
    speed: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
) -> tuple[Array, Array, Array, Array, Array, Array]:
    start = not_negative("start", start)
    end = not_negative("end", end)
    return (
        not_negative("distance", distance),
        np.asarray(np.minimum(start, end)),
        np.asarray(np.maximum(start, end)),
        positive("speed", speed),
        positive("acceleration", acceleration),
        positive("jerk", jerk, unlimited=True),
    )


def leg_peak_excess(
    distance: ArrayLike,
    start: ArrayLike,
    end: ArrayLike,
    speed: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
) -> Array:
    """Peak speed of a leg less its higher boundary speed, nan where the leg is infeasible.

    The difference itself, so that a leg that hardly speeds up loses no digits. Parameters, method
    and errors as for `leg_time`.

    Returns
    -------
    ndarray, m/s

    Examples
    --------
    Entering and leaving at 2 m/s, a micrometre in between lets the speed rise by only
    j·(d/4v)² = 1000·(1e-6/8)² m/s:

    >>> float(leg_peak_excess(1e-6, 2.0, 2.0, 5.0, 10.0, 1000.0).round(15))
    1.5625e-11
    """
    return peak_excess(*_checked_leg(distance, start, end, speed, acceleration, jerk))


def leg_peak_speed(
    distance: ArrayLike,
    start: ArrayLike,
    end: ArrayLike,
    speed: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
) -> Array:
    """Highest speed in a leg: the speed limit, or less if the leg is too short to reach it.

    Parameters, method and errors as for `leg_time`.

    Returns
    -------
    ndarray, m/s
        nan where the leg is infeasible.

    Examples
    --------
    Example 3.10 of [1]_ reaches 10 m/s² both ways, but not 10 m/s. With b = a²/2j = 1.6667 m/s,
    v + b = √(½·(v0 − b)² + ½·(v1 − b)² + a·d) = √(0.2222 + 1.3889 + 100) = 10.0802 m/s:

    >>> round(float(leg_peak_speed(10.0, 1.0, 0.0, 10.0, 10.0, 30.0)), 4)
    8.4136

    References
    ----------
    .. [1] L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, section 3.4.
    """
    leg = _checked_leg(distance, start, end, speed, acceleration, jerk)
    higher, limit = leg[2], leg[3]
    excess = peak_excess(*leg)
    return np.where(excess >= limit - higher, limit, higher + excess)


def leg_time(
    distance: ArrayLike,
    start: ArrayLike,
    end: ArrayLike,
    speed: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
) -> Array:
    """Least time for a leg with forward motion and given speeds at its ends.

    T = t(v − v0) + t(v − v1) + (d − d0 − d1)/v, with t and d from `speed_change_time` and
    `speed_change_distance`, v the speed limit or the peak at which nothing is left to cruise. That
    peak is the root of a quadratic where both speed changes reach the acceleration, else of a
    quartic, solved to rounding by a number of Newton steps that is proven to suffice.

    Parameters
    ----------
    distance : array_like, m
        Length of the leg.
    start, end : array_like, m/s
        Speed at its two ends, where the acceleration is zero.
    speed : array_like, m/s
        Limit of speed.
    acceleration : array_like, m/s²
        Limit of acceleration and of deceleration.
    jerk : array_like, m/s³
        Limit of jerk; ``inf`` for none (trapezoidal profile).

    Returns
    -------
    ndarray, s
        ``inf`` where the leg is infeasible: shorter than the direct change from `start` to `end`,
        or a boundary speed above the limit.

    Raises
    ------
    ValueError
        If a limit is not positive, a distance or boundary speed negative, or an argument is not a
        number or, but for the jerk, infinite.

    Notes
    -----
    A carrier could fit a leg up to 1.3 % shorter than the direct change, if the lower boundary
    speed is below a third of the higher, by first slowing below both. That is not considered: it
    takes longer, hinders the carrier behind, and the leg counts as infeasible (safe).

    A limit of jerk costs a leg at most 2·a/j: the trapezoidal speed averaged over 2·a/j keeps the
    jerk, lasts 2·a/j longer, and covers no less.

    Examples
    --------
    Example 3.9 of [1]_: 0.7333 s and 2.2 m up to 5 m/s, 0.8333 s and 2.0833 m down to rest, and
    the other 5.7167 m at 5 m/s in 1.1433 s. Over 0.5 m it would have no room even to brake from
    5 m/s:

    >>> leg_time([10.0, 0.5], [1.0, 5.0], 0.0, 5.0, 10.0, 30.0).round(4)
    array([2.71,  inf])

    References
    ----------
    .. [1] L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, section 3.4. Its iteration for legs that do not reach the acceleration
       (examples 3.11 and 3.12) is approximate; the time here is the least possible.
    """
    leg = _checked_leg(distance, start, end, speed, acceleration, jerk)
    length, lower, higher, top, a, j = leg
    excess = peak_excess(*leg)
    changing, ramped = ramps(excess, lower, higher, a, j)
    time = changing + (length - ramped) / top
    return np.where(np.isnan(excess), np.inf, time)


def stop_to_stop_time(
    distance: ArrayLike, speed: ArrayLike, acceleration: ArrayLike, jerk: ArrayLike
) -> Array:
    """Least time for a leg from rest to rest, as `leg_time` has it, in closed form.

    t(v) + d/v where the limit of speed v is reached, t from `speed_change_time`; else 2·t(p) with
    the peak p at which p·t(p) = d.

    Parameters
    ----------
    distance : array_like, m
        Length of the leg.
    speed : array_like, m/s
        Limit of speed.
    acceleration : array_like, m/s²
        Limit of acceleration and of deceleration.
    jerk : array_like, m/s³
        Limit of jerk; ``inf`` for none.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        As `leg_time`.

    Examples
    --------
    10 m at 20 m/s² and 30 m/s³ reach neither 10 m/s nor 20 m/s² and take 4·∛(10/60) = 2.2013 s
    (example 3.13 of [1]_). At 10 m/s², b = 1.6667 m/s, the peak is √(2.7778 + 100) − 1.6667 =
    8.4713 m/s and the time 2·(0.8471 + 0.3333) s. At 5 m/s it is 0.8333 + 2 s:

    >>> stop_to_stop_time(10.0, [10.0, 10.0, 5.0], [20.0, 10.0, 10.0], 30.0).round(4)
    array([2.2013, 2.3609, 2.8333])

    References
    ----------
    .. [1] L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, section 3.4.
    """
    return stop_to_stop(
        not_negative("distance", distance),
        positive("speed", speed),
        positive("acceleration", acceleration),
        positive("jerk", jerk, unlimited=True),
    )
