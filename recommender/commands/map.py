"""The command that maps which option is cheapest over two inputs of a case."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from recommender.commands.common import (
    AsJson,
    CaseFile,
    CatalogueFolder,
    Force,
    Prices,
    Quiet,
    priced_catalogue,
    refuse_lacking,
)
from recommender.commands.lines import holds_line
from recommender.commands.saved import is_saved, refuse_target
from recommender.commands.tried import SaveFile
from recommender.commands.writing import writer_of
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, console, print_text, tell
from recommender.shown import shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from recommender.inputs.case import Case
    from recommender.results.map import Map

MAP_EXAMPLE = (
    'Example: recommender map cases/crate.toml --over load.mass="10 kg to 60 kg" --over rate'
    " -o crate-map.svg"
)
_MOST_PROCESSES: Final = 256


def map_command(
    case: CaseFile,
    over: Annotated[
        list[str] | None,
        typer.Option(
            metavar="INPUTS",
            help="Two inputs: mass,rate unless said; reach; any number of the case, with its"
            ' range: load.mass="10 kg to 60 kg". At once with a comma, or one by one.',
        ),
    ] = None,
    points: Annotated[
        int | None,
        typer.Option(
            help="Values of each input, 3 to 100; 40 unless said, or fewer where cells are dear."
        ),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="File to write: .svg, .png, .csv or .json."),
    ] = None,
    processes: Annotated[
        int | None, typer.Option(help="Processes at work; as many as cores unless said.")
    ] = None,
    save: SaveFile = None,
    force: Force = False,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Map what is cheapest, and where nothing works, over two inputs of a case.

    All else stays as the case has it. The map is the same with any number of processes.
    """
    count = processes if processes is not None else os.cpu_count() or 1
    if not 1 <= count <= _MOST_PROCESSES:
        raise InputError(f"--processes must be from 1 to {_MOST_PROCESSES} (read: {count})")
    write = _writer(output, force=force, quiet=quiet)
    if save is not None:
        refuse_target(save, force=force)
    where, asked = shown_path(case), _case(case)
    parts, _ = priced_catalogue(catalogue, prices, quiet=quiet)
    from recommender.inputs.case import check_currency, check_without
    from recommender.maps.study import map_of, read_inputs
    from recommender.views.map import map_json, show_map
    from recommender.views.progress import shown_progress

    check_currency(asked, parts.catalogue.currency, where)
    check_without(asked, parts.items, where)
    with written_in(asked.units):
        inputs = read_inputs(over or (), asked, parts, points)
    with shown_progress(quiet=quiet) as report, _processes(count) as executor:
        found = map_of(asked, inputs, parts, executor=executor, progress=report)
    with written_in(asked.units):
        write(found)
        if save is not None:
            from recommender.files import write_whole

            write_whole(save, map_json(found) + "\n", force=force)
            tell(f"wrote {shown_path(save)}", quiet=quiet)
        if as_json:
            print_text(map_json(found))
        elif output is None:
            show_map(console(), found)
    return DONE if found.options else NONE_MEETS


def _case(path: Path) -> "Case":
    if is_saved(path):
        raise InputError(f"{shown_path(path)}: a map answers a case anew; name the case")
    if holds_line(path):
        raise InputError(f"{shown_path(path)}: holds a line of loops; a map is of one loop's case")
    from recommender.inputs.case import read_case

    return read_case(path)


@contextmanager
def _processes(count: int) -> "Iterator[Executor | None]":
    if count == 1:
        yield None
        return
    from recommender.trials.batch import processes

    with processes(count) as executor:
        yield executor


def _writer(output: Path | None, *, force: bool, quiet: bool) -> "Callable[[Map], None]":
    from recommender.views.map import map_csv, map_json

    def picture(kind: str) -> "Callable[[Map], bytes]":
        def drawn(found: "Map") -> bytes:
            from recommender.sheet.map_chart import map_picture

            return map_picture(found, kind)

        return drawn

    if output is not None and output.suffix.lower() in (".svg", ".png"):
        refuse_lacking(("matplotlib", "jinja2"), "a picture", "sheet")
    writers: dict[str, Callable[[Map], str | bytes]] = {
        ".svg": picture(".svg"),
        ".png": picture(".png"),
        ".csv": map_csv,
        ".json": lambda found: map_json(found) + "\n",
    }
    return writer_of(output, writers, force=force, quiet=quiet)
