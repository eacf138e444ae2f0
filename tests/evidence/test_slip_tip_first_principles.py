"""Slipping and tipping against the friction field and the equilibrium they are made from.

A body that turns about any centre of rotation drags every patch of its footprint over the support;
the patches' friction adds up to the force and the moment that are just enough for that motion. All
centres together give the limits of what friction holds.
"""

import numpy as np
import pytest
from scipy.optimize import linprog, minimize

from recommender.physics.constants import STANDARD_GRAVITY
from recommender.physics.load_limits import (
    friction_limited_acceleration,
    nest_tipping_acceleration,
    slip_utilisation,
    tipping_acceleration,
)

USUAL_SAFETY = 1.5  # `holding_safety` of the catalogue
FRICTION = 0.3
GRIP = FRICTION * STANDARD_GRAVITY


def limit_accelerations(x, y, inertia):
    """Resultant and yaw acceleration of a unit mass that just slips, for many centres of rotation.

    The patches carry equal shares of the weight; inertia is the load's about its centre.
    """
    reach = np.hypot(x, y).max()
    pushes, yaws = [], []
    away = np.concatenate([np.linspace(0.0, 1.3, 66), np.geomspace(1.32, 40.0, 18)]) * reach
    for angle in np.linspace(0.0, np.pi / 2, 13):
        across = -(y - away[:, np.newaxis] * np.sin(angle))
        along = x - away[:, np.newaxis] * np.cos(angle)
        drag = np.hypot(across, along) + 1e-12
        force = np.hypot((across / drag).mean(axis=1), (along / drag).mean(axis=1))
        moment = ((x * along - y * across) / drag).mean(axis=1)
        pushes.append(GRIP * force)
        yaws.append(GRIP * moment / inertia)
    return np.concatenate(pushes), np.concatenate(yaws)


def rectangle(length, width):
    columns = (np.arange(80) + 0.5) / 80 - 0.5
    rows = (np.arange(max(6, int(80 * width / length))) + 0.5) / max(6, int(80 * width / length))
    x, y = np.meshgrid(columns * length, (rows - 0.5) * width)
    return x.ravel(), y.ravel()


@pytest.mark.parametrize("aspect", [1.0, 0.8, 0.5, 0.3, 0.1, 0.03])
def test_slip_of_a_rectangle_is_never_underrated_and_little_overrated(aspect):
    length, width = 0.4, 0.4 * aspect
    diagonal = np.hypot(length, width)
    pushes, yaws = limit_accelerations(*rectangle(length, width), diagonal**2 / 12)
    utilisation = slip_utilisation(pushes, yaws, FRICTION, diagonal, safety=1.0)
    assert utilisation.min() > 1.0 - 5e-4
    assert utilisation.max() < 1.205
    # The ellipse with 0.31 diagonals would let loads slip, narrow ones most.
    ellipse = np.hypot(pushes, 0.31 * diagonal * yaws) / GRIP
    assert ellipse.min() < 0.94


def test_slip_of_a_narrow_strip_pushed_across_is_exact():
    """A strip that turns about a point at c from its middle: F = 2c/l, M = (1 - 4c**2/l**2) l/4."""
    length = 0.5
    centre = np.linspace(0.0, length / 2, 50)
    push = 2 * centre / length
    yaw = (1 - push**2) * length / 4 / (length**2 / 12)
    utilisation = slip_utilisation(GRIP * push, GRIP * yaw, FRICTION, length, safety=1.0)
    np.testing.assert_allclose(utilisation, 1.0, rtol=1e-12)


def test_slip_of_discs_rings_feet_and_ends():
    angle = np.linspace(0.0, 2 * np.pi, 240, endpoint=False)
    radius = 0.1 * np.sqrt((np.arange(40) + 0.5) / 40)
    disc = np.outer(radius, np.cos(angle)).ravel(), np.outer(radius, np.sin(angle)).ravel()
    ring = 0.1 * np.cos(angle), 0.1 * np.sin(angle)
    for patches in (disc, ring):
        pushes, yaws = limit_accelerations(*patches, 0.1**2 / 2)
        assert slip_utilisation(pushes, yaws, FRICTION, 9 / 8 * 0.2, 1.0).min() > 1.0 - 1e-3
    for width in (0.4, 0.2, 0.05, 0.0):
        feet = np.array([0.2, 0.2, -0.2, -0.2]), np.array([1, -1, 1, -1]) * width / 2
        diagonal = np.hypot(0.4, width)
        pushes, yaws = limit_accelerations(*feet, diagonal**2 / 12)
        assert slip_utilisation(pushes, yaws, FRICTION, diagonal, 1.0).min() > 1.0 - 1e-9


