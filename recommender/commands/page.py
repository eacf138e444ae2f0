"""The command that serves the page."""

from pathlib import Path
from typing import Annotated, Any, Final

import typer

from recommender.commands.common import (
    CatalogueFolder,
    Prices,
    Quiet,
    TimeLimit,
    priced_catalogue,
    refuse_lacking,
    seconds_of,
)
from recommender.running import DONE, print_text, tell

_NEEDS: Final = ("starlette", "uvicorn", "jinja2", "matplotlib")
_FIRST: Final = "crate"


def page_command(
    case: Annotated[
        Path | None,
        typer.Argument(metavar="CASE", help="Case file (TOML) to begin with; else a worked one."),
    ] = None,
    port: Annotated[
        int,
        typer.Option(
            min=0,
            max=65535,
            metavar="PORT",
            show_default=False,
            help="Port; one that is free unless said.",
        ),
    ] = 0,
    browser: Annotated[
        bool, typer.Option("--open", help="Open the page in the browser as well.")
    ] = False,
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    quiet: Quiet = False,
) -> int:
    """Serve a page on this machine: a case as a form, and its answer beside it.

    It prints the address, which only who knows it can open, and runs until it is interrupted.
    Nothing is kept but what you save.

    Example: recommender page cases/crate.toml
    """
    refuse_lacking(_NEEDS, "the page", "page")
    seconds = seconds_of(time_limit)
    worked = _worked()
    start = _read(case) if case is not None else worked[_FIRST]
    found, laid_over = priced_catalogue(catalogue, prices, quiet=quiet)
    from recommender.page.app import Setting
    from recommender.page.serve import serve

    def told(address: str) -> None:
        print_text(address)
        tell("Open this address in a browser; Ctrl-C ends the page.", quiet=quiet)

    serve(
        Setting(found, start, worked),
        port=port,
        seconds=seconds,
        told=told,
        browser=browser,
        prices=laid_over,
    )
    return DONE


def _read(path: Path) -> dict[str, Any]:
    from recommender.commands.lines import holds_line
    from recommender.faults import InputError
    from recommender.inputs.case import make_case
    from recommender.inputs.files import read_toml
    from recommender.shown import shown_path

    if holds_line(path):
        raise InputError(
            f"{shown_path(path)}: holds a line of loops, for which there is no form to begin with;"
            " start the page without it, and open the file there"
        )
    data = read_toml(path)
    make_case(data, shown_path(path))
    return data


def _worked() -> dict[str, dict[str, Any]]:
    """The worked cases, as their files have them."""
    from recommender.inputs.files import read_toml, shipped

    return {path.stem: read_toml(path) for path in sorted(shipped("cases").glob("*.toml"))}
