"""Edges whose truth is known: to the step that is promised, asked on both sides."""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.choice.parts.options import list_options
from recommender.explain.edges import Relaxed, ease, ease_both, first_step
from recommender.explain.requirements import (
    Alternative,
    Choice,
    Number,
    Situation,
    edited,
    setting,
)
from recommender.explain.round_numbers import rank_below, round_number
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS

CASE = Case.model_validate({"load": {"mass": "30 kg"}, "rate": {"items": "18/min"}})


def number(start: float, lax: float, key: str = "load.mass", kind: str = "mass") -> Number:
    """A number of the case on its way from what is asked to a lax end, in SI."""
    return Number(key, start, lax, KINDS[kind], lambda case, value: edited(case, key, value), str)


class Told:
    """Answers as it is told, and keeps what it was asked."""

    def __init__(
        self, works: Callable[[Case], bool], alone: Callable[[Case], bool] | None = None
    ) -> None:
        self._works, self._alone = works, alone or (lambda case: True)
        self.asked: list[Case] = []

    def passes_alone(self, situation: Situation) -> bool:
        return self._alone(situation.case)

    def works(self, *situations: Situation) -> bool:
        self.asked += [each.case for each in situations]
        return any(self._alone(each.case) and self._works(each.case) for each in situations)

    def price(self, *situations: Situation) -> int | None:
        return 100 if self.works(*situations) else None


def found(
    move: Number, catalogue: Catalogue, truth: float, alone: float | None = None
) -> tuple[Relaxed | None, Told]:
    """The edge where masses work up to a true one, and who was asked."""

    def beyond(edge: float) -> Callable[[Case], bool]:
        if move.lax > move.start:
            return lambda case: case.load.mass >= edge
        return lambda case: case.load.mass <= edge

    told = Told(beyond(truth), None if alone is None else beyond(alone))
    situation = Situation(list_options(CASE, catalogue)[0], move.put(CASE, move.start))
    oracle: Any = told
    return ease(move, situation, oracle), told


def sides(relaxed: Relaxed | None) -> tuple[float, float]:
    """What works and what fails of the only concession, as the case has it."""
    assert relaxed is not None
    (short,) = relaxed.fails
    (concession,) = relaxed.concessions
    assert concession.value == relaxed.works.case.load.mass
    assert concession.short == short.case.load.mass
    return relaxed.works.case.load.mass, short.case.load.mass


ends = st.floats(0.031, 29.9)


@given(truth=ends)
@settings(max_examples=150, deadline=None)
def test_edge_downwards(truth: float, catalogue: Catalogue) -> None:
    relaxed, told = found(number(30.0, 0.03), catalogue, truth)
    works, fails = sides(relaxed)
    assert works <= truth < fails
    assert fails - works <= 0.0101 * fails
    assert {works, fails} <= {case.load.mass for case in told.asked} | {30.0}
    assert len(told.asked) <= 13


@given(truth=st.floats(30.1, 4000.0))
@settings(max_examples=100, deadline=None)
def test_edge_upwards(truth: float, catalogue: Catalogue) -> None:
    works, fails = sides(found(number(30.0, 5000.0), catalogue, truth)[0])
    assert fails < truth <= works
    assert works - fails <= 0.0101 * works


@given(truth=st.floats(0.5, 29.0), alone=ends)
@settings(max_examples=100, deadline=None)
def test_edge_that_only_checks_of_the_option_make_is_finer(
    truth: float, alone: float, catalogue: Catalogue
) -> None:
    relaxed, told = found(number(30.0, 0.03), catalogue, truth, alone)
    works, fails = sides(relaxed)
    assert works <= min(truth, alone) < fails
    if alone <= 0.99 * truth:
        # Steps of a thousandth, and no more asked than the lax end and the edge with its price.
        assert fails - works <= 0.00101 * fails
        assert len(told.asked) <= 3


@given(truth=st.floats(0.07, 29.0))
@settings(max_examples=50, deadline=None)
def test_lax_end_of_zero(truth: float, catalogue: Catalogue) -> None:
    works, fails = sides(found(number(30.0, 0.0), catalogue, truth)[0])
    assert works <= truth < fails
    assert fails - works <= 0.0101 * fails


