"""What would bring a price within the budget, against the choice itself; enquiries are drawn."""

from functools import cache
from typing import NamedTuple

import numpy as np
import pytest

from recommender.choice.checks.configured import BUDGET
from recommender.choice.deadline import TimeUpError
from recommender.choice.decision.decide import decide, price_alone
from recommender.choice.parts.goals import GAP
from recommender.choice.parts.pricing import budget_of
from recommender.explain import explained
from recommender.explain.concessions import sensible
from recommender.explain.edges import Relaxed
from recommender.explain.explained import explain_decision
from recommender.explain.impasse import Impasse
from recommender.explain.requirements import (
    Move,
    Requirement,
    Situation,
    edited,
    situations,
    without_budget,
)
from recommender.explain.table import list_requirements
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.recommend import recommend
from tests.random_enquiries import random_enquiry

FEW, MANY = 2, 20


class Told(NamedTuple):
    """An enquiry with too little to spend, its cheapest price, and what is told of it."""

    case: Case
    price: int
    requirements: tuple[Requirement, ...]
    impasse: Impasse
    catalogue: Catalogue

    def works(self, kept: frozenset[str]) -> bool:
        """Whether the choice finds anything if only some requirements are kept."""
        situation = Situation(self.impasse.ways[0][1].works.option, self.case)
        asked = situations(situation, self.requirements, kept)
        return any(self.meets(each.case) for each in asked)

    @property
    def budget(self) -> int:
        budget = budget_of(self.case)
        assert budget is not None
        return budget

    def meets(self, case: Case) -> bool:
        return price_alone(case, self.catalogue)[0] is not None


@cache
def told(seed: int) -> Told:
    catalogue, rng = read_catalogue(shipped("catalog")), np.random.default_rng([78, seed])
    while True:
        case = without_budget(random_enquiry(rng))
        price = price_alone(case, catalogue)[0]
        if price is not None:
            break
    case = edited(case, BUDGET, f"{rng.uniform(0.85, 0.99) * price / 100.0:.2f} EUR")
    decision = decide(case, catalogue, nearest=5)
    assert decision.chosen is None
    explained = explain_decision(decision, case, catalogue, about=(), offers_alone=True)
    assert explained.impasse is not None
    requirements = tuple(list_requirements(case, catalogue))
    return Told(case, price, requirements, explained.impasse, catalogue)


seeds = pytest.mark.parametrize(
    "seed", [pytest.param(k, marks=[pytest.mark.nightly] * (k >= FEW)) for k in range(MANY)]
)


@seeds
def test_more_money_is_told_first_and_enough(seed: int) -> None:
    found = told(seed)
    (_, more), *_ = found.impasse.ways
    (concession,) = more.concessions
    assert concession.key == BUDGET
    assert more.price == found.price
    assert price_alone(more.works.case, found.catalogue)[0] == found.price


@seeds
def test_a_conflict_is_too_dear_and_each_part_is_not(seed: int) -> None:
    found = told(seed)
    (conflict,) = found.impasse.conflicts
    assert BUDGET in conflict
    assert not found.works(conflict)
    for key in conflict:
        assert found.works(conflict - {key}), key


@seeds
def test_each_way_is_within_the_budget_and_a_step_less_is_not(seed: int) -> None:
    found = told(seed)
    for id_, way in found.impasse.ways:
        price, _ = price_alone(way.works.case, found.catalogue)
        assert way.price == price, id_
        # Prices are proven to half a per cent.
        (short,) = way.fails
        price, _ = price_alone(short.case, found.catalogue)
        assert price is None or price > (1.0 - GAP) * found.budget, way.concessions


@seeds
def test_what_helps_alone_is_told(seed: int) -> None:
    found = told(seed)
    every = frozenset(each.key for each in found.requirements)
    ways = {entry.key for _, way in found.impasse.ways for entry in way.concessions}
    situation = Situation(found.impasse.ways[0][1].works.option, found.case)
    for each in found.requirements:
        if each.key in ways or not found.works(every - {each.key}):
            continue
        # What helps only if nobody would offer it is left out.
        for move in each.moves:
            far = [step for step in range(move.last + 1) if _offered(move, step, situation)]
            assert not far or not found.meets(move.change(far[-1])(situation).case)


def _offered(move: Move, step: int, situation: Situation) -> bool:
    way = Relaxed((move.concession(step),), move.change(step)(situation), (situation,))
    return sensible(way, situation.case)


def test_what_would_be_enough_is_told_though_the_time_is_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def too_late(*_: object) -> None:
        raise TimeUpError

    found = told(0)
    monkeypatch.setattr(explained, "find_shortfall", too_late)
    answer = recommend(found.case, found.catalogue)
    assert answer.impasse is not None
    assert answer.impasse.conflicts == ()
    assert not answer.impasse.conflicts_complete
    (way,) = answer.impasse.ways
    assert way.price is not None
    assert round(100 * way.price) == found.price
    assert "EUR more than may be spent." in answer.impasse.reason
    assert "single concession" not in answer.impasse.reason
