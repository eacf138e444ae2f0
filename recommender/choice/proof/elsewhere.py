"""An option that fails wherever its stations were tried first: sought at every other place.

The search tries two placements on each loop, and near the edge of what can be done neither may hold
although others do. The seating model looks at all of them.
"""

from collections.abc import Sequence
from time import monotonic

from recommender.choice.electrical import NEVER
from recommender.choice.pricing import budget_of
from recommender.choice.proof.prove import prove
from recommender.choice.proof.refute import opened, refute
from recommender.choice.screen import Screened
from recommender.choice.search import Candidate
from recommender.choice.settle import Settled, settle
from recommender.choice.workshop import Workshop

_SHARE_OF_TIME = 0.25
_LONGEST_MODEL = 2.0
_DEARER = 1.25
"""How much dearer than the least that a build may cost a configuration on it may be."""


def elsewhere(
    entries: Sequence[Screened], workshop: Workshop, deadline: float
) -> dict[str, Settled]:
    """Configurations, by the option's id, of options for which the search has found none.

    Parameters
    ----------
    entries : sequence of Screened
        The options.
    workshop : Workshop
    deadline : float, s
        Reading of the monotonic clock; a share of the time until then is spent, evenly.
    """
    start = monotonic()
    each = _SHARE_OF_TIME * max(deadline - start, 0.0) / max(len(entries), 1)
    found = {}
    for number, entry in enumerate(entries, start=1):
        settled = _of_option(entry, workshop, start + number * each)
        if settled is not None:
            found[entry.context.about.option.id] = settled
    return found


def _of_option(entry: Screened, workshop: Workshop, deadline: float) -> Settled | None:
    """The cheapest configuration of an option, or the cheapest that is found in time."""
    first = _first(entry, workshop, deadline)
    if first is None:
        return None
    proven = prove(first, opened(entry, workshop, first.price), workshop, deadline)
    return Settled(proven.audit, proven.price)


def _first(entry: Screened, workshop: Workshop, deadline: float) -> Settled | None:
    """The first configuration found, build after build by the least that it may cost."""

    def settled(candidate: Candidate) -> Settled | None:
        return settle(candidate, workshop, _LONGEST_MODEL)

    budget = budget_of(workshop.case)
    above = NEVER if budget is None else budget + 1
    for left in opened(entry, workshop, above):
        most = min(round(_DEARER * left.least), above)
        ended = refute([left], workshop, most, settled, deadline)
        if ended.found is not None or monotonic() > deadline:
            return ended.found
    return None
