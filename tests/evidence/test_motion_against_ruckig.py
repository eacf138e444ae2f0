"""Legs against ruckig, a general-purpose library of time-optimal jerk-limited motion."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from ruckig import InputParameter, Result, Ruckig, Trajectory

from recommender.physics.constants import Array
from recommender.physics.motion import (
    leg_peak_excess,
    leg_peak_speed,
    leg_time,
    speed_change_distance,
)
from recommender.physics.profile import leg_segments

COUNT = 20_000
TOLERANCE = 1e-6


def trajectory(leg: Iterable[float]) -> Trajectory:
    """Time-optimal motion for the arguments of `leg_time`; may run backwards, unlike a carrier."""
    distance, start, end, speed, acceleration, jerk = map(float, leg)
    enquiry = InputParameter(1)
    enquiry.current_velocity, enquiry.target_velocity = [start], [end]
    enquiry.target_position = [distance]
    enquiry.max_velocity, enquiry.max_acceleration = [speed], [acceleration]
    enquiry.max_jerk = [jerk]
    found = Trajectory(1)
    assert Ruckig(1).calculate(enquiry, found) == Result.Working
    return found


def speed_extremes(found: Trajectory) -> tuple[float, float]:
    """Least and greatest speed, at the ends of the phases and where the acceleration passes 0."""
    profile = found.profiles[0][0]
    speeds, accelerations = np.array(profile.v), np.array(profile.a)
    jerks, durations = np.array(profile.j), np.array(profile.t)
    crossing = np.full(7, -1.0)
    np.divide(-accelerations[:7], jerks, out=crossing, where=jerks != 0.0)
    inside = (crossing > 0.0) & (crossing < durations)
    turning = speeds[:7][inside] - accelerations[:7][inside] ** 2 / (2.0 * jerks[inside])
    every = np.concatenate((speeds, turning))
    return float(every.min()), float(every.max())


def random_legs(count: int, seed: int) -> tuple[Array, Array, Array, Array, Array, Array]:
    """Rest to rest, from rest, to rest, equal and unequal boundary speeds, in equal shares.

    Lengths from half the direct change of speed, where that is not possible, to well beyond what
    reaching the speed limit takes, many of them just above the direct change. Changes of speed
    that just reach the acceleration lie between a thirtieth and ten times the speed limit.
    """
    rng = np.random.default_rng(seed)
    speed = rng.uniform(0.3, 5.0, count)
    acceleration = 10.0 ** rng.uniform(-0.5, 1.7, count)
    jerk = acceleration**2 / speed * 10.0 ** rng.uniform(-1.0, 1.5, count)
    kind = np.arange(count) % 5
    start = np.where((kind == 0) | (kind == 1), 0.0, speed * rng.random(count))
    end = np.where((kind == 0) | (kind == 2), 0.0, speed * rng.random(count))
    end = np.where(kind == 3, start, end)
    direct = speed_change_distance(start, end, acceleration, jerk)
    full = speed_change_distance(start, speed, acceleration, jerk)
    full = full + speed_change_distance(speed, end, acceleration, jerk)
    place = rng.uniform(-0.15, 1.0, count)
    distance = direct + np.where(place < 0.0, 3.0 * place * direct, 1.3 * place**2 * full)
    # ruckig does not see that a leg of no length between equal speeds takes no time.
    return np.where(distance > 0.0, distance, 1e-3), start, end, speed, acceleration, jerk


@dataclass(frozen=True)
class Comparison:
    legs: tuple[Array, Array, Array, Array, Array, Array]
    time: Array
    """Ours, s; infinite where the leg is infeasible."""
    duration: Array
    """Ruckig's, s."""
    slowest: Array
    fastest: Array
    behind: Array
    """How far ruckig runs back behind the start or on beyond the end, m."""


@cache
def comparison() -> Comparison:
    legs = random_legs(COUNT, seed=20)
    found = [trajectory(leg) for leg in zip(*legs, strict=True)]
    slowest, fastest = np.array([speed_extremes(each) for each in found]).T
    extremes = [each.position_extrema[0] for each in found]
    lowest = np.array([each.min for each in extremes])
    highest = np.array([each.max for each in extremes])
    return Comparison(
        legs=legs,
        time=leg_time(*legs),
        duration=np.array([each.duration for each in found]),
        slowest=slowest,
        fastest=fastest,
        behind=np.maximum(-lowest, highest - legs[0]),
    )


def test_sample_covers_every_regime() -> None:
    _, start, end, speed, acceleration, jerk = comparison().legs
    excess = leg_peak_excess(*comparison().legs)
    higher = np.maximum(start, end)
    long_change = higher - np.minimum(start, end) + excess
    possible = np.isfinite(excess)
    reaches = possible & (excess >= speed - higher)
    plateau = acceleration**2 / jerk
    both, none = excess >= plateau, long_change < plateau
    regimes = {
        "infeasible": ~possible,
        "speed and acceleration reached": reaches & both,
        "speed reached, acceleration one way": reaches & ~both & ~none,
        "speed reached, acceleration neither way": reaches & none,
        "acceleration reached both ways": possible & ~reaches & both,
        "acceleration reached one way": possible & ~reaches & ~both & ~none,
        "acceleration reached neither way": possible & ~reaches & none,
    }
    assert sum(rows.sum() for rows in regimes.values()) == COUNT
    assert {name for name, rows in regimes.items() if rows.sum() < 500} == set()


def test_times_agree_wherever_the_leg_is_feasible() -> None:
    result = comparison()
    feasible = np.isfinite(result.time)
    assert feasible.sum() > 15_000
    np.testing.assert_allclose(
        result.time[feasible], result.duration[feasible], rtol=TOLERANCE, atol=TOLERANCE
    )


