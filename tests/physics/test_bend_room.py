"""Bends: limits, arrays and arguments that are refused."""

from collections.abc import Callable

import numpy as np
import pytest

from recommender.physics.arc import arc_spacing, chord_inset
from recommender.physics.bend import (
    bend_depth,
    bend_length,
    bend_spacing,
    bend_stretch,
    bend_width,
)
from recommender.physics.sweep import sweep_across, sweep_beyond


def test_bend_without_transitions_is_half_a_circle() -> None:
    radius = np.array([0.3, 0.5, 1.0])
    np.testing.assert_allclose(bend_length(radius, 0.0), np.pi * radius)
    np.testing.assert_allclose(bend_width(radius, 0.0), 2.0 * radius)
    np.testing.assert_allclose(bend_depth(radius, 0.0), radius)


def test_shift_and_depth_follow_their_first_terms_for_short_transitions() -> None:
    transition = np.array([0.01, 0.02])
    np.testing.assert_allclose(bend_width(1.0, transition) - 2.0, transition**2 / 12, rtol=1e-4)
    np.testing.assert_allclose(bend_depth(1.0, transition) - 1.0, transition / 2, rtol=1e-4)


@pytest.mark.parametrize("function", [bend_length, bend_width, bend_depth])
@pytest.mark.parametrize(
    ("radius", "transition"),
    [(0.0, 0.1), (-1.0, 0.1), (np.nan, 0.1), (0.5, -0.1), (0.5, 1.6), (0.5, np.inf)],
)
def test_impossible_bend_is_refused(
    function: Callable[..., object], radius: float, transition: float
) -> None:
    with pytest.raises(ValueError, match=r"radius|transition"):
        function(radius, [0.0, transition])


def test_body_that_reaches_the_centre_finds_no_spacing() -> None:
    spacing = bend_spacing(0.5, 0.4, [-0.1, -0.39, -0.4, -0.6], 0.3)
    assert np.isfinite(spacing[:2]).tolist() == [True, False]
    assert np.isinf(spacing[2:]).all()


def test_base_longer_than_the_arc_is_wide_is_refused_or_endless() -> None:
    assert chord_inset(0.5, [1.0, 1.01]).tolist() == [0.5, np.inf]
    assert np.isinf(bend_spacing(0.5, 0.5, 0.0, 0.4, 1.01))


@pytest.mark.parametrize("sweep", [sweep_across, sweep_beyond])
def test_base_longer_than_the_arc_is_wide_sweeps_without_end(
    sweep: Callable[..., np.ndarray],
) -> None:
    assert np.isfinite(sweep(0.5, [0.0, 0.1], 0.1, 0.2, 1.0)).all()
    assert np.isinf(sweep(0.5, [0.0, 0.1], 0.1, 0.2, 1.01)).all()


@pytest.mark.parametrize("sweep", [sweep_across, sweep_beyond])
@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("radius", (0.0, 0.1, 0.1, 0.2, 0.1)),
        ("transition", (0.5, -0.1, 0.1, 0.2, 0.1)),
        ("transition", (0.5, 1.6, 0.1, 0.2, 0.1)),
        ("outward", (0.5, 0.1, np.nan, 0.2, 0.1)),
        ("half_length", (0.5, 0.1, 0.1, -0.2, 0.1)),
        ("base", (0.5, 0.1, 0.1, 0.2, -0.1)),
    ],
)
def test_impossible_body_or_bend_is_refused(
    sweep: Callable[..., object], name: str, values: tuple[float, ...]
) -> None:
    with pytest.raises(ValueError, match=name):
        sweep(*values)


def test_a_body_without_size_sweeps_the_guide_line() -> None:
    for transition in (0.0, 0.2):
        assert sweep_across(0.5, transition, 0.0, 0.0) == pytest.approx(0.0, abs=1e-15)
        assert sweep_beyond(0.5, transition, 0.0, 0.0) == pytest.approx(
            float(bend_depth(0.5, transition))
        )


def test_chord_brings_carriers_closer() -> None:
    apart = arc_spacing(0.5, 0.5, -0.05, 0.4, [0.0, 0.2, 0.4])
    assert np.all(np.diff(apart) > 0.0)


def test_spacing_in_a_wide_bend_is_that_of_the_straight() -> None:
    np.testing.assert_allclose(bend_spacing(0.5, 1e6, -0.2, 0.4, 0.3), 0.5, rtol=1e-6)
    assert bend_spacing(0.5, 0.6, 0.3, 0.4) == 0.5


def test_spacing_shorter_than_the_body_is_refused() -> None:
    with pytest.raises(ValueError, match="spacing"):
        bend_spacing(0.3, 0.5, 0.0, 0.4)
    with pytest.raises(ValueError, match="reach_inward"):
        bend_spacing(0.5, 0.5, np.nan, 0.4)


def test_functions_broadcast() -> None:
    radius, inner = np.array([[0.4], [0.6]]), np.array([-0.1, 0.0, 0.1])
    assert bend_spacing(0.5, radius, inner, 0.4, 0.2).shape == (2, 3)
    assert bend_stretch(radius, 0.1, [0.3, 0.4, 0.5]).shape == (2, 3)
    for sweep in (sweep_across, sweep_beyond):
        assert sweep(radius, 0.1, inner, 0.2, 0.3).shape == (2, 3)
        assert np.ndim(sweep(0.5, 0.1, 0.1, 0.2)) == 0
    assert np.ndim(bend_width(0.5, 0.1)) == 0
