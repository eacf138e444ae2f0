"""What moved between two answers about lines of loops: one frozen value, for views and JSON."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from recommender.results.answer import CatalogueMark
from recommender.results.changes import FigureChange, InputChange, VerdictChange

LINE_CHANGED_SCHEMA: Final = "recommender.line-changed/1"


@dataclass(frozen=True)
class LoopChoice:
    """What is recommended for a loop in its line; null where there is no line."""

    loop: str
    option: str | None


@dataclass(frozen=True)
class LineSide:
    """One of the two answers: the choice for each loop, the price of all, what answered."""

    title: str
    chosen: tuple[LoopChoice, ...]
    price: Decimal | None
    currency: str
    catalogue: CatalogueMark
    program: str

    def option(self, loop: str) -> str | None:
        """What is recommended for a loop of this name."""
        return next((entry.option for entry in self.chosen if entry.loop == loop), None)


@dataclass(frozen=True)
class LoopChange:
    """The choice for one loop, before and now, and its figures that differ.

    An option is null where there was no line, or no such loop.
    """

    loop: str
    old: str | None
    new: str | None
    figures: tuple[FigureChange, ...]


@dataclass(frozen=True)
class LineItemChange:
    """The price of one group of parts for a loop, or for several together where it is null.

    The difference is null where the currencies differ.
    """

    loop: str | None
    item: str
    old: Decimal
    new: Decimal
    difference: Decimal | None


@dataclass(frozen=True)
class LineChanges:
    """What moved from an old answer about a line to a new one.

    ``figures`` are those of the whole line. An option in ``verdicts`` stands behind its loop and a
    point, and is judged by what it is in the line.
    """

    old: LineSide
    new: LineSide
    difference: Decimal | None
    inputs: tuple[InputChange, ...]
    figures: tuple[FigureChange, ...]
    loops: tuple[LoopChange, ...]
    items: tuple[LineItemChange, ...]
    verdicts: tuple[VerdictChange, ...]
    schema: str = LINE_CHANGED_SCHEMA

    @property
    def nothing(self) -> bool:
        """Whether both answers say the same."""
        moved = self.inputs or self.figures or self.loops or self.items or self.verdicts
        return self.old == self.new and not self.difference and not moved
