"""How high a liquid climbs in an open vessel that rides on a carrier.

The surface behaves as a set of undamped oscillators, the sloshing modes, each with its own period.
Accelerated steadily they tilt the surface by a / g; every change of the acceleration makes them
swing about that tilt, and what one speed change leaves behind adds to the next.

Undamped and linear: the swing of earlier moves is not remembered (let it die out, or add what
`recommender.physics.slosh_decay` finds left of it), and crests steeper than the theory's rise
higher, so keep the rise below about a fifth of the vessel's length and below the depth.
"""

from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import STANDARD_GRAVITY, Array
from recommender.physics.swing import (
    checked_chain,
    largest_response,
    swing_factors,
)

Vessel = Literal["rectangular", "round"]

_ROUND_ROOTS: Final = np.array([1.8411837813, 5.3314427735, 8.5363163664, 11.7060049026])
"""Zeros of the derivative of the Bessel function J1."""


def _wave_number(mode: ArrayLike, vessel: Vessel) -> Array:
    """Wave number times the vessel's length or diameter, dimensionless."""
    index = np.asarray(mode)
    if not (np.issubdtype(index.dtype, np.integer) and np.all(index >= 1)):
        raise ValueError("mode must be a whole number from 1")
    if vessel == "rectangular":
        return np.pi * index.astype(np.float64)
    if np.any(index > _ROUND_ROOTS.size):
        raise ValueError(f"a round vessel has modes 1 to {_ROUND_ROOTS.size} here")
    return np.asarray(2.0 * _ROUND_ROOTS[index - 1])


def sloshing_frequency(
    length: ArrayLike,
    depth: ArrayLike,
    mode: ArrayLike = 1,
    gravity: ArrayLike = STANDARD_GRAVITY,
    vessel: Vessel = "rectangular",
) -> Array:
    """Angular frequency of a sloshing mode in a vessel with upright walls.

    omega**2 = (kappa * g / L) * tanh(kappa * h / L)

    with kappa = n * pi in a rectangular vessel; in a round one L is the diameter and kappa twice
    the n-th zero of J1', 1.841, 5.331, 8.536, 11.706.

    Parameters
    ----------
    length : array_like, m
        Inner length L along the acceleration; the inner diameter of a round vessel.
    depth : array_like, m
        Depth h of the liquid at rest.
    mode : array_like of int
        Number n of the mode, from 1; 1 to 4 in a round vessel. Accelerating a rectangular vessel
        excites its odd modes alone.
    gravity : array_like, m/s²
        Acceleration g along the depth.
    vessel : {"rectangular", "round"}

    Returns
    -------
    ndarray, rad/s

    Raises
    ------
    ValueError
        If length, depth or gravity are not positive and finite, or there is no such mode.

    Notes
    -----
    Inviscid liquid, small waves, no surface tension (vessels well above the capillary length, 3 mm
    for water). Limits: shallow, the period becomes 2 * L / (n * sqrt(g * h)), Merian's formula;
    deep, omega**2 = n * pi * g / L.

    Examples
    --------
    A vessel 0.8 m long, filled 0.3 m deep, at g = 9.81 m/s²; 0.898250 Hz are printed [3]_:

    >>> round(float(sloshing_frequency(0.8, 0.3, gravity=9.81) / (2 * np.pi)), 5)
    0.89825

    References
    ----------
    .. [1] Abramson (ed.), The Dynamic Behavior of Liquids in Moving Containers, NASA SP-106, 1966,
       chapter 2.
    .. [2] Dodge, The New "Dynamic Behavior of Liquids in Moving Containers", Southwest Research
       Institute, 2000.
    .. [3] Code_Aster, validation manual V8.21.101 (ADLV101).
    """
    size = positive("length", length)
    number = _wave_number(mode, vessel)
    steepness = np.tanh(number * positive("depth", depth) / size)
    return np.sqrt(number * positive("gravity", gravity) / size * steepness)


def sloshing_period(
    length: ArrayLike,
    depth: ArrayLike,
    mode: ArrayLike = 1,
    gravity: ArrayLike = STANDARD_GRAVITY,
    vessel: Vessel = "rectangular",
) -> Array:
    """Period of a sloshing mode, 2 * pi / omega, in s; see `sloshing_frequency`.

    Examples
    --------
    Shallow water, 1 m long and 0.01 m deep: Merian's formula [1]_ gives 2 / sqrt(9.81 * 0.01) =
    6.386 s, the full one 6.387 s.

    >>> round(float(sloshing_period(1.0, 0.01, gravity=9.81)), 3)
    6.387

    References
    ----------
    .. [1] US Army Corps of Engineers, Coastal Engineering Manual, EM 1110-2-1100, part II,
       chapter 5.
    """
    return 2.0 * np.pi / sloshing_frequency(length, depth, mode, gravity, vessel)


def wall_rise(
    acceleration: ArrayLike, length: ArrayLike, gravity: ArrayLike = STANDARD_GRAVITY
) -> Array:
    """Rise of the liquid at the wall above its level at rest under a steady acceleration.

    rise = (L / 2) * a / g

    Parameters
    ----------
    acceleration : array_like, m/s²
        Horizontal acceleration a, or an equivalent one that holds the dynamics already
        (`wave_response`). Its sign does not matter.
    length : array_like, m
        Inner length L along the acceleration; the inner diameter of a round vessel.
    gravity : array_like, m/s²

    Returns
    -------
    ndarray, m
        Below the freeboard nothing spills. At the corner of a rectangular vessel the rises of both
        axes add.

    Raises
    ------
    ValueError
        If length or gravity is not positive or anything is not finite.

    Notes
    -----
    Valid while the surface neither bares the bottom nor reaches the rim.

    Examples
    --------
    A fish tank 2.0 m long accelerated at 2.5 m/s² rises by 25.5 cm, one 0.6 m long by 7.6 cm [1]_:

    >>> np.round(wall_rise(2.5, [2.0, 0.6], gravity=9.81), 3)
    array([0.255, 0.076])

    References
    ----------
    .. [1] Cengel and Cimbala, Fluid Mechanics: Fundamentals and Applications, example 3-12, p. 106.
    """
    half = 0.5 * positive("length", length)
    return half * not_negative("acceleration", np.abs(acceleration)) / positive("gravity", gravity)


