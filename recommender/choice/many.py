"""The cheapest of very many options, without a close look at those that cannot win.

Options come in the order of a price that they cannot undercut, known from their force, speed and
length alone. They are screened some at a time, so that only these few have their settings in
memory, and none is screened any more once that price has reached the best one found.
"""

from collections.abc import Iterator, Sequence
from time import monotonic

from recommender.choice.bodies import batches
from recommender.choice.electrical import NEVER
from recommender.choice.grid import Grid
from recommender.choice.options import Option, list_options
from recommender.choice.price_bound import BuildPrices, by_bound
from recommender.choice.pricing import Cents
from recommender.choice.proof.open_settings import OpenSettings
from recommender.choice.proof.prove import Proven, best_settled, prove
from recommender.choice.proof.refute import opened
from recommender.choice.screen import acceleration_ceiling, screen, speed_ceiling
from recommender.choice.search import Candidate, cheapest, passes_alone, within_budget
from recommender.choice.setting import OptionContext
from recommender.choice.workshop import Workshop
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

_AT_ONCE = 24


def cheapest_of_many(
    case: Case, catalogue: Catalogue, grid: Grid | None = None, *, seconds: float = 30.0
) -> Proven | None:
    """The cheapest configuration of a case, proven; the other options are not looked at.

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
    Proven or None
        ``None`` if nothing works.
    """
    deadline = monotonic() + seconds
    workshop = Workshop(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    queue = in_order(list_options(case, catalogue), workshop)
    limit = NEVER
    while True:
        candidates, left = _race(queue, workshop, grid or Grid(), limit)
        best, _ = best_settled(candidates, workshop, deadline)
        if best is None:
            return None
        if best.price == limit or best.price <= min(found.price for found in candidates):
            return prove(best, left, workshop, deadline)
        # Dearer to build than it was priced: what lies between is of interest, too.
        limit = best.price


def in_order(options: Sequence[Option], workshop: Workshop) -> list[tuple[Cents, Option]]:
    """Options with a price that they cannot undercut, lowest first."""
    found: list[tuple[Cents, Option]] = []
    for batch in batches(options, workshop.case, workshop.catalogue.rules):
        acceleration, speed = acceleration_ceiling(batch)[:, 0], speed_ceiling(batch)[:, 0]
        for option, a, v in zip(batch.options, acceleration, speed, strict=True):
            about = OptionContext(option, workshop.case, workshop.catalogue)
            bound = BuildPrices.of(about, workshop).rough_bound(float(a), float(v), float(v))
            found.append((int(bound.min(initial=NEVER)), option))
    return sorted((entry for entry in found if entry[0] < NEVER), key=lambda entry: entry[0])


def _race(
    queue: Sequence[tuple[Cents, Option]], workshop: Workshop, grid: Grid, limit: Cents
) -> tuple[list[Candidate], list[OpenSettings]]:
    """Candidates up to a price, and settings that may be cheaper than the best of them."""
    candidates: list[Candidate] = []
    left: list[OpenSettings] = []
    best = limit
    for some in _groups(queue, workshop):
        if some[0][0] > best:
            break
        chosen = [option for bound, option in some if bound <= best]
        for entry in screen(chosen, workshop.case, workshop.catalogue, grid):
            if not len(entry.holding):
                continue
            setting = entry.context.take(entry.holding)
            ways = list(by_bound(setting, workshop, best + 1))
            found = within_budget(cheapest(entry, workshop, best, ways), workshop.case)
            candidates += found
            if limit == NEVER:
                best = min([best, *(candidate.price for candidate in found)])
            left += opened(entry, workshop, best, ways)
    return candidates, [entry for entry in left if entry.least < best]


def _groups(
    queue: Sequence[tuple[Cents, Option]], workshop: Workshop
) -> Iterator[list[tuple[Cents, Option]]]:
    """Options that hold what needs no motion, some at a time."""
    group: list[tuple[Cents, Option]] = []
    for entry in queue:
        if not passes_alone(OptionContext(entry[1], workshop.case, workshop.catalogue)):
            continue
        group.append(entry)
        if len(group) == _AT_ONCE:
            yield group
            group = []
    if group:
        yield group
