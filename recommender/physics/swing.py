"""How an undamped oscillator swings while its carrier changes speed.

A speed change is a *pulse* of acceleration: up to its peak a in the ramp time T_j, held, and down
again in T_j; its pulse time t_a runs from the middle of one ramp to the middle of the other, so
that a * t_a is the change of speed. Without the hold it is a triangle, T_j = t_a. A bend is a pulse
of centripetal acceleration.

Whatever swings, a liquid's surface, a hanging load or a springy one, is followed in units of the
acceleration that would hold it there steadily.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import Array
from recommender.physics.motion import speed_change_peak, speed_change_ramp

_ROUNDING = 1e-9
"""Relative slack for a pulse time that equals its ramp time but for rounding."""


def acceleration_pulse(
    speed_change: ArrayLike, acceleration: ArrayLike, jerk: ArrayLike
) -> tuple[Array, Array, Array]:
    """Peak, ramp time and pulse time of a jerk-limited change of speed.

    peak = min(a, sqrt(dv * j)),  T_j = peak / j,  t_a = dv / peak

    Parameters
    ----------
    speed_change : array_like, m/s
        Change of speed dv really made, of either sign: a leg too short for its speed limit counts
        with the peak it reaches. 0 gives an empty pulse.
    acceleration : array_like, m/s²
        Greatest acceleration a allowed.
    jerk : array_like, m/s³
        Greatest jerk j allowed; ``inf`` for none.

    Returns
    -------
    peak : ndarray, m/s²
    ramp_time : ndarray, s
    pulse_time : ndarray, s
        From mid-ramp to mid-ramp; the whole pulse lasts ramp_time longer.

    Raises
    ------
    ValueError
        If acceleration or jerk is not positive or anything is not a number.

    Examples
    --------
    From 0 to 5 m/s at 10 m/s² and 30 m/s³ the ramp takes 0.3333 s and the change 0.8333 s, from
    1 m/s it takes 0.7333 s [1]_:

    >>> peak, ramp, pulse = acceleration_pulse([5.0, 4.0], 10.0, 30.0)
    >>> np.round(ramp, 4), np.round(pulse + ramp, 4)
    (array([0.3333, 0.3333]), array([0.8333, 0.7333]))

    References
    ----------
    .. [1] Biagiotti and Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, example 3.9.
    """
    peak = speed_change_peak(speed_change, acceleration, jerk)
    ramp = speed_change_ramp(speed_change, acceleration, jerk)
    return peak, ramp, np.abs(speed_change) / np.where(peak > 0.0, peak, 1.0)


def ramp_factor(ramp_time: ArrayLike, period: ArrayLike) -> Array:
    """Swing about the new tilt that a ramp of the acceleration leaves, over the step without ramp.

    s = abs(sin(pi * T_j / T)) / (pi * T_j / T)

    Parameters
    ----------
    ramp_time : array_like, s
        Time T_j the acceleration takes from one level to the next.
    period : array_like, s
        Period T of the oscillator.

    Returns
    -------
    ndarray, dimensionless
        1 for a step, 0 for a ramp of whole periods. A single start rises to 1 + s times the steady
        tilt.

    Raises
    ------
    ValueError
        If ramp_time is negative, period is not positive, or either is not finite.

    Notes
    -----
    The zeros are sharp, and the period moves with the fill. Do not bet on one: ask for the periods
    of the fullest and the emptiest fill, and of some between, and take the largest.

    Examples
    --------
    Half a period long: sin(pi / 2) / (pi / 2) = 0.637.

    >>> np.round(ramp_factor([0.0, 0.5, 1.0], 1.0), 3)
    array([1.   , 0.637, 0.   ])
    """
    return np.asarray(
        np.abs(np.sinc(not_negative("ramp time", ramp_time) / positive("period", period)))
    )


def swing_factors(
    ramp_time: ArrayLike, pulse_time: ArrayLike, period: ArrayLike
) -> tuple[Array, Array]:
    """Largest swing of a pulse of acceleration, and the swing that it leaves, over the peak's tilt.

    The *residual factor* is what remains after the pulse, the *pulse factor* the largest swing
    while it acts and ever after::

        A = 2 * s * abs(sin(pi * t_a / T))
        P = A                                  if the whole pulse fits into half a period,
            min(1 + s, 2 * pi * t_a / T)       else

    Parameters
    ----------
    ramp_time : array_like, s
        Ramp time T_j; s is its `ramp_factor`.
    pulse_time : array_like, s
        Pulse time t_a from mid-ramp to mid-ramp.
    period : array_like, s
        Period T of the oscillator.

    Returns
    -------
    pulse : ndarray, dimensionless
        P, between 0 and 2, never less than A; never less than the truth, and equal to it in the
        first case and for a plateau that lasts until the swing's first crest.
    residual : ndarray, dimensionless
        A, between 0 and 2; never more than 1 + s.

    Raises
    ------
    ValueError
        If a time is negative, period is not positive, or anything is not finite.

    Notes
    -----
    A pulse is an upward and a downward step t_a apart, each smoothed over T_j: the two swings have
    the amplitude s each and the phase 2 * pi * t_a / T between them.

    The response to a smoothed step is never negative and never above 1 + s; a pulse is the
    difference of two such steps, so it stays within 1 + s of either sign on its ramps as well, and
    whether or not it has a plateau. The impulse a * t_a cannot move the oscillator by more than
    omega * a * t_a. A pulse shorter than half a period pushes in the direction of the motion to
    its end, so that the largest swing is the one it leaves. Smoothing a pulse further, whichever
    way, averages the response and keeps it below the factor.

    Examples
    --------
    Rectangular pulses of 0.2, 0.5 and 10 periods: 2 * sin(0.2 * pi) = 1.176, then 2 and 2. Half a
    period leaves twice the tilt and whole ones nothing:

    >>> pulse, residual = swing_factors(0.0, [0.2, 0.5, 10.0], 1.0)
    >>> pulse.round(3), residual.round(3)
    (array([1.176, 2.   , 2.   ]), array([1.176, 2.   , 0.   ]))
    """
    times = positive("period", period)
    turns = not_negative("pulse time", pulse_time) / times
    smoothed = ramp_factor(ramp_time, times)
    left = 2.0 * smoothed * np.abs(np.sin(np.pi * turns))
    brief = np.add(ramp_time, pulse_time) <= 0.5 * times
    most = np.minimum(1.0 + smoothed, 2.0 * np.pi * turns)
    return np.where(brief, left, most), np.asarray(left)


def checked_chain(
    peaks: ArrayLike, ramps: ArrayLike, pulses: ArrayLike
) -> tuple[Array, Array, Array]:
    """Magnitudes and times of a chain of pulses as arrays with the chain along the last axis.

    Raises
    ------
    ValueError
        If a time is negative, a pulse is shorter than its ramp, or anything is not finite.
    """
    heights = np.atleast_1d(not_negative("peaks", np.abs(peaks)))
    ramp_times = np.atleast_1d(not_negative("ramps", ramps))
    pulse_times = np.atleast_1d(not_negative("pulses", pulses))
    if np.any(pulse_times < ramp_times * (1.0 - _ROUNDING)):
        raise ValueError("a pulse cannot be shorter than its ramp")
    return heights, ramp_times, pulse_times


def largest_response(peaks: Array, swing: Array, residual: Array) -> Array:
    """Bound of the response to a chain of pulses, each with its pulse and residual factor."""
    left = peaks * residual
    before = np.cumsum(left, axis=-1) - left
    return np.asarray(np.max(peaks * swing + before, axis=-1, initial=0.0))
