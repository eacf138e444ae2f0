"""Roller loads against an independent equilibrium of push-only preloaded springs.

Every flank is a spring that pushes the carrier along its normal and is pressed by the preload. Of
all sets of flank forces that push and are in equilibrium with the wrench, the springs take the one
nearest to the preload (least complementary energy, all springs equal). That projection is solved
here with the non-negative least squares of scipy, after Lawson and Hanson, *Solving Least Squares
Problems*, ch. 23 (least distance programming); nothing of the product's closed form enters.
"""

import numpy as np
import pytest
from scipy.optimize import brentq, nnls, root

from recommender.physics.bend_fit import bend_gauge_mismatch
from recommender.physics.pair import pair_truck_wrenches
from recommender.physics.rollers import guide_roller_loads, lower_guide_split

COUNT = 2000


def column(point, direction):
    """Wrench of a unit push, without F_x, which the drive balances."""
    return np.concatenate([direction[1:], np.cross(point, direction)])


def flanks(wheelbase, gauge, delta, centre_x=0.0):
    """Wrenches (5, 8) of the eight flanks of a truck, roller by roller, upward flank first."""
    columns = []
    for along in (wheelbase / 2, -wheelbase / 2):
        for side in (-1.0, 1.0):
            for up in (1.0, -1.0):
                direction = np.array([0.0, -side * np.cos(delta), up * np.sin(delta)])
                columns.append(column([centre_x + along, side * gauge / 2, 0.0], direction))
    return np.array(columns).T


def nearest_forces(equilibrium, demand, preload):
    """Forces >= 0 nearest to the preload that satisfy equilibrium @ forces = demand."""
    unbounded = preload + np.linalg.pinv(equilibrium) @ (demand - equilibrium @ preload)
    if unbounded.min() >= 0:
        return unbounded
    scale = np.abs(unbounded).max()
    _, singular, rows = np.linalg.svd(equilibrium)
    free = rows[np.sum(singular > 1e-10 * singular[0]) :].T
    system = np.vstack([free.T, -unbounded / scale])
    target = np.append(np.zeros(free.shape[1]), 1.0)
    residual = system @ nnls(system, target)[0] - target
    return unbounded - free @ residual[:-1] / residual[-1] * scale


def roller_loads(forces, delta):
    """Radial and axial load of the rollers from forces (..., rollers, 2)."""
    radial = forces.sum(axis=-1) * np.cos(delta)
    return radial, (forces[..., 0] - forces[..., 1]) * np.sin(delta)


def deviation(found, true):
    """Largest deviation of any row, relative to the row's largest radial load."""
    scale = np.abs(true[0]).max(axis=-1, keepdims=True)
    return max(np.max(np.abs(f - t) / scale) for f, t in zip(found, true, strict=True))


@pytest.fixture(scope="module")
def trucks():
    """Random trucks and wrenches; two thirds of them lift a flank."""
    rng = np.random.default_rng(20240)
    return {
        "wrench": rng.normal(size=(COUNT, 6)) * [50, 300, 300, 25, 25, 25],
        "wheelbase": rng.uniform(0.08, 0.4, COUNT),
        "gauge": rng.uniform(0.05, 0.2, COUNT),
        "delta": np.radians(rng.choice([30, 35, 40, 45, 50, 55], COUNT)),
        "preload": rng.uniform(0, 400, COUNT),
    }


@pytest.fixture(scope="module")
def springs(trucks):
    forces = np.array(
        [
            nearest_forces(flanks(b, g, d), w[1:], np.full(8, q / (2 * np.cos(d))))
            for w, b, g, d, q in zip(*trucks.values(), strict=True)
        ]
    )
    return forces.reshape(COUNT, 4, 2)


def test_single_truck(trucks, springs):
    found = guide_roller_loads(*trucks.values())
    assert deviation(found, roller_loads(springs, trucks["delta"][:, None])) < 1e-6
    lifted = (springs < 1e-9).any(axis=(1, 2))
    assert 0.5 < lifted.mean() < 0.8  # both regimes are tried


