"""What a rehearsal found, on the terminal."""

from rich.console import Console
from rich.table import Table

from recommender.results.answer import document
from recommender.results.rehearsal import Rehearsal
from recommender.shown import json_text
from recommender.views.layout import facts, fitting, grid
from recommender.views.rehearsal_words import HEADS, kept, rows, station_row, title


def show_rehearsal(console: Console, found: Rehearsal) -> None:
    """Print a rehearsal."""
    console.print(title(found))
    console.print()
    table = facts()
    for name, value in rows(found):
        table.add_row(name, value)
    console.print(table)
    console.print()
    console.print(fitting(stations_table(found), console.width))
    console.print()
    console.print(kept(found))


def kept_json(found: Rehearsal) -> str:
    """A rehearsal as one JSON document."""
    return json_text(document(found)) + "\n"


def stations_table(found: Rehearsal) -> Table:
    """How each station fared."""
    table = grid((HEADS[0], False), *((head, True) for head in HEADS[1:]))
    for run in found.stations:
        table.add_row(*station_row(run))
    return table
