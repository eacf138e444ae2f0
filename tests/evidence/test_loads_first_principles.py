"""Wrenches and drive forces from the trajectories of mass points, by finite differences.

A body of mass points is carried round a circle with changing speed; only its positions over time
are used, twice differenced, and Newton's law for every point in the fixed frame.
"""

import numpy as np
import pytest

from recommender.physics.arc import chord_inset
from recommender.physics.loads import (
    drive_force_wrench,
    force_wrench,
    inertial_wrench,
    upright_gravity,
)
from recommender.physics.pair import pair_truck_angle
from recommender.physics.rollers import guide_roller_loads
from recommender.physics.turning import arc_drive_force, upright_bend_peak_drive_force

STEP = 2e-4
GRAVITY = 9.80665


class Body:
    """Mass points, alike above and below their centre of gravity, so that no product of inertia."""

    def __init__(self, rng):
        half = rng.uniform(-0.2, 0.3, size=(5, 3))
        centre_z = rng.uniform(-0.1, 0.3)
        mirrored = half * [1, 1, -1]
        self.points = np.vstack([half, mirrored]) + np.array([0, 0, centre_z])
        self.masses = np.tile(rng.uniform(0.5, 3, 5), 2)
        self.mass = self.masses.sum()
        self.centre = self.masses @ self.points / self.mass
        arms = self.points - self.centre
        self.yaw_inertia = float(self.masses @ (arms[:, 0] ** 2 + arms[:, 1] ** 2))


def turned(vectors, angle):
    """From the frame that has turned by `angle` towards -y into the fixed frame."""
    cosine, sine = np.cos(angle), np.sin(angle)
    x, y = vectors[..., 0], vectors[..., 1]
    return np.stack([x * cosine + y * sine, y * cosine - x * sine, vectors[..., 2]], axis=-1)


def positions(body, travelled, radius):
    """Points in the fixed frame, whose origin is the centre of the bend."""
    return turned(body.points + np.array([0, radius, 0]), travelled / radius)


def wrench_by_newton(body, radius, start, speed, along, gravity):
    """At the datum and in the carrier frame, for gravity given in the fixed frame."""
    times = np.array([-STEP, 0.0, STEP])
    before, now, after = (
        positions(body, start + speed * t + along * t**2 / 2, radius) for t in times
    )
    acceleration = (before - 2 * now + after) / STEP**2
    forces = -body.masses[:, None] * (acceleration - gravity)
    arms = now - turned(np.array([0, radius, 0.0]), start / radius)
    angle = -start / radius  # back into the carrier frame
    force = turned(forces.sum(axis=0), angle)
    moment = turned(np.cross(arms, forces).sum(axis=0), angle)
    return np.concatenate([force, moment])


@pytest.mark.parametrize("plane", ["flat", "upright"], ids=["lying", "standing"])
def test_inertial_wrench(plane):
    rng = np.random.default_rng(7)
    for _ in range(200):
        body = Body(rng)
        radius, start = rng.uniform(0.3, 1.0), rng.uniform(0, 3)
        speed, along = rng.uniform(0.2, 2.5), rng.uniform(-8, 8)
        fixed = np.array([0, 0, -GRAVITY] if plane == "flat" else [0, -GRAVITY, 0])
        seen = fixed if plane == "flat" else upright_gravity(start / radius)
        found = inertial_wrench(
            body.mass,
            body.centre,
            body.yaw_inertia,
            along=along,
            yaw_rate=speed / radius,
            yaw_acceleration=along / radius,
            radius=radius,
            gravity=seen,
        )
        true = wrench_by_newton(body, radius, start, speed, along, fixed)
        np.testing.assert_allclose(found, true, atol=1e-5 * np.abs(true).max())


def test_straight_is_the_limit_of_a_wide_bend():
    """A bend of a thousand kilometres at the speed of the straight."""
    body = Body(np.random.default_rng(8))
    arguments = (body.mass, body.centre, body.yaw_inertia)
    straight = inertial_wrench(*arguments, along=3.0)
    wide = inertial_wrench(*arguments, along=3.0, yaw_rate=2e-6, radius=1e6)
    np.testing.assert_allclose(wide, straight, atol=1e-3)
    by_newton = wrench_by_newton(body, 1e3, 0.0, 0.0, 3.0, np.array([0, 0, -GRAVITY]))
    np.testing.assert_allclose(straight, by_newton, atol=1e-3 * np.abs(by_newton).max())


def energy(body, travelled, speed, radius, upright):
    """Kinetic and potential energy; speeds by differences of the positions."""
    ahead = positions(body, travelled + STEP * speed, radius)
    behind = positions(body, travelled - STEP * speed, radius)
    velocity = (ahead - behind) / (2 * STEP)
    kinetic = body.masses @ (velocity**2).sum(axis=1) / 2
    height = positions(body, travelled, radius)[:, 1] if upright else np.zeros(10)
    return kinetic + GRAVITY * body.masses @ height


