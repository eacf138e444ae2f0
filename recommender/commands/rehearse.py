"""The command that lets a recommended configuration run."""

from dataclasses import replace
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
)
from recommender.commands.lines import GivenToLine, holds_line
from recommender.commands.saved import Asked, refuse_target
from recommender.commands.tried import SaveFile, case_asked, tried
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, complain, console, print_text, tell
from recommender.shown import shown_path

if TYPE_CHECKING:
    from recommender.inputs.case import Case
    from recommender.trials.chance import Chance

REHEARSE_EXAMPLE = (
    'Example: recommender rehearse cases/crate.toml --hours 2 --vary "unload 20 %"'
    ' --stops "load 1 h, 30 s"'
)


def rehearse_command(
    case: Asked,
    hours: Annotated[float, typer.Option(help="Hours of each run, up to 48.")] = 8.0,
    runs: Annotated[
        int, typer.Option("--runs", help="Runs, 1 to 31, each with lots of its own.")
    ] = 5,
    seed: Annotated[int, typer.Option(help="Same seed, same lots.")] = 1,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SPREAD",
            help='Standard deviation of dwells: "20 %", "unload 20 %", or measured dwells in a csv'
            " file with the names of stations above them. May be given several times.",
        ),
    ] = None,
    stops: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TIMES",
            help='Mean time between stops and to clear one: "2 h, 3 min" or "unload 2 h, 3 min".'
            " May be given several times.",
        ),
    ] = None,
    free: Annotated[
        bool, typer.Option("--free", help="Let more through than is asked with its reserve.")
    ] = False,
    diagram: Annotated[
        Path | None,
        typer.Option(help="Picture of position against time to write: .svg or .png."),
    ] = None,
    save: SaveFile = None,
    force: Force = False,
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Let the recommended fleet run: its rate where dwells vary and stations stop, its waits.

    Of a line of loops each runs by itself; a station is named behind its loop, as in units.pack.
    """
    from recommender.files import write_whole
    from recommender.trials.diagram import courses
    from recommender.trials.diagram import diagram as drawn
    from recommender.trials.rehearse import rehearse
    from recommender.trials.simulator import new_environment
    from recommender.views.progress import shown_progress
    from recommender.views.rehearsal import kept_json, show_rehearsal

    _refuse_numbers(hours, runs, seed)
    _refuse_files(diagram, save, force=force)
    new_environment()
    if holds_line(case):
        from recommender.commands.line_rehearse import Runs, rehearse_line_command

        return rehearse_line_command(
            case,
            Runs(hours, runs, seed, vary or (), stops or (), free),
            diagram,
            save,
            GivenToLine(catalogue, prices, time_limit, "price", quiet),
            force=force,
            as_json=as_json,
        )
    asked, answer = case_asked(case)
    chance = _chance(asked, vary or (), stops or ())
    known = tried(
        case,
        asked,
        answer,
        catalogue=catalogue,
        prices=prices,
        time_limit=time_limit,
        quiet=quiet,
    )
    if known.chosen is None:
        complain(f"{shown_path(case)}: no option meets this case, so there is nothing to rehearse")
        return NONE_MEETS
    with shown_progress(quiet=quiet) as report:
        found, trace = rehearse(
            known.chosen,
            asked,
            known.catalogue,
            chance,
            hours=hours,
            replications=runs,
            seed=seed,
            pace=not free,
            progress=report,
        )
    if diagram is not None:
        write_whole(diagram, drawn(trace, diagram.suffix.lower()), force=force)
        tell(f"wrote {shown_path(diagram)}", quiet=quiet)
    if save is not None:
        write_whole(save, kept_json(replace(found, courses=courses(trace))), force=force)
        tell(f"wrote {shown_path(save)}", quiet=quiet)
    if as_json:
        print_text(kept_json(found).removesuffix("\n"))
    else:
        show_rehearsal(console(), found)
    return DONE


def _refuse_numbers(hours: float, runs: int, seed: int) -> None:
    from recommender.trials.rehearse import MOST_HOURS, MOST_REPLICATIONS

    if not 0.01 <= hours <= MOST_HOURS:
        raise InputError(f"--hours must be from 0.01 to {MOST_HOURS:g} (read: {hours:g})")
    if not 1 <= runs <= MOST_REPLICATIONS:
        raise InputError(f"--runs must be from 1 to {MOST_REPLICATIONS} (read: {runs})")
    if seed < 0:
        raise InputError(f"--seed must not be negative (read: {seed})")


def _refuse_files(diagram: Path | None, save: Path | None, *, force: bool) -> None:
    from recommender.files import refuse_existing
    from recommender.trials.diagram import FORMATS, figure_of

    if diagram is not None:
        if diagram.suffix.lower() not in FORMATS:
            raise InputError(f"{shown_path(diagram)}: the name must end in {' or '.join(FORMATS)}")
        refuse_existing(diagram, force=force)
        figure_of((1.0, 1.0))
    if save is not None:
        refuse_target(save, force=force)


def _chance(
    case: "Case", vary: "list[str] | tuple[()]", stops: "list[str] | tuple[()]"
) -> "Chance":
    from recommender.trials.chance import Chance, read_spreads, read_stops

    names = [station.name for station in case.station]
    return Chance(read_spreads(vary, names), read_stops(stops, names))
