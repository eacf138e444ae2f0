"""Checks of a finished configuration on their own, without a loop behind them."""

from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.checks.configured import _budget, run_of_supply
from recommender.choice.checks.entry import HOLDS
from recommender.choice.configuration import Group
from recommender.inputs.case import Case, make_case


def test_sections_of_a_supply_are_counted_from_one_and_round_the_loop() -> None:
    rng = np.random.default_rng(2)
    for _ in range(200):
        size = int(rng.integers(2, 15))
        count = int(rng.integers(1, size))
        first = int(rng.integers(0, 2 * size))
        group, other = Group("s", first, count), Group("t", first + count, size - count)
        electrics = SimpleNamespace(groups=[group, other])
        built: Any = SimpleNamespace(electrics=electrics, sections=size)
        served = [(first + k) % size + 1 for k in range(count)]
        where = run_of_supply(group, built)
        assert (where.part, where.sections) == ("s", (served[0], served[-1]))
        electrics.groups = [group]
        assert run_of_supply(group, built).sections is None


@pytest.mark.parametrize("budget", ["1234.56", "90000", "7.10"])
def test_all_of_a_budget_may_be_spent_and_no_cent_more(budget: str) -> None:
    table = {"load": {"mass": "3 kg"}, "rate": {"items": "6/min"}}
    case = make_case({**table, "commercial": {"budget": f"{budget} EUR"}}, "t")

    def context(case: Case, price: Decimal) -> Any:
        return SimpleNamespace(
            layout=SimpleNamespace(about=SimpleNamespace(case=case)), price=price
        )

    for more, holds in ((Decimal("0"), True), (Decimal("0.01"), False)):
        outcome = _budget(context(case, Decimal(budget) + more))
        assert outcome is not None
        assert (outcome.utilisation()[0] <= HOLDS) == holds
        assert outcome.limit == pytest.approx(float(budget))
    assert _budget(context(make_case(table, "t"), Decimal(budget))) is None
