"""The clothoid, the curve whose curvature grows with its length: transition of track and road.

Coordinates come from a power series in the angle θ = ℓ/(2·R) through which the clothoid turns,
which is the series of the Fresnel integrals with the root divided out.
"""

from math import factorial

import numpy as np

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
