"""A what-if table on a terminal, and for spreadsheets."""

import csv
import io
from collections.abc import Callable, Sequence
from typing import Any, Final, Protocol

from rich.console import Console
from rich.table import Table
from rich.text import Text

from recommender.results.answer import document
from recommender.results.what_if import Varied, WhatIf, WhatIfCell
from recommender.shown import escaped, json_text
from recommender.views.layout import fitting, grid
from recommender.views.numbers import amount, place
from recommender.views.tables import csv_cell
from recommender.views.workbook import Column, Workbook

NONE: Final = "none: "
ASKED: Final = "as asked"
NOT_PROVEN: Final = "Prices marked ~ are the best found, not proven cheapest."


def show_what_if(console: Console, found: WhatIf) -> None:
    """Print a table: the first key down, the second, if there is one, across."""
    console.print(Text(escaped(what_if_title(found)), style="bold"))
    console.print()
    table = crossed(found.varied, lambda *values: _told(found.cell(*values)))
    console.print(fitting(table, console.width))
    if any(cell.recommended and not cell.proven for cell in found.cells):
        console.print(Text(NOT_PROVEN))


class _Titled(Protocol):
    """What a what-if table of a case and one of a line have in common."""

    @property
    def title(self) -> str:
        """Of the enquiry."""

    @property
    def currency(self) -> str:
        """Of all prices."""

    @property
    def varied(self) -> tuple[Varied, ...]:
        """Keys and their values."""


def what_if_title(found: _Titled) -> str:
    """What a table is about."""
    keys = " and ".join(entry.key for entry in found.varied)
    return f"{found.title}: what is recommended by {keys}, prices in {found.currency}"


def crossed(varied: Sequence[Varied], told: Callable[..., Text]) -> Table:
    """A table of what is told of each value: the first key down, the second across."""
    down, *across = varied
    columns = [(value,) for value in across[0].values] if across else [()]
    heads = [_head(across[0].key, value[0]) if value else "recommended" for value in columns]
    table = grid((down.key, False), *((head, False) for head in heads))
    for value in down.values:
        table.add_row(value, *(told(value, *column) for column in columns))
        table.add_section()
    return table


def _head(key: str, value: str) -> str:
    return f"{key} {value}"


def _told(cell: WhatIfCell) -> Text:
    """The choice, its fleet and guide, its price; or why there is none."""
    asked = f"\n({ASKED})" if cell.as_asked else ""
    if cell.recommended is None or cell.price is None:
        return Text(escaped(f"{NONE}{cell.why}{asked}", "\n"), style="dim")
    length = f", {place(cell.length_m)}" if cell.length_m is not None else ""
    price = f"{'' if cell.proven else '~ '}{amount(cell.price)}"
    lines = f"{cell.recommended}\n{cell.carriers} carriers{length}\n{price}{asked}"
    return Text(escaped(lines, "\n"), style="bold" if cell.as_asked else "")


def what_if_json(found: WhatIf) -> str:
    """The table as one JSON document."""
    return json_text(document(found))


_HEADS: Final = ("recommended", "carriers", "length_m", "price", "currency", "proven", "note")


def what_if_csv(found: WhatIf) -> str:
    """The table as CSV (RFC 4180), a line for each cell; no cell begins a formula."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(map(csv_cell, (*(entry.key for entry in found.varied), *_HEADS)))
    for cell in found.cells:
        writer.writerow(map(csv_cell, _line(found, cell)))
    return text.getvalue()


def _line(found: WhatIf, cell: WhatIfCell) -> list[Any]:
    note = f"{NONE}{cell.why}" if cell.recommended is None else ASKED if cell.as_asked else ""
    figures: list[Any] = [cell.recommended, cell.carriers, cell.length_m, cell.price]
    proven = "" if cell.recommended is None else "yes" if cell.proven else "no"
    row = [*cell.values, *figures, found.currency, proven, note]
    return ["" if value is None else value for value in row]


def what_if_xlsx(found: WhatIf) -> bytes:
    """The table as a workbook, a row for each cell; numbers are numbers."""
    keys = [Column(entry.key, 18) for entry in found.varied]
    columns = (
        *keys,
        Column("Recommended", 26),
        Column("Carriers", 10, "count"),
        Column("Guide, m", 10, "number"),
        Column(f"Price, {found.currency}", 16, "money"),
        Column("Proven", 9),
        Column("Note", 36),
    )
    with Workbook(found.currency, what_if_title(found)) as book:
        sheet = book.sheet("What if", columns, [what_if_title(found)])
        for cell in found.cells:
            row = _line(found, cell)
            del row[len(keys) + 4]
            sheet.add(*(value if value != "" else None for value in row))
        sheet.filter_rows()
    return book.data
