"""A what-if table on a terminal, and for spreadsheets."""

import csv
import io
from typing import Any, Final

from rich.console import Console
from rich.table import Table
from rich.text import Text

from recommender.result import plain
from recommender.result_what_if import WhatIf, WhatIfCell
from recommender.shown import escaped, json_text
from recommender.views.layout import fitting, grid
from recommender.views.numbers import amount, place
from recommender.views.tables import csv_cell
from recommender.views.workbook import Column, Workbook

_NONE: Final = "none: "
_ASKED: Final = "as asked"


def show_what_if(console: Console, found: WhatIf) -> None:
    """Print a table: the first key down, the second, if there is one, across."""
    console.print(Text(escaped(_title(found)), style="bold"))
    console.print()
    console.print(fitting(_table(found), console.width))
    if any(cell.recommended and not cell.proven for cell in found.cells):
        console.print(Text("Prices marked ~ are the best found, not proven cheapest."))


def _title(found: WhatIf) -> str:
    keys = " and ".join(entry.key for entry in found.varied)
    return f"{found.title}: what is recommended by {keys}, prices in {found.currency}"


def _table(found: WhatIf) -> Table:
    down, *across = found.varied
    columns = [(value,) for value in across[0].values] if across else [()]
    heads = [_head(across[0].key, value[0]) if value else "recommended" for value in columns]
    table = grid((down.key, False), *((head, False) for head in heads))
    for value in down.values:
        table.add_row(value, *(_told(found.cell(value, *column)) for column in columns))
        table.add_section()
    return table


def _head(key: str, value: str) -> str:
    return f"{key} {value}"


def _told(cell: WhatIfCell) -> Text:
    """The choice, its fleet and guide, its price; or why there is none."""
    asked = f"\n({_ASKED})" if cell.as_asked else ""
    if cell.recommended is None or cell.price is None:
        return Text(escaped(f"{_NONE}{cell.why}{asked}", "\n"), style="dim")
    length = f", {place(cell.length_m)}" if cell.length_m is not None else ""
    price = f"{'' if cell.proven else '~ '}{amount(cell.price)}"
    lines = f"{cell.recommended}\n{cell.carriers} carriers{length}\n{price}{asked}"
    return Text(escaped(lines, "\n"), style="bold" if cell.as_asked else "")


def what_if_json(found: WhatIf) -> str:
    """The table as one JSON document."""
    data = plain(found)
    return json_text({"schema": data.pop("schema"), **data})


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
    note = f"{_NONE}{cell.why}" if cell.recommended is None else _ASKED if cell.as_asked else ""
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
    with Workbook(found.currency, _title(found)) as book:
        sheet = book.sheet("What if", columns, [_title(found)])
        for cell in found.cells:
            row = _line(found, cell)
            del row[len(keys) + 4]
            sheet.add(*(value if value != "" else None for value in row))
        sheet.filter_rows()
    return book.data
