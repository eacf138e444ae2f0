"""Printed bearing and drive examples, and what the standards' figures have to agree in."""

from dataclasses import replace

import numpy as np
import pytest

from recommender.evidence import bearing_life, bearings, drive
from recommender.evidence.entry import Published
from recommender.physics.bearing_life import mean_load, reliability_factor, system_life
from recommender.physics.bearings import dynamic_equivalent_load, static_equivalent_load

ENTRIES = (*bearings.ENTRIES, *bearing_life.ENTRIES, *drive.ENTRIES)
SHARP = tuple(entry for entry in ENTRIES if entry.tolerance < 0.01 * entry.published)
ANGLES = [25.0, 30.0, 35.0, 40.0, 45.0]
# Limits e of the standard's table, in the order of the angles.
LIMITS = np.array([0.68, 0.80, 0.95, 1.14, 1.34])


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.id)
def test_reproduces_the_printed_value(entry: Published) -> None:
    assert entry.holds(), f"{entry.deviation():+.3g} {entry.unit}"


@pytest.mark.parametrize("entry", SHARP, ids=lambda entry: entry.id)
@pytest.mark.parametrize("factor", [0.98, 1.02])
def test_notices_an_error_of_two_per_cent(entry: Published, factor: float) -> None:
    assert not replace(entry, compute=lambda: factor * entry.compute()).holds()


def test_only_rounded_reliability_factors_are_too_coarse_for_that() -> None:
    coarse = {entry.id for entry in ENTRIES if entry not in SHARP}
    assert coarse == {f"bearing-life.reliability-{percent}" for percent in (99.2, 99.4, 99.6, 99.8)}


def test_ids_are_unique() -> None:
    assert len({entry.id for entry in ENTRIES}) == len(ENTRIES)


def test_both_lines_of_the_equivalent_load_meet_at_the_limit() -> None:
    """The factors are rounded to two digits, so that the lines meet to 1 %."""
    below = dynamic_equivalent_load(1.0, LIMITS, ANGLES)
    above = dynamic_equivalent_load(1.0, LIMITS * (1.0 + 1e-12), ANGLES)
    assert np.all(below != above)
    assert np.allclose(below, above, rtol=0.01)


def test_factors_of_double_rows_follow_from_single_rows() -> None:
    """Single row X and Y at 30, 35, 40 and 45°, as printed in makers' copies of the ISO table.

    A double row has 2^0.7 = 1.625 times the rating of a single one, hence that much the factors,
    and e = (1 − X)/Y. Its static axial factor is twice that of a single row.
    """
    single_radial = np.array([0.39, 0.37, 0.35, 0.33])
    single_axial = np.array([0.76, 0.66, 0.57, 0.50])
    angles = ANGLES[1:]
    axial = dynamic_equivalent_load(0.0, 1.0, angles)
    radial = dynamic_equivalent_load(1.0, 2.0, angles) - 2.0 * axial
    assert np.allclose(axial, 2.0**0.7 * single_axial, atol=0.01)
    assert np.allclose(radial, 2.0**0.7 * single_radial, atol=0.01)
    assert np.allclose(LIMITS[1:], (1.0 - single_radial) / single_axial, atol=0.01)
    single_static = np.array([0.33, 0.29, 0.26, 0.22])  # from memory
    assert np.allclose(static_equivalent_load(0.0, 1.0, angles), 2.0 * single_static)


def test_reliability_factor_never_rises() -> None:
    percent = np.linspace(90.0, 99.95, 20_000)
    factor = reliability_factor(percent)
    assert np.all(np.diff(factor) <= 0.0)
    assert factor[0] == 1.0


def test_reliability_factor_follows_the_weibull_distribution_to_the_tables_rounding() -> None:
    """a1 = 4.26·[ln(100/R)]^(2/3) + 0.05 in a maker's engineering manual."""
    percent = np.linspace(90.0, 99.95, 2000)
    printed = 4.26 * np.log(100.0 / percent) ** (2.0 / 3.0) + 0.05
    assert np.allclose(reliability_factor(percent), printed, atol=0.006)


def test_older_reliability_factors_are_below_those_of_today() -> None:
    """Factors of ISO 281:1990, of a two-parameter Weibull distribution of slope 1.5."""
    today = reliability_factor([95.0, 96.0, 97.0, 98.0, 99.0])
    assert np.all(today > [0.62, 0.53, 0.44, 0.33, 0.21])


def test_system_life_of_equal_bearings() -> None:
    for count, ball, roller in ((2, 0.5359, 0.540), (4, 0.2872, None), (8, 0.1539, None)):
        lives = np.full(count, 1.0)
        assert float(system_life(lives)) == pytest.approx(ball, abs=5e-5)
        if roller is not None:
            assert float(system_life(lives, 9.0 / 8.0)) == pytest.approx(roller, abs=5e-4)


def test_system_life_of_unequal_bearings() -> None:
    assert float(system_life([30e3, 20e3])) == pytest.approx(12_833.0, abs=0.5)
    assert float(system_life([30e3, 20e3, 50e3, 50e3])) == pytest.approx(9235.0, abs=0.5)


def test_system_life_is_on_the_safe_side_of_the_reliability_factor() -> None:
    """Eight rollers that shall survive at 90 % together must do so at 90 %^(1/8) each."""
    each = 100.0 * 0.9 ** (1.0 / 8.0)
    factor = float(reliability_factor(each))
    assert factor == pytest.approx(0.2875, abs=5e-4)
    assert float(system_life(np.ones(8))) < factor


def test_makers_rule_for_a_load_that_varies_evenly_is_high() -> None:
    """(F_min + 2·F_max)/3 of makers' catalogues, 6 to 8 % above the exact mean."""
    for least in (0.0, 0.5):
        exact = float(mean_load(np.linspace(least, 1.0, 50_001), np.ones(50_001)))
        assert 1.05 < (least + 2.0) / 3.0 / exact < 1.08


def test_mean_load_with_an_unloaded_share() -> None:
    """3 kN for 10 %, 2 kN for 20 %, 1 kN for 30 %, none for 40 %."""
    loads, shares = [3.0, 2.0, 1.0, 0.0], [0.1, 0.2, 0.3, 0.4]
    assert float(mean_load(loads, shares)) == pytest.approx(4.6 ** (1.0 / 3.0))
