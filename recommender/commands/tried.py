"""What commands try: the choice for a case, or the one of a saved answer without a new search."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from recommender.commands.common import decided, priced_catalogue, read_case_of
from recommender.commands.saved import is_saved
from recommender.faults import InputError
from recommender.running import tell
from recommender.shown import shown_path

if TYPE_CHECKING:
    from recommender.choice.decision.audit import Audit
    from recommender.inputs.case import Case
    from recommender.inputs.catalogue import Catalogue
    from recommender.results.answer import Answer

SaveFile = Annotated[
    Path | None,
    typer.Option("--save", metavar="FILE", help="Keep the result for a sheet: .json."),
]


@dataclass(frozen=True)
class Tried:
    """A choice with its case and catalogue; ``chosen`` is ``None`` if no option meets the case.

    ``others`` are options of the same answer that work, where they are known.
    """

    chosen: "Audit | None"
    others: "Sequence[Audit]"
    catalogue: "Catalogue"


def case_asked(path: Path) -> "tuple[Case, Answer | None]":
    """The case in a file, or that of a saved answer with the answer."""
    if not is_saved(path):
        return read_case_of(path), None
    from recommender.saved import case_of, read_saved

    answer = read_saved(path)
    return case_of(answer, shown_path(path)), answer


def tried(
    path: Path,
    case: "Case",
    answer: "Answer | None",
    *,
    catalogue: Path | None,
    prices: Path | None,
    time_limit: str | None,
    quiet: bool,
    others: bool = False,
) -> Tried:
    """What is to be tried, with what else works if ``others`` are wanted.

    Raises
    ------
    InputError
        If a saved answer was made with another catalogue, or goes without an option that is given.
    """
    where = shown_path(path)
    parts, _ = priced_catalogue(catalogue, prices, quiet=quiet)
    if answer is not None:
        if time_limit:
            raise InputError(f"{where}: a saved answer goes without --time-limit; name the case")
        if answer.catalogue.digest != parts.digest:
            raise InputError(
                f"{where}: was answered with another catalogue or other prices than"
                f" {parts.catalogue.id}; name them with --catalogue and --prices, or name the case"
            )
        if not answer.recommended:
            return Tried(None, (), parts)
        from recommender.trials.rebuilt import rebuilt

        chosen = rebuilt(answer, case, parts)
        if chosen is not None:
            return Tried(chosen, (), parts)
        tell(f"{where}: its figures are rounded; the case is answered again", quiet=quiet)
    decision = decided(case, parts, where, time_limit, others=others)
    works = [entry.audit for entry in decision.looked if entry.feasible and entry.audit]
    return Tried(decision.chosen, works, parts)
