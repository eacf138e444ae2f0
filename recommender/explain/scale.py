"""A number of the case as people write it: magnitudes in its unit, and steps that read well."""

import math
from dataclasses import dataclass
from functools import cached_property

from recommender.explain.requirements import Change, Number

_ANOTHER_WAY = 0.6


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


@dataclass(frozen=True)
class Scale:
    """The way of a number from what is asked to its lax end, as magnitudes in its unit."""

    number: Number

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

    @property
    def _sign(self) -> float:
        return -1.0 if self.number.start < 0.0 else 1.0

    def si(self, shown: float) -> float:
        """SI value of a magnitude."""
        return self._sign * shown / self.number.per_unit

    def shown(self, si: float) -> float:
        """Magnitude of an SI value."""
        return self._sign * si * self.number.per_unit

    def change(self, shown: float) -> Change:
        """The change to a magnitude."""
        return self.number.at(self.si(shown))

    def concession(self, shown: float, short: float) -> Concession:
        """The concession to a value that works, beside one a step less conceding."""
        number = self.number
        return Concession(
            number.key,
            number.write(number.start),
            number.write(self.si(shown)),
            number.start,
            self.si(shown),
            self.si(short),
        )

    def concedes_more(self, one: float, other: float) -> bool:
        """Whether one magnitude lies beyond another, towards the lax end."""
        return self.sense * (one - other) > 0.0

    def within(self, shown: float) -> float:
        """The magnitude, or the lax end if that concedes less."""
        return min(shown, self.lax) if self.sense > 0 else max(shown, self.lax)

    def steps(self, shown: float, share: float) -> "Steps":
        """Steps that are no larger than a share of a magnitude."""
        return Steps(self, decimal_step(shown, share))


def decimal_step(shown: float, share: float) -> float:
    """The largest of 1, 2 and 5 times a power of ten within a share of a value.

    Examples
    --------
    >>> decimal_step(118.0, 0.01), decimal_step(0.35, 0.01)
    (1.0, 0.002)
    """
    most = share * shown * (1.0 + 1e-9)
    power = float(10.0 ** math.floor(math.log10(most)))
    return max(factor * power for factor in (1.0, 2.0, 5.0) if factor * power <= most)


@dataclass(frozen=True)
class Steps:
    """Whole decimal steps along a scale, counted from zero."""

    scale: Scale
    size: float

    def value(self, count: int) -> float:
        """Magnitude of so many steps, but not beyond the lax end."""
        # Steps are decimal, so this leaves no trace of binary fractions.
        return self.scale.within(float(f"{count * self.size:.12g}"))

    def outward(self, shown: float) -> int:
        """Steps at a magnitude or beyond it, towards the lax end."""
        return -self._floor(-shown) if self.scale.sense > 0 else self._floor(shown)

    def inward(self, shown: float) -> int:
        """Steps at a magnitude or before it, towards what is asked."""
        return self._floor(shown) if self.scale.sense > 0 else -self._floor(-shown)

    def _floor(self, shown: float) -> int:
        return math.floor(shown / self.size + 1e-9)

    def concedes(self, count: int) -> bool:
        """Whether so many steps concede anything."""
        return self.scale.concedes_more(count * self.size, self.scale.start * (1.0 + 1e-12))

    def short(self, count: int) -> float:
        """Magnitude of so many steps, or what is asked if that concedes more."""
        return self.value(count) if self.concedes(count) else self.scale.start
