"""Electrical energy and power that one carrier draws.

A carrier that pulls with a force F at a speed v draws

    P = max(F·v, 0) + (F/K_m)² − ρ·max(−F·v, 0)

from its supply: work done, copper loss of the windings under its magnets, and less the share ρ of
the braking work that is put to use. Copper loss is drawn in full while braking, too. That is an
assumption on the safe side: in part the carrier's own motion feeds it.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, positive
from recommender.physics.constants import Array
from recommender.physics.drive import copper_loss
from recommender.physics.motion import speed_change_peak, speed_change_ramp, speed_change_time


def _share(recovered_share: ArrayLike) -> Array:
    share = not_negative("recovered_share", recovered_share)
    if np.any(share > 1.0):
        raise ValueError("recovered_share must not exceed 1")
    return share


def electrical_power(
    force: ArrayLike,
    speed: ArrayLike,
    motor_constant: ArrayLike,
    *,
    recovered_share: ArrayLike = 0.0,
) -> Array:
    """Power that a carrier draws at an instant.

    P = max(F·v, 0) + (F/K_m)² − ρ·max(−F·v, 0)

    Parameters
    ----------
    force : array_like, N
        Force of the motor in the direction of travel, negative while it brakes.
    speed : array_like, m/s
        Speed.
    motor_constant : array_like, N/√W
        Motor constant K_m; ``inf`` leaves the copper loss out.
    recovered_share : array_like
        Share ρ of the braking work that is put to use, 0 to 1.

    Returns
    -------
    ndarray, W
        Negative while more is returned than drawn.

    Raises
    ------
    ValueError
        If a motor constant is not positive, a share outside 0 to 1, or an argument is not a finite
        number.

    Examples
    --------
    100 N at 2 m/s and 10 N/√W: 200 W of work and 100 W of copper loss. Braking, half recovered:

    >>> electrical_power([100.0, -100.0], 2.0, 10.0, recovered_share=0.5)
    array([300.,   0.])
    """
    work = finite("force", force) * finite("speed", speed)
    used = np.maximum(work, 0.0) + _share(recovered_share) * np.minimum(work, 0.0)
    return np.asarray(used + copper_loss(force, motor_constant))


def speed_change_copper_energy(
    mass: ArrayLike,
    change: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
    resistance: ArrayLike,
    motor_constant: ArrayLike,
) -> Array:
    """Copper loss of a jerk-limited speed change.

    ∫(F/K_m)² dt = [m²·a_p²·(t − 4·T_j/3) + 2·m·f·Δv + f²·t]/K_m², F = m·a(t) + f, with the
    duration t, the greatest acceleration a_p and the jerk time T_j of the change.

    Parameters
    ----------
    mass : array_like, kg
        Mass of carrier and load.
    change : array_like, m/s
        Change of speed Δv, negative for braking.
    acceleration : array_like, m/s²
        Limit of acceleration and of deceleration.
    jerk : array_like, m/s³
        Limit of jerk; ``inf`` for none.
    resistance : array_like, N
        Resistance to motion f, zero or more.
    motor_constant : array_like, N/√W
        Motor constant K_m; ``inf`` leaves the copper loss out.

    Returns
    -------
    ndarray, J

    Raises
    ------
    ValueError
        If a mass, limit or motor constant is not positive, a resistance negative, or an argument
        is not a number.

    Examples
    --------
    10 kg up to 1 m/s at 10 m/s² and 100 m/s³: 0.1 s up to 100 N and 0.1 s down, 2·100²·0.1/3 N²·s,
    over 10² N²/W.

    >>> round(float(speed_change_copper_energy(10.0, 1.0, 10.0, 100.0, 0.0, 10.0)), 6)
    6.666667
    """
    m, f = positive("mass", mass), not_negative("resistance", resistance)
    limits = (change, acceleration, jerk)
    duration = speed_change_time(*limits)
    inertia = m * speed_change_peak(*limits)
    squared = np.square(inertia) * (duration - (4.0 / 3.0) * speed_change_ramp(*limits))
    squared = squared + f * (2.0 * m * np.asarray(change, dtype=np.float64) + f * duration)
    constant = positive("motor_constant", motor_constant, unlimited=True)
    return np.asarray(squared / np.square(constant))


def speed_change_energy(
    mass: ArrayLike,
    start: ArrayLike,
    end: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
    resistance: ArrayLike,
    motor_constant: ArrayLike,
    *,
    recovered_share: ArrayLike = 0.0,
) -> Array:
    """Energy that a jerk-limited speed change draws, the time integral of `electrical_power`.

    E = ½·m·(v1² − v0²) + f·d + (1 − ρ)·R + E_copper, with the distance d of the change. R is the
    work that the motor takes out of the motion: nothing while speeding up, and while braking with
    m·a_p > f

    R = ½·m·(v0² − v1²) − f·d + f²·(v0 + v1)/(2·m·j),

    as the motor still pulls at either end of the change, where the deceleration is below f/m.

    Parameters
    ----------
    mass : array_like, kg
        Mass of carrier and load.
    start, end : array_like, m/s
        Speeds v0 and v1, zero or more.
    acceleration : array_like, m/s²
        Limit of acceleration and of deceleration.
    jerk : array_like, m/s³
        Limit of jerk; ``inf`` for none.
    resistance : array_like, N
        Resistance to motion f, zero or more.
    motor_constant : array_like, N/√W
        Motor constant K_m; ``inf`` leaves the copper loss out.
    recovered_share : array_like
        Share ρ of the braking work that is put to use, 0 to 1.

    Returns
    -------
    ndarray, J
        Negative where more is returned than drawn.

    Raises
    ------
    ValueError
        If a mass, limit or motor constant is not positive, a speed or resistance negative, a share
        outside 0 to 1, or an argument is not a number.

    Examples
    --------
    A train of 203 t, 10 % more for its wheels and motors in rotation, from rest to 45 km/h in 30 s
    against 44 N/t and a grade of 1:500: half of 1324.55 kW for 30 s, 5.52 kWh, and at 60 %
    efficiency 9.2 kWh (example 7.19 of [1]_).

    >>> resistance = 203.0 * (44.0 + 9810.0 / 500.0)
    >>> energy = speed_change_energy(223.3e3, 0.0, 12.5, 12.5 / 30.0, np.inf, resistance, np.inf)
    >>> round(float(energy) / 3.6e6 / 0.6, 1)
    9.2

    References
    ----------
    .. [1] J. B. Gupta, R. Manglik and R. Manglik, Utilization of Electrical Energy and
       Traction, p. 220.
    """
    m, f = positive("mass", mass), not_negative("resistance", resistance)
    start, end = not_negative("start", start), not_negative("end", end)
    change = end - start
    limits = (change, acceleration, jerk)
    total = start + end
    drawn = total * (0.5 * m * change + 0.5 * f * speed_change_time(*limits))
    pulls = np.square(f) * total / (2.0 * m * np.asarray(jerk, dtype=np.float64))
    brakes = (change < 0.0) & (m * speed_change_peak(*limits) > f)
    taken = np.where(brakes, np.maximum(pulls - drawn, 0.0), 0.0)
    copper = speed_change_copper_energy(m, change, acceleration, jerk, f, motor_constant)
    return np.asarray(drawn + (1.0 - _share(recovered_share)) * taken + copper)


def peak_power(
    mass: ArrayLike,
    speed: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
    resistance: ArrayLike,
    motor_constant: ArrayLike,
    *,
    start: ArrayLike = 0.0,
) -> Array:
    """Greatest power drawn while a carrier speeds up.

    P = m·α·(v − α²/2j) + f·v + ((m·a_p + f)/K_m)², α = min(a_p, √(2·v·j/3)): the mechanical power
    of the mass is greatest as the jerk begins to take the acceleration back from its greatest
    value a_p, or, where that is long before the end, at two thirds of the speed v. From rest it is
    m·a·(v − a²/2j) if a²/j ≤ 2v/3, else m·√j·(2v/3)^1.5. Resistance at full speed and copper loss
    at the greatest force come on top, although neither peaks at that instant (safe).

    Parameters
    ----------
    mass : array_like, kg
        Mass of carrier and load.
    speed : array_like, m/s
        Speed v at the end of the change.
    acceleration : array_like, m/s²
        Limit of acceleration.
    jerk : array_like, m/s³
        Limit of jerk; ``inf`` for none.
    resistance : array_like, N
        Resistance to motion f, zero or more.
    motor_constant : array_like, N/√W
        Motor constant K_m; ``inf`` leaves the copper loss out.
    start : array_like, m/s
        Speed at the beginning of the change, at most `speed`: 0 at a stop, the bend's speed at the
        exit of a bend.

    Returns
    -------
    ndarray, W

    Raises
    ------
    ValueError
        If a mass, limit or motor constant is not positive, a speed or resistance negative, `start`
        above `speed`, or an argument is not a number.

    Examples
    --------
    The train of `speed_change_energy` draws most at the end, 105 964 N at 45 km/h, 1324.55 kW
    (example 7.19 of [1]_, with 277.8 for 1000/3.6):

    >>> resistance = 203.0 * (44.0 + 9810.0 / 500.0)
    >>> power = peak_power(223.3e3, 12.5, 12.5 / 30.0, np.inf, resistance, np.inf)
    >>> round(float(power) / 1e3, 1)
    1324.5

    References
    ----------
    .. [1] J. B. Gupta, R. Manglik and R. Manglik, Utilization of Electrical Energy and
       Traction, p. 220.
    """
    m, v = positive("mass", mass), not_negative("speed", speed)
    f = not_negative("resistance", resistance)
    change = v - not_negative("start", start)
    if np.any(change < 0.0):
        raise ValueError("start must not exceed speed")
    j = np.asarray(jerk, dtype=np.float64)
    greatest = speed_change_peak(change, acceleration, j)
    # A carrier that does not speed up has no acceleration at its peak, whatever the jerk.
    two_thirds = np.sqrt(np.where(change > 0.0, v, 1.0) * j / 1.5)
    at_peak = np.minimum(greatest, two_thirds)
    work = m * at_peak * (v - 0.5 * at_peak * at_peak / j) + f * v
    return np.asarray(work + copper_loss(m * greatest + f, motor_constant))
