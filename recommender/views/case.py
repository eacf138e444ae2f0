"""Cases on a terminal: what one leaves open, and which ones there are."""

from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.text import Text


def show_assumed(console: Console, verdict: str, assumed: Sequence[Mapping[str, str]]) -> None:
    """Whether a case is sound, and what is assumed where it says nothing."""
    console.print(Text(verdict))
    if not assumed:
        return
    console.print(
        Text("\nTo ask the customer, with what is taken where it says nothing", style="bold")
    )
    for line in assumed:
        console.print(Text(f"- {line['question']} Taken: {line['value']} ({line['key']})."))


def show_worked(console: Console, worked: Mapping[str, str]) -> None:
    """Titles and files of the worked cases; a file stays in one line, so that it can be copied."""
    for file, title in worked.items():
        console.print(Text(title))
        console.print(Text(f"  {file}"), soft_wrap=True)
