"""The command that compares two answers."""

from pathlib import Path
from typing import Annotated

import typer

from recommender.commands.common import AsJson, CatalogueFolder, Prices, Quiet, TimeLimit
from recommender.commands.saved import answer_of, is_saved
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, console, print_json

_HELP = "Case file (TOML), or a saved answer (JSON)."


def changed_command(
    old: Annotated[Path, typer.Argument(metavar="OLD", help=_HELP)],
    new: Annotated[Path, typer.Argument(metavar="NEW", help=_HELP)],
    time_limit: TimeLimit = None,
    prices: Prices = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Say what moved between two answers: inputs, choice, price by item, verdicts and why.

    Catalogue, prices and time limit are for what is a case of the two.

    Example: recommender changed crate-monday.json cases/crate.toml
    """
    from recommender.changes import changes_between
    from recommender.result import plain
    from recommender.units import written_in
    from recommender.views.changed import show_changes

    if is_saved(old) and is_saved(new) and (catalogue or prices or time_limit):
        raise InputError("two saved answers go without --catalogue, --prices and --time-limit")
    before, after = (
        answer_of(path, quiet=quiet, in_brief=True)
        if is_saved(path)
        else answer_of(path, catalogue=catalogue, time_limit=time_limit, quiet=quiet, in_brief=True)
        for path in (old, new)
    )
    changes = changes_between(before, after)
    if as_json:
        data = plain(changes)
        print_json({"schema": data.pop("schema"), **data})
    else:
        with written_in(after.units):
            show_changes(console(), changes)
    return DONE if after.recommended else NONE_MEETS