def test_peak_speeds_agree_wherever_the_leg_is_feasible() -> None:
    result = comparison()
    feasible = np.isfinite(result.time)
    peak = leg_peak_speed(*result.legs)
    np.testing.assert_array_equal(np.isnan(peak), ~feasible)
    np.testing.assert_allclose(
        peak[feasible], result.fastest[feasible], rtol=TOLERANCE, atol=TOLERANCE
    )


def test_infeasible_exactly_where_the_optimum_slows_below_both_ends() -> None:
    result = comparison()
    infeasible = np.isinf(result.time)
    lower = np.minimum(result.legs[1], result.legs[2])
    dips = result.slowest < lower - TOLERANCE
    np.testing.assert_array_equal(infeasible, dips)
    assert result.behind[~infeasible].max() < TOLERANCE


def test_infeasible_legs_mostly_run_backwards() -> None:
    """The few that do not sit in the narrow range that slowing below both ends first opens."""
    result = comparison()
    distance, start, end, _, acceleration, jerk = result.legs
    infeasible = np.isinf(result.time)
    forward = infeasible & (result.slowest >= 0.0)
    assert forward.sum() < 0.01 * infeasible.sum()
    direct = speed_change_distance(start, end, acceleration, jerk)
    lower, higher = np.minimum(start, end), np.maximum(start, end)
    assert np.all(distance[forward] > (1.0 - 0.013) * direct[forward])
    assert np.all(lower[forward] < higher[forward] / 3.0)


def test_slowing_first_saves_at_most_1_3_percent_of_the_direct_change() -> None:
    """Worst case: jerk-limited, from 0.072 of the final speed, by way of a standstill."""
    rest = start, end, _, acceleration, jerk = 0.072, 1.0, 5.0, 10.0, 1.0
    direct = float(speed_change_distance(start, end, acceleration, jerk))
    slowest, _ = speed_extremes(trajectory((0.9872 * direct, *rest)))
    assert 0.0 <= slowest < start
    slowest, _ = speed_extremes(trajectory((0.9868 * direct, *rest)))
    assert slowest < 0.0


def test_profiles_agree_at_every_instant() -> None:
    compared = 0
    for leg in zip(*random_legs(500, seed=21), strict=True):
        values = tuple(float(value) for value in leg)
        if not np.isfinite(leg_time(*values)):
            continue
        ours, theirs = leg_segments(*values), trajectory(values)
        times = ours.duration * np.linspace(0.0, 1.0, 41)
        wanted = np.array([theirs.at_time(time) for time in times])[:, :, 0].T
        position, speed, acceleration = ours.sample(times)
        np.testing.assert_allclose(position, wanted[0], rtol=TOLERANCE, atol=TOLERANCE)
        np.testing.assert_allclose(speed, wanted[1], rtol=TOLERANCE, atol=TOLERANCE)
        np.testing.assert_allclose(acceleration, wanted[2], rtol=TOLERANCE, atol=TOLERANCE)
        compared += 1
    assert compared > 350


def test_trapezoidal_profiles_agree_without_a_jerk_limit() -> None:
    distance, start, end, speed, acceleration, _ = random_legs(2_000, seed=22)
    ours = leg_time(distance, start, end, speed, acceleration, np.inf)
    feasible = np.isfinite(ours)
    assert feasible.sum() > 1_500
    rows = zip(distance, start, end, speed, acceleration, np.full(2_000, np.inf), strict=True)
    theirs = np.array([trajectory(row).duration for row in rows])
    np.testing.assert_allclose(ours[feasible], theirs[feasible], rtol=TOLERANCE, atol=TOLERANCE)


def test_one_third_rule() -> None:
    """A move of d in t with equal thirds peaks at 1.5·d/t and 4.5·d/t², says ruckig too."""
    rng = np.random.default_rng(23)
    for distance, time in zip(rng.uniform(0.01, 5.0, 50), rng.uniform(0.05, 5.0, 50), strict=True):
        speed, acceleration = 1.5 * distance / time, 4.5 * distance / time**2
        theirs = trajectory((distance, 0.0, 0.0, speed, acceleration, np.inf))
        ours = leg_time(distance, 0.0, 0.0, speed, acceleration, np.inf)
        assert theirs.duration == pytest.approx(time, rel=1e-9)
        assert ours == pytest.approx(time, rel=1e-9)
        # A jerk so high that the ramps of the acceleration take a billionth of the move.
        durations = leg_segments(
            float(distance), 0.0, 0.0, float(speed), float(acceleration), 1e9 * acceleration / time
        ).durations
        thirds = [durations[:3].sum(), durations[3], durations[4:].sum()]
        assert thirds == pytest.approx([time / 3.0] * 3, rel=1e-8)


@pytest.mark.parametrize(
    ("example", "start", "speed", "acceleration"),
    [
        ("3.9", 1.0, 5.0, 10.0),
        ("3.10", 1.0, 10.0, 10.0),
        ("3.11", 7.0, 10.0, 10.0),
        ("3.12", 7.5, 10.0, 10.0),
        ("3.13", 0.0, 10.0, 20.0),
    ],
)
def test_double_s_examples(example: str, start: float, speed: float, acceleration: float) -> None:
    """The legs of the book's examples; what it prints for 3.11 and 3.12 is not the least time.

    L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
    Springer, 2008, section 3.4.
    """
    leg = (10.0, start, 0.0, speed, acceleration, 30.0)
    found = trajectory(leg)
    assert leg_time(*leg) == pytest.approx(found.duration, rel=1e-9)
    assert leg_peak_speed(*leg) == pytest.approx(speed_extremes(found)[1], rel=1e-9)
    slower = {"3.11": 1.9384, "3.12": 2.6667}.get(example)
    if slower is not None:
        assert leg_time(*leg) < slower - 0.1
