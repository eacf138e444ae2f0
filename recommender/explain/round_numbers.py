"""Round numbers: a sequence of values that read well, as close to each other as is asked."""

import math
from typing import Final

_PARTS: Final = ((1, 1.0), (2, 1.5), (5, 1.0))
"""Where the steps of a decade grow, to as many times the first, and how many lie between."""


def round_number(rank: int, fine: int) -> float:
    """A number of a sequence whose steps are 1, 2 and 5 times a power of ten; 1 is number 0.

    Parameters
    ----------
    rank : int
    fine : int
        How many steps 1 is; a step is no larger than that part of the value, and no less than two
        fifths of it.

    Examples
    --------
    >>> [round_number(rank, 100) for rank in (0, 1, 100, 101, 250, 251, 350, -1)]
    [1.0, 1.01, 2.0, 2.02, 5.0, 5.05, 10.0, 0.995]
    """
    decade, place = divmod(rank, 7 * fine // 2)
    first = 1
    for grown, share in _PARTS:
        first = grown
        if place <= share * fine:
            break
        place -= int(share * fine)
    # Written and read, so that it has no trace of binary fractions.
    return float(f"{first + first * place / fine:.12g}e{decade}")


def rank_below(value: float, fine: int) -> int:
    """The last number of the sequence that is not greater than a value.

    Examples
    --------
    >>> rank_below(2.03, 100), rank_below(2.02, 100), rank_below(0.35, 100)
    (101, 101, -175)
    """
    decade = math.floor(math.log10(value) + 1e-12)
    left, place = value / 10.0**decade, 0.0
    for (first, share), end in zip(_PARTS, (2.0, 5.0, 10.0), strict=True):
        place += min(max((left - first) / first, 0.0), share) * fine
        if left < end:
            break
    return decade * (7 * fine // 2) + math.floor(place + 1e-6)
