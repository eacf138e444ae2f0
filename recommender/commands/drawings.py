"""The commands that draw: the plan of a loop, and the sheet that is sent."""

from collections.abc import Callable, Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from recommender.commands.answers import find
from recommender.commands.common import (
    CatalogueFolder,
    Force,
    Least,
    Prices,
    Quiet,
    TimeLimit,
    refuse_lacking,
)
from recommender.commands.completing import known_options
from recommender.commands.line_files import plan_of_line, sheet_of_line
from recommender.commands.lines import GivenToLine, holds_line
from recommender.commands.saved import Asked, answer_of
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, complain, tell
from recommender.shown import shown, shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from recommender.drawing.shapes import Drawing
    from recommender.sheet.trials import Trial

_NEEDS: Final = {".svg": (), ".dxf": ("ezdxf",), ".png": ("matplotlib",)}
_SHEET_NEEDS: Final = ("jinja2", "matplotlib")


class Reader(StrEnum):
    """Whom a sheet is for."""

    CUSTOMER = "customer"
    COLLEAGUES = "colleagues"


def plan_command(
    case: Asked,
    output: Annotated[
        Path, typer.Option("-o", "--output", help="File to write: .svg, .dxf or .png.")
    ],
    option: Annotated[
        str | None, typer.Option(help="Another option that works.", autocompletion=known_options)
    ] = None,
    force: Force = False,
    least: Least = "price",
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    quiet: Quiet = False,
) -> int:
    """Draw the plan of the loop to scale, with dimensions: SVG, DXF in millimetres, or PNG.

    Of a line of loops all are drawn side by side; --option units.ID is that loop alone.

    Example: recommender plan cases/crate.toml -o crate.svg
    """
    from recommender.files import refuse_existing, write_whole

    kind = _suffix(output, tuple(_NEEDS))
    refuse_lacking(_NEEDS[kind], f"a plan as {kind}", "sheet")
    refuse_existing(output, force=force)
    if holds_line(case):
        return plan_of_line(
            case,
            output,
            option,
            _writer(kind),
            force=force,
            given_to=GivenToLine(catalogue, prices, time_limit, least, quiet),
        )
    answer = answer_of(
        case,
        catalogue=catalogue,
        prices=prices,
        quiet=quiet,
        least=least,
        in_brief=True,
        time_limit=time_limit,
        about=[option] if option else (),
        nearest=None if option else 0,
    )
    found = find(answer, option) if option else answer.choice
    if found is None:
        complain(f"{shown_path(case)}: no option meets this case, so there is no loop to draw")
        return NONE_MEETS
    if found.price is None:
        raise InputError(f"{found.id} does not meet this case, so it has no plan")
    from recommender.drawing.plan import plan_of

    with written_in(answer.units):
        drawing = plan_of(found)
    write_whole(output, _writer(kind)(drawing), force=force)
    tell(f"wrote {shown_path(output)}", quiet=quiet)
    return DONE


def sheet_command(
    case: Asked,
    output: Annotated[Path, typer.Option("-o", "--output", help="File to write: .html.")],
    reader: Annotated[
        Reader, typer.Option("--for", help="customer leaves out what is for colleagues.")
    ] = Reader.COLLEAGUES,
    dated: Annotated[
        str | None,
        typer.Option("--date", metavar="DATE", help='Date of the sheet, "2026-11-25"; else today.'),
    ] = None,
    kept: Annotated[
        list[Path] | None,
        typer.Option(
            "--with",
            metavar="FILE",
            help="What rehearse, doubt or map kept with --save, to show it. May be given several"
            " times.",
        ),
    ] = None,
    force: Force = False,
    least: Least = "price",
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    quiet: Quiet = False,
) -> int:
    """Write the answer as one HTML page: a page for the customer, then the whole calculation.

    It needs no network and prints on A4. Where no option meets the case it says so, and what would
    have to give.

    Example: recommender sheet cases/crate.toml -o crate.html
    """
    from recommender.files import refuse_existing, write_whole

    _suffix(output, (".html",))
    refuse_lacking(_SHEET_NEEDS, "a sheet", "sheet")
    refuse_existing(output, force=force)
    when = _date(dated)
    customer_only = reader is Reader.CUSTOMER
    if holds_line(case):
        if kept:
            raise InputError(
                f"{shown_path(case)}: holds a line of loops, whose sheet goes without --with; leave"
                " it out"
            )
        return sheet_of_line(
            case,
            output,
            when,
            customer_only=customer_only,
            force=force,
            given_to=GivenToLine(catalogue, prices, time_limit, least, quiet),
        )
    trials = _trials(kept or (), customer_only=customer_only)
    answer = answer_of(
        case,
        catalogue=catalogue,
        prices=prices,
        quiet=quiet,
        least=least,
        time_limit=time_limit,
        calculation=not customer_only,
    )
    from recommender.sheet import sheet_of
    from recommender.version import program_version

    page = sheet_of(
        answer,
        date=when,
        version=program_version(),
        customer_only=customer_only,
        trials=trials,
    )
    write_whole(output, page, force=force)
    tell(f"wrote {shown_path(output)}", quiet=quiet)
    if answer.recommended:
        return DONE
    complain(f"{shown_path(case)}: no option meets this case; the sheet says why")
    return NONE_MEETS


def _trials(paths: "Sequence[Path]", *, customer_only: bool) -> "list[Trial]":
    """Trials that were kept, read before anything is computed."""
    if paths and customer_only:
        raise InputError("--with is for colleagues; leave it out, or --for customer")
    from recommender.results.doubt import DOUBT_SCHEMA, Doubt
    from recommender.results.map import MAP_SCHEMA, Map
    from recommender.results.rehearsal import REHEARSAL_SCHEMA, Rehearsal
    from recommender.saved import read_kept

    known = {REHEARSAL_SCHEMA: Rehearsal, DOUBT_SCHEMA: Doubt, MAP_SCHEMA: Map}
    again = "keep it with rehearse, doubt or map and --save"
    return [read_kept(path, known, again) for path in paths]


def _suffix(output: Path, known: tuple[str, ...]) -> str:
    """How a name ends, refused where nothing can be written so."""
    suffix = output.suffix.lower()
    if suffix not in known:
        raise InputError(f"{shown_path(output)}: the name must end in {' or '.join(known)}")
    return suffix


def _writer(kind: str) -> "Callable[[Drawing], str | bytes]":
    if kind == ".svg":
        from recommender.drawing.svg import svg_of

        return svg_of
    if kind == ".dxf":
        from recommender.drawing.dxf import dxf_of

        return dxf_of
    from recommender.drawing.png import png_of

    return png_of


def _date(text: str | None) -> str:
    """A date as it is read: the one that is given, that of ``SOURCE_DATE_EPOCH``, or today."""
    import os
    from datetime import UTC, date, datetime

    if text is not None:
        try:
            day = date.fromisoformat(text)
        except ValueError:
            raise InputError(
                f'--date must be a date such as "2026-11-25" (read: "{shown(text)}")'
            ) from None
    else:
        epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
        day = date.today()
        if epoch.isdecimal():
            day = datetime.fromtimestamp(int(epoch), UTC).date()
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


_MONTHS: Final = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
