"""How sure a choice is, on the terminal and for spreadsheets."""

import csv
import io

from rich.console import Console
from rich.table import Table

from recommender.result import plain
from recommender.result_doubt import Doubt
from recommender.shown import json_text
from recommender.views.doubt_words import HEADS, ONE_VALUE, input_row, rows, title
from recommender.views.layout import facts, fitting, grid
from recommender.views.tables import csv_cell


def show_doubt(console: Console, found: Doubt) -> None:
    """Print a doubt."""
    console.print(title(found))
    console.print()
    console.print(fitting(_inputs(found), console.width))
    console.print()
    table = facts()
    for name, value in rows(found):
        table.add_row(name, value)
    console.print(table)
    console.print()
    console.print(ONE_VALUE)


def _inputs(found: Doubt) -> Table:
    table = grid(*((head, number > 1) for number, head in enumerate(HEADS)))
    for entry in found.inputs:
        table.add_row(*input_row(entry))
    return table


def doubt_json(found: Doubt) -> str:
    """A doubt as one JSON document."""
    data = plain(found)
    return json_text({"schema": data.pop("schema"), **data})


def doubt_csv(found: Doubt) -> str:
    """The inputs as CSV (RFC 4180), a line each; no cell begins a formula."""
    text = io.StringIO()
    writer = csv.writer(text)
    heads = ("input", "taken", "share_of_variance", "held_low", "held_high", "option", "held")
    writer.writerow(map(csv_cell, heads))
    for entry in found.inputs:
        shares = (entry.share, entry.held_low, entry.held_high)
        line = (entry.key, entry.taken, *shares, found.option, found.chance.held)
        writer.writerow(map(csv_cell, line))
    return text.getvalue()
