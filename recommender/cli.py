"""Commands: parse, call, print; no engineering.

What a command needs is imported when it runs, so that help and refusals come at once.
"""

import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from recommender.inputs.errors import InputError

if TYPE_CHECKING:
    from rich.console import Console

    from recommender.answer import Answer, OptionResult
    from recommender.inputs.case import Case
    from recommender.inputs.catalogue import Catalogue

BAD_INPUT = 2
NONE_MEETS = 3
OUR_FAULT = 1

app = typer.Typer(
    help="Finds the cheapest carriers and loop for a load, a reach and a rate, and says why.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
catalogue_app = typer.Typer(help="Validate and read the catalogue.", no_args_is_help=True)
case_app = typer.Typer(help="Validate a case.", no_args_is_help=True)
app.add_typer(catalogue_app, name="catalogue")
app.add_typer(case_app, name="case")

CatalogueFolder = Annotated[
    Path | None, typer.Option("--catalogue", metavar="DIR", help="Folder of catalogue files.")
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document and nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="No messages about progress.")]
CaseFile = Annotated[Path, typer.Argument(metavar="CASE", help="Case file (TOML).")]


def run() -> NoReturn:
    """Run the command line; bad input ends with one message and status 2."""
    try:
        status = app(standalone_mode=False)
    except InputError as error:
        _complain(str(error))
        status = BAD_INPUT
    except BrokenPipeError:
        status = 0
    except Exception as error:
        status = _from_parser(error)
    sys.exit(status if isinstance(status, int) else 0)


def _from_parser(error: Exception) -> int:
    """Status for what the command line's parser refused, or for a fault of ours."""
    if hasattr(error, "format_message") and hasattr(error, "exit_code"):
        _complain(error.format_message())
        return BAD_INPUT
    if isinstance(error, typer.Abort):
        return OUR_FAULT
    _complain(f"a fault of this program: {type(error).__name__}: {error}")
    return OUR_FAULT


def _complain(message: str) -> None:
    sys.stderr.write("".join(f"recommender: {line}\n" for line in message.splitlines()))


def _catalogue(folder: Path | None) -> "Catalogue":
    from recommender.inputs.catalogue import read_catalogue
    from recommender.inputs.files import shipped

    return read_catalogue(folder or shipped("catalog"))


def _answer(case: "Case", folder: Path | None) -> "Answer":
    from recommender.recommend import recommend

    return recommend(case, _catalogue(folder))


def _read(path: Path) -> "Case":
    from recommender.inputs.case import read_case

    return read_case(path)


def _console() -> "Console":
    from rich.console import Console

    return Console(highlight=False)


def _show(answer: "Answer", as_json: bool, view: Callable[..., None], *details: Any) -> int:
    """Print an answer and give the exit status that belongs to it."""
    from recommender.answer import as_json as text_of

    if as_json:
        sys.stdout.write(text_of(answer) + "\n")
    else:
        view(_console(), answer, *details)
    return 0 if answer.recommended else NONE_MEETS


