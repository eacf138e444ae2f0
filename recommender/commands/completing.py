"""What completes a word that was begun on the command line."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from recommender.commands.common import read_case_of, read_catalogue_of
from recommender.commands.saved import is_saved

if TYPE_CHECKING:
    from recommender.inputs.catalogue import Catalogue


def known_ids(context: typer.Context, incomplete: str) -> list[str]:
    """Ids of the catalogue that complete what was begun; none if it cannot be read."""
    return _completing(incomplete, lambda: _catalogue_in(context).ids)


def known_options(context: typer.Context, incomplete: str) -> list[str]:
    """Options of the case that complete what was begun; none if it cannot be read."""

    def listed() -> list[str]:
        from recommender.choice.parts.options import list_options

        # Behind a flag whose value is still to come, the parser has not told the words apart.
        case = context.params.get("case") or next(iter(context.args), None)
        if not case:
            return []
        from recommender.commands.lines import holds_line, options_in_line

        if holds_line(Path(case)):
            return options_in_line(Path(case), _catalogue_in(context))
        if is_saved(Path(case)):
            from recommender.saved import read_saved

            return [option.id for option in read_saved(Path(case)).options]
        options = list_options(read_case_of(Path(case)), _catalogue_in(context))
        return [option.id for option in options]

    return _completing(incomplete, listed)


def _catalogue_in(context: typer.Context) -> "Catalogue":
    folder = context.params.get("catalogue")
    return read_catalogue_of(Path(folder) if folder else None)


def _completing(incomplete: str, listed: Callable[[], list[str]]) -> list[str]:
    from recommender.faults import InputError, MachineError

    try:
        known = listed()
    except (InputError, MachineError):
        return []
    return [id_ for id_ in known if id_.startswith(incomplete)]
