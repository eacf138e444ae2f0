"""The command that compares two answers."""

from pathlib import Path
from typing import Annotated

import typer

from recommender.commands.common import AsJson, CatalogueFolder, Prices, Quiet, TimeLimit
from recommender.commands.lines import GivenToLine, holds_line
from recommender.commands.saved import answer_of, is_saved
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, console, print_json
from recommender.shown import shown_path

_HELP = "Case or line file (TOML), or a saved answer (JSON)."


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

    Two lines of loops are compared as two cases are.

    Catalogue, prices and time limit are for what is a case of the two.

    Example: recommender changed cases/crate.toml cases/assembly.toml
    """
    from recommender.changes import changes_between
    from recommender.results.answer import document
    from recommender.units import written_in
    from recommender.views.changed import show_changes

    if is_saved(old) and is_saved(new) and (catalogue or prices or time_limit):
        raise InputError("two saved answers go without --catalogue, --prices and --time-limit")
    lines = [holds_line(path) for path in (old, new)]
    if any(lines):
        if not all(lines):
            one, line = (new, old) if lines[0] else (old, new)
            raise InputError(
                f"{shown_path(one)}: holds one loop, and {shown_path(line)} a line of loops; what"
                " changed is told between two of a kind, so name two cases or two lines"
            )
        from recommender.commands.line_changed import changed_lines

        given_to = GivenToLine(catalogue, prices, time_limit, "price", quiet)
        return changed_lines(old, new, as_json=as_json, given_to=given_to)
    before, after = (
        answer_of(path, quiet=quiet, in_brief=True)
        if is_saved(path)
        else answer_of(
            path,
            catalogue=catalogue,
            prices=prices,
            time_limit=time_limit,
            quiet=quiet,
            in_brief=True,
        )
        for path in (old, new)
    )
    changes = changes_between(before, after)
    if as_json:
        print_json(document(changes))
    else:
        with written_in(after.units):
            show_changes(console(), changes)
    return DONE if after.recommended else NONE_MEETS
