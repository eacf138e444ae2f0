"""The decision: every option explored, the cheapest one proven, made gentle and audited."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from time import monotonic
from typing import Final

from recommender.choice.audit import Audit
from recommender.choice.boxes.axes import axes_of
from recommender.choice.boxes.explore import (
    CLOSE,
    GLANCE,
    Explored,
    explore,
    explore_further,
    least_price,
)
from recommender.choice.electrical import NEVER
from recommender.choice.grid import Grid
from recommender.choice.look import Looked, look, made_gentle
from recommender.choice.options import Option, list_options
from recommender.choice.pricing import Cents
from recommender.choice.screen import Screened, screen
from recommender.choice.search import Candidate, passes_alone, within_budget
from recommender.choice.setting import OptionContext
from recommender.choice.settle import Settled, settle
from recommender.choice.workshop import Workshop
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

PROOF_TIME: Final = 30.0
"""Time after which the proof is left where it is, s, unless another is asked for."""

GAP: Final = 0.005
"""Share of the price by which something may be cheaper where a price is called proven."""


@dataclass(frozen=True)
class Decision:
    """Every option in the catalogue's order, and the proven choice.

    ``bound`` is a price that nothing undercuts, cents; the choice is ``optimal`` if it lies within
    `GAP` of that.
    """

    looked: tuple[Looked, ...]
    chosen: Audit | None
    bound: Cents
    price: Cents

    @property
    def optimal(self) -> bool:
        """Whether the choice is proven."""
        return self.bound >= (1.0 - GAP) * self.price


def decide(case: Case, catalogue: Catalogue, *, seconds: float = PROOF_TIME) -> Decision:
    """Look at every option of a case and choose.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    seconds : float
        Time after which what is not explored yet is left as it is.

    Returns
    -------
    Decision
    """
    deadline = monotonic() + seconds
    workshop = Workshop(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    options = list_options(case, catalogue)
    explored = _explored(options, workshop, deadline)
    affordable = {id_: within_budget(entry.candidates, case) for id_, entry in explored.items()}
    best, refused = _cheapest([c for found in affordable.values() for c in found], workshop)
    limit = best.price if best else NEVER
    for id_, entry in explored.items():
        # What may undercut the best, or has not been seen to work, is looked at closely.
        if entry.left and (entry.bound < limit or not entry.candidates):
            explored[id_] = explore_further(entry, workshop, CLOSE, limit)
            found = within_budget(explored[id_].candidates, case)
            again, more = _cheapest([c for c in found if c.price < limit], workshop)
            refused += more
            if again is not None and again.price < limit:
                best, limit = again, again.price
            affordable[id_] = found
    failing = [option for option in options if not affordable.get(option.id)]
    screened = _screened(failing, workshop)
    looked = tuple(
        look(explored.get(option.id), screened.get(option.id), refused, workshop, option)
        for option in options
    )
    if best is None:
        return Decision(looked, None, 0, 0)
    chosen = made_gentle(explored[best.audit.configuration.option.id].axes, best.audit, workshop)
    looked = tuple(
        replace(entry, audit=chosen, feasible=True)
        if entry.option == chosen.configuration.option
        else entry
        for entry in looked
    )
    bound = min([best.price, *(entry.bound for entry in explored.values())])
    return Decision(looked, chosen, bound, best.price)


def _explored(
    options: Sequence[Option], workshop: Workshop, deadline: float
) -> dict[str, Explored]:
    """What is found out about each option that may work at all, by its id."""
    able = [
        option
        for option in options
        if passes_alone(OptionContext(option, workshop.case, workshop.catalogue))
    ]
    waiting = [
        (least_price(axes, workshop), number, axes)
        for number, axes in enumerate(axes_of(able, workshop.case, workshop.catalogue))
    ]
    # Where the time runs out, what is most promising has been looked at.
    return {
        axes.about.option.id: explore(axes, workshop, GLANCE, deadline=deadline)
        for _, _, axes in sorted(waiting)
    }


def _screened(options: Sequence[Option], workshop: Workshop) -> dict[str, Screened]:
    """Settings of options that fail, on a grid, so that it can be said what fails."""
    return {
        entry.context.about.option.id: entry
        for entry in screen(options, workshop.case, workshop.catalogue, Grid())
    }


def _cheapest(
    candidates: Sequence[Candidate], workshop: Workshop
) -> tuple[Settled | None, list[Candidate]]:
    """The cheapest that passes its audit once it is built, and those that do not pass theirs."""
    best: Settled | None = None
    refused: list[Candidate] = []
    for candidate in sorted(candidates, key=lambda entry: (entry.price, entry.used)):
        if best is not None and candidate.price >= best.price:
            break
        settled = settle(candidate, workshop)
        if settled is None:
            refused.append(candidate)
        elif best is None or settled.price < best.price:
            best = settled
    return best, refused