@app.command("answer")
def answer_command(
    case: Annotated[Path | None, typer.Argument(metavar="[CASE]", help="Case file (TOML).")] = None,
    mass: Annotated[str | None, typer.Option(help='Mass of an item, such as "30 kg".')] = None,
    reach: Annotated[str | None, typer.Option(help='Its reach, such as "200 mm".')] = None,
    rate: Annotated[str | None, typer.Option(help='Items a minute, such as "18/min".')] = None,
    held: Annotated[str | None, typer.Option(help="friction, nested or clamped.")] = None,
    max_length: Annotated[str | None, typer.Option(help='Longest guide, such as "8 m".')] = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Recommend: the choice, why it is enough, and why every other option is not it."""
    from recommender.views.terminal import show_answer

    asked = {"mass": mass, "reach": reach, "rate": rate, "held": held, "max_length": max_length}
    given = {name: text for name, text in asked.items() if text is not None}
    return _show(_answer(_asked(case, given), catalogue), as_json, show_answer)


def _asked(case: Path | None, given: dict[str, str]) -> "Case":
    """The case from a file, or from what was said on the command line."""
    from recommender.inputs.case import make_case

    if case is not None:
        if given:
            flags = ", ".join(f"--{name.replace('_', '-')}" for name in given)
            raise InputError(f"{case}: a case file goes without {flags}; change the file instead")
        return _read(case)
    if not {"mass", "rate"} <= given.keys():
        raise InputError('name a case file, or give at least --mass "30 kg" and --rate "18/min"')
    load = {key: given[key] for key in ("mass", "reach", "held") if key in given}
    data: dict[str, Any] = {
        "title": "Question on the command line",
        "load": load,
        "rate": {"items": given["rate"]},
    }
    if "max_length" in given:
        data["loop"] = {"max_length": given["max_length"]}
    return make_case(data, "command line")


@app.command("compare")
def compare_command(
    case: CaseFile,
    options: Annotated[
        list[str] | None, typer.Argument(metavar="[OPTION]...", help="Options to compare.")
    ] = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Compare the shortlist side by side, or the options that are named."""
    from recommender.views.terminal import ordered, show_comparison

    answer = _answer(_read(case), catalogue)
    chosen = [_find(answer, id_) for id_ in options or []] or ordered(answer.options)[:3]
    if as_json:
        return _print_json(chosen, answer)
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
    from recommender.views.terminal import show_option

    answer = _answer(_read(case), catalogue)
    found = _find(answer, option)
    if as_json:
        return _print_json(found, answer)
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
    from recommender.files import write_whole
    from recommender.views.tables import parts_csv, parts_json
    from recommender.views.terminal import parts_table

    writers = {".csv": parts_csv, ".json": parts_json}
    if output is not None and output.suffix not in writers:
        raise InputError(f"{output}: the name must end in {' or '.join(writers)}")
    answer = _answer(_read(case), catalogue)
    found = _find(answer, option) if option else answer.choice
    if found is None:
        _complain(f"{case}: no option meets this case, so there are no parts")
        return NONE_MEETS
    if not found.parts:
        raise InputError(f"{found.id} does not meet this case, so it has no parts")
    if output is not None:
        write_whole(output, writers[output.suffix](found.parts), force=force)
        if not quiet:
            sys.stderr.write(f"wrote {output}\n")
    elif as_json:
        sys.stdout.write(parts_json(found.parts) + "\n")
    else:
        _console().print(parts_table(found.parts, found.currency))
    return 0


def _find(answer: "Answer", id_: str) -> "OptionResult":
    found = answer.option(id_)
    if found is None:
        nearest = _nearest(id_, [option.id for option in answer.options])
        raise InputError(f"there is no option {id_!r}; the nearest is {nearest}")
    return found


def _nearest(id_: str, known: Iterable[str]) -> str:
    import difflib

    ids = list(known)
    return (difflib.get_close_matches(id_, ids, n=1, cutoff=0.0) or ids)[0]


def _print_json(value: Any, answer: "Answer") -> int:
    import json

    from recommender.answer import plain

    sys.stdout.write(json.dumps(plain(value), ensure_ascii=False, indent=2) + "\n")
    return 0 if answer.recommended else NONE_MEETS


@app.command("evidence")
def evidence_command(as_json: AsJson = False, quiet: Quiet = False) -> int:
    """Print the published values that the formulas reproduce, each with its source."""
    from recommender.answer import plain
    from recommender.evidence.report import evidence_report
    from recommender.views.evidence import show_evidence

    report = evidence_report()
    if as_json:
        _print_plain(plain(report))
    else:
        show_evidence(_console(), report)
    return 0 if all(line.holds for line in report.published) else OUR_FAULT


@catalogue_app.command("check")
def catalogue_check(catalogue: CatalogueFolder = None, quiet: Quiet = False) -> int:
    """Validate a catalogue."""
    found = _catalogue(catalogue)
    if not quiet:
        sys.stderr.write(
            f"{found.catalogue.id}: {len(found.carrier)} carriers, {len(found.bend)} bends, "
            f"{len(found.supply)} supplies; no fault found\n"
        )
    return 0


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
        return _print_plain(parts)
    show_parts(_console(), parts, found.catalogue.currency)
    return 0


_LISTED = {"id", "description", "price", "lead_time"}


@catalogue_app.command("show")
def catalogue_show(
    part: Annotated[str, typer.Argument(metavar="ID", help="Id of a part.")],
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Show everything that the catalogue says of one part, in SI units."""
    from recommender.inputs.catalogue import ID_TABLES
    from recommender.views.catalogue import show_part

    found = _catalogue(catalogue)
    entries = {
        entry.id: entry.model_dump(mode="json")
        for table in ID_TABLES
        for entry in getattr(found, table)
    }
    if part not in entries:
        raise InputError(f"there is no part {part!r}; the nearest is {_nearest(part, entries)}")
    if as_json:
        return _print_plain(entries[part])
    show_part(_console(), entries[part])
    return 0


def _print_plain(value: Any) -> int:
    import json

    sys.stdout.write(json.dumps(value, ensure_ascii=False, indent=2) + "\n")
    return 0


@case_app.command("check")
def case_check(case: CaseFile, quiet: Quiet = False) -> int:
    """Validate a case and list what it leaves open."""
    from recommender.inputs.case import assumptions

    found = _read(case)
    if not quiet:
        sys.stderr.write(f"{case}: no fault found in {found.title!r}\n")
        for line in assumptions(found):
            sys.stderr.write(f"  assumed {line.key} = {line.value}: {line.why}\n")
    return 0
