"""Shapes, limits and errors of the load functions."""

import numpy as np
import pytest

from recommender.physics import pair, turning
from recommender.physics.loads import (
    drive_force_wrench,
    force_wrench,
    inertial_wrench,
    upright_gravity,
)

CENTRE = [0.0, 0.2, 0.1]


def test_parts_cases_and_options_broadcast():
    mass = np.ones((4, 1, 3))
    yaw_rate = np.array([0.0, 1.0, 2.0, 0.0, 4.0])[:, None]
    radius = np.where(yaw_rate > 0, 0.5, np.inf)
    gravity = upright_gravity(np.linspace(0, np.pi, 5))[:, None, :]
    wrench = inertial_wrench(mass, CENTRE, 0.1, yaw_rate=yaw_rate, radius=radius, gravity=gravity)
    assert wrench.shape == (4, 5, 3, 6)
    one = inertial_wrench(1, CENTRE, 0.1, yaw_rate=2, radius=0.5, gravity=gravity[2, 0])
    np.testing.assert_allclose(wrench[1, 2, 1], one)


def test_yaw_inertia_alone_may_bring_the_shape():
    wrench = inertial_wrench(1, CENTRE, [0.1, 0.2], yaw_acceleration=3.0)
    assert wrench.shape == (2, 6)
    assert wrench[1, 5] - wrench[0, 5] == pytest.approx(0.3)


def test_straight_is_finite():
    wrench = inertial_wrench(2, CENTRE, 0.1, along=[0.0, 3.0])
    assert np.isfinite(wrench).all()
    np.testing.assert_allclose(wrench[:, 0], [0, -6])
    assert turning.arc_drive_force(wrench[1], np.inf) == pytest.approx(6)
    assert pair.pair_truck_angle(0.5, np.inf) == 0


def test_no_parts():
    assert inertial_wrench(np.ones(0), np.ones((0, 3)), 0.0).shape == (0, 6)


def test_entry_without_transition_and_without_inertia():
    """Neither may divide by 0."""
    found = turning.entry_drive_force(
        [1.0, 1.0, 0.0], [0.0, 0.1, 0.1], [0.0, 0.01, 0.0], 5.0, transition=0, base=0.1, radius=0.5
    )
    # Chord alone; reach and inertia; nothing at all.
    np.testing.assert_allclose(found, [5 * 0.005, 5 * (0.1 + 0.02), 0.0])


def test_transition_as_long_as_the_base_peaks_after_the_middle():
    """Spin alone, worked by hand: w = sqrt(2/3), w·(1 - w²/2) = 0.5443 of I_z/R."""
    found = turning.entry_drive_force(0.0, 0.0, 0.5, 1.0, transition=0.1, base=0.1, radius=0.5)
    assert found == pytest.approx(np.sqrt(2 / 3) * (2 / 3) * 0.5 / 0.5)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: inertial_wrench(-1, CENTRE, 0), "mass"),
        (lambda: inertial_wrench(np.nan, CENTRE, 0), "mass"),
        (lambda: inertial_wrench(1, [0, 0], 0), "centre must have 3"),
        (lambda: inertial_wrench(1, CENTRE, -1), "yaw inertia"),
        (lambda: inertial_wrench(1, CENTRE, 0, yaw_rate=1), "straight"),
        (lambda: inertial_wrench(1, CENTRE, 0, yaw_rate=1, radius=0), "radius"),
        (lambda: inertial_wrench(1, CENTRE, 0, yaw_rate=1, radius=np.nan), "radius"),
        (lambda: inertial_wrench(1, CENTRE, 0, along=np.inf), "along"),
        (lambda: inertial_wrench(1, CENTRE, 0, gravity=[0, np.nan, 0]), "gravity"),
        (lambda: force_wrench([1, 0], CENTRE), "force must have 3"),
        (lambda: force_wrench([1, 0, 0], [0, np.nan, 0]), "point"),
        (lambda: drive_force_wrench(np.nan, 0, 0), "thrust"),
        (lambda: upright_gravity(np.nan), "angle"),
        (lambda: turning.entry_yaw_acceleration(1, 0.5, 0, 0), "both be 0"),
        (lambda: turning.entry_yaw_acceleration(1, np.inf, 0, 0.1), "radius"),
        (lambda: turning.entry_yaw_acceleration(1, 0.5, -0.1, 0.1), "transition"),
        (lambda: turning.entry_radius(0.5, np.nan), "reach"),
        (lambda: turning.arc_drive_force([0] * 5, 0.5), "wrench must have 6"),
        (lambda: turning.arc_drive_force([0] * 6, 0.5, line_y=-0.5), "line y"),
        (lambda: turning.upright_bend_peak_drive_force(1, 0, 0, -0.5), "radius"),
        (lambda: turning.upright_bend_peak_drive_force(-1, 0, 0, 0.5), "mass"),
        (lambda: pair.pair_truck_angle(1.01, 0.5), "diameter"),
        (lambda: pair.pair_truck_angle(-0.1, 0.5), "coupling distance"),
        (lambda: pair.soft_platform_share(0, 0), "coupling distance"),
        (lambda: pair.pair_truck_wrenches([0] * 6, 0), "coupling distance"),
        (lambda: pair.pair_truck_wrenches([0] * 6, 0.5, share=1.5), "share"),
        (lambda: pair.pair_truck_wrenches([0] * 6, 0.5, truck_angle=2), "truck angle"),
    ],
)
def test_refusals(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_yaw_inertia_about_the_wrong_axis_is_refused():
    with pytest.raises(ValueError, match="about the datum"):
        turning.entry_drive_force(10, 0.3, 0.2, 5, transition=0, base=0.1, radius=0.5)


def test_both_shares_of_the_roll_moment():
    """A soft platform sends more of it to the truck that is nearer; never more than all."""
    wrench = [0, 0, 0, 100.0, 0, 0]
    shares = [0.5, pair.soft_platform_share(0.1, 0.5), pair.soft_platform_share(-0.4, 0.5)]
    front, rear = pair.pair_truck_wrenches(wrench, 0.5, share=shares)
    np.testing.assert_allclose(front[:, 3], [50, 70, 0])
    np.testing.assert_allclose(rear[:, 3], [50, 30, 100])
