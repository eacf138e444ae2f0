"""Evidence on a terminal: published values beside computed ones, and what the tests compare."""

from itertools import groupby

from rich.console import Console
from rich.text import Text

from recommender.results.answer import EvidenceReport
from recommender.views.terminal import facts, grid


def show_evidence(console: Console, report: EvidenceReport) -> None:
    """Print all evidence, section by section."""
    for section, lines in groupby(report.published, key=lambda line: line.section):
        console.print(Text(f"\n{section}", style="bold"))
        table = grid(
            ("check and source", False), ("published", True), ("computed", True), ("", True)
        )
        for line in lines:
            unit = "" if line.unit == "1" else f" {line.unit}"
            table.add_row(
                f"{line.quantity}: {line.inputs}\n  {line.source} ({line.consulted})",
                f"{line.published:.6g}{unit}",
                f"{line.computed:.6g}",
                f"{line.deviation:+.1e}" if line.holds else f"{line.deviation:+.1e} FAILS",
            )
        console.print(table)
    console.print(Text("\ncomparisons that the tests make", style="bold"))
    table = facts()
    for entry in report.comparisons:
        table.add_row(entry.against, f"{entry.what} (tests/{entry.test})")
    console.print(table)
    count = len(report.published)
    failing = sum(not line.holds for line in report.published)
    console.print(Text(f"\n{count} published values, {failing} of them not reproduced"))
