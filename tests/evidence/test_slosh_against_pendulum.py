"""The bounds of the sloshing response against oscillators that are really integrated.

The oscillator x'' + omega**2 x = omega**2 a(t) is solved exactly for a piecewise linear
acceleration, as jerk-limited motion has it; scipy's integrator checks that solution, and ruckig
makes some of the motions.
"""

import numpy as np
import pytest
import ruckig
from scipy.integrate import solve_ivp

from recommender.physics.slosh import sloshing_frequency, sloshing_period, wall_rise, wave_response
from recommender.physics.swing import (
    acceleration_pulse,
    checked_chain,
    largest_response,
    swing_factors,
)

SLACK = 1.0 + 1e-9


def one_mode(peaks, ramps, pulses, period):
    """Bounds of the response to a chain and of what it leaves, of one mode with all of the tilt."""
    peaks, ramps, pulses = checked_chain(peaks, ramps, pulses)
    period = np.asarray(period)[..., np.newaxis]
    swing, left = swing_factors(ramps, pulses, period)
    return largest_response(peaks, swing, left), (peaks * left).sum(axis=-1)


def largest_swing(knots, values, omega):
    """Largest |x| for all time, and the amplitude left after the last knot, row by row."""
    omega = np.broadcast_to(omega, knots.shape[:1])
    position, speed = np.zeros(knots.shape[0]), np.zeros(knots.shape[0])
    largest = np.zeros(knots.shape[0])
    for k in range(knots.shape[1] - 1):
        span = knots[:, k + 1] - knots[:, k]
        start = values[:, k]
        slope = np.where(span > 0.0, values[:, k + 1] - start, 0.0) / np.where(span > 0, span, 1.0)
        cosine, sine = position - start, (speed - slope) / omega
        radius, phase = np.hypot(cosine, sine), np.arctan2(sine, cosine)
        lean = slope / omega / np.where(radius > 0.0, radius, 1.0)
        turns = np.arcsin(np.clip(lean, -1.0, 1.0))
        for root in (phase + turns, phase + np.pi - turns):
            first = np.mod(root, 2 * np.pi)
            last = first + 2 * np.pi * np.floor((omega * span - first) / (2 * np.pi))
            for angle in (first, last):
                inside = (angle >= 0.0) & (angle <= omega * span) & (np.abs(lean) <= 1.0)
                value = start + slope * angle / omega + radius * np.cos(angle - phase)
                largest = np.maximum(largest, np.where(inside, np.abs(value), 0.0))
        angle = omega * span
        position = start + slope * span + cosine * np.cos(angle) + sine * np.sin(angle)
        speed = slope + omega * (sine * np.cos(angle) - cosine * np.sin(angle))
        largest = np.maximum(largest, np.abs(position))
    left = np.hypot(position, speed / omega)
    return np.maximum(largest, left), left


def swing_at(times, knots, values, omega):
    """x at the times, one row of knots, for checking and for adding up modes."""
    position, speed, found = 0.0, 0.0, np.zeros_like(times)
    edges = np.append(knots, np.inf)
    levels = np.append(values, values[-1])
    for k in range(knots.size):
        span = edges[k + 1] - edges[k]
        if span <= 0.0:
            continue
        slope = 0.0 if np.isinf(span) else (levels[k + 1] - levels[k]) / span
        cosine, sine = position - levels[k], (speed - slope) / omega
        here = (times >= edges[k]) & (times <= edges[k + 1])
        after = times[here] - edges[k]
        found[here] = (
            levels[k]
            + slope * after
            + cosine * np.cos(omega * after)
            + sine * np.sin(omega * after)
        )
        if np.isinf(span):
            break
        angle = omega * span
        position = levels[k + 1] + cosine * np.cos(angle) + sine * np.sin(angle)
        speed = slope + omega * (sine * np.cos(angle) - cosine * np.sin(angle))
    return found


def chain_of_pulses(signed_peaks, ramps, pulses, pauses):
    """Knots of the acceleration: each pulse's four corners, a pause after each."""
    rows, count = signed_peaks.shape
    lengths = np.stack([ramps, pulses - ramps, ramps, pauses], axis=-1).reshape(rows, 4 * count)
    lengths = np.maximum(lengths, 0.0)
    knots = np.concatenate([np.zeros((rows, 1)), np.cumsum(lengths, axis=1)], axis=1)
    zero = np.zeros_like(signed_peaks)
    corners = np.stack([signed_peaks, signed_peaks, zero, zero], axis=-1).reshape(rows, 4 * count)
    return knots, np.concatenate([np.zeros((rows, 1)), corners], axis=1)


