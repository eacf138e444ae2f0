"""The steps of a number: values that read well, from the least concession to its lax end."""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from recommender.explain.requirements import Change, Number

_ANOTHER_WAY: Final = 0.6
_NOTHING: Final = 2e-3
"""Share of what is asked below which only the lax end 0 is left."""


@dataclass(frozen=True)
class Concession:
    """One key of the case changed: text before and after.

    For a number also what is asked, the value after the change, and one a step short of it, SI.
    """

    key: str
    start: str
    to: str
    asked: float | None = None
    value: float | None = None
    short: float | None = None

    @property
    def effort(self) -> float:
        """How much it concedes: the logarithm by which a number changes.

        Another way to do things counts as much as a number that nearly doubles or halves.

        Examples
        --------
        >>> round(Concession("rate.items", "18/min", "9/min", 0.3, 0.15, 0.151).effort, 3)
        0.693
        """
        if self.asked is None or self.value is None:
            return _ANOTHER_WAY
        return abs(math.log(self.value / self.asked)) if self.value else math.inf


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


@dataclass(frozen=True)
class Steps:
    """The way of a number from what is asked, step -1, to its lax end, the ``last`` step.

    Steps are counted in whole numbers in the unit in which it is written, magnitudes without sign.
    ``finer`` divides them further.
    """

    number: Number
    finer: int = 1

    @property
    def fine(self) -> int:
        """How many steps the value is."""
        return round(self.finer / self.number.step)

    @cached_property
    def start(self) -> float:
        """What is asked."""
        return abs(self.number.start) * self.number.per_unit

    @cached_property
    def lax(self) -> float:
        """Where it asks for nothing more."""
        return abs(self.number.lax) * self.number.per_unit

    @property
    def sense(self) -> int:
        """1 if it is relaxed upwards, -1 if downwards."""
        return 1 if self.lax > self.start else -1

    @cached_property
    def _first(self) -> int:
        """The number of the sequence that is the first step."""
        rank = rank_below(self.start, self.fine)
        exact = round_number(rank, self.fine) >= self.start * (1.0 - 1e-9)
        return rank + 1 if self.sense > 0 else rank - exact

    @cached_property
    def last(self) -> int:
        """The step that is the lax end."""
        end = self.lax or _NOTHING * self.start
        rank = rank_below(end, self.fine)
        exact = round_number(rank, self.fine) >= end * (1.0 - 1e-9)
        between = rank - exact - self._first if self.sense > 0 else self._first - rank - 1
        return max(between + 1, 0) + (not self.lax and exact)

    def shown(self, step: int) -> float:
        """Magnitude of a step."""
        if step < 0:
            return self.start
        if step >= self.last:
            return self.lax
        return round_number(self._first + self.sense * step, self.fine)

    def step_at(self, shown: float) -> int:
        """The first step that concedes as much as a magnitude."""
        if not shown:
            return self.last
        rank = rank_below(shown, self.fine)
        if self.sense > 0 and round_number(rank, self.fine) < shown * (1.0 - 1e-9):
            rank += 1
        return min(max(self.sense * (rank - self._first), 0), self.last)

    def step_of(self, value: float) -> int:
        """The first step that concedes as much as an SI value."""
        return self.step_at(abs(value) * self.number.per_unit)

    def value(self, step: int) -> float:
        """SI value of a step."""
        sign = -1.0 if self.number.start < 0.0 else 1.0
        return sign * self.shown(step) / self.number.per_unit

    def change(self, step: int) -> Change:
        """The change to a step."""
        return self.number.at(self.value(step))

    def concession(self, step: int) -> Concession:
        """The concession to a step, beside which the one before it falls short."""
        number, value = self.number, self.value(step)
        return Concession(
            number.key,
            number.write(number.start),
            number.write(value),
            number.start,
            value,
            self.value(step - 1),
        )
