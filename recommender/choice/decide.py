"""The decision: every option looked at, the cheapest one proven and audited."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from time import monotonic
from typing import Final

from recommender.choice.audit import Audit
from recommender.choice.grid import Grid
from recommender.choice.look import Looked, look, station_names
from recommender.choice.options import list_options
from recommender.choice.pricing import Cents
from recommender.choice.proof.elsewhere import elsewhere
from recommender.choice.proof.prove import Proven, best_settled, prove
from recommender.choice.proof.refute import opened
from recommender.choice.screen import Screened, screen
from recommender.choice.search import Candidate, cheapest, passes_alone, within_budget
from recommender.choice.settle import Settled
from recommender.choice.workshop import Workshop
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

PROOF_TIME: Final = 30.0
"""Time after which the proof is left where it is, s, unless another is asked for."""


@dataclass(frozen=True)
class Decision:
    """Every option in the catalogue's order, and the proven choice."""

    looked: tuple[Looked, ...]
    chosen: Audit | None
    bound: Cents
    price: Cents
    optimal: bool


def decide(
    case: Case, catalogue: Catalogue, grid: Grid | None = None, *, seconds: float = PROOF_TIME
) -> Decision:
    """Look at every option of a case and choose.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    grid : Grid, optional
        How finely motion settings are looked at.
    seconds : float
        Time after which the proof is left where it is.

    Returns
    -------
    Decision

    Raises
    ------
    RuntimeError
        If the arrays and the model disagree about the least price: a fault of ours.
    """
    deadline = monotonic() + seconds
    workshop = Workshop(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    options = list_options(case, catalogue)
    screened = {
        entry.context.about.option.id: entry
        for entry in screen(options, case, catalogue, grid or Grid())
    }
    able = [entry for entry in screened.values() if passes_alone(entry.context.about)]
    candidates = {
        entry.context.about.option.id: within_budget(cheapest(entry, workshop), case)
        for entry in able
    }
    best, seated, refused = _settled(able, candidates, workshop, deadline)
    proven = _prove(able, best, workshop, deadline) if best else None
    looked = tuple(
        look(screened[option.id], candidates.get(option.id, []), refused, workshop)
        if option.id not in seated
        else Looked(option, station_names(case), True, seated[option.id].audit)
        for option in options
    )
    if proven is None:
        return Decision(looked, None, 0, 0, optimal=True)
    chosen = proven.audit
    looked = tuple(
        replace(entry, audit=chosen, feasible=True)
        if entry.option == chosen.configuration.option
        else entry
        for entry in looked
    )
    return Decision(looked, chosen, proven.bound, proven.price, proven.optimal)


def _settled(
    able: Sequence[Screened],
    candidates: Mapping[str, Sequence[Candidate]],
    workshop: Workshop,
    deadline: float,
) -> tuple[Settled | None, dict[str, Settled], list[Candidate]]:
    """The best that is found, what is found for options without candidates, and who is refused."""
    every = [candidate for found in candidates.values() for candidate in found]
    best, refused = best_settled(every, workshop, deadline)
    missed = [entry for entry in able if not candidates[entry.context.about.option.id]]
    seated = elsewhere(missed, workshop, deadline)
    known = [settled for settled in (best, *seated.values()) if settled is not None]
    return min(known, key=lambda settled: settled.price, default=None), seated, refused


def _prove(able: Sequence[Screened], best: Settled, workshop: Workshop, deadline: float) -> Proven:
    """The cheapest of all, from the best that the search has found."""
    entries = [left for entry in able for left in opened(entry, workshop, best.price)]
    return prove(best, entries, workshop, deadline)
