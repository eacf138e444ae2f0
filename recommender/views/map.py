"""A map on the terminal, as CSV and as JSON."""

import csv
import io

from rich.console import Console
from rich.table import Table

from recommender.results.answer import document
from recommender.results.map import Map
from recommender.shown import json_text
from recommender.views.layout import facts, fitting, grid
from recommender.views.map_words import (
    CLOSING,
    HEADS,
    NOTHING,
    Scale,
    cells_between,
    label,
    letters,
    option_row,
    rows,
    scale_of,
    title,
)
from recommender.views.numbers import three_digits
from recommender.views.tables import csv_cell

_ACROSS, _DOWN = 6, 9


def show_map(console: Console, found: Map) -> None:
    """Print a map: some of its cells as a table, and the options that are cheapest somewhere."""
    console.print(title(found), style="bold")
    console.print()
    console.print(fitting(_some_cells(found), console.width))
    console.print()
    console.print(fitting(_options(found), console.width))
    console.print()
    table = facts()
    for name, value in rows(found):
        table.add_row(name, value)
    console.print(table)
    console.print()
    console.print(CLOSING)


def _some_cells(found: Map) -> Table:
    """The second input down, its largest value first as on a picture, the first across."""
    across = cells_between(len(found.first.values), _ACROSS)
    down = cells_between(len(found.second.values), _DOWN)[::-1]
    first, second, letter = scale_of(found.first), scale_of(found.second), letters(found)
    heads = [_written(found.first.values[k], first) for k in across]
    table = grid((label(found.second), True), *((head, True) for head in heads))
    for j in down:
        cells = []
        for i in across:
            cell = found.cell(i, j)
            mark = "" if cell.proven else "~"
            known = cell.option is not None and cell.price is not None
            cells.append(
                f"{letter[cell.option or '']} {mark}{cell.price:,.0f}" if known else NOTHING
            )
        table.add_row(_written(found.second.values[j], second), *cells)
    table.caption = f"across: {label(found.first)}; {NOTHING}: nothing works"
    table.caption_justify = "left"
    return table


def _written(value: float, scale: Scale) -> str:
    text = three_digits(scale.of(value))
    return text.rstrip("0").rstrip(".") if "." in text else text


def _options(found: Map) -> Table:
    table = grid(*((head, number > 2) for number, head in enumerate(HEADS)))
    for option, letter in zip(found.options, letters(found).values(), strict=True):
        table.add_row(*option_row(option, found, letter))
    return table


def map_json(found: Map) -> str:
    """A map as one JSON document."""
    return json_text(document(found))


def map_csv(found: Map) -> str:
    """A map as CSV (RFC 4180), a line for each cell; no cell begins a formula."""
    text = io.StringIO()
    writer = csv.writer(text)
    scales = scale_of(found.first), scale_of(found.second)
    keys = [
        f"{entry.key} [{scale.unit}]" if scale.unit else entry.key
        for entry, scale in zip((found.first, found.second), scales, strict=True)
    ]
    heads = (*keys, "option", "carrier", "family", "carriers", "price", "currency", "proven")
    writer.writerow(map(csv_cell, heads))
    options = {option.id: option for option in found.options}
    for i, one in enumerate(found.first.values):
        for j, other in enumerate(found.second.values):
            cell = found.cell(i, j)
            option = options.get(cell.option or "")
            values = [f"{s.of(v):.6g}" for s, v in zip(scales, (one, other), strict=True)]
            which = (option.id, option.carrier, option.family) if option else ("", "", "")
            figures = ("" if v is None else v for v in (cell.carriers, cell.price))
            proven = "yes" if cell.proven else "no"
            row = (*values, *which, *figures, found.currency, proven)
            writer.writerow(map(csv_cell, row))
    return text.getvalue()
