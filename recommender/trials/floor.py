"""Carriers that run on their loop, event by event: they follow, wait, gather, are served.

What a carrier may do is decided when something happens: it sets off for its next station, or for
one spacing behind where the carrier ahead is bound to stop, and goes on without stopping if that
one is sent farther meanwhile. It starts so late that it is never closer than one spacing to the
carrier ahead on all of its way. It knows nothing of takts and laps: those come out.
"""

from collections import deque
from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from recommender.physics.constants import Array
from recommender.trials.guard import Guard, Move
from recommender.trials.meeting import Work
from recommender.trials.path import Path, Paths, shared_time
from recommender.trials.simulator import Environment, Event, new_environment
from recommender.trials.track import Track

_TINY: Final = 1e-7
_RETRY: Final = 0.02
"""Least time until a carrier that would come too close if it went on tries again, s."""


@dataclass(frozen=True)
class Place:
    """A station: where its first carrier stands, m, and how many it takes at once.

    ``settling`` comes before each dwell, s; ``work`` gives the end of a dwell that begins at some
    instant, stops of the station included. Where carriers of another loop are met, ``meet`` waits
    for them, works, and gives both instants; such a station takes one carrier at once.
    """

    at: float
    positions: int
    settling: float
    work: Work
    meet: Callable[[Work], Generator[Event, Any, tuple[float, float]]] | None = None


@dataclass
class Tally:
    """What happened at one station, by pairs of an instant and a time, s.

    For each batch when its work began and how long it took, and when it was let go, which a pace
    may put off. For each carrier when it arrived and how much later than on a free way, when its
    batch was whole, or met another loop's carriers, and how long it had waited for that, when it
    set off and how long it had stood there though its batch was let go.
    """

    worked: list[tuple[float, float]] = field(default_factory=list)
    done: list[float] = field(default_factory=list)
    delayed: list[tuple[float, float]] = field(default_factory=list)
    gathered: list[tuple[float, float]] = field(default_factory=list)
    blocked: list[tuple[float, float]] = field(default_factory=list)
    standing: list[tuple[float, int]] = field(default_factory=list)
    """Instants at which the number of carriers changes that stand before the station."""


@dataclass
class _Carrier:
    number: int
    at: float
    goal: float
    end: float
    """Where it is bound to stop, in spacings as ``goal``."""
    path: Path | None = None
    since: float = 0.0
    lap: int = 0
    """Laps that are to be added to the places of its path."""
    arrived: Any = None
    waking: float = np.inf
    station: int = 0
    standing: bool = False
    set_off: float = 0.0
    moves: deque[Move] = field(default_factory=lambda: deque(maxlen=32))


