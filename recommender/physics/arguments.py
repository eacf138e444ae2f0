"""Checks of arguments that the formulas share: cheap, on whole arrays, NaN refused.

Inside a decision the same numbers go through formula after formula, checked at the door. There
`trusted` leaves the checks out, which are a seventh of the whole time.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.constants import Array

# Comparisons are written so that NaN, which fails every one of them, is refused too. Plain numbers
# are compared as such, and the methods of an array are called rather than numpy's functions of the
# same name: these checks would else be a fifth of a short calculation.


_TRUSTED: ContextVar[bool] = ContextVar("trusted", default=False)


@contextmanager
def trusted() -> Iterator[None]:
    """Take the arguments of all formulas as they are, as long as it lasts."""
    token = _TRUSTED.set(True)
    try:
        yield
    finally:
        _TRUSTED.reset(token)


def positive(name: str, value: ArrayLike, *, unlimited: bool = False) -> Array:
    """Return the value as an array, or raise ValueError unless all of it is above 0.

    Infinity is refused as well, unless `unlimited`.

    >>> positive("radius", [1.0, float("inf")], unlimited=True)
    array([ 1., inf])
    >>> positive("mass", float("nan"))
    Traceback (most recent call last):
    ValueError: mass must be positive and finite
    """
    if isinstance(value, float) and 0.0 < value < np.inf:
        return np.asarray(value)
    array = np.asarray(value, dtype=np.float64)
    if _TRUSTED.get():
        return array
    if not (array > 0.0).all() or not (unlimited or (array < np.inf).all()):
        raise ValueError(f"{name} must be positive{'' if unlimited else ' and finite'}")
    return array


def not_negative(name: str, value: ArrayLike) -> Array:
    """Return the value as an array, or raise ValueError unless all of it is 0 or more and finite.

    >>> not_negative("mass", -1.0)
    Traceback (most recent call last):
    ValueError: mass must be zero or more and finite
    """
    if isinstance(value, float) and 0.0 <= value < np.inf:
        return np.asarray(value)
    array = np.asarray(value, dtype=np.float64)
    if _TRUSTED.get():
        return array
    if not ((array >= 0.0) & (array < np.inf)).all():
        raise ValueError(f"{name} must be zero or more and finite")
    return array


def finite(name: str, value: ArrayLike) -> Array:
    """Return the value as an array, or raise ValueError unless all of it is finite.

    >>> finite("reach", [-0.1, 0.2])
    array([-0.1,  0.2])
    """
    array = np.asarray(value, dtype=np.float64)
    if not _TRUSTED.get() and not np.isfinite(array).all():
        raise ValueError(f"{name} must be finite")
    return array


def counts(name: str, value: ArrayLike) -> Array:
    """Return the value as an array, or raise ValueError unless all are whole numbers above 0."""
    array = positive(name, value)
    if not _TRUSTED.get() and (array != np.floor(array)).any():
        raise ValueError(f"{name} must be whole numbers")
    return array


def path_radius(value: ArrayLike) -> Array:
    """A radius as an array, infinite on a straight; ValueError unless above zero.

    >>> path_radius([0.5, np.inf])
    array([0.5, inf])
    """
    array = np.asarray(value, dtype=np.float64)
    if not _TRUSTED.get() and not (array > 0.0).all():
        raise ValueError("radius must be positive (infinite on a straight)")
    return array


def vectors(name: str, value: ArrayLike, components: int) -> Array:
    """The value as finite vectors along the last dimension; ValueError if that has another size.

    >>> vectors("centre", [0.0, 0.2], 3)
    Traceback (most recent call last):
    ValueError: centre must have 3 components in its last dimension
    """
    array = finite(name, value)
    if _TRUSTED.get():
        return array
    if array.ndim == 0 or array.shape[-1] != components:
        raise ValueError(f"{name} must have {components} components in its last dimension")
    return array