def _over_modes(shares: Array, values: Array) -> Array:
    """Sum over the modes, the first axis, each with its share."""
    return np.asarray((shares.reshape((-1,) + (1,) * (values.ndim - 1)) * values).sum(axis=0))


def wave_response(
    peaks: ArrayLike,
    ramps: ArrayLike,
    pulses: ArrayLike,
    length: ArrayLike,
    depth: ArrayLike,
    *,
    gravity: ArrayLike = STANDARD_GRAVITY,
    vessel: Vessel = "rectangular",
) -> Array:
    """Equivalent steady acceleration of the liquid at the wall, all sloshing modes together.

    max over i of [ a_i * P_i + sum over k < i of a_k * A_k ]

    with P and A the `swing_factors` of each speed change, averaged over the modes, each with its
    share of the steady tilt: 8 / (n * pi)**2 for the odd modes of a rectangular vessel,
    2 / (xi**2 - 1) for the modes xi of a round one.

    Parameters
    ----------
    peaks : array_like, m/s², shape (..., n)
        Peak accelerations a_i really reached, in the order of the chain along the last axis;
        signs do not matter, empty places hold 0. Along the travel the speed changes in their order;
        across it one pulse for each bend, its ramp the longer of transition and base, over the
        speed.
    ramps, pulses : array_like, s, broadcastable with peaks
        Ramp and pulse times, as from `recommender.physics.swing.acceleration_pulse`.
    length, depth : array_like, m, broadcastable with the leading axes of peaks
        Inner length along the acceleration (diameter if round) and depth of the liquid at rest.
    gravity : array_like, m/s²
    vessel : {"rectangular", "round"}

    Returns
    -------
    ndarray, m/s², shape (...)
        `wall_rise` turns it into a rise that linear sloshing without damping does not exceed.

    Raises
    ------
    ValueError
        As `recommender.physics.swing.checked_chain` and `sloshing_frequency`.

    Notes
    -----
    It starts at rest and holds during the chain and after it, however long the pauses between the
    changes are. Starting and braking waves add: a single start rises to at most twice the steady
    tilt, a start and a stop to at most four times, a move that also slows down and speeds up on its
    way to at most eight. With unlucky pauses every kind of chain comes up to the bound of a mode,
    in the median a start and stop reaches 0.9 of it.

    In a bend the turning of the vessel while the liquid swings is left out; it is slow beside the
    swing as long as the yaw rate is small beside 2 * pi / T. A vessel out of the guide line is also
    pushed along the travel at entry and exit, by its distance times the yaw acceleration for the
    ramp time: one more pulse, without ramps, in the chain along the travel.

    The first mode alone carries only 0.81 (round: 0.84) of the tilt. Taking it for the whole is no
    bound: up to a tenth too low where a pulse is short or its ramp is tuned to the first period.
    Four modes are taken one by one; the rest (5 % of the tilt) at the most that ramps allow. A
    single start comes to 0.99 of the bound in the median, a start and stop to 0.97 with phases as
    they fall, a move that slows down on its way to 0.92, for ramps between a fiftieth of the first
    period and three.

    Examples
    --------
    Start and stop at 2 m/s², 20 m/s³ and 1 m/s in a vessel 0.1 m long and 0.06 m deep, first period
    0.3663 s: T_j = 0.1 s, t_a = 0.5 s, s = sin(0.8577) / 0.8577 = 0.882, A = 2 * 0.882 *
    abs(sin(4.288)) = 1.608, and the first mode alone 2 * (1 + 0.882 + 1.608) = 6.98 m/s². All modes
    together, and the rise at its wall in mm:

    >>> move = [2.0, 2.0], [0.1, 0.1], [0.5, 0.5]
    >>> equivalent = wave_response(*move, length=0.1, depth=0.06)
    >>> round(float(equivalent), 2), round(1000 * float(wall_rise(equivalent, 0.1)), 1)
    (6.59, 33.6)
    """
    heights, ramp_times, pulse_times = checked_chain(peaks, ramps, pulses)
    orders = np.arange(1, _ROUND_ROOTS.size + 1)
    modes = orders if vessel == "round" else 2 * orders - 1
    shares = 2.0 / (_wave_number(modes, vessel) ** 2 / 4.0 - (1.0 if vessel == "round" else 0.0))
    leading = max(heights.ndim - 1, np.ndim(length), np.ndim(depth), np.ndim(gravity))
    along = (-1,) + (1,) * leading
    period = sloshing_period(length, depth, modes.reshape(along), gravity, vessel)[..., np.newaxis]
    swing, residual = (
        _over_modes(shares, factors) for factors in swing_factors(ramp_times, pulse_times, period)
    )
    rest, fastest = 1.0 - float(shares.sum()), period[-1]
    # |sin x / x| <= min(1, 1/x), and every mode left out is faster than the last one taken.
    steepest = np.minimum(1.0, fastest / (np.pi * np.maximum(ramp_times, fastest / np.pi)))
    return largest_response(
        heights, swing + rest * (1.0 + steepest), residual + 2.0 * rest * steepest
    )
