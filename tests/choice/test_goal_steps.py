"""What a goal counts in: cm², hundredths of a week and mW, rounded upward and given back."""

from fractions import Fraction
from math import ceil
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.decision.options_search import OptionsSearch
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import (
    PRICE_ROOM,
    Goal,
    in_units,
    measure_of,
    price_of,
    rank,
    steps,
    worth_finding,
)

STEP = {
    Goal.FLOOR: Fraction(1, 10_000),
    Goal.DELIVERY: Fraction(1, 100),
    Goal.ENERGY: Fraction(1, 1000),
}


@pytest.mark.parametrize("goal", STEP)
def test_a_measure_counts_the_steps_that_cover_it(goal: Goal) -> None:
    rng = np.random.default_rng(5)
    for value in rng.uniform(0.01, 900.0, 200).tolist():
        counted = steps(goal, value).item()
        assert counted == ceil(Fraction(value) / STEP[goal])
        given_back = in_units(goal, counted)
        assert value <= given_back * (1.0 + 1e-12)
        assert given_back == pytest.approx(float(counted * STEP[goal]), rel=1e-12)


def test_ranks_order_by_the_measure_and_then_by_the_price() -> None:
    rng = np.random.default_rng(6)
    pairs = [tuple(pair) for pair in rng.integers(0, 6, (60, 2)).tolist()]
    ranks = {pair: rank(pair[0], pair[1] * 10**8).item() for pair in pairs}
    assert sorted(pairs) == sorted(pairs, key=ranks.__getitem__)
    for (measure, price), number in ranks.items():
        assert (measure_of(number), price_of(number)) == (measure, price * 10**8)


def test_what_has_no_price_ranks_behind_all_that_has_one_and_measures_the_same() -> None:
    assert rank(7, 10**9) < rank(7, NEVER) < rank(8, 0)
    assert rank(0, NEVER) == NEVER


def test_of_energy_less_than_two_fifths_of_a_per_cent_is_not_worth_finding() -> None:
    known = rank(1_000_000, 5_000_000).item()
    for goal in (Goal.PRICE, Goal.FLOOR, Goal.DELIVERY):
        assert worth_finding(goal, known) == known
    assert worth_finding(Goal.ENERGY, known) == 996_000 * PRICE_ROOM
    assert worth_finding(Goal.ENERGY, NEVER) == NEVER


class Found(OptionsSearch):
    """What was found for options, by their names alone."""

    def __init__(self, paid: set[str], by_price: "Found | None" = None) -> None:
        self.paid, self.by_price = paid, by_price

    def affordable(self, id_: str) -> Any:
        return id_ in self.paid


def test_an_option_fails_where_neither_search_has_found_anything() -> None:
    """One that the search for another goal has left is held by what was found by price before."""
    by_price = Found({"cheap", "both"})
    found = Found({"small", "both"}, by_price)
    names = ("cheap", "small", "both", "none")
    options: dict[str, Any] = {name: SimpleNamespace(id=name) for name in names}
    assert {name for name in names if found.fails(options[name])} == {"none"}
    assert {name for name in names if by_price.fails(options[name])} == {"small", "none"}
