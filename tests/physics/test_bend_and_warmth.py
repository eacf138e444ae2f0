"""Limits and refusals of stopping, fit in bends, magnets over bends, and warm windings."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from recommender.physics.bend_fit import bend_end_mismatch, bend_gauge_mismatch, fitted_preload
from recommender.physics.bend_motor import bend_force_share
from recommender.physics.stopping import stop_rate
from recommender.physics.thermal import ambient_share, copper_resistance, feeder_drop


def test_stop_on_a_straight_is_force_over_mass() -> None:
    """Weight and reach are of no account there."""
    steady, unit = [0.0, 0.0, -98.0, -19.6, 0.0, 0.0], [-10.0, 0.0, 0.0, 0.0, -1.0, 2.0]
    assert stop_rate(240.0, 10.0, steady, unit, 0.0) == pytest.approx(25.0)


def test_stop_counts_what_hinders_and_not_what_drives_on() -> None:
    unit = [-10.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    uphill, downhill = [-50.0, *5 * [0.0]], [50.0, *5 * [0.0]]
    assert stop_rate(100.0, 0.0, uphill, unit, 0.0) == pytest.approx(15.0)
    assert stop_rate(100.0, 0.0, downhill, unit, 0.0) == pytest.approx(10.0)


def test_a_drive_on_the_inner_side_brakes_less_in_the_arc() -> None:
    unit = [-10.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    assert stop_rate(100.0, 0.0, np.zeros(6), unit, 2.0, 0.0, -0.05) == pytest.approx(9.0)


def test_fit_without_a_cut_is_tight_alone() -> None:
    loosest, tightest = bend_end_mismatch(0.1, 0.1, 0.5, 0.0, [0.0, 0.3])
    np.testing.assert_allclose(loosest, 0.0)
    np.testing.assert_allclose(tightest, bend_gauge_mismatch(0.1, 0.1, 0.5))


def test_a_longer_magnet_on_a_tighter_bend_keeps_less() -> None:
    lengths = np.array([0.06, 0.1, 0.15, 0.2, 0.25])
    tight, wide = (
        bend_force_share(lengths, 0.05, 0.024, radius, 0.9 * lengths) for radius in (0.28, 0.48)
    )
    assert (np.diff(tight) < 0).all() and (np.diff(wide) < 0).all()
    assert (tight < wide).all()


def test_nothing_is_left_where_the_surroundings_are_as_warm_as_the_winding_may_be() -> None:
    np.testing.assert_allclose(ambient_share([300.0, 403.0, 500.0], 313.0, 403.0), [1.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: stop_rate(-1, 0, np.zeros(6), [-1, 0, 0, 0, 0, 0], 1), "force"),
        (lambda: stop_rate(1, 0, np.zeros(6), np.zeros(6), 1), "mass"),
        (lambda: bend_gauge_mismatch(0.1, 0.1, 0.5, -0.1), "cut for"),
        (lambda: bend_end_mismatch(0.1, 0.1, 0.5, 0.1, -1), "transition"),
        (lambda: fitted_preload(50, 0.0, 0.0), "stiffness"),
        (lambda: bend_force_share(0.1, 0.05, 0.0, 0.5, 0.1), "pole pitch"),
        (lambda: bend_force_share(0.1, 0.05, 0.02, 0.5, 0.1, -0.6), "line y"),
        (lambda: ambient_share(300.0, 400.0, 390.0), "winding limit"),
        (lambda: copper_resistance(-1.0, 300.0), "resistance"),
        (lambda: feeder_drop([-1.0], [0.1]), "current"),
    ],
)
def test_what_cannot_be_is_refused(call: Callable[[], Any], name: str) -> None:
    with pytest.raises(ValueError, match=name):
        call()
