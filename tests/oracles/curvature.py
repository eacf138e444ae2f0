"""Curvature of a bend: what the package's bends, given by lengths and places, are integrals of."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def curvature_at(
    distance: ArrayLike, radius: ArrayLike, transition: ArrayLike
) -> NDArray[np.float64]:
    """Curvature of the guide centre line along a 180° bend, 1/m.

    1/R on the arc, falling linearly to 0 over the clothoid at either end; 0 on the straights.
    Distances from the start of the bend, negative or beyond its length on the straights.

    R = 0.5 m, ℓ = 0.2 m; a quarter along the clothoid the curvature is a quarter of 2 per metre:

    >>> curvature_at([-0.1, 0.05, 0.2, 0.9, 3.0], 0.5, 0.2)
    array([0. , 0.5, 2. , 2. , 0. ])
    """
    distance, radius, transition = (np.asarray(v, float) for v in (distance, radius, transition))
    inside = np.minimum(distance, np.pi * radius + transition - distance)
    ramp = np.where(transition > 0.0, inside / np.where(transition > 0.0, transition, 1.0), 1.0)
    return np.where(inside >= 0.0, np.minimum(ramp, 1.0) / radius, 0.0)
