"""Arguments of the load formulas, as arrays, refused if they cannot be what they stand for."""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.constants import Array


def finite(name: str, value: ArrayLike) -> Array:
    """`value` as an array of either sign; ValueError unless finite.

    >>> finite("reach", [-0.1, 0.2])
    array([-0.1,  0.2])
    """
    array = np.asarray(value, dtype=np.float64)
    if not np.isfinite(array).all():
        raise ValueError(f"{name} must be finite")
    return array


def not_negative(name: str, value: ArrayLike) -> Array:
    """`value` as an array; ValueError unless finite and zero or more.

    >>> not_negative("mass", float("nan"))
    Traceback (most recent call last):
    ValueError: mass must be finite
    """
    array = finite(name, value)
    if not (array >= 0).all():
        raise ValueError(f"{name} must not be negative")
    return array


def positive(name: str, value: ArrayLike) -> Array:
    """`value` as an array; ValueError unless finite and above zero.

    >>> positive("gauge", 0.0)
    Traceback (most recent call last):
    ValueError: gauge must be positive
    """
    array = finite(name, value)
    if not (array > 0).all():
        raise ValueError(f"{name} must be positive")
    return array


def path_radius(value: ArrayLike) -> Array:
    """A radius as an array, infinite on a straight; ValueError unless above zero.

    >>> path_radius([0.5, np.inf])
    array([0.5, inf])
    """
    array = np.asarray(value, dtype=np.float64)
    if not (array > 0).all():
        raise ValueError("radius must be positive (infinite on a straight)")
    return array


def vectors(name: str, value: ArrayLike, components: int) -> Array:
    """`value` as finite vectors along the last dimension; ValueError if that has another size.

    >>> vectors("centre", [0.0, 0.2], 3)
    Traceback (most recent call last):
    ValueError: centre must have 3 components in its last dimension
    """
    array = finite(name, value)
    if array.ndim == 0 or array.shape[-1] != components:
        raise ValueError(f"{name} must have {components} components in its last dimension")
    return array
