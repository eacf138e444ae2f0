"""Commands: parse, call, print; no engineering.

What a command needs is imported when it runs, so that help and refusals come at once.
"""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from recommender.inputs.errors import InputError
from recommender.running import (
    DONE,
    NONE_MEETS,
    OUR_FAULT,
    complain,
    console,
    finish,
    nearest,
    print_json,
    print_text,
    tell,
)

if TYPE_CHECKING:
    from recommender.answer import Answer, OptionResult
    from recommender.inputs.case import Case
    from recommender.inputs.catalogue import Catalogue

app = typer.Typer(
    name="recommender",
    help="Finds the cheapest carriers and loop for a load, a reach and a rate, and says why.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
catalogue_app = typer.Typer(help="Validate and read the catalogue.", no_args_is_help=True)
case_app = typer.Typer(help="Validate a case, or list the worked ones.", no_args_is_help=True)
app.add_typer(catalogue_app, name="catalogue")
app.add_typer(case_app, name="case")

CatalogueFolder = Annotated[
    Path | None, typer.Option("--catalogue", metavar="DIR", help="Folder of catalogue files.")
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document and nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="No messages but those about faults.")]
CaseFile = Annotated[Path, typer.Argument(metavar="CASE", help="Case file (TOML).")]

_FLAGS = {
    "load.mass": "--mass",
    "load.reach": "--reach",
    "load.held": "--held",
    "rate.items": "--rate",
    "loop.max_length": "--max-length",
}


def run() -> NoReturn:
    """Run the command line; bad input ends with one message and status 2."""
    sys.exit(finish(lambda: app(prog_name="recommender", standalone_mode=False)))


def _show_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import PackageNotFoundError, version

        try:
            print_text(f"recommender {version('recommender')}")
        except PackageNotFoundError:
            print_text("recommender, not installed")
        raise typer.Exit


@app.callback()
def _everywhere(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_show_version, is_eager=True, help="Show the version and stop."
        ),
    ] = False,
) -> None:
    pass


def _catalogue(folder: Path | None) -> "Catalogue":
    from recommender.inputs.catalogue import read_catalogue
    from recommender.inputs.files import shipped

    return read_catalogue(folder or shipped("catalog"))


def _answer(
    case: "Case",
    folder: Path | None,
    where: str,
    *,
    quiet: bool,
    in_brief: bool = False,
    in_depth_of: str | None = None,
) -> "Answer":
    from recommender.inputs.case import check_currency
    from recommender.recommend import recommend
    from recommender.views.progress import shown_progress

    catalogue = _catalogue(folder)
    check_currency(case, catalogue.catalogue.currency, where)
    with shown_progress(quiet=quiet) as report:
        return recommend(
            case, catalogue, in_brief=in_brief, in_depth_of=in_depth_of, progress=report
        )


def _read(path: Path) -> "Case":
    from recommender.inputs.case import read_case

    return read_case(path)


def _show(answer: "Answer", as_json: bool, view: Callable[..., None], *details: Any) -> int:
    """Print an answer and give the exit status that belongs to it."""
    from recommender.answer import as_json as text_of

    if as_json:
        print_text(text_of(answer))
    else:
        view(console(), answer, *details)
    return _status(answer)


def _status(answer: "Answer") -> int:
    return DONE if answer.recommended else NONE_MEETS


