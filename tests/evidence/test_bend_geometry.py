"""Bends against Fresnel integrals, integrated curvature and sampled rectangles."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import fresnel

from recommender.physics.arc import arc_spacing, chord_inset
from recommender.physics.bend import (
    bend_depth,
    bend_length,
    bend_spacing,
    bend_stretch,
    bend_width,
)
from tests.oracles.curvature import curvature_at

Points = NDArray[np.float64]


class GuideLine:
    """A bend between two straights, integrated from its curvature; it starts at 0 along +x."""

    def __init__(self, radius: float, transition: float, straight: float) -> None:
        self.length = float(bend_length(radius, transition))
        self.along = np.linspace(-straight, self.length + straight, 20001)
        step = self.along[1] - self.along[0]
        # Gauss-Legendre points of third order in every step.
        middle = (self.along[1:] + self.along[:-1]) / 2.0
        offset = step * np.sqrt(0.15)
        curvature = [curvature_at(middle + o, radius, transition) for o in (-offset, 0.0, offset)]
        turned = (5 * curvature[0] + 8 * curvature[1] + 5 * curvature[2]) * step / 18.0
        heading = np.concatenate([[0.0], -np.cumsum(turned)])
        start, change = heading[:-1], np.diff(heading)
        # Simpson's rule on the direction; the heading is close to linear within a step.
        across = [np.exp(1j * (start + part * change)) for part in (0.0, 0.5, 1.0)]
        moved = (across[0] + 4 * across[1] + across[2]) * step / 6.0
        place = np.concatenate([[0.0], np.cumsum(moved)])
        self.heading = heading
        self.place = place - np.interp(0.0, self.along, place)

    def at(self, along: Points) -> NDArray[np.complex128]:
        return np.interp(along, self.along, self.place)

    def frame(
        self, along: Points, base: float
    ) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
        """Middle and direction of a chord of a given length, its ends on the line."""
        half = np.full_like(along, base / 2.0)
        for _ in range(6):
            front, rear = self.at(along + half), self.at(along - half)
            half *= base / np.abs(front - rear)
        return (front + rear) / 2.0, (front - rear) / np.abs(front - rear)

    def rectangle(
        self, along: Points, base: float, length: float, inner: float, outer: float
    ) -> NDArray[np.complex128]:
        """Corners, in turn, of a body on a carrier at each place: y > 0 left of the travel."""
        middle, direction = self.frame(along, base)
        ends = np.array([-length / 2, length / 2, length / 2, -length / 2])
        sides = np.array([inner, inner, outer, outer])
        return middle[:, np.newaxis] + direction[:, np.newaxis] * (ends + 1j * sides)


def _point_to_edges(
    corners: NDArray[np.complex128], others: NDArray[np.complex128]
) -> NDArray[np.float64]:
    least = np.full(len(corners), np.inf)
    for corner in range(4):
        for edge in range(4):
            start = others[:, edge]
            side = others[:, (edge + 1) % 4] - start
            away = corners[:, corner] - start
            part = np.clip((away * side.conj()).real / np.abs(side) ** 2, 0.0, 1.0)
            least = np.minimum(least, np.abs(away - part * side))
    return least


def gaps_between(one: NDArray[np.complex128], other: NDArray[np.complex128]) -> NDArray[np.float64]:
    """Distance between rectangles, negative if they overlap (separating axes)."""
    apart = np.full(len(one), -np.inf)
    for corners in (one, other):
        for edge in (0, 1):
            side = corners[:, edge + 1] - corners[:, edge]
            normal = (1j * side / np.abs(side))[:, np.newaxis].conj()
            mine, its = (one * normal).real, (other * normal).real
            apart = np.maximum(apart, mine.min(axis=1) - its.max(axis=1))
            apart = np.maximum(apart, its.min(axis=1) - mine.max(axis=1))
    distance = np.minimum(_point_to_edges(one, other), _point_to_edges(other, one))
    return np.where(apart > 0.0, distance, apart)


def test_width_and_depth_follow_from_the_scaled_fresnel_integrals() -> None:
    """The centre of the arc lies a radius beside the end of the clothoid."""
    random = np.random.default_rng(1)
    radius = random.uniform(0.1, 5.0, 200)
    transition = random.uniform(0.0, np.pi, 200) * radius
    turned = transition / (2.0 * radius)
    sine, cosine = fresnel(np.sqrt(transition / (np.pi * radius)))
    scale = np.sqrt(np.pi * radius * transition)
    half = scale * sine + radius * np.cos(turned)
    np.testing.assert_allclose(bend_width(radius, transition), 2.0 * half, rtol=1e-13)
    depth = scale * cosine + radius * (1.0 - np.sin(turned))
    np.testing.assert_allclose(bend_depth(radius, transition), depth, rtol=1e-13)


@pytest.mark.parametrize("transition", [0.0, 0.05, 0.4, 1.0, 0.5 * np.pi])
def test_bend_equals_its_integrated_curvature(transition: float) -> None:
    line = GuideLine(0.5, transition, straight=0.3)
    end = line.at(np.array([line.length]))[0]
    turned = np.interp(line.length, line.along, line.heading)
    turned -= np.interp(0.0, line.along, line.heading)
    accuracy = 1e-4 if transition == 0.0 else 1e-6  # a step of the curvature falls within a step
    assert turned == pytest.approx(-np.pi, abs=accuracy)
    assert -end.imag == pytest.approx(bend_width(0.5, transition), abs=accuracy)
    assert end.real == pytest.approx(0.0, abs=accuracy)
    assert line.place.real.max() == pytest.approx(bend_depth(0.5, transition), abs=accuracy)


def _random_bodies(count: int) -> list[dict[str, float]]:
    random = np.random.default_rng(12)
    bodies = []
    for _ in range(count):
        length = random.uniform(0.05, 1.3)
        inner = -random.choice([0.0, random.uniform(0.0, 0.15), random.uniform(0.0, 0.7)])
        bodies.append(
            {
                "transition": random.choice([0.0, random.uniform(0.02, 2.5)]),
                "base": random.choice([min(length, 0.98), random.uniform(0.05, 0.98)]),
                "length": length,
                "inner": inner,
                "outer": max(0.05, inner + random.uniform(0.1, 0.8)),
                "gap": random.uniform(0.005, 0.15) if length > 0.2 else random.uniform(0.2, 0.8),
            }
        )
    return bodies


def test_arc_spacing_is_exact_on_the_arc() -> None:
    for body in _random_bodies(40):
        inputs = (body["length"] + body["gap"], 1.0, body["inner"], body["length"], body["base"])
        spacing = float(arc_spacing(*inputs))
        middle = 1.0 - float(chord_inset(1.0, body["base"]))
        sides = np.array([body["inner"], body["inner"], body["outer"], body["outer"]])
        ends = np.array([-1.0, 1.0, 1.0, -1.0]) * body["length"] / 2.0
        standing = ends + 1j * (middle + sides)
        turned = standing * np.exp(-1j * spacing)
        gap = gaps_between(standing[np.newaxis], turned[np.newaxis])[0]
        assert gap == pytest.approx(body["gap"], abs=1e-12)


def test_bend_spacing_keeps_the_gap_everywhere() -> None:
    for body in _random_bodies(60):
        straight = body["length"] + body["gap"]
        shape = (body["base"], body["length"], body["inner"], body["outer"])
        spacing = float(bend_spacing(straight, 1.0, body["inner"], body["length"], body["base"]))
        line = GuideLine(1.0, body["transition"], straight=4.0 + spacing)
        follower = np.linspace(-spacing - 1.5, line.length + 1.0, 800)
        # In the bend's spacing, and in shares of the two where the stretch begins or ends.
        stretch = float(bend_stretch(1.0, body["transition"], body["length"], body["base"]))
        begins = (line.length - stretch) / 2.0
        ends = [line.along[0], begins, begins + stretch, line.along[-1]]
        rates = [1.0 / straight, 1.0 / spacing, 1.0 / straight]
        places = np.concatenate([[0.0], np.cumsum(np.diff(ends) * rates)])
        shared = np.interp(np.interp(follower, ends, places) + 1.0, places, ends)
        behind = line.rectangle(follower, *shape)
        for leader in (follower + spacing, shared):
            gaps = gaps_between(behind, line.rectangle(leader, *shape))
            assert gaps.min() > body["gap"] * (1.0 - 1e-3)
