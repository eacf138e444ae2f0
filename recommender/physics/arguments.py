"""Checks of arguments that the formulas share: cheap, on whole arrays, NaN refused."""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.constants import Array


def positive(name: str, value: ArrayLike, *, unlimited: bool = False) -> Array:
    """Return the value as an array, or raise ValueError unless all of it is above 0.

    Infinity is refused as well, unless `unlimited`.

    >>> positive("radius", [1.0, float("inf")], unlimited=True)
    array([ 1., inf])
    >>> positive("mass", float("nan"))
    Traceback (most recent call last):
    ValueError: mass must be positive and finite
    """
    array = np.asarray(value, dtype=np.float64)
    # Written so that NaN, which fails every comparison, is refused too.
    if not np.all(array > 0.0 if unlimited else (array > 0.0) & (array < np.inf)):
        raise ValueError(f"{name} must be positive{'' if unlimited else ' and finite'}")
    return array


def not_negative(name: str, value: ArrayLike, *, unlimited: bool = False) -> Array:
    """Return the value as an array, or raise ValueError unless all of it is 0 or more.

    Infinity is refused as well, unless `unlimited`.
    """
    array = np.asarray(value, dtype=np.float64)
    if not np.all(array >= 0.0 if unlimited else (array >= 0.0) & (array < np.inf)):
        raise ValueError(f"{name} must be zero or more{'' if unlimited else ' and finite'}")
    return array


def finite(name: str, value: ArrayLike) -> Array:
    """Return the value as an array, or raise ValueError unless all of it is finite."""
    array = np.asarray(value, dtype=np.float64)
    if not np.all(np.isfinite(array)):
        raise ValueError(f"{name} must be finite")
    return array


def counts(name: str, value: ArrayLike) -> Array:
    """Return the value as an array, or raise ValueError unless all are whole numbers above 0."""
    array = positive(name, value)
    if np.any(array != np.floor(array)):
        raise ValueError(f"{name} must be whole numbers")
    return array
