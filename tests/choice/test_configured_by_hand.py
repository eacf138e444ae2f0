"""Checks of a finished configuration on their own, without a loop behind them."""

from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.checks import configured as module
from recommender.choice.checks.configured import _budget, run_of_supply
from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision import option_report as look
from recommender.choice.parts.configuration import Group
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue


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


def test_voltage_is_lost_as_by_the_currents_at_the_lowest_voltage(
    monkeypatch: pytest.MonkeyPatch, catalogue: Catalogue
) -> None:
    """Three sections behind a feed, each through all of the bus before it; one per cent may go."""
    drawn, lengths = np.array([120.0, 340.0, 75.0]), np.array([0.4, 1.0, 0.7])
    branch = SimpleNamespace(supply="s", lengths=lengths, name="from the feed")
    monkeypatch.setattr(module, "feed_branches", lambda *_: [branch])
    beyond = np.cumsum(drawn[::-1])[::-1]
    monkeypatch.setattr(module, "peaks_beyond", lambda *_: [beyond])
    rules = SimpleNamespace(voltage_drop=0.1, winding_limit=catalogue.rules.winding_limit)
    table: Any = SimpleNamespace(
        catalogue=SimpleNamespace(bus_resistance=2e-3),
        rules=rules,
        supply=[SimpleNamespace(id="s", voltage=48.0)],
    )
    context: Any = SimpleNamespace(
        catalogue=table, configuration=None, demand=SimpleNamespace(sections=None)
    )
    outcome = module._voltage(context)
    assert outcome is not None
    warm = 2e-3 * (1.0 + 0.00393 * (catalogue.rules.winding_limit - 293.15))
    lost = 0.0
    for section, power in enumerate(drawn):
        lost += power / 43.2 * warm * lengths[: section + 1].sum()
    assert outcome.demand == pytest.approx(lost)
    assert outcome.limit == pytest.approx(4.8)


@pytest.mark.parametrize("lap", [3.0, np.inf])
@pytest.mark.parametrize("peak", [3.0, np.inf])
def test_a_lap_that_cannot_be_run_has_no_powers(
    lap: float, peak: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    layout = SimpleNamespace(lap_time=np.array([lap]))
    monkeypatch.setattr(look, "LayoutContext", lambda *_: layout)
    monkeypatch.setattr(look, "peak_fleet_power", lambda _: np.array([peak]))
    monkeypatch.setattr(look, "whole_powers", lambda _: (np.array([5]), np.array([7])))
    some: Any = None
    expected = (5, 7) if max(lap, peak) < np.inf else None
    assert look._powers(some, some, 3) == expected
