"""A what-if table: what would be recommended if one or two numbers of a case were others."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

WHAT_IF_SCHEMA: Final = "recommender.what-if/1"


@dataclass(frozen=True)
class Varied:
    """A key of the case and the values that it takes, as text."""

    key: str
    values: tuple[str, ...]


@dataclass(frozen=True)
class WhatIfCell:
    """What is recommended for one value of each key; ``why`` says in few words where nothing is.

    ``as_asked`` marks the cell whose values are those of the case itself. ``proven`` is false where
    something could be cheaper by more than half a per cent.
    """

    values: tuple[str, ...]
    as_asked: bool
    recommended: str | None
    carriers: int | None
    length_m: float | None
    price: Decimal | None
    proven: bool
    why: str


@dataclass(frozen=True)
class WhatIf:
    """A what-if table, the last key varied first."""

    title: str
    currency: str
    varied: tuple[Varied, ...]
    cells: tuple[WhatIfCell, ...]
    schema: str = WHAT_IF_SCHEMA

    def cell(self, *values: str) -> WhatIfCell:
        """The cell of some values."""
        return next(cell for cell in self.cells if cell.values == values)
