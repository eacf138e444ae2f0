"""Jerk of a load at the end of a bend against differences along the true path.

The path and the body guided on it are those of the comparison of bend entries. Its acceleration,
by second differences of the load's position, is turned into the body's own frame; the greatest
change within a window is looked for among all windows.
"""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from recommender.physics.jerk import bend_jerk


def _guided():
    path = Path(__file__).with_name("test_bend_entry_against_simulation.py")
    spec = importlib.util.spec_from_file_location("bend_entry", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.Guided


Guided = _guided()


def felt(radius, transition, base, x, y, count=6001):
    """Acceleration along and across the body at unit mean speed, and the step along the guide."""
    body = Guided(radius, transition, base, count)
    a_x, a_y = (np.diff(value, 2) / body.step**2 for value in body.centre(x, y))
    cosine, sine = np.cos(body.heading[1:-1]), np.sin(body.heading[1:-1])
    return a_x * cosine + a_y * sine, a_y * cosine - a_x * sine, body.step


def windowed(radius, transition, base, x, y, way):
    """Greatest change within a way, over it, at unit speed, and the way in whole steps."""
    along, across, step = felt(radius, transition, base, x, y)
    count = max(1, round(way / step))
    padded = [np.pad(value, count, mode="edge") for value in (along, across)]
    change = np.hypot(*(value[count:] - value[:-count] for value in padded))
    return change.max() / (count * step), count * step


def bodies(count, seed):
    rng = np.random.default_rng(seed)
    for _ in range(count):
        radius = rng.choice([0.28, 0.42, 0.48, 0.75])
        base = radius * rng.uniform(0.05, 1.0)
        transition = base * rng.choice([0.0, 1.0, rng.uniform(0, 1), rng.uniform(1, 5)])
        x = rng.choice([0.0, rng.uniform(-0.15, 0.15)])
        way = rng.choice([0.02, 0.1, 0.3, 0.6]) * (transition + base)
        yield radius, transition, base, x, rng.uniform(-0.15, 0.4), way


def test_no_window_of_the_true_motion_has_more_jerk():
    ratios = []
    for radius, transition, base, x, y, way in bodies(600, 7):
        true, window = windowed(radius, transition, base, x, y, way)
        ratios.append(true / bend_jerk(1.0, radius, transition, base, y, x, window))
    assert len(ratios) == 600
    assert max(ratios) < 1.005
    assert max(ratios) > 0.99  # reached: no higher than it has to be
    assert np.median(ratios) > 0.78


@pytest.mark.parametrize("speed", [0.4, 1.3])
def test_the_speed_scales_it_as_time_does(speed):
    """At twice the speed the same way takes half the time and every acceleration is fourfold."""
    bend = 0.42, 0.18, 0.112, 0.2, 0.02
    at_unit = bend_jerk(1.0, *bend, 0.05)
    assert bend_jerk(speed, *bend, 0.05 / speed) == pytest.approx(speed**3 * at_unit)


def test_a_plain_arc_jumps_twice_and_half_each_time():
    """What the closed form rests on: the middle jumps as the front and as the rear point enters."""
    along, across, step = felt(1.0, 0.0, 0.1, 0.0, 0.0)
    jumps = np.abs(np.diff(across[::2])) > 0.2
    assert np.count_nonzero(jumps) == 2
    first, second = np.flatnonzero(jumps)
    assert (second - first) * 2 * step == pytest.approx(0.1, rel=2e-3)
    assert across[2 * first + 6] == pytest.approx(-0.5, rel=1e-3)
    assert np.abs(along).max() < 0.03


def test_an_eased_bend_has_a_peak_that_short_windows_come_up_to():
    for radius, transition, base, x, y in (
        (0.42, 0.18, 0.112, 0.0, 0.2),
        (0.42, 0.18, 0.31, 0.05, 0.1),
        (0.75, 0.4, 0.1, -0.1, 0.0),
    ):
        along, across, step = felt(radius, transition, base, x, y)
        # Kinks of the acceleration spread over a step or two of the differences.
        true = np.hypot(np.gradient(along, step), np.gradient(across, step)).max()
        windows = np.array([0.1, 0.03, 0.01, 1e-4, 1e-6])
        means = bend_jerk(1.0, radius, transition, base, y, x, windows)
        assert (np.diff(means) >= -1e-9).all()
        assert 0.6 * means[-1] < true < 1.005 * means[-1]
        assert means[-2] == pytest.approx(means[-1], rel=0.01)


def test_a_plain_arc_has_no_peak_and_standstill_no_jerk():
    halved = bend_jerk(1.0, 0.5, 0.0, 0.1, 0.2, 0.0, np.array([2e-6, 1e-6]))
    assert halved[1] == pytest.approx(2.0 * halved[0], rel=1e-3)
    assert bend_jerk(0.0, 0.5, 0.0, 0.1, 0.2, 0.0, 0.05) == 0.0


def test_it_rises_with_the_speed():
    rng = np.random.default_rng(3)
    speeds = np.linspace(0.05, 3.0, 60)
    for radius, transition, base, x, y, _ in bodies(200, 11):
        body = radius, transition, base, y, x
        rising = bend_jerk(speeds, *body, rng.uniform(0.01, 0.2))
        assert (np.diff(rising) > 0).all()


def test_refusals():
    with pytest.raises(ValueError, match="window"):
        bend_jerk(1.0, 0.5, 0.0, 0.1, 0.2, 0.0, 0.0)
    with pytest.raises(ValueError, match="base"):
        bend_jerk(1.0, 0.5, 0.0, 0.0, 0.2, 0.0, 0.05)
