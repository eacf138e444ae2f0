"""Motion settings to look at: each option's own limits first, and a grid below them.

What a carrier may do on straights depends on its acceleration alone, what it may do in bends on its
bend speed alone. So the largest acceleration and the largest bend speed that an option's checks
allow are found along one axis each; the grid then ends exactly there, and the top speed ends where
the drive force asked for at that acceleration still can be had.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.load_cases import CaseLoads
from recommender.choice.checks.entry import HOLDS, Check
from recommender.inputs.case import Case
from recommender.physics.constants import Array


@dataclass(frozen=True)
class Grid:
    """How finely settings are looked at: steps on each axis.

    A grid of twice the steps holds all points of this one.
    """

    accelerations: int = 12
    speeds: int = 9
    bend_speeds: int = 16
    ramp_times: int = 4
    search: int = 32

    def doubled(self) -> "Grid":
        """Twice the steps on every axis."""
        return Grid(
            2 * self.accelerations,
            2 * self.speeds,
            2 * self.bend_speeds,
            2 * self.ramp_times,
            self.search,
        )


# Points right at a limit that was found by interpolation: some hold, some do not.
_AROUND = np.array([0.97, 0.985, 0.993, 0.998, 1.0, 1.004, 1.012])


def worst(checks: tuple[Check[CaseLoads], ...], loads: CaseLoads) -> Array:
    """Largest utilisation over some checks, (options, settings)."""
    return np.asarray(
        np.max(
            [
                outcome.utilisation()
                for check in checks
                if (outcome := check.evaluate(loads)) is not None
            ],
            axis=0,
        )
    )


def axis_points(
    batch: Batch,
    run: Callable[[Batch, Array], CaseLoads],
    checks: tuple[Check[CaseLoads], ...],
    least: Array,
    greatest: Array,
    points: int,
    search: int,
) -> Array:
    """Points along one axis of settings, up to each option's own limit, (options, points).

    Parameters
    ----------
    batch : Batch
    run : callable
        Load cases for an array of settings along this axis.
    checks : tuple of Check
        What must hold along this axis; utilisation rises with the setting.
    least, greatest : array (options, 1)
        Ends of the axis.
    points, search : int
        Points to return below the limit, and points to find it with.

    Returns
    -------
    ndarray (options, points + 7)
        Ascending. Where nothing holds the points span the whole axis.
    """
    share = np.linspace(0.0, 1.0, search)
    tried = least * (greatest / least) ** share
    limit = _crossing(tried, worst(checks, run(batch, tried)), greatest)
    near = limit * _AROUND
    # Equal steps of the root: fine where lap times change fastest, at the low end.
    low, high = np.sqrt(least), np.sqrt(np.maximum(limit * _AROUND[0], least))
    below = (low + (high - low) * np.linspace(0.0, 1.0, points + 1)[:-1]) ** 2
    return np.asarray(np.clip(np.concatenate([below, near], axis=-1), least, greatest))


def _crossing(tried: Array, used: Array, greatest: Array) -> Array:
    """Where the utilisation reaches 1, by interpolation between logarithms, (options, 1)."""
    count = tried.shape[1]
    holds = used <= HOLDS
    last = np.where(holds.any(axis=1), count - 1 - np.argmax(holds[:, ::-1], axis=1), -1)
    rows = np.arange(len(tried))
    here, there = np.clip(last, 0, count - 2), np.clip(last + 1, 1, count - 1)
    u0, u1 = used[rows, here], used[rows, there]
    a0, a1 = tried[rows, here], tried[rows, there]
    inside = (last >= 0) & (last < count - 1) & np.isfinite(u1) & (u1 > u0) & (u0 > 0)
    ratio = np.zeros(len(tried))
    np.divide(
        -np.log(np.where(inside, u0, 1.0)),
        np.log(np.where(inside, u1 / np.where(u0 > 0, u0, 1.0), math.e)),
        out=ratio,
        where=inside,
    )
    limit = a0 * (a1 / a0) ** ratio
    return np.where((last >= 0) & (last < count - 1), limit, greatest[:, 0])[:, None]


def jerk_for(acceleration: Array, ramp_time: Array | float, case: Case) -> Array:
    """Jerk that builds the acceleration up in the ramp time, or the enquiry's if that is less."""
    jerk = acceleration / ramp_time
    ceiling = case.limits.jerk
    return np.asarray(jerk if ceiling is None else np.minimum(jerk, ceiling))
