"""Limits, errors and shapes of the bearing functions."""

from collections.abc import Callable

import numpy as np
import pytest

from recommender.physics.bearing_life import (
    basic_rating_life,
    mean_load,
    reliability_factor,
    system_life,
)
from recommender.physics.bearings import (
    combined_load,
    dynamic_equivalent_load,
    static_equivalent_load,
    static_safety,
)

NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize("angle", [0.0, 15.0, 30.5, 60.0, NAN, INF])
@pytest.mark.parametrize("equivalent", [static_equivalent_load, dynamic_equivalent_load])
def test_contact_angle_must_be_tabulated(
    equivalent: Callable[..., np.ndarray], angle: float
) -> None:
    with pytest.raises(ValueError, match="contact_angle_degrees"):
        equivalent(1.0, 1.0, [30.0, angle])


@pytest.mark.parametrize("load", [(-1.0, 0.0), (NAN, 0.0), (0.0, NAN), (INF, 0.0), (0.0, INF)])
@pytest.mark.parametrize("equivalent", [static_equivalent_load, dynamic_equivalent_load])
def test_loads_must_be_numbers(
    equivalent: Callable[..., np.ndarray], load: tuple[float, float]
) -> None:
    with pytest.raises(ValueError):
        equivalent(*load, 30.0)


def test_equivalent_loads_broadcast_and_take_either_direction() -> None:
    radial, axial = np.array([[0.0], [1000.0]]), np.array([-500.0, 0.0, 500.0])
    for equivalent in (static_equivalent_load, dynamic_equivalent_load):
        loads = equivalent(radial, axial, 40.0)
        assert loads.shape == (2, 3)
        assert np.array_equal(loads[:, 0], loads[:, 2])
        assert np.all(loads >= radial * 0.999)
        assert loads[0, 1] == 0.0


def test_static_load_is_never_below_the_radial_one() -> None:
    assert np.all(static_equivalent_load(800.0, np.linspace(-2e3, 2e3, 41), 45.0) >= 800.0)


def test_combined_load_refuses_negative_factors() -> None:
    with pytest.raises(ValueError, match="X"):
        combined_load(1.0, 1.0, -0.1, 1.0)
    with pytest.raises(ValueError, match="Y"):
        combined_load(1.0, 1.0, 1.0, NAN)


def test_no_load_is_safe_and_lasts_for_ever() -> None:
    assert static_safety(100.0, 0.0) == INF
    assert basic_rating_life(100.0, [0.0, 100.0]).tolist() == [INF, 1e6]


@pytest.mark.parametrize("function", [static_safety, basic_rating_life])
@pytest.mark.parametrize(
    "arguments", [(0.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (NAN, 1.0), (1.0, NAN)]
)
def test_ratings_must_be_positive(
    function: Callable[..., np.ndarray], arguments: tuple[float, float]
) -> None:
    with pytest.raises(ValueError):
        function(*arguments)


def test_mean_load_lies_between_least_and_greatest() -> None:
    rng = np.random.default_rng(0)
    loads, shares = rng.uniform(0.0, 1e4, (50, 6)), rng.uniform(0.0, 1.0, 6)
    mean = mean_load(loads, shares)
    assert mean.shape == (50,)
    assert np.all((mean > loads.min(axis=-1)) & (mean < loads.max(axis=-1)))
    # The cube weighs the greater loads more.
    assert np.all(mean > (loads * shares).sum(axis=-1) / shares.sum())
    assert np.allclose(mean, mean_load(loads.T, shares[:, np.newaxis], axis=0))
    assert np.allclose(mean, mean_load(loads, 100.0 * shares))


def test_mean_load_refuses_shares_that_weigh_nothing() -> None:
    with pytest.raises(ValueError, match="shares"):
        mean_load([1.0, 2.0], [0.0, 0.0])
    with pytest.raises(ValueError, match="shares"):
        mean_load([1.0, 2.0], [1.0, -1.0])
    with pytest.raises(ValueError, match="loads"):
        mean_load([1.0, NAN], [1.0, 1.0])
    with pytest.raises(ValueError, match="exponent"):
        mean_load([1.0], [1.0], exponent=0.0)


@pytest.mark.parametrize("percent", [89.9, 0.0, 99.951, 100.0, NAN])
def test_reliability_outside_the_table_is_refused(percent: float) -> None:
    with pytest.raises(ValueError, match="reliability_percent"):
        reliability_factor([95.0, percent])


def test_system_is_no_better_than_its_worst_member() -> None:
    lives = np.random.default_rng(1).uniform(1e3, 1e9, (100, 8))
    assert np.all(system_life(lives) < lives.min(axis=-1))
    assert np.all(system_life(lives) > lives.min(axis=-1) / 8.0)


def test_unloaded_members_do_not_shorten_the_systems_life() -> None:
    assert float(system_life([2e6, INF, INF])) == pytest.approx(2e6)
    assert float(system_life([INF, INF])) == INF
    for life in (0.0, -1.0, NAN):
        with pytest.raises(ValueError, match="lives"):
            system_life([1.0, life])
