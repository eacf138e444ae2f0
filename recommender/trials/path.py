"""Ways of one carrier from rest to rest, in the phases of constant jerk that its drive runs.

The legs are those of the answer (`recommender.physics.profile`), timed one by one: as fast as the
limits allow, with the speed of bends held where a bend is. What an answer never asks of a leg
happens here as well: a carrier that waits in a bend, or so close to one that it cannot reach the
bend's speed before, keeps to that speed until it is out; and one whose way becomes free while it
moves goes on without a stop.
"""

import math
from bisect import bisect_right
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Final

import numpy as np

from recommender.physics.constants import Array
from recommender.physics.motion import speed_change_distance
from recommender.trials.leg import leg_phases
from recommender.trials.track import Limits, Track

GRID: Final = 0.01
"""Time from one sample of a way to the next, s."""

_TINY: Final = 1e-9
_MOST_TIMED: Final = 200_000

Phase = tuple[float, float, float, float, float]
"""Begin, s; place, m; speed; acceleration; jerk."""
_Timed = tuple[list[float], list[float]]
Stretch = tuple[float, float]
"""Length, m, and limit of speed."""


@dataclass(frozen=True, eq=False)
class Path:
    """A way from rest to rest.

    It begins within the first lap. ``joints`` are the phases at which a leg begins: there the
    acceleration is nil.
    """

    track: Track
    start: float
    stop: float
    phases: tuple[Phase, ...]
    joints: tuple[int, ...]
    duration: float
    kept: bool = field(default=False)
    """Whether it is one of those that come again and again."""

    def state(self, elapsed: float) -> tuple[float, float, float]:
        """Place, speed and acceleration some time after the start."""
        begin, x, v, a, j = self.phases[max(bisect_right(self.begins, elapsed) - 1, 0)]
        t = elapsed - begin
        return (x + t * (v + t * (a / 2.0 + t * j / 6.0)), v + t * (a + t * j / 2.0), a + t * j)

    @cached_property
    def begins(self) -> list[float]:
        """Instants at which the phases begin, s."""
        return [phase[0] for phase in self.phases]

    @cached_property
    def spacings(self) -> Array:
        """The places of `samples` in spacings."""
        return self.track.all_spacings(self.samples[0])

    @cached_property
    def times(self) -> Array:
        """Instants at which the way is sampled, the last one at its end, s."""
        return np.append(np.arange(0.0, self.duration, GRID), self.duration)

    @cached_property
    def samples(self) -> tuple[Array, Array, Array]:
        """Place, speed and acceleration at those instants."""
        begin, x, v, a, j = np.array(self.phases).T
        k = np.searchsorted(begin[1:], self.times, side="right")
        t, a, j = self.times - begin[k], a[k], j[k]
        place = x[k] + t * (v[k] + t * (a / 2.0 + t * j / 6.0))
        place[-1] = self.stop
        return place, v[k] + t * (a + t * j / 2.0), a + t * j


