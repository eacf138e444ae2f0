"""A map over two inputs of a case: which option is cheapest where, as views read it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

MAP_SCHEMA: Final = "recommender.map/1"


@dataclass(frozen=True)
class MapInput:
    """An input with the values that it takes, in its SI unit, and the one that the case has.

    ``harder`` says what more of it is known to do to the price: raise it or nothing, lower it or
    nothing, or either.
    """

    key: str
    name: str
    unit: str
    values: tuple[float, ...]
    asked: float | None
    harder: Literal["more", "less", "unknown"]


@dataclass(frozen=True)
class MapOption:
    """An option that is cheapest somewhere, with its family, and in how many cells."""

    id: str
    carrier: str
    family: str
    cells: int
    least: Decimal
    most: Decimal


@dataclass(frozen=True)
class MapCell:
    """What is cheapest for one value of each input; without an option nothing is found.

    ``proven`` is false where something could be cheaper by more than the map's tolerance, or, if
    nothing is found, could still work.
    """

    option: str | None
    carriers: int | None
    price: Decimal | None
    proven: bool


@dataclass(frozen=True)
class Map:
    """A map: cells by rising values of the second input, for each value of the first.

    A price is within ``tolerance`` of what an answer to the case of its cell says. ``asked`` is
    the cell of the case itself, between the others as a rule. ``worked_out`` cells were asked
    about, the others lie between cells that cost the same; ``checked`` of them were asked about
    again by themselves. ``alone`` says that no column of cells was taken from its neighbours.
    """

    title: str
    currency: str
    first: MapInput
    second: MapInput
    cells: tuple[MapCell, ...]
    options: tuple[MapOption, ...]
    asked: MapCell
    tolerance: float
    worked_out: int
    checked: int
    alone: bool
    schema: str = MAP_SCHEMA

    def cell(self, first: int, second: int) -> MapCell:
        """The cell of two values, by their numbers."""
        return self.cells[first * len(self.second.values) + second]
