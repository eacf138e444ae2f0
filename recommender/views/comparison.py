"""Some options side by side."""

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from recommender.results.answer import Answer, OptionResult
from recommender.views.goals import WORDS, floor_text
from recommender.views.layout import fitting, grid
from recommender.views.numbers import listed, share
from recommender.views.terminal import VERDICTS, against_first, choice_facts

_CHEAPEST = "cheapest"
_OF_THE_CHOICE = frozenset({"Proof", *(words.row for words in WORDS.values())})


def show_comparison(
    console: Console,
    answer: Answer,
    chosen: Sequence[OptionResult],
    least_of: Sequence[tuple[str, ...]] | None = None,
    proven: Sequence[bool] | None = None,
) -> None:
    """Print some options side by side; what is as in the first is "same", what differs coloured.

    Parameters
    ----------
    console : Console
    answer : Answer
    chosen : sequence of OptionResult
    least_of : sequence of tuple of str, optional
        What each has least of, if they were chosen for that.
    proven : sequence of bool, optional
        Whether that is more than the least that was found.
    """
    table = grid(("", False), *((option.id, False) for option in chosen))
    columns = [dict(choice_facts(answer, option)) for option in chosen]
    if least_of and any(least_of):
        sure = proven or [True] * len(least_of)
        table.add_row("Chosen as", *map(_best, least_of, sure))
    else:
        table.add_row("Verdict", *(VERDICTS[option.verdict] for option in chosen))
    for name in dict.fromkeys(name for column in columns for name in column):
        if name not in _OF_THE_CHOICE:
            table.add_row(name, *against_first([column.get(name, "") for column in columns]))
        if name == "With loads outside":
            floors = [floor_text(option.loop) if option.loop else "" for option in chosen]
            table.add_row("Floor", *against_first(floors))
    checks = [{check.id: check for check in option.checks} for option in chosen]
    for id_ in dict.fromkeys(id_ for column in checks for id_ in column):
        title = next(column[id_].title for column in checks if id_ in column)
        uses = [share(column[id_].utilisation) if id_ in column else "" for column in checks]
        table.add_row(title, *against_first(uses))
    console.print(fitting(table, console.width))
    for option in chosen:
        console.print(Text(f"\n{option.id}: {option.reason}"))


def _best(goals: Sequence[str], proven: bool) -> str:
    if not goals:
        return ""
    best = listed([WORDS[goal].best if goal in WORDS else _CHEAPEST for goal in goals])
    return best if proven else f"{best} found"
