"""Motion settings as arrays: acceleration, jerk, top speed and speed in bends."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from recommender.physics.constants import Array


@dataclass(frozen=True)
class Settings:
    """Motion settings as arrays of one shape (settings,), SI."""

    acceleration: Array
    jerk: Array
    speed: Array
    bend_speed: Array

    @staticmethod
    def single(acceleration: float, jerk: float, speed: float, bend_speed: float) -> "Settings":
        """One setting."""
        return Settings(*(np.array([v]) for v in (acceleration, jerk, speed, bend_speed)))

    def __len__(self) -> int:
        return len(self.acceleration)

    def quickest(self) -> "Settings":
        """One setting that is in every respect as quick as the quickest of these."""
        return Settings.single(
            self.acceleration.max(), self.jerk.max(), self.speed.max(), self.bend_speed.max()
        )

    def take(self, rows: Any) -> "Settings":
        """The settings of some rows (indices or a mask)."""
        return Settings(
            self.acceleration[rows], self.jerk[rows], self.speed[rows], self.bend_speed[rows]
        )
