"""Which load cases there are, and where gravity points in each.

On a flat loop gravity runs along -z everywhere. On an upright loop it lies in the plane of the
loop: inward on the upper run, outward on the lower run, and turning in the bends, which are looked
at every 15 degrees.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from recommender.inputs.case import Case
from recommender.physics.constants import STANDARD_GRAVITY
from recommender.physics.loads import upright_gravity

Vector = tuple[float, float, float]
_FLAT: Vector = (0.0, 0.0, -STANDARD_GRAVITY)
_NOTHING: Vector = (0.0, 0.0, 0.0)
_STEP = 15


@dataclass(frozen=True)
class Direction:
    """One load case: what the carrier does, where gravity points, what a process presses.

    ``weight`` is the case's share of the distance travelled in cases of its kind. Entering and
    leaving are looked at twice, ``turning`` round already and not yet: only both together bound
    what happens in between. So are emergency stops there, which nothing travels under.
    ``station`` names where a process presses.
    """

    name: str
    kind: str
    gravity: Vector
    weight: float = 0.0
    force: Vector = _NOTHING
    turning: bool = False
    station: str = ""


_STRAIGHT = {
    "speeding up": "speeding up",
    "braking": "braking",
    "cruising": "cruising",
    "emergency": "emergency stop",
}


def straight_directions(case: Case) -> tuple[Direction, ...]:
    """Load cases on straights."""
    return tuple(_on_straights(case))


def _on_straights(case: Case) -> Iterator[Direction]:
    for run, gravity in _runs(case):
        weight = 0.5 if run else 1.0
        for kind, name in _STRAIGHT.items():
            yield Direction(f"{name}{run or ' on a straight'}", kind, gravity, weight)
        for station in case.station:
            if any(station.force):
                yield Direction(
                    f"process force at {station.name}{run}",
                    "process",
                    gravity,
                    force=station.force,
                    station=station.name,
                )


def _runs(case: Case) -> tuple[tuple[str, Vector], ...]:
    if case.loop.plane == "flat":
        return (("", _FLAT),)
    return (
        (" on the upper run", _gravity(0.0)),
        (" on the lower run", _gravity(180.0)),
    )


def turning_directions(case: Case) -> tuple[Direction, ...]:
    """Load cases in bends and at their ends."""
    return tuple(_in_flat_bends() if case.loop.plane == "flat" else _in_upright_bends())


def _in_flat_bends() -> Iterator[Direction]:
    yield Direction("in the bend", "turning", _FLAT, 1.0, turning=True)
    yield from _bend_ends("the bend", _FLAT, _FLAT, 1.0)
    yield Direction("emergency stop in the bend", "emergency turning", _FLAT, turning=True)


def _in_upright_bends() -> Iterator[Direction]:
    for bend, first in (("downward", 0), ("upward", 180)):
        angles = range(first, first + 180 + _STEP, _STEP)
        for angle in angles:
            place = f"in the {bend} bend, {angle - first}° round"
            # The two ends stand for half a step each.
            share = (0.5 if angle in (angles[0], angles[-1]) else 1.0) / (2.0 * (len(angles) - 1))
            gravity = _gravity(angle)
            yield Direction(place, "turning", gravity, share, turning=True)
            stop = f"emergency stop {place}"
            yield Direction(stop, "emergency turning", gravity, turning=True)
        yield from _bend_ends(f"the {bend} bend", _gravity(first), _gravity(first + 180), 0.5)


def _bend_ends(bend: str, first: Vector, last: Vector, weight: float) -> Iterator[Direction]:
    for kind, gravity in (("entering", first), ("leaving", last)):
        for turning in (True, False):
            moment = (
                "" if turning else ", first instant" if kind == "entering" else ", last instant"
            )
            name = f"{kind} {bend}{moment}"
            yield Direction(name, kind, gravity, 0.5 * weight, turning=turning)
            stop = f"emergency stop {name}"
            yield Direction(stop, f"emergency {kind}", gravity, turning=turning)


def _gravity(degrees: float) -> Vector:
    x, y, z = upright_gravity(np.radians(degrees))
    return float(x), float(y), float(z)
