"""The exact takt against carriers that are driven step by step, by sight of the one ahead.

No events and no waits here: every carrier accelerates as long as it could still stop at its
station, or one spacing behind where the carrier ahead would stop if it braked at once.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from recommender.physics.motion import leg_time
from recommender.physics.takt import exact_takt

STEP = 0.001  # one step is a lag from carrier to carrier, so it has to be short
DURATION = 70.0
SPACING = 0.3


class Fleets:
    """Several loops side by side: loops on the first axis, carriers or stations on the last."""

    def __init__(self, random: np.random.Generator, loops: int) -> None:
        self.stations = random.integers(1, 5, loops)
        shape = (loops, 4)
        used = np.arange(4) < self.stations[:, np.newaxis]
        self.gaps = np.where(used, 1.0 + random.uniform(0.0, 1.0, shape) ** 2 * 4.0, 0.0)
        self.gaps[:, 0] += 0.5  # or a carrier alone on its loop would see its own tail
        self.dwells = np.where(used, random.uniform(0.0, 1.5, shape), 0.0)
        self.speed = random.uniform(0.8, 2.0, (loops, 1))
        self.acceleration = random.uniform(2.0, 6.0, (loops, 1))
        # In a loop full to the last half spacing a carrier that stops because it cannot know when
        # the next one leaves loses more, 3.5 % with a tenth of a spacing to spare.
        most = np.maximum(self.gaps.sum(axis=-1) - 0.5, 1.0).astype(int)
        self.carriers = random.integers(1, most + 1)

    def exact(self, loop: int) -> float:
        def run(distance: float) -> float:
            limits = self.speed[loop, 0], self.acceleration[loop, 0], np.inf
            return float(leg_time(max(distance, 0.0) * SPACING, 0.0, 0.0, *limits))

        gaps = self.gaps[loop, : self.stations[loop]]
        return exact_takt(
            [run(gap) for gap in gaps],
            self.dwells[loop, : self.stations[loop]],
            run(1.0),
            gaps,
            1,
            int(self.carriers[loop]),
            room=lambda _, distance: run(distance),
        )

    def next_speed(
        self, at: NDArray[np.float64], speed: NDArray[np.float64], stop: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Highest speed after a step from which the carrier can still stop where it has to."""
        change = self.acceleration * STEP
        left = stop - at - speed * STEP / 2.0
        root = np.square(change / 2.0) + 2.0 * self.acceleration * left
        allowed = np.sqrt(np.maximum(root, 0.0)) - change / 2.0
        allowed = np.clip(np.minimum(allowed, self.speed), speed - change, speed + change)
        return np.maximum(allowed, 0.0)

    def drive(self) -> list[list[float]]:
        """Times at which carriers come to rest at the first station, for every loop."""
        loops, fleet = len(self.stations), int(self.carriers.max())
        row = np.arange(loops)[:, np.newaxis]
        real = np.arange(fleet) < self.carriers[:, np.newaxis]
        ahead = np.tile(np.arange(fleet) - 1, (loops, 1))
        ahead[:, 0] = self.carriers - 1
        length = self.gaps.sum(axis=-1, keepdims=True) * SPACING
        lap_ahead = np.where(np.arange(fleet) == 0, length, 0.0)
        stations = (np.cumsum(self.gaps, axis=-1) - self.gaps) * SPACING
        at = np.tile(-np.arange(fleet) * SPACING, (loops, 1))
        speed, stands = np.zeros_like(at), np.full(at.shape, -1.0)
        station, lap = np.zeros(at.shape, dtype=int), np.zeros_like(at)
        starts: list[list[float]] = [[] for _ in range(loops)]
        for step in range(int(DURATION / STEP)):
            goal = lap * length + stations[row, station]
            braking = np.square(speed[row, ahead]) / (2.0 * self.acceleration)
            behind = at[row, ahead] + lap_ahead + braking - SPACING
            working = stands > 0.0
            driven = self.next_speed(at, speed, np.minimum(goal, behind))
            driven = np.where(working, 0.0, driven)
            at, speed = at + (speed + driven) * STEP / 2.0, driven
            stands = stands - STEP
            done = working & (stands <= 0.0)
            arrived = real & ~working & (goal - at < 1e-5) & (speed < self.acceleration * STEP)
            for loop, carrier in np.argwhere(arrived | (done & real)):
                if arrived[loop, carrier]:
                    speed[loop, carrier] = 0.0
                    stands[loop, carrier] = self.dwells[loop, station[loop, carrier]]
                    if station[loop, carrier] == 0:
                        starts[loop].append(step * STEP)
                if stands[loop, carrier] <= 0.0:
                    station[loop, carrier] = (station[loop, carrier] + 1) % self.stations[loop]
                    lap[loop, carrier] += station[loop, carrier] == 0
        return starts


def test_driven_carriers_keep_the_exact_takt() -> None:
    fleets = Fleets(np.random.default_rng(4), loops=24)
    for loop, starts in enumerate(fleets.drive()):
        laps = (len(starts) // 2) // fleets.carriers[loop]
        passages = int(laps * fleets.carriers[loop])
        assert passages > 0
        driven = (starts[-1] - starts[-1 - passages]) / passages
        assert driven == pytest.approx(fleets.exact(loop), rel=5e-3)
