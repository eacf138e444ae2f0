"""Tables as all views lay them out."""

from rich import box
from rich.table import Table


def facts() -> Table:
    """A table of names and values without rules."""
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    return table


def grid(*columns: tuple[str, bool]) -> Table:
    """A table with a rule under its head; each column has a title, and is of numbers or not."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for title, numbers in columns:
        table.add_column(
            title, justify="right" if numbers else "left", overflow="fold", no_wrap=numbers
        )
    return table
