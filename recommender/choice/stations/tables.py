"""What the checks of a loop ask of the places of its stations, as tables over whole numbers.

A place on a straight is an index: so many steps from the start of the straight, or, for a station
that the enquiry fixes, its own place and no other. Nearly all that is asked hangs on one place, or
on the difference of two neighbouring ones and on how many bends lie between them (`gaps`).
So the tables have one axis, and they come from the same functions as the checks.

The lap is what the straights take at top speed and the bends at theirs, and what each leg loses to
its speed changes. Losses are whole microseconds, rounded up, so that the lap is never too short.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks.entry import HOLDS
from recommender.choice.search.lap_bound import LapBound
from recommender.inputs.case import Station
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_speed, exchange_time
from recommender.physics.fleet import places_utilisation, station_utilisation
from recommender.physics.motion import leg_time, speed_change_distance

Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]

MICROMETRE = 1e-6
NANOSECONDS = 1e9
MICROSECONDS = 1e6


@dataclass(frozen=True)
class SeatingTables:
    """One option with one row of settings and a number of carriers on straights of one length.

    With a ``floor``, m/s, the row stands for every bend speed from there up to its own: no place
    that does for one of them is left out. With ``any_lap`` the lap may take any time.
    """

    about: OptionContext
    straight: float
    settings: Settings
    carriers: int
    step: float
    floor: float | None = None
    any_lap: bool = False

    @property
    def stations(self) -> tuple[Station, ...]:
        """The stations in their order along the travel."""
        return self.about.stations

    @property
    def half(self) -> float:
        """From the start of a straight to that of the other one, m."""
        return self.straight + self.about.bend_length

    @property
    def overhang(self) -> float:
        """How far beyond either end of a bend its speed is held, m."""
        return 0.5 * self.about.option.base

    @property
    def available(self) -> float:
        """Straight guide on one side on which bend speed need not be held, m."""
        return self.straight - 2.0 * self.overhang

    @cached_property
    def limits(self) -> tuple[float, float, float]:
        """Limits of speed, acceleration and jerk of the one row of settings."""
        row = self.settings
        return float(row.speed[0]), float(row.acceleration[0]), float(row.jerk[0])

    @property
    def bend_speed(self) -> float:
        """Speed in the bends, m/s."""
        return float(self.settings.bend_speed[0])

    @property
    def bend_time(self) -> float:
        """Time for one bend at its speed, s."""
        return (self.about.bend_length + 2.0 * self.overhang) / self.bend_speed

    @property
    def last(self) -> int:
        """Greatest index on a straight."""
        return int(np.floor(self.straight / self.step + MICROMETRE))

    def offset(self, k: int) -> float:
        """Where a station stands at index 0, from the start of its straight, m."""
        return self.stations[k].at or 0.0

    def along(self, k: int) -> Array:
        """Places of a station from the start of its straight by index, m."""
        if self.stations[k].at is not None:
            return np.array([self.offset(k)])
        return self._grid

    @cached_property
    def _grid(self) -> Array:
        return np.asarray(self.step * np.arange(self.last + 1))

    def clear_of(self, k: int, mark: float) -> Flags:
        """Indices at which all carriers of a station stand clear of a bend or a joint."""
        behind = self.about.spacing * np.arange(self.stations[k].positions)
        room = np.abs(self.along(k)[:, None] - behind - mark).min(axis=1) + MICROMETRE
        return np.asarray(self.about.bend_clearance <= HOLDS * room)

    def _behind(self, k: int) -> Flags:
        """Indices at which the last carrier of a station's batch stands clear of the bend."""
        last = self.along(k) - self.about.batch_length[k] + MICROMETRE
        return np.asarray(self.about.bend_clearance <= HOLDS * last)

    def _on_straight(self, k: int) -> Flags:
        """Indices at which all of a station is on its straight, if it says how long it is."""
        own, along = float(self.about.clearances_asked[k]), self.along(k)
        ends = np.minimum(along - self.about.batch_length[k], self.straight - along) + MICROMETRE
        return np.asarray(own <= HOLDS * ends)

    @cached_property
    def windows(self) -> tuple[Flags, ...]:
        """Indices of each station clear of the bends, with room to brake and a quick exchange."""
        found = []
        for k in range(len(self.stations)):
            clear = self.clear_of(k, self.straight) & self._behind(k) & self._on_straight(k)
            brakes = np.isfinite(self.into(k)) & np.isfinite(self.out_of(k))
            found.append(clear & brakes & self._in_time[k][self.slow[k].astype(int)])
        return tuple(found)

    @cached_property
    def slow(self) -> tuple[Flags, ...]:
        """Indices of each station at which its carriers are exchanged at bend speed."""
        found = []
        for k, count in enumerate(self.about.positions):
            before = np.maximum(self.along(k) - self.overhang, 0.0)
            beyond = np.maximum(self.straight - self.overhang - self.along(k), 0.0)
            speed = exchange_speed(2.0, 1.0, count, self.about.spacing, before, beyond)
            found.append(np.asarray(speed < 2.0))
        return tuple(found)

    @cached_property
    def exchange(self) -> Array:
        """Exchange far from bends and near one, (stations, 2), s."""
        speed, acceleration, jerk = self.limits
        spacing = np.array([self.about.spacing, self.about.bend_spacing])
        return exchange_time(
            spacing,
            self.about.positions[:, None],
            np.array([speed, min(speed, self.bend_speed)]),
            acceleration,
            jerk,
            lag=self.about.rules.start_lag,
        )

    @cached_property
    def _in_time(self) -> Flags:
        """Whether a station keeps the takt far from bends and near one, (stations, 2)."""
        taken = self.about.occupied[:, None] + self.exchange
        used = station_utilisation(taken.T, self.about.positions, self.about.takt).T
        return np.asarray(used <= HOLDS)

    def into(self, k: int) -> Array:
        """Time from the bend to a station that is the first on its straight, by index, s."""
        return self._beside_bends[self.stations[k].at][0]

    def out_of(self, k: int) -> Array:
        """Time from a station that is the last on its straight to the bend, by index, s."""
        return self._beside_bends[self.stations[k].at][1]

    @cached_property
    def _beside_bends(self) -> dict[float | None, tuple[Array, Array]]:
        """Times from and to a bend by index, for each fixed place and for the grid."""
        found = {}
        for k, station in enumerate(self.stations):
            if station.at not in found:
                before = self.along(k) - self.overhang
                found[station.at] = (self._at_bend(before), self._at_bend(self.available - before))
        return found

    def _at_bend(self, distance: Array) -> Array:
        # Places that are too near to a bend are sorted out elsewhere.
        known = np.maximum(np.round(distance, 9), 0.0)
        if self.floor is None:
            return leg_time(known, self.bend_speed, 0.0, *self.limits)
        bound = LapBound(self.about, self.straight, self.settings, np.array([self.floor]))
        brakes = speed_change_distance(self.floor, 0.0, *self.limits[1:])
        return np.where(known >= brakes, bound.stretch_time(known[None], bend=True)[0], np.inf)

    @cached_property
    def through(self) -> float:
        """Time along a straight without a station, s; inf if there is no room to change speed."""
        if self.available < 0.0:
            return np.inf
        bend = self.bend_speed
        return float(leg_time(round(self.available, 9), bend, bend, *self.limits))

    def loss_into(self, k: int) -> Array:
        """Time that the first leg of a straight takes beyond its length at top speed, s."""
        return self.into(k) - (self.along(k) - self.overhang) / self.limits[0]

    def loss_out_of(self, k: int) -> Array:
        """Time that the last leg of a straight takes beyond its length at top speed, s."""
        left = self.straight - self.overhang - self.along(k)
        return self.out_of(k) - left / self.limits[0]

    @property
    def loss_through(self) -> float:
        """Time that a straight without a station takes beyond its length at top speed, s."""
        return self.through - self.available / self.limits[0]

    def differences(self, k: int) -> Whole:
        """Differences that the index of the next station may have to that of one, (entries,)."""
        here, there = np.flatnonzero(self.windows[k]), np.flatnonzero(self.windows[self.after(k)])
        if not (len(here) and len(there)):
            return np.zeros(0, dtype=np.int64)
        return np.arange(there[0] - here[-1], there[-1] - here[0] + 1)

    def after(self, k: int) -> int:
        """The station that follows one along the travel."""
        return (k + 1) % len(self.stations)

    def distance(self, k: int, bends: int) -> Array:
        """Way from a station to the next for each of the `differences`, m."""
        return np.asarray(self.step * self.differences(k) + self.shift(k) + bends * self.half)

    def shift(self, k: int) -> float:
        """How far on the next station's index 0 lies, on the same straight, m."""
        return self.offset(self.after(k)) - self.offset(k)

    def time_across(self, bends: int) -> float:
        """Time for bends, and for a straight without stations where there are two, s."""
        return bends * self.bend_time + (self.through if bends == 2 else 0.0)

    @cached_property
    def spare_places(self) -> int:
        """Time at stations that the loop has room for beyond the quick exchanges, ns a takt.

        Negative if there is no room even then.
        """
        taken = self.about.occupied + self.exchange[:, 0]
        available = self.about.places_along(np.array(2.0 * self.half), 2)
        ask = (self.carriers, self.about.takt, available)
        lag = self.about.rules.start_lag
        used = float(places_utilisation(ask[0], taken, *ask[1:], lag=lag))
        more = float(places_utilisation(ask[0], np.append(taken, 1.0), *ask[1:], lag=lag))
        if not np.isfinite(used):
            return -1
        return int(np.floor((HOLDS - used) / (more - used) * NANOSECONDS))

    @cached_property
    def lap_budget(self) -> int:
        """Time of the lap that may be lost to stops, µs: beyond dwells, bends and top speed."""
        if self.any_lap:
            return self.most_lost
        forming = float((self.about.positions - 1.0).sum())
        left = (HOLDS * self.carriers - forming) * self.about.takt
        return int(np.floor((left - self.steady_time - self.about.occupied.sum()) * MICROSECONDS))

    @cached_property
    def most_lost(self) -> int:
        """Time that legs can lose altogether at most, µs."""
        count = len(self.stations)
        known = [window.any() for window in self.windows]
        if not all(known):
            return 0
        into = max(self.loss_into(k)[self.windows[k]].max() for k in range(count))
        out = max(self.loss_out_of(k)[self.windows[k]].max() for k in range(count))
        between = max(np.nanmax(self.loss_between(k), initial=0.0) for k in range(count))
        ways = [2.0 * (into + out) + max(count - 2, 0) * between] if count > 1 else []
        if np.isfinite(self.through):
            ways.append(into + out + (count - 1) * between + self.loss_through)
        return int(np.ceil(max(ways, default=0.0) * MICROSECONDS)) + count + 3

    @property
    def steady_time(self) -> float:
        """Time of a lap at top speed on the straights and at bend speed in the bends, s."""
        return 2.0 * (self.bend_time + self.available / self.limits[0])

    def loss_between(self, k: int) -> Array:
        """Time that a leg to the next station on the same straight takes beyond its top speed, s.

        For each of the `differences`; nan where it leads backwards. A wait for a turn counts.
        """
        lost = self._between[self.shift(k)][self.differences(k) + self.last]
        if self.stations[k].due is None:
            return lost
        cruising = self.distance(k, 0) / self.limits[0]
        way = np.where(np.isnan(lost), np.inf, lost + cruising)
        leg = self.about.turn_leg(k, self.after(k), way)
        return np.where(np.isnan(lost), np.nan, leg - cruising)

    @cached_property
    def _between(self) -> dict[float, Array]:
        """The same for every difference that indices on this straight may have, by the shift."""
        found = {}
        for k in range(len(self.stations)):
            shift = self.shift(k)
            if shift not in found:
                way = self.step * np.arange(-self.last, self.last + 1) + shift
                leg = leg_time(np.round(np.maximum(way, 0.0), 9), 0.0, 0.0, *self.limits)
                found[shift] = np.where(way > MICROMETRE, leg - way / self.limits[0], np.nan)
        return found

    @cached_property
    def asked(self) -> Array:
        """What is asked of the way to each station from the one before, (stations,), m."""
        ahead = self.about.spacing * self.about.positions
        return np.asarray(np.maximum(self.about.stations_apart, ahead))

    @cached_property
    def wanted(self) -> tuple[int, ...]:
        """Carriers that gather before each station: a batch, and before the bottleneck a queue.

        The queue is that of the quickest lap that any placement might have, which is the longest.
        """
        lap = float(LapBound(self.about, self.straight, self.settings).lap_time[0])
        return self.about.waiting(self.exchange[:, 0], float(self.carriers), lap)

    @cached_property
    def refuted(self) -> bool:
        """Whether no placement can do, since what does not hang on the places fails already."""
        about = self.about
        longest = about.case.loop.max_length or about.rules.longest_loop
        follow = about.least_bend_spacing / self.bend_speed
        return (
            2.0 * self.half > HOLDS * longest
            or self.straight > about.longest_straight + 1e-9
            or follow > HOLDS * about.takt
            or self.spare_places < 0
            or not all(window.any() for window in self.windows)
        )

    def moving_time(self, index: Sequence[int], bends: Sequence[int]) -> float:
        """Legs and bends of the lap at some places, by the bends after each station, s.

        In whole microseconds, rounded up for every leg.
        """
        count, lost = len(self.stations), 0
        for k in range(count):
            after = self.after(k)
            if bends[k]:
                ends = (self.loss_out_of(k)[index[k]], self.loss_into(after)[index[after]])
                lost += int(whole_microseconds(np.array(ends)).sum())
            else:
                entry = index[after] - index[k] - int(self.differences(k)[0])
                lost += int(whole_microseconds(self.loss_between(k)[[entry]])[0])
            if bends[k] == 2:
                lost += int(whole_microseconds(np.array([self.loss_through]))[0])
        return float(lost / MICROSECONDS + self.steady_time)


def whole_microseconds(times: Array) -> Whole:
    """Whole microseconds, never less; 0 where there is no time.

    Examples
    --------
    Half a metre from rest to rest at 2 m/s² without a limit of jerk takes 2·√(0.5/2) = 1 s, of
    which 0.25 s would pass at 2 m/s:

    >>> float(leg_time(0.5, 0.0, 0.0, 2.0, 2.0, np.inf)) - 0.5 / 2.0
    0.75
    >>> whole_microseconds(np.array([0.75, 1e-9, np.inf]))
    array([750000,      1,      0])
    """
    return np.ceil(np.where(np.isfinite(times), times, 0.0) * MICROSECONDS).astype(np.int64)
