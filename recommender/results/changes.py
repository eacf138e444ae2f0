"""What moved between two answers: one frozen value, as views and JSON have it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from recommender.results.answer import CatalogueMark

CHANGED_SCHEMA: Final = "recommender.changed/1"


@dataclass(frozen=True)
class Side:
    """One of the two answers: what was recommended, for how much, by which version and prices."""

    title: str
    recommended: str | None
    price: Decimal | None
    currency: str
    catalogue: CatalogueMark
    program: str


@dataclass(frozen=True)
class InputChange:
    """A key of the case with both values as text; empty where the key is not there."""

    key: str
    old: str
    new: str


@dataclass(frozen=True)
class FigureChange:
    """A figure of what is recommended, in its unit; null where there is none."""

    figure: str
    unit: str
    old: float | None
    new: float | None


@dataclass(frozen=True)
class ItemChange:
    """The price of one group of parts; the difference is null where the currencies differ."""

    item: str
    old: Decimal
    new: Decimal
    difference: Decimal | None


@dataclass(frozen=True)
class VerdictChange:
    """An option that is judged otherwise, and why; empty where it is not there at all."""

    option: str
    old: str
    new: str
    why: str


@dataclass(frozen=True)
class Changes:
    """What moved from an old answer to a new one."""

    old: Side
    new: Side
    difference: Decimal | None
    inputs: tuple[InputChange, ...]
    figures: tuple[FigureChange, ...]
    items: tuple[ItemChange, ...]
    verdicts: tuple[VerdictChange, ...]
    schema: str = CHANGED_SCHEMA

    @property
    def nothing(self) -> bool:
        """Whether both answers say the same."""
        same = self.old == self.new and not self.difference
        return same and not (self.inputs or self.figures or self.items or self.verdicts)
