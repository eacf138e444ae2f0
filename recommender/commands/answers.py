"""The commands that answer a case: answer, compare, why, parts."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from recommender.commands.answering import answer_case, left_of
from recommender.commands.common import (
    AsJson,
    CatalogueFolder,
    Force,
    Least,
    Prices,
    Quiet,
    TimeLimit,
    priced_catalogue,
    read_case_of,
    seconds_of,
)
from recommender.commands.completing import known_options
from recommender.commands.lines import GivenToLine, answer_line, holds_line, why_line
from recommender.commands.one_line import FLAGS, USUAL_STATIONS, asked_case, refuse_flags
from recommender.commands.saved import Asked, answer_of, is_saved, refuse_target, save
from recommender.commands.writing import writer_of
from recommender.faults import InputError, nearest_ids
from recommender.running import (
    DONE,
    NONE_MEETS,
    console,
    print_json,
    print_text,
    tell,
)
from recommender.shown import shown, shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from recommender.comparison import Compared
    from recommender.results.answer import Answer, OptionResult


def _show(answer: "Answer", as_json: bool, view: Callable[..., None], *details: Any) -> int:
    """Print an answer and give the exit status that belongs to it."""
    from recommender.results.answer import as_json as text_of

    if as_json:
        print_text(text_of(answer))
    else:
        with written_in(answer.units):
            view(console(), answer, *details)
    return _status(answer)


def _status(answer: "Answer") -> int:
    return DONE if answer.recommended else NONE_MEETS


def answer_command(
    case: Annotated[
        Path | None,
        typer.Argument(metavar="CASE", help="Case file (TOML), or a saved answer (JSON)."),
    ] = None,
    mass: Annotated[
        str | None, typer.Option(help='Mass of an item in any unit, such as "30 kg" or "66 lb".')
    ] = None,
    reach: Annotated[str | None, typer.Option(help='Its reach, such as "200 mm".')] = None,
    cg_height: Annotated[
        str | None, typer.Option(help='Height of its centre of gravity, such as "140 mm".')
    ] = None,
    held: Annotated[
        str | None,
        typer.Option(
            help="friction, nested or clamped.",
            autocompletion=lambda: ["friction", "nested", "clamped"],
        ),
    ] = None,
    rate: Annotated[str | None, typer.Option(help='Items a minute, such as "18/min".')] = None,
    per_carrier: Annotated[
        str | None, typer.Option(help='Items that may share a carrier, such as "1, 2".')
    ] = None,
    stations: Annotated[
        str | None,
        typer.Option(help=f'Names along the travel, or how many; "{USUAL_STATIONS}" unless said.'),
    ] = None,
    dwell: Annotated[
        str | None,
        typer.Option(help='Dwell at all stations, such as "1.2 s", or of each: "1 s, 3 s, 1 s".'),
    ] = None,
    hours: Annotated[str | None, typer.Option(help="Life of the rollers in hours.")] = None,
    max_length: Annotated[str | None, typer.Option(help='Longest guide, such as "8 m".')] = None,
    brief: Annotated[
        bool, typer.Option("--brief", help="Leave out what would have to give; quicker.")
    ] = False,
    everything: Annotated[
        bool, typer.Option("--all", help="Every option, check, part and assumption by itself.")
    ] = False,
    least: Least = "price",
    save_to: Annotated[
        Path | None,
        typer.Option(
            "--save",
            metavar="FILE",
            help="Keep the answer in full, for other commands: a name that ends in .json.",
        ),
    ] = None,
    force: Force = False,
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Recommend: the choice, why it is enough, and why every other option is not it.

    The JSON of options that are not recommended is whole with --all only.

    Example: recommender answer cases/crate.toml --save crate.json
    """
    from recommender.results.answer import NEAREST, shortened
    from recommender.views.summary import show_summary
    from recommender.views.terminal import show_answer

    if save_to is not None:
        refuse_target(save_to, force=force)
    words = (mass, reach, cg_height, held, rate, per_carrier, stations, dwell, hours, max_length)
    given = {key: text for key, text in zip(FLAGS, words, strict=True) if text is not None}
    if case is not None and holds_line(case):
        return answer_line(
            case,
            given,
            brief=brief,
            everything=everything,
            save_to=save_to,
            force=force,
            as_json=as_json,
            given_to=GivenToLine(catalogue, prices, time_limit, least, quiet),
        )
    if case is not None and is_saved(case):
        refuse_flags(case, given)
        answer = answer_of(
            case,
            catalogue=catalogue,
            prices=prices,
            time_limit=time_limit,
            in_brief=True,
            least=least,
        )
    else:
        answer = answer_case(
            asked_case(case, given),
            catalogue,
            shown_path(case) if case else "command line",
            quiet=quiet,
            prices=prices,
            in_brief=brief,
            time_limit=time_limit,
            about=None if everything or save_to is not None else (),
            turning=save_to is not None,
            least=least,
            calculation=save_to is not None,
            shown_whole=True,
            nearest=None if everything or as_json or save_to is not None else NEAREST,
        )
    if save_to is not None:
        save(answer, save_to, force=force)
        tell(f"wrote {shown_path(save_to)}", quiet=quiet)
    if as_json and not everything:
        answer = shortened(answer)
    return _show(answer, as_json, show_answer if everything else show_summary)


