"""The command that lists parts."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from recommender.commands.answers import find
from recommender.commands.common import (
    AsJson,
    CatalogueFolder,
    Force,
    Prices,
    Quiet,
    TimeLimit,
    known_options,
)
from recommender.commands.saved import Asked, answer_of
from recommender.faults import InputError
from recommender.running import (
    DONE,
    NONE_MEETS,
    complain,
    console,
    print_json,
    print_text,
    tell,
)
from recommender.shown import shown_path

if TYPE_CHECKING:
    from recommender.result import Answer, OptionResult

_Writer = Callable[["Answer", "OptionResult"], str | bytes]


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
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """List the bill of materials of the recommended option, or of another that works.

    Example: recommender parts cases/crate.toml -o parts.xlsx
    """
    from recommender.files import write_whole
    from recommender.views.layout import fitting
    from recommender.views.tables import parts_json
    from recommender.views.terminal import parts_table

    writer = _writer(output, force=force) if output is not None else None
    answer = answer_of(
        case,
        catalogue=catalogue,
        prices=prices,
        quiet=quiet,
        in_brief=True,
        time_limit=time_limit,
        about=[option] if option else (),
    )
    found = find(answer, option) if option else answer.choice
    if found is None:
        complain(f"{shown_path(case)}: no option meets this case, so there are no parts")
        if as_json:
            print_json([])
        return NONE_MEETS
    if not found.parts:
        raise InputError(f"{found.id} does not meet this case, so it has no parts")
    if output is not None and writer is not None:
        write_whole(output, writer(answer, found), force=force)
        tell(f"wrote {shown_path(output)}", quiet=quiet)
    if as_json:
        print_text(parts_json(found.parts))
    elif output is None:
        out = console()
        out.print(fitting(parts_table(found.parts, found.currency), out.width))
    return DONE


def _writer(output: Path, *, force: bool) -> _Writer:
    """What writes a file of its name; refused before anything is computed."""
    from recommender.files import refuse_existing
    from recommender.views.tables import parts_csv, parts_json, parts_title, parts_xlsx
    from recommender.views.workbook import refuse_without_library

    writers: dict[str, _Writer] = {
        ".xlsx": parts_xlsx,
        ".csv": lambda answer, option: parts_csv(
            option.parts, parts_title(answer, option), option.currency, option.delivery
        ),
        ".json": lambda _, option: parts_json(option.parts),
    }
    suffix = output.suffix.lower()
    if suffix not in writers:
        *some, last = writers
        raise InputError(f"{shown_path(output)}: the name must end in {', '.join(some)} or {last}")
    if suffix == ".xlsx":
        refuse_without_library()
    refuse_existing(output, force=force)
    return writers[suffix]