def test_only_zero_itself_works(catalogue: Catalogue) -> None:
    works, fails = sides(found(number(30.0, 0.0), catalogue, 1e-6)[0])
    assert works == 0.0
    assert 0.0 < fails <= 0.06


def test_nothing_helps(catalogue: Catalogue) -> None:
    relaxed, told = found(number(30.0, 0.01), catalogue, 0.001)
    assert relaxed is None
    assert [case.load.mass for case in told.asked] == [0.01]


@given(need=st.floats(0.1, 0.98), weight=st.floats(0.2, 0.8))
@settings(max_examples=100, deadline=None)
def test_of_two_numbers_neither_can_be_smaller(
    need: float, weight: float, catalogue: Catalogue
) -> None:
    def works(case: Case) -> bool:
        asked = weight * case.load.mass / 30.0 + (1.0 - weight) * case.rate.items / 0.3
        # Neither alone is enough, however far it goes.
        return asked <= need * min(weight, 1.0 - weight)

    told: Any = Told(works)
    mass, rate = number(30.0, 0.3), number(0.3, 0.003, "rate.items", "rate")
    option = list_options(CASE, catalogue)[0]
    relaxed = ease_both(mass, rate, Situation(option, CASE), told)
    assert relaxed is not None
    assert works(relaxed.works.case)
    assert len(relaxed.fails) == 2
    assert not any(works(short.case) for short in relaxed.fails)
    assert [entry.key for entry in relaxed.concessions] == ["load.mass", "rate.items"]


def test_the_least_alternative_that_helps_a_number(catalogue: Catalogue) -> None:
    def to(held: str) -> Alternative:
        return Alternative(held, held, setting("load.held", held))

    told: Any = Told(lambda case: case.load.held == "clamped" and case.load.mass <= 12.0)
    choice = Choice("load.held", "friction", (to("nested"), to("clamped")))
    option = list_options(CASE, catalogue)[0]
    relaxed = ease_both(number(30.0, 0.3), choice, Situation(option, CASE), told)
    assert relaxed is not None
    assert [entry.to for entry in relaxed.concessions] == ["clamped", "12 kg"]
    assert [short.case.load.held for short in relaxed.fails] == ["nested", "clamped"]


@given(first=st.integers(0, 500), last=st.integers(0, 500))
def test_first_step_against_all_steps(first: int, last: int) -> None:
    asked = []

    def holds(step: int) -> bool:
        asked.append(step)
        return step >= first

    assert first_step(holds, last) == min(first, last)
    assert last not in asked
    assert len(asked) <= 9


@given(rank=st.integers(-2000, 2000), fine=st.sampled_from([100, 1000]))
def test_round_numbers_read_well_and_are_found_again(rank: int, fine: int) -> None:
    value, following = round_number(rank, fine), round_number(rank + 1, fine)
    step = following - value
    assert 0.39 * value <= fine * step <= 1.0001 * value
    mantissa = step / 10.0 ** math.floor(math.log10(step) + 1e-6)
    assert min(abs(mantissa - digit) for digit in (1, 2, 5, 10)) < 1e-3
    assert rank_below(value, fine) == rank
    assert rank_below(value + 0.9 * step, fine) == rank


@given(
    start=st.floats(0.01, 5000.0),
    share=st.sampled_from([0.0, 1e-3, 0.9, 0.999, 1.001, 1.3, 100.0]),
)
@settings(max_examples=200, deadline=None)
def test_steps_lead_from_what_is_asked_to_the_lax_end(start: float, share: float) -> None:
    steps = Number("a", start, share * start, None, lambda case, value: case, str)
    values = [steps.shown(step) for step in range(-1, steps.last + 1)]
    assert values[0] == start
    assert values[-1] == share * start
    for before, after in pairwise(values):
        assert steps.sense * (after - before) > 0.0
        assert abs(after - before) <= max(0.0101 * max(before, after), 0.0021 * start * (not share))
    for step in range(0, steps.last + 1, 11):
        assert steps.step_at(values[step + 1]) == step


def test_a_reach_inward_keeps_its_sign() -> None:
    steps = number(-0.2, 0.0, "load.reach", "length")
    step = steps.step_at(118.0)
    assert steps.concession(step).to == "-118 mm"
    assert steps.concession(step).value == -0.118
    assert steps.concession(step).short == -0.119
