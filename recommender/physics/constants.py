"""Constants that every formula shares."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STANDARD_GRAVITY: Final = 9.80665
"""Acceleration of free fall, m/s², as fixed by the 3rd CGPM (1901) and ISO 80000-3."""
