"""Lines of loops in the command that compares: other options of their loops, other values."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recommender.commands.common import priced_catalogue, seconds_of
from recommender.commands.lines import GivenToLine, find_in_line, line_answer_of, status_of
from recommender.commands.saved import is_saved
from recommender.commands.shortlist import SORTS, is_of, known_kinds, refuse_unknown_sort
from recommender.commands.writing import writer_of
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, console, print_json, print_text, seconds_gone
from recommender.shown import shown, shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from recommender.lines.result import LineAnswer, LoopOption, LoopResult
    from recommender.lines.result_what_if import LineWhatIf
    from recommender.results.answer import OptionResult

Pair = tuple["LoopResult", "LoopOption"]


@dataclass(frozen=True)
class Wanted:
    """What of a line is compared, and where it goes."""

    options: Sequence[str]
    sort: str | None
    only: Sequence[str]
    output: Path | None
    force: bool
    as_json: bool


def compare_lines(path: Path, wanted: Wanted, given_to: GivenToLine) -> int:
    """What ``compare`` does with a line: the choice beside lines with other options."""
    from recommender.shown import json_text
    from recommender.views.line_comparison import lines_csv, lines_xlsx, show_lines

    refuse_unknown_sort(wanted.sort)
    writers: dict[str, Callable[[list[Pair]], str | bytes]] = {
        ".xlsx": lambda found: lines_xlsx(answer, found),
        ".csv": lambda found: lines_csv(answer, found),
        ".json": lambda found: json_text(_rows(found)) + "\n",
    }
    write = writer_of(wanted.output, writers, force=wanted.force, quiet=given_to.quiet)
    answer = line_answer_of(path, given_to, in_brief=True)
    compared = _compared(answer, wanted)
    write(compared)
    if wanted.as_json:
        from recommender.results.answer import plain

        price = None if answer.price is None else f"{answer.price:.2f}"
        told = {"price": price, "lines": _rows(compared), "savings": plain(answer.savings)}
        print_json(told)
    elif wanted.output is None:
        with written_in(answer.units):
            show_lines(console(), answer, compared, wanted.sort)
    return status_of(answer)


def _rows(compared: Sequence[Pair]) -> list[dict[str, Any]]:
    from recommender.results.answer import plain

    return [{"loop": loop.name, **plain(entry)} for loop, entry in compared]


def _compared(answer: "LineAnswer", wanted: Wanted) -> list[Pair]:
    """Those that are named, those of a kind in an order, or all dearer lines by their price."""
    if wanted.options:
        found = [find_in_line(answer, id_) for id_ in wanted.options]
        return [
            (loop, entry)
            for loop, option in found
            for entry in loop.options
            if entry.id == option.id
        ]
    if wanted.sort or wanted.only:
        return _picked(answer, wanted.sort, wanted.only)
    compared = [
        (loop, entry)
        for loop in answer.loops
        for entry in loop.options
        if entry.line_price is not None and entry.dearer
    ]
    return sorted(compared, key=lambda pair: pair[1].line_price or 0)


def _picked(answer: "LineAnswer", sort: str | None, only: Sequence[str]) -> list[Pair]:
    """Options of each loop that are of a kind, loop by loop, those that work in the line first.

    Raises
    ------
    InputError
        If no loop has an option of that kind.
    """
    found: list[Pair] = []
    for loop in answer.loops:
        alone = {option.id: option for option in loop.alone.options}
        mine = [
            entry
            for entry in loop.options
            if all(_is(loop, entry, alone[entry.id], word) for word in only)
        ]
        key = _order_of(loop, alone, sort)
        found += ((loop, entry) for entry in sorted(mine, key=key))
    if not found:
        options = [option for loop in answer.loops for option in loop.alone.options]
        said = " and ".join(map(shown, only))
        raise InputError(f"--only {said}: no option of any loop is that; {known_kinds(options)}")
    return found


def _is(loop: "LoopResult", entry: "LoopOption", option: "OptionResult", word: str) -> bool:
    """Whether an option is of a kind; what works and is recommended is so in the line."""
    chosen = loop.chosen is not None and loop.chosen.id == entry.id
    if word in ("works", "fails"):
        return (entry.line_price is not None) == (word == "works")
    if word in ("recommended", "dearer"):
        return entry.line_price is not None and chosen == (word == "recommended")
    return is_of(option, word)


def _order_of(
    loop: "LoopResult", alone: "dict[str, OptionResult]", sort: str | None
) -> "Callable[[LoopOption], tuple[bool, float, float]]":
    """By the price of the line, or by a figure of the loop by itself, which the price then parts.

    The choice has the figures that it has in the line.
    """
    last = float("inf")

    def key(entry: "LoopOption") -> tuple[bool, float, float]:
        price = last if entry.line_price is None else float(entry.line_price)
        if sort in (None, "price"):
            return price == last, price, 0.0
        own = loop.chosen if loop.chosen and loop.chosen.id == entry.id else None
        value = SORTS[sort or "price"](own or alone[entry.id])
        return price == last, last if value is None else value, price

    return key


def line_what_if_command(
    path: Path, vary: Sequence[str], output: Path | None, given_to: GivenToLine,
    *, force: bool, as_json: bool,
) -> int:  # fmt: skip
    """What ``compare --vary`` does with a line."""
    from recommender.inputs.case import check_without
    from recommender.inputs.files import read_toml
    from recommender.lines.reading import check_line_currency, make_line
    from recommender.lines.what_if import line_what_if
    from recommender.views.line_what_if import (
        line_what_if_csv,
        line_what_if_json,
        line_what_if_xlsx,
        show_line_what_if,
    )
    from recommender.views.progress import shown_progress
    from recommender.what_if import read_varied

    if is_saved(path):
        raise InputError(f"{shown_path(path)}: --vary answers a line anew; name the line")
    writers: dict[str, Callable[[LineWhatIf], str | bytes]] = {
        ".xlsx": line_what_if_xlsx,
        ".csv": line_what_if_csv,
        ".json": lambda found: line_what_if_json(found) + "\n",
    }
    write = writer_of(output, writers, force=force, quiet=given_to.quiet)
    given_to.refuse_least(path)
    varied, where, seconds = read_varied(vary), shown_path(path), seconds_of(given_to.time_limit)
    data = read_toml(path)
    asked = make_line(data, where)
    parts, _ = priced_catalogue(given_to.catalogue, given_to.prices, quiet=given_to.quiet)
    check_line_currency(asked, parts.catalogue.currency, where)
    check_without(asked.loops[0].case, parts.items, where)
    left = None if seconds is None else max(seconds - seconds_gone(), 0.0)
    with shown_progress(quiet=given_to.quiet) as report:
        found = line_what_if(data, varied, parts, where, seconds=left, progress=report)
    write(found)
    if as_json:
        print_text(line_what_if_json(found))
    elif output is None:
        with written_in(asked.units):
            show_line_what_if(console(), found)
    return DONE if any(cell.price is not None for cell in found.cells) else NONE_MEETS
