"""Lines of many cases on the terminal."""

from collections.abc import Sequence

from rich.console import Console

from recommender.results.batch import Line
from recommender.views.layout import fitting, grid


def show_lines(console: Console, lines: Sequence[Line]) -> None:
    """Print a table, a line for each case; with the floor where there are lines of loops."""
    currency = next((line.currency for line in lines if line.currency), "")
    floors = any(line.loops > 1 for line in lines)
    table = grid(
        ("case", False),
        ("choice", False),
        ("fleet", True),
        ("guide, m", True),
        *((("floor, m²", True),) if floors else ()),
        (f"price, {currency}" if currency else "price", True),
        ("proven", False),
    )
    for line in lines:
        found = bool(line.option)
        table.add_row(
            line.name,
            line.option.replace(", ", "\n")
            or ("no option meets it" if line.status == "none" else line.status),
            str(line.carriers) if found else "",
            f"{line.guide_m:.2f}" if line.guide_m else "",
            *((f"{line.floor_m2:.2f}" if line.floor_m2 else "",) if floors else ()),
            f"{float(line.price):,.2f}" if found else "",
            ("yes" if line.proven else "no") if found else "",
        )
    console.print(fitting(table, console.width))
