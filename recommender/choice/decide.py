"""The decision: every option explored, the cheapest one proven, made gentle and audited.

The same search finds what has least of something else (`recommender.choice.goals`): by rank, which
is the price unless another goal is named.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from recommender.choice.audit import Audit, audit
from recommender.choice.bodies import batches
from recommender.choice.boxes.axes import Axes, axes_of
from recommender.choice.boxes.explore import (
    CLOSE,
    GLANCE,
    STEADY,
    Effort,
    Explored,
    explore,
    explore_further,
)
from recommender.choice.deadline import Unsettled, late
from recommender.choice.electrical import NEVER
from recommender.choice.goals import Goal, measure_of, price_of, worth_finding
from recommender.choice.grid import Grid
from recommender.choice.look import (
    Looked,
    cut_off,
    left_unexplored,
    look,
    made_gentle,
    station_names,
)
from recommender.choice.options import Option, list_options
from recommender.choice.price_bound import BuildPrices
from recommender.choice.pricing import Cents
from recommender.choice.screen import Screened, acceleration_ceiling, screen, speed_ceiling
from recommender.choice.search import Candidate, passes_alone, within_budget
from recommender.choice.setting import OptionContext
from recommender.choice.settle import Settled, measured, rank_of, settle
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
class Least:
    """What a choice has of a goal that is not the price, and what nothing undercuts, in steps.

    ``cheapest`` is what would be chosen by price, as far as it was found, and ``at_least`` a price
    that nothing undercuts, cents.
    """

    goal: Goal
    value: int
    bound: int
    cheapest: Audit | None = None
    at_least: Cents = 0

    @property
    def optimal(self) -> bool:
        """Whether nothing has less: nothing at all, or of energy nothing by more than `GAP`."""
        share = 0.0 if self.goal.discrete else GAP
        return self.bound >= (1.0 - share) * self.value


@dataclass(frozen=True)
class Decision:
    """Every option in the catalogue's order, and the proven choice.

    ``bound`` is a price that nothing undercuts, cents; the choice is ``optimal`` if it lies within
    `GAP` of that. Where something else was to be ``least``, nothing that has no more of it costs
    less than ``bound``, which is 0 where that is not known.
    """

    looked: tuple[Looked, ...]
    chosen: Audit | None
    bound: Cents
    price: Cents
    least: Least | None = None

    @property
    def goal(self) -> Goal:
        """What was to be least."""
        return self.least.goal if self.least else Goal.PRICE

    @property
    def optimal(self) -> bool:
        """Whether the choice is proven."""
        if self.least is not None:
            return self.least.optimal
        return self.bound >= (1.0 - GAP) * self.price


def decide(
    case: Case, catalogue: Catalogue, *, work: Effort = PROOF, goal: Goal = Goal.PRICE
) -> Decision:
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
    goal : Goal
        What is to be least. Where it is not the price, the cheapest is looked for before, with
        as much work again: what the choice costs more is part of the answer.

    Returns
    -------
    Decision

    Raises
    ------
    RuntimeError
        If the choice does not pass its audit: a fault of ours.
    """
    with trusted():
        decision = _decided(case, catalogue, work, goal)
    return _audited(decision, case, catalogue)


def _audited(decision: Decision, case: Case, catalogue: Catalogue) -> Decision:
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


def price_at_a_glance(option: Option, case: Case, catalogue: Catalogue) -> Cents | None:
    """The price of a configuration of one option that is built; a closer look may find another.

    Parameters
    ----------
    option : Option
    case : Case
    catalogue : Catalogue

    Returns
    -------
    int or None
        Cents; ``None`` if nothing was found.
    """
    with trusted():
        longest = case.loop.max_length or catalogue.rules.longest_loop
        found = _Search(Workshop(case, catalogue, longest), PROOF)
        found.explore([option])
        found.build()
    return found.best.price if found.best else None


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
        found = _searched(case, catalogue, work)
    return (found.best.price if found.best else None), found.bound


def explored_by_price(
    case: Case, catalogue: Catalogue, *, work: Effort = PROOF
) -> tuple[Decision, dict[str, Explored], Workshop]:
    """The decision by price, what was found of each option that was looked at, and with what.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    work : Effort
        As for `decide`.

    Returns
    -------
    tuple
        The decision, by the ids of options what their boxes came to, and what they share.
    """
    with trusted():
        found = _searched(case, catalogue, work)
        decision = _looked_at(found)
    return _audited(decision, case, catalogue), found.explored, found.workshop


