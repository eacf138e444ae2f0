"""The commands that read data: the catalogue, the cases, the evidence."""

import json
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from recommender.commands.case_new import case_new
from recommender.commands.common import (
    AsJson,
    CaseFile,
    CatalogueFolder,
    Quiet,
    read_case_of,
    read_catalogue_of,
)
from recommender.commands.completing import known_ids
from recommender.commands.group import Group, app
from recommender.commands.lines import check_line, holds_line
from recommender.faults import InputError, nearest_ids
from recommender.running import (
    DONE,
    NONE_MEETS,
    OUR_FAULT,
    complain,
    console,
    print_json,
    print_text,
    tell,
)
from recommender.shown import shown, shown_path

catalogue_app = app(
    name="catalogue",
    cls=Group,
    help="Validate and read the catalogue.",
    no_args_is_help=True,
    add_completion=False,
)
case_app = app(
    name="case",
    cls=Group,
    help="Begin a case, validate one, or list the worked ones.",
    no_args_is_help=True,
    add_completion=False,
)


def evidence_command(as_json: AsJson = False, quiet: Quiet = False) -> int:
    """Print the published values that the formulas reproduce, each with its source."""
    from recommender.evidence.report import evidence_report
    from recommender.results.answer import plain
    from recommender.views.evidence import show_evidence

    report = evidence_report()
    if as_json:
        print_json(plain(report))
    else:
        show_evidence(console(), report)
    return DONE if all(line.holds for line in report.published) else OUR_FAULT


class Document(StrEnum):
    """What there is a schema of."""

    CASE = "case"
    ANSWER = "answer"
    LINE = "line"
    LINE_ANSWER = "line-answer"


def schema_command(
    of: Annotated[
        Document,
        typer.Argument(
            metavar="case|answer|line|line-answer", help="Which document the schema is for."
        ),
    ],
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="File to write; stdout without it.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
    quiet: Quiet = False,
) -> int:
    """Write the JSON Schema of a case file, or of the answer's JSON; also for a line of loops."""
    from recommender import schemas
    from recommender.files import write_whole

    schema = {
        Document.CASE: schemas.case_schema,
        Document.ANSWER: schemas.answer_schema,
        Document.LINE: schemas.line_schema,
        Document.LINE_ANSWER: schemas.line_answer_schema,
    }[of]()
    if output is None:
        print_json(schema)
    else:
        write_whole(output, json.dumps(schema, ensure_ascii=False, indent=2) + "\n", force=force)
        tell(f"wrote {output}", quiet=quiet)
    return DONE


@catalogue_app.command("check")
def catalogue_check(
    catalogue: CatalogueFolder = None, as_json: AsJson = False, quiet: Quiet = False
) -> int:
    """Validate a catalogue."""
    from recommender.inputs.plausibility import doubts

    found = read_catalogue_of(catalogue)
    doubtful = doubts(found)
    if as_json:
        print_json(
            {
                "catalogue": found.catalogue.id,
                "digest": found.digest,
                "faults": [],
                "doubts": [{"ids": doubt.ids, "text": doubt.text} for doubt in doubtful],
            }
        )
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
    for doubt in doubtful:
        print_text(f"doubtful: {doubt.text}")
    return DONE


@catalogue_app.command("list")
def catalogue_list(
    catalogue: CatalogueFolder = None, as_json: AsJson = False, quiet: Quiet = False
) -> int:
    """List every part with its price."""
    from recommender.inputs.catalogue import PART_TABLES
    from recommender.views.catalogue import show_parts

    found = read_catalogue_of(catalogue)
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
    part: Annotated[
        str, typer.Argument(metavar="ID", help="Id of a part.", autocompletion=known_ids)
    ],
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Show everything that the catalogue says of one part."""
    from recommender.inputs.catalogue_entries import described
    from recommender.views.catalogue import show_part

    found = read_catalogue_of(catalogue)
    entry = found.entry(part)
    if entry is None:
        raise InputError(f"there is no part '{shown(part)}'; {nearest_ids(part, found.ids)}")
    if as_json:
        print_json(entry.model_dump(mode="json"))
    else:
        show_part(console(), described(entry, found.catalogue.currency))
    return DONE


@case_app.command("list")
def case_list(as_json: AsJson = False, quiet: Quiet = False) -> int:
    """List the worked cases that come with the program."""
    from recommender.inputs.files import shipped, toml_files
    from recommender.lines.reading import read_line
    from recommender.views.case import show_worked

    worked = {str(path): read_case_of(path).title for path in toml_files(shipped("cases"))}
    lines = toml_files(shipped("cases") / "lines")
    worked |= {str(path): read_line(path).title for path in lines}
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
    """Validate a case: what was understood, what it leaves open, what no option can meet.

    Of a line of loops it tells the rates that follow, and how long boxes stand for their units.
    """
    if holds_line(case):
        return check_line(case, catalogue, as_json=as_json)
    from dataclasses import asdict

    from recommender.choice.decision.beforehand import cannot_work
    from recommender.filling.questions import asked_of_customer
    from recommender.inputs.case import check_currency, check_without, make_case
    from recommender.inputs.files import read_toml
    from recommender.inputs.understood import understood
    from recommender.units import written_in

    data = read_toml(case)
    where = shown_path(case)
    found, parts = make_case(data, where), read_catalogue_of(catalogue)
    check_currency(found, parts.catalogue.currency, where)
    check_without(found, parts.items, where)
    faults = cannot_work(found, parts)
    read = [asdict(line) for line in understood(data, found)]
    with written_in(found.units):
        assumed = [asdict(line) for line in asked_of_customer(found)]
    if faults:
        complain("\n".join(f"{where}: {fault}" for fault in faults))
    if as_json:
        print_json(
            {
                "case": found.model_dump(mode="json"),
                "understood": read,
                "assumptions": assumed,
                "faults": faults,
            }
        )
    else:
        from recommender.views.case import show_checked

        verdict = "no option can meet" if faults else "no fault found in"
        show_checked(console(), f"{where}: {verdict} {found.title!r}", read, assumed)
    return NONE_MEETS if faults else DONE


case_app.command("new")(case_new)
