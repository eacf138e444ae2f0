"""One leg in time: its seven phases of constant jerk, and samples of its motion."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.constants import Array
from recommender.physics.motion import (
    leg_peak_excess,
    speed_change_distance,
    speed_change_ramp,
    speed_change_time,
)


@dataclass(frozen=True, eq=False)
class Profile:
    """Motion by phases of constant jerk, starting at position 0 without acceleration.

    Parameters
    ----------
    start : float, m/s
        Speed at the start.
    durations : ndarray, s
        One for each phase; phases that do not occur last 0 s.
    jerks : ndarray, m/s³
        One for each phase.
    """

    start: float
    durations: Array
    jerks: Array

    @property
    def duration(self) -> float:
        """Time of the whole motion, s."""
        return float(self._ends()[-1])

    def _ends(self) -> Array:
        return np.asarray(np.cumsum(self.durations))

    def sample(self, times: ArrayLike) -> tuple[Array, Array, Array]:
        """Position (m), speed (m/s) and acceleration (m/s²) at given times from the start.

        Parameters
        ----------
        times : array_like, s
            From 0 to `duration`, in any order and shape.

        Returns
        -------
        tuple of three ndarray, of the shape of `times`

        Raises
        ------
        ValueError
            If a time lies outside the motion.

        Examples
        --------
        Over 10 m at 30 m/s³ from rest to rest, speed and acceleration limits out of reach, each
        quarter of the leg lasts (10/60)^(1/3) = 0.5503 s: the acceleration tops out at 16.510 m/s²
        after one, and the speed at 9.0856 m/s after two.

        >>> profile = leg_segments(10.0, 0.0, 0.0, 10.0, 20.0, 30.0)
        >>> position, speed, acceleration = profile.sample(profile.duration * np.arange(5) / 4)
        >>> position.round(4) + 0.0
        array([ 0.    ,  0.8333,  5.    ,  9.1667, 10.    ])
        >>> speed.round(4) + 0.0
        array([0.    , 4.5428, 9.0856, 4.5428, 0.    ])
        >>> acceleration.round(3) + 0.0
        array([  0.  ,  16.51,   0.  , -16.51,   0.  ])
        """
        times = np.asarray(times, dtype=np.float64)
        ends = self._ends()
        if not np.all((times >= 0.0) & (times <= ends[-1])):
            raise ValueError("times must lie between 0 and the duration of the profile")
        t, j = self.durations, self.jerks
        accelerations = np.concatenate(([0.0], np.cumsum(j * t)[:-1]))
        gains = t * (accelerations + t * j / 2.0)
        speeds = self.start + np.concatenate(([0.0], np.cumsum(gains)[:-1]))
        steps = t * (speeds + t * (accelerations / 2.0 + t * j / 6.0))
        positions = np.concatenate(([0.0], np.cumsum(steps)[:-1]))

        phase = np.searchsorted(ends[:-1], times, side="right")
        since = times - np.concatenate(([0.0], ends[:-1]))[phase]
        a, v, jerk = accelerations[phase], speeds[phase], j[phase]
        return (
            np.asarray(positions[phase] + since * (v + since * (a / 2.0 + since * jerk / 6.0))),
            np.asarray(v + since * (a + since * jerk / 2.0)),
            np.asarray(a + since * jerk),
        )


def leg_segments(
    distance: float, start: float, end: float, speed: float, acceleration: float, jerk: float
) -> Profile:
    """Phases of a leg driven in the least time, as timed by `recommender.physics.motion.leg_time`.

    Jerk +j, 0, −j up to the peak speed, 0 along it, and −j, 0, +j down from it.

    Parameters
    ----------
    distance : float, m
        Length of the leg.
    start, end : float, m/s
        Speed at its two ends, where the acceleration is zero.
    speed : float, m/s
        Limit of speed.
    acceleration : float, m/s²
        Limit of acceleration and of deceleration.
    jerk : float, m/s³
        Limit of jerk, finite.

    Returns
    -------
    Profile
        Seven phases.

    Raises
    ------
    ValueError
        If the leg is infeasible or an argument out of range.

    Examples
    --------
    Example 3.9 of [1]_: up for 0.7333 s, along for 1.1433 s, down for 0.8333 s, each change of
    speed with 0.3333 s of jerk at either end.

    >>> leg_segments(10.0, 1.0, 0.0, 5.0, 10.0, 30.0).durations.round(4)
    array([0.3333, 0.0667, 0.3333, 1.1433, 0.3333, 0.1667, 0.3333])

    References
    ----------
    .. [1] L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, section 3.4.
    """
    if not np.isfinite(jerk):
        raise ValueError("jerk must be finite")
    excess = float(leg_peak_excess(distance, start, end, speed, acceleration, jerk))
    if np.isnan(excess):
        raise ValueError("the leg is infeasible: too short for its boundary speeds, or too slow")
    higher = max(start, end)
    changes = np.array([higher - start, higher - end]) + excess
    ramps = speed_change_ramp(changes, acceleration, jerk)
    # What is left of a change without a phase of steady acceleration is rounding.
    steady = np.maximum(speed_change_time(changes, acceleration, jerk) - 2.0 * ramps, 0.0)
    cruise = 0.0
    if excess >= speed - higher:
        ramps_distance = speed_change_distance([start, end], speed, acceleration, jerk).sum()
        cruise = max(distance - float(ramps_distance), 0.0) / speed
    up, down = zip(ramps, steady, strict=True)
    durations = np.array([*up, up[0], cruise, *down, down[0]], dtype=np.float64)
    jerks = jerk * np.array([1.0, 0.0, -1.0, 0.0, -1.0, 0.0, 1.0])
    durations.flags.writeable = jerks.flags.writeable = False
    return Profile(float(start), durations, jerks)