def _searched(case: Case, catalogue: Catalogue, work: Effort) -> "_Search":
    longest = case.loop.max_length or catalogue.rules.longest_loop
    found = _Search(Workshop(case, catalogue, longest), work)
    found.explore(list_options(case, catalogue))
    found.settle()
    return found


def choose(
    case: Case, catalogue: Catalogue, goals: Sequence[Goal], *, work: Effort = PROOF
) -> list[Decision]:
    """The choices by some goals that are not the price, and of all options only those chosen.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    goals : sequence of Goal
    work : Effort
        As for `decide`, for each goal.

    Returns
    -------
    list of Decision
        For each goal; empty if nothing works.
    """
    with trusted():
        by_price = _searched(case, catalogue, work)
        if by_price.best is None:
            return []
        found = [_by_goal(by_price, goal, work) for goal in goals]
        decisions = [_least_of(each, _chosen(each)) for each in found]
    return [_audited(decision, case, catalogue) for decision in decisions]


def _decided(case: Case, catalogue: Catalogue, work: Effort, goal: Goal) -> Decision:
    by_price = _searched(case, catalogue, work)
    if goal is Goal.PRICE:
        return _looked_at(by_price)
    found = _by_goal(by_price, goal, work)
    return _least_of(found, _looked_at(found))


def _by_goal(by_price: "_Search", goal: Goal, work: Effort) -> "_Search":
    workshop = replace(by_price.workshop, goal=goal)
    found = _Search(workshop, work, known=by_price)
    found.explore(list_options(workshop.case, workshop.catalogue))
    found.settle()
    return found


def _least_of(found: "_Search", decision: Decision) -> Decision:
    """A decision with what it has of its goal, beside that by price."""
    by_price, goal, catalogue = found.by_price, found.workshop.goal, found.workshop.catalogue
    if decision.chosen is None or by_price is None:
        return decision
    value, bound = measured(goal, decision.chosen, catalogue), measure_of(found.bound)
    cheapest = by_price.gentle
    return replace(
        decision,
        bound=price_of(found.bound) if goal.discrete and bound >= value else 0,
        least=Least(goal, value, bound, cheapest, by_price.bound),
    )


def _chosen(found: "_Search") -> Decision:
    """The choice, and nothing about other options."""
    best, chosen = found.best, found.gentle
    if best is None or chosen is None:
        return Decision((), None, 0, 0)
    option, names = chosen.configuration.option, station_names(found.workshop.case)
    looked = found.with_bounds(Looked(option, names, True, chosen))
    return Decision((looked,), chosen, found.bound, best.price)


def _looked_at(found: "_Search") -> Decision:
    workshop = found.workshop
    options = list_options(workshop.case, workshop.catalogue)
    screened = _screened([o for o in options if found.fails(o) and not found.is_left(o)], workshop)
    looked = tuple(_looked_at_in_time(option, found, screened.get(option.id)) for option in options)
    looked = tuple(found.with_bounds(entry) for entry in looked)
    best = found.best
    if best is None:
        return Decision(looked, None, 0, 0)
    return Decision(looked, found.gentle, found.bound, best.price)


def _looked_at_in_time(option: Option, found: "_Search", screened: Screened | None) -> Looked:
    workshop = found.workshop
    if option.id in found.cut or (late(Unsettled.OPTIONS) and not found.is_left(option)):
        return cut_off(option, workshop, found.bound_of(option.id))
    if found.is_left(option):
        return left_unexplored(option, workshop, found.left[option.id])
    return look(found.known_of(option), screened, found.refused, workshop, option)


