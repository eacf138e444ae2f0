"""One option under many settings on one loop: lap, fleet, power, price of the electrical parts."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, islice, permutations, product

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.loop.lap import Lap, LegPlan, plan_legs, run_lap
from recommender.choice.loop.wear import carrier_life, laps_of_each_roller
from recommender.choice.parts.builds import Build
from recommender.choice.parts.placement import Loop, Placement, placements
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_speed, exchange_time
from recommender.physics.fleet import least_carriers

_MOST_ORDERS = 720


@dataclass(frozen=True)
class LoopContext:
    """An option on one loop, before any setting is chosen.

    ``front`` and ``back`` hold the ids of the straight sections along the travel.
    """

    about: OptionContext
    loop: Loop
    placement: Placement
    front: tuple[str, ...]
    back: tuple[str, ...]

    @property
    def base(self) -> float:
        """Distance between the points that steer the carrier, m."""
        return self.about.option.base

    @property
    def overhang(self) -> float:
        """How far beyond either end of a bend its speed is held, m."""
        return 0.5 * self.base

    @property
    def bend_travel(self) -> float:
        """Guide covered at bend speed in a lap, m."""
        return 2.0 * (self.loop.bend + 2.0 * self.overhang)

    @property
    def floor_extent(self) -> float:
        """Floor along the straights, from the outermost corners at one end to the other, m."""
        return self.loop.straight + 2.0 * self.about.floor_beyond

    @cached_property
    def rank(self) -> list[int]:
        """Place of each station in the order in which they stand along the guide."""
        return [self.order.index(k) for k in range(len(self.order))]

    @cached_property
    def order(self) -> list[int]:
        """Stations in the order in which a carrier meets them from the start of the front."""
        return sorted(range(len(self.placement.at)), key=self.placement.at.__getitem__)

    @cached_property
    def plan(self) -> LegPlan:
        """The straight stretches of a lap."""
        positions = [station.positions for station in self.about.case.station]
        return plan_legs(self.loop, self.placement, positions, self.overhang)

    @cached_property
    def room_to_bends(self) -> tuple[Array, Array]:
        """Guide before and beyond each station on which bend speed is not kept, m."""
        at = np.array(self.placement.at)
        start = np.where(at >= self.loop.back_start, self.loop.back_start, 0.0)
        before = at - start - self.overhang
        beyond = start + self.loop.straight - self.overhang - at
        return np.maximum(before, 0.0), np.maximum(beyond, 0.0)

    @cached_property
    def clearances(self) -> list[float]:
        """Distance from each station to the nearest bend, or joint if it must be clear of them.

        Of a batch that of its nearest carrier; 0 if one stands in the bend behind.
        """
        found = []
        for station, at in zip(self.about.case.station, self.placement.at, strict=True):
            on_back = at >= self.loop.back_start
            joints = joints_of(self.about, self.back if on_back else self.front)
            marks = [self.loop.straight, *(joints if station.clear_of_joints else ())]
            first = at - (self.loop.back_start if on_back else 0.0)
            along = [first - k * self.about.spacing for k in range(station.positions)]
            nearest = min(abs(place - mark) for place in along for mark in marks)
            found.append(max(min(along[-1], nearest), 0.0))
        return found

    @cached_property
    def room_for_length(self) -> list[float]:
        """Straight that each station has, in equal parts to either side of its middle, m."""
        found = []
        for at, row in zip(self.placement.at, self.about.batch_length, strict=True):
            start = self.loop.back_start if at >= self.loop.back_start else 0.0
            middle = at - start - 0.5 * float(row)
            found.append(2.0 * min(middle, self.loop.straight - middle))
        return found

    @cached_property
    def exchange_spacing(self) -> Array:
        """Spacing that holds where each station's carriers are exchanged, (stations,), m."""
        before, beyond = self.room_to_bends
        straight = (
            exchange_speed(2.0, 1.0, self.about.positions, self.about.spacing, before, beyond) > 1.0
        )
        return np.where(straight, self.about.spacing, self.about.bend_spacing)

    @cached_property
    def places(self) -> float:
        """Carriers that the loop has room for; more spacing is needed in bends."""
        return float(self.about.places_on(self.loop.straight))

    @property
    def waiting_room(self) -> tuple[int, ...]:
        """Carriers that find room between each station and the one before, beside its own."""
        before = np.roll(self.gaps, 1) - self.about.positions
        return tuple(int(np.floor(room + 1e-9)) for room in np.maximum(before, 0.0))

    @cached_property
    def gaps(self) -> Array:
        """Carriers that fit between each station and the next, (stations,)."""
        gaps = np.array(self.placement.gaps)
        at = np.array(self.placement.at)
        bends = np.zeros(len(at))
        for bend in (self.loop.straight, self.loop.length - self.loop.bend):
            bends += (bend - at) % self.loop.length < gaps
        return self.about.places_along(gaps, bends)


