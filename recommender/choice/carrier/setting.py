"""One option under many motion settings: what the checks of a setting look at."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.load_cases import CaseLoads
from recommender.choice.carrier.rest import settled
from recommender.choice.carrier.settings import Settings
from recommender.choice.parts.options import Option, reserve_of, takt_of
from recommender.choice.parts.placement import apart, end_room
from recommender.inputs.case import Case, Station
from recommender.inputs.catalogue import Catalogue, Rules
from recommender.physics.bend import bend_length, bend_spacing, bend_stretch, bend_width
from recommender.physics.constants import Array
from recommender.physics.fleet import places, station_utilisation, waiting_places
from recommender.physics.handover import way_with_wait
from recommender.physics.sweep import sweep_across, sweep_beyond
from recommender.physics.thermal import ambient_share

_LONGER_THAN_ANY_LOOP = 1e3


@dataclass(frozen=True)
class OptionContext:
    """One option of a case.

    What the case leaves to be worked out for each option, the settling at its stations, is filled
    in: ``case`` is the enquiry as this option meets it, and no other.
    """

    option: Option
    case: Case
    catalogue: Catalogue

    def __post_init__(self) -> None:
        object.__setattr__(self, "case", settled(self.option, self.case, self.rules))

    @property
    def rules(self) -> Rules:
        """Rules of the house."""
        return self.catalogue.rules

    @cached_property
    def alone(self) -> Batch:
        """The option as a batch of its own."""
        return Batch((self.option,), self.case, self.rules)

    @cached_property
    def mass(self) -> float:
        """All that moves, kg."""
        return float(self.alone.mass[0, 0])

    @cached_property
    def bend_force_share(self) -> float:
        """Force of the magnets in the bend as a share of that on a straight."""
        return float(self.alone.bend_force_share[0, 0])

    @cached_property
    def continuous_force(self) -> float:
        """Continuous force of one magnet where the loop stands, N."""
        rules = self.rules
        share = ambient_share(self.case.site.ambient, rules.rated_ambient, rules.winding_limit)
        return self.option.carrier.continuous_force * float(share)

    @property
    def reserve(self) -> float:
        """Share of the rate that is asked for beyond it."""
        return reserve_of(self.case, self.catalogue)

    @property
    def takt(self) -> float:
        """Time between two carriers at the rate that is asked with its reserve, s."""
        return takt_of(self.option, self.case, self.catalogue)

    @cached_property
    def stations(self) -> tuple[Station, ...]:
        """The stations, each with the straight that it is to stand on."""
        return self.case.sided

    @cached_property
    def positions(self) -> Array:
        """Carriers that each station takes at once, (stations,)."""
        return np.array([float(station.positions) for station in self.case.station])

    @cached_property
    def batch_length(self) -> Array:
        """From the last carrier of a batch that stands at a station to its first, (stations,), m.

        A station's place is that of the first; the others stand behind it.
        """
        return self.spacing * (self.positions - 1.0)

    @cached_property
    def dwells(self) -> Array:
        """Standstill for the work on all items of a carrier, (stations,), s."""
        return np.array([station.dwell_with(self.option.items) for station in self.case.station])

    @cached_property
    def occupied(self) -> Array:
        """Dwell and settling of each station, (stations,), s."""
        return np.array([station.occupied_with(self.option.items) for station in self.case.station])

    def turn_leg(self, station: int, after: int, way: Array) -> Array:
        """Ways from a station to the next with the wait for the turn there, if there are turns, s.

        Parameters
        ----------
        station, after : int
        way : ndarray, s
            Travel from rest to rest.
        """
        due = self.case.station[station].due
        if due is None:
            return way
        settling = float(self.occupied[after] - self.dwells[after])
        return way_with_wait(way + settling, due, self.takt) - settling

    @cached_property
    def variation(self) -> Array:
        """Coefficient of variation of each station's dwell, (stations,)."""
        return np.array([station.dwell_variation for station in self.case.station])

    @cached_property
    def load_length(self) -> float:
        """Length of all items on a carrier, m."""
        return float(self.alone.load_length[0, 0])

    @cached_property
    def carrier_length(self) -> float:
        """Length of a carrier with its load along the travel, m."""
        return max(self.option.carrier.plate_length, self.load_length)

    @cached_property
    def spacing(self) -> float:
        """Least distance between two carriers on a straight, m."""
        return self.carrier_length + self.rules.carrier_gap

    @cached_property
    def bend_length(self) -> float:
        """Length of one bend on the guide centre line, m."""
        bend = self.option.bend
        return float(bend_length(bend.radius, bend.transition))

    @cached_property
    def bend_clearance(self) -> float:
        """Least distance from a station to a bend: all of a standing carrier is on the straight."""
        _, halves = self.outlines
        return float(max(halves.max(), 0.5 * self.option.base))

    @property
    def bend_spacing(self) -> float:
        """Least distance on the guide between two carriers in a bend, m.

        Where no two carriers pass a bend without touching, it is longer than any loop: the check
        of `least_bend_spacing` fails then, and the other checks can still be worked out.
        """
        return min(self.least_bend_spacing, _LONGER_THAN_ANY_LOOP)

    @cached_property
    def least_bend_spacing(self) -> float:
        """Least distance between two carriers in a bend, m; inf if no distance will do."""
        carrier, load, radius = self.option.carrier, self.case.load, self.option.bend.radius
        bodies = (
            (carrier.plate_length, -0.5 * carrier.plate_width),
            (self.load_length + 2.0 * abs(load.offset), load.reach - 0.5 * load.width),
        )
        gap = self.rules.carrier_gap
        return max(
            float(bend_spacing(length + gap, radius, inner, length, self.option.base))
            for length, inner in bodies
        )

    @cached_property
    def stations_apart(self) -> Array:
        """Way to each station from the one before that the enquiry asks for, (stations,), m."""
        return np.array(apart(self.case.station, self.spacing))

    @cached_property
    def distances_asked(self) -> Array:
        """Distance that each station asks for from the one before it, (stations,), m."""
        if len(self.case.station) == 1:
            return np.zeros(1)
        return np.maximum(self.stations_apart, self.spacing * self.positions)

    @cached_property
    def clearances_asked(self) -> Array:
        """Least distance from a batch to either end of its straight, (stations,), m."""
        own = [end_room(station, self.spacing) for station in self.case.station]
        return np.maximum(own, self.bend_clearance)

    @cached_property
    def bend_stretch(self) -> float:
        """Guide along which a bend asks for its wider spacing, m."""
        bend, longest = self.option.bend, 2.0 * float(self.outlines[1].max())
        return float(bend_stretch(bend.radius, bend.transition, longest, self.option.base))

    def places_along(self, way: Array, bends: Array | float) -> Array:
        """Carriers that fit on ways of some length with so many bends; fewer fit in bends."""
        bent = np.minimum(bends * self.bend_stretch, way)
        return places(way, bent, self.spacing, self.bend_spacing)

    def places_on(self, straight: float | Array) -> Array:
        """Carriers that a loop has room for, by the length of a straight."""
        return self.places_along(np.asarray(2.0 * (straight + self.bend_length)), 2.0)

    def waiting(self, exchange: Array, carriers: float, lap: float) -> tuple[int, ...]:
        """Carriers that gather before each station: a batch, and before the bottleneck a queue.

        Parameters
        ----------
        exchange : ndarray, s, (stations,)
            From the departure of a batch until the next one stands.
        carriers : float
        lap : float, s
            Unhindered. Where it or the number of carriers is infinite no queue is counted.
        """
        gathering = [int(m) if m > 1.0 else 0 for m in self.positions]
        if np.isfinite(lap) and np.isfinite(carriers):
            used = station_utilisation(self.occupied + exchange, self.positions, self.takt)
            slowest = int(np.argmax(np.round(used, 9)))
            queue = int(waiting_places(carriers, lap, self.takt))
            gathering[slowest] = max(gathering[slowest], queue)
        return tuple(gathering)

    @cached_property
    def outward(self) -> float:
        """Outermost point of load and plate from the guide centre line, m."""
        load = self.case.load
        return max(0.5 * self.option.carrier.plate_width, load.reach + 0.5 * load.width)

    @cached_property
    def inward(self) -> float:
        """Innermost point of load and plate, m; negative, since it lies inward."""
        load = self.case.load
        return min(-0.5 * self.option.carrier.plate_width, load.reach - 0.5 * load.width)

    @cached_property
    def outlines(self) -> tuple[Array, Array]:
        """Outer edge and longer half along the travel of plate and load, (bodies,), m.

        The load is longer to one side where its centre is ahead of the carrier's middle or behind.
        """
        carrier, load = self.option.carrier, self.case.load
        outer = (0.5 * carrier.plate_width, load.reach + 0.5 * load.width)
        halves = (0.5 * carrier.plate_length, 0.5 * self.load_length + abs(load.offset))
        return np.array(outer), np.array(halves)

    @cached_property
    def bodies(self) -> tuple[tuple[str, float, float, float, float], ...]:
        """Plate and load: rear and front from the middle, inner and outer edge, m."""
        carrier, load = self.option.carrier, self.case.load
        long, wide = 0.5 * carrier.plate_length, 0.5 * carrier.plate_width
        half, aside = 0.5 * self.load_length, 0.5 * load.width
        return (
            ("plate", -long, long, -wide, wide),
            (
                "load",
                load.offset - half,
                load.offset + half,
                load.reach - aside,
                load.reach + aside,
            ),
        )

    @cached_property
    def floor_depth(self) -> float:
        """Floor across an upright loop, m: from the back of the guide to the end of the load.

        A load is taken to be twice as high as its centre of gravity.
        """
        carrier, case = self.option.carrier, self.case
        behind = max(self.rules.guide_behind, carrier.guide_depth or 0.0)
        ahead = 2.0 * max(case.load.cg_height, case.tooling.cg_height if case.tooling.mass else 0.0)
        return behind + carrier.mounting_height + ahead

    @cached_property
    def floor_width(self) -> float:
        """Room across the loop in its plane, from the outermost corners of one side to the other.

        It is floor for a flat loop and height for an upright one, m. Both straights with plate and
        load outside of them, and their swing in the bends.
        """
        bend = self.option.bend
        swept = sweep_across(bend.radius, bend.transition, *self.outlines, self.option.base)
        return float(bend_width(bend.radius, bend.transition) + 2.0 * swept.max())

    @cached_property
    def floor_beyond(self) -> float:
        """Floor that a bend takes beyond the end of the straights, swing included, m."""
        bend = self.option.bend
        return float(
            sweep_beyond(bend.radius, bend.transition, *self.outlines, self.option.base).max()
        )

    @property
    def floor_across(self) -> float:
        """Floor across the loop with loads outside, swing included, m.

        A flat loop takes as much as it sweeps; an upright one stands on its edge.
        """
        return self.floor_depth if self.case.loop.plane == "upright" else self.floor_width

    @cached_property
    def longest_straight(self) -> float:
        """Straight beyond which the loop is longer than the floor that the enquiry gives, m."""
        limit = self.case.loop.max_extent
        return np.inf if limit is None else limit - 2.0 * self.floor_beyond


