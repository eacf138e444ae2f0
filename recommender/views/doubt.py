"""How sure a choice is, on the terminal and for spreadsheets."""

import csv
import io
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from recommender.results.answer import document
from recommender.results.doubt import Doubt, InputShare
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
    return json_text(document(found))


def doubt_csv(found: Doubt) -> str:
    """The inputs as CSV (RFC 4180), a line each; no cell begins a formula."""
    return inputs_csv(found.inputs, "option", found.option, found.chance.held)


def inputs_csv(inputs: Sequence[InputShare], kind: str, name: str, held: float) -> str:
    """Inputs as CSV, each beside what was doubted and how often that held."""
    text = io.StringIO()
    writer = csv.writer(text)
    heads = ("input", "taken", "share_of_variance", "held_low", "held_high", kind, "held")
    writer.writerow(map(csv_cell, heads))
    for entry in inputs:
        shares = (entry.share, entry.held_low, entry.held_high)
        writer.writerow(map(csv_cell, (entry.key, entry.taken, *shares, name, held)))
    return text.getvalue()
