"""The quickest lap that any placement of the stations allows on straights of one length.

On one straight the stretches between bends and stations add up to its length, each is at least so
long, and the time of a stretch grows ever more slowly with its length. Such a sum is least where
all stretches but one are as short as may be. So the bound looks at every way to share the stations
out between the two straights, and on each straight at every stretch that may take what is left.

Near the length at which top speed is just reached a leg may take some milliseconds longer than one
that cruises, for its jerk; there the time is replaced by that of the cruising leg, prolonged
backwards, which is less and keeps the curve concave.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks.entry import HOLDS
from recommender.choice.parts.placement import share_outs
from recommender.inputs.case import Station
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_time
from recommender.physics.fleet import least_carriers, places_utilisation
from recommender.physics.motion import leg_time, speed_change_distance

_FAR = 1e3
_HAIR = 1.0 + 1e-12

Run = tuple[int, ...]


@dataclass(frozen=True)
class LapBound:
    """Bounds of one option for many settings, a row each.

    ``length`` is that of one straight, the same for all settings or one for each. With a ``floor``,
    m/s, the bound holds for every bend speed between it and the setting's as well: on a stretch
    that is too short to stop from a bend's speed a carrier may come more slowly. ``closely`` asks
    whether any stretch is so short, which is worth its while where little more than laps decides.
    """

    about: OptionContext
    length: float | Array
    settings: Settings
    floor: Array | None = None
    closely: bool = False

    def take(self, rows: NDArray[np.intp]) -> "LapBound":
        """The bound for some of the rows."""
        length = self.length[rows] if isinstance(self.length, np.ndarray) else self.length
        floor = None if self.floor is None else self.floor[rows]
        return LapBound(self.about, length, self.settings.take(rows), floor, self.closely)

    def carriers(self, lap_time: Array, at_least: ArrayLike = 1.0) -> Array:
        """Least number of carriers for laps of some time, (rows,); inf where none keeps the takt.

        Parameters
        ----------
        lap_time : ndarray (rows,), s
            Unhindered laps, or less.
        at_least : array_like (rows,)
            Carriers that something else asks for.
        """
        about, settings, takt = self.about, self.settings, self.about.takt
        taken = self.about.occupied + self.exchange
        keeps = np.isfinite(lap_time) & np.isfinite(at_least)
        keeps &= (taken <= HOLDS * takt * self.about.positions).all(axis=1)
        keeps &= about.least_bend_spacing / settings.bend_speed <= HOLDS * takt
        late = float((self.about.positions - 1.0).sum()) * about.rules.start_lag
        laps = np.where(keeps, lap_time + late, 1.0)
        needed = least_carriers(laps, self.about.positions, takt, taken, about.variation)
        needed = np.maximum(needed, np.where(keeps, at_least, 1.0))
        number = np.where(np.isfinite(needed), needed, 1.0)
        filled = places_utilisation(number, taken, takt, self.room, lag=about.rules.start_lag)
        return np.where(keeps & (filled <= HOLDS), needed, np.inf)

    @cached_property
    def room(self) -> Array:
        """Carriers that the loop has room for, (rows,)."""
        return np.broadcast_to(self.about.places_on(self.length), (len(self.settings),))

    @cached_property
    def lap_time(self) -> Array:
        """Least unhindered lap over all placements, (rows,), s; inf where the stations fit in none.

        Dwells and settling are included.
        """
        turning = 2.0 * (self.about.bend_length + self.about.option.base) / self.settings.bend_speed
        sides = np.concatenate([self._with_stations(), self._through[:, None]], axis=1)
        front, back = self.shared.ways.T
        best = (sides[:, front] + sides[:, back]).min(axis=1, initial=np.inf)
        # Once round the loop all distances between stations follow each other.
        whole = 2.0 * (self.length + self.about.bend_length)
        room = whole >= self.about.distances_asked.sum() - 1e-9
        lap = np.where(room, best + turning + self.about.occupied.sum(), np.inf)
        return lap + self._turn_waits if self.about.case.takes_turns else lap

    @property
    def _turn_waits(self) -> Array:
        """What waits for turns add to a lap at least, (rows,), s.

        The way to the next place is no shorter than the stretches must be, and no longer than a
        straight, on which both places stand.
        """
        settings, waits = self.settings, np.zeros(len(self.settings))
        limits = settings.speed, settings.acceleration, settings.jerk
        longest = leg_time(np.maximum(self.available, 0.0), 0.0, 0.0, *limits)
        shortest = self.stretch_time(self.between, bend=False)
        for station, entry in enumerate(self.about.case.station):
            if entry.due is not None:
                after = (station + 1) % len(self.about.case.station)
                way = self.about.turn_leg(station, after, shortest[:, after])
                waits += np.where(np.isfinite(way), np.maximum(way - longest, 0.0), 0.0)
        return waits

    @cached_property
    def exchange(self) -> Array:
        """Quickest exchange at each station, (rows, stations), s.

        As on a straight far from bends, unless the straight is so short that it touches one.
        """
        about, settings = self.about, self.settings
        taken_up = (3.0 * self.about.positions - 1.0) * about.spacing
        touches = taken_up > self.available[:, None] + 1e-9
        slow = np.minimum(settings.speed, settings.bend_speed)[:, None]
        return exchange_time(
            min(about.spacing, about.bend_spacing),
            self.about.positions,
            np.where(touches, slow, settings.speed[:, None]),
            settings.acceleration[:, None],
            settings.jerk[:, None],
            lag=about.rules.start_lag,
        )

    @property
    def shared(self) -> "ShareOuts":
        """Every way to share the stations out between the two straights."""
        return ShareOuts.of(self.about.stations)

    @cached_property
    def available(self) -> Array:
        """Straight guide on one side on which bend speed need not be held, (rows,), m."""
        free = np.asarray(self.length - self.about.option.base)
        return np.broadcast_to(free, (len(self.settings),))

    @cached_property
    def from_bend(self) -> Array:
        """Least length of a stretch between a bend and a station, (rows,), m."""
        clear = self._clear
        if self.floor is None:
            return np.maximum(clear, self._stopping * _HAIR)
        settings = self.settings
        slowest = speed_change_distance(self.floor, 0.0, settings.acceleration, settings.jerk)
        return np.maximum(clear, slowest)

    @property
    def _clear(self) -> float:
        """What a station keeps from a bend beyond which its speed need not be held, m."""
        return self.about.bend_clearance - 0.5 * self.about.option.base

    @cached_property
    def _stopping(self) -> Array:
        """Distance in which a carrier stops from bend speed, (rows,), m."""
        settings = self.settings
        return speed_change_distance(settings.bend_speed, 0.0, settings.acceleration, settings.jerk)

    def _slower(self, distance: Array, exact: Array) -> Array:
        """Time from a bend to a stop at any speed up to the ceiling, or less, (rows, ...), s.

        Short of the stopping distance this is the stop from the speed that just allows it. Beyond,
        the tangent of that curve keeps the whole concave.
        """
        shape = (-1,) + (1,) * (np.ndim(distance) - 1)
        settings = self.settings
        a, j, speed, stopping = (
            values.reshape(shape)
            for values in (
                settings.acceleration,
                settings.jerk,
                settings.bend_speed,
                self._stopping,
            )
        )
        turn = a * a / j
        ramped = 0.5 * (np.sqrt(turn * turn + 8.0 * a * distance) - turn)
        sharp = np.cbrt(distance * distance * j)
        stop = np.where(ramped >= turn, ramped / a + a / j, 2.0 * np.sqrt(sharp / j))
        at_limit = np.where(speed >= turn, speed / a + a / j, 2.0 * np.sqrt(speed / j))
        slope = np.where(speed >= turn, 1.0 / (speed + 0.5 * turn), 2.0 / (3.0 * speed))
        tangent = at_limit + (distance - stopping) * slope
        beyond = np.minimum(np.where(np.isfinite(exact), exact, tangent), tangent)
        return np.where(distance < stopping, stop, beyond)

    @cached_property
    def between(self) -> Array:
        """Least length of the stretch to each station from the one before it, (rows, stations), m.

        The enquiry's distance, the room for a batch, and as many places as it takes for carriers
        that follow each other in the takt.
        """
        about, takt, count = self.about, self.about.takt, len(self.about.positions)
        least = np.broadcast_to(self.about.distances_asked, (len(self.settings), count))
        lag = about.rules.start_lag
        standing = np.roll(self.about.occupied, 1) + self.about.occupied + self.exchange
        # Longer stretches take longer, which asks for more places again.
        for _ in range(2):
            ways = self.stretch_time(least, bend=False)
            if about.case.takes_turns:
                legs = [about.turn_leg(k - 1, k, ways[:, k]) for k in range(count)]
                ways = np.stack(legs, axis=-1)
            held = standing + ways
            # (places + 2 - m)·takt >= held + (places + 2·m_before - 1)·lag
            lags = (2.0 * np.roll(self.about.positions, 1) - 1.0) * lag
            spare = held + lags - (2.0 - self.about.positions) * takt
            fit = (
                np.ceil(spare / (takt - lag) - 1e-6) if takt > lag else np.full_like(spare, np.inf)
            )
            longer = np.maximum(least, fit * about.spacing)
            if np.array_equal(longer, least):
                break
            least = longer
        return np.asarray(least)

    def stretch_time(self, distance: Array, *, bend: bool) -> Array:
        """Time of stretches with a bend at one end or none, or less, never more, s.

        ``distance``, m, has the rows along its first axis, and perhaps others behind.
        """
        shape = (-1,) + (1,) * (np.ndim(distance) - 1)
        settings = self.settings
        start = settings.bend_speed.reshape(shape) if bend else 0.0
        limits = [
            values.reshape(shape)
            for values in (settings.speed, settings.acceleration, settings.jerk)
        ]
        exact = leg_time(distance, start, 0.0, *limits)
        far = (self._far_from_bend if bend else self._far).reshape(shape)
        cruising = far - (_FAR - distance) / limits[0]
        if bend and self.floor is not None:
            slower = self._slower(distance, exact)
            stops = np.logical_and(self.closely, self._clear >= self._stopping).reshape(shape)
            exact = np.where(stops, exact, slower)
        return np.where(np.isinf(exact), np.inf, np.minimum(exact, cruising))

    @cached_property
    def _far(self) -> Array:
        """Time of a stretch so long that it is cruised, from rest to rest, (rows,), s."""
        settings = self.settings
        return leg_time(_FAR, 0.0, 0.0, settings.speed, settings.acceleration, settings.jerk)

    @cached_property
    def _far_from_bend(self) -> Array:
        """The same from a bend's speed to rest, (rows,), s."""
        settings = self.settings
        limits = (settings.speed, settings.acceleration, settings.jerk)
        return leg_time(_FAR, settings.bend_speed, 0.0, *limits)

    @cached_property
    def _shortest(self) -> tuple[Array, Array]:
        """Times of the shortest stretches: from or to a bend, (rows,), and to each station."""
        return self.stretch_time(self.from_bend, bend=True), self.stretch_time(
            self.between, bend=False
        )

    @cached_property
    def _through(self) -> Array:
        """Time on a straight without stations, from bend to bend, (rows,), s."""
        settings, bend = self.settings, self.settings.bend_speed
        limits = (settings.speed, settings.acceleration, settings.jerk)
        through = leg_time(np.maximum(self.available, 0.0), bend, bend, *limits)
        return np.where(self.available >= 0.0, through, np.inf)

    def _with_stations(self) -> Array:
        """Least time on a straight with each run of stations on it, (rows, runs), s."""
        behind = self.shared.behind
        at_bend, to_station = self._shortest
        possible = np.where(np.isfinite(to_station), to_station, 0.0)
        # A stretch that cannot be run at all rules out every run with it.
        lost = (np.isinf(to_station) @ behind.T) | np.isinf(at_bend)[:, None]
        left = (self.available - 2.0 * self.from_bend)[:, None] - self.between @ behind.T
        fits = (left >= -1e-9) & ~lost
        left = np.maximum(left, 0.0)
        gain = self.stretch_time(self.from_bend[:, None] + left, bend=True) - at_bend[:, None]
        # Of the stretches between stations the longest gains least from being longer still.
        least = np.where(behind[None], self.between[:, None, :], -1.0)
        longest = least.argmax(axis=2)
        most = np.take_along_axis(self.between, longest, axis=1)
        known = np.take_along_axis(possible, longest, axis=1)
        inner = behind.any(axis=1)
        between = self.stretch_time(np.where(inner, most, 0.0) + left, bend=False) - known
        gain = np.where(inner, np.minimum(gain, between), gain)
        total = 2.0 * at_bend[:, None] + possible @ behind.T + gain
        return np.where(fits, total, np.inf)


