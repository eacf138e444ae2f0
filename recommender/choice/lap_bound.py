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
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from recommender.choice.checks.entry import HOLDS
from recommender.choice.lap import Settings
from recommender.choice.placement import share_outs
from recommender.choice.setting import OptionContext
from recommender.physics.bend import bend_stretch
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_time
from recommender.physics.fleet import least_carriers, places, places_utilisation
from recommender.physics.motion import leg_time, speed_change_distance

_FAR = 1e3
_HAIR = 1.0 + 1e-12

Run = tuple[int, ...]


@dataclass(frozen=True)
class LapBound:
    """Bounds of one option for many settings, a row each.

    ``length`` is that of one straight, the same for all settings or one for each. Where a lap's
    ``bend_speed`` is a ceiling, the bound holds for every lower bend speed as well: on a stretch too
    short to stop from it a carrier may come more slowly.
    """

    about: OptionContext
    length: float | Array
    settings: Settings
    ceiling: bool = False

    def take(self, rows: NDArray[np.intp]) -> "LapBound":
        """The bound for some of the rows."""
        length = self.length[rows] if isinstance(self.length, np.ndarray) else self.length
        return LapBound(self.about, length, self.settings.take(rows), self.ceiling)

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
        taken = self.occupied + self.exchange
        keeps = np.isfinite(lap_time) & np.isfinite(at_least)
        keeps &= (taken <= HOLDS * takt * self.positions).all(axis=1)
        keeps &= about.least_bend_spacing / settings.bend_speed <= HOLDS * takt
        late = float((self.positions - 1.0).sum()) * about.rules.start_lag
        variation = np.array([station.dwell_variation for station in about.case.station])
        laps = np.where(keeps, lap_time + late, 1.0)
        needed = least_carriers(laps, self.positions, takt, taken, variation)
        needed = np.maximum(needed, np.where(keeps, at_least, 1.0))
        number = np.where(np.isfinite(needed), needed, 1.0)
        filled = places_utilisation(number, taken, takt, self.room, lag=about.rules.start_lag)
        return np.where(keeps & (filled <= HOLDS), needed, np.inf)

    @cached_property
    def room(self) -> Array:
        """Carriers that the loop has room for, (rows,)."""
        return np.broadcast_to(places_on(self.about, self.length), (len(self.settings),))

    @cached_property
    def lap_time(self) -> Array:
        """Least unhindered lap over all placements, (rows,), s; inf where the stations fit in none.

        Dwells and settling are included.
        """
        turning = 2.0 * (self.about.bend_length + self.about.option.base) / self.settings.bend_speed
        best = np.full(len(self.settings), np.inf)
        known: dict[Run, Array] = {}
        for front, back in self.ways:
            for run in (front, back):
                if run not in known:
                    known[run] = self._side(run)
            best = np.minimum(best, known[front] + known[back])
        return np.asarray(best + turning + self.occupied.sum())

    @cached_property
    def exchange(self) -> Array:
        """Quickest exchange at each station, (rows, stations), s.

        As on a straight far from bends, unless the straight is so short that it touches one.
        """
        about, settings = self.about, self.settings
        taken_up = (3.0 * self.positions - 1.0) * about.spacing
        touches = taken_up > self.available[:, None] + 1e-9
        slow = np.minimum(settings.speed, settings.bend_speed)[:, None]
        return exchange_time(
            min(about.spacing, about.bend_spacing),
            self.positions,
            np.where(touches, slow, settings.speed[:, None]),
            settings.acceleration[:, None],
            settings.jerk[:, None],
            lag=about.rules.start_lag,
        )

    @cached_property
    def ways(self) -> tuple[tuple[Run, Run], ...]:
        """Every share-out: stations on the front and on the back, each in their order."""
        stations = self.about.case.station
        found = []
        for sides in share_outs(stations, turned_alike=True):
            front, back = _run(sides, on_back=False), _run(sides, on_back=True)
            if front and back:
                found.append((front, back))
            else:
                # The way from the last to the first leads round the loop, and any may be first.
                alone = front or back
                found += [((*alone[k:], *alone[:k]), ()) for k in range(len(alone))]
        return tuple(found)

    @cached_property
    def positions(self) -> Array:
        """Carriers that each station takes at once, (stations,)."""
        return np.array([float(station.positions) for station in self.about.case.station])

    @cached_property
    def occupied(self) -> Array:
        """Dwell and settling of each station, (stations,), s."""
        return np.array([station.occupied for station in self.about.case.station])

    @cached_property
    def available(self) -> Array:
        """Straight guide on one side on which bend speed need not be held, (rows,), m."""
        free = np.asarray(self.length - self.about.option.base)
        return np.broadcast_to(free, (len(self.settings),))

    @cached_property
    def from_bend(self) -> Array:
        """Least length of a stretch between a bend and a station, (rows,), m."""
        clear = self.about.bend_clearance - 0.5 * self.about.option.base
        if self.ceiling:
            return np.full(len(self.settings), clear)
        return np.maximum(clear, self._stopping * _HAIR)

    @cached_property
    def _stopping(self) -> Array:
        """Distance in which a carrier stops from bend speed, (rows,), m."""
        settings = self.settings
        return speed_change_distance(
            settings.bend_speed, 0.0, settings.acceleration, settings.jerk
        )

    def _slower(self, distance: Array, exact: Array) -> Array:
        """Time from a bend to a stop at any speed up to the ceiling, or less, (rows,), s.

        Short of the stopping distance this is the stop from the speed that just allows it. Beyond,
        the tangent of that curve keeps the whole concave.
        """
        a, j, speed = self.settings.acceleration, self.settings.jerk, self.settings.bend_speed
        turn = a * a / j
        ramped = 0.5 * (np.sqrt(turn * turn + 8.0 * a * distance) - turn)
        sharp = np.cbrt(distance * distance * j)
        stop = np.where(ramped >= turn, ramped / a + a / j, 2.0 * np.sqrt(sharp / j))
        at_limit = np.where(speed >= turn, speed / a + a / j, 2.0 * np.sqrt(speed / j))
        slope = np.where(speed >= turn, 1.0 / (speed + 0.5 * turn), 2.0 / (3.0 * speed))
        tangent = at_limit + (distance - self._stopping) * slope
        beyond = np.minimum(np.where(np.isfinite(exact), exact, tangent), tangent)
        return np.where(distance < self._stopping, stop, beyond)

    @cached_property
    def between(self) -> Array:
        """Least length of the stretch to each station from the one before it, (rows, stations), m.

        The enquiry's distance, the room for a batch, and as many places as it takes for carriers
        that follow each other in the takt.
        """
        about, takt, count = self.about, self.about.takt, len(self.positions)
        asked = np.array([station.after for station in about.case.station])
        least = np.broadcast_to(
            np.maximum(asked, about.spacing * self.positions), (len(self.settings), count)
        )
        lag = about.rules.start_lag
        standing = np.roll(self.occupied, 1) + self.occupied + self.exchange
        # Longer stretches take longer, which asks for more places again.
        for _ in range(2):
            held = standing + self._time(least, bend=False)
            # (places + 2 - m)·takt >= held + (places + 2·m_before - 1)·lag
            lags = (2.0 * np.roll(self.positions, 1) - 1.0) * lag
            spare = held + lags - (2.0 - self.positions) * takt
            fit = (
                np.ceil(spare / (takt - lag) - 1e-6) if takt > lag else np.full_like(spare, np.inf)
            )
            least = np.maximum(least, fit * about.spacing)
        return np.asarray(least)

    def _time(self, distance: Array, *, bend: bool) -> Array:
        """Time of stretches with a bend at one end or none, or less, never more.

        ``distance`` has the rows along its first axis, and perhaps others behind.
        """
        shape = (-1,) + (1,) * (np.ndim(distance) - 1)
        settings = self.settings
        start = settings.bend_speed.reshape(shape) if bend else 0.0
        limits = [
            values.reshape(shape)
            for values in (settings.speed, settings.acceleration, settings.jerk)
        ]
        exact = leg_time(distance, start, 0.0, *limits)
        cruising = leg_time(_FAR, start, 0.0, *limits) - (_FAR - distance) / limits[0]
        if bend and self.ceiling:
            exact = self._slower(distance, exact)
        return np.where(np.isinf(exact), np.inf, np.minimum(exact, cruising))

    @cached_property
    def _shortest(self) -> tuple[Array, Array]:
        """Times of the shortest stretches: from or to a bend, (rows,), and to each station."""
        return self._time(self.from_bend, bend=True), self._time(self.between, bend=False)

    def _side(self, run: Run) -> Array:
        """Least time on one straight with some stations on it, (rows,)."""
        settings = self.settings
        if not run:
            bend = settings.bend_speed
            return leg_time(
                self.available, bend, bend, settings.speed, settings.acceleration, settings.jerk
            )
        at_bend, to_station = self._shortest
        inner = list(run[1:])
        least = self.between[:, inner]
        left = self.available - 2.0 * self.from_bend - least.sum(axis=1)
        fits = left >= -1e-9
        left = np.maximum(left, 0.0)
        # Of the stretches between stations the longest gains least from being longer still.
        ends = [self._time(self.from_bend + left, bend=True) - at_bend]
        if inner:
            longest = np.argmax(least, axis=1)[:, None]
            most = np.take_along_axis(least, longest, axis=1)[:, 0]
            known = np.take_along_axis(to_station[:, inner], longest, axis=1)[:, 0]
            ends.append(self._time(most + left, bend=False) - known)
        with np.errstate(invalid="ignore"):
            total = 2.0 * at_bend + to_station[:, inner].sum(axis=1) + np.min(ends, axis=0)
        return np.where(fits & np.isfinite(total), total, np.inf)


def places_on(about: OptionContext, length: float | Array) -> Array:
    """Carriers that a loop with straights of some length has room for."""
    bend, carrier = about.option.bend, about.option.carrier
    longest = max(carrier.plate_length, about.load_length)
    whole = 2.0 * (length + about.bend_length)
    bent = 2.0 * float(bend_stretch(bend.radius, bend.transition, longest, about.option.base))
    return places(whole, np.minimum(bent, whole), about.spacing, about.bend_spacing)


def _run(sides: Sequence[bool], *, on_back: bool) -> Run:
    """Stations on one straight in the order of travel."""
    count = len(sides)
    here = [k for k in range(count) if sides[k] is on_back]
    if len(here) in (0, count):
        return tuple(here)
    first = next(k for k in here if sides[k - 1] is not on_back)
    return tuple((first + k) % count for k in range(len(here)))
