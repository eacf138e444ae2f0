"""What comes back when carriers brake, what takes it, and how far they go until they stand.

DC link, brake chopper and brake resistor are meant as in IEC 61800-2 (from memory), stop categories
as in IEC 60204-1.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import Array


def link_energy(capacitance: ArrayLike, voltage: ArrayLike, ceiling: ArrayLike) -> Array:
    """Energy that a DC link takes until its voltage reaches the ceiling.

    E = C·(U₂² − U₁²)/2

    Parameters
    ----------
    capacitance : array_like, F
        Capacitance C of the link.
    voltage : array_like, V
        Voltage U₁ at which its supply holds it.
    ceiling : array_like, V
        Voltage U₂ at which the brake chopper sets in, or the supply switches off.

    Returns
    -------
    ndarray, J

    Raises
    ------
    ValueError
        If an argument is negative or not finite, or the ceiling lies below the voltage.

    Notes
    -----
    A capacitance may be 20 % lower than its nominal value, and falls with age: enter the least.

    Examples
    --------
    4 mF from 300 V to 400 V: 0.002·(160 000 − 90 000) J.

    >>> round(float(link_energy(4e-3, 300.0, 400.0)), 9)
    140.0
    """
    low, high = not_negative("voltage", voltage), not_negative("ceiling", ceiling)
    if np.any(high < low):
        raise ValueError("ceiling must not lie below voltage")
    return np.asarray(0.5 * not_negative("capacitance", capacitance) * (high**2 - low**2))


def braking_power(speed: ArrayLike, peak_force: ArrayLike, motor_constant: ArrayLike) -> Array:
    """Greatest power that a braking motor can return at a speed, whatever force it brakes with.

    P = max over F ≤ F_p of F·v − (F/K_m)² = F·v − (F/K_m)² at F = min(F_p, v·K_m²/2)

    Braking with F takes F·v out of the motion; the copper keeps (F/K_m)² of it, the rest comes back
    to the DC link. Beyond v·K_m²/2 more force heats the copper by more than it brings.

    Parameters
    ----------
    speed : array_like, m/s
        Speed v, zero or more.
    peak_force : array_like, N
        Greatest force F_p of all magnets together.
    motor_constant : array_like, N/√W
        Motor constant K_m of all magnets together; ``inf`` leaves the copper out.

    Returns
    -------
    ndarray, W

    Raises
    ------
    ValueError
        If a speed or force is negative, a motor constant not positive, or an argument is not a
        number.

    Notes
    -----
    Friction, iron and the inverter keep a part as well: leaving them out is on the safe side.

    Examples
    --------
    300 N at 3 m/s and 20 N/√W: up to 3·400/2 = 600 N pay, so all 300 N: 900 W less 225 W of copper.
    At 1 m/s 200 N pay best: 200 W less 100 W.

    >>> braking_power([3.0, 1.0], 300.0, 20.0)
    array([675., 100.])
    """
    v, most = not_negative("speed", speed), not_negative("peak_force", peak_force)
    constant = positive("motor_constant", motor_constant, unlimited=True)
    force = np.minimum(most, 0.5 * v * np.square(constant))
    return np.asarray(force * v - np.square(force / constant))


def mean_braking_power(force: ArrayLike, length: ArrayLike, takt: ArrayLike) -> Array:
    """Upper bound of the mean power that a fleet brakes away, however often its carriers stop.

    P = F·L/(2·τ)

    On a closed lap a carrier gains as much v² in speeding up as it loses in braking. With at most
    F either way, both take F·d = m·Δ(v²)/2 of distance each, so of the lap's length L at most half
    is braked on, and at most F·L/2 is braked away; one lap is completed in every takt τ.

    Parameters
    ----------
    force : array_like, N
        Greatest force F that speeds the mass up or slows it down, resistance left out.
    length : array_like, m
        Length L of a lap.
    takt : array_like, s
        Time τ from one carrier to the next.

    Returns
    -------
    ndarray, W
        Mechanical: what the copper keeps is not taken off.

    Raises
    ------
    ValueError
        If a force or length is negative, the takt not positive, or an argument is not finite.

    Examples
    --------
    100 N on a lap of 4 m every 2 s:

    >>> float(mean_braking_power(100.0, 4.0, 2.0))
    100.0
    """
    work = not_negative("force", force) * not_negative("length", length)
    return np.asarray(0.5 * work / positive("takt", takt))


def stopping_distance(speed: ArrayLike, deceleration: ArrayLike, delay: ArrayLike) -> Array:
    """Way that a carrier goes from the instant at which a stop is asked for until it stands.

    d = v²/(2a) + v·t

    Parameters
    ----------
    speed : array_like, m/s
        Speed v at that instant.
    deceleration : array_like, m/s²
        Deceleration a.
    delay : array_like, s
        Time t until it acts: of sensor, logic and drive, and half of the time in which a limited
        jerk builds it up, which costs as much way while it is short against v/a.

    Returns
    -------
    ndarray, m

    Raises
    ------
    ValueError
        If a speed or delay is negative, a deceleration not positive, or an argument not finite.

    Notes
    -----
    The way of a stop of category 1 (controlled, power kept until standstill) or 0 (power taken
    off at once) of IEC 60204-1 [1]_. The distance of a safeguard from the danger follows from the
    time of the whole stop and the approach of people by ISO 13855 [2]_; it is no part of this.

    Examples
    --------
    2 m/s, 4 m/s² and 0.1 s: 0.5 m of braking after 0.2 m of waiting.

    >>> round(float(stopping_distance(2.0, 4.0, 0.1)), 9)
    0.7

    References
    ----------
    .. [1] IEC 60204-1, Safety of machinery - Electrical equipment of machines, stop functions
       (9.2 in the editions from memory).
    .. [2] ISO 13855, Safety of machinery - Positioning of safeguards with respect to the approach
       of the human body.
    """
    v = not_negative("speed", speed)
    braking = np.square(v) / (2.0 * positive("deceleration", deceleration))
    return np.asarray(braking + v * not_negative("delay", delay))
