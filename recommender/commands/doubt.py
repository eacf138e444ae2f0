"""The command that asks how often a choice holds when its inputs are not sure."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from recommender.commands.common import (
    AsJson,
    CatalogueFolder,
    Force,
    Prices,
    Quiet,
    TimeLimit,
    decided,
    refuse_lacking,
)
from recommender.commands.lines import GivenToLine, holds_line
from recommender.commands.saved import Asked, refuse_target
from recommender.commands.tried import SaveFile, case_asked, tried
from recommender.commands.writing import writer_of
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, complain, console, print_text, tell
from recommender.shown import shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from recommender.choice.decision.decision import Decision
    from recommender.inputs.case import Case
    from recommender.results.doubt import Doubt

DOUBT_EXAMPLE = (
    'Example: recommender doubt cases/crate.toml --vary load.mass="±10 %"'
    ' --vary load.friction="0.4 to 0.5" --vary dwell="±20 %"'
)
LEAST_DRAWS, MOST_DRAWS = 500, 100_000


def doubt_command(
    case: Asked,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KEY=SPREAD",
            help='An input that is not sure: load.mass="±10 %", load.mass="normal 3 %",'
            ' load.friction="0.3 to 0.5", dwell="±20 %" for all. May be given several times.',
        ),
    ] = None,
    draws: Annotated[int, typer.Option(help=f"Draws, {LEAST_DRAWS} to {MOST_DRAWS}.")] = 10_000,
    seed: Annotated[int, typer.Option(help="Same seed, same draws.")] = 1,
    enough: Annotated[
        float, typer.Option(help="Share of the draws that is enough, in per cent, 50 to 99.9.")
    ] = 95.0,
    no_reserve: Annotated[
        bool, typer.Option("--no-reserve", help="Ask for the rate alone, without its reserve.")
    ] = False,
    brief: Annotated[
        bool, typer.Option("--brief", help="Do not look for what would hold more often.")
    ] = False,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="File to write: .csv, .svg or .png.")
    ] = None,
    save: SaveFile = None,
    force: Force = False,
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Ask how often the choice holds where inputs are not sure, and what would hold more often.

    An input has one value for as long as the loop stands, which nobody knows yet. Dwells that
    differ from carrier to carrier are for rehearse. Of a line of loops an input stands behind its
    loop, as in units.load.mass, and what would hold more often is not looked for.
    """
    _refuse_numbers(draws, seed, enough)
    refuse_lacking(("scipy",), "doubt", "trials")
    if holds_line(case):
        from recommender.commands.line_doubt import Drawn, doubt_line_command

        return doubt_line_command(
            case,
            Drawn(vary or (), draws, seed, enough / 100.0, no_reserve, save),
            output,
            GivenToLine(catalogue, prices, time_limit, "price", quiet),
            force=force,
            as_json=as_json,
        )
    write = _writer(output, force=force, quiet=quiet)
    if save is not None:
        refuse_target(save, force=force)
    asked, answer = case_asked(case)
    from recommender.trials.doubt import doubt
    from recommender.trials.unsure import read_unsure
    from recommender.views.doubt import doubt_json, show_doubt
    from recommender.views.progress import shown_progress

    with written_in(asked.units):
        inputs = read_unsure(vary or (), asked)
    known = tried(
        case,
        asked,
        answer,
        catalogue=catalogue,
        prices=prices,
        time_limit=time_limit,
        quiet=quiet,
        others=True,
    )
    if known.chosen is None:
        complain(f"{shown_path(case)}: no option meets this case, so there is nothing to doubt")
        return NONE_MEETS

    if no_reserve:
        asked = asked.model_copy(update={"rate": asked.rate.model_copy(update={"reserve": 0.0})})

    def decide(harder: "Case") -> "Decision":
        return decided(harder, known.catalogue, shown_path(case), time_limit)

    with shown_progress(quiet=quiet) as report, written_in(asked.units):
        found = doubt(
            known.chosen,
            asked,
            known.catalogue,
            inputs,
            draws=draws,
            seed=seed,
            asked=enough / 100.0,
            assumed=not vary,
            decide=None if brief else decide,
            others=known.others,
            progress=report,
        )
    write(found)
    if save is not None:
        from recommender.files import write_whole

        write_whole(save, doubt_json(found) + "\n", force=force)
        tell(f"wrote {shown_path(save)}", quiet=quiet)
    if as_json:
        print_text(doubt_json(found))
        return DONE
    with written_in(asked.units):
        show_doubt(console(), found)
    return DONE


def _refuse_numbers(draws: int, seed: int, enough: float) -> None:
    if not LEAST_DRAWS <= draws <= MOST_DRAWS:
        raise InputError(f"--draws must be from {LEAST_DRAWS} to {MOST_DRAWS} (read: {draws})")
    if seed < 0:
        raise InputError(f"--seed must not be negative (read: {seed})")
    if not 50.0 <= enough <= 99.9:
        raise InputError(f"--enough must be from 50 to 99.9 (read: {enough:g})")


def _writer(output: Path | None, *, force: bool, quiet: bool) -> "Callable[[Doubt], None]":
    from recommender.views.doubt import doubt_csv

    def picture(kind: str) -> "Callable[[Doubt], bytes]":
        def drawn(found: "Doubt") -> bytes:
            from recommender.trials.bars import bars

            return bars(found, kind)

        return drawn

    if output is not None and output.suffix.lower() in (".svg", ".png"):
        refuse_lacking(("matplotlib",), "a picture", "sheet")
    writers: dict[str, Callable[[Doubt], str | bytes]] = {
        ".csv": doubt_csv,
        ".svg": picture(".svg"),
        ".png": picture(".png"),
    }
    return writer_of(output, writers, force=force, quiet=quiet)