@pytest.mark.parametrize("upright", [False, True])
def test_arc_drive_force_from_energy(upright):
    """Work of the drive over a short way is the energy gained."""
    rng = np.random.default_rng(9)
    for _ in range(100):
        body = Body(rng)
        radius, start = rng.uniform(0.3, 1.0), rng.uniform(0, 3)
        speed, along = rng.uniform(0.5, 2.5), rng.uniform(-5, 5)
        way = 1e-3
        gained = energy(
            body, start + way, np.sqrt(speed**2 + 2 * along * way), radius, upright
        ) - energy(body, start - way, np.sqrt(speed**2 - 2 * along * way), radius, upright)
        true = gained / (2 * way)
        wrench = inertial_wrench(
            body.mass,
            body.centre,
            body.yaw_inertia,
            along=along,
            yaw_rate=speed / radius,
            yaw_acceleration=along / radius,
            radius=radius,
            gravity=upright_gravity(start / radius) if upright else (0, 0, -GRAVITY),
        )
        assert arc_drive_force(wrench, radius) == pytest.approx(true, rel=1e-4, abs=1e-2)


def test_arc_drive_force_on_a_chord_from_energy():
    """The datum runs inside the guide, slower than the guided points, as on a pair."""
    rng = np.random.default_rng(10)
    for _ in range(50):
        body = Body(rng)
        radius = rng.uniform(0.4, 1.0)
        base = radius * rng.uniform(0.3, 1.0)
        speed, along = rng.uniform(0.5, 2.5), rng.uniform(-5, 5)
        beta, inset = pair_truck_angle(base, radius), chord_inset(radius, base)
        datum = radius - inset
        wrench = inertial_wrench(
            body.mass,
            body.centre,
            body.yaw_inertia,
            along=along * datum / radius,
            yaw_rate=speed / radius,
            yaw_acceleration=along / radius,
            radius=datum,
        )
        # Way, speed and energy at the guide: the datum moves datum/radius as fast.
        way, pace = 1e-3, datum / radius
        after, before = (np.sqrt(speed**2 + sign * 2 * along * way) for sign in (1, -1))
        gained = energy(body, way * pace, after * pace, datum, False) - energy(
            body, -way * pace, before * pace, datum, False
        )
        true = gained / (2 * way)
        found = arc_drive_force(wrench, radius, truck_angle=beta)
        assert found == pytest.approx(true, rel=1e-4, abs=1e-2)


def test_drive_line_beside_the_guide_does_the_same_work():
    """A line of the drive outward of the datum moves faster, so it needs less force."""
    wrench = np.array([-20.0, 50, -300, 5, 3, 4])
    force = arc_drive_force(wrench, 0.5, line_y=0.1)
    assert force * (1 + 0.1 / 0.5) == pytest.approx(float(arc_drive_force(wrench, 0.5)))


def test_upright_peak_is_the_greatest_of_both_bends():
    angle = np.linspace(0, 2 * np.pi, 100_001)
    for x, y in ((0.0, 0.1), (0.25, 0.1), (-0.1, -0.2)):
        standing = inertial_wrench(10, [x, y, 0.0], 0.0, gravity=upright_gravity(angle))
        peak = np.abs(arc_drive_force(standing, 0.5)).max()
        found = upright_bend_peak_drive_force(10, x, y, 0.5)
        assert found == pytest.approx(peak, rel=1e-8)


def test_wrench_of_forces():
    rng = np.random.default_rng(11)
    force, point = rng.normal(size=(50, 3)), rng.normal(size=(50, 3))
    found = force_wrench(force, point)
    np.testing.assert_allclose(found, np.hstack([force, np.cross(point, force)]), atol=1e-14)
    drive = force_wrench([80.0, 0, 0], [0, 0.03, -0.04])
    np.testing.assert_array_equal(drive_force_wrench(80.0, 0.03, -0.04), drive)


def test_axle_loads_balance_load_and_drive():
    """Accelerating on a straight: moments of all forces about the rear axle's line are zero."""
    mass, along, height, motor, wheelbase = 12.0, 4.0, 0.15, -0.05, 0.2
    wrench = inertial_wrench(mass, [0.03, 0, height], 0.0, along=along) + drive_force_wrench(
        mass * along, 0.0, motor
    )
    assert wrench[0] == pytest.approx(0, abs=1e-12)
    _, axial = guide_roller_loads(wrench, wheelbase, 0.1, np.pi / 4, 1e4)
    front, rear = axial[:2].sum(), axial[2:].sum()
    weight = mass * GRAVITY
    # Upright forces on the carrier, levers from the rear axle; the drive pushes forward below the
    # guide and the inertia of the load backward above it, so both lighten the front.
    on_front = weight * (wheelbase / 2 + 0.03) - mass * along * (height - motor)
    assert -front * wheelbase == pytest.approx(on_front)
    assert front + rear == pytest.approx(-weight)


def test_turning_outward_load_presses_the_inner_rollers():
    """Signs in a bend, by hand: rollers outside the rails, load outward and above the guide."""
    wrench = inertial_wrench(10, [0, 0, 0.1], 0, yaw_rate=2, radius=0.5, gravity=[0, 0, 0])
    radial, axial = guide_roller_loads(wrench, 0.2, 0.1, np.pi / 4, 100)
    assert radial[0] == radial[2] > radial[1] == radial[3]
    # 20 N at a lever of 0.1 m roll it outward: down on the outer rail, up on the inner one.
    assert axial.tolist() == pytest.approx([10.0, -10.0, 10.0, -10.0])
