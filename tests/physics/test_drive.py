"""Limits, errors and shapes of the forces and the winding heat."""

import numpy as np
import pytest

from recommender.physics.drive import (
    available_force,
    copper_loss,
    pair_stop_heat,
    passing_heat,
    stop_heat,
)

NAN, INF = float("nan"), float("inf")


def test_force_falls_from_the_knee_to_the_no_load_speed() -> None:
    speed = np.linspace(-8.0, 8.0, 161)
    force = available_force(speed, 250.0, 2.0, 5.0)
    assert np.allclose(force, force[::-1])
    assert np.allclose(force[np.abs(speed) < 2.01], 250.0)
    assert np.allclose(force[np.abs(speed) > 4.99], 0.0)
    assert float(available_force(3.5, 250.0, 2.0, 5.0)) == pytest.approx(125.0)


@pytest.mark.parametrize(
    "arguments",
    [(NAN, 1.0, 1.0, 2.0), (1.0, -1.0, 1.0, 2.0), (1.0, 1.0, -1.0, 2.0), (1.0, 1.0, 2.0, 2.0)],
)
def test_force_refuses_what_no_motor_has(arguments: tuple[float, ...]) -> None:
    with pytest.raises(ValueError):
        available_force(*arguments)


def test_copper_loss_can_be_left_out() -> None:
    assert float(copper_loss(300.0, INF)) == 0.0
    assert float(copper_loss(-300.0, 15.0)) == pytest.approx(400.0)
    for constant in (0.0, -1.0, NAN):
        with pytest.raises(ValueError, match="motor_constant"):
            copper_loss(1.0, constant)


def test_heat_scales_with_force_squared_and_takt() -> None:
    heat = stop_heat(5.0, 10.0, 4.0, 0.1, 2.0, holding_force=20.0, dwell=0.5)
    assert stop_heat(10.0, 10.0, 8.0, 0.1, 2.0, holding_force=40.0, dwell=0.5) == pytest.approx(
        4.0 * heat
    )
    assert stop_heat(5.0, 10.0, 4.0, 0.1, 8.0, holding_force=20.0, dwell=0.5) == pytest.approx(
        heat / 4.0
    )


def test_jerk_matters_only_where_resistance_prevails() -> None:
    small, large = np.array([0.0, 28.0]), np.array([30.0, 100.0])  # m·a/√3 = 28.9 N
    assert np.array_equal(
        stop_heat(5.0, 10.0, small, 0.1, 2.0, jerk=100.0), stop_heat(5.0, 10.0, small, 0.1, 2.0)
    )
    assert np.all(
        stop_heat(5.0, 10.0, large, 0.1, 2.0, jerk=100.0) > stop_heat(5.0, 10.0, large, 0.1, 2.0)
    )


def test_far_magnets_of_a_pair_do_not_heat_each_other() -> None:
    single = float(stop_heat(5.0, 10.0, 4.0, 0.1, 2.0))
    near, far = pair_stop_heat(5.0, 10.0, 4.0, 0.1, [0.1, 1e6], 2.0)
    assert far == pytest.approx(single / 4.0, rel=1e-3)
    assert single / 4.0 * 1.3 < near < single / 4.0 * 1.5


def test_short_hops_are_the_hotter_for_pairs() -> None:
    heat = pair_stop_heat(5.0, 10.0, 4.0, 0.1, 0.5, 2.0, hop=[0.6, 0.8, 1.0, 5.0, INF])
    assert np.all(np.diff(heat) <= 0.0)
    assert heat[2] == heat[-1]


@pytest.mark.parametrize(("distance", "hop"), [(0.09, INF), (0.5, 0.59), (0.5, 0.4)])
def test_overlapping_magnets_are_refused(distance: float, hop: float) -> None:
    with pytest.raises(ValueError, match="magnet"):
        pair_stop_heat(5.0, 10.0, 4.0, 0.1, distance, 2.0, hop=hop)


@pytest.mark.parametrize("position", range(5))
@pytest.mark.parametrize("value", [-1.0, NAN])
def test_heat_refuses_impossible_arguments(position: int, value: float) -> None:
    arguments = [5.0, 10.0, 4.0, 0.1, 2.0]
    arguments[position] = value
    with pytest.raises(ValueError):
        stop_heat(*arguments)
    with pytest.raises(ValueError):
        pair_stop_heat(*arguments[:4], 0.5, arguments[4])
    with pytest.raises(ValueError):
        stop_heat(5.0, 10.0, 4.0, 0.1, 2.0, holding_force=10.0, dwell=value)


def test_heat_broadcasts() -> None:
    shape = stop_heat(np.ones((3, 1)), np.linspace(1.0, 9.0, 4), 0.0, 0.1, 2.0).shape
    assert shape == (3, 4)
    assert passing_heat(np.ones((3, 1)), 0.1, np.linspace(1.0, 9.0, 4), 2.0).shape == (3, 4)
    with pytest.raises(ValueError, match="speed"):
        passing_heat(1.0, 0.1, 0.0, 1.0)
