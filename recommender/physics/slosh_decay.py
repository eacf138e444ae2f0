"""What is left of the waves of earlier moves, lap after lap, and how slowly they die out.

A tray goes round and round: the wave that a move leaves has decayed a little by the next one, and
after many laps all that is left adds up to a steady amount. Waves decay by the friction of the
liquid at the wetted walls and the bottom, each sloshing mode at its own rate.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import STANDARD_GRAVITY, Array
from recommender.physics.slosh import sloshing_frequency
from recommender.physics.swing import checked_chain

_MODES = np.array([1, 3, 5, 7])


def sloshing_damping(
    length: ArrayLike,
    width: ArrayLike,
    depth: ArrayLike,
    viscosity: ArrayLike,
    mode: ArrayLike = 1,
    gravity: ArrayLike = STANDARD_GRAVITY,
) -> Array:
    """Damping ratio of a sloshing mode in a smooth rectangular tray, clean surface.

    zeta = sqrt(nu/(2·omega)) · [k/sinh(2·k·h) + (1 - 2·k·h/sinh(2·k·h))/L + 1/B],  k = n·pi/L

    Friction in the thin oscillating layers at the bottom, at the two end walls and at the two side
    walls, in this order, over twice the energy of the wave.

    Parameters
    ----------
    length : array_like, m
        Inner length L along the acceleration.
    width : array_like, m
        Inner width B across it.
    depth : array_like, m
        Depth h of the liquid at rest.
    viscosity : array_like, m²/s
        Kinematic viscosity nu; water of 20 °C has 1.0e-6.
    mode : array_like of int
        Number n of the mode, from 1.
    gravity : array_like, m/s²

    Returns
    -------
    ndarray, dimensionless

    Raises
    ------
    ValueError
        If a length, the viscosity or gravity is not positive and finite, or there is no such mode.

    Notes
    -----
    Laminar layers, thin beside the depth (half a millimetre in water). It is a lower bound of what
    is measured: films on the surface and the edge where it meets the wall add to it. In a deep
    round tank the same balance gives 0.56·sqrt(nu/sqrt(g·R³)), where measurements are put together
    as 0.79 of the same root [2]_.

    Examples
    --------
    Water 60 mm deep in a tray of 0.3 m by 0.22 m: omega = 7.565 rad/s, sqrt(nu/(2·omega)) =
    2.571e-4 m, k = 10.47 /m and 2·k·h = 1.257, so k/sinh = 6.49, end walls 0.74, side walls 4.55
    per metre: 0.303 %.

    >>> round(100 * float(sloshing_damping(0.3, 0.22, 0.06, 1e-6)), 3)
    0.303

    References
    ----------
    .. [1] Keulegan, Energy dissipation in standing waves in rectangular basins, Journal of Fluid
       Mechanics 6 (1959), for the method (from memory).
    .. [2] Abramson (ed.), NASA SP-106, 1966, chapter 4; Dodge, The New "Dynamic Behavior of Liquids
       in Moving Containers", 2000, chapter 2 (from memory).
    """
    size, across = positive("length", length), positive("width", width)
    omega = sloshing_frequency(size, depth, mode, gravity)
    number = np.pi * np.asarray(mode) / size
    twice = 2.0 * number * positive("depth", depth)
    with np.errstate(over="ignore"):
        hyperbolic = np.sinh(twice)
    walls = number / hyperbolic + (1.0 - twice / hyperbolic) / size + 1.0 / across
    return np.asarray(np.sqrt(positive("viscosity", viscosity) / (2.0 * omega)) * walls)


def damped_residual_factor(
    ramp_time: ArrayLike, pulse_time: ArrayLike, frequency: ArrayLike, damping: ArrayLike
) -> Array:
    """Swing that a pulse of acceleration leaves in a damped oscillator, over the tilt at its peak.

    abs((exp(lambda·T_j) - 1)·(exp(lambda·t_a) - 1)) / (omega_d·T_j)

    with lambda = omega·(-zeta + i·sqrt(1 - zeta²)) and omega_d its imaginary part.

    Parameters
    ----------
    ramp_time, pulse_time : array_like, s
        As for `recommender.physics.swing.swing_factors`, to whose second it comes down without
        damping.
    frequency : array_like, rad/s
        omega of the oscillator x'' + 2·zeta·omega·x' + omega²·x = omega²·a(t).
    damping : array_like, dimensionless
        zeta, below 1.

    Returns
    -------
    ndarray, dimensionless
        The envelope: the oscillator never swings further afterwards. A ramp tuned to whole periods
        leaves about zeta, and not nothing.

    Raises
    ------
    ValueError
        If a time or the damping is negative, the frequency is not positive, the damping is 1 or
        more, or anything is not finite.

    Examples
    --------
    Rectangular pulse of half a period: 2 without damping, and 1 + exp(-pi·zeta) nearly with 1 %:

    >>> np.round(damped_residual_factor(0.0, 0.5, 2 * np.pi, [0.0, 0.01]), 3)
    array([2.   , 1.969])
    """
    omega, zeta = positive("frequency", frequency), not_negative("damping", damping)
    if np.any(zeta >= 1.0):
        raise ValueError("damping must be below 1")
    ramp, pulse = not_negative("ramp time", ramp_time), not_negative("pulse time", pulse_time)
    damped, decay = omega * np.sqrt(1.0 - zeta**2), zeta * omega
    there = ramp > 0.0
    # Without a ramp what is left is lambda itself, of which omega is the size.
    rising = np.where(there, _turned(ramp, damped, decay) / np.where(there, ramp, 1.0), omega)
    return np.asarray(rising * _turned(pulse, damped, decay) / damped)


def _turned(time: Array, damped: Array, decay: Array) -> Array:
    """abs(exp(lambda·t) - 1), with lambda = -decay + i·damped and real numbers alone.

    Its square is (1 - exp(-decay·t))² + 4·exp(-decay·t)·sin²(damped·t/2).
    """
    gone = np.expm1(-decay * time)
    return np.asarray(np.sqrt(gone**2 + 4.0 * (1.0 + gone) * np.sin(0.5 * damped * time) ** 2))


@dataclass(frozen=True)
class Move:
    """One move from stop to stop as its pulses, (..., n), and the stop before it, (...).

    ``until_end`` is the time from the end of each pulse to the end of the move, or less.
    """

    peaks: Array
    ramps: Array
    pulses: Array
    until_end: Array
    duration: Array
    stop: Array


def waves_of_laps(
    moves: Sequence[Move],
    length: ArrayLike,
    width: ArrayLike,
    depth: ArrayLike,
    viscosity: ArrayLike,
    *,
    gravity: ArrayLike = STANDARD_GRAVITY,
) -> list[Array]:
    """Wave that all earlier moves have left when each move of a lap begins, after many laps.

    Mode by mode, with beta = zeta·omega, m counting the moves and the stop before each:

        left[m+1] = (left[m]·exp(-beta·duration[m]) + own[m])·exp(-beta·stop[m+1])
        own[m]    = sum over its pulses of a·A·exp(-beta·until_end),  A the `damped_residual_factor`

    and left[0] is what comes back to itself after a lap. Added is what damping takes from a tuned
    pulse within the move itself: a·max(A - A_undamped, 0), and 2·zeta of the greatest peak.

    Parameters
    ----------
    moves : sequence of Move
        In the order of a lap, at least one. A stop that lasts longer only calms.
    length, width, depth : array_like, m
        As for `sloshing_damping`; depth broadcasts with the leading axes of the moves.
    viscosity : array_like, m²/s
    gravity : array_like, m/s²

    Returns
    -------
    list of ndarray, m/s², one for each move
        Equivalent steady acceleration; the `wave_response` of a move and this together are never
        exceeded by linear sloshing, in whatever phases the moves meet the waves.

    Raises
    ------
    ValueError
        As `sloshing_damping` and `checked_chain`, or if a lap takes no time.

    Notes
    -----
    Four modes are taken one by one, with their share of the tilt; the rest at the most that ramps
    allow, decaying no faster than the last one taken. In the median of random laps the waves of
    a time-domain simulation come up to 0.27 of the bound, at most to 0.9: unlucky phases are
    rare, but waits and fills that vary bring them about.

    Examples
    --------
    Start and stop of `wave_response` once every 10 s in a tray of 0.1 m by 0.1 m, 0.06 m deep. The
    first mode has omega = 17.15 rad/s, zeta = 0.337 % and beta = 0.0577 /s. Start and stop leave
    2·2·1.608 = 6.4 m/s², of which 0.61 are left after the stop of 8.7 s; in 10 s 0.56 are kept,
    which comes to 1/(1 - 0.56) = 2.28 times as much after many laps: 8.9 m/s², of which the mode's
    share of the tilt is 0.81. Higher modes add a little:

    >>> one = [np.array([2.0, 2.0]), np.array([0.1, 0.1]), np.array([0.5, 0.5])]
    >>> move = Move(*one, np.array([0.7, 0.0]), np.array(1.3), np.array(8.7))
    >>> (left,) = waves_of_laps([move], 0.1, 0.1, 0.06, 1e-6)
    >>> round(float(left), 2)
    7.52
    """
    chains = [checked_chain(move.peaks, move.ramps, move.pulses) for move in moves]
    leading = max(np.ndim(length), np.ndim(depth), *(np.ndim(move.duration) for move in moves))
    modes = _MODES.reshape((-1,) + (1,) * leading)
    omega = sloshing_frequency(length, depth, modes, gravity)
    zeta = sloshing_damping(length, width, depth, viscosity, modes, gravity)
    shares = 8.0 / (np.pi * modes) ** 2
    own, tuned = [], []
    for peaks, ramps, pulses in chains:
        bare, damped = (
            damped_residual_factor(ramps, pulses, omega[..., None], ratio)
            for ratio in (0.0, zeta[..., None])
        )
        own.append(peaks * damped)
        extra = (peaks * np.maximum(damped - bare, 0.0)).sum(axis=-1)
        tuned.append(extra + 2.0 * zeta * peaks.max(axis=-1, initial=0.0))
    totals = [
        (shares * (left + more)).sum(axis=0)
        for left, more in zip(_left(moves, own, zeta * omega), tuned, strict=True)
    ]
    # |1 - exp(root·T_j)| is at most 2 and at most omega·T_j, for every mode that is left out.
    fastest, calmed, rest = omega[-1], zeta[-1], 1.0 - float(shares.sum())
    steep = [
        peaks * 2.0 * np.minimum(1.0, 2.0 / np.maximum(fastest[..., None] * ramps, 2.0))
        for peaks, ramps, _ in chains
    ]
    return [
        np.asarray(total + rest * left / np.sqrt(1.0 - calmed**2))
        for total, left in zip(totals, _left(moves, steep, calmed * fastest), strict=True)
    ]


def _left(moves: Sequence[Move], own: Sequence[Array], rate: Array) -> list[Array]:
    """Swing of one mode when each move begins, from what each pulse leaves at its end."""
    decay = [np.exp(-rate * move.duration) for move in moves]
    calm = [np.exp(-rate * move.stop) for move in moves]
    added = [
        (kept * np.exp(-rate[..., None] * move.until_end)).sum(axis=-1)
        for move, kept in zip(moves, own, strict=True)
    ]
    once, kept_of_lap = np.zeros(()), np.ones(())
    for k, move_decay in enumerate(decay):
        behind = calm[(k + 1) % len(moves)]
        once = (once * move_decay + added[k]) * behind
        kept_of_lap = kept_of_lap * move_decay * behind
    if np.any(kept_of_lap >= 1.0):
        raise ValueError("a lap must take time")
    left = [once / (1.0 - kept_of_lap)]
    for k in range(len(moves) - 1):
        left.append((left[k] * decay[k] + added[k]) * calm[k + 1])
    return left
