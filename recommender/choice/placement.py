"""Where the stations stand on a loop of given straights and bends.

The front straight runs from 0 to S along the guide centre line, then comes a bend, the back
straight, and the second bend. Stations keep their order along the travel. For a given share-out
of the stations between the two straights, what is asked of the places is a system of difference
constraints, so its least and its greatest solution are found by relaxation, and any mean of the two
satisfies every constraint as well. The stations of one straight are spread between the two
solutions, the first nearer to the least and the last nearer to the greatest, which also widens the
gaps between them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from recommender.inputs.case import Station

_TOLERANCE = 1e-9


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


def place_stations(
    loop: Loop, stations: Sequence[Station], clearance: float, spacing: float
) -> Placement | None:
    """The roomiest placement, or ``None`` if the stations do not fit.

    Parameters
    ----------
    loop : Loop
    stations : sequence of Station
        In their order along the travel.
    clearance : float, m
        Least distance from a station to a bend.
    spacing : float, m
        Least distance between two carriers; a station with m places keeps m spacings clear
        before it.

    Returns
    -------
    Placement or None

    Examples
    --------
    Two stations on straights of 1 m stand in the middle of one straight each:

    >>> two = tuple(Station.model_validate({"name": n, "dwell": "1 s"}) for n in "ab")
    >>> place_stations(Loop(1.0, 1.5), two, clearance=0.1, spacing=0.3).at
    (0.5, 3.0)
    """
    needed = [
        max(station.after, spacing * max(station.positions, 1)) if len(stations) > 1 else 0.0
        for station in stations
    ]
    best: tuple[float, Placement] | None = None
    for sides in _share_outs(stations):
        at = _positions(loop, stations, sides, clearance, needed)
        if at is None:
            continue
        gaps = _gaps(at, loop.length)
        room = min(gap / max(needed[(k + 1) % len(at)], spacing) for k, gap in enumerate(gaps))
        if best is None or room > best[0] + _TOLERANCE:
            best = (room, Placement(tuple(at), tuple(gaps)))
    return best[1] if best else None


def _share_outs(stations: Sequence[Station]) -> list[tuple[bool, ...]]:
    """Which stations stand on the back straight: every run of neighbours round the loop.

    The first station on the front comes first, because mirrored share-outs are equally good.
    """
    count = len(stations)
    runs = {
        tuple((k - start) % count < back for k in range(count))
        for start in range(count)
        for back in range(count + 1)
    }
    return sorted(
        sides
        for sides in runs
        if all(
            station.side == "any" or (station.side == "back") == on_back
            for station, on_back in zip(stations, sides, strict=True)
        )
    )


def _positions(
    loop: Loop,
    stations: Sequence[Station],
    sides: Sequence[bool],
    clearance: float,
    needed: Sequence[float],
) -> list[float] | None:
    """Places spread between the least and the greatest solution, ``None`` if there is none."""
    windows = []
    for station, on_back in zip(stations, sides, strict=True):
        start = loop.back_start if on_back else 0.0
        least, greatest = start + clearance, start + loop.straight - clearance
        if station.at is not None:
            fixed = start + station.at
            least, greatest = max(least, fixed), min(greatest, fixed)
        if least > greatest + _TOLERANCE:
            return None
        windows.append((least, greatest))
    first = _first_on_front(sides)
    order = [(first + k) % len(sides) for k in range(len(sides))]
    low = [windows[k][0] for k in order]
    high = [windows[k][1] for k in order]
    asked = [needed[k] for k in order]
    if not _relax(low, high, asked, loop.length):
        return None
    for shares in (_spread([sides[k] for k in order]), [0.5] * len(order)):
        placed = [a + (b - a) * t for a, b, t in zip(low, high, shares, strict=True)]
        if _keeps(placed, asked, loop.length):
            return [placed[order.index(k)] for k in range(len(order))]
    return None


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


def _first_on_front(sides: Sequence[bool]) -> int:
    """Where the travel enters the front straight: the first front station after a back one."""
    for k, on_back in enumerate(sides):
        if not on_back and (sides[k - 1] or len(set(sides)) == 1):
            return k
    return 0


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
