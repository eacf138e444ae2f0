"""Power and energy of one carrier and of fleets: against numerical integration, and limits."""

import numpy as np
import pytest

from recommender.physics.fleet_supply import fleet_peak_power, queue_hops
from recommender.physics.motion import speed_change_distance
from recommender.physics.profile import leg_segments
from recommender.physics.supply import (
    electrical_power,
    peak_power,
    speed_change_copper_energy,
    speed_change_energy,
)

NAN, INF = float("nan"), float("inf")


def _random_change(rng: np.random.Generator) -> tuple[float, ...]:
    """Mass, resistance, motor constant, slower and faster speed, acceleration, jerk."""
    mass, acceleration = rng.uniform(1.0, 20.0), rng.uniform(1.0, 30.0)
    slow, change = rng.choice([0.0, rng.uniform(0.0, 2.0)]), rng.uniform(0.05, 4.0)
    resistance = mass * acceleration * rng.choice([0.0, 0.1, 0.6, 1.5])
    jerk = acceleration * np.exp(rng.uniform(1.0, 5.0))
    return mass, resistance, rng.uniform(2.0, 30.0), slow, slow + change, acceleration, jerk


def _sampled(change: tuple[float, ...], *, up: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    mass, resistance, _, slow, fast, acceleration, jerk = change
    start, end = (slow, fast) if up else (fast, slow)
    distance = float(speed_change_distance(start, end, acceleration, jerk)) * (1.0 + 1e-12)
    leg = leg_segments(distance, start, end, fast, acceleration, jerk)
    times = np.linspace(0.0, leg.duration, 40_001)
    _, speed, rate = leg.sample(times)
    return times, mass * rate + resistance, speed


@pytest.mark.parametrize("up", [True, False])
@pytest.mark.parametrize("recovered", [0.0, 0.4, 1.0])
def test_energy_is_the_integral_of_the_power(up: bool, recovered: float) -> None:
    rng = np.random.default_rng(1)
    for _ in range(40):
        change = _random_change(rng)
        mass, resistance, constant, slow, fast, *limits = change
        times, force, speed = _sampled(change, up=up)
        power = electrical_power(force, speed, constant, recovered_share=recovered)
        start, end = (slow, fast) if up else (fast, slow)
        energy = speed_change_energy(
            mass, start, end, *limits, resistance, constant, recovered_share=recovered
        )
        scale = np.trapezoid(np.abs(power), times)
        assert float(energy) == pytest.approx(np.trapezoid(power, times), abs=1e-4 * scale)
        copper = speed_change_copper_energy(mass, end - start, *limits, resistance, constant)
        assert float(copper) == pytest.approx(
            np.trapezoid((force / constant) ** 2, times), rel=1e-4
        )


def test_mechanical_peak_is_exact_and_the_whole_never_low() -> None:
    rng = np.random.default_rng(2)
    for _ in range(60):
        change = _random_change(rng)
        mass, resistance, constant, slow, fast, *limits = change
        _, force, speed = _sampled(change, up=True)
        work = peak_power(mass, fast, *limits, 0.0, INF, start=slow)
        assert float(work) == pytest.approx(((force - resistance) * speed).max(), rel=1e-3)
        whole = float(peak_power(mass, fast, *limits, resistance, constant, start=slow))
        drawn = (force * speed + (force / constant) ** 2).max()
        assert drawn <= whole * (1.0 + 1e-12)
        assert whole <= 2.0 * drawn


def test_peak_without_jerk_limit_is_force_times_speed() -> None:
    assert float(peak_power(10.0, 3.0, 8.0, INF, 5.0, INF)) == pytest.approx(85.0 * 3.0)
    assert float(peak_power(10.0, 3.0, 8.0, INF, 5.0, INF, start=3.0)) == pytest.approx(15.0)
    assert float(peak_power(10.0, 0.0, 8.0, 100.0, 5.0, 10.0)) == pytest.approx(0.25)


def test_energy_of_no_change_is_none() -> None:
    assert float(speed_change_energy(10.0, 2.0, 2.0, 8.0, 100.0, 5.0, 10.0)) == 0.0
    assert float(speed_change_energy(10.0, 2.0, 2.0, 8.0, INF, 5.0, 10.0)) == 0.0


def test_full_recovery_without_losses_returns_the_motion() -> None:
    up = speed_change_energy(10.0, 0.0, 3.0, 8.0, 100.0, 0.0, INF, recovered_share=1.0)
    down = speed_change_energy(10.0, 3.0, 0.0, 8.0, 100.0, 0.0, INF, recovered_share=1.0)
    assert float(up) == pytest.approx(45.0)
    assert float(down) == pytest.approx(-45.0)


def test_impossible_arguments_are_refused() -> None:
    with pytest.raises(ValueError, match="recovered_share"):
        electrical_power(1.0, 1.0, 1.0, recovered_share=1.1)
    with pytest.raises(ValueError, match="recovered_share"):
        speed_change_energy(1.0, 0.0, 1.0, 1.0, 1.0, 0.0, 1.0, recovered_share=NAN)
    with pytest.raises(ValueError, match="start"):
        peak_power(1.0, 1.0, 1.0, 1.0, 0.0, 1.0, start=2.0)
    with pytest.raises(ValueError, match="speed"):
        electrical_power(1.0, NAN, 1.0)
    for value in (0.0, -1.0, NAN):
        with pytest.raises(ValueError):
            speed_change_energy(value, 0.0, 1.0, 1.0, 1.0, 0.0, 1.0)
        with pytest.raises(ValueError):
            peak_power(1.0, 1.0, 1.0, value, 0.0, 1.0)


def test_fleet_places_its_carriers_in_the_strongest_phases() -> None:
    """By hand: of 5 carriers 2 in the phase of 900 W, 1 in that of 500 W, 2 left for 100 W."""
    power = fleet_peak_power([500.0, 900.0], [0.5, 1.5], 1, [1, 2, 3, 5], 1.0, 100.0)
    assert power.tolist() == [900.0, 1800.0, 2300.0, 2500.0]


def test_fleet_in_batches() -> None:
    """Three start at once every 3 s; a phase of 3.1 s holds two batches."""
    assert float(fleet_peak_power([800.0], [2.0], [3], 8, 1.0, 50.0)) == 3 * 800.0 + 5 * 50.0
    assert float(fleet_peak_power([800.0], [3.1], [3], 8, 1.0, 50.0)) == 6 * 800.0 + 2 * 50.0


def test_weak_or_absent_phases_leave_carriers_at_rest_power() -> None:
    assert float(fleet_peak_power([20.0, 0.0], [1.0, 0.0], 1, 4, 1.0, 50.0)) == 200.0


def test_fleet_broadcasts_rows_against_phases() -> None:
    rng = np.random.default_rng(3)
    rows, phases = 200, 7
    powers, durations = rng.uniform(0.0, 1e3, (rows, phases)), rng.uniform(0.0, 4.0, (rows, phases))
    batches, carriers = rng.integers(1, 4, phases), rng.integers(1, 40, rows)
    takt, rest = rng.uniform(0.5, 3.0, rows), rng.uniform(0.0, 500.0, rows)
    together = fleet_peak_power(powers, durations, batches, carriers, takt, rest)
    assert together.shape == (rows,)
    for row in range(0, rows, 20):
        phase = sorted(
            zip(
                np.maximum(powers[row], rest[row]),
                batches * np.ceil(durations[row] / (batches * takt[row])),
                strict=True,
            ),
            reverse=True,
        )
        left, total = float(carriers[row]), 0.0
        for power, hold in phase:
            placed = min(left, float(hold))
            total, left = total + placed * power, left - placed
        assert together[row] == pytest.approx(total + left * rest[row])


def test_fleet_refuses_impossible_arguments() -> None:
    with pytest.raises(ValueError, match="carriers"):
        fleet_peak_power([1.0], [1.0], 1, 2.5, 1.0, 0.0)
    with pytest.raises(ValueError, match="batches"):
        fleet_peak_power([1.0], [1.0], 0, 2, 1.0, 0.0)
    with pytest.raises(ValueError, match="takt"):
        fleet_peak_power([1.0], [1.0], 1, 2, 0.0, 0.0)
    with pytest.raises(ValueError, match="powers"):
        fleet_peak_power([NAN], [1.0], 1, 2, 1.0, 0.0)


def test_hops_in_queues() -> None:
    # 2 s spare out of 2·11 s, stations free for 0.5 s of 2 s: the spare time is spent in a queue.
    assert float(queue_hops(11, 20.0, 2.0, 1.5, 0.5)) == pytest.approx(1.0 + 1.0 / 0.75)
    # 0.4 s spare fit into the 0.5 s.
    assert float(queue_hops(10, 19.6, 2.0, 1.5, 0.5)) == 0.0
    assert float(queue_hops(10, 19.6, 2.0, 1.5, 0.5, queues=3)) == pytest.approx(3.0 + 0.2 / 0.75)
    # Too few carriers for the takt: nobody waits.
    assert float(queue_hops(9, 20.0, 2.0, 1.5, 0.5)) == 0.0
    assert float(queue_hops(10, 20.0, 2.0, 2.5, 2.0)) == INF