def random_changes(rng, rows, kind):
    """Signed changes of speed of one kind of chain, empty places 0."""
    top, bend = rng.uniform(0.2, 4.0, rows), rng.uniform(0.1, 1.0, rows)
    nothing = np.zeros(rows)
    if kind == "start":
        return np.stack([top], axis=1)
    if kind == "rest to rest":
        return np.stack([top, -top], axis=1)
    second = rng.uniform(0.2, 4.0, rows)
    slow = bend * np.minimum(top, second)
    if kind == "slower on the way":
        return np.stack([top, slow - top, second - slow, -second], axis=1)
    return np.stack([slow, nothing, second - slow, -second], axis=1)


KINDS = ["start", "rest to rest", "slower on the way", "start into the bend"]


def random_chain(rng, rows, kind):
    """Changes of speed with both limits reached, one, or none; periods from tuned to far off."""
    changes = random_changes(rng, rows, kind)
    limit, jerk = rng.uniform(0.5, 20.0, (rows, 1)), 10.0 ** rng.uniform(0.3, 3.0, (rows, 1))
    peaks, ramps, pulses = acceleration_pulse(changes, limit, jerk)
    period = 10.0 ** rng.uniform(-1.0, 0.6, rows)
    tuned = rng.random(rows) < 0.3
    period = np.where(tuned, ramps[:, 0] / rng.integers(1, 3, rows), period)
    pauses = rng.uniform(0.0, 3.0, changes.shape) * period[:, np.newaxis]
    pauses = np.where(rng.random(changes.shape) < 0.3, 0.0, pauses)
    return np.sign(changes) * peaks, ramps, pulses, pauses, period


@pytest.mark.parametrize("kind", KINDS)
def test_no_chain_swings_higher_than_its_bound(kind):
    rng = np.random.default_rng(20240)
    peaks, ramps, pulses, pauses, period = random_chain(rng, 20_000, kind)
    assert 0.1 < np.mean(pulses[:, 0] > ramps[:, 0] * 1.0001) < 0.9  # trapezia and triangles
    bound, rest = one_mode(peaks, ramps, pulses, period)
    true, left = largest_swing(*chain_of_pulses(peaks, ramps, pulses, pauses), 2 * np.pi / period)
    assert np.all(true <= bound * SLACK)
    assert np.all(left <= rest * SLACK + 1e-9)
    share = true / bound
    assert share.max() > 0.99  # reached: the bound is no higher than it has to be
    assert np.median(share) > 0.7


def test_worst_pauses_reach_the_bound():
    """With pauses in the unluckiest phases a whole move swings as high as the bound allows."""
    phases = np.linspace(0.0, 1.0, 2001)
    rows = phases.size
    peaks, ramps, pulses = (np.full((rows, 2), value) for value in (2.0, 0.1, 0.5))
    pauses = np.stack([phases, np.zeros(rows)], axis=1)
    true, _ = largest_swing(
        *chain_of_pulses(peaks * [1.0, -1.0], ramps, pulses, pauses), 2 * np.pi / 0.3663
    )
    bound, _ = one_mode([2.0, 2.0], [0.1, 0.1], [0.5, 0.5], 0.3663)
    assert true.max() == pytest.approx(float(bound), rel=1e-4)
    assert bound > 1.7 * 4.0  # "twice the steady tilt" would be no bound


