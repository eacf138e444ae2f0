"""Bend entry against the motion of a body guided at two points along the true path.

Straight, then a clothoid (Fresnel integrals of scipy), then an arc. The two guided points keep
their distance, their mean guide speed is 1 m/s; everything else follows from the geometry. Yaw
acceleration and accelerations by differences of the positions, forces by Newton's law.
"""

import numpy as np
import pytest
from scipy.special import fresnel

from recommender.physics.arc import chord_inset
from recommender.physics.loads import inertial_wrench
from recommender.physics.pair import pair_truck_angle, pair_truck_wrenches
from recommender.physics.rollers import guide_roller_loads
from recommender.physics.turning import (
    arc_drive_force,
    entry_drive_force,
    entry_radius,
    entry_yaw_acceleration,
)


def path(along, radius, transition):
    """Position and heading at a guide length; the curvature rises from length 0 on."""
    on_spiral = np.clip(along, 0.0, transition)
    in_arc = np.maximum(along - transition, 0.0)
    x, y, heading = np.minimum(along, 0.0), np.zeros_like(along), np.zeros_like(along)
    if transition > 0:
        scale = np.sqrt(np.pi * radius * transition)
        sine, cosine = fresnel(on_spiral / scale)
        x, y = x + scale * cosine, y - scale * sine
        heading = -(on_spiral**2) / (2 * radius * transition)
    turned = heading - in_arc / radius
    x = x + radius * (np.sin(heading) - np.sin(turned))
    y = y + radius * (np.cos(turned) - np.cos(heading))
    return x, y, turned


class Guided:
    """Chord of fixed length between two points of the path, at even steps of the mean length."""

    def __init__(self, radius, transition, base, count=1501):
        mean = np.linspace(-0.6 * base, transition + 0.7 * base, count)
        apart = np.full(count, base)
        for _ in range(60):
            front, rear = (
                path(mean + apart / 2, radius, transition),
                path(mean - apart / 2, radius, transition),
            )
            chord = np.hypot(front[0] - rear[0], front[1] - rear[1])
            angle = np.arctan2(front[1] - rear[1], front[0] - rear[0])
            slope = (np.cos(front[2] - angle) + np.cos(rear[2] - angle)) / 2
            step = (chord - base) / slope
            apart -= step
            if np.abs(step).max() < 1e-15:
                break
        self.base, self.step = base, mean[1] - mean[0]
        self.heading = np.unwrap(angle)
        self.middle = ((front[0] + rear[0]) / 2, (front[1] + rear[1]) / 2)
        # Angles of the guide against the chord at the two points.
        self.front, self.rear = (
            np.unwrap(point[2] - angle, period=2 * np.pi) for point in (front, rear)
        )

    def yaw_acceleration(self):
        return -np.diff(self.heading, 2) / self.step**2

    def centre(self, x, y):
        """Path of a point of the body."""
        cosine, sine = np.cos(self.heading), np.sin(self.heading)
        return self.middle[0] + x * cosine - y * sine, self.middle[1] + x * sine + y * cosine

    def drive_force(self, mass, x, y, inertia):
        """From the energy balance: dE/ds at unit mean speed."""
        rates = [np.diff(value) / self.step for value in (*self.centre(x, y), self.heading)]
        energy = mass * (rates[0] ** 2 + rates[1] ** 2) / 2 + inertia * rates[2] ** 2 / 2
        return np.diff(energy) / self.step

    def reactions(self, mass, x, y, inertia, pair):
        """Normal forces outward at the front and rear point, and the drive force, by Newton.

        The drive acts along the chord at its middle, or half at each point of a pair.
        """
        a_x, a_y = (np.diff(value, 2) / self.step**2 for value in self.centre(x, y))
        angle = self.heading[1:-1]
        f_x = -mass * (a_x * np.cos(angle) + a_y * np.sin(angle))
        f_y = -mass * (a_y * np.cos(angle) - a_x * np.sin(angle))
        m_z = x * f_y - y * f_x + inertia * self.yaw_acceleration()
        front, rear, half = self.front[1:-1], self.rear[1:-1], self.base / 2
        system = np.zeros((f_x.size, 3, 3))
        for column, (angle, lever) in enumerate(((front, half), (rear, -half))):
            system[:, 0, column] = np.sin(angle)
            system[:, 1, column] = -np.cos(angle)
            system[:, 2, column] = -lever * np.cos(angle)
        system[:, 0, 2] = 1.0
        if pair:
            system[:, 0, 2] = (np.cos(front) + np.cos(rear)) / 2
            system[:, 1, 2] = (np.sin(front) + np.sin(rear)) / 2
            system[:, 2, 2] = half * (np.sin(front) - np.sin(rear)) / 2
        loads = -np.stack([f_x, f_y, m_z], axis=1)
        return np.linalg.solve(system, loads[..., None])[..., 0].T


