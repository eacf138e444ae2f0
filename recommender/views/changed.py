"""What moved between two answers, on a terminal."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Protocol

from rich.console import Console
from rich.table import Table
from rich.text import Text

from recommender.results.answer import CatalogueMark
from recommender.results.changes import Changes, FigureChange, InputChange, Side, VerdictChange
from recommender.shown import escaped
from recommender.views.layout import facts, grid
from recommender.views.numbers import amount, money, quantity, raised, three_digits
from recommender.views.terminal import section


def show_changes(console: Console, changes: Changes) -> None:
    """Print what moved; nothing but a line where nothing did."""
    console.print(Text(escaped(_head(changes)), style="bold"))
    if changes.nothing:
        return
    if changes.inputs:
        section(console, "What is asked", inputs_table(changes.inputs))
    sources = sources_table(changes.old, changes.new)
    if sources.row_count:
        section(console, "What answered", sources)
    if changes.figures:
        section(console, "The choice", figures_table(changes.figures))
    if changes.items:
        section(console, "Price by item", _items(changes))
    if changes.verdicts:
        section(console, "Options that are judged otherwise", verdicts_table(changes.verdicts))


def _head(changes: Changes) -> str:
    old, new = changes.old, changes.new
    if changes.nothing:
        return f"{new.title}: nothing changed, {_choice(new)}"
    kept = old.recommended == new.recommended
    said = f"still {_choice(new)}" if kept else f"{_choice(new)} in place of {_choice(old)}"
    return f"{new.title}: {said}{difference_text(changes.difference, new.currency)}"


def _choice(side: Side) -> str:
    if side.recommended is None or side.price is None:
        return "no option that works"
    return f"{side.recommended} for {money(side.price, side.currency)}"


def difference_text(by: Decimal | None, currency: str) -> str:
    """By how much the price moved, behind a comma; nothing where it cannot be told."""
    if by is None:
        return ""
    if not by:
        return ", at the same price"
    return f", {money(abs(by), currency)} {'more' if by > 0 else 'less'}"


def inputs_table(inputs: Sequence[InputChange]) -> Table:
    """Keys with both values."""
    table = grid(("key", False), ("before", False), ("now", False))
    for entry in inputs:
        table.add_row(entry.key, raised(entry.old), raised(entry.new))
    return table


class Source(Protocol):
    """What an answer was made with."""

    @property
    def catalogue(self) -> CatalogueMark:
        """The catalogue and its digest."""

    @property
    def program(self) -> str:
        """Version of the program."""


def sources_table(old: Source, new: Source) -> Table:
    """Catalogue and version where they differ; no row where neither does."""
    table = facts()
    table.add_column(overflow="fold")
    for name, told in _TOLD.items():
        sides = told(old), told(new)
        if sides[0] != sides[1]:
            table.add_row(name, *(side or "not told" for side in sides))
    return table


_TOLD: dict[str, Callable[[Source], str]] = {
    "Catalogue": lambda side: f"{side.catalogue.id}, {side.catalogue.digest}",
    "Version": lambda side: side.program,
}


def figures_table(figures: Sequence[FigureChange]) -> Table:
    """Figures of what is recommended, before and now."""
    table = grid(("", False), ("before", True), ("now", True))
    for entry in figures:
        table.add_row(entry.figure, *(_figure(value, entry) for value in (entry.old, entry.new)))
    return table


def _figure(value: float | None, entry: FigureChange) -> str:
    if value is None:
        return ""
    if entry.unit in ("m", "carriers"):
        return quantity(float(value), entry.unit)
    return f"{three_digits(value)} {entry.unit}".replace(" /", "/")


def _items(changes: Changes) -> Table:
    old, new = changes.old.currency, changes.new.currency
    table = grid(("item", False), (f"before, {old}", True), (f"now, {new}", True), ("more", True))
    for entry in changes.items:
        by = entry.difference
        table.add_row(
            entry.item,
            amount(entry.old),
            amount(entry.new),
            signed(by) if by is not None else "",
        )
    if changes.difference is not None:
        sides = (amount(side.price or Decimal(0)) for side in (changes.old, changes.new))
        table.add_row("total", *sides, signed(changes.difference), style="bold")
    return table


def signed(value: Decimal) -> str:
    """A difference of prices with its sign."""
    return f"{value:+,.2f}" if value else "0.00"


def verdicts_table(verdicts: Sequence[VerdictChange]) -> Table:
    """Options that are judged otherwise for the same reason share a line."""
    table, said = facts(), dict[str, list[str]]()
    for entry in verdicts:
        before, now = entry.old or "no option", entry.new or "no option"
        said.setdefault(f"Before: {before}; now: {now}. {entry.why}", []).append(entry.option)
    for text, ids in said.items():
        table.add_row("\n".join(ids), Text(escaped(text)))
    return table
