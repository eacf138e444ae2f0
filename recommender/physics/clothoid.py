"""The clothoid, the curve whose curvature grows with its length: transition of track and road.

Coordinates come from a power series in the angle θ = ℓ/(2·R) through which the clothoid turns,
which is the series of the Fresnel integrals with the root divided out.
"""

from math import factorial

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import Array

_TERMS = 21
"""Terms of the power series: the next one is below 1e-16 up to an angle of 2π."""

_ALONG = [(-1) ** n / ((4 * n + 1) * factorial(2 * n)) for n in range(_TERMS)]
_ASIDE = [(-1) ** n / ((4 * n + 3) * factorial(2 * n + 1)) for n in range(_TERMS)]


def clothoid_ratios(angle: Array) -> tuple[Array, Array]:
    """Coordinates of a clothoid's end, along and aside of its start tangent, over its length.

    x/ℓ = Σ (−1)^n·θ^(2n)/((4n+1)·(2n)!), y/ℓ = Σ (−1)^n·θ^(2n+1)/((4n+3)·(2n+1)!); θ up to 2π
    in rad, unchecked.

    Examples
    --------
    >>> along, aside = clothoid_ratios(np.asarray(0.0))
    >>> float(along), float(aside)
    (1.0, 0.0)
    """
    square = np.square(angle)
    along = np.full_like(square, _ALONG[-1])
    aside = np.full_like(square, _ASIDE[-1])
    for term_along, term_aside in zip(_ALONG[-2::-1], _ASIDE[-2::-1], strict=True):
        along = along * square + term_along
        aside = aside * square + term_aside
    return along, aside * angle


def transition_angle(radius: ArrayLike, transition: ArrayLike) -> Array:
    """Angle through which a clothoid turns.

    θ = ℓ/(2·R), the mean curvature times the length.

    Parameters
    ----------
    radius : array_like, m
        Radius at the end of the clothoid.
    transition : array_like, m
        Its length.

    Returns
    -------
    ndarray, rad

    Raises
    ------
    ValueError
        If the radius is not positive, the length negative, or one of them not finite.

    Examples
    --------
    A clothoid of 90.83 m onto a radius of 402.71 m turns 6.4616° (chapter 10 of [1]_, p. 388):

    >>> round(float(np.degrees(transition_angle(402.71, 90.83))), 3)
    6.461

    References
    ----------
    .. [1] N. N. Basak, Surveying and Levelling, Tata McGraw-Hill, 1994, chapter 10, p. 388 (in
       print from unrounded figures).
    """
    return not_negative("transition", transition) / (2.0 * positive("radius", radius))


def transition_end(radius: ArrayLike, transition: ArrayLike) -> tuple[Array, Array]:
    """Where a clothoid ends, seen from the end of the straight.

    x = √(π·R·ℓ)·C(t), y = √(π·R·ℓ)·S(t) with t = √(ℓ/(π·R)), evaluated as the power series in
    θ = ℓ/(2·R) that is left when the root is divided out, so that ℓ = 0 is no special case.

    Parameters
    ----------
    radius : array_like, m
        Radius at the end of the clothoid.
    transition : array_like, m
        Its length, at most 4·π·R (a full circle).

    Returns
    -------
    along, aside : ndarray, m
        Distance in the direction of the straight, and off its line toward the bend's centre.

    Raises
    ------
    ValueError
        If the radius is not positive, the length negative or above 4·π·R, or one not finite.

    Examples
    --------
    With R = 1/π m and ℓ = 1 m both t and √(π·R·ℓ) are 1: the coordinates are C(1) = 0.7798934 and
    S(1) = 0.4382591 of table 7.7 in [1]_.

    >>> along, aside = transition_end(1 / np.pi, 1.0)
    >>> round(float(along), 7), round(float(aside), 7)
    (0.7798934, 0.4382591)

    References
    ----------
    .. [1] M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, National Bureau of
       Standards, 1964, section 7.3 and table 7.7.
    """
    transition = not_negative("transition", transition)
    angle = transition_angle(radius, transition)
    if np.any(angle > 2.0 * np.pi):
        raise ValueError("transition must not turn by more than a full circle")
    along, aside = clothoid_ratios(angle)
    return transition * along, transition * aside