@dataclass(frozen=True)
class LayoutContext:
    """An option on one loop under many settings, a row each.

    The number of carriers follows from the settings unless it is fixed.
    """

    on: LoopContext
    setting: SettingContext
    fixed_carriers: int | None = None

    @property
    def about(self) -> OptionContext:
        """The option and the case."""
        return self.on.about

    def take(self, rows: NDArray[np.intp]) -> "LayoutContext":
        """Some of the rows."""
        return LayoutContext(self.on, self.setting.take(rows))

    @cached_property
    def lap(self) -> Lap:
        """The legs of a lap, timed with their true lengths."""
        return run_lap(self.on.plan, self.setting.settings, self.on.bend_travel)

    @cached_property
    def lap_time(self) -> Array:
        """Unhindered lap: legs, bends, dwells and settling, and waits for turns, (rows,), s."""
        lap = np.asarray(self.lap.moving_time + self.about.occupied.sum())
        return lap + self.turn_waits.sum(axis=-1) if self.about.case.takes_turns else lap

    @cached_property
    def turn_waits(self) -> Array:
        """What carriers wait on their way from each station for their turn at the next one,
        (rows, stations), s; inf where the two do not follow each other on one straight."""
        about, at = self.about, self.on.placement.at
        waits = np.zeros_like(self._travel)
        for station, entry in enumerate(about.case.station):
            if entry.due is not None:
                after = self.on.order[(self.on.rank[station] + 1) % len(self.on.order)]
                back = self.on.loop.back_start
                if at[after] <= at[station] or (at[after] >= back) is not (at[station] >= back):
                    waits[:, station] = np.inf
                    continue
                way = self._travel[:, station]
                waits[:, station] = about.turn_leg(station, after, way) - np.where(
                    np.isfinite(way), way, 0.0
                )
        return waits

    @cached_property
    def station_legs(self) -> Array:
        """Travel and waits from each station to the next, rest to rest, (rows, stations), s."""
        return self._travel + self.turn_waits if self.about.case.takes_turns else self._travel

    @cached_property
    def _travel(self) -> Array:
        """Travel from each station to the next, rest to rest, (rows, stations), s."""
        lap, plan = self.lap, self.on.plan
        stretch = lap.up_time + lap.down_time + lap.cruise_time
        bend = 0.5 * self.on.bend_travel / self.setting.settings.bend_speed
        starts = [k for k, leg in enumerate(plan.order) if not plan.from_bend[leg]]
        travel = []
        for first, behind in zip(starts, [*starts[1:], starts[0] + len(plan.order)], strict=True):
            legs = [plan.order[k % len(plan.order)] for k in range(first, behind)]
            travel.append(np.sum([stretch[leg] + bend * plan.to_bend[leg] for leg in legs], axis=0))
        along = np.stack([travel[k] for k in self.on.rank], axis=-1)
        return np.asarray(np.where(lap.feasible[:, None], along, np.inf))

    @cached_property
    def exchange(self) -> Array:
        """From the departure of a batch until the next one stands, (rows, stations), s."""
        settings = self.setting.settings
        before, beyond = self.on.room_to_bends
        speed = exchange_speed(
            settings.speed[:, None],
            settings.bend_speed[:, None],
            self.about.positions,
            self.about.spacing,
            before,
            beyond,
        )
        return exchange_time(
            self.on.exchange_spacing,
            self.about.positions,
            speed,
            settings.acceleration[:, None],
            settings.jerk[:, None],
            lag=self.about.rules.start_lag,
        )

    @cached_property
    def roller_laps(self) -> Array:
        """Laps that each roller lasts, (rows, rollers)."""
        return laps_of_each_roller(self.setting, self.lap, self.on.bend_travel)

    @cached_property
    def life_laps(self) -> Array:
        """Laps that all rollers of a carrier last together, (rows,)."""
        return carrier_life(self.roller_laps)

    @cached_property
    def carriers_for_rate(self) -> Array:
        """Least number of carriers for the rate, (rows,); inf where a leg is infeasible."""
        finite = np.isfinite(self.lap_time)
        late = float((self.about.positions - 1.0).sum()) * self.about.rules.start_lag
        needed = least_carriers(
            np.where(finite, self.lap_time + late, 1.0),
            self.about.positions,
            self.about.takt,
            self.about.occupied + self.exchange,
            self.about.variation,
        )
        return np.where(finite, needed, np.inf)

    @cached_property
    def carriers(self) -> Array:
        """Carriers: as many as are fixed, or the least number for rate and life, (rows,).

        For life no more are taken than there is room for; the check of life then says what lacks.
        """
        if self.fixed_carriers is not None:
            return np.full(len(self.setting.settings), float(self.fixed_carriers))
        hours = self.about.case.life.hours
        for_life = np.ceil(hours * 3600.0 / (self.about.takt * self.life_laps) - 1e-9)
        served = (self.about.occupied + self.exchange).sum(axis=-1) / self.about.takt
        room = np.maximum(np.floor(self.on.places - served + 1e-9), 1.0)
        return np.asarray(np.maximum(self.carriers_for_rate, np.minimum(for_life, room)))

    @property
    def waiting(self) -> tuple[int, ...]:
        """Carriers that gather before each station, for the first row of settings."""
        lap = float(self.lap_time[0])
        return self.about.waiting(self.exchange[0], float(self.carriers[0]), lap)

    @property
    def sections(self) -> int:
        """Motor sections of the loop."""
        return len(self.on.front) + len(self.on.back) + 2 * self.about.option.bend.sections

    @property
    def idle_power(self) -> float:
        """What the sections draw without moving anything, W."""
        return self.sections * self.about.catalogue.catalogue.section_idle_power


