"""Where the stations stand on a loop of given straights and bends.

The front straight runs from 0 to S along the guide centre line, then comes a bend, the back
straight, and the second bend. Stations keep their order along the travel. For a given share-out
of the stations between the two straights, what is asked of the places is a system of difference
constraints, so its least and its greatest solution are found by relaxation, and any mean of the two
satisfies every constraint as well. The stations of one straight are spread between the two
solutions, the first nearer to the least and the last nearer to the greatest, which also widens the
gaps between them. These placements are only tried first: the best configuration gets round places
from the seating model, and the proof covers all of them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise, product

from recommender.inputs.case import Station

Window = tuple[float, float]

_TOLERANCE = 1e-9
_MOST_WINDOWS = 256


@dataclass(frozen=True)
class Loop:
    """A closed guideway: straights of length ``straight`` and bends of length ``bend``, m."""

    straight: float
    bend: float

    @property
    def length(self) -> float:
        """Length of the guide centre line, m."""
        return 2.0 * (self.straight + self.bend)

    @property
    def back_start(self) -> float:
        """Where the back straight begins, m."""
        return self.straight + self.bend


@dataclass(frozen=True)
class Placement:
    """Station places along the guide, m, and the distance from each to the next, m."""

    at: tuple[float, ...]
    gaps: tuple[float, ...]


def place_step(straight: float) -> float:
    """Distances from the start of a straight at which stations stand are multiples of this, m.

    Some hundred places on a straight are enough; common practice, no source.

    Examples
    --------
    >>> place_step(1.4), place_step(8.0), place_step(30.0)
    (0.01, 0.02, 0.05)
    """
    return 0.01 if straight <= 5.0 else 0.02 if straight <= 10.0 else 0.05


def end_room(station: Station, spacing: float) -> float:
    """How far a station reaches beyond the carriers that stand at it, to either side, m.

    It stands in the middle of its carriers; negative where it is shorter than their row.

    Examples
    --------
    A station of 1.2 m round two carriers 0.4 m apart:

    >>> fill = {"name": "fill", "dwell": "1 s", "length": "1.2 m", "positions": 2}
    >>> round(end_room(Station.model_validate(fill), 0.4), 9)
    0.4
    """
    return 0.5 * ((station.length or 0.0) - (station.positions - 1) * spacing)


def apart(stations: Sequence[Station], spacing: float) -> list[float]:
    """Way to each station from the one before that the enquiry asks for, m.

    What it says itself, and that the two do not overlap: between their middles half the sum of
    their lengths, if both are given. Places are those of the first carriers.

    Examples
    --------
    >>> names = {"a": "0.8 m", "b": "1.2 m"}
    >>> stations = [
    ...     Station.model_validate({"name": n, "dwell": "1 s", "length": text})
    ...     for n, text in names.items()
    ... ]
    >>> apart(stations, 0.3)
    [1.0, 1.0]
    """
    asked = []
    for k, station in enumerate(stations):
        before = stations[k - 1]
        touching = 0.0
        if len(stations) > 1 and (station.length or before.length):
            ahead = end_room(before, spacing)
            behind = end_room(station, spacing) + (station.positions - 1) * spacing
            touching = ahead + behind
        asked.append(max(station.after, touching))
    return asked


def placements(
    loop: Loop,
    stations: Sequence[Station],
    clearance: float,
    spacing: float,
    joints: tuple[Sequence[float], Sequence[float]] = ((), ()),
) -> list[Placement]:
    """Placements worth looking at; empty if the stations do not fit.

    Of all share-outs of the stations between the straights the roomiest is taken, and of that two
    placements: the stations of a straight spread evenly over it, and drawn together. Short ways
    between stations make the lap quicker, long ones keep carriers out of each other's way.

    Parameters
    ----------
    loop : Loop
    stations : sequence of Station
        In their order along the travel.
    clearance : float, m
        Least distance from a station to a bend, and to a joint if it asks to be clear of joints.
    spacing : float, m
        Least distance between two carriers; a station with m places keeps m spacings clear
        before it, and all m places on its straight.
    joints : two sequences of float, m
        Places of the joints between sections on the front and on the back, each from the start of
        its straight.

    Returns
    -------
    list of Placement

    Examples
    --------
    Two stations on straights of 1 m stand in the middle of one straight each:

    >>> two = tuple(Station.model_validate({"name": n, "dwell": "1 s"}) for n in "ab")
    >>> placements(Loop(1.0, 1.5), two, clearance=0.1, spacing=0.3)[0].at
    (0.5, 3.0)
    """
    needed = [
        max(way, spacing * station.positions) if len(stations) > 1 else 0.0
        for station, way in zip(stations, apart(stations, spacing), strict=True)
    ]
    best: tuple[float, list[Placement]] | None = None
    alike = joints[0] == joints[1] or not any(station.clear_of_joints for station in stations)
    for sides in share_outs(stations, turned_alike=alike):
        windows_of_all = _windows(loop, stations, sides, clearance, spacing, joints)
        for windows, first in product(windows_of_all, _first_along(sides)):
            found = [
                Placement(at, tuple(_gaps(at, loop.length)))
                for at in dict.fromkeys(_positions(loop, sides, first, windows, needed))
            ]
            if not found:
                continue
            room = min(
                gap / max(needed[(k + 1) % len(stations)], spacing)
                for k, gap in enumerate(found[0].gaps)
            )
            if best is None or room > best[0] + _TOLERANCE:
                best = (room, found)
    return best[1] if best else []


def _windows(
    loop: Loop,
    stations: Sequence[Station],
    sides: Sequence[bool],
    clearance: float,
    spacing: float,
    joints: tuple[Sequence[float], Sequence[float]],
) -> Iterator[tuple[Window, ...]]:
    """Windows in which the stations may stand: each station's stretches between joints in turn."""
    choices = []
    for station, on_back in zip(stations, sides, strict=True):
        start = loop.back_start if on_back else 0.0
        marks = [0.0, *(joints[on_back] if station.clear_of_joints else ()), loop.straight]
        free = [(0.0, loop.straight) if station.at is None else (station.at, station.at)]
        # All of a batch stands clear, each carrier on a section that has room for it.
        for behind in range(station.positions):
            free = [
                (max(a, x + clearance + behind * spacing), min(b, y - clearance + behind * spacing))
                for a, b in free
                for x, y in pairwise(marks)
            ]
            free = [(a, b) for a, b in free if a <= b + _TOLERANCE]
        room = end_room(station, spacing)
        behind_first = (station.positions - 1) * spacing
        free = [(max(a, room + behind_first), min(b, loop.straight - room)) for a, b in free]
        choices.append([(start + a, start + b) for a, b in free if a <= b + _TOLERANCE])
    yield from islice(product(*choices), _MOST_WINDOWS)


