"""What moved between two answers about lines of loops, on a terminal."""

from decimal import Decimal

from rich.console import Console
from rich.table import Table
from rich.text import Text

from recommender.lines.result_changes import LineChanges, LineSide, LoopChange
from recommender.shown import escaped
from recommender.views.changed import (
    difference_text,
    figures_table,
    inputs_table,
    signed,
    sources_table,
    verdicts_table,
)
from recommender.views.layout import grid
from recommender.views.numbers import amount, listed, money
from recommender.views.terminal import section

_SHARED = "shared"


def show_line_changes(console: Console, changes: LineChanges) -> None:
    """Print what moved: the line, then each loop; nothing but a line where nothing did."""
    console.print(Text(escaped(_head(changes)), style="bold"))
    if changes.nothing:
        return
    if changes.inputs:
        section(console, "What is asked", inputs_table(changes.inputs))
    sources = sources_table(changes.old, changes.new)
    if sources.row_count:
        section(console, "What answered", sources)
    if changes.figures:
        section(console, "The line", figures_table(changes.figures))
    for loop in changes.loops:
        section(console, f"Loop {loop.loop}: {_moved(loop)}", figures_table(loop.figures))
    if changes.items:
        section(console, "Price by item", _items(changes))
    if changes.verdicts:
        section(console, "Options that are judged otherwise", verdicts_table(changes.verdicts))


def _head(changes: LineChanges) -> str:
    old, new = changes.old, changes.new
    if changes.nothing:
        return f"{new.title}: nothing changed, {_choice(new)}"
    kept = old.chosen == new.chosen
    said = f"still {_choice(new)}" if kept else f"{_choice(new)} in place of {_choice(old)}"
    return f"{new.title}: {said}{difference_text(changes.difference, new.currency)}"


def _choice(side: LineSide) -> str:
    if side.price is None:
        return "no line that works"
    loops = listed([f"{entry.loop} {entry.option}" for entry in side.chosen])
    return f"{loops} for {money(side.price, side.currency)}"


def _moved(loop: LoopChange) -> str:
    if loop.old == loop.new:
        return f"still {loop.new}" if loop.new else "none before, none now"
    return f"{loop.new or 'none'} in place of {loop.old or 'none'}"


def _items(changes: LineChanges) -> Table:
    old, new = changes.old.currency, changes.new.currency
    table = grid(
        ("for", False),
        ("item", False),
        (f"before, {old}", True),
        (f"now, {new}", True),
        ("more", True),
    )
    for entry in changes.items:
        by = entry.difference
        more = signed(by) if by is not None else ""
        table.add_row(entry.loop or _SHARED, entry.item, amount(entry.old), amount(entry.new), more)
    if changes.difference is not None:
        sides = (amount(side.price or Decimal(0)) for side in (changes.old, changes.new))
        table.add_row("", "total", *sides, signed(changes.difference), style="bold")
    return table