def test_start_and_stop_without_ramps_reach_four_times_the_tilt():
    """Half a period of starting, then of braking at once, and the same after a whole period."""
    pauses = np.array([[0.0, 0.0], [1.0, 0.0], [0.5, 0.0]])
    peaks, ramps, pulses = np.ones((3, 2)), np.zeros((3, 2)), np.full((3, 2), 0.5)
    true, left = largest_swing(
        *chain_of_pulses(peaks * [1.0, -1.0], ramps, pulses, pauses), 2 * np.pi
    )
    np.testing.assert_allclose(true, [4.0, 4.0, 2.0])
    np.testing.assert_allclose(left, [4.0, 4.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(one_mode(peaks, ramps, pulses, 1.0), 4.0)


@pytest.mark.parametrize("seed", range(6))
def test_exact_solution_agrees_with_the_integrator(seed):
    rng = np.random.default_rng(seed)
    peaks, ramps, pulses, pauses, period = random_chain(rng, 1, "slower on the way")
    knots, values = chain_of_pulses(peaks, ramps, pulses, pauses)
    omega = 2 * np.pi / period[0]

    def rate(time, state):
        pull = np.interp(time, knots[0], values[0])
        return [state[1], omega**2 * (pull - state[0])]

    times = np.linspace(0.0, knots[0, -1] + 2 * period[0], 4000)
    run = solve_ivp(
        rate, (0.0, times[-1]), [0.0, 0.0], t_eval=times, rtol=1e-8, atol=1e-10, max_step=0.05
    )
    np.testing.assert_allclose(
        run.y[0], swing_at(times, knots[0], values[0], omega), atol=2e-4 * np.abs(values).max()
    )
    true, _ = largest_swing(knots, values, np.array([omega]))
    assert np.abs(run.y[0]).max() == pytest.approx(true[0], rel=2e-3)
    bound, _ = one_mode(peaks, ramps, pulses, period)
    assert np.abs(run.y[0]).max() <= bound[0] * (1 + 1e-4)


def ruckig_leg(distance, start, end, limits):
    """Knots of the time-optimal acceleration, and the greatest speed on the way."""
    ask = ruckig.InputParameter(1)
    ask.current_position, ask.target_position = [0.0], [distance]
    ask.current_velocity, ask.target_velocity = [start], [end]
    ask.max_velocity, ask.max_acceleration, ask.max_jerk = ([limit] for limit in limits)
    way = ruckig.Trajectory(1)
    assert ruckig.Ruckig(1).calculate(ask, way) in (ruckig.Result.Finished, ruckig.Result.Working)
    profile = way.profiles[0][0]
    pull = np.array(profile.a)
    # Without a cruise the speed peaks where the acceleration crosses zero, between two knots.
    crest = np.array(profile.v) + np.maximum(pull, 0.0) ** 2 / (2.0 * limits[2])
    return np.cumsum([0.0, *profile.t]), pull, max(crest[2:].max(), *profile.v)


def test_time_optimal_moves_of_a_general_library_stay_below_the_bound():
    """Stop, bend speed, stop: two legs of ruckig, the pulses taken from their peak speeds alone."""
    rng = np.random.default_rng(7)
    shares = []
    for _ in range(400):
        speed, limit = rng.uniform(0.5, 4.0), rng.uniform(1.0, 20.0)
        jerk, bend = 10.0 ** rng.uniform(0.5, 3.0), rng.uniform(0.2, 0.9) * speed
        # Long enough for the bend speed, so that no leg brakes below it on its way.
        least = float(bend) / 2 * (bend / limit + limit / jerk + 2 * np.sqrt(bend / jerk))
        first, second = least * rng.uniform(1.0, 4.0, 2)
        t1, a1, top1 = ruckig_leg(first, 0.0, bend, (speed, limit, jerk))
        t2, a2, top2 = ruckig_leg(second, bend, 0.0, (speed, limit, jerk))
        knots = np.concatenate([t1, t1[-1] + rng.uniform(0.0, 2.0) + t2])[np.newaxis]
        changes = np.array([top1, top1 - bend, top2 - bend, top2])
        period = 10.0 ** rng.uniform(-1.0, 0.6)
        bound, _ = one_mode(*acceleration_pulse(changes, limit, jerk), period)
        true, _ = largest_swing(
            knots, np.concatenate([a1, a2])[np.newaxis], np.array([2 * np.pi / period])
        )
        shares.append(true[0] / bound)
    assert max(shares) <= 1.0 + 1e-6
    assert max(shares) > 0.9


def test_bend_stays_below_its_bound_during_and_after():
    """Curvature built up over a transition and averaged over a base: two ramps in one."""
    rng = np.random.default_rng(11)
    rows = 300
    period, speed = 10.0 ** rng.uniform(-1.0, 0.5, rows), rng.uniform(0.3, 3.0, rows)
    transition, base = rng.uniform(0.0, 0.3, (2, rows))
    arc = rng.uniform(0.7, 2.0, rows)
    window = (np.arange(60) + 0.5) / 60 - 0.5
    places, levels = [], []
    for row in range(rows):
        edges = np.cumsum([0.0, transition[row], arc[row] - transition[row], transition[row]])
        place = np.linspace(-base[row] / 2, edges[-1] + base[row] / 2, 1200)
        curvature = np.interp(place[:, np.newaxis] + window * base[row], edges, [0, 1, 1, 0])
        places.append(place)
        levels.append(curvature.mean(axis=1))
    true, left = largest_swing(
        np.array(places) / speed[:, np.newaxis], np.array(levels), 2 * np.pi / period
    )
    pulse = np.maximum(transition, base) / speed, arc / speed, period
    during, after = swing_factors(*pulse)
    assert np.all(true <= np.maximum(during, after) * 1.002)
    assert np.all(left <= after + 5e-3)
    assert np.median(true / during) > 0.8


SHAPES = ["rectangular", "round"]


def modal_shares(count, vessel):
    """Modes and their shares of the steady tilt at the wall, from expanding a plane surface."""
    if vessel == "rectangular":
        modes = np.arange(1, 2 * count, 2)
        return modes, 8.0 / (np.pi * modes) ** 2
    modes = np.arange(1, 5)
    roots = np.array([1.8411837813, 5.3314427735, 8.5363163664, 11.7060049026])
    return modes, 2.0 / (roots**2 - 1.0)


@pytest.mark.parametrize("vessel", SHAPES)
def test_all_modes_together_stay_below_the_wave_bound(vessel):
    rng = np.random.default_rng(3)
    against_all, against_first = [], []
    for _ in range(250):
        length, fill = rng.uniform(0.03, 0.4), rng.uniform(0.1, 2.0)
        depth = length * fill
        modes, shares = modal_shares(15, vessel)
        omegas = sloshing_frequency(length, depth, modes, vessel=vessel)
        period = 2 * np.pi / omegas[0]
        ramp = period * rng.choice([rng.uniform(0.05, 3.0), 1.0, 2.0])
        pulse = ramp + period * rng.choice([0.0, rng.uniform(0.0, 3.0)])
        count = int(rng.choice([1, 2, 4]))
        signs = np.array([[1.0, -1.0, 1.0, -1.0][:count]])
        pauses = rng.uniform(0.0, 2.0, (1, count)) * period
        ramps, pulses = np.full((1, count), ramp), np.full((1, count), pulse)
        knots, values = chain_of_pulses(signs, ramps, pulses, pauses)
        times = np.linspace(0.0, knots[0, -1] + 2 * period, 1500)
        wave = sum(
            share * swing_at(times, knots[0], values[0], omega)
            for share, omega in zip(shares, omegas, strict=True)
        )
        wave += (1.0 - shares.sum()) * np.interp(times, knots[0], values[0])
        true = np.abs(wave).max()
        bound = wave_response(signs, ramps, pulses, length, depth, vessel=vessel)[0]
        against_all.append(true / bound)
        against_first.append(true / one_mode(signs, ramps, pulses, period)[0][0])
    assert max(against_all) <= 1.0
    assert max(against_all) > 0.9
    assert 1.0 < max(against_first) < 1.15  # the first mode alone is nearly a bound, not quite


def test_shallow_water_integrated_on_a_grid_stays_below_the_wave_bound():
    """Linear shallow-water equations in the accelerated vessel, leapfrog on a staggered grid."""
    gravity, length, depth, cells = 9.81, 0.5, 0.005, 400
    period = float(sloshing_period(length, depth, gravity=gravity))
    cell = length / cells
    step = 0.5 * cell / np.sqrt(gravity * depth)
    for ramp, pulse in [(0.3, 0.8), (0.6, 0.6), (1.0, 1.7), (0.15, 0.5)]:
        corners = np.array([0.0, ramp, pulse, pulse + ramp]) * period
        level, flow, highest = np.zeros(cells), np.zeros(cells + 1), 0.0
        for time in np.arange(0.0, corners[-1] + 2 * period, step):
            pull = np.interp(time, corners, [0.0, 1.0, 1.0, 0.0])
            flow[1:-1] -= step * (gravity * np.diff(level) / cell + pull)
            level -= step * depth * np.diff(flow) / cell
            highest = max(highest, level[0], level[-1])
        chain = [1.0], [ramp * period], [pulse * period]
        rise = float(
            wall_rise(wave_response(*chain, length, depth, gravity=gravity), length, gravity)
        )
        assert 0.75 * rise < highest < 1.01 * rise


def test_steady_acceleration_and_refusals():
    slow = wave_response([2.0], [400.0], [900.0], 0.1, 0.06)
    assert slow == pytest.approx(2.0, rel=1e-3)
    assert wave_response(*(np.zeros((3, 0)),) * 3, 0.1, 0.06).shape == (3,)
    with pytest.raises(ValueError, match="shorter than its ramp"):
        wave_response([1.0], [0.5], [0.1], 0.1, 0.06)
    with pytest.raises(ValueError, match="period"):
        swing_factors([0.1], [0.5], 0.0)
    with pytest.raises(ValueError, match="finite"):
        wave_response([np.nan], [0.1], [0.5], 0.1, 0.06)
    with pytest.raises(ValueError, match="mode"):
        sloshing_frequency(0.1, 0.1, 0)
    with pytest.raises(ValueError, match="round vessel"):
        sloshing_frequency(0.1, 0.1, 5, vessel="round")
    with pytest.raises(ValueError, match="depth"):
        sloshing_period(0.1, 0.0)
