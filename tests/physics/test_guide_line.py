"""Places on the guide centre line of a bend, against scipy's Fresnel integrals and circles."""

import numpy as np
import pytest
from scipy.special import fresnel

from recommender.physics.bend import bend_depth, bend_length, bend_width
from recommender.physics.guide_line import bend_place
from tests.oracles.curvature import curvature_at

SHAPES = [(0.28, 0.0), (0.42, 0.12), (1.0, 0.6), (1 / np.pi, 1.0)]


@pytest.mark.parametrize(("radius", "transition"), SHAPES[1:])
def test_the_clothoid_is_that_of_the_fresnel_integrals(radius: float, transition: float) -> None:
    along = np.linspace(0.0, transition, 50)
    scale = np.sqrt(np.pi * radius * transition)
    sine, cosine = fresnel(along / scale)
    x, y, turned = bend_place(along, radius, transition)
    np.testing.assert_allclose([x, y], [scale * cosine, scale * sine], atol=1e-12)
    np.testing.assert_allclose(turned, along**2 / (2.0 * radius * transition), atol=1e-12)


@pytest.mark.parametrize(("radius", "transition"), SHAPES)
def test_it_is_travelled_at_unit_speed_with_the_curvature_of_the_bend(
    radius: float, transition: float
) -> None:
    length = float(bend_length(radius, transition))
    step = length / 20000.0
    along = np.linspace(-0.1, length + 0.1, 4001)[1:-1]
    ahead, behind = (bend_place(along + d, radius, transition) for d in (step, -step))
    np.testing.assert_allclose(
        np.hypot(ahead[0] - behind[0], ahead[1] - behind[1]) / (2.0 * step), 1.0, atol=1e-5
    )
    heading = bend_place(along, radius, transition)[2]
    way = np.arctan2(ahead[1] - behind[1], ahead[0] - behind[0])
    np.testing.assert_allclose(np.unwrap(way), heading, atol=1e-3)
    # Where the curvature jumps, differences see both sides.
    steady = (
        np.abs(
            curvature_at(along + step, radius, transition)
            - curvature_at(along - step, radius, transition)
        )
        < 1e-2
    )
    turning = (ahead[2] - behind[2]) / (2.0 * step)
    np.testing.assert_allclose(
        turning[steady], curvature_at(along[steady], radius, transition), atol=1e-2
    )


@pytest.mark.parametrize(("radius", "transition"), SHAPES)
def test_it_ends_across_from_where_it_began(radius: float, transition: float) -> None:
    length = bend_length(radius, transition)
    width, depth = bend_width(radius, transition), bend_depth(radius, transition)
    np.testing.assert_allclose(
        bend_place(length, radius, transition), (0.0, width, np.pi), atol=1e-12
    )
    tip = bend_place(0.5 * length, radius, transition)
    np.testing.assert_allclose(tip, (depth, 0.5 * width, 0.5 * np.pi), atol=1e-12)


def test_what_is_no_bend_is_refused() -> None:
    for arguments in ((0.1, 0.0, 0.0), (0.1, 1.0, 4.0), (np.nan, 1.0, 0.0)):
        with pytest.raises(ValueError, match="must"):
            bend_place(*arguments)