def compare_command(
    case: Asked,
    options: Annotated[
        list[str] | None,
        typer.Argument(metavar="OPTION", help="Options to compare.", autocompletion=known_options),
    ] = None,
    least: Least = "price",
    sort: Annotated[
        str | None,
        typer.Option(
            metavar="BY",
            help="price, carriers, length, floor, delivery, energy or rate, the best first.",
        ),
    ] = None,
    only: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KIND",
            help="works, fails, a verdict, or the id of a family, carrier or bend; may be given"
            " several times.",
        ),
    ] = None,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            metavar='KEY="A, B, C"',
            help="What if: the choice for each value of a key of the case; once or twice.",
        ),
    ] = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="File to write: .xlsx, .csv or .json.")
    ] = None,
    force: Force = False,
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Compare the cheapest, smallest, soonest and most economical option, or those that are named.

    Where nothing works those are compared that the smallest concessions would help. Of a line of
    loops the options of each loop are compared by what the line costs with them.

    Example: recommender compare cases/crate.toml --sort energy --only works

    Example: recommender compare cases/crate.toml --vary load.mass="25 kg, 30 kg, 35 kg"
    """
    if (options or vary) and (sort or only or (options and vary)):
        raise InputError("name options, or give --sort and --only, or --vary: one of the three")
    if holds_line(case):
        from recommender.commands.line_compare import Wanted, compare_lines, line_what_if_command

        given_to = GivenToLine(catalogue, prices, time_limit, least, quiet)
        if vary:
            return line_what_if_command(case, vary, output, given_to, force=force, as_json=as_json)
        wanted = Wanted(options or (), sort, only or (), output, force, as_json)
        return compare_lines(case, wanted, given_to)
    from recommender.commands.shortlist import MOST_SIDE_BY_SIDE, picked
    from recommender.comparison import Compared
    from recommender.results.answer import plain
    from recommender.shown import json_text
    from recommender.views.comparison import show_comparison
    from recommender.views.comparison_tables import comparison_csv, comparison_xlsx

    if vary:
        from recommender.commands.what_if import what_if_command

        return what_if_command(
            case,
            vary,
            output,
            force=force,
            seconds=left_of(seconds_of(time_limit)),
            prices=prices,
            catalogue=catalogue,
            as_json=as_json,
            quiet=quiet,
        )
    writers: dict[str, Callable[[list[OptionResult]], str | bytes]] = {
        ".xlsx": lambda chosen: comparison_xlsx(answer, chosen),
        ".csv": lambda chosen: comparison_csv(answer, chosen),
        ".json": lambda chosen: json_text(plain(chosen)) + "\n",
    }
    write = writer_of(output, writers, force=force, quiet=quiet)
    answer = answer_of(
        case,
        catalogue=catalogue,
        prices=prices,
        quiet=quiet,
        time_limit=time_limit,
        least=least,
        about=options or (),
    )
    compared: Sequence[Compared]
    if options:
        compared = [Compared(find(answer, id_)) for id_ in options]
    elif sort or only:
        some = picked(answer, sort, only or ())
        compared = [Compared(option) for option in (some if only else some[:MOST_SIDE_BY_SIDE])]
    else:
        compared = _shortlist(answer, case, catalogue, prices, least, time_limit, quiet=quiet)
    write([entry.option for entry in compared])
    if as_json:
        told = [(plain(entry.option), list(entry.least), entry.proven) for entry in compared]
        print_json([{**data, "least": goals, "proven": sure} for data, goals, sure in told])
        return _status(answer)
    if output is not None:
        return _status(answer)
    if len(compared) > MOST_SIDE_BY_SIDE:
        tell(
            f"{MOST_SIDE_BY_SIDE} of {len(compared)} options are shown; -o FILE.xlsx holds all",
            quiet=quiet,
        )
        compared = compared[:MOST_SIDE_BY_SIDE]
    columns = (
        [getattr(entry, name) for entry in compared] for name in ("option", "least", "proven")
    )
    return _show(answer, False, show_comparison, *columns)


def _shortlist(
    answer: "Answer",
    asked: Path,
    folder: Path | None,
    prices: Path | None,
    least: str,
    time_limit: str | None,
    *,
    quiet: bool,
) -> "Sequence[Compared]":
    """What is compared where no option is named; of a saved answer what is in it."""
    from recommender.choice.deadline import ending_in
    from recommender.comparison import Compared, by_all_goals, filled_up, nearest
    from recommender.views.terminal import ordered

    if answer.choice is None:
        return filled_up([], nearest(answer))
    if is_saved(asked):
        goal = answer.least.goal if answer.least else "price"
        return filled_up([Compared(answer.choice, (goal,))], ordered(answer.options))
    if least != "price":
        return filled_up([Compared(answer.choice, (least,))], ordered(answer.options))
    catalogue, _ = priced_catalogue(folder, prices, quiet=True)
    with ending_in(left_of(seconds_of(time_limit))) as deadline:
        found = by_all_goals(answer, read_case_of(asked), catalogue)
    if deadline.cut:
        tell("not settled within the time limit: what has least of other goals", quiet=quiet)
    return filled_up(found, ordered(answer.options))


def why_command(
    case: Asked,
    option: Annotated[
        str, typer.Argument(metavar="OPTION", help="Id of an option.", autocompletion=known_options)
    ],
    least: Least = "price",
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Show one option in depth: every check, what conflicts, what would have to give.

    Of a line of loops an option is named behind its loop, as in units.std-92_arc-280_x1.
    """
    if holds_line(case):
        return why_line(
            case,
            option,
            as_json=as_json,
            given_to=GivenToLine(catalogue, prices, time_limit, least, quiet),
        )
    from recommender.results.answer import plain
    from recommender.views.terminal import show_option

    answer = answer_of(
        case,
        catalogue=catalogue,
        prices=prices,
        quiet=quiet,
        time_limit=time_limit,
        least=least,
        about=[option],
        turning=True,
    )
    found = find(answer, option)
    if as_json:
        print_json(plain(found))
        return _status(answer)
    return _show(answer, False, show_option, found)


def find(answer: "Answer", id_: str) -> "OptionResult":
    found = answer.option(id_)
    if found is None:
        known = [option.id for option in answer.options]
        raise InputError(f"there is no option '{shown(id_)}'; {nearest_ids(id_, known)}")
    return found
