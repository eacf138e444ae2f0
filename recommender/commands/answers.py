"""The commands that answer a case: answer, compare, why, parts."""

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from recommender.commands.common import (
    AsJson,
    CaseFile,
    CatalogueFolder,
    Quiet,
    TimeLimit,
    known_options,
    read_case_of,
    read_catalogue_of,
    seconds_of,
)
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
    from recommender.inputs.case import Case
    from recommender.result import Answer, OptionResult

_FLAGS = {
    "load.mass": "--mass",
    "load.reach": "--reach",
    "load.cg_height": "--cg-height",
    "load.held": "--held",
    "rate.items": "--rate",
    "rate.per_carrier": "--per-carrier",
    "station": "--stations",
    "station.dwell": "--dwell",
    "life.hours": "--hours",
    "loop.max_length": "--max-length",
}
_USUAL_STATIONS = "load, unload"
_MOST_STATIONS = 24


def _answer(
    case: "Case",
    folder: Path | None,
    where: str,
    *,
    quiet: bool,
    in_brief: bool = False,
    in_depth_of: str | None = None,
    time_limit: str | None = None,
    about: Sequence[str] = (),
) -> "Answer":
    from recommender.choice.options import refuse_unknown
    from recommender.inputs.case import check_currency, check_without

    catalogue, seconds = read_catalogue_of(folder), seconds_of(time_limit)
    check_currency(case, catalogue.catalogue.currency, where)
    check_without(case, catalogue.items, where)
    refuse_unknown(about, case, catalogue)
    from recommender.recommend import recommend
    from recommender.views.progress import shown_progress

    with shown_progress(quiet=quiet) as report:
        return recommend(
            case,
            catalogue,
            in_brief=in_brief,
            in_depth_of=in_depth_of,
            seconds=seconds,
            progress=report,
        )


def _show(answer: "Answer", as_json: bool, view: Callable[..., None], *details: Any) -> int:
    """Print an answer and give the exit status that belongs to it."""
    from recommender.result import as_json as text_of

    if as_json:
        print_text(text_of(answer))
    else:
        with written_in(answer.units):
            view(console(), answer, *details)
    return _status(answer)


def _status(answer: "Answer") -> int:
    return DONE if answer.recommended else NONE_MEETS


