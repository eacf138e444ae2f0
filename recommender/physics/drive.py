"""Linear motor of a carrier: force available, and heat in the windings it passes over.

The windings stand still along the guide and the magnets ride on the carriers, so that a winding is
heated by every carrier that passes, only while a magnet lies above it. Heat gathers where carriers
stop and start. It is counted as the mean square of the force with which a magnet above that
winding pulls, RMS², and compared with the square of the continuous force of one magnet: a winding
takes as much current as if a magnet pulled with √RMS² above it all the time. RMS² of different
passes over the same winding add.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import Array


def available_force(
    speed: ArrayLike, peak_force: ArrayLike, knee_speed: ArrayLike, no_load_speed: ArrayLike
) -> Array:
    """Peak force that a motor can give at a speed.

    The peak force up to the knee speed, then falling in a straight line to zero at the no-load
    speed, where the voltage of the motor equals that of its supply.

    Parameters
    ----------
    speed : array_like, m/s
        Speed, of either sign.
    peak_force : array_like, N
        Force limited by the current.
    knee_speed : array_like, m/s
        Speed up to which the voltage leaves the peak force attainable, zero or more.
    no_load_speed : array_like, m/s
        Speed at which no force is left, above the knee speed.

    Returns
    -------
    ndarray, N

    Raises
    ------
    ValueError
        If a force or speed limit is negative, the no-load speed is not above the knee speed, or an
        argument is not a finite number.

    Examples
    --------
    300 N up to 2 m/s, nothing left at 6 m/s: half-way between, half the force.

    >>> available_force([1.0, 4.0, 7.0], 300.0, 2.0, 6.0)
    array([300., 150.,   0.])
    """
    knee = not_negative("knee_speed", knee_speed)
    fall = positive("no_load_speed less knee_speed", np.subtract(no_load_speed, knee))
    over = not_negative("speed", np.abs(speed)) - knee
    share = np.clip(1.0 - over / fall, 0.0, 1.0)
    return np.asarray(not_negative("peak_force", peak_force) * share)


def copper_loss(force: ArrayLike, motor_constant: ArrayLike) -> Array:
    """Heat that a force costs in the windings.

    P = (F/K_m)², as K_m = K_f/√R for a force constant K_f and a resistance R [1]_.

    Parameters
    ----------
    force : array_like, N
        Force, of either sign.
    motor_constant : array_like, N/√W
        Motor constant K_m; ``inf`` leaves the copper out.

    Returns
    -------
    ndarray, W

    Raises
    ------
    ValueError
        If a motor constant is not positive, or an argument is not a number.

    Examples
    --------
    100 N from a motor of 20 N/A and 4 Ω, that is 10 N/√W: 5 A, 5²·4 W.

    >>> float(copper_loss(100.0, 20.0 / 4.0**0.5))
    100.0

    References
    ----------
    .. [1] Motor constant as defined by the trade at large; common practice.
    """
    constant = positive("motor_constant", motor_constant, unlimited=True)
    return np.square(not_negative("force", np.abs(force)) / constant)


def _squared_forces(
    mass: ArrayLike, acceleration: Array, resistance: ArrayLike, jerk: ArrayLike
) -> tuple[Array, Array, Array]:
    """Squared force while starting and while braking, and what slow jerk adds, N²·s."""
    inertia = positive("mass", mass) * acceleration
    friction = not_negative("resistance", resistance)
    ramp = acceleration / positive("jerk", jerk, unlimited=True)
    # Where resistance is the larger part, a slower start heats longer rather than less.
    longer = ramp * np.maximum(np.square(friction) - np.square(inertia) / 3.0, 0.0)
    return np.square(inertia + friction), np.square(inertia - friction), np.asarray(longer)


def stop_heat(
    mass: ArrayLike,
    acceleration: ArrayLike,
    resistance: ArrayLike,
    magnet_length: ArrayLike,
    takt: ArrayLike,
    *,
    holding_force: ArrayLike = 0.0,
    dwell: ArrayLike = 0.0,
    jerk: ArrayLike = np.inf,
) -> Array:
    """Winding heat at the hottest point of a place where carriers stop.

    RMS² = [√(2ℓ/a)·√(F_s⁴ + F_b⁴) + F_hold²·t_dwell + max(0, T_j·(f² − m²a²/3))]/τ

    with F_s = m·a + f starting, F_b = |m·a − f| braking, ℓ the length of the magnet, T_j = a/j. A
    winding x ahead of the centre of the stopped magnet lies under it for √((ℓ − 2x)/a) while the
    carrier brakes and for √((ℓ + 2x)/a) while it starts. The sum of the heat of both is greatest
    at x = (ℓ/2)·(F_s⁴ − F_b⁴)/(F_s⁴ + F_b⁴). A holding force heats all windings under the magnet
    alike, and adds.

    Parameters
    ----------
    mass : array_like, kg
        Mass of carrier and load.
    acceleration : array_like, m/s²
        Limit of acceleration and of deceleration.
    resistance : array_like, N
        Resistance to motion f, zero or more.
    magnet_length : array_like, m
        Length ℓ of the magnet.
    takt : array_like, s
        Time from one carrier to the next at this stop. For a station that takes several carriers
        at once the takt of the single carriers is safe: the carriers for the places farther on
        pass over each place, and none of them heats it more than one that stops there.
    holding_force : array_like, N
        Force during the dwell, for instance against a process force.
    dwell : array_like, s
        Time for which the holding force acts.
    jerk : array_like, m/s³
        Limit of jerk. It matters only if the resistance exceeds m·a/√3.

    Returns
    -------
    ndarray, N²
        To be compared with the squared continuous force.

    Raises
    ------
    ValueError
        If a mass, acceleration, length, takt or jerk is not positive, another argument is
        negative, or one is not a number.

    Notes
    -----
    Exact for infinite jerk (without the last term), and an upper bound for finite jerk, against a
    simulation in steps of 10 µs: 0 to 10 % high for magnets no shorter than 4.3·a·T_j² (0.11 m at
    10 m/s² and 200 m/s³) and f ≤ 0.3·m·a, up to 27 % at a·T_j². The bound holds if the carrier is
    still speeding up when the magnet has left, v² ≥ 2·a·ℓ; below that, `passing_heat` of the
    resistance has to be added. It holds for carriers that advance from place to place, too, if
    their places are at least the length of a magnet apart.

    Examples
    --------
    10 kg at 10 m/s² without resistance, a magnet of 0.1 m, 2 s takt: half the magnet is covered in
    √(0.1/10) = 0.1 s, so the winding in the middle carries 100 N for 0.2 s in 2 s.

    >>> round(float(stop_heat(10.0, 10.0, 0.0, 0.1, 2.0)), 9)
    1000.0
    """
    a = positive("acceleration", acceleration)
    starting, braking, longer = _squared_forces(mass, a, resistance, jerk)
    moving = np.sqrt(2.0 * positive("magnet_length", magnet_length) / a)
    moving = moving * np.hypot(starting, braking)
    return np.asarray((moving + longer + _held(holding_force, dwell)) / positive("takt", takt))


def pair_stop_heat(
    mass: ArrayLike,
    acceleration: ArrayLike,
    resistance: ArrayLike,
    magnet_length: ArrayLike,
    coupling_distance: ArrayLike,
    takt: ArrayLike,
    *,
    holding_force: ArrayLike = 0.0,
    dwell: ArrayLike = 0.0,
    hop: ArrayLike = np.inf,
    jerk: ArrayLike = np.inf,
) -> Array:
    """Winding heat at the hottest point of a stop of a coupled pair, for one of its two magnets.

    RMS² = [√(2ℓ/a)·√(F_s⁴ + F_b⁴) + 2·max(F_s, F_b)²·(√(2δ/a) − √((2δ − ℓ)/a)) + F_hold²·t_dwell
    + max(0, T_j·(f² − m²a²/3))]/(4τ)

    The first and the last two terms are those of `stop_heat`, and each magnet gives half of every
    force. The second term is the other magnet, which passes over the hot spot as the pair leaves
    or arrives, slowly where it is near a stop: δ is the shorter of the coupling distance d and of
    what is left of the leg or hop beyond it.

    Parameters
    ----------
    mass : array_like, kg
        Mass of the pair and its load.
    acceleration : array_like, m/s²
        Limit of acceleration and of deceleration.
    resistance : array_like, N
        Resistance to motion of the pair, zero or more.
    magnet_length : array_like, m
        Length ℓ of one of the two magnets.
    coupling_distance : array_like, m
        Distance d of the two magnets' centres, at least the length of a magnet.
    takt : array_like, s
        Time from one pair to the next at this stop, as for `stop_heat`.
    holding_force : array_like, N
        Force of the pair during the dwell.
    dwell : array_like, s
        Time for which the holding force acts.
    hop : array_like, m
        Length of the shortest leg that ends or begins at this stop, at least d + ℓ. Where pairs
        queue it is their spacing.
    jerk : array_like, m/s³
        Limit of jerk, as for `stop_heat`.

    Returns
    -------
    ndarray, N²
        To be compared with the squared continuous force of one magnet.

    Raises
    ------
    ValueError
        If a mass, acceleration, length, takt or jerk is not positive, another argument is
        negative, the magnets overlap each other or those of the pair ahead, or an argument is not
        a number.

    Notes
    -----
    An upper bound, against a simulation in steps of 10 µs and under the same condition on the
    speed, √(2·a·(d + ℓ)) here: 0 to 15 % high after long legs at f ≤ 0.3·m·a, more in queues. The
    second term could be had sharper for the winding midway under a magnet, but the hottest one
    lies aside of it, so that such a sum would be up to 5 % too low after long legs and 20 % in a
    queue.

    Examples
    --------
    20 kg at 10 m/s², two magnets of 0.1 m that touch, 2 s takt: together they are one magnet of
    0.2 m, and the winding under its middle carries 100 N for 2·√(0.2/10) = 0.283 s in 2 s.

    >>> round(float(pair_stop_heat(20.0, 10.0, 0.0, 0.1, 0.1, 2.0)), 1)
    1414.2
    """
    a = positive("acceleration", acceleration)
    length = positive("magnet_length", magnet_length)
    distance = positive("coupling_distance", coupling_distance)
    near = np.minimum(distance, positive("hop", hop, unlimited=True) - distance)
    # A rounding error is no overlap.
    if np.any(near < length * (1.0 - 1e-9)):
        raise ValueError("coupling_distance, and what hop leaves beyond it, must be a magnet long")
    starting, braking, longer = _squared_forces(mass, a, resistance, jerk)
    own = np.sqrt(2.0 * length / a) * np.hypot(starting, braking)
    passing = np.sqrt(2.0 * near / a) - np.sqrt((2.0 * near - length) / a)
    other = 2.0 * np.maximum(starting, braking) * passing
    heat = own + other + longer + _held(holding_force, dwell)
    return np.asarray(heat / (4.0 * positive("takt", takt)))


def _held(holding_force: ArrayLike, dwell: ArrayLike) -> Array:
    force = not_negative("holding_force", np.abs(holding_force))
    return np.asarray(np.square(force) * not_negative("dwell", dwell))


def passing_heat(
    force: ArrayLike, magnet_length: ArrayLike, speed: ArrayLike, takt: ArrayLike
) -> Array:
    """Winding heat where carriers pass at a steady speed.

    RMS² = F²·ℓ/(v·τ): the magnet lies above a winding for ℓ/v. For a coupled pair enter half the
    force and twice the length.

    Parameters
    ----------
    force : array_like, N
        Force of the magnet as it passes, of either sign.
    magnet_length : array_like, m
        Length ℓ of the magnet.
    speed : array_like, m/s
        Speed v.
    takt : array_like, s
        Time from one carrier to the next.

    Returns
    -------
    ndarray, N²
        To be added to other heat of the same winding, and compared with the squared continuous
        force.

    Raises
    ------
    ValueError
        If a length, speed or takt is not positive, or an argument is not a finite number.

    Examples
    --------
    30 N at 2 m/s over 0.1 m, every 0.5 s: 900 N² for a tenth of the time.

    >>> round(float(passing_heat(30.0, 0.1, 2.0, 0.5)), 9)
    90.0
    """
    covered = positive("magnet_length", magnet_length) / positive("speed", speed)
    squared = np.square(not_negative("force", np.abs(force)))
    return np.asarray(squared * covered / positive("takt", takt))