def joints_of(about: OptionContext, sections: Sequence[str]) -> list[float]:
    """Places of the joints between the sections of one straight, from its start, m."""
    lengths = about.catalogue.straights
    return list(accumulate(lengths[id_].length for id_ in sections))[:-1]


def on_loop(about: OptionContext, build: Build) -> LoopContext | None:
    """The option on straights of a build, as roomy as can be; ``None`` if the stations do not fit
    there."""
    found = placed_on(about, build)
    return found[0] if found else None


def placed_on(about: OptionContext, build: Build) -> list[LoopContext]:
    """The option on straights of a build, for the placements that are tried first.

    The sections stand longest first, or, where a station must be clear of their joints, in the
    first order that leaves room for it.
    """
    loop = Loop(build.length, about.bend_length)
    asked = loop, about.stations, about.bend_clearance, about.spacing
    if about.case.minds_joints and not placements(*asked):
        return []
    for front, back in _orders(about, build):
        joints = joints_of(about, front), joints_of(about, back)
        found = placements(*asked, joints)
        if found:
            return [LoopContext(about, loop, placement, front, back) for placement in found]
    return []


def fits_on(about: OptionContext, build: Build) -> bool:
    """Whether the stations find places on a build at all, wherever its joints are."""
    loop = Loop(build.length, about.bend_length)
    return bool(placements(loop, about.stations, about.bend_clearance, about.spacing))


def _orders(about: OptionContext, build: Build) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Orders of the sections of both sides that are worth trying."""
    front, back = longest_first(about, build.front), longest_first(about, build.back)
    if not about.case.minds_joints:
        return [(front, back)]
    # More orders than these would not be tried by hand either.
    ways = product(
        dict.fromkeys(islice(permutations(front), _MOST_ORDERS)),
        dict.fromkeys(islice(permutations(back), _MOST_ORDERS)),
    )
    return list(islice(ways, _MOST_ORDERS))


def longest_first(about: OptionContext, counts: Sequence[int]) -> tuple[str, ...]:
    """Ids of the straight sections of one side, from pieces in the catalogue's order."""
    parts = sorted(
        zip(about.catalogue.straight, counts, strict=True), key=lambda entry: -entry[0].length
    )
    return tuple(part.id for part, count in parts for _ in range(count))
