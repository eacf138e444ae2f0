"""Room that plate and load sweep round a 180° bend: across the loop, and beyond its straights.

The body lies on the chord between its two guided points, which both run on the guide centre line.
On each stretch of the bend a corner reaches A·cosφ + B·sinφ far, φ the angle that the chord has
turned; that is greatest where φ is the angle of the vector (A, B), or at an end of the stretch.

Three facts about a line whose curvature is 1/R at most bound where a guided point is when the
chord has turned by φ (β = asin(base/(2·R)), θ = ℓ/(2·R) turned by one clothoid):

- The tangent at either guided point differs from the chord by β at most, because the line keeps
  outside the circles of radius R that touch it.
- Where the line has turned by ψ up to the tip of the bend, it reaches beyond the straight no
  further than the circle of the arc would, c + R·sinψ, c from the end of the straight to the arc's
  centre; on the arc just as far.
- There it lies across from the arc's centre by R·cosψ on the arc, and on the clothoid by more, but
  by no more than the shift of the arc.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, positive
from recommender.physics.bend import bend_depth, bend_width
from recommender.physics.constants import Array

_QUARTER = 0.5 * np.pi


def sweep_across(
    radius: ArrayLike,
    transition: ArrayLike,
    outward: ArrayLike,
    half_length: ArrayLike,
    base: ArrayLike = 0.0,
) -> Array:
    """How far outward of a straight's centre line a body sweeps, bends included.

    The rear corner is the outermost. It is (half − base/2)·sinφ + y·cosφ further out than the rear
    guided point, which is still on the straight up to φ = β at most, then on the clothoid up to
    θ + β, then on the arc, where the corner runs on a circle of radius
    √((R·cosβ + y)² + half²) about a centre on the loop's middle line.

    Parameters
    ----------
    radius : array_like, m
        Radius of the arc.
    transition : array_like, m
        Length of one clothoid, at most π·R.
    outward : array_like, m
        y of the body's outer edge.
    half_length : array_like, m
        Half the length along travel; the longer half if the body is not centred.
    base : array_like, m
        Distance between the carrier's guided points: wheelbase, or coupling distance of a pair.

    Returns
    -------
    ndarray, m
        Added twice to `bend_width` it is the floor across the loop. Exact on plain arcs, never too
        small on eased bends; ``inf`` where the base exceeds 2·R and cannot lie on the arc.

    Raises
    ------
    ValueError
        If the radius is not positive, the transition negative or above π·R, the half length or the
        base negative, or an argument not finite.

    Examples
    --------
    R = 0.5 m and no base: the corner 0.1 m out and 0.25 m behind runs on a circle of
    hypot(0.6, 0.25) = 0.65 m. With guided points 0.6 m apart, a 3-4-5 triangle, the circle is
    hypot(0.4 + 0.1, 0.25) = 0.559 m, and the corner, inside the base, is outermost on the straight:

    >>> sweep_across(0.5, 0.0, 0.1, 0.25, [0.0, 0.6]).round(12)
    array([0.15, 0.1 ])

    References
    ----------
    No published source: derived from the facts above, and compared with bodies that are traced
    through their bends in `tests/evidence/test_sweep_against_tracing.py`.
    """
    radius, turned, beta, fits = _turning(radius, transition, base)
    outward, half = finite("outward", outward), not_negative("half_length", half_length)
    middle, ahead = radius * np.cos(beta), half - radius * np.sin(beta)
    half_width = 0.5 * bend_width(radius, transition)
    shift = half_width - radius
    sides = (middle + outward, half)
    on_straight = half_width + _greatest(outward, ahead, 0.0, beta)
    on_clothoid = shift + _greatest(*sides, beta, turned + beta)
    on_arc = _greatest(*sides, turned, np.pi - turned)
    reach = np.maximum(on_straight, np.maximum(on_clothoid, on_arc)) - half_width
    return np.where(fits, reach, np.inf)


def sweep_beyond(
    radius: ArrayLike,
    transition: ArrayLike,
    outward: ArrayLike,
    half_length: ArrayLike,
    base: ArrayLike = 0.0,
) -> Array:
    """How far beyond the end of the straights a body sweeps in a 180° bend.

    The front corner is the outermost up to the tip of the bend, and behind it the rear one by
    symmetry. It is (half − base/2)·cosφ + y·sinφ further than the front guided point, which reaches
    c + R·sin(φ + β) at most, c = depth − R, before it passes the tip itself. So the corner keeps
    within c + √((R·cosβ + y)² + half²), as on the arc. Only where the front guided point may be
    past the tip while the rear one is still on the clothoid, φ from π/2 − β to θ + β, nothing
    closer is known of it than that it keeps within the depth.

    Parameters
    ----------
    radius : array_like, m
        Radius of the arc.
    transition : array_like, m
        Length of one clothoid, at most π·R.
    outward : array_like, m
        y of the body's outer edge.
    half_length : array_like, m
        Half the length along travel; the longer half if the body is not centred.
    base : array_like, m
        Distance between the carrier's guided points: wheelbase, or coupling distance of a pair.

    Returns
    -------
    ndarray, m
        Never too small. Exact where the corner is outermost with the whole base on the arc;
        ``inf`` where the base exceeds 2·R and cannot lie on the arc.

    Raises
    ------
    ValueError
        If the radius is not positive, the transition negative or above π·R, the half length or the
        base negative, or an argument not finite.

    Examples
    --------
    R = 0.5 m and no base: the corner 0.1 m out and 0.25 m ahead runs on a circle of
    hypot(0.6, 0.25) = 0.65 m about a centre at the end of the straight; with guided points 0.28 m
    apart, a 7-24-25 triangle, on one of hypot(0.48 + 0.12, 0.25):

    >>> sweep_beyond(0.5, 0.0, [0.1, 0.12], 0.25, [0.0, 0.28]).round(12)
    array([0.65, 0.65])

    References
    ----------
    No published source: derived from the facts above, and compared with bodies that are traced
    through their bends in `tests/evidence/test_sweep_against_tracing.py`.
    """
    radius, turned, beta, fits = _turning(radius, transition, base)
    outward, half = finite("outward", outward), not_negative("half_length", half_length)
    middle, ahead = radius * np.cos(beta), half - radius * np.sin(beta)
    depth = bend_depth(radius, transition)
    on_arc = depth - radius + _greatest(half, middle + outward, 0.0, _QUARTER)
    first, last = _QUARTER - beta, np.minimum(turned + beta, _QUARTER)
    past_tip = depth + _greatest(ahead, outward, first, np.maximum(first, last))
    reach = np.where(last > first, np.maximum(on_arc, past_tip), on_arc)
    return np.where(fits, reach, np.inf)


def _turning(
    radius: ArrayLike, transition: ArrayLike, base: ArrayLike
) -> tuple[Array, Array, Array, Array]:
    """Radius, θ, β, and whether the base can lie on the arc."""
    radius = positive("radius", radius)
    turned = not_negative("transition", transition) / (2.0 * radius)
    half = 0.5 * not_negative("base", base)
    return radius, turned, np.arcsin(np.minimum(half / radius, 1.0)), np.asarray(half <= radius)


def _greatest(cosine: Array, sine: Array, first: Array | float, last: Array | float) -> Array:
    """Greatest value of cosine·cosφ + sine·sinφ for φ from ``first`` to ``last``, within 0 to π."""
    ends = [cosine * np.cos(end) + sine * np.sin(end) for end in (first, last)]
    peak = np.arctan2(sine, cosine)
    inside = (peak >= first) & (peak <= last)
    return np.asarray(np.where(inside, np.hypot(cosine, sine), np.maximum(*ends)))