@dataclass(frozen=True)
class LoadTable:
    """Load cases of one option along one axis of settings, and which row takes which entry."""

    loads: CaseLoads
    option_row: int
    index: NDArray[np.intp]

    def pick(self, values: Array) -> Array:
        """Values along the axis, (settings, ...), for each row, (rows, ...)."""
        return np.asarray(values[self.index])

    def rows(self, values: Array) -> Array:
        """Values of the loads, (options, settings, ...), for each row, (rows, ...)."""
        return self.pick(values[self.option_row])

    def alone(self) -> CaseLoads:
        """The load cases of the first row only, as a batch of one option and one setting."""
        return self.loads.single(self.option_row, int(self.index[0]))

    def take(self, rows: NDArray[np.intp]) -> "LoadTable":
        """The table for some of its rows."""
        return LoadTable(self.loads, self.option_row, self.index[rows])

    def strongest(self, *kinds: str) -> Array:
        """Greatest drive force in cases of some kinds, resistance included, (rows,), N."""
        columns = self.loads.of_kind(*kinds)
        force = np.abs(self.loads.thrust[self.option_row]) + self.loads.resistance[self.option_row]
        return self.pick(force[..., columns].max(axis=-1))

    def resistance(self, kind: str) -> Array:
        """Greatest resistance in cases of one kind, (rows,), N."""
        columns = self.loads.of_kind(kind)
        return self.pick(self.loads.resistance[self.option_row][..., columns].max(axis=-1))


