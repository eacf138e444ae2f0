"""Lines of loops in the commands that take one: answer, compare, why, parts and plan."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from recommender.commands.common import priced_catalogue, seconds_of
from recommender.commands.one_line import refuse_flags
from recommender.commands.saved import is_saved, refuse_target
from recommender.faults import InputError, nearest_ids
from recommender.running import (
    DONE,
    NONE_MEETS,
    complain,
    console,
    print_json,
    print_text,
    tell,
)
from recommender.shown import shown, shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from recommender.inputs.catalogue import Catalogue
    from recommender.lines.result import LineAnswer, LoopResult
    from recommender.results.answer import OptionResult


def holds_line(path: Path | None) -> bool:
    """Whether a name is that of a line of loops, or of an answer to one.

    What cannot be read is no line here; whoever reads it next says why.
    """
    from recommender.inputs.files import read_toml
    from recommender.lines import is_line

    if path is None:
        return False
    if is_saved(path):
        from recommender.saved_line import is_line_answer

        return is_line_answer(path)
    try:
        return is_line(read_toml(path))
    except InputError:
        return False


def options_in_line(path: Path, catalogue: "Catalogue") -> list[str]:
    """The options of a line, each behind the name of its loop and a point."""
    if is_saved(path):
        from recommender.saved_line import read_saved_line

        loops = read_saved_line(path).loops
        return [f"{loop.name}.{option.id}" for loop in loops for option in loop.alone.options]
    from recommender.choice.parts.options import list_options
    from recommender.lines.reading import read_line

    cases = read_line(path).cases
    return [
        f"{name}.{option.id}"
        for name, case in cases.items()
        for option in list_options(case, catalogue)
    ]


_INSTEAD: Final = {
    "floor": ', and see on how little a line stands with compare --vary floor.width="3 m, 2.5 m"',
    "delivery": ", and ask for it as commercial.latest_delivery",
    "energy": ", and see what the options of each loop take with compare --sort energy",
}
"""What to do where something else than the price is to be least."""


@dataclass(frozen=True)
class GivenToLine:
    """What a line is answered with, however much of it a command shows."""

    catalogue: Path | None
    prices: Path | None
    time_limit: str | None
    least: str
    quiet: bool

    def flags(self) -> list[str]:
        """Flags that a saved answer goes without, of those that were given."""
        given = {
            "--catalogue": self.catalogue,
            "--prices": self.prices,
            "--time-limit": self.time_limit,
            "--least": self.least != "price",
        }
        return [flag for flag, value in given.items() if value]

    def refuse_least(self, path: Path) -> None:
        """Refuse another goal than the price.

        Raises
        ------
        InputError
            With what would do.
        """
        if self.least != "price":
            instead = _INSTEAD.get(self.least, "")
            raise InputError(
                f"{shown_path(path)}: holds a line of loops, for which only the price can be least,"
                f' as that alone is proven of all loops together (read: --least "'
                f'{shown(self.least)}"); leave --least out{instead}'
            )


def line_answer_of(
    path: Path,
    given_to: GivenToLine,
    *,
    in_brief: bool = False,
    about: Sequence[str] | None = (),
) -> "LineAnswer":
    """The answer to a line, or one that was saved.

    Parameters
    ----------
    path : Path
    given_to : GivenToLine
    in_brief : bool
        Whether no explanation is wanted.
    about : sequence of str, optional
        Options that are asked about in depth, each behind the name of its loop and a point; all of
        them if it is ``None``.
    """
    name = shown_path(path)
    if is_saved(path):
        flags = given_to.flags()
        if flags:
            raise InputError(
                f"{name}: a saved answer goes without {', '.join(flags)}; name the line"
            )
        from recommender.saved_line import read_saved_line

        return read_saved_line(path)
    given_to.refuse_least(path)
    from recommender.inputs.case import check_without
    from recommender.lines.reading import check_line_currency, read_line

    seconds = seconds_of(given_to.time_limit)
    line = read_line(path)
    found, price_list = priced_catalogue(given_to.catalogue, given_to.prices, quiet=given_to.quiet)
    check_line_currency(line, found.catalogue.currency, name)
    check_without(line.loops[0].case, found.items, name)
    from recommender.lines.recommend import recommend_line
    from recommender.views.progress import shown_progress

    with shown_progress(quiet=given_to.quiet) as report:
        answer = recommend_line(
            line, found, in_brief=in_brief, about=about, seconds=seconds, progress=report
        )
    if answer.unsettled:
        tell(
            f"not settled within the time limit: {'; '.join(answer.unsettled)}",
            quiet=given_to.quiet,
        )
    return replace(answer, prices=price_list)


def status_of(answer: "LineAnswer") -> int:
    """The exit status that belongs to an answer."""
    return DONE if answer.status == "recommended" else NONE_MEETS


def answer_line(
    path: Path,
    given: dict[str, str],
    *,
    brief: bool,
    everything: bool,
    save_to: Path | None,
    force: bool,
    as_json: bool,
    given_to: GivenToLine,
) -> int:
    """What ``answer`` does with a line."""
    from recommender.lines.result import line_as_json
    from recommender.lines.short import shortened_line
    from recommender.views.line import show_line, show_whole_line

    refuse_flags(path, given)
    if save_to is not None:
        refuse_target(save_to, force=force)
    answer = line_answer_of(
        path,
        given_to,
        in_brief=brief,
        about=None if everything or save_to is not None else (),
    )
    if save_to is not None:
        from recommender.files import write_whole

        write_whole(save_to, line_as_json(answer) + "\n", force=force)
        tell(f"wrote {shown_path(save_to)}", quiet=given_to.quiet)
    if as_json:
        print_text(line_as_json(answer if everything else shortened_line(answer)))
    else:
        with written_in(answer.units):
            (show_whole_line if everything else show_line)(console(), answer)
    return status_of(answer)


def why_line(
    path: Path,
    option: str,
    *,
    as_json: bool,
    given_to: GivenToLine,
) -> int:
    """What ``why`` does with a line: an option of one of its loops, in the line and by itself."""
    from recommender.results.answer import plain
    from recommender.views.line import show_line_option

    answer = line_answer_of(
        path,
        given_to,
        about=[option],
    )
    loop, found = find_in_line(answer, option)
    if as_json:
        known = next((entry for entry in loop.options if entry.id == found.id), None)
        instead = loop.instead if loop.instead and loop.instead.option == found.id else None
        print_json(
            {
                "loop": loop.name,
                "in_line": plain(known),
                "instead": plain(instead),
                "alone": plain(found),
            }
        )
    else:
        with written_in(answer.units):
            show_line_option(console(), answer, loop, found)
    return status_of(answer)


def check_line(path: Path, folder: Path | None, *, as_json: bool) -> int:
    """What ``case check`` does with a line."""
    from recommender.choice.decision.beforehand import cannot_work
    from recommender.inputs.case import check_without
    from recommender.lines.direct import variants
    from recommender.lines.reading import check_line_currency, read_line
    from recommender.lines.recommend import cases_of, understood
    from recommender.lines.whole import handovers_in
    from recommender.results.answer import plain
    from recommender.views.line import show_checked_line

    name = shown_path(path)
    line = read_line(path)
    catalogue, _ = priced_catalogue(folder, None, quiet=True)
    check_line_currency(line, catalogue.catalogue.currency, name)
    check_without(line.loops[0].case, catalogue.items, name)
    ways = variants(line, catalogue)
    faults = [
        f"{loop}.{fault}"
        for loop in line.names
        if all(cannot_work(way.cases[loop], catalogue) for way in ways)
        for fault in cannot_work(ways[-1].cases[loop], catalogue)
    ]
    handovers = [list(handovers_in(line, way.turns)) for way in ways]
    if faults:
        complain("\n".join(f"{name}: {fault}" for fault in faults))
    if as_json:
        told = {"line": understood(line), "cases": cases_of(line), "ways": plain(handovers)}
        print_json({**told, "faults": faults})
    else:
        rates = {loop: 60.0 * case.rate.items for loop, case in line.cases.items()}
        verdict = "no option can meet" if faults else "no fault found in"
        with written_in(line.units):
            show_checked_line(console(), f"{name}: {verdict} {line.title!r}", rates, handovers)
    return NONE_MEETS if faults else DONE


def find_in_line(answer: "LineAnswer", id_: str) -> "tuple[LoopResult, OptionResult]":
    """A loop and its option, which is named behind the loop and a point."""
    name, point, option = id_.partition(".")
    loop = answer.loop(name)
    known = [f"{one.name}.{entry.id}" for one in answer.loops for entry in one.alone.options]
    found = loop.alone.option(option) if loop is not None else None
    if loop is None or found is None:
        how = "" if point else "; an option of a line stands behind its loop"
        raise InputError(f"there is no option '{shown(id_)}'{how}; {nearest_ids(id_, known)}")
    return loop, found
