"""Whole numbers on the safe side: demands never shrink, capacities never grow."""

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.choice.parts import rounding

STEPS = {"power": 1000, "length": 1_000_000}
# What a floating-point sum may be off by, in steps.
NOISE = Fraction(1, 1_000_000)

# Up to a megawatt and up to a kilometre, far beyond any loop.
quantities = st.one_of(
    st.tuples(st.floats(0.0, 1e6), st.just("power")),
    st.tuples(st.floats(0.0, 1e3), st.just("length")),
)


@given(quantities)
@settings(deadline=None)
def test_a_demand_is_covered_and_by_less_than_a_step_more(quantity: tuple[float, str]) -> None:
    value, kind = quantity
    exact = Fraction(value) * STEPS[kind]
    steps = int(rounding.demand(value, kind))
    noise = NOISE + abs(exact) * Fraction(1, 10**15)
    assert exact - noise <= steps < exact + 1


@given(quantities)
@settings(deadline=None)
def test_a_capacity_is_there_and_by_less_than_a_step_less(quantity: tuple[float, str]) -> None:
    value, kind = quantity
    exact = Fraction(value) * STEPS[kind]
    steps = int(rounding.capacity(value, kind))
    noise = NOISE + abs(exact) * Fraction(1, 10**15)
    assert exact - 1 < steps <= exact + noise


@given(quantities)
@settings(deadline=None)
def test_what_equals_its_capacity_is_granted(quantity: tuple[float, str]) -> None:
    """A demand of whole steps does not fail against the same number as a capacity."""
    value, kind = quantity
    whole = math.floor(value * 1000) / 1000
    assert rounding.demand(whole, kind) == rounding.capacity(whole, kind)


@given(quantities, st.floats(0.0, 1e3))
@settings(deadline=None)
def test_what_exceeds_its_capacity_by_a_step_is_refused(
    quantity: tuple[float, str], more: float
) -> None:
    value, kind = quantity
    demand = rounding.demand(value + 1.01 / STEPS[kind] + more, kind)
    assert demand > rounding.capacity(value, kind)


def test_sums_with_noise_stay_on_their_step() -> None:
    tenths = sum([0.1] * 3)
    assert tenths != 0.3
    assert rounding.demand(tenths, "length") == rounding.capacity(tenths, "length") == 300_000
    assert rounding.capacity(0.7 + 0.1, "length") == 800_000


def test_arrays_keep_their_shape() -> None:
    shape = (2, 3)
    assert rounding.demand(np.ones(shape), "power").shape == shape
    assert rounding.capacity(np.ones(shape), "power").dtype == np.int64


@pytest.mark.parametrize("round_", [rounding.demand, rounding.capacity])
def test_an_unknown_kind_is_refused(round_: Callable[..., object]) -> None:
    with pytest.raises(KeyError):
        round_(1.0, "charm")
