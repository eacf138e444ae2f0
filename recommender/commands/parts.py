"""The command that lists parts."""

from pathlib import Path
from typing import Annotated

import typer

from recommender.commands.answers import find
from recommender.commands.common import (
    AsJson,
    CatalogueFolder,
    Force,
    Least,
    Prices,
    Quiet,
    TimeLimit,
)
from recommender.commands.completing import known_options
from recommender.commands.line_files import parts_of_line
from recommender.commands.lines import GivenToLine, holds_line
from recommender.commands.saved import Asked, answer_of
from recommender.commands.writing import parts_writers, writer_of
from recommender.faults import InputError
from recommender.running import (
    DONE,
    NONE_MEETS,
    complain,
    console,
    print_json,
    print_text,
)
from recommender.shown import shown_path


def parts_command(
    case: Asked,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="File to write: .xlsx, .csv or .json."),
    ] = None,
    option: Annotated[
        str | None, typer.Option(help="Another option that works.", autocompletion=known_options)
    ] = None,
    force: Force = False,
    least: Least = "price",
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """List the bill of materials of the recommended option, or of another that works.

    Of a line of loops --option units.ID is an order for that loop alone.

    Example: recommender parts cases/crate.toml -o parts.xlsx
    """
    if holds_line(case):
        return parts_of_line(
            case,
            output,
            option,
            force=force,
            as_json=as_json,
            given_to=GivenToLine(catalogue, prices, time_limit, least, quiet),
        )
    from recommender.views.layout import fitting
    from recommender.views.tables import parts_json
    from recommender.views.terminal import parts_table

    write = writer_of(output, parts_writers(), force=force, quiet=quiet)
    answer = answer_of(
        case,
        catalogue=catalogue,
        prices=prices,
        quiet=quiet,
        in_brief=True,
        least=least,
        time_limit=time_limit,
        about=[option] if option else (),
        nearest=None if option else 0,
    )
    found = find(answer, option) if option else answer.choice
    if found is None:
        what = "was found that meets" if answer.unsettled else "meets"
        complain(f"{shown_path(case)}: no option {what} this case, so there are no parts")
        if as_json:
            print_json([])
        return NONE_MEETS
    if not found.parts and found.verdict == "undecided":
        complain(f"{found.id}: {found.reason}")
        return NONE_MEETS
    if not found.parts:
        raise InputError(f"{found.id} does not meet this case, so it has no parts")
    write((answer, found))
    if as_json:
        print_text(parts_json(found.parts))
    elif output is None:
        out = console()
        out.print(fitting(parts_table(found.parts, found.currency), out.width))
    return DONE