class _Search:
    """What is found out about the options of a case, the most promising first."""

    def __init__(self, workshop: Workshop, work: Effort, known: "_Search | None" = None) -> None:
        self.workshop, self.work = workshop, work
        self.explored: dict[str, Explored] = {}
        self.left: dict[str, int] = {}
        self.cut: set[str] = set()
        self.refused: list[Candidate] = [] if known is None else list(known.refused)
        self.best: Settled | None = None
        self.by_price = known
        if known is not None and known.best is not None:
            self.best = replace(known.best, rank=rank_of(known.best.audit, workshop))

    def fails(self, option: Option) -> bool:
        """Whether nothing was found for an option that the budget pays for."""
        other = self.by_price
        return not self._affordable(option.id) and (other is None or other.fails(option))

    def known_of(self, option: Option) -> Explored | None:
        """What there is to tell of an option: where nothing ranks, what was found by price."""
        if self.by_price is not None and not self._affordable(option.id):
            return self.by_price.explored.get(option.id)
        return self.explored.get(option.id)

    @cached_property
    def gentle(self) -> Audit | None:
        """The best with the gentlest motion that it may have, once all is explored."""
        if self.best is None:
            return None
        axes = self.axes_of(self.best.audit.configuration.option.id)
        return made_gentle(axes, self.best.audit, self.workshop)

    def axes_of(self, id_: str) -> Axes:
        """What an option may do that was looked at."""
        if id_ in self.explored or self.by_price is None:
            return self.explored[id_].axes
        return self.by_price.axes_of(id_)

    def with_bounds(self, entry: Looked) -> Looked:
        """An option with the price that it cannot undercut, and what else it cannot."""
        if self.by_price is None:
            return entry
        id_ = entry.option.id
        price, rank = (found.bound_of(id_) for found in (self.by_price, self))
        return replace(entry, bound=price, least=measure_of(rank) if rank < NEVER else None)

    def bound_of(self, id_: str) -> int:
        """A rank that nothing of an option undercuts."""
        explored = self.explored.get(id_)
        return explored.bound if explored else self.left.get(id_, NEVER)

    def is_left(self, option: Option) -> bool:
        """Whether an option has been left unexplored."""
        return option.id in self.left

    @property
    def bound(self) -> int:
        """A rank that nothing undercuts."""
        bounds = (entry.bound for entry in self.explored.values())
        return min([self.limit, *bounds, *self.left.values()])

    @property
    def limit(self) -> int:
        """The rank below which something is worth looking for."""
        return worth_finding(self.workshop.goal, self.best.rank) if self.best else NEVER

    def explore(self, options: Sequence[Option]) -> None:
        """Glance at the options by the rank that they cannot undercut."""
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
                cheapest = min([cheapest, *(candidate.rank for candidate in found)])

    def settle(self) -> None:
        """Build the cheapest, and look closely at what may undercut it or was not seen to work."""
        self.build()
        sloshes = self.workshop.case.load.liquid is not None
        entries = self.explored
        # Where waves decide, looking closely is dear: at the cheapest that is known, no further.
        order = sorted(entries, key=lambda id_: (sloshes * entries[id_].best, entries[id_].bound))
        for id_ in order[:_MOST_WAVES] if sloshes else order:
            entry = self.explored[id_]
            if entry.left and (entry.bound < self.limit or not entry.candidates):
                effort = self._within(CLOSE if self.workshop.goal.discrete else STEADY)
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

    def build(self) -> None:
        """Build the cheapest of what was found."""
        self._settle([c for id_ in self.explored for c in self._affordable(id_)])

    def _affordable(self, id_: str) -> list[Candidate]:
        entry = self.explored.get(id_)
        return within_budget(entry.candidates, self.workshop.case) if entry else []

    def _settle(self, candidates: Sequence[Candidate]) -> None:
        """Build some candidates, cheapest first, while they may be cheaper than the best."""
        order = sorted(candidates, key=lambda entry: (entry.rank, entry.used))
        for built, candidate in enumerate(order):
            if candidate.rank >= self.limit:
                return
            if built >= _BUILT_ANYHOW and late(Unsettled.SEARCH):
                return
            settled = settle(candidate, self.workshop)
            if settled is None:
                self.refused.append(candidate)
            elif self.best is None or settled.rank < self.best.rank:
                self.best = settled


def _in_order(options: Sequence[Option], workshop: Workshop) -> list[tuple[int, Option]]:
    """Options that may work, with a rank that they cannot undercut, lowest first."""
    case, catalogue = workshop.case, workshop.catalogue
    able = [o for o in options if passes_alone(OptionContext(o, case, catalogue))]
    found: list[tuple[int, Option]] = []
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
