"""Tables as all views lay them out."""

from typing import Any

from rich import box
from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.table import Column, Table
from rich.text import Text

from recommender.shown import escaped

_BESIDE = 3
"""Spaces and rules beside a column."""


class Cells(Table):
    """A table whose cells are text as it stands, whatever it looks like."""

    def add_row(self, *cells: RenderableType | None, **how: Any) -> None:
        """Add a row; text in it is no markup, and what cannot be seen is escaped."""
        super().add_row(*(_as_it_stands(cell) for cell in cells), **how)


def _as_it_stands(cell: RenderableType | None) -> RenderableType | None:
    return Text(escaped(cell, keep="\n")) if isinstance(cell, str) else cell


def facts() -> Table:
    """A table of names and values without rules."""
    table = Cells(box=None, show_header=False, padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    return table


def grid(*columns: tuple[str, bool]) -> Table:
    """A table with a rule under its head; each column has a title, and is of numbers or not."""
    table = Cells(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for title, numbers in columns:
        table.add_column(
            Text(escaped(title)),
            justify="right" if numbers else "left",
            overflow="fold",
            no_wrap=numbers,
        )
    return table


def fitting(body: RenderableType, width: int) -> RenderableType:
    """The same, with values in several lines where a table is too wide for its room.

    No column and no figure is ever cut off.
    """
    if isinstance(body, Group):
        return Group(*(fitting(part, width) for part in body.renderables))
    if isinstance(body, Table) and sum(_needed(column) for column in body.columns) > width:
        for column in body.columns:
            column.no_wrap, column.overflow = False, "fold"
    return body


def _needed(column: Column) -> int:
    """Characters that a column needs with what is beside it: its longest line, or word."""
    cells = [str(cell) for cell in (column.header, *column.cells)]
    parts = [
        part for cell in cells for part in (cell.splitlines() if column.no_wrap else cell.split())
    ]
    return max(map(cell_len, parts), default=0) + _BESIDE