@app.command("answer")
def answer_command(
    case: Annotated[Path | None, typer.Argument(metavar="CASE", help="Case file (TOML).")] = None,
    mass: Annotated[str | None, typer.Option(help='Mass of an item, such as "30 kg".')] = None,
    reach: Annotated[str | None, typer.Option(help='Its reach, such as "200 mm".')] = None,
    rate: Annotated[str | None, typer.Option(help='Items a minute, such as "18/min".')] = None,
    held: Annotated[str | None, typer.Option(help="friction, nested or clamped.")] = None,
    max_length: Annotated[str | None, typer.Option(help='Longest guide, such as "8 m".')] = None,
    brief: Annotated[
        bool, typer.Option("--brief", help="Leave out what would have to give; quicker.")
    ] = False,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Recommend: the choice, why it is enough, and why every other option is not it."""
    from recommender.views.terminal import show_answer

    asked = zip(_FLAGS, (mass, reach, held, rate, max_length), strict=True)
    given = {key: text for key, text in asked if text is not None}
    where = str(case or "command line")
    answer = _answer(_asked(case, given), catalogue, where, quiet=quiet, in_brief=brief)
    return _show(answer, as_json, show_answer)


def _asked(case: Path | None, given: dict[str, str]) -> "Case":
    """The case from a file, or from what was said on the command line."""
    from recommender.inputs.case import make_case

    if case is not None:
        if given:
            flags = ", ".join(_FLAGS[key] for key in given)
            raise InputError(f"{case}: a case file goes without {flags}; change the file instead")
        return _read(case)
    if not {"load.mass", "rate.items"} <= given.keys():
        raise InputError('name a case file, or give at least --mass "30 kg" and --rate "18/min"')
    data: dict[str, Any] = {"title": "Question on the command line"}
    for key, text in given.items():
        table, name = key.split(".")
        data.setdefault(table, {})[name] = text
    try:
        return make_case(data, "command line")
    except InputError as error:
        message = str(error)
        for key, flag in _FLAGS.items():
            message = message.replace(f"command line: {key} ", f"{flag} ")
        raise InputError(message) from None


@app.command("compare")
def compare_command(
    case: CaseFile,
    options: Annotated[
        list[str] | None, typer.Argument(metavar="OPTION", help="Options to compare.")
    ] = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Compare the shortlist side by side, or the options that are named."""
    from recommender.answer import plain
    from recommender.views.terminal import ordered, show_comparison

    answer = _answer(_read(case), catalogue, str(case), quiet=quiet)
    chosen = [_find(answer, id_) for id_ in options or []] or ordered(answer.options)[:3]
    if as_json:
        print_json(plain(chosen))
        return _status(answer)
    return _show(answer, False, show_comparison, chosen)


@app.command("why")
def why_command(
    case: CaseFile,
    option: Annotated[str, typer.Argument(metavar="OPTION", help="Id of an option.")],
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Show one option in depth: every check, what conflicts, what would have to give."""
    from recommender.answer import plain
    from recommender.views.terminal import show_option

    answer = _answer(_read(case), catalogue, str(case), quiet=quiet, in_depth_of=option)
    found = _find(answer, option)
    if as_json:
        print_json(plain(found))
        return _status(answer)
    return _show(answer, False, show_option, found)


@app.command("parts")
def parts_command(
    case: CaseFile,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="File to write: .csv or .json.")
    ] = None,
    option: Annotated[str | None, typer.Option(help="Another option that works.")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """List the bill of materials of the recommended option, or of another that works."""
    from recommender.files import refuse_existing, write_whole
    from recommender.views.tables import parts_csv, parts_json
    from recommender.views.terminal import parts_table

    writers = {".csv": parts_csv, ".json": parts_json}
    writer = writers.get(output.suffix.lower()) if output is not None else None
    if output is not None:
        if writer is None:
            raise InputError(f"{output}: the name must end in {' or '.join(writers)}")
        refuse_existing(output, force=force)
    answer = _answer(_read(case), catalogue, str(case), quiet=quiet, in_brief=True)
    found = _find(answer, option) if option else answer.choice
    if found is None:
        complain(f"{case}: no option meets this case, so there are no parts")
        if as_json:
            print_json([])
        return NONE_MEETS
    if not found.parts:
        raise InputError(f"{found.id} does not meet this case, so it has no parts")
    if output is not None and writer is not None:
        write_whole(output, writer(found.parts), force=force)
        tell(f"wrote {output}", quiet=quiet)
    if as_json:
        print_text(parts_json(found.parts))
    elif output is None:
        console().print(parts_table(found.parts, found.currency))
    return DONE


def _find(answer: "Answer", id_: str) -> "OptionResult":
    found = answer.option(id_)
    if found is None:
        known = [option.id for option in answer.options]
        raise InputError(f"there is no option {id_!r}; {nearest(id_, known)}")
    return found


@app.command("evidence")
def evidence_command(as_json: AsJson = False, quiet: Quiet = False) -> int:
    """Print the published values that the formulas reproduce, each with its source."""
    from recommender.answer import plain
    from recommender.evidence.report import evidence_report
    from recommender.views.evidence import show_evidence

    report = evidence_report()
    if as_json:
        print_json(plain(report))
    else:
        show_evidence(console(), report)
    return DONE if all(line.holds for line in report.published) else OUR_FAULT


@catalogue_app.command("check")
def catalogue_check(
    catalogue: CatalogueFolder = None, as_json: AsJson = False, quiet: Quiet = False
) -> int:
    """Validate a catalogue."""
    found = _catalogue(catalogue)
    if as_json:
        print_json({"catalogue": found.catalogue.id, "digest": found.digest, "faults": []})
        return DONE
    counts = ", ".join(
        f"{len(entries)} {what}"
        for what, entries in (
            ("carriers", found.carrier),
            ("bends", found.bend),
            ("straights", found.straight),
            ("supplies", found.supply),
        )
    )
    print_text(f"{found.catalogue.id}: {counts}; no fault found")
    return DONE


@catalogue_app.command("list")
def catalogue_list(
    catalogue: CatalogueFolder = None, as_json: AsJson = False, quiet: Quiet = False
) -> int:
    """List every part with its price."""
    from recommender.inputs.catalogue import PART_TABLES
    from recommender.views.catalogue import show_parts

    found = _catalogue(catalogue)
    parts = [
        {"table": table, **part.model_dump(mode="json", include=_LISTED)}
        for table in PART_TABLES
        for part in getattr(found, table)
    ]
    if as_json:
        print_json(parts)
    else:
        show_parts(console(), parts, found.catalogue.currency)
    return DONE


_LISTED = {"id", "description", "price", "lead_time"}


@catalogue_app.command("show")
def catalogue_show(
    part: Annotated[str, typer.Argument(metavar="ID", help="Id of a part.")],
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Show everything that the catalogue says of one part."""
    from recommender.inputs.catalogue_entries import described
    from recommender.views.catalogue import show_part

    found = _catalogue(catalogue)
    entry = found.entry(part)
    if entry is None:
        raise InputError(f"there is no part {part!r}; {nearest(part, found.ids)}")
    if as_json:
        print_json(entry.model_dump(mode="json"))
    else:
        show_part(console(), described(entry, found.catalogue.currency))
    return DONE


@case_app.command("list")
def case_list(as_json: AsJson = False, quiet: Quiet = False) -> int:
    """List the worked cases that come with the program."""
    from recommender.inputs.files import shipped
    from recommender.views.case import show_worked

    worked = {str(path): _read(path).title for path in sorted(shipped("cases").glob("*.toml"))}
    if as_json:
        print_json([{"file": file, "title": title} for file, title in worked.items()])
    else:
        show_worked(console(), worked)
    return DONE


@case_app.command("check")
def case_check(
    case: CaseFile,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Validate a case and list what it leaves open."""
    from dataclasses import asdict

    from recommender.inputs.case import assumptions, check_currency
    from recommender.views.case import show_assumed

    found = _read(case)
    check_currency(found, _catalogue(catalogue).catalogue.currency, str(case))
    assumed = [asdict(line) for line in assumptions(found)]
    if as_json:
        print_json({"case": found.model_dump(mode="json"), "assumptions": assumed, "faults": []})
    else:
        show_assumed(console(), f"{case}: no fault found in {found.title!r}", assumed)
    return DONE