class Floor:
    """A loop with its carriers, all in line before its first station at the start.

    Parameters
    ----------
    track : Track
    places : sequence of Place
        In the order in which a carrier meets them, the first one's place the least.
    carriers : int
    lag : float, s
        From a carrier's start to its follower's, both at rest.
    pace : float, s
        Least time between two carriers that leave the first station; 0 for none.
    watch : callable, optional
        Called with every move that has been made: carrier, then start, laps and way.
    environment : Environment, optional
        A clock that is shared with other loops.
    """

    def __init__(
        self,
        track: Track,
        places: list[Place],
        carriers: int,
        *,
        lag: float = 0.0,
        pace: float = 0.0,
        watch: Callable[[int, Move], None] | None = None,
        paths: Paths | None = None,
        environment: Environment | None = None,
    ) -> None:
        self.track, self.places, self.lag, self.pace = track, places, lag, pace
        self.paths = paths or Paths(track)
        self.environment: Environment = environment or new_environment()
        self.watch = watch
        self.tallies = [Tally() for _ in places]
        self.guard = Guard(track, carriers)
        self._offsets: dict[tuple[int, int, int], float] = {}
        self._batches: dict[tuple[int, int], tuple[list[tuple[int, float]], Event]] = {}
        self._next_leave = 0.0
        self._stands = [0] * len(places)
        self._places_at = [track.spacings(place.at) for place in places]
        first = self._places_at[0]
        self.fleet = []
        for number in range(carriers):
            spot = first - number
            self.fleet.append(_Carrier(number, track.place(spot), spot, spot))
        self._ahead = [(self.fleet[-1], track.places), *((one, 0.0) for one in self.fleet[:-1])]
        for carrier in self.fleet:
            self.environment.process(self._travel(carrier))

    def run(self, until: float) -> None:
        """Let everything happen up to an instant, s."""
        self.environment.run(until=until)

    # Travelling ----------------------------------------------------------------------------------

    def _travel(self, carrier: _Carrier) -> Generator[Event, Any, None]:
        environment, count = self.environment, len(self.places)
        while True:
            lap, station = divmod(carrier.station, count)
            place = self.places[station]
            number = carrier.number + lap * len(self.fleet)
            batch, back = divmod(number, place.positions)
            goal = lap * self.track.places + self._places_at[station] - back
            carrier.goal, carrier.arrived = goal, environment.event()
            free, ready = self._free_time(carrier, goal), environment.now
            carrier.set_off = np.inf
            if goal <= carrier.end + _TINY:
                carrier.arrived.succeed()
                carrier.set_off = ready
            else:
                self._advance(carrier)
                self._stand(carrier)
            yield carrier.arrived
            if carrier.station:
                wait = carrier.set_off - ready
                self.tallies[station - 1].blocked.append((carrier.set_off, wait))
            late = environment.now - ready - free
            self.tallies[station].delayed.append((environment.now, late))
            yield from self._served(carrier, station, batch)
            carrier.station += 1

    def _free_time(self, carrier: _Carrier, goal: float) -> float:
        start, stop = carrier.at, self.track.place(goal)
        return self.paths.between(start, stop).duration if stop > start + _TINY else 0.0

    def _leader(self, carrier: _Carrier) -> tuple[_Carrier, float]:
        """The carrier ahead, and how many spacings it is counted behind its true place."""
        return self._ahead[carrier.number]

    def _advance(self, carrier: _Carrier) -> None:
        """Send a carrier as far as it may go, if that is farther than it is bound already."""
        leader, wrap = self._leader(carrier)
        end = carrier.goal if leader is carrier else min(carrier.goal, leader.end + wrap - 1.0)
        if end <= carrier.end + _TINY:
            return
        moved = self._set_off(carrier, end) if carrier.path is None else self._go_on(carrier, end)
        if moved:
            carrier.end, carrier.waking = end, np.inf
            self._follow(carrier)

    def _follow(self, carrier: _Carrier) -> None:
        number = (carrier.number + 1) % len(self.fleet)
        if number != carrier.number:
            self._advance(self.fleet[number])

    def _set_off(self, carrier: _Carrier, end: float) -> bool:
        """Start a carrier that stands, or wake it when it may start."""
        now, stop = self.environment.now, self.track.place(end)
        path = self.paths.between(carrier.at, stop)
        leader, _ = self._leader(carrier)
        earliest = now
        if leader.path is not None and leader is not carrier:
            clear = leader.since + max(self._offset(carrier, path), self.lag)
            earliest = max(now, clear)
        if earliest > now + _TINY:
            self._wake(carrier, earliest)
            return False
        carrier.path, carrier.since = path, now
        carrier.lap = round((carrier.at - path.start) / self.track.length)
        carrier.set_off = min(carrier.set_off, now)
        self._stand(carrier)
        self._await(carrier)
        return True

    def _go_on(self, carrier: _Carrier, end: float) -> bool:
        """Let a carrier that moves go on to farther away, unless it would come too close."""
        assert carrier.path is not None
        now = self.environment.now
        elapsed = now - carrier.since
        longer = self.paths.go_on(
            carrier.path, elapsed, self.track.place(end) - carrier.lap * self.track.length
        )
        if longer is None:
            return False
        leader, _ = self._leader(carrier)
        if leader.path is not None and leader is not carrier:
            late = leader.since + self._offset(carrier, longer) - carrier.since
            if late > _TINY:
                # Until the two ways part it may wait and see at no loss.
                again = max(carrier.since + shared_time(carrier.path, longer), now) + late
                if again < carrier.since + carrier.path.duration:
                    self._wake(carrier, max(again, now + _RETRY))
                return False
        carrier.path = longer
        self._await(carrier)
        return True

    def _wake(self, carrier: _Carrier, at: float) -> None:
        """Look at a carrier again at an instant, unless it is looked at before."""
        now = self.environment.now
        if now < carrier.waking <= at + _TINY:
            return
        carrier.waking = at

        def wake(_: Event) -> None:
            if carrier.waking == at:
                carrier.waking = np.inf
                self._advance(carrier)

        self.environment.timeout(at - now).callbacks.append(wake)

    def _await(self, carrier: _Carrier) -> None:
        """Have a carrier stop at the end of its way, if that is still its way then."""
        path = carrier.path
        assert path is not None
        left = carrier.since + path.duration - self.environment.now

        def stop(_: Event) -> None:
            if carrier.path is path:
                self._stopped(carrier, path)

        self.environment.timeout(max(left, 0.0)).callbacks.append(stop)

    def _stopped(self, carrier: _Carrier, path: Path) -> None:
        move = (carrier.since, carrier.lap, path)
        carrier.moves.append(move)
        leader, wrap = self._leader(carrier)
        ahead = list(leader.moves)
        if leader.path is not None:
            ahead.append((leader.since, leader.lap, leader.path))
        if leader is not carrier:
            self.guard.check(carrier.number, move, ahead, leader.at, bool(wrap))
        carrier.at = self.guard.arrived(carrier.number, move, carrier.end)
        carrier.path = None
        if self.watch is not None:
            self.watch(carrier.number, move)
        if carrier.end >= carrier.goal - _TINY:
            carrier.arrived.succeed()
        else:
            self._stand(carrier)
            self._advance(carrier)

    def _stand(self, carrier: _Carrier) -> None:
        """Count the carriers that stand before a station."""
        stands = carrier.path is None and carrier.end < carrier.goal - _TINY
        if stands != carrier.standing:
            carrier.standing = stands
            station = carrier.station % len(self.places)
            self._stands[station] += 1 if stands else -1
            self.tallies[station].standing.append((self.environment.now, self._stands[station]))

    def _offset(self, carrier: _Carrier, path: Path) -> float:
        """Least time from the leader's start to this one's on which it keeps one spacing, s."""
        leader, wrap = self._leader(carrier)
        assert leader.path is not None
        lap = carrier.lap
        if carrier.path is None:
            lap = round((carrier.at - path.start) / self.track.length)
        laps = leader.lap - lap + (1 if wrap else 0)
        if not (path.kept and leader.path.kept):
            return _least_offset(leader.path, path, laps)
        key = id(leader.path), id(path), laps
        if key not in self._offsets:
            self._offsets[key] = _least_offset(leader.path, path, laps)
        return self._offsets[key]

    # Being served --------------------------------------------------------------------------------

    def _served(self, carrier: _Carrier, station: int, batch: int) -> Generator[Event, Any, None]:
        """Wait until the batch is whole, settle, and wait until it is done."""
        environment, place = self.environment, self.places[station]
        tally = self.tallies[station]
        here, whole = self._batches.setdefault((station, batch), ([], environment.event()))
        here.append((carrier.number, environment.now))
        if len(here) == place.positions:
            self.guard.gathered(station, batch, [number for number, _ in here])
            del self._batches[station, batch]
            now = environment.now
            begun = now + place.settling
            if place.meet is None:
                done = place.work(begun)
                whole_at = now
            else:
                yield environment.timeout(place.settling)
                settled, (begun, done) = begun, (yield from place.meet(place.work))
                whole_at = now + max(begun - settled, 0.0)
            tally.worked.append((begun, done - begun))
            if station == 0 and self.pace:
                done = max(done, self._next_leave)
                self._next_leave = done + self.pace * place.positions
            tally.done.append(done)
            tally.gathered.extend((whole_at, whole_at - since) for _, since in here)
            whole.succeed(done)
        until: float = yield whole
        yield environment.timeout(max(until - environment.now, 0.0))


def _least_offset(leader: Path, follower: Path, laps: int) -> float:
    """Least time from one start to the other, the leader so many laps ahead of its own places."""
    own, other = follower.spacings, leader.spacings
    needed = own + (1.0 - _TINY - laps * leader.track.places)
    hindered = needed > other[0]
    if not hindered.any():
        return -np.inf
    passed: Array = np.interp(needed[hindered], other, leader.times)
    return float(np.max(passed - follower.times[hindered]))
