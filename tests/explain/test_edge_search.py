"""Edges of numbers whose truth is known: to the step that is promised, checked on both sides."""

import math
from collections.abc import Sequence

from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.choice.options import list_options
from recommender.explain.asking import Question, Reply, ask_together
from recommender.explain.edge_search import NumberEdge, find_edge
from recommender.explain.requirements import Number, Situation, edited
from recommender.explain.scale import Scale, decimal_step
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS

CASE = Case.model_validate({"load": {"mass": "30 kg"}, "rate": {"items": "18/min"}})


def number(start: float, lax: float) -> Number:
    """A mass on its way from what is asked to a lax end, in kg."""
    return Number(
        key="load.mass",
        start=start,
        lax=lax,
        kind=KINDS["mass"],
        put=lambda case, value: edited(case, "load.mass", value),
    )


def found(
    number: Number, truth: float, catalogue: Catalogue, *, alone: float | None = None, tell: bool
) -> tuple[NumberEdge | None, list[float]]:
    """The edge where masses work up to a true one, and the masses that were asked about."""
    upwards = number.lax > number.start
    asked = []

    def beyond(mass: float, edge: float) -> bool:
        return mass >= edge if upwards else mass <= edge

    def answer(questions: Sequence[Question]) -> list[Reply]:
        replies = []
        for question in questions:
            mass = question.situations[0].case.load.mass
            asked.append(mass)
            works = beyond(mass, truth) and (alone is None or beyond(mass, alone))
            used = (truth / mass if upwards else mass / truth) if truth and mass else None
            replies.append(Reply(works, 100 if works else None, used if tell else None))
        return replies

    def passes(situation: Situation) -> bool:
        return alone is None or beyond(situation.case.load.mass, alone)

    option = list_options(CASE, catalogue)[0]
    asking = find_edge(number, Situation(option, CASE), passes)
    return ask_together({0: asking}, answer)[0], asked


ends = st.floats(0.011, 29.9)


@given(truth=ends, tell=st.booleans())
@settings(max_examples=150, deadline=None)
def test_edge_downwards(truth: float, tell: bool, catalogue: Catalogue) -> None:
    edge, asked = found(number(30.0, 0.01), truth, catalogue, tell=tell)
    assert edge is not None
    assert edge.works <= truth < edge.fails
    assert edge.fails - edge.works <= 0.011 * edge.fails
    assert {round(edge.works, 9), round(edge.fails, 9)} <= {round(mass, 9) for mass in asked} | {
        30.0
    }
    assert len(asked) <= 26
    if tell and truth < 29.0:
        assert len(asked) <= 14


@given(truth=st.floats(30.1, 4000.0), tell=st.booleans())
@settings(max_examples=100, deadline=None)
def test_edge_upwards(truth: float, tell: bool, catalogue: Catalogue) -> None:
    edge, _ = found(number(30.0, 5000.0), truth, catalogue, tell=tell)
    assert edge is not None
    assert edge.fails < truth <= edge.works
    assert edge.works - edge.fails <= 0.011 * edge.works


@given(truth=st.floats(0.5, 29.0), alone=ends)
@settings(max_examples=100, deadline=None)
def test_edge_that_only_checks_of_the_option_make_is_finer(
    truth: float, alone: float, catalogue: Catalogue
) -> None:
    edge, asked = found(number(30.0, 0.01), truth, catalogue, alone=alone, tell=False)
    assert edge is not None
    least = min(truth, alone)
    assert edge.works <= least * (1 + 1e-12) < edge.fails * (1 + 2e-12)
    if alone <= 0.99 * truth:
        # Steps of a thousandth, and no more than two questions: the lax end and the edge.
        assert edge.fails - edge.works <= 0.0011 * edge.fails
        assert len(asked) <= 2


@given(truth=st.floats(0.07, 29.0))
@settings(max_examples=50, deadline=None)
def test_lax_end_of_zero(truth: float, catalogue: Catalogue) -> None:
    edge, _ = found(number(30.0, 0.0), truth, catalogue, tell=False)
    assert edge is not None
    assert edge.works <= truth < edge.fails
    assert edge.fails - edge.works <= 0.011 * edge.fails


def test_only_zero_itself_works(catalogue: Catalogue) -> None:
    edge, _ = found(number(30.0, 0.0), 1e-6, catalogue, tell=False)
    assert edge is not None
    assert edge.works == 0.0
    assert 0.0 < edge.fails <= 0.06


def test_nothing_helps(catalogue: Catalogue) -> None:
    edge, asked = found(number(30.0, 0.01), 0.001, catalogue, tell=True)
    assert edge is None
    assert asked == [0.01]


@given(st.floats(1e-4, 1e6), st.sampled_from([1e-3, 1e-2]))
def test_steps_read_well(shown: float, share: float) -> None:
    step = decimal_step(shown, share)
    assert 0.39 * share * shown <= step <= share * shown * (1 + 1e-8)
    mantissa = step / 10.0 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - digit) for digit in (1, 2, 5, 10)) < 1e-9


def test_a_reach_inward_keeps_its_sign() -> None:
    inward = Number(
        "load.reach",
        -0.2,
        0.0,
        KINDS["length"],
        lambda case, value: edited(case, "load.reach", value),
    )
    scale = Scale(inward)
    assert scale.concession(118.0, 119.0).to == "-118 mm"
    assert scale.concession(118.0, 119.0).value == -0.118
    assert scale.shown(-0.118) == 118.0
