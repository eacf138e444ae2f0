"""Geometry of a 180° bend: its lengths on the guide line, and the room that carriers need in it.

The bend is a circular arc of radius R with a clothoid of length ℓ at either end, along which the
curvature rises in proportion to the distance: zero at the straight, 1/R at the arc. Distances,
speeds and R itself are measured on the guide centre line. Carriers turn toward −y, so that y > 0
is outward of the bend and y < 0 inward. A clothoid of length 0 gives a plain arc.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arc import arc_spacing, chord_inset
from recommender.physics.arguments import not_negative, positive
from recommender.physics.clothoid import clothoid_ratios
from recommender.physics.constants import Array


def _checked_bend(
    radius: ArrayLike, transition: ArrayLike, angle: Array | float = np.pi
) -> tuple[Array, Array]:
    radius = positive("radius", radius)
    transition = not_negative("transition", transition)
    if np.any(transition > radius * angle):
        raise ValueError("transition must not exceed radius times angle: no arc would be left")
    return radius, transition


def bend_length(radius: ArrayLike, transition: ArrayLike, angle: ArrayLike = np.pi) -> Array:
    """Length of a bend on the guide centre line, both clothoids included.

    R·Δ + ℓ: the clothoids, 2·ℓ long, turn through ℓ/R together and leave R·Δ − ℓ to the arc.

    Parameters
    ----------
    radius : array_like, m
        Radius of the arc.
    transition : array_like, m
        Length of one clothoid, at most R·Δ.
    angle : array_like, rad
        Deflection Δ; a loop's bend has π.

    Returns
    -------
    ndarray, m

    Raises
    ------
    ValueError
        If the radius is not positive, the transition negative or too long, or one not finite.

    Examples
    --------
    Deflection 60°, R = 402.71 m, ℓ = 90.83 m: [1]_ finds an arc of 330.887 m between the two
    clothoids, 512.55 m in all (p. 388):

    >>> round(float(bend_length(402.71, 90.83, np.pi / 3)), 2)
    512.55

    References
    ----------
    .. [1] N. N. Basak, Surveying and Levelling, Tata McGraw-Hill, 1994, chapter 10, p. 388.
    """
    angle = positive("angle", angle)
    radius, transition = _checked_bend(radius, transition, angle)
    return radius * angle + transition


def bend_width(radius: ArrayLike, transition: ArrayLike) -> Array:
    """Distance between the centre lines of the two straights that a 180° bend joins.

    W = 2·(y + R·cosθ), (x, y) the end of the clothoid and θ the angle there. It exceeds 2·R by
    twice the shift of the arc, about ℓ²/(12·R).

    Parameters
    ----------
    radius : array_like, m
        Radius of the arc.
    transition : array_like, m
        Length of one clothoid, at most π·R.

    Returns
    -------
    ndarray, m

    Raises
    ------
    ValueError
        If the radius is not positive, the transition negative or above π·R, or one not finite.

    Examples
    --------
    R = 402.71 m and ℓ = 90.83 m shift the arc by 0.8537 m in [1]_ (p. 388, by the first term
    ℓ²/(24·R); exactly 0.8532 m):

    >>> round(float(bend_width(402.71, 90.83)) / 2 - 402.71, 3)
    0.853

    References
    ----------
    .. [1] N. N. Basak, Surveying and Levelling, Tata McGraw-Hill, 1994, chapter 10, p. 388.
    """
    radius, transition = _checked_bend(radius, transition)
    angle = transition / (2.0 * radius)
    return 2.0 * (transition * clothoid_ratios(angle)[1] + radius * np.cos(angle))


def bend_depth(radius: ArrayLike, transition: ArrayLike) -> Array:
    """How far the guide centre line of a 180° bend reaches beyond the end of the straight.

    x − R·sinθ + R, (x, y) the end of the clothoid and θ the angle there: R plus about ℓ/2.

    Parameters
    ----------
    radius : array_like, m
        Radius of the arc.
    transition : array_like, m
        Length of one clothoid, at most π·R.

    Returns
    -------
    ndarray, m

    Raises
    ------
    ValueError
        If the radius is not positive, the transition negative or above π·R, or one not finite.

    Examples
    --------
    Two clothoids alone, R = 1/π m and ℓ = 1 m, meet where the bend has turned 90°: its depth is
    the Fresnel integral C(1), 0.7798934 in [1]_.

    >>> round(float(bend_depth(1 / np.pi, 1.0)), 7)
    0.7798934

    References
    ----------
    .. [1] M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, National Bureau of
       Standards, 1964, table 7.7.
    """
    radius, transition = _checked_bend(radius, transition)
    angle = transition / (2.0 * radius)
    return transition * clothoid_ratios(angle)[0] + radius * (1.0 - np.sin(angle))


def bend_spacing(
    spacing: ArrayLike,
    radius: ArrayLike,
    reach_inward: ArrayLike,
    length: ArrayLike,
    base: ArrayLike = 0.0,
) -> Array:
    """Least spacing on the guide line that two carriers need anywhere in a bend.

    The largest of three: the spacing on a straight; that spacing grown by R/(R − inset + y),
    because inner edges travel on a smaller circle; and `arc_spacing`, which counts the corners.
    The second covers a pair of which one carrier is still on the straight or on the clothoid: its
    leader has turned already, which `arc_spacing` alone misses by up to 1 %. Loads that overhang
    outward alone spread in a bend and need no more than on a straight.

    Parameters
    ----------
    spacing : array_like, m
        Least spacing on a straight: the length and the gap to be kept.
    radius : array_like, m
        Radius of the arc.
    reach_inward : array_like, m
        y of the body's inner edge, negative if inward of the guide line. With several bodies on
        a carrier (plate, load) take each with its own length and spacing, then the largest.
    length : array_like, m
        Length of the body along travel, positive; twice the longer half if it is not centred.
    base : array_like, m
        Distance between the carrier's guided points: wheelbase, or coupling distance of a pair.

    Returns
    -------
    ndarray, m
        ``inf`` where no spacing will do.

    Raises
    ------
    ValueError
        If the radius or the length is not positive, the base negative, the spacing below the
        length, or an argument not finite.

    Notes
    -----
    Sampled on 3,000 bends and bodies (length up to 1.3·R, base up to R, inner edge down to 0.7·R
    inward, clothoids of 0 to 2.5·R, gap up to 0.15·R): the gap is kept everywhere; gaps up to 0.8·R
    to 0.1 %. The spacing is 2 % above the least one possible at the median, 14 % at the 90th
    percentile, 77 % for long bodies whose inner edge comes near the bend's centre.

    The spacing holds on `bend_stretch`, somewhat more than the bend itself.

    Examples
    --------
    Two rectangles of 0.4 m, 0.1 m inward of an arc of 0.5 m, 0.45 m apart on the straight: on the
    smaller circle of 0.4 m they need 0.45·0.5/0.4; outward they keep their spacing.

    >>> bend_spacing(0.45, 0.5, [-0.1, 0.05], 0.4).round(4)
    array([0.5625, 0.45  ])
    """
    exact = arc_spacing(spacing, radius, reach_inward, length, base)
    radius = np.asarray(radius, dtype=np.float64)
    spacing = np.asarray(spacing, dtype=np.float64)
    inner = radius - chord_inset(radius, base) + np.asarray(reach_inward, dtype=np.float64)
    growth = np.maximum(radius / np.where(inner > 0.0, inner, radius), 1.0)
    return np.asarray(np.maximum(spacing * growth, exact))


def bend_stretch(
    radius: ArrayLike, transition: ArrayLike, length: ArrayLike, base: ArrayLike = 0.0
) -> Array:
    """Length of guide line on which carriers need the spacing of the bend.

    π·R + ℓ + max(length, base): half a carrier beyond either end, where its front or its leading
    axle is in the bend already. A pair partly on this stretch needs the two spacings in
    proportion: its distance divided by the spacing that holds where it lies adds up to 1.

    Parameters
    ----------
    radius : array_like, m
        Radius of the arc.
    transition : array_like, m
        Length of one clothoid, at most π·R.
    length : array_like, m
        Length of the longest body of a carrier along travel.
    base : array_like, m
        Distance between the carrier's guided points.

    Returns
    -------
    ndarray, m

    Raises
    ------
    ValueError
        If the radius is not positive, an argument negative or not finite, or the transition
        above π·R.

    Examples
    --------
    >>> round(float(bend_stretch(0.5, 0.2, 0.4, 0.3)), 4)
    2.1708
    """
    longest = np.maximum(not_negative("length", length), not_negative("base", base))
    return bend_length(radius, transition) + longest
