"""Slipping, tipping and spilling as printed in books, and the limits their formulas must reach."""

import numpy as np
import pytest
from scipy.special import jnp_zeros

from recommender.evidence.load_limits import ENTRIES
from recommender.physics.slosh import sloshing_frequency, sloshing_period


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.id)
def test_published_value_holds(entry):
    assert entry.holds(), f"{entry.id}: off by {entry.deviation()} {entry.unit}"


def test_ids_are_unique_and_tolerances_are_no_wider_than_a_percent_or_two():
    assert len({entry.id for entry in ENTRIES}) == len(ENTRIES)
    for entry in ENTRIES:
        assert entry.tolerance <= 0.02 * max(abs(entry.published), 1.0)


@pytest.mark.parametrize("mode", [1, 2, 3])
def test_shallow_period_is_merians(mode):
    """T = 2 L / (n sqrt(g h)); US Army Corps of Engineers, EM 1110-2-1100, part II, chapter 5."""
    period = sloshing_period(1.0, 1e-4, mode, gravity=9.81)
    assert period == pytest.approx(2.0 / (mode * np.sqrt(9.81 * 1e-4)), rel=1e-6)


@pytest.mark.parametrize("mode", [1, 2, 3])
def test_deep_frequency_forgets_the_depth(mode):
    """omega**2 = n pi g / L; Abramson, NASA SP-106, 1966, chapter 2."""
    frequency = sloshing_frequency(0.5, 5.0, mode, gravity=9.81)
    assert frequency**2 == pytest.approx(mode * np.pi * 9.81 / 0.5, rel=1e-12)


def test_frequency_rises_with_depth_and_falls_with_length():
    depths = sloshing_frequency(0.3, np.linspace(0.01, 1.0, 50))
    lengths = sloshing_frequency(np.linspace(0.05, 1.0, 50), 0.1)
    assert np.all(np.diff(depths) > 0.0)
    assert np.all(np.diff(lengths) < 0.0)


def test_round_vessel_follows_the_zeros_of_the_bessel_function():
    """omega**2 = (xi g / R) tanh(xi h / R), J1'(xi) = 0; Abramson, NASA SP-106, chapter 2."""
    roots, radius, depth = jnp_zeros(1, 4), 0.06, 0.09
    expected = np.sqrt(roots * 9.81 / radius * np.tanh(roots * depth / radius))
    computed = sloshing_frequency(2 * radius, depth, [1, 2, 3, 4], gravity=9.81, vessel="round")
    np.testing.assert_allclose(computed, expected, rtol=1e-9)
