"""The decision: every option explored, the cheapest one proven, made gentle and audited."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from recommender.choice.audit import Audit, audit
from recommender.choice.bodies import batches
from recommender.choice.boxes.axes import axes_of
from recommender.choice.boxes.explore import (
    CLOSE,
    GLANCE,
    Effort,
    Explored,
    explore,
    explore_further,
)
from recommender.choice.deadline import Unsettled, late
from recommender.choice.electrical import NEVER
from recommender.choice.grid import Grid
from recommender.choice.look import Looked, cut_off, left_unexplored, look, made_gentle
from recommender.choice.options import Option, list_options
from recommender.choice.price_bound import BuildPrices
from recommender.choice.pricing import Cents
from recommender.choice.screen import Screened, acceleration_ceiling, screen, speed_ceiling
from recommender.choice.search import Candidate, passes_alone, within_budget
from recommender.choice.setting import OptionContext
from recommender.choice.settle import Settled, settle
from recommender.choice.workshop import Workshop
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.arguments import trusted

PROOF: Final = Effort(boxes=100_000, seatings=1_000)
"""Work after which the proof is left where it is: some minutes, ten times what worked cases take.

Counted and not timed, so that the answer is the same on every machine, however busy it is.
"""

GAP: Final = 0.005
"""Share of the price by which something may be cheaper where a price is called proven."""

MANY: Final = 400
"""Options beyond which not all of them are explored."""

_AT_ONCE = 24
_MOST_WAVES = 1
_BUILT_ANYHOW = 3
"""Candidates that are built even if the time is up, so that something can be shown."""


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


def decide(case: Case, catalogue: Catalogue, *, work: Effort = PROOF) -> Decision:
    """Look at every option of a case and choose.

    Of a catalogue with very many options those are left unexplored that cannot be among the
    cheaper ones; of them it is known what they cost at least. Where an end by the clock was set
    (`recommender.choice.deadline`), what is not looked at by then is left.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    work : Effort
        Boxes and seatings in all, after which what is open yet is left as it is.

    Returns
    -------
    Decision

    Raises
    ------
    RuntimeError
        If the choice does not pass its audit: a fault of ours.
    """
    with trusted():
        decision = _decided(case, catalogue, work)
    if decision.chosen is None:
        return decision
    # With every argument checked again: an answer that fails here is never shown.
    chosen = audit(decision.chosen.configuration, case, catalogue)
    if chosen.failures:
        raise RuntimeError(f"the choice fails for {chosen.failures[0].check} in its audit")
    looked = tuple(
        replace(entry, audit=chosen, feasible=True, decided=True, cut_off=False)
        if entry.option == chosen.configuration.option
        else entry
        for entry in decision.looked
    )
    return replace(decision, looked=looked, chosen=chosen)


def price_alone(
    case: Case, catalogue: Catalogue, *, work: Effort = PROOF
) -> tuple[Cents | None, Cents]:
    """The price of the choice and the one that nothing undercuts, and nothing about the options.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    work : Effort
        As for `decide`.

    Returns
    -------
    tuple
        Cents; ``None`` if nothing works.
    """
    with trusted():
        longest = case.loop.max_length or catalogue.rules.longest_loop
        found = _Search(Workshop(case, catalogue, longest), work)
        found.explore(list_options(case, catalogue))
        found.settle()
    return (found.best.price if found.best else None), found.bound


def _decided(case: Case, catalogue: Catalogue, work: Effort) -> Decision:
    workshop = Workshop(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    options = list_options(case, catalogue)
    found = _Search(workshop, work)
    found.explore(options)
    found.settle()
    screened = _screened([o for o in options if found.fails(o) and not found.is_left(o)], workshop)
    looked = tuple(
        _looked_at(option, found, screened.get(option.id), workshop) for option in options
    )
    best = found.best
    if best is None:
        return Decision(looked, None, 0, 0)
    axes = found.explored[best.audit.configuration.option.id].axes
    chosen = made_gentle(axes, best.audit, workshop)
    return Decision(looked, chosen, found.bound, best.price)


def _looked_at(
    option: Option, found: "_Search", screened: Screened | None, workshop: Workshop
) -> Looked:
    explored = found.explored.get(option.id)
    if option.id in found.cut:
        return cut_off(option, workshop, found.left[option.id])
    if found.is_left(option):
        return left_unexplored(option, workshop, found.left[option.id])
    if late(Unsettled.OPTIONS):
        return cut_off(option, workshop, explored.bound if explored else NEVER)
    return look(explored, screened, found.refused, workshop, option)


class _Search:
    """What is found out about the options of a case, the most promising first."""

    def __init__(self, workshop: Workshop, work: Effort) -> None:
        self.workshop, self.work = workshop, work
        self.explored: dict[str, Explored] = {}
        self.left: dict[str, Cents] = {}
        self.cut: set[str] = set()
        self.refused: list[Candidate] = []
        self.best: Settled | None = None

    def fails(self, option: Option) -> bool:
        """Whether nothing was found for an option that the budget pays for."""
        return not self._affordable(option.id)

    def is_left(self, option: Option) -> bool:
        """Whether an option has been left unexplored."""
        return option.id in self.left

    @property
    def bound(self) -> Cents:
        """A price that nothing undercuts."""
        bounds = (entry.bound for entry in self.explored.values())
        return min([self.limit, *bounds, *self.left.values()])

    @property
    def limit(self) -> Cents:
        """The least price that is known to be had."""
        return self.best.price if self.best else NEVER

    def explore(self, options: Sequence[Option]) -> None:
        """Glance at the options by the price that they cannot undercut."""
        queue, many = _in_order(options, self.workshop), len(options) > MANY
        # Of many options those that cannot work alone are told by the check that says so.
        if many:
            able = {option.id for _, option in queue}
            self.left = {option.id: NEVER for option in options if option.id not in able}
        cheapest = NEVER
        for start in range(0, len(queue), MANY if not many else _AT_ONCE):
            some = queue[start : start + (MANY if not many else _AT_ONCE)]
            if many and some[0][0] > cheapest:
                self.left |= {option.id: bound for bound, option in queue[start:]}
                return
            wanted = [option for bound, option in some if not many or bound <= cheapest]
            self.left |= {o.id: bound for bound, o in some if many and bound > cheapest}
            case, catalogue = self.workshop.case, self.workshop.catalogue
            bounds = {option.id: bound for bound, option in some}
            for axes in axes_of(wanted, case, catalogue):
                option = axes.about.option
                if late(Unsettled.OPTIONS):
                    self.left[option.id] = bounds[option.id]
                    self.cut.add(option.id)
                    continue
                entry = explore(axes, self.workshop, self._within(GLANCE))
                self._spend(entry)
                self.explored[option.id] = entry
                found = within_budget(entry.candidates, case)
                cheapest = min([cheapest, *(candidate.price for candidate in found)])

    def settle(self) -> None:
        """Build the cheapest, and look closely at what may undercut it or was not seen to work."""
        self._settle([c for id_ in self.explored for c in self._affordable(id_)])
        sloshes = self.workshop.case.load.liquid is not None
        entries = self.explored
        # Where waves decide, looking closely is dear: at the cheapest that is known, no further.
        order = sorted(entries, key=lambda id_: (sloshes * entries[id_].price, entries[id_].bound))
        for id_ in order[:_MOST_WAVES] if sloshes else order:
            entry = self.explored[id_]
            if entry.left and (entry.bound < self.limit or not entry.candidates):
                effort = self._within(CLOSE)
                self.explored[id_] = explore_further(entry, self.workshop, effort, self.limit)
                self._spend(self.explored[id_])
                self._settle(self._affordable(id_))

    def _within(self, effort: Effort) -> Effort:
        """As close a look as the work allows that is left for all options."""
        return replace(
            effort,
            boxes=min(effort.boxes, self.work.boxes),
            seatings=min(effort.seatings, self.work.seatings),
        )

    def _spend(self, entry: Explored) -> None:
        self.work = replace(
            self.work,
            boxes=max(self.work.boxes - entry.boxes, 0),
            seatings=max(self.work.seatings - entry.seatings, 0),
        )

    def _affordable(self, id_: str) -> list[Candidate]:
        entry = self.explored.get(id_)
        return within_budget(entry.candidates, self.workshop.case) if entry else []

    def _settle(self, candidates: Sequence[Candidate]) -> None:
        """Build some candidates, cheapest first, while they may be cheaper than the best."""
        order = sorted(candidates, key=lambda entry: (entry.price, entry.used))
        for built, candidate in enumerate(order):
            if candidate.price >= self.limit:
                return
            if built >= _BUILT_ANYHOW and late(Unsettled.SEARCH):
                return
            settled = settle(candidate, self.workshop)
            if settled is None:
                self.refused.append(candidate)
            elif settled.price < self.limit:
                self.best = settled


def _in_order(options: Sequence[Option], workshop: Workshop) -> list[tuple[Cents, Option]]:
    """Options that may work, with a price that they cannot undercut, lowest first."""
    case, catalogue = workshop.case, workshop.catalogue
    able = [o for o in options if passes_alone(OptionContext(o, case, catalogue))]
    found: list[tuple[Cents, Option]] = []
    for batch in batches(able, case, catalogue.rules):
        acceleration, speed = acceleration_ceiling(batch)[:, 0], speed_ceiling(batch)[:, 0]
        for option, a, v in zip(batch.options, acceleration, speed, strict=True):
            about = OptionContext(option, case, catalogue)
            bound = BuildPrices.of(about, workshop).rough_bound(float(a), float(v), float(v))
            found.append((int(bound.min(initial=NEVER)), option))
    return sorted(found, key=lambda entry: entry[0])


def _screened(options: Sequence[Option], workshop: Workshop) -> dict[str, Screened]:
    """Settings of options that fail, on a grid, so that it can be said what fails."""
    return {
        entry.context.about.option.id: entry
        for entry in screen(options, workshop.case, workshop.catalogue, Grid())
    }
