"""Cases on a terminal: what one says and leaves open, and which ones there are."""

from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.text import Text

from recommender.shown import escaped
from recommender.views.layout import facts
from recommender.views.numbers import raised


def show_checked(
    console: Console,
    verdict: str,
    read: Sequence[Mapping[str, str]],
    assumed: Sequence[Mapping[str, str]],
) -> None:
    """Whether a case is sound, what was read in it, and what is assumed where it says nothing."""
    console.print(Text(verdict))
    console.print(Text("\nUnderstood", style="bold"))
    table = facts()
    table.add_column(overflow="fold")
    for line in read:
        table.add_row(line["key"], line["written"], raised(line["si"]))
    console.print(table)
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
        console.print(Text(f"  {escaped(file)}"), soft_wrap=True)
