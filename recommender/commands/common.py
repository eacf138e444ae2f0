"""What commands share: their options, the case and the catalogue."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from recommender.choice.decision.decision import Decision
    from recommender.inputs.case import Case
    from recommender.inputs.catalogue import Catalogue
    from recommender.results.answer import PriceList

CatalogueFolder = Annotated[
    Path | None, typer.Option("--catalogue", metavar="DIR", help="Folder of catalogue files.")
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document and nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="No messages but those about faults.")]
TimeLimit = Annotated[
    str | None,
    typer.Option(
        "--time-limit",
        metavar="TIME",
        help='When to leave the rest, such as "10 s"; the answer says what. No limit unless said.',
    ),
]
GOALS = ("price", "floor", "delivery", "energy")
Least = Annotated[
    str,
    typer.Option(
        "--least",
        metavar="GOAL",
        help=f"What is to be least: {', '.join(GOALS)}.",
        autocompletion=lambda: list(GOALS),
    ),
]
Prices = Annotated[
    Path | None,
    typer.Option(
        "--prices",
        metavar="FILE",
        help="Price list (CSV: id, price, lead_time_weeks, valid_from, discount, margin).",
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")]
CaseFile = Annotated[Path, typer.Argument(metavar="CASE", help="Case file (TOML).")]


def read_catalogue_of(folder: Path | None) -> "Catalogue":
    """The catalogue in a folder, or the one that comes with the program."""
    from recommender.inputs.catalogue import read_catalogue
    from recommender.inputs.files import shipped

    return read_catalogue(folder or shipped("catalog"))


def priced_catalogue(
    folder: Path | None, prices: Path | None, *, quiet: bool
) -> "tuple[Catalogue, PriceList | None]":
    """The catalogue with a price list laid over it, if there is one, and what became of that."""
    catalogue = read_catalogue_of(folder)
    if prices is None:
        return catalogue, None
    from datetime import date

    from recommender.inputs.prices import notes_on, priced, read_prices
    from recommender.running import tell
    from recommender.shown import shown_path

    laid_over, found = priced(catalogue, read_prices(prices), date.today(), shown_path(prices))
    for note in notes_on(found):
        tell(note, quiet=quiet)
    return laid_over, found


def read_case_of(path: Path) -> "Case":
    """The case in a file."""
    from recommender.inputs.case import read_case

    return read_case(path)


def decided(
    case: "Case",
    catalogue: "Catalogue",
    where: str,
    time_limit: str | None = None,
    *,
    others: bool = True,
) -> "Decision":
    """The decision about a case with a catalogue; about the choice alone unless ``others`` are."""
    seconds = seconds_of(time_limit)
    from recommender.recommend import decision_of

    nearest = None if others else 0
    return decision_of(case, catalogue, seconds=seconds, where=where, nearest=nearest)


def seconds_of(time_limit: str | None) -> float | None:
    """The longest time for the proof, s."""
    from recommender.faults import InputError
    from recommender.inputs.quantities import KINDS, parse
    from recommender.shown import shown

    if time_limit is None:
        return None
    try:
        seconds = parse(time_limit, KINDS["duration"])
    except ValueError as error:
        raise InputError(f"--time-limit {error}") from None
    if seconds < 0.0:
        raise InputError(f'--time-limit must not be negative (read: "{shown(time_limit)}")')
    return seconds


def refuse_lacking(modules: Sequence[str], what: str, extra: str) -> None:
    """Refuse what needs libraries that are not installed, before anything is computed."""
    from importlib.util import find_spec

    from recommender.faults import InputError

    lacking = [name for name in modules if find_spec(name) is None]
    if lacking:
        raise InputError(
            f"{what} needs {' and '.join(lacking)}, not installed here; install the extra"
            f" '{extra}', in a checkout with: pip install '.[{extra}]'"
        )