def test_slip_of_a_load_that_overhangs_its_footprint():
    """Plan outline 0.6 m by 0.5 m on a footprint of 0.3 m by 0.2 m."""
    outline, footprint = np.hypot(0.6, 0.5), np.hypot(0.3, 0.2)
    pushes, yaws = limit_accelerations(*rectangle(0.3, 0.2), outline**2 / 12)
    utilisation = slip_utilisation(pushes, yaws, FRICTION, outline**2 / footprint, 1.0)
    assert utilisation.min() > 1.0 - 5e-4
    assert utilisation.max() < 1.205


def leaning_pressure(place, wander):
    """Pressure over -1..1 with its resultant at `wander`: linear, then a triangle with a gap."""
    if wander <= 1 / 3:
        return 1.0 + 3.0 * wander * place
    return np.maximum(place - 1.0 + 3.0 * (1.0 - wander), 0.0)


@pytest.mark.parametrize("aspect", [5.0, 2.0, 1.0, 0.5, 0.2])
def test_safety_covers_a_tall_load_that_leans_on_one_end(aspect):
    """Near tipping the load stands on part of its footprint, which resists yaw with less.

    With the reaction two thirds of the half base from its middle, where a tip safety of 1.5 ends,
    and the yaw term no larger than the other, the safety against slipping still covers it.
    """
    length, width = (1.0, 1.0 / aspect) if aspect >= 1.0 else (aspect, 1.0)
    x, y = rectangle(length, width) if aspect >= 1.0 else rectangle(width, length)[::-1]
    pressure = leaning_pressure(2 * x / length, 2 / 3)
    pressure /= pressure.sum()
    x = x - (pressure * x).sum()
    diagonal = np.hypot(length, width)
    for ratio in (0.1, 0.3, 0.6, 1.0):
        arm = ratio * 3.0 / diagonal * diagonal**2 / 12  # moment over force, along the travel

        def power(twist, arm=arm):
            across, spin = twist
            speeds = np.hypot(1.0 - arm * spin - spin * y, across + spin * x)
            return float((pressure * speeds).sum())

        starts = ([0.0, 0.0], [0.0, 3.0 / diagonal], [0.1, 10.0 / diagonal])
        found = min(minimize(power, start, method="Nelder-Mead").fun for start in starts)
        push = GRIP * found
        yaw = push * arm / (diagonal**2 / 12)
        utilisation = slip_utilisation(push, yaw, FRICTION, diagonal, safety=1.0)
        assert utilisation > 1.0 / USUAL_SAFETY


def test_tip_is_where_a_support_lets_go():
    """Reactions of the two edges of the base from force and moment equilibrium, 2000 loads."""
    rng = np.random.default_rng(5)
    rows = 2000
    pull, height = rng.uniform(0.0, 8.0, rows), rng.uniform(0.05, 1.0, rows)
    half, offset = rng.uniform(0.05, 0.4, rows), rng.uniform(-1.0, 1.0, rows) * 0.05
    weight = rng.uniform(5.0, 12.0, rows)
    ahead, behind = half - offset, half + offset
    equations = np.stack(
        [np.ones((rows, 2)), np.stack([ahead, -behind], axis=1)], axis=1
    )  # N1 + N2 = m g;  N1 * ahead - N2 * behind = -/+ m a h
    lowest = []
    for sign in (1.0, -1.0):
        loads = np.stack([weight, sign * pull * height], axis=1)[..., np.newaxis]
        lowest.append(np.linalg.solve(equations, loads)[..., 0].min(axis=1))
    tips = np.minimum(*lowest) < 0.0
    assert 0.2 < tips.mean() < 0.8
    limit = tipping_acceleration(height, half, offset, vertical=weight)
    np.testing.assert_array_equal(tips, pull > limit)


def test_a_vessel_on_a_slope_slips_and_tips_as_if_accelerated():
    """Gravity's components on a slope in place of an acceleration: tan of the slope decides."""
    slope = np.radians(np.linspace(1.0, 60.0, 60))
    along, across = STANDARD_GRAVITY * np.sin(slope), STANDARD_GRAVITY * np.cos(slope)
    slip = slip_utilisation(along, 0.0, 0.5, 0.3, 1.0, vertical=across)
    tip = along / tipping_acceleration(0.9, 0.6, vertical=across)
    np.testing.assert_allclose(slip, np.tan(slope) / 0.5, rtol=1e-12)
    np.testing.assert_allclose(tip, np.tan(slope) * 0.9 / 0.6, rtol=1e-12)


