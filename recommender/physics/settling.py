"""How a carrier with an overhanging load comes to rest: a mass on a spring at the guide.

Carrier, fixture and load rock about the datum on the give of rollers, guide and plate, taken
together as one rotational stiffness. What a move has left of that swing dies out until it is within
the tolerance of the station.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, positive
from recommender.physics.constants import Array


def rocking_frequency(stiffness: ArrayLike, inertia: ArrayLike) -> Array:
    """Angular frequency of a body on a rotational spring, omega = sqrt(k/I).

    Parameters
    ----------
    stiffness : array_like, N·m/rad
        k of rollers, guide and plate together.
    inertia : array_like, kg·m²
        I of all that moves, about the datum.

    Returns
    -------
    ndarray, rad/s

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Examples
    --------
    A mass of 10 kg on a massless lever of 0.3 m, held by 9000 N·m/rad: 0.9 kg·m², 100 rad/s.

    >>> float(rocking_frequency(9000.0, 10 * 0.3**2).round(9))
    100.0
    """
    return np.asarray(np.sqrt(positive("stiffness", stiffness) / positive("inertia", inertia)))


def swing_after_move(
    give: ArrayLike,
    frequency: ArrayLike,
    damping: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
    distance: ArrayLike,
) -> Array:
    """Greatest swing that is left at the end of any move from rest to rest.

    x = c · min(2·a, 4·j/omega) · (1 + exp(-zeta·omega·sqrt(d/a)))

    The first factor is what braking leaves, the second adds what speeding up has left of it by
    then, in the worst phase.

    Parameters
    ----------
    give : array_like, s²
        c, swing at the load under a steady acceleration, over that acceleration; 1/omega² where
        all the mass is at the load.
    frequency : array_like, rad/s
        omega, the first of the loaded carrier.
    damping : array_like, dimensionless
        Damping ratio zeta.
    acceleration, jerk : array_like, m/s² and m/s³
        Greatest ones of any move; ``inf`` for a jerk without limit.
    distance : array_like, m
        Shortest move d.

    Returns
    -------
    ndarray, m
        Amplitude at the instant at which the carrier stands.

    Raises
    ------
    ValueError
        If an argument is not positive, the damping is negative, or anything but the jerk is not
        finite.

    Notes
    -----
    A pulse of acceleration with peak a and ramp T_j leaves at most 2·a·s, s the
    `recommender.physics.swing.ramp_factor`, which never exceeds 1 nor 2/(omega·T_j): with j = a/T_j
    that is 4·j/omega. No ramp is taken as tuned to a period, and damping within a pulse is left
    out. Braking begins no sooner than half of the move after its start, and a move of d takes
    2·sqrt(d/a) at least. What a bend has left of a swing across the travel is not counted.

    Examples
    --------
    100 rad/s, 3 m/s² and 60 m/s³, all mass at the load: 2·3 is more than 4·60/100 = 2.4, times
    1e-4 s² is 0.24 mm; a move of 0.48 m takes at least 2 · 0.4 s, in half of which 3 % of damping
    leave exp(-1.2) = 0.30 of the start: 0.312 mm.

    >>> round(1000 * float(swing_after_move(1e-4, 100.0, 0.03, 3.0, 60.0, 0.48)), 3)
    0.312
    """
    omega, zeta = positive("frequency", frequency), not_negative("damping", damping)
    a = positive("acceleration", acceleration)
    left = np.minimum(2.0 * a, 4.0 * positive("jerk", jerk, unlimited=True) / omega)
    start = np.exp(-zeta * omega * np.sqrt(positive("distance", distance) / a))
    return np.asarray(positive("give", give) * left * (1.0 + start))


def settling_time(
    swing: ArrayLike, tolerance: ArrayLike, frequency: ArrayLike, damping: ArrayLike
) -> Array:
    """Time until a swing has died out to a tolerance, t = ln(x/tol)/(zeta·omega), at least 0.

    Parameters
    ----------
    swing, tolerance : array_like, m
        Amplitude to begin with, and that which is allowed to either side.
    frequency : array_like, rad/s
    damping : array_like, dimensionless
        Damping ratio zeta.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Examples
    --------
    Of a second-order system with zeta·omega = 1/s, 2 % are left after ln(50) = 3.91 time constants,
    for which textbooks take 4 [1]_:

    >>> round(float(settling_time(1.0, 0.02, 2.0, 0.5)), 2)
    3.91

    References
    ----------
    .. [1] Ogata, Modern Control Engineering, chapter 5, settling time (from memory).
    """
    ratio = positive("swing", swing) / positive("tolerance", tolerance)
    rate = positive("damping", damping) * positive("frequency", frequency)
    return np.asarray(np.log(np.maximum(ratio, 1.0)) / rate)


def overhang_deflection(force: ArrayLike, lever: ArrayLike, stiffness: ArrayLike) -> Array:
    """How far a force at the load moves it, u = F·r²/k.

    Parameters
    ----------
    force : array_like, N
        Resultant of the force at the load; taken square to the lever, which is the most.
    lever : array_like, m
        r, distance of the load's centre from the datum.
    stiffness : array_like, N·m/rad

    Returns
    -------
    ndarray, m
        Small angles; the load and its fixture are taken as rigid.

    Raises
    ------
    ValueError
        If the stiffness is not positive, the force or lever negative, or anything not finite.

    Examples
    --------
    150 N on a lever of 0.3 m turn 9000 N·m/rad by 5 mrad, 1.5 mm at the load:

    >>> round(1000 * float(overhang_deflection(150.0, 0.3, 9000.0)), 6)
    1.5
    """
    arm = not_negative("lever", finite("lever", lever))
    return np.asarray(not_negative("force", force) * arm**2 / positive("stiffness", stiffness))