def test_no_roll_moment_still_twists_axles_apart(trucks):
    """With M_x = 0 an axle that lifts wants to twist: half of the moment each is not exact."""
    wrench = trucks["wrench"] * [1, 1, 1, 0, 1, 1]
    others = [trucks[key] for key in ("wheelbase", "gauge", "delta", "preload")]
    forces = np.array(
        [
            nearest_forces(flanks(b, g, d), w[1:], np.full(8, q / (2 * np.cos(d))))
            for w, b, g, d, q in zip(wrench, *others, strict=True)
        ]
    ).reshape(COUNT, 4, 2)
    true = roller_loads(forces, trucks["delta"][:, None])
    assert deviation(guide_roller_loads(wrench, *others), true) < 1e-6
    axial = true[1]
    roll = (axial[:, 1::2] - axial[:, ::2]) * others[1][:, None] / 2
    assert np.abs(roll).max() > 1.0  # N·m, of axles that carry no roll moment together


def test_projection_is_the_equilibrium_of_the_springs(trucks, springs):
    """A hundred of them again from the displacements: force = k·max(0, compression)."""
    true = springs.reshape(COUNT, 8)
    tried = 0
    for i in range(0, COUNT, 20):
        delta = trucks["delta"][i]
        geometry = flanks(trucks["wheelbase"][i], trucks["gauge"][i], delta)
        start = np.full(8, trucks["preload"][i] / (2 * np.cos(delta)))
        # Moments in the unit of a force, so that one tolerance serves all equations.
        scale = np.array([1, 1, 10, 10, 10])
        geometry, demand = geometry * scale[:, None], trucks["wrench"][i, 1:] * scale

        def balance(move, geometry=geometry, start=start, demand=demand):
            return geometry @ np.maximum(start + geometry.T @ move, 0.0) - demand

        guess = np.linalg.solve(geometry @ geometry.T, demand)
        solved = root(balance, guess, method="lm", options={"xtol": 1e-14, "ftol": 1e-14})
        if np.abs(solved.fun).max() > 1e-7:
            continue  # a kinked system on which the root finder gave up proves nothing
        tried += 1
        forces = np.maximum(start + geometry.T @ solved.x, 0.0)
        assert forces == pytest.approx(true[i], abs=1e-5 * true[i].max())
    assert tried > 80


def lower_columns(depth, centre_x=0.0):
    """Wrench of a unit load of the two lower rollers together, which work both ways."""
    return column([centre_x, 0.0, -depth], np.array([0.0, 1.0, 0.0]))[:, None]


def test_lower_guide(trucks):
    """Equilibrium of the whole carrier, the upper flanks bound to carry no roll moment."""
    rng = np.random.default_rng(5)
    depth = rng.uniform(0.15, 0.6, COUNT)
    forces, lower = np.empty((COUNT, 4, 2)), np.empty(COUNT)
    for i, (w, b, g, d, q) in enumerate(zip(*trucks.values(), strict=True)):
        upper = flanks(b, g, d)
        below = lower_columns(depth[i])
        # The lower force follows from the whole carrier's roll alone, as the flanks hold none.
        lower[i] = w[3] / below[2, 0]
        left = w[1:] - below[:, 0] * lower[i]
        forces[i] = nearest_forces(upper, left, np.full(8, q / (2 * np.cos(d)))).reshape(4, 2)
    left, each = lower_guide_split(trucks["wrench"], depth)
    others = [trucks[key] for key in ("wheelbase", "gauge", "delta", "preload")]
    true = roller_loads(forces, trucks["delta"][:, None])
    assert deviation(guide_roller_loads(left, *others), true) < 1e-6
    assert 2 * each == pytest.approx(lower, rel=1e-12)


