"""Carriers on a circular arc: how far a chord-guided body runs inside, and what two of them need.

Carriers turn toward −y, so that y > 0 is outward of the arc and y < 0 inward. Radius and spacing
are measured on the guide centre line.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, positive
from recommender.physics.constants import Array


def chord_inset(radius: ArrayLike, base: ArrayLike) -> Array:
    """How far inside the guide centre line the middle of a chord-guided body runs on the arc.

    R·(1 − cosβ), β = asin(base/(2·R)): both guided points of a carrier (its axles, or the trucks
    of a pair) stay on the guide line, and the point midway between them cuts the corner.

    Parameters
    ----------
    radius : array_like, m
        Radius of the arc.
    base : array_like, m
        Distance between the guided points: wheelbase, or the coupling distance of a pair.

    Returns
    -------
    ndarray, m
        ``inf`` where the base exceeds 2·R and cannot lie on the arc.

    Raises
    ------
    ValueError
        If the radius is not positive, the base negative, or one not finite.

    Examples
    --------
    The sagitta of a chord of 0.6 m in a circle of radius 0.5 m, a 3-4-5 triangle:

    >>> round(float(chord_inset(0.5, 0.6)), 12)
    0.1
    """
    radius = positive("radius", radius)
    half = not_negative("base", base) / 2.0
    left = np.square(radius) - np.square(half)
    return np.asarray(np.where(left >= 0.0, radius - np.sqrt(np.maximum(left, 0.0)), np.inf))


def arc_spacing(
    spacing: ArrayLike,
    radius: ArrayLike,
    reach_inward: ArrayLike,
    length: ArrayLike,
    base: ArrayLike = 0.0,
) -> Array:
    """Distance on the guide line at which two carriers on the arc keep the gap between them.

    Exact for rectangles. The two carriers mirror each other in the bend's radius midway between
    them, half the angle φ from either. The corner nearest that line is the inner one facing it:
    a = R − inset + y from the bend's centre along the carrier's own radius, and half the length
    off it. Twice its distance from the line, a·sin(φ/2) − (length/2)·cos(φ/2), is the gap, so

    p = R·φ = 2·R·[atan(length/(2·a)) + asin(gap/(2·√(a² + length²/4)))]

    Parameters
    ----------
    spacing : array_like, m
        Least spacing on a straight: the length and the gap to be kept.
    radius : array_like, m
        Radius of the arc.
    reach_inward : array_like, m
        y of the body's inner edge, negative if inward of the guide line.
    length : array_like, m
        Length of the body along travel, positive; twice the longer half if it is not centred.
    base : array_like, m
        Distance between the carrier's guided points (`chord_inset`).

    Returns
    -------
    ndarray, m
        ``inf`` where no spacing will do: the inner edge reaches the bend's centre, the base
        exceeds 2·R, or the carriers would have to stand more than half a turn apart.

    Raises
    ------
    ValueError
        If the radius or the length is not positive, the base negative, the spacing below the
        length, or an argument not finite.

    Examples
    --------
    Bodies 0.3 m long whose inner edges run 0.2 m from the centre of an arc of 0.5 m: a corner
    lies hypot(0.2, 0.15) = 0.25 m from the centre, 36.87° ahead of its carrier. A gap of 0.25 m,
    seen from there, takes 2·asin(0.125/0.25) = 60° more: 133.74° in all.

    >>> round(float(arc_spacing(0.55, 0.5, -0.3, 0.3)), 4)
    1.1671
    """
    radius = positive("radius", radius)
    length = positive("length", length)
    gap = finite("spacing", spacing) - length
    if np.any(gap < 0.0):
        raise ValueError("spacing must not be less than the length")
    inner = radius - chord_inset(radius, base) + finite("reach_inward", reach_inward)
    possible = inner > 0.0
    inner = np.where(possible, inner, 1.0)
    corner = np.hypot(inner, length / 2.0)
    possible = possible & (gap <= 2.0 * corner)
    half_angle = np.arctan2(length / 2.0, inner) + np.arcsin(
        np.where(possible, gap / (2.0 * corner), 0.0)
    )
    possible = possible & (half_angle <= np.pi / 2.0)
    return np.asarray(np.where(possible, 2.0 * radius * half_angle, np.inf))
