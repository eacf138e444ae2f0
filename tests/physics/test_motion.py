"""Limits, errors and properties of speed changes and legs."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from recommender.physics.motion import (
    leg_peak_excess,
    leg_peak_speed,
    leg_time,
    speed_change_distance,
    speed_change_peak,
    speed_change_ramp,
    speed_change_time,
    stop_to_stop_time,
)
from recommender.physics.profile import leg_segments

TIGHT = 1e-12

lengths = st.floats(1e-4, 50.0)
limits = st.tuples(st.floats(0.1, 10.0), st.floats(0.1, 100.0), st.floats(1.0, 1e5))
# Shares of the speed limit. Speeds a rounding error apart are none that anybody sets.
shares = st.one_of(st.just(0), st.just(1000), st.integers(0, 1000)).map(lambda mil: mil / 1000)
factors = st.floats(1.0, 3.0)
reproducible = settings(derandomize=True, deadline=None, max_examples=200)


@st.composite
def feasible_legs(draw: st.DrawFn) -> tuple[float, float, float, float, float, float]:
    """Distance, start, end, speed, acceleration, jerk of a leg that is possible."""
    speed, acceleration, jerk = draw(limits)
    start, end = draw(shares) * speed, draw(shares) * speed
    direct = float(speed_change_distance(start, end, acceleration, jerk))
    distance = draw(st.one_of(lengths, st.floats(1.0, 2.0).map(lambda factor: factor * direct)))
    assume(distance > 0.0 and distance >= direct)
    return distance, start, end, speed, acceleration, jerk


def test_speed_change_reaches_the_acceleration_from_the_limit_on() -> None:
    changes = np.array([0.0, 0.25, 1.0, 4.0])
    np.testing.assert_allclose(speed_change_time(changes, 10.0, 100.0), [0.0, 0.1, 0.2, 0.5])
    np.testing.assert_allclose(speed_change_peak(changes, 10.0, 100.0), [0.0, 5.0, 10.0, 10.0])
    np.testing.assert_allclose(speed_change_ramp(changes, 10.0, 100.0), [0.0, 0.05, 0.1, 0.1])


def test_speed_change_without_jerk_limit() -> None:
    changes = np.array([0.0, 0.25, -4.0])
    np.testing.assert_allclose(speed_change_time(changes, 10.0, np.inf), [0.0, 0.025, 0.4])
    np.testing.assert_array_equal(speed_change_peak(changes, 10.0, np.inf), [0.0, 10.0, 10.0])
    np.testing.assert_array_equal(speed_change_ramp(changes, 10.0, np.inf), [0.0, 0.0, 0.0])


def test_broadcasts_and_returns_scalars_for_scalars() -> None:
    distance = np.array([[0.1], [2.0]])
    time = leg_time(distance, 0.0, [0.0, 0.5, 1.0], 1.0, 10.0, 100.0)
    assert time.shape == (2, 3)
    assert time[1, 2] == leg_time(2.0, 0.0, 1.0, 1.0, 10.0, 100.0)
    assert leg_time(2.0, 0.0, 1.0, 1.0, 10.0, 100.0).shape == ()
    assert leg_time(np.zeros(0), 0.0, 0.0, 1.0, 10.0, 100.0).shape == (0,)


def test_leg_of_no_length() -> None:
    ends = np.array([0.0, 0.7])
    np.testing.assert_array_equal(leg_time(0.0, ends, ends, 1.0, 10.0, 100.0), [0.0, 0.0])
    np.testing.assert_array_equal(leg_peak_speed(0.0, ends, ends, 1.0, 10.0, 100.0), ends)
    assert leg_time(0.0, 0.0, 0.7, 1.0, 10.0, 100.0) == np.inf


def test_boundary_speed_above_the_limit_is_infeasible() -> None:
    np.testing.assert_array_equal(
        leg_time(100.0, [1.01, 0.0, 1.0], [0.0, 1.01, 1.0], 1.0, 10.0, 100.0),
        [np.inf, np.inf, 100.0],
    )
    assert np.isnan(leg_peak_speed(100.0, 1.01, 0.0, 1.0, 10.0, 100.0))


def test_peak_is_the_limit_itself_where_reached() -> None:
    assert leg_peak_speed(50.0, 0.1, 0.3, 0.7, 10.0, 100.0) == 0.7


@pytest.mark.parametrize("name", ["distance", "start", "end", "speed", "acceleration", "jerk"])
@pytest.mark.parametrize("function", [leg_time, leg_peak_speed, leg_peak_excess, leg_segments])
def test_refuses_values_out_of_range(name: str, function: object) -> None:
    assert callable(function)
    leg = {"distance": 1.0, "start": 0.0, "end": 0.0, "speed": 1.0, "acceleration": 10.0}
    leg["jerk"] = 100.0
    bad = [-1.0, np.nan] + ([] if name == "jerk" else [np.inf])
    bad += [0.0] if name in {"speed", "acceleration", "jerk"} else []
    for value in bad:
        with pytest.raises(ValueError, match=name):
            function(**{**leg, name: value})


@pytest.mark.parametrize("function", [speed_change_time, speed_change_ramp, speed_change_peak])
def test_speed_change_refuses_values_out_of_range(function: object) -> None:
    assert callable(function)
    for arguments in ((np.nan, 1.0, 1.0), (1.0, 0.0, 1.0), (1.0, np.inf, 1.0), (1.0, 1.0, 0.0)):
        with pytest.raises(ValueError, match="must be"):
            function(*arguments)
    with pytest.raises(ValueError, match="start"):
        speed_change_distance(-1.0, 1.0, 1.0, 1.0)


@reproducible
@given(limits, shares, shares)
def test_shortest_feasible_leg_is_the_direct_change(
    limit: tuple[float, float, float], first: float, second: float
) -> None:
    speed, acceleration, jerk = limit
    start, end = first * speed, second * speed
    direct = speed_change_distance(start, end, acceleration, jerk)
    leg = (start, end, speed, acceleration, jerk)
    assert leg_time(direct, *leg) == pytest.approx(
        float(speed_change_time(end - start, acceleration, jerk)), rel=TIGHT
    )
    assert leg_peak_speed(direct, *leg) == pytest.approx(max(start, end), rel=TIGHT)
    if direct > 0.0:
        assert leg_time(np.nextafter(direct, 0.0), *leg) == np.inf


@reproducible
@given(feasible_legs(), factors)
def test_time_never_rises_with_a_limit(
    leg: tuple[float, float, float, float, float, float], factor: float
) -> None:
    for limit in (3, 4, 5):
        eased = [*leg]
        eased[limit] *= factor
        assert leg_time(*eased) <= leg_time(*leg) * (1.0 + TIGHT)


@reproducible
@given(feasible_legs(), factors)
def test_time_and_peak_never_fall_with_the_distance(
    leg: tuple[float, float, float, float, float, float], factor: float
) -> None:
    longer = (leg[0] * factor, *leg[1:])
    assert leg_time(*longer) >= leg_time(*leg) * (1.0 - TIGHT)
    assert leg_peak_speed(*longer) >= leg_peak_speed(*leg) * (1.0 - TIGHT)


def test_speed_changes_by_way_of_the_peak_fill_a_short_leg_to_rounding() -> None:
    rng = np.random.default_rng(1)
    acceleration, jerk = 10.0 ** rng.uniform(-0.5, 2.0, 100_000), 10.0 ** rng.uniform(0, 5, 100_000)
    # Boundary speeds about the change of speed that just reaches the acceleration: every regime.
    start, end = acceleration**2 / jerk * 10.0 ** rng.uniform(-2.0, 2.0, (2, 100_000))
    higher = np.maximum(start, end)
    wanted = higher * (1.0 + 10.0 ** rng.uniform(-3.0, 1.0, 100_000))
    distance = speed_change_distance([start, end], wanted, acceleration, jerk).sum(axis=0)
    leg = (distance, start, end, 2.0 * wanted, acceleration, jerk)
    np.testing.assert_allclose(leg_peak_speed(*leg), wanted, rtol=TIGHT)
    np.testing.assert_allclose(
        leg_time(*leg),
        speed_change_time([wanted - start, wanted - end], acceleration, jerk).sum(axis=0),
        rtol=TIGHT,
    )


@reproducible
@given(feasible_legs())
def test_running_the_leg_backwards_takes_as_long(
    leg: tuple[float, float, float, float, float, float],
) -> None:
    distance, start, end, *rest = leg
    assert leg_time(*leg) == leg_time(distance, end, start, *rest)


@reproducible
@given(feasible_legs(), st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_units_do_not_matter(
    leg: tuple[float, float, float, float, float, float], metre: float, second: float
) -> None:
    distance, start, end, speed, acceleration, jerk = leg
    assume(distance > 1.001 * speed_change_distance(start, end, acceleration, jerk))
    velocity = metre / second
    scaled = leg_time(
        distance * metre,
        start * velocity,
        end * velocity,
        speed * velocity,
        acceleration * velocity / second,
        jerk * velocity / second**2,
    )
    assert scaled == pytest.approx(float(leg_time(*leg)) * second, rel=1e-11)


@reproducible
@given(feasible_legs(), st.floats(0.0, 20.0))
def test_length_beyond_reaching_the_speed_is_driven_at_it(
    leg: tuple[float, float, float, float, float, float], more: float
) -> None:
    _, start, end, speed, acceleration, jerk = leg
    full = speed_change_distance([start, end], speed, acceleration, jerk).sum()
    changes = speed_change_time([speed - start, speed - end], acceleration, jerk).sum()
    time = leg_time(full * (1.0 + TIGHT) + more, start, end, speed, acceleration, jerk)
    assert time == pytest.approx(changes + more / speed, rel=1e-11, abs=1e-11)


@reproducible
@given(feasible_legs())
def test_jerk_limit_costs_at_most_two_ramps_of_the_acceleration(
    leg: tuple[float, float, float, float, float, float],
) -> None:
    """The trapezoidal speed averaged over 2·a/j keeps the jerk and lasts 2·a/j longer."""
    trapezoidal = leg_time(*leg[:5], np.inf)
    acceleration, jerk = leg[4:]
    assert trapezoidal <= leg_time(*leg) * (1.0 + TIGHT)
    assert leg_time(*leg) <= (trapezoidal + 2.0 * acceleration / jerk) * (1.0 + TIGHT)


@reproducible
@given(feasible_legs())
def test_profile_covers_the_leg_and_keeps_the_limits(
    leg: tuple[float, float, float, float, float, float],
) -> None:
    distance, start, end, speed, acceleration, jerk = leg
    profile = leg_segments(*leg)
    assert profile.durations.shape == profile.jerks.shape == (7,)
    assert profile.durations.min() >= 0.0
    assert profile.duration == pytest.approx(float(leg_time(*leg)), rel=1e-11)

    ends = np.concatenate(([0.0], np.cumsum(profile.durations)))
    positions, speeds, accelerations = profile.sample(ends)
    # An instant is known to 1e-16 of the whole time, while the acceleration moves by jerk times it.
    blur = 1e-14 * jerk * profile.duration
    assert positions[-1] == pytest.approx(distance, rel=1e-9)
    assert (speeds[0], accelerations[0]) == (start, 0.0)
    assert speeds[-1] == pytest.approx(end, abs=1e-9 * speed)
    assert accelerations[-1] == pytest.approx(0.0, abs=1e-9 * acceleration + blur)
    assert np.all(np.diff(positions) >= -1e-12)
    assert speeds.max() <= speed * (1.0 + 1e-9)
    assert speeds.max() == pytest.approx(float(leg_peak_speed(*leg)), rel=1e-9)
    assert speeds.min() >= min(start, end) - 1e-9 * speed
    assert np.abs(accelerations).max() <= acceleration * (1.0 + 1e-9) + blur


@reproducible
@given(feasible_legs())
def test_samples_are_derivatives_of_each_other(
    leg: tuple[float, float, float, float, float, float],
) -> None:
    """Summed by the trapezoidal rule, whose error is of the second order in the step."""
    distance, _, _, speed, _, jerk = leg
    profile = leg_segments(*leg)
    times = np.linspace(0.0, profile.duration, 4001)
    step = times[1]
    position, velocity, force = profile.sample(times)
    run = np.concatenate(([0.0], np.cumsum(velocity[1:] + velocity[:-1]) * step / 2.0))
    gain = np.concatenate(([0.0], np.cumsum(force[1:] + force[:-1]) * step / 2.0))
    # Within a step the speed bends by at most the jerk, and the acceleration turns by twice the
    # jerk at the seven changes of phase and nowhere else.
    assert np.abs(gain - (velocity - velocity[0])).max() <= 2.0 * jerk * step**2 + 1e-9 * speed
    assert np.abs(run - position).max() <= (
        jerk * step**2 * profile.duration / 12.0 + 7.0 * jerk * step**3 + 1e-9 * distance
    )


def test_samples_keep_their_shape_and_refuse_times_outside() -> None:
    profile = leg_segments(1.0, 0.0, 0.5, 1.0, 10.0, 100.0)
    assert all(part.shape == (2, 3) for part in profile.sample(np.zeros((2, 3))))
    assert all(part.shape == () for part in profile.sample(profile.duration))
    for time in (-1e-9, profile.duration * (1.0 + 1e-9), np.nan):
        with pytest.raises(ValueError, match="times"):
            profile.sample([0.0, time])


def test_profile_cannot_be_changed() -> None:
    profile = leg_segments(1.0, 0.0, 0.5, 1.0, 10.0, 100.0)
    with pytest.raises(ValueError, match="read-only"):
        profile.durations[0] = 1.0


def test_profile_of_an_infeasible_leg_is_refused() -> None:
    with pytest.raises(ValueError, match="infeasible"):
        leg_segments(0.01, 0.0, 1.0, 1.0, 10.0, 100.0)
    with pytest.raises(ValueError, match="jerk must be finite"):
        leg_segments(1.0, 0.0, 0.0, 1.0, 10.0, np.inf)


def test_a_leg_from_stop_to_stop_takes_as_long_in_closed_form() -> None:
    rng = np.random.default_rng(11)
    count = 200_000
    distance = np.where(rng.random(count) < 0.02, 0.0, 10.0 ** rng.uniform(-6.0, 2.0, count))
    speed, acceleration = 10.0 ** rng.uniform(-2.0, 1.0, count), 10.0 ** rng.uniform(-1, 2, count)
    jerk = np.where(rng.random(count) < 0.1, np.inf, 10.0 ** rng.uniform(-1.0, 4.0, count))
    limits = speed, acceleration, jerk
    time, leg = stop_to_stop_time(distance, *limits), leg_time(distance, 0.0, 0.0, *limits)
    assert np.allclose(time, leg, rtol=1e-14, atol=0.0)
    assert (time[distance == 0.0] == 0.0).all()
    # Every kind of leg is among them.
    reached = leg_peak_speed(distance, 0.0, 0.0, *limits)
    assert 0.1 < np.mean(reached == speed) < 0.9
    with np.errstate(invalid="ignore"):
        assert 0.1 < np.mean(reached < acceleration**2 / jerk) < 0.9
    with pytest.raises(ValueError, match="speed"):
        stop_to_stop_time(1.0, 0.0, 1.0, 1.0)
