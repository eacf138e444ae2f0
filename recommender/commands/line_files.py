"""Lines of loops in the commands that write files: parts, plan and sheet."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.lines import GivenToLine, find_in_line, line_answer_of, status_of
from recommender.commands.writing import parts_writers, writer_of
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, complain, console, print_json, print_text, tell
from recommender.shown import shown, shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from recommender.drawing.shapes import Drawing
    from recommender.lines.result import LineAnswer, LoopResult
    from recommender.results.answer import OptionResult


def parts_of_line(
    path: Path,
    output: Path | None,
    option: str | None,
    *,
    force: bool,
    as_json: bool,
    given_to: GivenToLine,
) -> int:
    """What ``parts`` does with a line."""
    from recommender.views.line import show_line_parts
    from recommender.views.line_tables import line_parts_csv, line_parts_json, line_parts_xlsx

    if option is not None:
        return _parts_of_option(path, output, option, given_to, force=force, as_json=as_json)
    writers: dict[str, Callable[[LineAnswer], str | bytes]] = {
        ".xlsx": line_parts_xlsx,
        ".csv": line_parts_csv,
        ".json": line_parts_json,
    }
    write = writer_of(output, writers, force=force, quiet=given_to.quiet)
    answer = line_answer_of(
        path,
        given_to,
        in_brief=True,
    )
    if answer.status != "recommended":
        complain(f"{shown_path(path)}: no line meets this case, so there are no parts")
        if as_json:
            print_json([])
        return NONE_MEETS
    write(answer)
    if as_json:
        print_text(line_parts_json(answer))
    elif output is None:
        show_line_parts(console(), answer)
    return DONE


def plan_of_line(
    path: Path,
    output: Path,
    option: str | None,
    writer: "Callable[[Drawing], str | bytes]",
    *,
    force: bool,
    given_to: GivenToLine,
) -> int:
    """What ``plan`` does with a line: all loops side by side."""
    from recommender.files import write_whole

    answer = line_answer_of(
        path,
        given_to,
        in_brief=True,
    )
    if option is not None:
        from recommender.drawing.plan import plan_of

        loop, found = _option_of(answer, option, "plan", given_to)
        with written_in(loop.alone.units):
            drawing = plan_of(found)
        write_whole(output, writer(drawing), force=force)
        tell(f"wrote {shown_path(output)}", quiet=given_to.quiet)
        return DONE
    if answer.status != "recommended":
        complain(f"{shown_path(path)}: no line meets this case, so there is nothing to draw")
        return NONE_MEETS
    from recommender.drawing.line_plan import line_plan_of

    with written_in(answer.units):
        drawing = line_plan_of(answer)
    write_whole(output, writer(drawing), force=force)
    tell(f"wrote {shown_path(output)}", quiet=given_to.quiet)
    return DONE


def sheet_of_line(
    path: Path,
    output: Path,
    when: str,
    *,
    customer_only: bool,
    force: bool,
    given_to: GivenToLine,
) -> int:
    """What ``sheet`` does with a line."""
    from recommender.files import write_whole

    answer = line_answer_of(
        path,
        given_to,
        in_brief=customer_only,
    )
    from recommender.sheet.line import line_sheet_of
    from recommender.version import program_version

    page = line_sheet_of(answer, date=when, version=program_version(), customer_only=customer_only)
    write_whole(output, page, force=force)
    tell(f"wrote {shown_path(output)}", quiet=given_to.quiet)
    if answer.status != "recommended":
        complain(f"{shown_path(path)}: no line meets this enquiry; the sheet says why")
    return status_of(answer)


def _parts_of_option(
    path: Path,
    output: Path | None,
    option: str,
    given_to: GivenToLine,
    *,
    force: bool,
    as_json: bool,
) -> int:
    """The parts of an option of one loop, as an order for that loop alone."""
    from recommender.views.layout import fitting
    from recommender.views.tables import parts_json
    from recommender.views.terminal import parts_table

    write = writer_of(output, parts_writers(), force=force, quiet=given_to.quiet)
    answer = line_answer_of(path, given_to, in_brief=True)
    loop, found = _option_of(answer, option, "parts", given_to)
    write((loop.alone, found))
    if as_json:
        print_text(parts_json(found.parts))
    elif output is None:
        out = console()
        out.print(fitting(parts_table(found.parts, found.currency), out.width))
    return DONE


def _option_of(
    answer: "LineAnswer", option: str, what: str, given_to: GivenToLine
) -> "tuple[LoopResult, OptionResult]":
    """An option of one loop as it would be ordered by itself, which a message says.

    Raises
    ------
    InputError
        If there is no such option, or it does not work by itself.
    """
    loop, found = find_in_line(answer, option)
    if not found.parts or found.price is None:
        raise InputError(
            f"{shown(option)} does not meet the case of its loop by itself, so there is no {what};"
            f" why {shown(option)} says what fails"
        )
    tell(
        f"{shown(option)} as an order for {shown(loop.name)} alone; without --option it is the"
        " line",
        quiet=given_to.quiet,
    )
    return loop, found