def answer_command(
    case: Annotated[Path | None, typer.Argument(metavar="CASE", help="Case file (TOML).")] = None,
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
        typer.Option(help=f'Names along the travel, or how many; "{_USUAL_STATIONS}" unless said.'),
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
    time_limit: TimeLimit = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Recommend: the choice, why it is enough, and why every other option is not it."""
    from recommender.views.summary import show_summary
    from recommender.views.terminal import show_answer

    words = (mass, reach, cg_height, held, rate, per_carrier, stations, dwell, hours, max_length)
    given = {key: text for key, text in zip(_FLAGS, words, strict=True) if text is not None}
    where = shown_path(case) if case else "command line"
    answer = _answer(
        _asked(case, given),
        catalogue,
        where,
        quiet=quiet,
        in_brief=brief,
        time_limit=time_limit,
    )
    return _show(answer, as_json, show_answer if everything else show_summary)


def _asked(case: Path | None, given: dict[str, str]) -> "Case":
    """The case from a file, or from what was said on the command line."""
    from recommender.inputs.case import make_case

    if case is not None:
        if given:
            flags = ", ".join(_FLAGS[key] for key in given)
            raise InputError(
                f"{shown_path(case)}: a case file goes without {flags}; change the file instead"
            )
        return read_case_of(case)
    if not {"load.mass", "rate.items"} <= given.keys():
        raise InputError('name a case file, or give at least --mass "30 kg" and --rate "18/min"')
    data: dict[str, Any] = {"title": "Question on the command line"}
    if stations := _stations(given.pop("station", None), given.pop("station.dwell", None)):
        data["station"] = stations
    for key, text in given.items():
        table, name = key.split(".")
        data.setdefault(table, {})[name] = _READ.get(key, str)(text)
    try:
        return make_case(data, "command line")
    except InputError as error:
        message = re.sub(r"command line: station\[\d+\]", "command line: station", str(error))
        message = message.replace("command line: station.name ", "--stations: a name ")
        for key, flag in _FLAGS.items():
            message = re.sub(rf"command line: {key}(\[\d+\])? ", f"{flag} ", message)
        raise InputError("\n".join(dict.fromkeys(message.splitlines()))) from None


def _stations(names: str | None, dwell: str | None) -> list[dict[str, str]]:
    """Stations from their names, or how many there are, and their dwells."""
    if names is None and dwell is None:
        return []
    if dwell is None:
        raise InputError('--stations goes with --dwell, such as --dwell "1.5 s"')
    listed = [name.strip() for name in (names or _USUAL_STATIONS).split(",")]
    if len(listed) == 1 and listed[0].isdecimal():
        count = int(listed[0])
        listed = [f"station {number + 1}" for number in range(count)]
        if not 1 <= count <= _MOST_STATIONS:
            raise InputError(f"--stations must be 1 to {_MOST_STATIONS} (read: {count})")
    # A comma between digits belongs to a number, whose refusal says so.
    dwells = [text.strip() for text in re.split(r",(?!\d)", dwell)]
    dwells = dwells * len(listed) if len(dwells) == 1 else dwells
    if len(dwells) != len(listed):
        raise InputError(
            f"--dwell has {len(dwells)} entries for {len(listed)} stations; give one for all, or"
            " one for each"
        )
    return [{"name": name, "dwell": text} for name, text in zip(listed, dwells, strict=True)]


def _whole_numbers(text: str) -> list[Any]:
    entries = [entry.strip() for entry in text.split(",")]
    return [int(entry) if entry.isdecimal() else entry for entry in entries]


def _plain_number(text: str) -> Any:
    try:
        return float(text)
    except ValueError:
        return text


_READ: dict[str, Callable[[str], Any]] = {
    "rate.per_carrier": _whole_numbers,
    "life.hours": _plain_number,
}


def compare_command(
    case: CaseFile,
    options: Annotated[
        list[str] | None,
        typer.Argument(metavar="OPTION", help="Options to compare.", autocompletion=known_options),
    ] = None,
    time_limit: TimeLimit = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Compare the shortlist side by side, or the options that are named."""
    from recommender.result import plain
    from recommender.views.terminal import ordered, show_comparison

    answer = _answer(
        read_case_of(case),
        catalogue,
        shown_path(case),
        quiet=quiet,
        time_limit=time_limit,
        about=options or (),
    )
    chosen = [_find(answer, id_) for id_ in options or []] or ordered(answer.options)[:3]
    if as_json:
        print_json(plain(chosen))
        return _status(answer)
    return _show(answer, False, show_comparison, chosen)


def why_command(
    case: CaseFile,
    option: Annotated[
        str, typer.Argument(metavar="OPTION", help="Id of an option.", autocompletion=known_options)
    ],
    time_limit: TimeLimit = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Show one option in depth: every check, what conflicts, what would have to give."""
    from recommender.result import plain
    from recommender.views.terminal import show_option

    answer = _answer(
        read_case_of(case),
        catalogue,
        shown_path(case),
        quiet=quiet,
        in_depth_of=option,
        time_limit=time_limit,
        about=[option],
    )
    found = _find(answer, option)
    if as_json:
        print_json(plain(found))
        return _status(answer)
    return _show(answer, False, show_option, found)


def parts_command(
    case: CaseFile,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="File to write: .csv or .json.")
    ] = None,
    option: Annotated[
        str | None, typer.Option(help="Another option that works.", autocompletion=known_options)
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
    time_limit: TimeLimit = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """List the bill of materials of the recommended option, or of another that works."""
    from recommender.files import refuse_existing, write_whole
    from recommender.views.layout import fitting
    from recommender.views.tables import parts_csv, parts_json
    from recommender.views.terminal import parts_table

    writers = {".csv": parts_csv, ".json": parts_json}
    writer = writers.get(output.suffix.lower()) if output is not None else None
    if output is not None:
        if writer is None:
            raise InputError(f"{shown_path(output)}: the name must end in {' or '.join(writers)}")
        refuse_existing(output, force=force)
    answer = _answer(
        read_case_of(case),
        catalogue,
        shown_path(case),
        quiet=quiet,
        in_brief=True,
        time_limit=time_limit,
        about=[option] if option else (),
    )
    found = _find(answer, option) if option else answer.choice
    if found is None:
        complain(f"{shown_path(case)}: no option meets this case, so there are no parts")
        if as_json:
            print_json([])
        return NONE_MEETS
    if not found.parts:
        raise InputError(f"{found.id} does not meet this case, so it has no parts")
    if output is not None and writer is not None:
        write_whole(output, writer(found.parts), force=force)
        tell(f"wrote {shown_path(output)}", quiet=quiet)
    if as_json:
        print_text(parts_json(found.parts))
    elif output is None:
        out = console()
        out.print(fitting(parts_table(found.parts, found.currency), out.width))
    return DONE


def _find(answer: "Answer", id_: str) -> "OptionResult":
    found = answer.option(id_)
    if found is None:
        known = [option.id for option in answer.options]
        raise InputError(f"there is no option '{shown(id_)}'; {nearest_ids(id_, known)}")
    return found
