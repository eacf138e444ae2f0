"""A what-if table of a line: the choice of all its loops if one or two of its keys were others."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from recommender.results.what_if import Varied

LINE_WHAT_IF_SCHEMA: Final = "recommender.line-what-if/1"


@dataclass(frozen=True)
class LoopInCell:
    """What is chosen for one loop: option, carriers, length of its guide."""

    loop: str
    option: str
    carriers: int
    length_m: float | None


@dataclass(frozen=True)
class LineWhatIfCell:
    """What a line is for one value of each key; ``why`` says in few words where there is none.

    ``loops`` are in the order of the line, and none where there is no line. ``carriers`` are those
    of all loops, the floor that of all of them side by side. ``as_asked`` marks the cell whose
    values are those of the line itself. ``proven`` is false where something could be cheaper by
    more than half a per cent.
    """

    values: tuple[str, ...]
    as_asked: bool
    loops: tuple[LoopInCell, ...]
    carriers: int | None
    floor_length_m: float | None
    floor_width_m: float | None
    price: Decimal | None
    proven: bool
    why: str


@dataclass(frozen=True)
class LineWhatIf:
    """A what-if table of a line, the last key varied first."""

    title: str
    currency: str
    loops: tuple[str, ...]
    varied: tuple[Varied, ...]
    cells: tuple[LineWhatIfCell, ...]
    schema: str = LINE_WHAT_IF_SCHEMA

    def cell(self, *values: str) -> LineWhatIfCell:
        """The cell of some values."""
        return next(cell for cell in self.cells if cell.values == values)
