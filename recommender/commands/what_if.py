"""What-if tables: the command compare with --vary."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.commands.common import priced_catalogue
from recommender.commands.saved import is_saved
from recommender.commands.writing import writer_of
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, console, print_text
from recommender.shown import shown_path
from recommender.units import written_in

if TYPE_CHECKING:
    from recommender.results.what_if import WhatIf


def what_if_command(
    case: Path,
    vary: Sequence[str],
    output: Path | None,
    *,
    force: bool,
    seconds: float | None,
    prices: Path | None,
    catalogue: Path | None,
    as_json: bool,
    quiet: bool,
) -> int:
    """Work out a what-if table, and print it or write it to a file."""
    from recommender.inputs.case import check_currency, check_without, make_case
    from recommender.inputs.files import read_toml
    from recommender.views.progress import shown_progress
    from recommender.views.what_if import show_what_if, what_if_csv, what_if_json, what_if_xlsx
    from recommender.what_if import read_varied, what_if

    if is_saved(case):
        raise InputError(f"{shown_path(case)}: --vary answers a case anew; name the case")
    writers: dict[str, Callable[[WhatIf], str | bytes]] = {
        ".xlsx": what_if_xlsx,
        ".csv": what_if_csv,
        ".json": lambda found: what_if_json(found) + "\n",
    }
    write = writer_of(output, writers, force=force, quiet=quiet)
    varied, where = read_varied(vary), shown_path(case)
    data = read_toml(case)
    asked = make_case(data, where)
    parts, _ = priced_catalogue(catalogue, prices, quiet=quiet)
    check_currency(asked, parts.catalogue.currency, where)
    check_without(asked, parts.items, where)
    with shown_progress(quiet=quiet) as report:
        found = what_if(data, varied, parts, where, seconds=seconds, progress=report)
    write(found)
    if as_json:
        print_text(what_if_json(found))
    elif output is None:
        with written_in(asked.units):
            show_what_if(console(), found)
    return DONE if any(cell.recommended for cell in found.cells) else NONE_MEETS
