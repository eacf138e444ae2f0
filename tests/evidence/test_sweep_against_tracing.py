"""Floor that bodies sweep in bends, against bodies traced through them in small steps.

The guide line is put together from scipy's Fresnel integrals, a circle and its mirror image, and
the front guided point is found by halving; nothing is shared with what is compared.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import fresnel

from recommender.physics.bend import bend_depth, bend_width
from recommender.physics.sweep import sweep_across, sweep_beyond

Points = NDArray[np.complex128]
STEPS = 3000


@dataclass(frozen=True)
class GuideLine:
    """A straight along +x that ends at 0, and a 180° bend of radius 1 toward −y behind it."""

    transition: float

    @property
    def length(self) -> float:
        return float(np.pi + self.transition)

    @property
    def centre(self) -> complex:
        turned = 0.5 * self.transition
        return complex(self._clothoid(np.array([self.transition]))[0]) - 1j * np.exp(-1j * turned)

    def _clothoid(self, along: NDArray[np.float64]) -> Points:
        if self.transition == 0.0:
            return np.zeros(len(along), dtype=np.complex128)
        scale = np.sqrt(np.pi * self.transition)
        sine, cosine = fresnel(along / scale)
        return scale * (cosine - 1j * sine)

    def at(self, along: NDArray[np.float64]) -> Points:
        """Places at distances from the end of the straight; x along, y to the left."""
        mirrored = along > 0.5 * self.length
        entry = np.where(mirrored, self.length - along, along)
        turned = 0.5 * self.transition + entry - self.transition
        place = self.centre + 1j * np.exp(-1j * turned)
        eased = entry < self.transition
        place[eased] = self._clothoid(entry[eased])
        straight = entry < 0.0
        place[straight] = entry[straight]
        return np.where(mirrored, 2j * self.centre.imag + place.conj(), place)

    def chords(self, rear: NDArray[np.float64], base: float) -> tuple[Points, Points]:
        """Rear points and directions of chords of one length; tangents if it is next to nothing."""
        start = self.at(rear)
        # Half a circle is the most that a chord of this length can span.
        near, far = rear.copy(), rear + 0.5 * np.pi * base + 1e-9
        for _ in range(60):
            middle = 0.5 * (near + far)
            beyond = np.abs(self.at(middle) - start) >= base
            near, far = np.where(beyond, near, middle), np.where(beyond, middle, far)
        side = self.at(far) - start
        return start, side / np.abs(side)


@dataclass(frozen=True)
class Body:
    """A rectangle on guided points: its outer edge, and how far it reaches ahead and behind."""

    transition: float
    base: float
    outer: float
    ahead: float
    behind: float

    def swept(self) -> tuple[float, float]:
        """How far it comes left of the straight's line, or of the other straight's line on the
        other side, and how far beyond the end of the straights."""
        line = GuideLine(self.transition)
        base = max(self.base, 1e-6)
        margin = base + self.ahead + self.behind
        rear = np.linspace(-margin, line.length + margin - base, STEPS)
        start, direction = line.chords(rear, base)
        corners = np.concatenate(
            [
                start + direction * (0.5 * base + x + 1j * self.outer)
                for x in (self.ahead, -self.behind)
            ]
        )
        width = -2.0 * line.centre.imag
        return max(corners.imag.max(), -corners.imag.min() - width), corners.real.max()

    def bounds(self) -> tuple[float, float]:
        half = max(self.ahead, self.behind)
        arguments = (1.0, self.transition, self.outer, half, self.base)
        return float(sweep_across(*arguments)), float(sweep_beyond(*arguments))


def drawn(count: int, seed: int, *, usual: bool) -> list[Body]:
    """Random bodies; usual ones on a base up to the radius and a clothoid up to half of it."""
    random = np.random.default_rng(seed)
    bodies = []
    for _ in range(count):
        transition = random.choice([0.0, random.uniform(0.0, 0.5 if usual else np.pi)])
        base = random.choice([0.0, random.uniform(0.02, 1.0 if usual else 1.95)])
        half, share = random.uniform(0.02, 0.8 if usual else 1.5), random.uniform(0.3, 1.0)
        outer = random.uniform(0.02, 1.0) if usual else random.uniform(-0.9, 2.5)
        ahead, behind = random.permutation([half, share * half])
        # A body whose outer edge lies inward of the bend's centre is carried across it.
        inner = np.sqrt(1.0 - 0.25 * base**2)
        bodies.append(Body(transition, base, max(outer, -inner), float(ahead), float(behind)))
    return bodies


def test_guide_line_joins_straights_as_far_apart_as_the_bend_is_wide() -> None:
    for transition in (0.0, 0.4, 2.0, np.pi):
        line = GuideLine(transition)
        joints = np.array([0.0, transition, 0.5 * line.length, line.length - transition])
        for joint in (*joints, line.length):
            place = line.at(np.array([joint - 1e-9, joint + 1e-9]))
            assert abs(place[1] - place[0]) == pytest.approx(2e-9, abs=1e-12)
        end, tip = line.at(np.array([line.length, 0.5 * line.length]))
        assert -end.imag == pytest.approx(float(bend_width(1.0, transition)))
        assert tip.real == pytest.approx(float(bend_depth(1.0, transition)))


@pytest.mark.parametrize("usual", [True, False])
def test_no_body_sweeps_more_than_its_bound(usual: bool) -> None:
    for body in drawn(200, 21 + usual, usual=usual):
        for swept, bound in zip(body.swept(), body.bounds(), strict=True):
            # The tangent of a chord next to nothing has digits left for no more.
            assert swept <= bound + 1e-9, body


def test_bounds_of_usual_bodies_are_close() -> None:
    """Of the radius; steps of the tracing miss less than a hundred thousandth of it."""
    excess = np.array(
        [np.subtract(body.bounds(), body.swept()) for body in drawn(200, 23, usual=True)]
    )
    plain = np.array([body.transition == 0.0 for body in drawn(200, 23, usual=True)])
    assert excess[plain, 0].max() < 1e-5
    assert 1e-5 < excess[:, 0].max() < 0.012
    assert excess[:, 1].max() < 1e-5


def test_bounds_are_no_wider_than_the_swing_about_the_arc() -> None:
    for body in drawn(300, 24, usual=True):
        half = max(body.ahead, body.behind)
        swing = float(np.hypot(1.0 + body.outer, half)) - 1.0
        across, beyond = body.bounds()
        assert across <= swing + 1e-12
        assert beyond <= float(bend_depth(1.0, body.transition)) + swing + 1e-12