@dataclass(frozen=True)
class ShareOuts:
    """Runs of neighbouring stations on one straight, and which two of them make up a loop.

    ``behind`` marks the stations of each run that stand behind another one, (runs, stations);
    ``ways`` holds the runs on the front and on the back, (ways, 2), the number of all runs standing
    for an empty straight.
    """

    runs: tuple[Run, ...]
    behind: NDArray[np.bool_]
    ways: NDArray[np.intp]

    @staticmethod
    @lru_cache(maxsize=64)
    def of(stations: tuple[Station, ...]) -> "ShareOuts":
        """The share-outs of some stations, as far as the enquiry pins them to a side."""
        both: list[tuple[Run, Run]] = []
        for sides in share_outs(stations, turned_alike=True):
            front, back = _run(sides, on_back=False), _run(sides, on_back=True)
            if front and back:
                both.append((front, back))
            else:
                # The way from the last to the first leads round the loop, and any may be first.
                alone = front or back
                both += [((*alone[k:], *alone[:k]), ()) for k in range(len(alone))]
        runs = list(dict.fromkeys(run for way in both for run in way if run))
        number = {run: k for k, run in enumerate(runs)} | {(): len(runs)}
        behind = np.zeros((len(runs), len(stations)), dtype=np.bool_)
        for k, run in enumerate(runs):
            behind[k, list(run[1:])] = True
        ways = [(number[front], number[back]) for front, back in both]
        return ShareOuts(tuple(runs), behind, np.array(ways, dtype=np.intp).reshape(-1, 2))

    @property
    def both_sides(self) -> bool:
        """Whether stations may stand on both straights."""
        return bool((self.ways < len(self.runs)).all(axis=1).any())

    @property
    def one_side(self) -> bool:
        """Whether all stations may stand on one straight."""
        return bool((self.ways == len(self.runs)).any())


def _run(sides: Sequence[bool], *, on_back: bool) -> Run:
    """Stations on one straight in the order of travel."""
    count = len(sides)
    here = [k for k in range(count) if sides[k] is on_back]
    if len(here) in (0, count):
        return tuple(here)
    first = next(k for k in here if sides[k - 1] is not on_back)
    return tuple((first + k) % count for k in range(len(here)))
