"""What a bend asks of the drive, and the yaw acceleration at its ends.

Frame, wrench and signs as in `recommender.physics.loads`.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, path_radius, positive, vectors
from recommender.physics.constants import STANDARD_GRAVITY, Array


def entry_yaw_acceleration(
    bend_speed: ArrayLike, radius: ArrayLike, transition: ArrayLike, base: ArrayLike
) -> Array:
    """Greatest yaw acceleration where a body guided at two points enters or leaves a bend.

    alpha = v²/(R·max(l, base)) · (1 + (base/R)²/52)

    The heading of a body guided at two points is that of the chord between them, its curvature the
    guide's averaged over the base, which rises over the longer of base and transition at first
    order. The second factor, fitted to the integration along the true path, is that of the chord:
    1.002 at base = 0.3·R, 1.019 at base = R. If the carrier accelerates or brakes there, a_t/R is
    to be added by the caller.

    Parameters
    ----------
    bend_speed : array_like, m/s
        Mean guide speed of the two points.
    radius : array_like, m
        R of the arc, finite.
    transition : array_like, m
        Length l of the curve of linearly rising curvature before the arc; 0 for none.
    base : array_like, m
        Wheelbase of one truck; coupling distance of a pair.

    Returns
    -------
    ndarray, rad/s²

    Raises
    ------
    ValueError
        If a value is not finite, the radius is not positive, a length is negative, or transition
        and base are both 0.

    Notes
    -----
    Against the integration: never low by more than 0.1 % up to base = 1.6·R, at most 2.5 % high
    up to base = R. Combined with the yaw rate 0 (the start of the entry) and with the full one, and
    beside the steady bend, it bounds the lateral loads of every axle to 0.2 %; with the full yaw
    rate alone a load behind the middle of the carrier is up to a third low. At the exit alpha is
    negative and the axles change places.

    Examples
    --------
    1 m/s into a bend of 0.5 m: on one truck of 100 mm without transition, and as a pair 400 mm
    apart, 20 and 5 rad/s² before the factor:

    >>> entry_yaw_acceleration(1.0, 0.5, 0.0, [0.1, 0.4]).round(3)
    array([20.015,  5.062])
    """
    v, bend = finite("bend speed", bend_speed), positive("radius", radius)
    length, span = not_negative("transition", transition), not_negative("base", base)
    longer = np.maximum(length, span)
    if not (longer > 0).all():
        raise ValueError("transition and base must not both be 0")
    return np.asarray(v**2 / (bend * longer) * (1 + (span / bend) ** 2 / 52))


def entry_radius(radius: ArrayLike, reach: ArrayLike) -> Array:
    """Radius that makes the entry case safe also for a load on the inner side of the guide.

    R + max(-y, 0)

    While the yaw acceleration acts, omega²·y has not built up yet, and for y < 0 it is relief. With
    this radius in `inertial_wrench` the centrifugal force at entry is at least m·omega²·R. Without
    it the rollers' lateral loads are up to 1 % low on one truck, up to 15 % on a pair.

    Parameters
    ----------
    radius, reach : array_like, m
        Of the datum's path, and y of the part's centre of gravity.

    Returns
    -------
    ndarray, m

    Raises
    ------
    ValueError
        If the radius is not positive or the reach not finite.

    Examples
    --------
    >>> entry_radius(0.5, [-0.1, 0.2])
    array([0.6, 0.5])
    """
    return np.asarray(path_radius(radius) + np.maximum(-finite("reach", reach), 0))


def arc_drive_force(
    wrench: ArrayLike, radius: ArrayLike, truck_angle: ArrayLike = 0.0, line_y: ArrayLike = 0.0
) -> Array:
    """Drive force that holds a carrier's motion under a wrench, rolling resistance apart.

    T = (M_z/R - F_x·cos beta)/(1 + y_m/R)

    Virtual work: while the guide points advance by ds the carrier turns by -ds/R and its datum, the
    middle of the chord, advances by ds·cos beta, the drive's line by ds·(1 + y_m/R).

    Parameters
    ----------
    wrench : array_like (..., 6), N and N·m
        Sum over all loads, without the drive.
    radius : array_like, m
        R of the guide's centre line; infinite on a straight, where T = -F_x.
    truck_angle : array_like, rad
        beta of `recommender.physics.pair.pair_truck_angle`; 0 leaves out the chord, which is
        little for one truck.
    line_y : array_like, m
        Line of the drive, outward of the datum.

    Returns
    -------
    ndarray, N, positive in the direction of travel

    Raises
    ------
    ValueError
        If a value is not finite, the radius is not positive, or the line of the drive lies
        inside the centre of the bend.

    Examples
    --------
    A load held 20 mm behind and 80 N outward wants to turn the carrier, and so drives it:

    >>> float(arc_drive_force([0, 80, 0, 0, 0, -1.6], 0.5))
    -3.2
    """
    w, bend = vectors("wrench", wrench, 6), path_radius(radius)
    beta, y = finite("truck angle", truck_angle), finite("line y", line_y)
    lever = 1 + y / bend
    if not (lever > 0).all():
        raise ValueError("line y must lie outward of the centre of the bend")
    return np.asarray((w[..., 5] / bend - w[..., 0] * np.cos(beta)) / lever)


def entry_drive_force(
    mass: ArrayLike,
    reach: ArrayLike,
    yaw_inertia: ArrayLike,
    yaw_acceleration: ArrayLike,
    *,
    transition: ArrayLike,
    base: ArrayLike,
    radius: ArrayLike,
    offset: ArrayLike = 0.0,
    line_y: ArrayLike = 0.0,
) -> Array:
    """Greatest drive force, either way, while a carrier enters or leaves a bend at constant speed.

    With k = I_z/R, r = min(l, base)/max(l, base) and c = 1 - w²·r/2, three energies meet:

        spin:   w·(m·y + c·k) where it is greatest, w = min(1, sqrt(2·(m·y + k)/(3·k·r)))
        chord:  m·base²/(4·R), the datum's slowing as it leaves the guide line for the chord
        offset: m·|x|·base/(2·R), the datum's motion across the chord
        T = |alpha|·(max(spin, chord + max(-m·y, 0)) + offset)/(1 + min(y_m, 0)/R)

    The drive's line at y_m advances less than the guide while the carrier turns if it lies on the
    inner side, by y_m/R once it turns in full; what it gains on the outer side is not counted.

    w is the yaw acceleration as a part of its peak. With w = 1 the spin is the value at the end of
    the peak; near l = base the product of yaw rate and acceleration peaks later, 9 % higher.

    Parameters
    ----------
    mass : array_like, kg
    reach, offset : array_like, m
        y and x of the common centre of gravity, from the datum.
    line_y : array_like, m
        y_m, line of the drive outward of the datum.
    yaw_inertia : array_like, kg·m²
        I_z about the datum, m·(x² + y²) included.
    yaw_acceleration : array_like, rad/s²
        See `entry_yaw_acceleration`; the sign is of no account.
    transition, base, radius : array_like, m
        l, wheelbase or coupling distance, R.

    Returns
    -------
    ndarray, N, not negative

    Raises
    ------
    ValueError
        If a value is not finite or negative where it must not be, the radius is not positive,
        transition and base are both 0, I_z is below m·(x² + y²), or the line of the drive lies
        inside the centre of the bend.

    Notes
    -----
    A bound, compared with the energy balance of the integrated motion for reaches from -0.1 to
    0.4 m and bases up to R: never exceeded by 0.05 %. On one truck (base below 0.3·R) with the load
    centred along travel and more than 0.05 m outward, the true force is 0.85 to 1.00 of it, 0.95
    or more in half of the cases. Friction and gravity are not contained.

    Examples
    --------
    12 kg reaching out 0.2 m with 0.6 kg·m² about the datum, one truck of 100 mm, bend of 0.5 m
    without transition: 20 rad/s² · (2.4 + 1.2) kg·m = 72 N:

    >>> float(entry_drive_force(12, 0.2, 0.6, 20, transition=0.0, base=0.1, radius=0.5).round(6))
    72.0
    """
    m, inertia = not_negative("mass", mass), not_negative("yaw inertia", yaw_inertia)
    y, x = finite("reach", reach), finite("offset", offset)
    alpha, bend = finite("yaw acceleration", yaw_acceleration), positive("radius", radius)
    length, span = not_negative("transition", transition), not_negative("base", base)
    longer = np.maximum(length, span)
    if not (longer > 0).all():
        raise ValueError("transition and base must not both be 0")
    if np.any(inertia < (1 - 1e-9) * m * (x**2 + y**2)):
        raise ValueError("yaw inertia must be about the datum, m·(x² + y²) included")
    ratio = np.minimum(length, span) / longer
    unbalance, k = m * y, inertia / bend
    rounded = 3 * k * ratio
    peak = np.maximum(2 * (unbalance + k), 0.0)
    # Where nothing rounds the peak off (no transition, no inertia) it is reached in full.
    w = np.sqrt(np.divide(peak, rounded, out=np.ones_like(peak + rounded), where=rounded > peak))
    spin = w * (unbalance + k * (1 - ratio * w**2 / 2))
    chord = m * span**2 / (4 * bend) + np.maximum(-unbalance, 0.0)
    across = m * np.abs(x) * span / (2 * bend)
    lever = 1 + np.minimum(finite("line y", line_y), 0.0) / bend
    if not (lever > 0).all():
        raise ValueError("line y must lie outward of the centre of the bend")
    return np.asarray(np.abs(alpha) * (np.maximum(spin, chord) + across) / lever)


def upright_bend_peak_drive_force(
    mass: ArrayLike,
    centre_x: ArrayLike,
    centre_y: ArrayLike,
    radius: ArrayLike,
    *,
    gravity: float = STANDARD_GRAVITY,
) -> Array:
    """Greatest drive force against gravity over both bends of an upright loop.

    (m·G/R)·sqrt((R + y)² + x²), more than the weight for every load that reaches outward

    Where the bend has turned by phi, -(m·G/R)·[(R + y)·sin phi + x·cos phi] drives the load on.

    Parameters
    ----------
    mass : array_like, kg
    centre_x, centre_y : array_like, m
        Centre of gravity from the datum.
    radius : array_like, m
        R of the datum's path, finite.
    gravity : float, m/s²

    Returns
    -------
    ndarray, N

    Raises
    ------
    ValueError
        If a value is not finite, a mass is negative, or the radius is not positive.

    Examples
    --------
    >>> float(upright_bend_peak_drive_force(10, 0.25, 0.1, 0.5).round(2))
    127.49
    """
    m, bend = not_negative("mass", mass), positive("radius", radius)
    x, y = finite("centre x", centre_x), finite("centre y", centre_y)
    return np.asarray(m * gravity * np.hypot(1 + y / bend, x / bend))
