"""One leg in plain numbers: the phases of `recommender.physics.profile.leg_segments`, one by one.

A run times ten thousands of legs, each when it comes up, so that arrays are no help: this takes a
tenth of the time. The tests compare the two.
"""

from math import sqrt
from typing import Final

_MOST_HALVINGS: Final = 200


def leg_phases(
    distance: float, start: float, end: float, speed: float, acceleration: float, jerk: float
) -> tuple[list[float], list[float]] | None:
    """Durations, s, and jerks of the seven phases of a leg; ``None`` if it is infeasible.

    The distance of both speed changes rises with the peak speed, which is found by secants that
    keep the peak between them (regula falsi as Illinois has it, [1]_).

    Examples
    --------
    Example 3.9 of [2]_:

    >>> durations, _ = leg_phases(10.0, 1.0, 0.0, 5.0, 10.0, 30.0)
    >>> [round(duration, 4) for duration in durations]
    [0.3333, 0.0667, 0.3333, 1.1433, 0.3333, 0.1667, 0.3333]

    References
    ----------
    .. [1] M. Dowell and P. Jarratt, A modified regula falsi method for computing the root of an
       equation, BIT 11 (1971) 168-174.
    .. [2] L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, section 3.4.
    """

    def change(by: float) -> float:
        whole = acceleration * acceleration / jerk
        return by / acceleration + acceleration / jerk if by >= whole else 2.0 * sqrt(by / jerk)

    def beyond(peak: float) -> float:
        up = change(peak - start) * (peak + start)
        return 0.5 * (up + change(peak - end) * (peak + end)) - distance

    higher = max(start, end)
    low, high = beyond(higher), beyond(speed) if speed > higher else beyond(higher)
    slack = 1e-12 * max(distance, 1e-3)
    if higher > speed * (1.0 + 1e-12) or low > slack:
        return None
    peak, cruise = higher, 0.0
    if high <= 0.0:
        peak = max(speed, higher)
        cruise = -high / peak if peak > 0.0 else 0.0
    elif low < -slack:
        peak = _root(beyond, higher, speed, low, high, slack)
    durations: list[float] = []
    for by in (peak - start, peak - end):
        whole = change(by)
        ramp = min(acceleration / jerk, 0.5 * whole)
        durations += [ramp, max(whole - 2.0 * ramp, 0.0), ramp]
    durations.insert(3, cruise)
    return durations, [jerk, 0.0, -jerk, 0.0, -jerk, 0.0, jerk]


def _root(
    beyond: object, low: float, high: float, at_low: float, at_high: float, slack: float
) -> float:
    """Where a rising function is nil between two arguments."""
    assert callable(beyond)
    side = 0
    for _ in range(_MOST_HALVINGS):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = float(beyond(middle))
        if abs(value) <= slack or high - low < 1e-15:
            return middle
        if value > 0.0:
            high, at_high = middle, value
            at_low, side = (0.5 * at_low if side == 1 else at_low), 1
        else:
            low, at_low = middle, value
            at_high, side = (0.5 * at_high if side == -1 else at_high), -1
    return 0.5 * (low + high)
