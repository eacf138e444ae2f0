"""A budget is compared with a price that is known, and moves no choice."""

from decimal import Decimal
from functools import cache

import numpy as np
import pytest

from recommender.choice.decision.decide import decide, price_alone
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.goals import Goal
from recommender.explain.requirements import without_budget
from recommender.inputs.case import Case
from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.files import shipped
from recommender.results.answer import NEAREST
from tests.conftest import without_memory
from tests.random_enquiries import random_enquiry

FEW, MANY = 2, 30


@cache
def decided(seed: int) -> tuple[Case, Decision]:
    """The first enquiry of a seed that can be met, and the decision whatever may be spent."""
    catalogue, rng = read_catalogue(shipped("catalog")), np.random.default_rng([77, seed])
    while True:
        case = without_budget(random_enquiry(rng))
        found = decide(case, catalogue)
        if found.chosen is not None:
            return case, found


def with_budget(case: Case, budget: Decimal) -> Case:
    commercial = case.commercial.model_copy(update={"budget": f"{budget:.2f} EUR"})
    return case.model_copy(update={"commercial": commercial})


def price_of(entry: OptionReport) -> Decimal | None:
    return entry.audit.price if entry.audit is not None and entry.feasible else None


def compare(seed: int, nearest: int | None) -> None:
    catalogue = read_catalogue(shipped("catalog"))
    case, free = decided(seed)
    assert free.chosen is not None
    prices = sorted({price for entry in free.looked if (price := price_of(entry)) is not None})
    cheapest, cent = free.chosen.price, Decimal("0.01")
    # All there is, some of the options, the choice alone to the cent, and a cent too little.
    for budget in (2 * prices[-1], prices[len(prices) // 2], cheapest, cheapest - cent):
        asked = with_budget(case, budget)
        found = decide(asked, catalogue, nearest=nearest)
        if budget < cheapest:
            assert found.chosen is None
            lacks = [one for entry in found.looked if (one := entry.lacks_money(asked))]
            assert Decimal(min(one.price for one in lacks if one.built)) / 100 == cheapest
        else:
            assert found.chosen is not None
            assert found.chosen.price == cheapest
            assert found.chosen.configuration == free.chosen.configuration
            assert found.bound == free.bound
        for entry, before in zip(found.looked, free.looked, strict=True):
            compare_option(entry, before, asked, budget)


def compare_option(entry: OptionReport, before: OptionReport, case: Case, budget: Decimal) -> None:
    known, lacks = price_of(before), entry.lacks_money(case)
    if known is None:
        assert not entry.feasible
        assert lacks is None
        return
    # Nothing is refused that can be had, and nothing promised that cannot.
    assert entry.feasible or known > budget or not entry.decided
    if price_of(entry) is not None:
        assert price_of(entry) == known
    if entry.feasible and entry.audit is None:
        assert Decimal(before.bound) / 100 <= budget
    if not entry.feasible:
        assert lacks is not None or not entry.decided
        if lacks is not None:
            assert lacks.price > lacks.budget
            assert Decimal(lacks.least) / 100 <= known
            assert lacks.sure == entry.decided


@pytest.mark.parametrize("goal", [Goal.FLOOR, Goal.DELIVERY, Goal.ENERGY])
def test_what_has_least_of_another_goal_is_within_the_budget(goal: Goal) -> None:
    catalogue = read_catalogue(shipped("catalog"))
    kept = {"carrier": ("std-68", "std-92"), "bend": ("arc-280", "arc-480")}
    few = without_memory(
        catalogue,
        **{name: tuple(p for p in getattr(catalogue, name) if p.id in kept[name]) for name in kept},
    )
    case = Case.model_validate(
        {
            "load": {"mass": "2 kg", "length": "120 mm", "width": "120 mm", "held": "clamped"},
            "rate": {"items": "20/min"},
        }
    )
    cheapest = decide(case, few).chosen
    free = decide(case, few, goal=goal)
    assert cheapest is not None
    assert free.chosen is not None
    # Room for the cheapest, and not for all that works.
    prices = [price for entry in free.looked if (price := price_of(entry)) is not None]
    budget = (cheapest.price + max(prices)) / 2
    found = decide(with_budget(case, budget), few, goal=goal)
    assert found.chosen is not None
    assert found.chosen.price <= budget
    assert found.least is not None
    assert free.least is not None
    assert found.least.value >= free.least.value
    none = decide(with_budget(case, cheapest.price - 1), few, goal=goal)
    assert none.chosen is None
    assert any(entry.lacks_money(with_budget(case, cheapest.price - 1)) for entry in none.looked)


@pytest.mark.parametrize("nearest", [None, NEAREST])
@pytest.mark.parametrize("seed", range(FEW))
def test_what_a_budget_leaves_is_what_costs_no_more(seed: int, nearest: int | None) -> None:
    compare(seed, nearest)


def test_the_choice_alone_has_its_price_from_what_is_too_dear() -> None:
    catalogue, rng = read_catalogue(shipped("catalog")), np.random.default_rng([77, 0])
    case = without_budget(random_enquiry(rng))
    price, _ = price_alone(case, catalogue)
    assert price is not None
    asked = with_budget(case, Decimal(price) / 100 - 1)
    found = decide(asked, catalogue, nearest=0)
    assert found.chosen is None
    assert any(entry.lacks_money(asked) for entry in found.looked)


@pytest.mark.nightly
@pytest.mark.parametrize("nearest", [None, NEAREST])
@pytest.mark.parametrize("seed", range(FEW, MANY))
def test_what_many_budgets_leave_is_what_costs_no_more(seed: int, nearest: int | None) -> None:
    compare(seed, nearest)
