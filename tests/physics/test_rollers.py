"""Shapes, limits and errors of the roller loads."""

import numpy as np
import pytest

from recommender.physics.bend_fit import bend_gauge_mismatch
from recommender.physics.rollers import (
    guide_roller_loads,
    lower_guide_split,
    rolling_resistance,
)

TRUCK = (0.2, 0.1, np.pi / 4)


def test_no_load_leaves_the_preload():
    radial, axial = guide_roller_loads(np.zeros(6), *TRUCK, 120.0)
    np.testing.assert_array_equal(radial, [120] * 4)
    np.testing.assert_array_equal(axial, [0] * 4)


def test_equilibrium_whatever_the_regime():
    """The rollers' loads sum up to the wrench."""
    rng = np.random.default_rng(4)
    wrench = rng.normal(size=(300, 2, 6)) * [50, 300, 300, 25, 25, 25]
    wheelbase, gauge = rng.uniform(0.1, 0.4, 2), rng.uniform(0.05, 0.2, (300, 1))
    radial, axial = guide_roller_loads(wrench, wheelbase, gauge, 0.9, 80.0)
    assert radial.shape == axial.shape == (300, 2, 4)
    assert radial.min() >= 0
    lateral = radial[..., ::2] - radial[..., 1::2]
    vertical = axial[..., ::2] + axial[..., 1::2]
    roll = (axial[..., 1::2] - axial[..., ::2]) * gauge[..., None] / 2
    half = wheelbase / 2
    sums = [
        lateral.sum(axis=-1),
        vertical.sum(axis=-1),
        roll.sum(axis=-1),
        -half * (vertical[..., 0] - vertical[..., 1]),
        half * (lateral[..., 0] - lateral[..., 1]),
    ]
    np.testing.assert_allclose(np.stack(sums, axis=-1), wrench[..., 1:], atol=1e-9)


def test_more_rows_than_one_block():
    """Rows are independent of how many stand beside them."""
    rng = np.random.default_rng(6)
    wrench = rng.normal(size=(10_000, 6)) * [0, 300, 300, 25, 25, 25]
    whole = guide_roller_loads(wrench, *TRUCK, 50.0)
    for rows in (slice(0, 3), slice(4090, 4100), slice(9998, None)):
        alone = guide_roller_loads(wrench[rows], *TRUCK, 50.0)
        for part, single in zip(whole, alone, strict=True):
            np.testing.assert_array_equal(part[rows], single)


def test_no_rows():
    radial, axial = guide_roller_loads(np.zeros((0, 6)), *TRUCK, 50.0)
    assert radial.shape == axial.shape == (0, 4)


def test_mirrored_wrench_mirrors_the_rollers():
    """Left and right, front and rear, up and down."""
    rng = np.random.default_rng(8)
    wrench = rng.normal(size=(200, 6)) * [0, 300, 300, 25, 25, 25]
    radial, axial = guide_roller_loads(wrench, *TRUCK, 50.0)
    for signs, order, flip in (
        ([1, -1, 1, -1, 1, -1], [1, 0, 3, 2], 1),
        ([1, 1, 1, 1, -1, -1], [2, 3, 0, 1], 1),
        ([1, 1, -1, -1, -1, 1], [0, 1, 2, 3], -1),
    ):
        mirrored = guide_roller_loads(wrench * signs, *TRUCK, 50.0)
        np.testing.assert_allclose(mirrored[0][:, order], radial, atol=1e-9)
        np.testing.assert_allclose(mirrored[1][:, order], flip * axial, atol=1e-9)


def test_preload_alone_resists():
    radial, axial = guide_roller_loads(np.zeros((3, 6)), *TRUCK, 100.0)
    np.testing.assert_allclose(rolling_resistance(0.01, radial, axial, [0, 1, 2]), [4, 5, 6])


def test_lower_guide_leaves_no_roll_moment_and_all_the_force():
    wrench = np.array([[1.0, 40, -200, -60, 3, 4], [0.0, 0, 0, 0, 0, 0]])
    upper, each = lower_guide_split(wrench, 0.3)
    np.testing.assert_allclose(upper[:, 3], 0)
    np.testing.assert_allclose(upper[:, 1] + 2 * each, wrench[:, 1])
    np.testing.assert_allclose(2 * each * 0.3, wrench[:, 3])


def test_straight_has_no_mismatch():
    np.testing.assert_allclose(bend_gauge_mismatch(0.2, 0.1, [0.5, np.inf]), [0.002, 0])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: guide_roller_loads(np.zeros(5), *TRUCK, 50), "wrench must have 6"),
        (lambda: guide_roller_loads([np.nan] * 6, *TRUCK, 50), "wrench"),
        (lambda: guide_roller_loads(np.zeros(6), 0, 0.1, 0.8, 50), "wheelbase"),
        (lambda: guide_roller_loads(np.zeros(6), 0.2, np.nan, 0.8, 50), "gauge"),
        (lambda: guide_roller_loads(np.zeros(6), 0.2, 0.1, 0, 50), "flank angle"),
        (lambda: guide_roller_loads(np.zeros(6), 0.2, 0.1, 1.6, 50), "flank angle"),
        (lambda: guide_roller_loads(np.zeros(6), *TRUCK, -1), "preload"),
        (lambda: lower_guide_split(np.zeros(6), 0), "depth"),
        (lambda: rolling_resistance(-0.01, [1], [1]), "coefficient"),
        (lambda: rolling_resistance(0.01, [-1], [1]), "radial"),
        (lambda: rolling_resistance(0.01, [1], [1], -1), "drag"),
        (lambda: bend_gauge_mismatch(0.2, 0.1, 0), "radius"),
    ],
)
def test_refusals(call, message):
    with pytest.raises(ValueError, match=message):
        call()