@dataclass(frozen=True)
class SettingContext:
    """One option under many settings, a row each.

    A row may also stand for a box of settings. Then ``settings`` is its gentlest corner, whose
    speeds and forces count where they raise a demand, ``quickest`` the corner whose speeds and
    times count where they lower one, and the load tables hold the least of the box: what is worked
    out so is a demand that no setting of the box undercuts.
    """

    about: OptionContext
    settings: Settings
    straight: LoadTable
    bend: LoadTable
    quickest: Settings | None = None

    def take(self, rows: NDArray[np.intp]) -> "SettingContext":
        """Some of the rows."""
        return SettingContext(
            self.about,
            self.settings.take(rows),
            self.straight.take(rows),
            self.bend.take(rows),
            self.quickest and self.quickest.take(rows),
        )

    def under(self, about: OptionContext) -> "SettingContext":
        """The same settings under a case that differs in what no load case looks at."""
        straight, bend = (
            replace(table, loads=table.loads.under(about.case))
            for table in (self.straight, self.bend)
        )
        return replace(self, about=about, straight=straight, bend=bend)

    @property
    def swift(self) -> Settings:
        """The settings whose speeds and times count where they lower a demand."""
        return self.quickest or self.settings

    @cached_property
    def mass(self) -> Array:
        """Mass that takes the least force to move as swiftly as the swiftest, (rows,), kg.

        For a single setting that is the carrier's own mass. For a box it is less, so that the mass
        times the greatest acceleration is the force for the least one.
        """
        return np.asarray(self.about.mass * self.settings.acceleration / self.swift.acceleration)

    @cached_property
    def drive_force(self) -> Array:
        """Force that speeds the carrier up, (rows,), N."""
        return self.straight.strongest("speeding up")

    @cached_property
    def cruise_resistance(self) -> Array:
        """Resistance at a steady speed on a straight, (rows,), N."""
        return self.straight.resistance("cruising")

    @cached_property
    def up_resistance(self) -> Array:
        """Resistance while speeding up, (rows,), N."""
        return self.straight.resistance("speeding up")
