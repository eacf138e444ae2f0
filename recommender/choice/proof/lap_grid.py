"""The quickest lap over all round places of the stations, by dynamic programming on arrays.

Along one straight each station's best time depends on the place of the one before it alone: on the
stretch between them, on the exchange at its own place, and on the room that carriers need between
the two. What this leaves out is what ties the two straights together across the bends, so it is a
bound still, but one that knows every place, every exchange near a bend and every wave of a liquid.
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.entry import HOLDS
from recommender.choice.lap import Settings
from recommender.choice.placement import place_step
from recommender.choice.proof.lap_bound import Run, ShareOuts
from recommender.choice.setting import OptionContext
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_speed, exchange_time
from recommender.physics.fleet import room_utilisation
from recommender.physics.motion import leg_time


@dataclass(frozen=True)
class GridLap:
    """One option on straights of one length, a row for each setting."""

    about: OptionContext
    length: float
    settings: Settings

    @cached_property
    def lap_time(self) -> Array:
        """Least unhindered lap over all places, (rows,), s; inf where there is none."""
        shared = ShareOuts.of(self.about.stations)
        turning = 2.0 * (self.about.bend_length + self.about.option.base) / self.settings.bend_speed
        sides = [self._side(run) for run in (*shared.runs, ())]
        best = np.full(len(self.settings), np.inf)
        for front, back in shared.ways:
            best = np.minimum(best, sides[front] + sides[back])
        return np.asarray(best + turning + self.about.occupied.sum())

    @property
    def cells(self) -> int:
        """Pairs of places of neighbouring stations that are looked at for each setting."""
        count = self.length / place_step(self.length)
        return int(count * count * len(self.about.case.station))

    @property
    def from_bend(self) -> Array:
        """Lengths that a stretch from a bend to a station may have, (places,), m."""
        every = [self._places(k) for k in range(len(self.about.case.station))]
        ends = np.unique(np.round(np.concatenate(every), 9))
        return np.asarray(ends - 0.5 * self.about.option.base, dtype=np.float64)

    def _places(self, station: int) -> Array:
        """Places along its straight at which a station may stand, (places,), m."""
        clear, asked = self.about.bend_clearance, self.about.case.station[station].at
        behind = clear + self.about.batch_length[station]
        step = place_step(self.length)
        if asked is not None:
            fits = behind - 1e-9 <= asked <= self.length - clear + 1e-9
            return np.array([asked] if fits else [])
        first = np.ceil((behind - 1e-9) / step)
        last = np.floor((self.length - clear + 1e-9) / step)
        return step * np.arange(first, last + 1.0)

    def _time(self, distance: Array, start: Array | float) -> Array:
        """Time from a bend's speed or from rest to rest, (rows, ...)."""
        shape = (-1,) + (1,) * np.ndim(distance)
        settings = self.settings
        begin = start.reshape(shape) if isinstance(start, np.ndarray) else start
        return leg_time(
            distance[None],
            begin,
            0.0,
            settings.speed.reshape(shape),
            settings.acceleration.reshape(shape),
            settings.jerk.reshape(shape),
        )

    def _exchange(self, station: int) -> Array:
        """Exchange at each place of a station, (rows, places), s; inf where it takes too long."""
        about, settings, at = self.about, self.settings, self._places(station)
        entry, overhang = about.case.station[station], 0.5 * about.option.base
        before = np.maximum(at - overhang, 0.0)
        beyond = np.maximum(self.length - overhang - at, 0.0)
        positions = float(entry.positions)
        free = exchange_speed(2.0, 1.0, positions, about.spacing, before, beyond) > 1.0
        speed, bend = settings.speed[:, None], settings.bend_speed[:, None]
        time = exchange_time(
            np.where(free, about.spacing, about.bend_spacing),
            positions,
            np.where(free, speed, np.minimum(speed, bend)),
            settings.acceleration[:, None],
            settings.jerk[:, None],
            lag=about.rules.start_lag,
        )
        keeps = about.occupied[station] + time <= HOLDS * about.takt * positions
        return np.where(keeps, time, np.inf)

    def _side(self, run: Run) -> Array:
        """Least time on one straight with some stations on it, (rows,)."""
        settings, about = self.settings, self.about
        bend, overhang = settings.bend_speed, 0.5 * about.option.base
        if not run:
            free = self.length - about.option.base
            if free < 0.0:
                return np.full(len(settings), np.inf)
            return leg_time(free, bend, bend, settings.speed, settings.acceleration, settings.jerk)
        at = self._places(run[0])
        if not len(at):
            return np.full(len(settings), np.inf)
        best = self._time(at - overhang, bend)
        best = np.where(np.isfinite(self._exchange(run[0])), best, np.inf)
        for station, following in pairwise(run):
            there = self._places(following)
            if not len(there):
                return np.full(len(settings), np.inf)
            best = self._step(best, station, following, at, there)
            at = there
        return np.asarray((best + self._time(self.length - overhang - at, bend)).min(axis=1))

    def _step(self, best: Array, station: int, following: int, here: Array, there: Array) -> Array:
        """Best times at the places of the following station, (rows, places)."""
        apart = np.round(there[:, None] - here[None, :], 9)
        distances, place = np.unique(apart, return_inverse=True)
        place = place.reshape(apart.shape)
        exchange = self._exchange(following)
        leg = np.full((len(best), len(distances)), np.inf)
        entry = self.about.case.station[following]
        asked = max(entry.after, self.about.spacing * entry.positions)
        far = distances >= asked - 1e-9
        if far.any():
            leg[:, far] = self._time(distances[far], 0.0)
        found = np.full((len(best), len(there)), np.inf)
        for index in range(len(there)):
            way = leg[:, place[index]]
            fits = self._follows(station, following, way, exchange[:, index], apart[index])
            found[:, index] = np.where(fits, best + way, np.inf).min(axis=1)
        return found

    def _follows(
        self, station: int, following: int, leg: Array, exchange: Array, apart: Array
    ) -> NDArray[np.bool_]:
        """Whether carriers follow each other between two stations in the takt, (rows, places)."""
        about = self.about
        one, other = about.case.station[station], about.case.station[following]
        possible = np.isfinite(leg) & np.isfinite(exchange)[:, None]
        leg = np.where(possible, leg, 0.0)
        waiting = np.broadcast_to(
            np.where(np.isfinite(exchange), exchange, 0.0)[:, None], leg.shape
        )
        gaps = np.broadcast_to(np.maximum(apart / about.spacing, 1e-9), leg.shape)
        nothing = np.zeros_like(leg)
        # The condition looks at every station and the next one; only the first pair is of interest.
        used = room_utilisation(
            np.stack([leg, nothing], axis=-1),
            about.occupied[[station, following]],
            np.stack([nothing, waiting], axis=-1),
            np.stack([gaps, gaps], axis=-1),
            np.array([float(one.positions), float(other.positions)]),
            about.takt,
            lag=about.rules.start_lag,
        )[..., 0]
        return np.asarray(possible & (used <= HOLDS))