class Paths:
    """Ways on one track; those that come again are kept."""

    def __init__(self, track: Track) -> None:
        self.track = track
        self._kept: dict[tuple[float, float], Path] = {}
        self._timed: dict[tuple[float, float, float, float], _Timed | None] = {}
        self._shared: dict[tuple[int, int], float] = {}

    def between(self, start: float, stop: float) -> Path:
        """The quickest way between two places, the second one ahead, m.

        Its places count from within the first lap.
        """
        lap = math.floor(start / self.track.length) * self.track.length
        start, stop = start - lap, stop - lap
        key = round(start, 7), round(stop, 7)
        found = self._kept.get(key)
        if found is None:
            legs = self._legs(start, 0.0, stop)
            assert legs is not None
            found = self._kept[key] = _joined(self.track, (), 0.0, start, legs, kept=True)
        return found

    def go_on(self, path: Path, elapsed: float, stop: float) -> Path | None:
        """A way that is under way and now leads on to a farther place; None if it had better stop.

        It goes over into the quickest way to there, or lets its acceleration fade and speeds up
        again, or goes on from where its next leg begins, whichever arrives first.
        """
        fresh = self.between(path.start, stop)
        if elapsed <= self._shared_time(path, fresh):
            return fresh
        found = [entry for entry in self._branches(path, elapsed, stop) if entry is not None]
        best = min(found, key=lambda entry: entry.duration, default=None)
        halting = path.duration + self.between(path.stop, stop).duration
        return best if best is not None and best.duration < halting - _TINY else None

    def _shared_time(self, one: Path, other: Path) -> float:
        """As `shared_time`, remembered for ways that come again."""
        if not (one.kept and other.kept):
            return shared_time(one, other)
        key = id(one), id(other)
        if key not in self._shared:
            self._shared[key] = shared_time(one, other)
        return self._shared[key]

    def _branches(self, path: Path, elapsed: float, stop: float) -> list[Path | None]:
        found = [self._fading(path, elapsed, stop)]
        for joint in path.joints:
            begin, x, v, _, _ = path.phases[joint]
            if begin > elapsed:
                legs = self._legs(x, v, stop)
                found.append(
                    _joined(self.track, path.phases[:joint], begin, path.start, legs, x, v)
                    if legs
                    else None
                )
        return found

    def _fading(self, path: Path, elapsed: float, stop: float) -> Path | None:
        x, v, a = path.state(elapsed)
        jerk = self.track.limits.jerk
        fade = abs(a) / jerk
        before = path.phases[: max(bisect_right(path.begins, elapsed), 1)]
        if fade > 0.0:
            j = -jerk if a > 0.0 else jerk
            before = (*before, (elapsed, x, v, a, j))
            x += fade * (v + fade * (a / 2.0 + fade * j / 6.0))
            v = max(v + fade * a / 2.0, 0.0)
        if v > self.track.limits.speed + _TINY:
            return None
        legs = self._legs(x, v, stop)
        return _joined(self.track, before, elapsed + fade, path.start, legs, x, v) if legs else None

    def _legs(self, start: float, speed: float, stop: float) -> "list[_Leg] | None":
        """Quickest legs from a speed at a place to rest at another; None if it cannot stop."""
        limits = self.track.limits
        stretches = _merged(self._stretches(start, stop), speed, limits)
        if stretches is None:
            return None
        legs, v = [], speed
        for number, (length, limit) in enumerate(stretches):
            end = limits.bend_speed if number < len(stretches) - 1 else 0.0
            if v > limit + _TINY:
                return None
            timed = self._time(length, min(v, limit), end, limit)
            if timed is None:
                return None
            legs.append(_Leg(length, v, *timed))
            v = end
        return legs

    def _time(self, length: float, start: float, end: float, limit: float) -> "_Timed | None":
        """Durations and jerks of one leg, as often as it comes; None if it is too short."""
        key = round(length, 8), round(start, 8), end, limit
        if key not in self._timed:
            limits = self.track.limits
            if len(self._timed) > _MOST_TIMED:
                self._timed.clear()
            self._timed[key] = leg_phases(
                length, start, end, limit, limits.acceleration, limits.jerk
            )
        return self._timed[key]

    def _stretches(self, start: float, stop: float) -> list[Stretch]:
        track, limits = self.track, self.track.limits
        marks = [
            (a + lap * track.length, b + lap * track.length)
            for lap in range(int(start // track.length) - 1, int(stop // track.length) + 1)
            for a, b in track.slow
        ]
        found: list[Stretch] = []
        at = start
        for a, b in marks:
            for end, limit in ((a, limits.speed), (b, limits.bend_speed)):
                length = min(end, stop) - at
                if length > _TINY:
                    found.append((length, limit))
                    at += length
        if stop - at > _TINY:
            found.append((stop - at, limits.speed))
        return found


@dataclass(frozen=True)
class _Leg:
    length: float
    speed: float
    durations: list[float]
    jerks: list[float]


def _merged(stretches: list[Stretch], speed: float, limits: Limits) -> list[Stretch] | None:
    """Stretches between which a carrier can have the speed of bends, as few joined as may be."""
    stretches = list(stretches)
    for _ in range(2 * len(stretches)):
        if len(stretches) < 2:
            return stretches
        if not _reaches(stretches[0], speed, limits):
            if speed > limits.bend_speed:
                return None
            stretches = _taken_in(stretches, speed, limits)
        elif not _reaches(stretches[-1], 0.0, limits):
            stretches = _taken_in(stretches[::-1], 0.0, limits)[::-1]
        else:
            return stretches
    # There is no room for bend speed between its two ends.
    return [(sum(length for length, _ in stretches), limits.bend_speed)]


def _reaches(stretch: Stretch, speed: float, limits: Limits) -> bool:
    return stretch[0] >= _way_to_bend_speed(speed, limits) - _TINY


@lru_cache(maxsize=4096)
def _way_to_bend_speed(speed: float, limits: Limits) -> float:
    return float(speed_change_distance(speed, limits.bend_speed, limits.acceleration, limits.jerk))


def _taken_in(stretches: list[Stretch], speed: float, limits: Limits) -> list[Stretch]:
    """The first stretch with all of the next one, or with so much that bend speed is reached."""
    (length, limit), (behind, next_limit), *others = stretches
    lacking = _way_to_bend_speed(speed, limits) - length
    if limit > limits.bend_speed or behind <= lacking + _TINY:
        return [(length + behind, limits.bend_speed), *others]
    return [(length + lacking, limit), (behind - lacking, next_limit), *others]


def shared_time(one: Path, other: Path) -> float:
    """How long two ways from the same place are the same, s."""
    for number, (a, b) in enumerate(zip(one.phases, other.phases, strict=False)):
        if abs(a[0] - b[0]) > _TINY:
            return min(a[0], b[0])
        if a[4] != b[4] or abs(a[2] - b[2]) > _TINY:
            return a[0]
        if number == len(one.phases) - 1:
            return one.duration
    return min(one.duration, other.duration)


def _joined(
    track: Track,
    before: tuple[Phase, ...],
    begin: float,
    start: float,
    legs: list[_Leg],
    at: float | None = None,
    speed: float = 0.0,
    *,
    kept: bool = False,
) -> Path:
    """A way of phases that are run already and legs that follow."""
    phases, joints = list(before), []
    t, x, v = begin, start if at is None else at, speed
    for leg in legs:
        joints.append(len(phases))
        goal, v, a = x + leg.length, leg.speed, 0.0
        for duration, jerk in zip(leg.durations, leg.jerks, strict=True):
            if duration <= 0.0:
                continue
            phases.append((t, x, v, a, jerk))
            x += duration * (v + duration * (a / 2.0 + duration * jerk / 6.0))
            v += duration * (a + duration * jerk / 2.0)
            a += duration * jerk
            t += duration
        x = goal
    return Path(track, start, x, tuple(phases), tuple(joints), t, kept)
