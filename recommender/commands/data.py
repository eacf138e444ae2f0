"""The commands that read data: the catalogue, the cases, the evidence."""

from typing import Annotated

import typer

from recommender.commands.common import (
    AsJson,
    CaseFile,
    CatalogueFolder,
    Quiet,
    read_case_of,
    read_catalogue_of,
)
from recommender.inputs.errors import InputError
from recommender.running import DONE, OUR_FAULT, console, nearest, print_json, print_text

catalogue_app = typer.Typer(help="Validate and read the catalogue.", no_args_is_help=True)
case_app = typer.Typer(help="Validate a case, or list the worked ones.", no_args_is_help=True)


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
    found = read_catalogue_of(catalogue)
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
    part: Annotated[str, typer.Argument(metavar="ID", help="Id of a part.")],
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

    files = sorted(shipped("cases").glob("*.toml"))
    worked = {str(path): read_case_of(path).title for path in files}
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
    from recommender.answer import plain
    from recommender.inputs.case import check_currency
    from recommender.questions import asked_of_customer
    from recommender.units import written_in
    from recommender.views.case import show_assumed

    found = read_case_of(case)
    check_currency(found, read_catalogue_of(catalogue).catalogue.currency, str(case))
    with written_in(found.units):
        assumed = [plain(line) for line in asked_of_customer(found)]
    if as_json:
        print_json({"case": found.model_dump(mode="json"), "assumptions": assumed, "faults": []})
    else:
        show_assumed(console(), f"{case}: no fault found in {found.title!r}", assumed)
    return DONE