def cases(count, seed, low, high):
    """Radius, transition, base, mass, x, y, own inertia; bases from low to high times R."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        radius = rng.choice([0.3, 0.4, 0.5, 0.75, 1.0])
        base = radius * rng.uniform(low, high)
        transition = base * rng.choice([0.0, 1.0, rng.uniform(0, 1), rng.uniform(1, 5)])
        x = rng.choice([0.0, rng.uniform(-0.1, 0.1)])
        inertia = rng.choice([0.0, rng.uniform(0, 0.05)])
        yield radius, transition, base, 1.0, x, rng.uniform(-0.1, 0.4), inertia


@pytest.mark.parametrize("transition", [0.0, 0.1, 0.3, 0.6, 1.0, 2.0, 4.0])
def test_yaw_acceleration(transition):
    """At R = 1; the band that the docstring states."""
    for base in (0.05, 0.1, 0.2, 0.3, 0.5, 0.8, 1.0, 1.2, 1.6):
        peak = Guided(1.0, transition, base).yaw_acceleration().max()
        formula = entry_yaw_acceleration(1.0, 1.0, transition, base)
        assert peak < 1.001 * formula
        assert peak > (0.975 if base <= 1 else 0.95) * formula
        # What the second factor is for: without it 1.2 % are missing at 0.8 R, 5 % at 1.6 R.
        plain = 1 / max(transition, base)
        assert peak < plain * (1.012 if base <= 0.8 else 1.05)


@pytest.mark.parametrize("pair", [False, True])
def test_simulation_closes_its_energy_balance(pair):
    """Drive force by Newton and by energy agree, so the simulation can be trusted."""
    for radius, transition, base, mass, x, y, inertia in cases(20, 3, 0.1, 0.9):
        body = Guided(radius, max(transition, 0.2 * base), base, 3001)
        by_energy = body.drive_force(mass, x, y, inertia)
        by_newton = body.reactions(mass, x, y, inertia, pair)[2]
        if not pair:  # the single motor moves with the middle of the chord
            rates = [(value[2:] - value[:-2]) / (2 * body.step) for value in body.middle]
            angle = body.heading[1:-1]
            by_newton = by_newton * (rates[0] * np.cos(angle) + rates[1] * np.sin(angle))
        assert np.abs(by_newton - by_energy).max() < 1e-5 * np.abs(by_energy).max()


def test_entry_drive_force_is_a_bound():
    ratios, reaches, bases = [], [], []
    for radius, transition, base, mass, x, y, inertia in cases(1500, 11, 0.05, 1.0):
        true = np.abs(Guided(radius, transition, base).drive_force(mass, x, y, inertia)).max()
        bound = entry_drive_force(
            mass,
            y,
            inertia + mass * (x**2 + y**2),
            entry_yaw_acceleration(1.0, radius, transition, base),
            transition=transition,
            base=base,
            radius=radius,
            offset=x,
        )
        ratios.append(true / bound)
        reaches.append(y if x == 0 else -1.0)
        bases.append(base / radius)
    ratio, reach, base = np.array(ratios), np.array(reaches), np.array(bases)
    assert ratio.max() < 1.0005
    # Not only safe: one truck with its load centred along travel and held outward.
    plain = ratio[(reach > 0.05) & (base < 0.3)]
    assert plain.size > 80
    assert plain.min() > 0.85
    assert np.median(plain) > 0.95


def test_spin_and_chord_forces_are_not_to_be_left_out():
    """Peaks that m·alpha·y, or the greater of spin and chord alone, would miss."""
    for y, inertia, transition, base, expected in (
        (0.02, 0.02, 0.0, 0.1, 2.7),  # the load's own inertia, hardly any reach
        (-0.02, 0.0, 0.0, 0.2, 1.8),  # inward reach and chord add up
    ):
        true = np.abs(Guided(0.5, transition, base).drive_force(1.0, 0.0, y, inertia)).max()
        alpha = entry_yaw_acceleration(1.0, 0.5, transition, base)
        assert true > expected * alpha * abs(y)


def axle_loads(wrench, base, radius, pair):
    """Greatest lateral load of any axle or truck under any of the wrenches."""
    if pair:
        beta = pair_truck_angle(base, radius)
        trucks = pair_truck_wrenches(wrench, base, truck_angle=beta)
        return max(np.abs(truck[..., 1]).max() for truck in trucks)
    radial, _ = guide_roller_loads(wrench, base, 0.1, np.pi / 4, 1e4)
    return np.abs(radial[:, ::2] - radial[:, 1::2]).max()


@pytest.mark.parametrize("pair", [False, True])
def test_lateral_axle_loads_at_entry_are_bounded(pair):
    """By three cases: full yaw acceleration at yaw rate 0 and at the full one, and steady."""
    ratios = []
    low, high = (0.3, 1.0) if pair else (0.05, 0.45)
    for radius, transition, base, mass, x, y, inertia in cases(800, 17, low, high):
        body = Guided(radius, transition, base)
        true = np.abs(body.reactions(mass, x, y, inertia, pair)[:2]).max()
        alpha = entry_yaw_acceleration(1.0, radius, transition, base)
        wrench = inertial_wrench(
            mass,
            [x, y, 0.0],
            inertia,
            yaw_rate=np.array([0.0, 1.0, 1.0]) / radius,
            yaw_acceleration=alpha * [1, 1, 0],
            radius=entry_radius(radius - chord_inset(radius, base), y),
            gravity=[0.0, 0.0, 0.0],
        )
        # One truck's rollers are computed without the angle of the guide at its axles.
        askew = 1.0 if pair else 1 / np.cos(pair_truck_angle(base, radius))
        ratios.append(true / (axle_loads(wrench, base, radius, pair) * askew))
    assert max(ratios) < 1.002
    assert np.median(ratios) > 0.8


def test_load_behind_the_middle_needs_the_start_of_the_entry():
    """The yaw acceleration acts before the centrifugal force that would relieve it."""
    radius, base, mass, x, y, inertia = 0.75, 0.09, 1.0, -0.081, 0.044, 0.011
    true = np.abs(Guided(radius, 0.0, base).reactions(mass, x, y, inertia, False)[:2]).max()
    alpha = entry_yaw_acceleration(1.0, radius, 0.0, base)
    start, full, steady = (
        axle_loads(
            inertial_wrench(
                mass,
                [[x, y, 0.0]],
                inertia,
                yaw_rate=yaw_rate,
                yaw_acceleration=yaw_acceleration,
                radius=radius,
                gravity=[0.0, 0.0, 0.0],
            ),
            base,
            radius,
            False,
        )
        for yaw_rate, yaw_acceleration in ((0.0, alpha), (1 / radius, alpha), (1 / radius, 0.0))
    )
    assert max(full, steady) < 0.8 * true
    assert start > true * np.cos(pair_truck_angle(base, radius))


def test_steady_arc():
    """After the entry: normal forces of both trucks, and the chord's distance from the guide."""
    for radius, _, base, mass, _, y, inertia in cases(20, 23, 0.3, 1.0):
        body = Guided(radius, 0.0, base)
        front, rear, drive = body.reactions(mass, 0.0, y, inertia, True)[:, -20:]
        wrench = inertial_wrench(
            mass,
            [0.0, y, 0.0],
            inertia,
            yaw_rate=1.0 / radius,
            radius=radius - chord_inset(radius, base),
            gravity=[0.0, 0.0, 0.0],
        )
        trucks = pair_truck_wrenches(wrench, base, truck_angle=pair_truck_angle(base, radius))
        for found, truck in zip((front, rear), trucks, strict=True):
            np.testing.assert_allclose(found, truck[1], rtol=1e-5)
        np.testing.assert_allclose(drive, 0.0, atol=1e-4)
        # Distance of the chord's middle from the centre of the bend, at (0, -radius).
        distance = np.hypot(body.middle[0][-1], body.middle[1][-1] + radius)
        assert chord_inset(radius, base) == pytest.approx(radius - distance, abs=1e-9)


def test_trucks_and_drive_of_a_pair_under_any_load():
    """Statics of the two pivots in the arc, solved as equations."""
    rng = np.random.default_rng(2)
    for _ in range(50):
        distance, radius = rng.uniform(0.2, 0.5), rng.uniform(0.5, 1.0)
        wrench = rng.normal(size=6) * 100
        beta = pair_truck_angle(distance, radius)
        cosine, sine, half = np.cos(beta), np.sin(beta), distance / 2
        # Columns: outward force on the front and rear guide, drive force shared by both trucks.
        system = np.array(
            [
                [-sine, sine, cosine],
                [-cosine, -cosine, 0.0],
                [-half * cosine, half * cosine, -half * sine],
            ]
        )
        front, rear, drive = np.linalg.solve(system, -wrench[[0, 1, 5]])
        trucks = pair_truck_wrenches(wrench, distance, truck_angle=beta)
        assert [truck[1] for truck in trucks] == pytest.approx([front, rear])
        assert arc_drive_force(wrench, radius, truck_angle=beta) == pytest.approx(drive)
        assert [truck[0] for truck in trucks] == pytest.approx([-drive / 2, -drive / 2])
