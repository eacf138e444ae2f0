"""A what-if table of a line on a terminal, and for spreadsheets."""

import csv
import io
from typing import Any, Final

from rich.console import Console
from rich.text import Text

from recommender.lines.result_what_if import LineWhatIf, LineWhatIfCell
from recommender.results.answer import document
from recommender.shown import escaped, json_text
from recommender.views.layout import fitting
from recommender.views.numbers import amount, place
from recommender.views.tables import csv_cell
from recommender.views.what_if import ASKED, NONE, NOT_PROVEN, crossed, what_if_title
from recommender.views.workbook import Column, Workbook


def show_line_what_if(console: Console, found: LineWhatIf) -> None:
    """Print a table: the first key down, the second, if there is one, across."""
    console.print(Text(escaped(what_if_title(found)), style="bold"))
    console.print()
    table = crossed(found.varied, lambda *values: _told(found.cell(*values)))
    console.print(fitting(table, console.width))
    if any(cell.price is not None and not cell.proven for cell in found.cells):
        console.print(Text(NOT_PROVEN))


def _told(cell: LineWhatIfCell) -> Text:
    """Each loop's choice, their carriers, the floor of all, the price; or why there is none."""
    asked = f"\n({ASKED})" if cell.as_asked else ""
    if cell.price is None:
        return Text(escaped(f"{NONE}{cell.why}{asked}", "\n"), style="dim")
    lines = [f"{entry.loop} {entry.option}" for entry in cell.loops]
    carriers = " + ".join(str(entry.carriers) for entry in cell.loops)
    floor = ""
    if cell.floor_length_m is not None and cell.floor_width_m is not None:
        floor = f", {place(cell.floor_length_m)} by {place(cell.floor_width_m)}"
    lines.append(f"{carriers} carriers{floor}")
    lines.append(f"{'' if cell.proven else '~ '}{amount(cell.price)}{asked}")
    return Text(escaped("\n".join(lines), "\n"), style="bold" if cell.as_asked else "")


def line_what_if_json(found: LineWhatIf) -> str:
    """The table as one JSON document."""
    return json_text(document(found))


_HEADS: Final = (
    "carriers",
    "floor_length_m",
    "floor_width_m",
    "price",
    "currency",
    "proven",
    "note",
)


def line_what_if_csv(found: LineWhatIf) -> str:
    """The table as CSV (RFC 4180), a line for each cell; no cell begins a formula."""
    text = io.StringIO()
    writer = csv.writer(text)
    loops = [head for name in found.loops for head in (name, f"{name} carriers")]
    heads = (*(entry.key for entry in found.varied), *loops, *_HEADS)
    writer.writerow(map(csv_cell, heads))
    for cell in found.cells:
        writer.writerow(map(csv_cell, _line(found, cell)))
    return text.getvalue()


def _line(found: LineWhatIf, cell: LineWhatIfCell) -> list[Any]:
    works = cell.price is not None
    note = (ASKED if cell.as_asked else "") if works else f"{NONE}{cell.why}"
    chosen = {entry.loop: (entry.option, entry.carriers) for entry in cell.loops}
    loops = [value for name in found.loops for value in chosen.get(name, (None, None))]
    figures: list[Any] = [cell.carriers, cell.floor_length_m, cell.floor_width_m, cell.price]
    proven = ("yes" if cell.proven else "no") if works else ""
    row = [*cell.values, *loops, *figures, found.currency, proven, note]
    return ["" if value is None else value for value in row]


def line_what_if_xlsx(found: LineWhatIf) -> bytes:
    """The table as a workbook, a row for each cell; numbers are numbers."""
    keys = [Column(entry.key, 22) for entry in found.varied]
    loops = [
        column
        for name in found.loops
        for column in (Column(name, 26), Column(f"{name} carriers", 10, "count"))
    ]
    columns = (
        *keys,
        *loops,
        Column("Carriers", 10, "count"),
        Column("Floor along, m", 10, "number"),
        Column("Floor across, m", 10, "number"),
        Column(f"Price, {found.currency}", 16, "money"),
        Column("Proven", 9),
        Column("Note", 36),
    )
    with Workbook(found.currency, what_if_title(found)) as book:
        sheet = book.sheet("What if", columns, [what_if_title(found)])
        for cell in found.cells:
            row = _line(found, cell)
            del row[len(keys) + len(loops) + 4]
            sheet.add(*(value if value != "" else None for value in row))
        sheet.filter_rows()
    return book.data
