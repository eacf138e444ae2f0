"""Braking power over all forces, braked energy of random laps, and stops step by step."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from recommender.physics.braking import (
    braking_power,
    link_energy,
    mean_braking_power,
    stopping_distance,
)

NAN = float("nan")


def test_braking_power_is_the_most_over_all_forces() -> None:
    rng = np.random.default_rng(3)
    for _ in range(300):
        speed, peak = rng.uniform(0.01, 6.0), rng.uniform(5.0, 2000.0)
        constant = rng.uniform(2.0, 60.0)
        found = minimize_scalar(
            lambda force, v=speed, k=constant: (force / k) ** 2 - force * v,
            bounds=(0.0, peak),
            method="bounded",
            options={"xatol": 1e-9 * peak},
        )
        assert float(braking_power(speed, peak, constant)) == pytest.approx(-found.fun, rel=1e-6)


def test_link_takes_what_a_resistorless_stop_brings() -> None:
    """Charging a capacitor with a power until the voltage is reached takes E/P."""
    rng = np.random.default_rng(4)
    for _ in range(40):
        capacitance, low = rng.uniform(1e-3, 30e-3), rng.uniform(40.0, 600.0)
        high, power = low * rng.uniform(1.01, 1.4), rng.uniform(50.0, 5000.0)
        energy = float(link_energy(capacitance, low, high))
        charged = solve_ivp(
            lambda t, u, p=power, c=capacitance: p / (c * u),
            (0.0, energy / power),
            [low],
            rtol=1e-9,
            atol=1e-9,
        )
        assert charged.y[0, -1] == pytest.approx(high, rel=1e-6)


def test_mean_braking_power_bounds_every_lap() -> None:
    """Random laps of stops, slow bends and hops: what is braked away never exceeds the bound, and
    a lap of full ramps without cruising reaches it."""
    rng = np.random.default_rng(5)
    closest = 0.0
    for _ in range(2000):
        mass, rate = rng.uniform(1.0, 80.0), rng.uniform(0.2, 30.0)
        speeds = rng.uniform(0.0, 3.0, size=rng.integers(2, 9))
        speeds *= rng.random(len(speeds)) < 0.7
        length = braked = 0.0
        for start, end in zip(speeds, np.roll(speeds, -1), strict=True):
            peak = max(start, end) + rng.uniform(0.0, 2.0)
            length += (2.0 * peak**2 - start**2 - end**2) / (2.0 * rate)
            length += rng.choice([0.0, rng.uniform(0.0, 1.0)])
            braked += 0.5 * mass * (peak**2 - end**2)
        takt = rng.uniform(0.5, 10.0)
        bound = float(mean_braking_power(mass * rate, length, takt))
        assert braked / takt <= bound * (1.0 + 1e-9)
        closest = max(closest, braked / takt / bound)
    assert closest > 0.999


def test_a_stop_goes_as_far_as_its_steps() -> None:
    """In steps of time: the delay at full speed, then the deceleration; and a limited jerk costs
    half the time in which it builds up, but for a·(a/j)²/24."""
    rng = np.random.default_rng(6)
    for _ in range(60):
        speed, rate, delay = rng.uniform(0.2, 5.0), rng.uniform(0.5, 40.0), rng.uniform(0.0, 0.4)
        step, way, v, t = 1e-5, 0.0, speed, 0.0
        while v > 0.0:
            slower = v - (rate * step if t >= delay else 0.0)
            way += 0.5 * (v + max(slower, 0.0)) * step
            v, t = slower, t + step
        assert float(stopping_distance(speed, rate, delay)) == pytest.approx(way, abs=2e-4)
        ramp = min(0.05, speed / rate)
        way, v, t = 0.0, speed, 0.0
        while v > 0.0:
            slower = v - rate * min((t + 0.5 * step) / ramp, 1.0) * step
            way += 0.5 * (v + max(slower, 0.0)) * step
            v, t = slower, t + step
        ramped = float(stopping_distance(speed, rate, 0.5 * ramp))
        assert ramped - rate * ramp**2 / 24.0 == pytest.approx(way, abs=2e-4)


@pytest.mark.parametrize("bad", [-1.0, NAN, np.inf])
def test_what_cannot_be_is_refused(bad: float) -> None:
    for call in (
        lambda: link_energy(bad, 1.0, 2.0),
        lambda: link_energy(1.0, 1.0, bad),
        lambda: braking_power(bad, 1.0, 1.0),
        lambda: mean_braking_power(1.0, bad, 1.0),
        lambda: mean_braking_power(1.0, 1.0, bad),
        lambda: stopping_distance(bad, 1.0, 0.0),
        lambda: stopping_distance(1.0, bad, 0.0),
        lambda: stopping_distance(1.0, 1.0, bad),
    ):
        with pytest.raises(ValueError):
            call()
    with pytest.raises(ValueError, match="ceiling"):
        link_energy(1.0, 400.0, 300.0)
    with pytest.raises(ValueError, match="deceleration"):
        stopping_distance(1.0, 0.0, 0.0)
