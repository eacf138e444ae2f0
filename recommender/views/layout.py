"""Tables as all views lay them out."""

from typing import Any

from rich import box
from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from recommender.shown import escaped


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
