"""Answers a line again and again with one or two of its keys changed."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import deepcopy
from typing import Any

from recommender.choice.deadline import ending_in, time_left
from recommender.inputs.catalogue import Catalogue
from recommender.lines.given import put_in_line
from recommender.lines.model import Line
from recommender.lines.reading import check_line_currency, make_line
from recommender.lines.recommend import recommend_line
from recommender.lines.result import LineAnswer, LoopResult
from recommender.lines.result_what_if import LineWhatIf, LineWhatIfCell, LoopInCell
from recommender.results.what_if import Varied
from recommender.what_if import combinations, why_none

Report = Callable[[str, int, int], None]


def varied_lines(
    data: Mapping[str, Any], varied: Sequence[Varied], where: str
) -> Iterator[tuple[tuple[str, ...], Line]]:
    """The line for each combination of values, all read by the reader of lines.

    Raises
    ------
    InputError
        As ``make_line``, naming the value.
    """
    asked = make_line(data, where)
    for values, told in combinations(varied):
        changed = deepcopy(dict(data))
        for entry, value in zip(varied, values, strict=True):
            put_in_line(changed, asked, entry.key, value, "--vary")
        yield values, make_line(changed, f"{where} with {told}")


def line_what_if(
    data: Mapping[str, Any],
    varied: Sequence[Varied],
    catalogue: Catalogue,
    where: str,
    *,
    seconds: float | None = None,
    progress: Report | None = None,
) -> LineWhatIf:
    """The line for each combination of values.

    Nothing is worked out before all of them are read.

    Parameters
    ----------
    data : mapping
        The line as its file has it.
    varied : sequence of Varied
    catalogue : Catalogue
    where : str
        What a message names.
    seconds : float, optional
        Time after which the rest is left; a cell that it cuts short is not proven.
    progress : callable, optional

    Raises
    ------
    InputError
        If a value is refused.
    """
    asked = make_line(data, where)
    lines = list(varied_lines(data, varied, where))
    for _, line in lines:
        check_line_currency(line, catalogue.catalogue.currency, where)
    cells = []
    with ending_in(seconds):
        for number, (values, line) in enumerate(lines, start=1):
            left = None if seconds is None else time_left()
            answer = recommend_line(line, catalogue, in_brief=True, seconds=left)
            cells.append(_cell(values, line == asked, answer))
            if progress is not None:
                progress("What if", number, len(lines))
    return LineWhatIf(
        asked.title, catalogue.catalogue.currency, asked.names, tuple(varied), tuple(cells)
    )


def _cell(values: tuple[str, ...], as_asked: bool, answer: LineAnswer) -> LineWhatIfCell:
    works = answer.status == "recommended"
    return LineWhatIfCell(
        values=values,
        as_asked=as_asked,
        loops=tuple(_loop(loop) for loop in answer.loops if loop.chosen is not None),
        carriers=answer.shared.carriers if answer.shared else None,
        floor_length_m=answer.floor.length_m if answer.floor else None,
        floor_width_m=answer.floor.width_m if answer.floor else None,
        price=answer.price,
        proven=answer.proof.optimal if answer.proof else False,
        why="" if works else why_no_line(answer),
    )


def _loop(loop: LoopResult) -> LoopInCell:
    chosen = loop.chosen
    assert chosen is not None and chosen.carriers is not None
    length = chosen.loop.length_m if chosen.loop else None
    return LoopInCell(loop.name, chosen.id, chosen.carriers, length)


def why_no_line(answer: LineAnswer) -> str:
    """What stands in the way of a line, in a few words: a loop by itself, or what all lack."""
    impasse = answer.impasse
    if impasse is None or answer.unsettled:
        return "nothing found, not all decided"
    if impasse.loops:
        told = (answer.loop(name) for name in impasse.loops)
        return "; ".join(
            f"{loop.name}: {why_none(loop.alone.options)}" for loop in told if loop is not None
        )
    keys = [key for conflict in impasse.conflicts for key in conflict]
    for begin, words in _TOGETHER.items():
        if keys and all(key.startswith(begin) for key in keys):
            return words
    return "no controller commands all loops"


_TOGETHER = {
    "commercial.budget": "dearer than the budget",
    "commercial.": "delivery would be too late",
    "floor.": "no floor for all loops",
    "handover.": "handovers that suit no two loops",
}
