"""Settling and deflection against a rocking carrier that is followed in time.

The carrier is a rigid body on a rotational spring; its moves are pulses of acceleration, solved in
closed form between their corners, and by scipy's integrator to check that.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from recommender.physics.motion import leg_peak_speed
from recommender.physics.settling import (
    overhang_deflection,
    rocking_frequency,
    settling_time,
    swing_after_move,
)
from recommender.physics.swing import acceleration_pulse


def after(corners, levels, omega, zeta):
    """Envelope of x'' + 2·zeta·omega·x' + omega²·x = omega²·a(t) at the last corner, from rest."""
    damped = omega * np.sqrt(1 - zeta**2)
    root, gain, state = -zeta * omega + 1j * damped, omega**2 / damped, 0j
    for k in range(len(corners) - 1):
        span = corners[k + 1] - corners[k]
        if span <= 0:
            continue
        slope = (levels[k + 1] - levels[k]) / span
        steady = -gain / root * levels[k] - gain * slope / root**2
        state = steady - gain / root * slope * span + (state - steady) * np.exp(root * span)
    return abs(state)


def move(distance, speed, acceleration, jerk):
    """Corners and levels of a move from rest to rest."""
    peak = float(leg_peak_speed(distance, 0.0, 0.0, speed, acceleration, jerk))
    top, ramp, pulse = (float(v) for v in acceleration_pulse(peak, acceleration, jerk))
    cruise = max(distance - peak * (pulse + ramp), 0.0) / peak
    spans = [ramp, pulse - ramp, ramp, cruise, ramp, pulse - ramp, ramp]
    levels = [0.0, top, top, 0.0, 0.0, -top, -top, 0.0]
    return np.concatenate([[0.0], np.cumsum(spans)]), np.array(levels)


def test_after_the_settling_every_move_is_within_its_tolerance():
    rng = np.random.default_rng(9)
    used = []
    for _ in range(4000):
        omega, zeta = rng.uniform(15, 300), rng.uniform(0.005, 0.08)
        acceleration, ramp = 10.0 ** rng.uniform(-0.5, 1.5), rng.choice([0.02, 0.05, 0.2])
        shortest = rng.uniform(0.05, 0.6)
        tolerance = 10.0 ** rng.uniform(-5, -3)
        # The move that is made is as hard as may be, or gentler and longer.
        gentler, slower = (
            rng.choice([1.0, rng.uniform(0.1, 1)]),
            rng.choice([1.0, rng.uniform(1, 4)]),
        )
        distance = shortest * rng.choice([1.0, rng.uniform(1, 10)])
        made = move(
            distance,
            rng.uniform(0.1, 3),
            gentler * acceleration,
            gentler * acceleration / (slower * ramp),
        )
        left = after(*made, omega, zeta) / omega**2
        swing = swing_after_move(
            1 / omega**2, omega, zeta, acceleration, acceleration / ramp, shortest
        )
        time = settling_time(swing, tolerance, omega, zeta)
        assert left <= swing * (1 + 1e-9)
        assert left * np.exp(-zeta * omega * time) <= tolerance * (1 + 1e-9)
        used.append(left / swing)
    assert max(used) > 0.8


def test_the_closed_form_is_the_rocking_body():
    """Masses at two levers on a rotational spring, integrated; the swing is that of the outer."""
    masses, levers, stiffness, zeta = np.array([3.0, 8.0]), np.array([0.05, 0.25]), 6000.0, 0.03
    inertia = float((masses * levers**2).sum())
    omega = float(rocking_frequency(stiffness, inertia))
    corners, levels = move(0.4, 1.0, 4.0, 80.0)
    moment = float((masses * levers).sum())

    def rocking(time, state):
        push = np.interp(time, corners, levels)
        torque = -moment * push - stiffness * state[0] - 2 * zeta * omega * inertia * state[1]
        return [state[1], torque / inertia]

    ended = corners[-1]
    solved = solve_ivp(rocking, (0, ended), [0, 0], max_step=5e-4, rtol=1e-9, atol=1e-13)
    angle, rate = solved.y[:, -1]
    damped = omega * np.sqrt(1 - zeta**2)
    envelope = levers[-1] * np.hypot(angle, (rate + zeta * omega * angle) / damped)
    give = moment * levers[-1] / stiffness
    assert after(corners, levels, omega, zeta) * give == pytest.approx(envelope, rel=1e-4)
    # Held still by a force at the outer mass, by the energy of the spring (Castigliano).
    force = 120.0
    energy = (force * levers[-1]) ** 2 / (2 * stiffness)
    assert overhang_deflection(force, levers[-1], stiffness) == pytest.approx(2 * energy / force)


def test_refusals():
    with pytest.raises(ValueError, match="stiffness"):
        rocking_frequency(0.0, 1.0)
    with pytest.raises(ValueError, match="tolerance"):
        settling_time(1e-3, 0.0, 100.0, 0.03)
    with pytest.raises(ValueError, match="damping"):
        settling_time(1e-3, 1e-4, 100.0, 0.0)
    assert settling_time(1e-5, 1e-4, 100.0, 0.03) == 0.0