def share_outs(stations: Sequence[Station], *, turned_alike: bool) -> list[tuple[bool, ...]]:
    """Which stations stand on the back straight: every run of neighbours round the loop.

    The first station on the front comes first. If nothing is pinned to a side and both sides are
    built alike, the loop turned half round is the same loop, and only share-outs with the first
    station in front are taken.
    """
    count = len(stations)
    runs = {
        tuple((k - start) % count < back for k in range(count))
        for start in range(count)
        for back in range(count + 1)
    }
    pinned = any(station.side != "any" or station.at is not None for station in stations)
    return sorted(
        sides
        for sides in runs
        if (pinned or not turned_alike or not sides[0])
        and all(
            station.side == "any" or (station.side == "back") == on_back
            for station, on_back in zip(stations, sides, strict=True)
        )
    )


def _positions(
    loop: Loop,
    sides: Sequence[bool],
    first: int,
    windows: Sequence[Window],
    needed: Sequence[float],
) -> Iterator[tuple[float, ...]]:
    """Places between the least and the greatest solution: spread, and drawn together."""
    order = [(first + k) % len(sides) for k in range(len(sides))]
    low = [windows[k][0] for k in order]
    high = [windows[k][1] for k in order]
    asked = [needed[k] for k in order]
    if not _relax(low, high, asked, loop.length):
        return
    for shares in (_spread([sides[k] for k in order]), [0.5] * len(order)):
        placed = [a + (b - a) * t for a, b, t in zip(low, high, shares, strict=True)]
        if _keeps(placed, asked, loop.length):
            yield tuple(placed[order.index(k)] for k in range(len(order)))


def _spread(sides: Sequence[bool]) -> list[float]:
    """Share of the way from the least to the greatest solution, rising along each straight."""
    counts = {side: sides.count(side) for side in set(sides)}
    seen = dict.fromkeys(counts, 0)
    shares = []
    for side in sides:
        seen[side] += 1
        shares.append(seen[side] / (counts[side] + 1.0))
    return shares


def _keeps(placed: Sequence[float], asked: Sequence[float], length: float) -> bool:
    """Whether places in their order round the loop keep the distances asked for."""
    count = len(placed)
    return count == 1 or all(
        placed[(k + 1) % count] + (length if k == count - 1 else 0.0) - placed[k]
        >= asked[(k + 1) % count] - _TOLERANCE
        for k in range(count)
    )


def _first_along(sides: Sequence[bool]) -> list[int]:
    """Which station may come first along the guide: the first front one after a back one.

    If all stand on one straight, each may: the way from the last to the first leads round the loop.
    """
    if len(set(sides)) == 1:
        return list(range(len(sides)))
    return [k for k, on_back in enumerate(sides) if not on_back and sides[k - 1]]


def _relax(low: list[float], high: list[float], asked: Sequence[float], length: float) -> bool:
    """Tighten the windows in place to the least and greatest solution; false if there is none."""
    count = len(low)
    for _ in range(count + 1):
        moved = False
        for k in range(count):
            after, wrap = (k + 1) % count, length if k == count - 1 else 0.0
            if count > 1 and low[k] + asked[after] > low[after] + wrap + _TOLERANCE:
                low[after] = low[k] + asked[after] - wrap
                moved = True
            if count > 1 and high[after] + wrap - asked[after] < high[k] - _TOLERANCE:
                high[k] = high[after] + wrap - asked[after]
                moved = True
        if any(a > b + _TOLERANCE for a, b in zip(low, high, strict=True)):
            return False
        if not moved:
            return True
    return False


def _gaps(at: Sequence[float], length: float) -> list[float]:
    """Distance from each station to the next along the travel; the whole loop for a single one."""
    count = len(at)
    return [((at[(k + 1) % count] - at[k]) % length) or length for k in range(count)]
