"""The guide centre line of a loop in the plane of the drawing, and bodies that travel along it.

The front straight runs along +x from the origin. Of a loop that lies flat it is drawn below, and
the travel turns to the left; of an upright loop it is the upper run, and the travel turns to the
right. Lengths are metres.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from recommender.physics.guide_line import bend_place
from recommender.results.loop import BendShape, LoopPlan, Outline

Points = NDArray[np.float64]
"""Places, (n, 2), m."""

_POSE_STEP = 2e-3
_EDGES = 4
"""Poses from one to the next at which edges are looked at, which reach farthest smoothly."""
_RAY_STEP = np.radians(1.0)
_ROUNDS = 8
_SAME_SIDE = 0.05
"""Cosine between normals from which on a body counts as on the same side of the loop."""


@dataclass(frozen=True)
class Poses:
    """Middles of carriers, the direction of their travel, and what points outward of the loop."""

    middle: Points
    travel: Points
    outward: Points


@dataclass(frozen=True)
class Line:
    """The guide centre line of a loop."""

    loop: LoopPlan

    @cached_property
    def bend(self) -> BendShape:
        """The shape of either bend."""
        if self.loop.bend is None:
            raise ValueError("an answer without the shape of its bends cannot be drawn")
        return self.loop.bend

    @property
    def up(self) -> float:
        """Which way across the front straight the back one lies: +1 above it, −1 below."""
        return -1.0 if self.loop.plane == "upright" else 1.0

    @property
    def back_start(self) -> float:
        """Where the back straight begins along the guide, m."""
        return self.loop.straight_m + self.bend.length_m

    def at(self, along: NDArray[np.float64]) -> tuple[Points, NDArray[np.float64]]:
        """Places along the guide, and how far the travel has turned there, rad."""
        along = np.mod(along, self.loop.length_m)
        second = along >= self.back_start
        half = np.where(second, along - self.back_start, along)
        x, y, turned = bend_place(
            np.maximum(half - self.loop.straight_m, 0.0),
            self.bend.radius_m,
            self.bend.transition_m,
        )
        x = np.where(half < self.loop.straight_m, half, self.loop.straight_m + x)
        x = np.where(second, self.loop.straight_m - x, x)
        y = np.where(second, self.loop.width_m - y, y)
        return np.stack([x, self.up * y], axis=-1), turned + np.pi * second

    def poses(self, along: NDArray[np.float64]) -> Poses:
        """Bodies whose two guided points stand on the line, their middle at places along it."""
        base = self.loop.base_m
        if base <= 0.0:
            middle, turned = self.at(along)
            travel = np.stack([np.cos(turned), self.up * np.sin(turned)], axis=-1)
        else:
            half = np.full(along.shape, 0.5 * base)
            for _ in range(_ROUNDS):
                front, rear = self.at(along + half)[0], self.at(along - half)[0]
                apart = np.linalg.norm(front - rear, axis=-1)
                half = half * base / apart
            middle = 0.5 * (front + rear)
            travel = (front - rear) / apart[:, None]
        return Poses(middle, travel, self._outward(travel))

    def _outward(self, travel: Points) -> Points:
        return np.stack([self.up * travel[:, 1], -self.up * travel[:, 0]], axis=-1)

    def aside(self, along: float, outward: float) -> tuple[float, float]:
        """A place so far outward of the guide, inward if it is negative."""
        place, turned = self.at(np.array([along]))
        travel = np.stack([np.cos(turned), self.up * np.sin(turned)], axis=-1)
        x, y = (place + outward * self._outward(travel))[0]
        return float(x), float(y)

    def rectangle(self, along: float, body: Outline) -> Points:
        """Corners of a body whose carrier stands at a place along the guide, (4, 2)."""
        return np.concatenate(self._corners(np.array([along]), body))

    def _corners(self, along: NDArray[np.float64], body: Outline) -> list[Points]:
        """The four corners of a body, each at all places."""
        pose = self.poses(along)
        corners = (
            (body.rear_m, body.inner_m),
            (body.front_m, body.inner_m),
            (body.front_m, body.outer_m),
            (body.rear_m, body.outer_m),
        )
        return [pose.middle + x * pose.travel + y * pose.outward for x, y in corners]

    def swept(self, body: Outline) -> tuple[Points, Points]:
        """Outer and inner edge of what a body sweeps on its way round the loop.

        On each of many lines normal to the guide it is the farthest that the body reaches in any
        pose. The second half of the loop is the first one turned by half a revolution.
        """
        rays = self._rays(body)
        foot, turned = self.at(rays)
        travel = np.stack([np.cos(turned), self.up * np.sin(turned)], axis=-1)
        normal = self._outward(travel)
        inner, outer = self._reach(foot, normal, rays, body)
        edges = []
        for reach in (outer, inner):
            half = foot + reach[:, None] * normal
            centre = np.array([self.loop.straight_m, self.up * self.loop.width_m])
            # Each half ends where the other one begins.
            half = half[:-1]
            edges.append(np.concatenate([half, centre - half]))
        return edges[0], edges[1]

    def _rays(self, body: Outline) -> NDArray[np.float64]:
        """Feet of the normals from the middle of the front to that of the back."""
        straight, bend = self.loop.straight_m, self.bend
        first, last = 0.5 * straight, self.back_start + 0.5 * straight
        swing = min(self._swing(body), 0.5 * straight)
        step = _RAY_STEP * bend.radius_m
        before, along = max(round(swing / step), 2), max(2 * round(0.5 * bend.length_m / step), 2)
        return np.unique(
            np.concatenate(
                [
                    [first, last],
                    np.linspace(straight - swing, straight, before),
                    np.linspace(straight, self.back_start, along + 1),
                    np.linspace(self.back_start, self.back_start + swing, before),
                ]
            )
        )

    def _swing(self, body: Outline) -> float:
        """How far from a bend a body that is partly in it can be, m."""
        return max(-body.rear_m, body.front_m) + self.loop.base_m

    def _reach(
        self, foot: Points, normal: Points, rays: NDArray[np.float64], body: Outline
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Least and greatest distance from each foot along its normal that the body covers.

        An edge that passes a normal reaches farthest smoothly, so that poses close by find it; a
        corner makes a peak, which is found where it crosses the normal.
        """
        swing = self._swing(body)
        start, end = self.loop.straight_m - swing, self.back_start + swing
        dense = np.linspace(start, end, int((end - start) / _POSE_STEP))
        low, high = self._covered(foot, normal, np.concatenate([rays, dense[::_EDGES]]), body)
        inner, outer = low.min(axis=1), high.max(axis=1)
        for corner in self._corners(dense, body):
            away = corner - foot[:, None]
            height = (away * normal[:, None]).sum(axis=-1)
            aside = away[..., 0] * normal[:, None, 1] - away[..., 1] * normal[:, None, 0]
            crosses = (aside[:, 1:] * aside[:, :-1] < 0.0) & (height[:, 1:] > -self.bend.radius_m)
            step = np.where(crosses, aside[:, :-1] - aside[:, 1:], 1.0)
            share = aside[:, :-1] / step
            at = height[:, :-1] + share * (height[:, 1:] - height[:, :-1])
            inner = np.minimum(inner, np.where(crosses, at, np.inf).min(axis=1))
            outer = np.maximum(outer, np.where(crosses, at, -np.inf).max(axis=1))
        return inner, outer

    def _covered(
        self, foot: Points, normal: Points, places: NDArray[np.float64], body: Outline
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """From where to where each normal is inside the body in each pose, (rays, poses)."""
        poses = self.poses(places)
        away = foot[:, None] - poses.middle
        low, high = np.full(away.shape[:2], -np.inf), np.full(away.shape[:2], np.inf)
        for axis, least, most in (
            (poses.travel, body.rear_m, body.front_m),
            (poses.outward, body.inner_m, body.outer_m),
        ):
            first, last = _between((away * axis).sum(axis=-1), normal @ axis.T, least, most)
            low, high = np.maximum(low, first), np.minimum(high, last)
        # Beyond the arc's centre a normal belongs to the other side of the loop.
        here = normal @ poses.outward.T > _SAME_SIDE
        meets = (low <= high) & here & (low > -self.bend.radius_m)
        return np.where(meets, low, np.inf), np.where(meets, high, -np.inf)


def _between(
    place: NDArray[np.float64], rate: NDArray[np.float64], least: float, most: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """From where to where a line at a place, going on at a rate, lies between two limits."""
    inside, still = (place >= least) & (place <= most), np.abs(rate) < 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = (least - place) / rate, (most - place) / rate
    first = np.where(still, np.where(inside, -np.inf, np.inf), np.minimum(*ends))
    last = np.where(still, np.where(inside, np.inf, -np.inf), np.maximum(*ends))
    return first, last
