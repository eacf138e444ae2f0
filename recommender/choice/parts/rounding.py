"""The one place where quantities become whole numbers, always to the safe side.

Demands go up and capacities down, in steps of a milliwatt and a micrometre. A demand that exceeds
its step by no more than the rounding of its own floating-point sum stays on the step.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

_STEPS_PER_UNIT = {"power": 1e3, "length": 1e6}
_NOISE = 1e-6


def demand(value: ArrayLike, kind: str) -> NDArray[np.int64]:
    """Whole steps that cover a demand.

    Examples
    --------
    >>> demand(12.0001, "power").item()
    12001
    """
    steps = np.asarray(value, dtype=np.float64) * _STEPS_PER_UNIT[kind]
    return np.ceil(steps - _NOISE).astype(np.int64)


def capacity(value: ArrayLike, kind: str) -> NDArray[np.int64]:
    """Whole steps that a capacity surely has.

    Examples
    --------
    >>> capacity(12.0009, "power").item()
    12000
    """
    steps = np.asarray(value, dtype=np.float64) * _STEPS_PER_UNIT[kind]
    return np.floor(steps + _NOISE).astype(np.int64)
