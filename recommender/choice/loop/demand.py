"""Power that a fleet draws in a run of neighbouring sections of one finished loop.

A carrier draws from the sections under its magnets. What it draws evenly along the guide is shared
out by distance; what it draws unevenly, as while its speed changes, counts in full wherever any of
its magnets may be meanwhile. So the runs into which a loop is divided never come to less than the
whole loop together, and a run is never given less than what happens in it.
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.power import (
    bend_powers,
    change_energy,
    hop_energy,
    mean_power,
    motor_constant,
    peak_fleet_power,
    queue_energy,
    rest_power,
)
from recommender.choice.loop.ring import Section, ring_of
from recommender.choice.parts import rounding
from recommender.physics.constants import Array
from recommender.physics.drive import copper_loss
from recommender.physics.fleet_supply import fleet_peak_power
from recommender.physics.supply import peak_power

Whole = NDArray[np.int64]

_TOUCH = 1e-9


@dataclass(frozen=True)
class _Leg:
    """A straight stretch of the lap: its ends along the guide, m, and the stations there, if any.

    ``number`` is its row in the arrays of the lap.
    """

    number: int
    start: float
    end: float
    leaves: int | None
    reaches: int | None


@dataclass(frozen=True)
class _Draws:
    """What a carrier draws on one lap, by stretches of the guide on which it does.

    ``start`` and ``end`` are where the carrier's middle is, m; ``energy`` is drawn in all, J, and
    ``in_part`` is the most that any part of the stretch draws, which is more if some is returned.
    What is drawn evenly is drawn over the distance ``evenly``, 0 for what is not.
    """

    start: Array
    end: Array
    energy: Array
    in_part: Array
    evenly: Array


class LoopDemand:
    """What runs of sections draw at the only row of settings of a layout, idle power included."""

    def __init__(self, layout: LayoutContext) -> None:
        on = layout.on
        self.layout = layout
        self.sections: tuple[Section, ...] = ring_of(
            on.about.option, on.loop, on.front, on.back, on.about.catalogue
        )

    def of(self, first: int, count: int) -> tuple[float, float]:
        """Mean and peak power of one run, W."""
        mean, peak = self.of_runs(np.array([first]), np.array([count]))
        return float(mean[0]), float(peak[0])

    def of_runs(self, first: NDArray[np.int64], count: NDArray[np.int64]) -> tuple[Array, Array]:
        """Mean and peak power of runs, each given by its first section and their number, W."""
        mean, peak = self._moving(first, count)
        idle = self.layout.about.catalogue.catalogue.section_idle_power * count
        return mean + idle, peak + idle

    def peaks_of_runs(self, first: NDArray[np.int64], count: NDArray[np.int64]) -> Array:
        """Peak power of runs alone, W."""
        idle = self.layout.about.catalogue.catalogue.section_idle_power * count
        return self._moving_peak(first, count) + idle

    def whole_steps(
        self, first: NDArray[np.int64], count: NDArray[np.int64]
    ) -> tuple[Whole, Whole]:
        """Mean and peak power of runs in whole milliwatts, upward."""
        mean, peak = self._moving(first, count)
        idle = rounding.demand(
            self.layout.about.catalogue.catalogue.section_idle_power * count, "power"
        )
        return rounding.demand(mean, "power") + idle, rounding.demand(peak, "power") + idle

    def _moving(self, first: NDArray[np.int64], count: NDArray[np.int64]) -> tuple[Array, Array]:
        whole = count >= len(self.sections)
        mean, peak = np.broadcast_to(self._fleet_mean, whole.shape), self._moving_peak(first, count)
        if not whole.all():
            mean = np.where(whole, mean, self._mean(*self._runs(first, count)))
        return mean, peak

    def _moving_peak(self, first: NDArray[np.int64], count: NDArray[np.int64]) -> Array:
        whole = count >= len(self.sections)
        peak = np.broadcast_to(self._fleet_peak, whole.shape)
        return peak if whole.all() else np.where(whole, peak, self._peak(*self._runs(first, count)))

    @cached_property
    def _fleet_mean(self) -> Array:
        """Mean power of the moving fleet, (1,), W."""
        return mean_power(self.layout)

    @cached_property
    def _fleet_peak(self) -> Array:
        """Peak power of the moving fleet, (1,), W."""
        return peak_fleet_power(self.layout)

    def _runs(self, first: NDArray[np.int64], count: NDArray[np.int64]) -> tuple[Array, Array]:
        """Beginning and end of runs along the guide; the end may lie beyond the loop's, m."""
        number = len(self.sections)
        marks = np.array([section.start for section in self.sections])
        last = first + count
        return marks[first], marks[last % number] + (last // number) * self._length

    @property
    def _length(self) -> float:
        return self.layout.on.loop.length

    @cached_property
    def _reach(self) -> float:
        """How far a carrier's magnets reach before and behind its middle, m."""
        carrier = self.layout.about.option.carrier
        return 0.5 * ((carrier.coupling_distance or 0.0) + carrier.magnet_length)

    # Where things happen -------------------------------------------------------------------------

    @cached_property
    def _legs(self) -> list[_Leg]:
        """The legs of a lap in order, as `recommender.choice.loop.lap.plan_legs` takes them."""
        on = self.layout.on
        legs: list[_Leg] = []
        for start in (0.0, on.loop.back_start):
            end = start + on.loop.straight
            stops = [k for k in on.order if start <= on.placement.at[k] <= end]
            marks: list[tuple[float, int | None]] = [
                (start + on.overhang, None),
                *((on.placement.at[k], k) for k in stops),
                (end - on.overhang, None),
            ]
            for (a, leaves), (b, reaches) in pairwise(marks):
                legs.append(_Leg(on.plan.order[len(legs)], a, b, leaves, reaches))
        return legs

    def _behind(self, station: int | None) -> float:
        """How far the last of those stands behind that a station takes at once, m."""
        if station is None:
            return 0.0
        return float(self.layout.about.positions[station] - 1.0) * self.layout.about.spacing

    @cached_property
    def _hop_energy(self) -> float:
        """Energy of one move up in a queue, J."""
        return float(hop_energy(self.layout.setting)[0])

    @cached_property
    def _queue(self) -> float:
        """Energy that a carrier draws in queues on one lap, J."""
        return float(queue_energy(self.layout)[0])

    def _queue_reach(self, station: int | None) -> float:
        """How far before a station the last carrier may stop that queues there, m."""
        if station is None:
            return 0.0
        if self._queue <= 0.0:
            return self._behind(station)
        on, about = self.layout.on, self.layout.about
        places = (np.ceil(self._queue / self._hop_energy) + 1.0) * about.positions.max()
        free = float(on.room_to_bends[0][station])
        spacing = about.spacing if places * about.spacing <= free else about.bend_spacing
        return float(min(places * spacing, self._length))

    # Mean power ----------------------------------------------------------------------------------

    @cached_property
    def _draws(self) -> _Draws:
        rows = [*self._leg_draws(), *self._bend_draws(), *self._holding_draws()]
        start, end, energy, in_part, evenly = np.array(rows).T
        return _Draws(start, end, energy, in_part, evenly)

    def _leg_draws(self) -> list[tuple[float, ...]]:
        """Speeding up, cruising and slowing down on each leg."""
        setting, lap = self.layout.setting, self.layout.lap
        up = change_energy(setting, lap.start, lap.peak)[:, 0]
        down = change_energy(setting, lap.peak, lap.end)[:, 0]
        braked = change_energy(setting, lap.peak, lap.end, recovered=False)[:, 0]
        loss = copper_loss(setting.cruise_resistance, motor_constant(setting))
        cruise = (lap.cruise * (loss / lap.peak + setting.cruise_resistance))[:, 0]
        rows: list[tuple[float, ...]] = []
        for leg in self._legs:
            k, behind = leg.number, self._behind(leg.leaves)
            risen = leg.start + lap.up_distance[k, 0]
            falls = leg.end - lap.down_distance[k, 0]
            even = float(lap.cruise[k, 0])
            rows += [
                (leg.start - behind, risen, up[k], up[k], 0.0),
                (risen - behind, max(falls, risen), cruise[k], cruise[k], even),
                (falls - self._queue_reach(leg.reaches), leg.end, down[k], braked[k], 0.0),
            ]
        return rows

    def _bend_draws(self) -> list[tuple[float, ...]]:
        """Entering, turning and leaving each bend, as much as `mean_power` counts."""
        setting, on = self.layout.setting, self.layout.on
        option, speed = self.layout.about.option, setting.settings.bend_speed
        counted = max(option.bend.transition, option.base)
        entering, turning, leaving = bend_powers(setting)
        rows: list[tuple[float, ...]] = []
        for entry in (on.loop.straight, on.loop.length - on.loop.bend):
            start, end = entry - on.overhang, entry + on.loop.bend + on.overhang
            # The curvature under a body changes until both its guided points are past the
            # transition, more gently than is counted, but for longer.
            swing = min(option.bend.transition + option.base, end - start)
            steady = end - start - 2.0 * counted
            for a, b, power, length in (
                (start, start + swing, entering, counted),
                (end - swing, end, leaving, counted),
            ):
                drawn = float((length * power / speed)[0])
                rows.append((a, b, drawn, drawn, 0.0))
            if steady > 0.0:
                drawn = float((steady * turning / speed)[0])
                rows.append((start + counted, end - counted, drawn, drawn, steady))
        return rows

    def _holding_draws(self) -> list[tuple[float, ...]]:
        """Holding against the force of each station, on each of its places."""
        about, on = self.layout.about, self.layout.on
        rows: list[tuple[float, ...]] = []
        stations = zip(about.case.station, about.dwells, on.placement.at, strict=True)
        for station, dwell, at in stations:
            loss = float(copper_loss(station.force[0], motor_constant(self.layout.setting)))
            drawn = loss * dwell / station.positions
            for place in range(station.positions):
                here = at - place * about.spacing
                rows.append((here, here, drawn, drawn, 0.0))
        return rows

    def _mean(self, start: Array, end: Array) -> Array:
        draws = self._draws
        common, within = self._overlap(start, end, draws.start, draws.end)
        share = np.where(
            draws.evenly > 0.0,
            np.clip(common / np.where(draws.evenly > 0.0, draws.evenly, 1.0), 0.0, 1.0),
            common >= 0.0,
        )
        full = within & (draws.evenly == 0.0)
        energy = np.where(full, draws.energy, share * draws.in_part).sum(axis=-1)
        return np.asarray((energy + self._queueing(start, end)) / self.layout.about.takt)

    def _queueing(self, start: Array, end: Array) -> Array:
        """Energy of all queues where any may reach, as all may be in one run, (runs,), J."""
        if self._queue <= 0.0:
            return np.zeros_like(start)
        at = np.array(self.layout.on.placement.at)
        reach = np.array([self._queue_reach(k) for k in range(len(at))])
        common, _ = self._overlap(start, end, at - reach, at)
        spent = hop_energy(self.layout.setting, recovered=False)
        most = self._queue * float(spent[0]) / self._hop_energy
        return np.where((common >= 0.0).any(axis=-1), most, 0.0)

    def _overlap(
        self, start: Array, end: Array, first: Array, last: Array
    ) -> tuple[Array, NDArray[np.bool_]]:
        """Where the magnets of a carrier are over each run, (runs, stretches).

        Length of guide on which any magnet is over the run while the carrier's middle goes from
        ``first`` to ``last``, m, negative if none ever is; and whether all are, all the time.
        """
        length, reach = self._length, self._reach
        size = np.minimum(last - first, length)
        first = np.mod(first, length)
        last = first + size
        common = np.full((len(start), len(first)), -np.inf)
        within = np.zeros(common.shape, dtype=bool)
        for turn in (-2.0, -1.0, 0.0, 1.0, 2.0):
            a = start[:, None] + turn * length
            b = end[:, None] + turn * length
            piece = np.minimum(last, b + reach) - np.maximum(first, a - reach) + _TOUCH
            common = np.where(
                piece >= 0.0, np.maximum(common, 0.0) + piece, np.maximum(common, piece)
            )
            within |= (a <= first - reach + _TOUCH) & (last + reach <= b + _TOUCH)
        return common, within

    # Peak power ----------------------------------------------------------------------------------

    def _peak(self, start: Array, end: Array) -> Array:
        """As `recommender.choice.loop.power.lap_peak_power`, with what may happen in the runs."""
        layout, lap, legs = self.layout, self.layout.lap, self._legs
        setting, about = layout.setting, layout.about
        settings, constant = setting.settings, motor_constant(setting)
        motion = (settings.acceleration, settings.jerk, setting.up_resistance, constant)
        row = [leg.number for leg in legs]
        powers = peak_power(about.mass, lap.peak, *motion, start=lap.start)[row, 0]
        times, together = lap.up_time[row, 0], layout.on.plan.together[row]
        begin = np.array([leg.start - self._behind(leg.leaves) for leg in legs])
        risen = np.array([leg.start for leg in legs]) + lap.up_distance[row, 0]
        common, _ = self._overlap(start, end, begin, risen)
        here = common >= 0.0
        times = np.where(here, times, 0.0)
        carriers = self._carriers(start, end, np.ceil(times / (together * about.takt)) * together)
        rest = float(rest_power(setting)[0])
        running = fleet_peak_power(powers, times, together, carriers, about.takt, rest)
        if about.case.loop.restart == "together":
            whole = peak_power(about.mass, settings.speed, *motion)[0]
            return np.asarray(np.maximum(running, carriers * whole))
        # After a stop a carrier may have to set off anywhere, the others rolling already.
        last = np.array([leg.end for leg in legs])
        common, _ = self._overlap(start, end, begin, last)
        still = peak_power(about.mass, lap.peak, *motion)[row, 0]
        bent = float(peak_power(about.mass, settings.bend_speed, *motion)[0])
        starting = np.where(common >= 0.0, still, bent).max(axis=-1)
        return np.asarray(np.maximum(running, np.maximum(starting, rest) + (carriers - 1.0) * rest))

    def _carriers(self, start: Array, end: Array, hold: Array) -> Array:
        """Most carriers over each run at once.

        At least as many as its phases are taken to hold, so that runs never come to less together
        than the whole loop.
        """
        spacing = self.layout.about.spacing
        fleet = float(self.layout.carriers[0])
        fleet = fleet if np.isfinite(fleet) else 1.0
        if fleet * spacing > self._length:
            return np.full(len(start), fleet)
        fit = np.floor((end - start + 2.0 * self._reach) / spacing + _TOUCH) + 1.0
        return np.asarray(np.minimum(fleet, np.maximum(fit, hold.sum(axis=-1))))
