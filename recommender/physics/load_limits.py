"""What keeps a load that merely stands on its carrier: friction and the width of its base.

A utilisation is demand over limit: 1 means that the load just slips with the safety asked for.
Explicit limits of acceleration, jerk and speed need no formula.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import STANDARD_GRAVITY, Array


def friction_limited_acceleration(
    friction: ArrayLike, safety: ArrayLike = 1.0, vertical: ArrayLike = STANDARD_GRAVITY
) -> Array:
    """Largest resultant acceleration that friction alone passes on to a load that does not yaw.

    a = mu * g / S

    Parameters
    ----------
    friction : array_like, dimensionless
        Static coefficient of friction between load and carrier, mu.
    safety : array_like, dimensionless
        Safety against slipping, S.
    vertical : array_like, m/s²
        Acceleration that presses the load on its support, g: free fall, less or plus whatever
        the support accelerates along its own normal.

    Returns
    -------
    ndarray, m/s²

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    Coulomb's law: no adhesion, no vibration that shakes the load loose. Use a coefficient measured
    on the real, dirty pair; handbook values of clean metals are not design values.

    Examples
    --------
    A crate on a truck bed, mu = 0.75 and g = 9.8 m/s²; printed are 7.4 m/s² [1]_:

    >>> round(float(friction_limited_acceleration(0.75, vertical=9.8)), 2)
    7.35

    References
    ----------
    .. [1] Giancoli, Physics: Principles with Applications, problem of the crate on a flatbed
       truck, chapter 4.
    """
    return (
        positive("friction", friction) * positive("vertical", vertical) / positive("safety", safety)
    )


def clamp_limited_acceleration(
    force: ArrayLike, friction: ArrayLike, mass: ArrayLike, safety: ArrayLike = 1.0
) -> Array:
    """Largest resultant acceleration that a clamp passes on to a load by friction.

    a = 2 * mu * F / (S * m)

    Parameters
    ----------
    force : array_like, N
        Force F with which the clamp presses the load; jaw and seat, or both jaws, answer with the
        same force, and each of the two faces holds by friction.
    friction : array_like, dimensionless
        Static coefficient of friction at the faces, mu; the lower one of the two.
    mass : array_like, kg
        Mass m of the load.
    safety : array_like, dimensionless
        Safety against slipping, S.

    Returns
    -------
    ndarray, m/s²
        Against the resultant of acceleration and of whatever part of gravity the faces bear.

    Raises
    ------
    ValueError
        If an argument is not positive and finite.

    Notes
    -----
    What the load's own weight on its seat adds is left out, and a stop in the way of the load as
    well. A clamp that gives way sideways, such as one on a spring, holds with one face alone: half
    the force is to be entered for it.

    Examples
    --------
    A carton of 10 lb between two fingers, mu = 0.25, held against 3 g, weight included: each finger
    presses with 3 * 10 / (2 * 0.25) = 60 lbf [1]_.

    >>> pound, pound_force = 0.45359237, 4.4482216
    >>> held = clamp_limited_acceleration(60 * pound_force, 0.25, 10 * pound)
    >>> round(float(held / STANDARD_GRAVITY), 3)
    3.0

    References
    ----------
    .. [1] Groover, Weiss, Nagel and Odrey, Industrial Robotics, McGraw-Hill, 1986, chapter 5
       (from memory).
    """
    held = 2.0 * positive("friction", friction) * positive("force", force)
    return np.asarray(held / (positive("safety", safety) * positive("mass", mass)))


def slip_utilisation(
    resultant_acceleration: ArrayLike,
    yaw_acceleration: ArrayLike,
    friction: ArrayLike,
    diagonal: ArrayLike,
    safety: ArrayLike,
    *,
    vertical: ArrayLike = STANDARD_GRAVITY,
) -> Array:
    """Utilisation of friction by a load that is accelerated and yawed at once.

    With f = a / (mu * g) and m = diagonal * alpha / (3 * mu * g), demand and limit are

        u = S * (m + sqrt(m**2 + 4 * f**2)) / 2 <= 1,    that is    S * m + (S * f)**2 <= 1

    Parameters
    ----------
    resultant_acceleration : array_like, m/s²
        Resultant a of the in-plane accelerations at the load's centre of gravity.
    yaw_acceleration : array_like, rad/s²
        Angular acceleration alpha about the support's normal; its sign does not matter.
    friction : array_like, dimensionless
        Static coefficient of friction, mu.
    diagonal : array_like, m
        Diagonal of the rectangular footprint of a prismatic load. A round footprint counts with
        9/8 of its diameter; a load whose outline reaches beyond its footprint with the outline's
        diagonal squared over the footprint's diagonal. 0 leaves the yaw out.
    safety : array_like, dimensionless
        Safety against slipping, S; 1.5 is usual (common practice, no source).
    vertical : array_like, m/s²
        Acceleration that presses the load on its support, g.

    Returns
    -------
    ndarray, dimensionless
        1 if the load just slips with the safety; proportional to the accelerations and to S.

    Raises
    ------
    ValueError
        If friction, safety or vertical are not positive, the resultant or the diagonal is
        negative, or anything is not finite.

    Notes
    -----
    A uniform pressure resists a pure yaw with mu * m * g times the mean distance c of the footprint
    from its centre; a prism asks for m * k**2 * alpha with k the radius of gyration. k**2 / c is
    0.308 diagonals for a square and rises to 1/3 for a narrow strip; 1/3 is taken for all.

    Both at once: a narrow strip pushed across its length obeys f**2 + m = 1 exactly (it turns about
    a point on itself), and no rectangle, disc, ring, pair of ends or set of corner feet does
    worse. Against the friction field integrated over rectangles of any aspect the utilisation is
    never too low and at most 20 % too high. The ellipse f**2 + m**2 = 1 through the same ends lets
    friction hold 4 % too much under a square and 15 % under a strip.

    Valid for a uniform or outward pressure, hence for a low load. A tall load near its tipping
    limit leans on part of its footprint and resists yaw with less: as little as 0.67 of what is
    assumed here, for footprints up to 5 : 1, when the reaction has wandered over two thirds of the
    half base and the yaw term m has grown as large as f. A safety of 1.5 just covers that.

    Examples
    --------
    A load on 0.3 m by 0.4 m at 3 m/s² and 6 rad/s², mu = 0.5: f = 3 / 4.903 = 0.6118,
    m = 0.5 * 6 / (3 * 4.903) = 0.2039, u = (0.2039 + sqrt(0.0416 + 1.4973)) / 2 = 0.722, and with a
    safety of 1.5 it slips:

    >>> round(float(slip_utilisation(3.0, 6.0, 0.5, 0.5, safety=1.0)), 3)
    0.722
    >>> round(float(slip_utilisation(3.0, 6.0, 0.5, 0.5, safety=1.5)), 3)
    1.083

    The crate that speeds up to 60 km/h in no less than 5.66 s if it is not to slip at mu = 0.3 [2]_
    then uses its friction to the full:

    >>> round(float(slip_utilisation(60 / 3.6 / 5.66, 0.0, 0.3, 1.0, 1.0, vertical=9.81)), 2)
    1.0

    References
    ----------
    .. [1] Goyal, Ruina and Papadopoulos, Planar sliding with dry friction, part 1: limit surface
       and moment function, Wear 143 (1991), for the method of the integration (from memory).
    .. [2] Hibbeler, Engineering Mechanics: Dynamics, 14th ed., problem 13-35.
    """
    grip = positive("friction", friction) * positive("vertical", vertical)
    push = not_negative("resultant acceleration", resultant_acceleration) / grip
    yaw = not_negative("yaw acceleration", np.abs(yaw_acceleration)) * not_negative(
        "diagonal", diagonal
    )
    turn = yaw / (6.0 * grip)
    return positive("safety", safety) * (turn + np.hypot(turn, push))


def tipping_acceleration(
    centre_height: ArrayLike,
    half_base: ArrayLike,
    offset: ArrayLike = 0.0,
    safety: ArrayLike = 1.0,
    vertical: ArrayLike = STANDARD_GRAVITY,
) -> Array:
    """Acceleration along one axis of the base at which a free-standing load tips.

    a = g * (half base - offset) / (S * h)

    Parameters
    ----------
    centre_height : array_like, m
        Height h of the centre of gravity above the support; at 0 the load never tips.
    half_base : array_like, m
        Half the base along that axis; the radius of a round base.
    offset : array_like, m
        Distance of the centre of gravity from the base's centre along that axis, of either sign:
        a carrier both starts and brakes, so the shorter side counts. On a round base, in whichever
        direction.
    safety : array_like, dimensionless
        Safety against tipping, S.
    vertical : array_like, m/s²
        Acceleration that presses the load on its support, g.

    Returns
    -------
    ndarray, m/s²
        Along one axis of a rectangular base (ask once for each), or the resultant on a round one.
        0 if the centre of gravity stands on or beyond the edge, infinite at height 0.

    Raises
    ------
    ValueError
        If half_base, safety or vertical are not positive, centre_height is negative, or anything
        is not finite.

    Notes
    -----
    Equilibrium of moments about the edge for a rigid load that does not rock, exact for both axes
    of a rectangle at once. A load that only just lifts does not yet fall; that reserve is not
    counted. Moments of products of inertia in a yaw are left out: they vanish for a load with a
    vertical plane of symmetry along or across the travel.

    Examples
    --------
    A vehicle with its centre of gravity 1 m up and a track of 1.5 m turns over in a curve of 100 m
    at 27.12 m/s [1]_:

    >>> round(float((100 * tipping_acceleration(1.0, 0.75, vertical=9.81)) ** 0.5), 2)
    27.12

    References
    ----------
    .. [1] Tayal, Engineering Mechanics: Statics and Dynamics, example 15.20.
    """
    height = not_negative("centre height", centre_height) * positive("safety", safety)
    margin = np.maximum(
        positive("half base", half_base) - not_negative("offset", np.abs(offset)), 0.0
    )
    tips = (height > 0.0) | (margin <= 0.0)
    return np.where(
        tips, positive("vertical", vertical) * margin / np.where(height > 0.0, height, 1.0), np.inf
    )


def nest_tipping_acceleration(
    centre_height: ArrayLike,
    pocket: ArrayLike,
    half_base: ArrayLike,
    offset: ArrayLike = 0.0,
    safety: ArrayLike = 1.0,
    vertical: ArrayLike = STANDARD_GRAVITY,
) -> Array:
    """Acceleration along one axis of the base at which a load tips over the rim of its nest.

    a = g * (half base - offset) / (S * (h - d)),    infinite where d >= h

    Parameters
    ----------
    centre_height : array_like, m
        Height h of the centre of gravity above the floor of the nest.
    pocket : array_like, m
        Depth d of the nest: upright wall around the load, chamfers not counted; 0 for none.
    half_base, offset : array_like, m
        As for `tipping_acceleration`.
    safety : array_like, dimensionless
        Safety against tipping, S.
    vertical : array_like, m/s²
        Acceleration that presses the load on the floor of the nest, g.

    Returns
    -------
    ndarray, m/s²
        Infinite for a nest as deep as the centre of gravity is high: the wall then pushes where
        the load's inertia acts.

    Raises
    ------
    ValueError
        If half_base, safety or vertical are not positive, centre_height or pocket is negative, or
        anything is not finite.

    Notes
    -----
    Virtual work for a load with upright faces. The wall in front lets no point of the face below
    the rim go forward and the floor no point of the base go down, so the load can turn only about
    points at or above the rim and at or in front of the face; of these the rim itself asks for the
    least acceleration. Turning by a small angle the centre goes forward by (h - d) and up by the
    half base, each times the angle. Friction at wall and floor, and the wall behind, only help and
    are left out. The nest must bear the force; a load lifted out by vibration is not looked at.

    Examples
    --------
    A block 0.4 m high in all, its centre 0.2 m up on a base of 0.2 m, tips at g/2 on a flat floor
    and at g in a nest 0.1 m deep:

    >>> nest_tipping_acceleration(0.2, [0.0, 0.1, 0.2], 0.1, vertical=10.0)
    array([ 5., 10., inf])
    """
    lever = not_negative("centre height", centre_height) - not_negative("pocket", pocket)
    # A lever of a rounding error is none.
    lever = np.where(lever > 1e-12, lever, 0.0)
    return tipping_acceleration(lever, half_base, offset, safety, vertical)
