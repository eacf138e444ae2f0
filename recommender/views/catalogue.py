"""The catalogue on a terminal."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from rich.console import Console

from recommender.views.numbers import money
from recommender.views.terminal import facts, grid


def show_parts(console: Console, parts: Sequence[Mapping[str, Any]], currency: str) -> None:
    """Every part in a line."""
    table = grid(
        ("kind", False), ("id", False), ("description", False), ("price", True), ("weeks", True)
    )
    for part in parts:
        table.add_row(
            str(part["table"]).replace("_", " "),
            part["id"],
            part["description"],
            money(Decimal(part["price"]), currency),
            f"{part['lead_time']:g}",
        )
    console.print(table)


def show_part(console: Console, part: Mapping[str, str]) -> None:
    """Everything about one part."""
    table = facts()
    for key, value in part.items():
        table.add_row(key.replace("_", " "), value)
    console.print(table)
