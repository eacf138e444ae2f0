"""What a rehearsal of a line found, on the terminal."""

from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from recommender.lines.result_rehearsal import LineRehearsal, LineSupplyUse
from recommender.results.answer import document
from recommender.shown import json_text
from recommender.views.layout import facts, fitting, grid
from recommender.views.numbers import listed, quantity
from recommender.views.rehearsal import stations_table
from recommender.views.rehearsal_words import kept, rows, title
from recommender.views.terminal import section


def show_line_rehearsal(console: Console, found: LineRehearsal) -> None:
    """Print a rehearsal of a line: the whole, then each loop."""
    many = f"{found.replications} times {found.hours:g} h" if found.replications > 1 else "one run"
    console.print(
        Text(
            f"Rehearsal of {found.title}: {many}, seed {found.seed}",
            style="bold",
        )
    )
    table = facts()
    table.add_row("Verdict", _verdict(found))
    section(console, "The line", table)
    section(console, "Handovers", Group(*(Text(f"- {line}") for line in found.handovers)))
    section(console, "Supplies, all loops together", _supplies(found))
    for entry in found.loops:
        console.print()
        console.rule(Text(f"Loop {entry.loop}"), align="left", characters="─")
        console.print(title(entry.run))
        console.print()
        table = facts()
        for name, value in rows(entry.run):
            table.add_row(name, value)
        console.print(table)
        console.print()
        console.print(fitting(stations_table(entry.run), console.width))
        console.print()
        console.print(kept(entry.run))


def _verdict(found: LineRehearsal) -> str:
    by = {
        word: [e.loop for e in found.loops if e.run.verdict == word] for word in ("short", "open")
    }
    if found.verdict == "holds":
        return "each loop makes the rate that is asked of it"
    if by["short"]:
        return f"the rate that is asked is not made by {listed(by['short'])}"
    short = listed(by["open"])
    return f"these runs cannot tell whether {short} makes its rate; longer ones can"


def _supplies(found: LineRehearsal) -> Table:
    table = grid(
        ("supply", False), ("in", False), ("power", False), ("run", True), ("counted", True),
        ("at most", True),
    )  # fmt: skip
    for use in found.supplies:
        for name, run, counted, limit in _powers(use):
            first = name == "mean"
            cells = (use.id, listed(use.loops)) if first else ("", "")
            table.add_row(*cells, name, *(quantity(power, "W") for power in (run, counted, limit)))
    return table


def _powers(use: LineSupplyUse) -> tuple[tuple[str, float, float, float], ...]:
    return (
        ("mean", use.mean_w, use.mean_counted_w, use.mean_limit_w),
        ("peak", use.peak_w, use.peak_counted_w, use.peak_limit_w),
    )


def line_rehearsal_json(found: LineRehearsal) -> str:
    """A rehearsal of a line as one JSON document."""
    return json_text(document(found))