def test_safety_scales_and_edges_hold():
    assert slip_utilisation(3.0, 6.0, 0.5, 0.5, 1.5) == pytest.approx(
        1.5 * slip_utilisation(3.0, -6.0, 0.5, 0.5, 1.0)
    )
    assert slip_utilisation(0.0, 0.0, 0.5, 0.5, 1.5) == 0.0
    assert slip_utilisation(GRIP / 1.5, 0.0, FRICTION, 0.5, 1.5) == pytest.approx(1.0)
    assert friction_limited_acceleration(0.3, 1.5) == pytest.approx(GRIP / 1.5)
    assert tipping_acceleration(0.5, 0.1, safety=1.5) == pytest.approx(STANDARD_GRAVITY * 0.2 / 1.5)
    assert tipping_acceleration(0.5, 0.1, 0.1) == 0.0
    assert tipping_acceleration(0.5, 0.1, -0.2) == 0.0
    assert tipping_acceleration(0.0, 0.1, 0.1) == 0.0
    assert tipping_acceleration(0.0, 0.1) == np.inf


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: slip_utilisation(1.0, 0.0, 0.0, 0.1, 1.5), "friction"),
        (lambda: slip_utilisation(-1.0, 0.0, 0.3, 0.1, 1.5), "resultant"),
        (lambda: slip_utilisation(1.0, np.nan, 0.3, 0.1, 1.5), "yaw"),
        (lambda: slip_utilisation(1.0, 0.0, 0.3, -0.1, 1.5), "diagonal"),
        (lambda: slip_utilisation(1.0, 0.0, 0.3, 0.1, 0.0), "safety"),
        (lambda: tipping_acceleration(-0.1, 0.3), "height"),
        (lambda: tipping_acceleration(0.1, 0.3, np.nan), "offset"),
        (lambda: tipping_acceleration(0.1, 0.0), "half base"),
        (lambda: friction_limited_acceleration(0.3, vertical=0.0), "vertical"),
    ],
)
def test_impossible_input_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def largest_acceleration_in_a_nest(height, pocket, half_base, offset, friction, wall_behind):
    """By linear programming over the forces of the nest on a load of unit mass.

    The walls push on upright faces up to the rim and the floor on the base; each contact may add
    friction either way up to its share of the push. The load accelerates backwards, so that it
    leans on the wall in front.
    """
    heights, along = np.linspace(0.0, pocket, 9), np.linspace(-half_base, half_base, 9)
    points = [(half_base, z, (-1.0, 0.0)) for z in heights]
    points += [(x, 0.0, (0.0, 1.0)) for x in along]
    if wall_behind:
        points += [(-half_base, z, (1.0, 0.0)) for z in heights]
    columns = []
    for x, z, normal in points:
        tangent = (-normal[1], normal[0])
        for slip in (-friction, friction):
            push = (normal[0] + slip * tangent[0], normal[1] + slip * tangent[1])
            columns.append((push[0], push[1], (x - offset) * push[1] - (z - height) * push[0]))
    # The last variable is the acceleration; moments are taken about the centre of gravity.
    balance = np.column_stack([*columns, (1.0, 0.0, 0.0)])
    found = linprog(
        np.append(np.zeros(len(columns)), -1.0),
        A_eq=balance,
        b_eq=[0.0, STANDARD_GRAVITY, 0.0],
        bounds=[(0, None)] * len(columns) + [(0, 1e4)],
    )
    assert found.status == 0
    return found.x[-1]


def test_a_nest_holds_as_far_as_its_walls_and_floor_can_push():
    rng = np.random.default_rng(5)
    for _ in range(60):
        height, half_base = rng.uniform(0.05, 0.4), rng.uniform(0.03, 0.3)
        pocket, offset = height * rng.uniform(0.05, 0.95), half_base * rng.uniform(-0.5, 0.5)
        limit = float(nest_tipping_acceleration(height, pocket, half_base, abs(offset)))
        case = height, pocket, half_base, abs(offset)
        bare = largest_acceleration_in_a_nest(*case, 0.0, wall_behind=False)
        assert bare == pytest.approx(limit, rel=1e-7)
        # Friction and a snug wall behind hold more, never less.
        assert largest_acceleration_in_a_nest(*case, 0.3, wall_behind=False) >= bare * (1 - 1e-9)
        assert largest_acceleration_in_a_nest(*case, 0.0, wall_behind=True) >= bare * (1 - 1e-9)
    deep = largest_acceleration_in_a_nest(0.2, 0.21, 0.1, 0.0, 0.0, wall_behind=False)
    assert deep == pytest.approx(1e4)
    assert np.isinf(nest_tipping_acceleration(0.2, 0.21, 0.1))
