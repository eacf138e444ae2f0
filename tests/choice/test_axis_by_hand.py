"""The axes of a grid of settings, on checks whose limit is known: powers of the setting."""

from typing import Any

import numpy as np

from recommender.choice.checks.entry import Check, CheckText, single
from recommender.choice.search.axes import NODES, _last_holding, _nodes
from recommender.choice.search.grid import _crossing, axis_points, jerk_for
from recommender.inputs.case import make_case


def used(power: float, limit: float) -> Check:  # type: ignore[type-arg]
    """A check that uses 1 at a limit and rises with a power of the setting."""
    text = CheckText("x", "x", "1", "", (), (), "")
    return Check(text, lambda tried: single((tried / limit) ** power, 1.0))


def test_a_limit_is_found_exactly_where_a_check_rises_with_a_power() -> None:
    """Between logarithms a power is a straight line, so no step of the search is seen."""
    rng = np.random.default_rng(1)
    for _ in range(100):
        low, high = rng.uniform(0.05, 1.0), rng.uniform(3.0, 40.0)
        tried = np.geomspace(low, high, int(rng.integers(3, 20)))[None, :]
        limit, power = rng.uniform(1.01 * low, 0.99 * high), rng.uniform(0.3, 3.0)
        found = _crossing(tried, (tried / limit) ** power, np.array([[high]]))
        assert np.allclose(found, limit)


def test_a_limit_lies_between_the_last_that_holds_and_the_first_that_does_not() -> None:
    rng = np.random.default_rng(7)
    for _ in range(200):
        count = int(rng.integers(3, 9))
        tried = np.sort(rng.uniform(0.1, 10.0, count))[None, :]
        share = np.cumprod(rng.uniform(1.01, 3.0, count))[None, :] * rng.uniform(0.05, 0.9)
        holding = int((share <= 1.0).sum())
        if not 0 < holding < count:
            continue
        found = float(_crossing(tried, share, np.array([[20.0]]))[0, 0])
        assert tried[0, holding - 1] <= found <= tried[0, holding]


def test_where_all_holds_or_nothing_does_the_axis_ends_where_it_may() -> None:
    tried, end = np.array([[1.0, 2.0, 4.0]] * 3), np.array([[5.0], [6.0], [7.0]])
    share = np.array([[0.1, 0.2, 0.3], [2.0, 3.0, 4.0], [0.5, 1.0, np.inf]])
    found = _crossing(tried, share, end)
    assert found[:2].tolist() == [[5.0], [6.0]]
    # The last that holds, where what follows tells no more.
    assert 2.0 <= found[2, 0] <= 4.0


def test_points_rise_to_the_limit_and_stand_close_around_it() -> None:
    least, greatest = np.array([[0.2], [0.2]]), np.array([[10.0], [3.0]])
    for limit in (0.5, 2.0, 8.0, 50.0):
        points = axis_points(
            None,  # type: ignore[arg-type]
            lambda _, tried: tried,  # type: ignore[arg-type,return-value]
            (used(2.0, limit), used(1.0, 3.0 * limit)),
            least,
            greatest,
            6,
            24,
        )
        assert points.shape == (2, 13)
        assert (np.diff(points, axis=1) >= 0.0).all()
        assert points[:, 0].tolist() == [0.2, 0.2]
        for row, end in zip(points, (10.0, 3.0), strict=True):
            top = min(limit, end)
            assert np.isclose(row.max(), min(1.012 * top, end))
            assert np.isclose(row, top, rtol=1e-6).any()
            # Below it equal steps of the root, the first one of the least.
            steps = np.diff(np.sqrt(row[:6]))
            assert np.allclose(steps, steps[0])
            assert np.isclose(np.sqrt(row[5]) + steps[0], np.sqrt(max(0.97 * top, 0.2)))


def test_jerk_builds_the_acceleration_up_in_its_time_unless_that_is_too_much() -> None:
    table = {"load": {"mass": "3 kg"}, "rate": {"items": "6/min"}}
    free, held = make_case(table, "t"), make_case({**table, "limits": {"jerk": "30 m/s^3"}}, "t")
    acceleration = np.array([1.0, 2.0, 4.0])
    assert jerk_for(acceleration, 0.1, free).tolist() == [10.0, 20.0, 40.0]
    assert jerk_for(acceleration, 0.1, held).tolist() == [10.0, 20.0, 30.0]


def test_an_axis_of_boxes_ends_where_the_last_setting_holds() -> None:
    """Several options at once; where nothing holds, or all does, at the end of the axis."""
    rng = np.random.default_rng(9)
    least, greatest = rng.uniform(0.1, 0.5, (60, 1)), rng.uniform(2.0, 9.0, (60, 1))
    limit = least * (greatest / least) ** rng.uniform(-0.2, 1.2, (60, 1))
    # Some hold at the least and hardly beyond, so that no sample but the first one does.
    limit[:8] = least[:8] * rng.uniform(1.0001, 1.01, (8, 1))
    text = CheckText("x", "x", "1", "", (), (), "")
    check: Any = Check(text, lambda tried: single((tried / limit) ** 1.5, 1.0))
    batch: Any = None
    found = _last_holding(batch, lambda _, tried: tried, (check,), least, greatest)
    within = (limit >= least) & (limit < greatest)
    assert within.sum() > 30 and (~within).sum() > 5
    assert (found[~within] == greatest[~within]).all()
    assert np.allclose(found[within], limit[within], rtol=1e-4)
    assert (found[within] <= limit[within] * (1.0 + 1e-9)).all()
    values, loads, worst = _nodes(batch, lambda _, tried: tried, (check,), least, found)
    assert values.shape == (60, NODES)
    assert (values[:, 0] == least[:, 0]).all() and (values[:, -1] == found[:, 0]).all()
    # Equal ratios from node to node, so that boxes halve along them.
    assert np.allclose(values[:, 1:] / values[:, :-1], (found / least) ** (1.0 / (NODES - 1)))
    assert (loads == values).all() and np.allclose(worst, (values / limit) ** 1.5)