@pytest.mark.parametrize(("ratio", "low", "high"), [(0.24, 0.03, 0.05), (0.42, 0.11, 0.13)])
def test_upper_guide_takes_little_of_the_roll_moment(ratio, low, high):
    """Equal springs on all flanks, all in touch: what the assumption leaves out."""
    depth = 0.3
    gauge = ratio * depth
    upper = flanks(0.2, gauge, np.pi / 4)
    # Two lower rollers guided on both sides, as stiff as two flanks of an upper roller each.
    below = np.hstack([lower_columns(depth)] * 2)
    stiffness = upper @ upper.T + below @ below.T
    move = np.linalg.solve(stiffness, [0, 0, 1.0, 0, 0])
    share = upper[2] @ (upper.T @ move)
    assert low < share < high


def test_coupled_pair(trucks):
    """Sixteen flanks and two lower guides under one platform, pivoted at both trucks.

    Assembled from points and directions at the platform's datum: equilibrium of the whole, no
    moment about y and z through a pivot, half of the roll moment through each.
    """
    rng = np.random.default_rng(6)
    distance, depth = rng.uniform(0.3, 0.8, COUNT), rng.uniform(0.15, 0.6, COUNT)
    forces = np.empty((COUNT, 2, 4, 2))
    for i, (w, b, g, d, q) in enumerate(zip(*trucks.values(), strict=True)):
        whole, own, start = [], [], []
        for x in (distance[i] / 2, -distance[i] / 2):
            # Unit pushes of the lower guide stand last; a lower guide pushes either way.
            local = np.hstack([flanks(b, g, d), lower_columns(depth[i])])
            own.append(local)
            whole.append(np.hstack([flanks(b, g, d, x), lower_columns(depth[i], x)]))
            start.append(np.append(np.full(8, q / (2 * np.cos(d))), 1e5))
        zero = np.zeros((1, 9))
        rows = [np.hstack(whole)]
        for k in range(2):  # pivots: moments about y and z at each truck are 0
            for component in (3, 4):
                row = own[k][component : component + 1]
                rows.append(np.hstack([row, zero] if k == 0 else [zero, row]))
        rows.append(np.hstack([own[0][2:3], -own[1][2:3]]))  # roll half each
        upper_roll = own[0][2:3].copy()
        upper_roll[0, 8] = 0.0
        rows += [np.hstack([upper_roll, zero]), np.hstack([zero, upper_roll])]
        equilibrium, preload = np.vstack(rows), np.concatenate(start)
        # The lower guides' start of 1e5 N each is taken off again, so that they push either way.
        bias = np.zeros(18)
        bias[[8, 17]] = 1e5
        demand = np.concatenate([w[1:], np.zeros(7)]) + equilibrium @ bias
        found = nearest_forces(equilibrium, demand, preload)
        forces[i] = found.reshape(2, 9)[:, :8].reshape(2, 4, 2)
    trucks_wrench = pair_truck_wrenches(trucks["wrench"], distance)
    others = [trucks[key] for key in ("wheelbase", "gauge", "delta", "preload")]
    for k, wrench in enumerate(trucks_wrench):
        left, _ = lower_guide_split(wrench, depth)
        true = roller_loads(forces[:, k], trucks["delta"][:, None])
        assert deviation(guide_roller_loads(left, *others), true) < 1e-6


def test_rollers_set_for_a_straight_do_not_fit_a_bend():
    """Distances of the rollers of an axle from the centre of the bend, found by root finding."""
    for wheelbase, gauge, radius in ((0.1, 0.12, 0.5), (0.2, 0.15, 0.75), (0.3, 0.2, 1.0)):
        half = gauge / 2

        def outer_gap(datum, half=half, wheelbase=wheelbase, radius=radius):
            return np.hypot(datum + half, wheelbase / 2) - (radius + half)

        datum = brentq(outer_gap, radius - wheelbase, radius)  # outer roller touches its rail
        inner = np.hypot(datum - half, wheelbase / 2)
        # The inner roller would have to lie inside its rail's edge: the rollers are squeezed.
        squeeze = inner - (radius - half)
        assert squeeze > 0
        assert bend_gauge_mismatch(wheelbase, gauge, radius) == pytest.approx(squeeze, rel=0.03)
