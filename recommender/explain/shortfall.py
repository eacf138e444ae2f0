"""Too little money: what works but for the budget, and what would bring a price within it.

Where something works that is too dear, every conflict holds the budget. So all options are asked at
once whether anything is cheap enough, instead of one option after the other for its own conflicts.
"""

from collections.abc import Sequence
from dataclasses import replace
from operator import itemgetter
from typing import Final

from recommender.choice.checks.configured import BUDGET
from recommender.choice.deadline import Unsettled, check_time
from recommender.choice.decision.ask import Asker, Priced
from recommender.choice.decision.decide import cheapest_alone
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import GAP
from recommender.choice.parts.pricing import Cents, budget_of
from recommender.explain.concessions import sensible
from recommender.explain.conflicts import Conflicts, Keys, helping_alone
from recommender.explain.edges import Relaxed, ease
from recommender.explain.impasse import Impasse, Way
from recommender.explain.oracle import Key, Oracle, case_key
from recommender.explain.reasons import Explanation
from recommender.explain.requirements import (
    Number,
    Requirement,
    Situation,
    situations,
    without_budget,
)
from recommender.inputs.case import Case

_CLOSELY: Final = 8
"""Questions that are asked of the choice itself where what is quicker leaves them open."""


class WithinBudget:
    """Answers what an oracle does, of all options together, by what is within a budget.

    Parameters
    ----------
    asker : Asker
    budget : int
        Cents.
    """

    def __init__(self, asker: Asker, budget: Cents) -> None:
        self.budget, self._asker = budget, asker
        self._closely = _CLOSELY
        self._enough: dict[Key, bool] = {}
        self._found: dict[Key, Priced | None] = {}

    def works(self, *situations: Situation) -> bool:
        """Whether anything is cheap enough in any of some cases, whatever their option."""
        return any(self._found_any(situation.case) for situation in situations)

    def price(self, *situations: Situation) -> Cents | None:
        """The least price within the budget, ``None`` if there is none."""
        found = (self.cheapest(situation.case) for situation in situations)
        return min((each.price for each in found if each is not None), default=None)

    def passes_alone(self, situation: Situation) -> bool:
        """That some option may pass its own checks: they are asked with everything else."""
        return True

    def _found_any(self, case: Case) -> bool:
        check_time(Unsettled.IMPASSE)
        key = case.rate.per_carrier, *case_key(case)
        if key not in self._enough:
            self._enough[key] = self._ask(case, anything=True) is not None
        return self._enough[key]

    def cheapest(self, case: Case) -> Priced | None:
        """The cheapest configuration, ``None`` if all of them are too dear."""
        check_time(Unsettled.IMPASSE)
        key = case.rate.per_carrier, *case_key(case)
        if key not in self._found:
            self._found[key] = self._ask(case)
        return self._found[key]

    def _ask(self, case: Case, *, anything: bool = False) -> Priced | None:
        found, bounds = self._asker.cheaper(case, {}, self.budget + 1, anything=anything)
        least = min(bounds.values(), default=NEVER)
        if found is not None or least > (1.0 - GAP) * self.budget or not self._closely:
            return found
        # Nothing is found, and not all is ruled out: as closely as for a choice, some times.
        self._closely -= 1
        chosen, _ = cheapest_alone(without_budget(case), self._asker.catalogue)
        if chosen is None or chosen.price > self.budget:
            return None
        return Priced(chosen.audit.configuration, chosen.price, chosen.audit.takt)


def find_shortfall(
    dear: Sequence[tuple[Situation, Cents]],
    requirements: Sequence[Requirement],
    asker: Asker,
    budget: Cents,
) -> Impasse:
    """What clashes with the budget, where something works that is too dear.

    Parameters
    ----------
    dear : sequence of (Situation, int)
        Options that work but for the budget, and their prices, cents.
    requirements : sequence of Requirement
    asker : Asker
    budget : int
        Cents.

    Returns
    -------
    Impasse
        With one conflict, and the ways that help alone: more money, and what brings a price within
        the budget, the smallest first.

    Raises
    ------
    TimeUpError
        If an end by the clock was set and is there.
    """
    oracle = WithinBudget(asker, budget)
    nearest, _ = min(dear, key=itemgetter(1))
    keys = [each.key for each in requirements if each.key != BUDGET]

    def works(kept: Keys) -> bool:
        return oracle.works(*situations(nearest, requirements, kept | {BUDGET}))

    more = enough_money(dear, requirements)
    if not works(frozenset()):
        return Impasse((frozenset({BUDGET}),), True, (more,))
    clash, alone = helping_alone(keys, works)
    moves = [m for each in requirements if each.key in alone for m in each.moves]
    eased = [way for move in moves if (way := ease(move, nearest, oracle)) is not None]
    eased = [way for way in eased if sensible(way, nearest.case)]
    ways = [_cheapest(way, oracle) for way in sorted(eased, key=lambda way: way.effort)]
    return Impasse((clash | {BUDGET},), False, (more, *ways))


def enough_money(
    dear: Sequence[tuple[Situation, Cents]], requirements: Sequence[Requirement]
) -> Way:
    """The cheapest of what works but for the budget, and the budget that would be enough."""
    situation, price = min(dear, key=itemgetter(1))
    return situation.option.id, more_money(situation, requirements, price)


def _cheapest(way: Relaxed, oracle: WithinBudget) -> Way:
    found = oracle.cheapest(way.works.case)
    assert found is not None
    return found.configuration.option.id, replace(way, price=found.price)


def more_money(situation: Situation, requirements: Sequence[Requirement], price: Cents) -> Relaxed:
    """The concession of as large a budget as an option costs."""
    (number,) = (m for each in requirements if each.key == BUDGET for m in each.moves)
    assert isinstance(number, Number)
    enough = replace(number, lax=price / 100.0)
    works = enough.change(enough.last)(situation)
    return Relaxed((enough.concession(enough.last),), works, (situation,), price)


def too_dear(
    situation: Situation, requirements: Sequence[Requirement], price: Cents
) -> Explanation:
    """Why an option fails that works but for the budget; what else would help is not known."""
    unknown = Conflicts((), (), complete=False)
    return Explanation(unknown, (more_money(situation, requirements, price),), None)


def within_budget(found: Explanation, case: Case, oracle: Oracle) -> Explanation:
    """An explanation without regard to the budget, less the ways that cost more than may be spent.

    Parameters
    ----------
    found : Explanation
    case : Case
        With the budget.
    oracle : Oracle

    Returns
    -------
    Explanation
        There may be other conflicts, with the budget.
    """
    budget = budget_of(case)
    assert budget is not None

    def within(way: Relaxed) -> Relaxed | None:
        price = oracle.price_within(budget, way.works)
        return None if price is None else replace(way, price=price)

    alone = [way for way in map(within, found.alone) if way is not None]
    pair = None if found.pair is None else within(found.pair)
    return replace(
        found,
        conflicts=replace(found.conflicts, complete=False),
        alone=tuple(alone),
        pair=pair,
        beyond=len(alone) + (pair is not None) < len(found.known),
    )
