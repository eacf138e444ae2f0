"""Loops that run once: their floors under one clock, and what each of them gave."""

from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.random import SeedSequence

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.decision.audit import Audit
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.power import motor_constant
from recommender.choice.loop.ring import ring_of
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.arguments import trusted
from recommender.physics.constants import Array
from recommender.physics.drive import copper_loss
from recommender.results.rehearsal import StationRun
from recommender.trials.chance import Chance
from recommender.trials.floor import Floor, Place, Tally
from recommender.trials.guard import Move
from recommender.trials.meeting import Meeting, Work
from recommender.trials.meter import Drawing, Meter
from recommender.trials.path import Paths
from recommender.trials.simulator import Event, new_environment
from recommender.trials.track import Limits, Track

SHOWN_LAPS: Final = 4

Met = tuple[float, Callable[[Work], Generator[Event, Any, tuple[float, float]]] | None]
"""What a carrier works by itself where it meets another loop, s, and how it meets."""


@dataclass(frozen=True)
class Setup:
    """A configuration as its floor needs it."""

    layout: LayoutContext
    track: Track
    drawing: Drawing
    names: tuple[str, ...]
    takt: float
    """That the configuration keeps where nothing varies, s."""

    @staticmethod
    def of(audit: Audit, case: Case, catalogue: Catalogue) -> "Setup":
        """The setup of a configuration that has been audited."""
        configuration = audit.configuration
        about = OptionContext(configuration.option, case, catalogue)
        layout = layout_of(configuration, setting_of(about, configuration.motion))
        on, loop, motion = layout.on, configuration.loop, configuration.motion
        track = Track(
            loop.straight,
            loop.bend,
            on.overhang,
            0.5 * (about.bend_stretch - loop.bend),
            about.spacing,
            about.bend_spacing,
            Limits(motion.speed, motion.bend_speed, motion.acceleration, motion.jerk),
        )
        ring = ring_of(
            configuration.option, loop, configuration.front, configuration.back, catalogue
        )
        runs = []
        for group in configuration.electrics.groups:
            last = group.first + group.count - 1
            laps, last = divmod(last, len(ring))
            runs.append((ring[group.first].start, ring[last].end + laps * loop.length))
        names = tuple(case.station[k].name for k in on.order)
        return Setup(layout, track, Drawing(layout, track, tuple(runs)), names, audit.takt)

    def places(self, chance: Chance, seed: SeedSequence, met: Mapping[str, Met]) -> list[Place]:
        """The stations along the travel, each with its own lots."""
        about, at = self.layout.about, self.layout.on.placement.at
        seeds = seed.spawn(len(self.names))
        found = []
        for k, name, own in zip(self.layout.on.order, self.names, seeds, strict=True):
            dwell, meet = met.get(name, (float(about.dwells[k]), None))
            settling = float(about.occupied[k] - about.dwells[k])
            work = chance.work(name, dwell, own)
            found.append(Place(at[k], int(about.positions[k]), settling, work, meet))
        return found

    def turns_behind(self, names: Sequence[str], rhythm: float) -> tuple[int, ...]:
        """Turns that each of some places that fill in turn is behind the first one.

        A carrier is due at the next place so long after its departure, or whole rhythms later, as
        the lap has it.
        """
        about, behind = self.layout.about, [0]
        stations = {station.name: k for k, station in enumerate(about.case.station)}
        for name, following in pairwise(names):
            k, after = stations[name], stations[following]
            due = about.case.station[k].due or 0.0
            settling = float(about.occupied[after] - about.dwells[after])
            way = float(self.layout.station_legs[0][k]) + settling
            behind.append(behind[-1] + round((way - due) / rhythm))
        return tuple(behind)


@dataclass(frozen=True)
class Tie:
    """Two loops that hand over directly, by their numbers and the names of their stations.

    ``dwell`` is how long a unit carrier hands over and ``own`` what a box stands beyond that at the
    last place, s; the rest is as for `Meeting`.
    """

    giver: int
    gives_at: str
    taker: int
    takes_at: tuple[str, ...]
    shares: tuple[int, ...]
    rhythm: float
    dwell: float
    own: float

    @property
    def takt(self) -> float:
        """Time from one unit carrier to the next."""
        return self.rhythm / sum(self.shares)


@dataclass
class Fleet:
    """A loop that is to run: so many carriers, what varies, and the pace that is kept, s.

    ``watched`` is filled with the moves of some laps, if it is given.
    """

    setup: Setup
    chance: Chance
    carriers: int
    pace: float
    watched: list[tuple[int, Move]] | None = None
    met: dict[str, Met] = field(default_factory=dict)

    @property
    def lap(self) -> float:
        """How long a lap takes, s."""
        return max(self.setup.takt, self.setup.layout.about.takt) * self.carriers


@dataclass(frozen=True)
class Run:
    """What one replication gave of a loop."""

    rate: float
    stations: tuple[StationRun, ...]
    mean: Array
    peak: Array
    closest: float
    moves: int


def run_together(
    fleets: Sequence[Fleet],
    seeds: Sequence[SeedSequence],
    warm: float,
    seconds: float,
    ties: Sequence[Tie] = (),
) -> list[Run]:
    """Let loops run under one clock, and tell what each gave after a warm-up."""
    environment, end = new_environment(), warm + seconds
    fleets = [Fleet(f.setup, f.chance, f.carriers, f.pace, f.watched) for f in fleets]
    for tie in ties:
        paced = bool(fleets[tie.giver].pace)
        behind = fleets[tie.taker].setup.turns_behind(tie.takes_at, tie.rhythm)
        meeting = Meeting(environment, tie.shares, behind, tie.takt if paced else 0.0)
        fleets[tie.giver].met[tie.gives_at] = tie.dwell, meeting.give
        for number, name in enumerate(tie.takes_at):
            own = tie.own if number == len(tie.takes_at) - 1 else 0.0
            fleets[tie.taker].met[name] = own, partial(meeting.take, number)
    meters = [Meter(fleet.setup.drawing, end) for fleet in fleets]
    with trusted():
        floors = [
            _floor(fleet, seed, meter, warm, environment)
            for fleet, seed, meter in zip(fleets, seeds, meters, strict=True)
        ]
        environment.run(until=end)
        rows = zip(fleets, floors, meters, strict=True)
        return [_read(fleet, floor, meter, warm, end) for fleet, floor, meter in rows]


def _floor(fleet: Fleet, seed: SeedSequence, meter: Meter, warm: float, environment: Any) -> Floor:
    until, watched = warm + SHOWN_LAPS * fleet.lap, fleet.watched

    def watch(carrier: int, move: Move) -> None:
        meter.watch(carrier, move)
        if watched is not None and move[0] < until:
            watched.append((carrier, move))

    return Floor(
        fleet.setup.track,
        fleet.setup.places(fleet.chance, seed, fleet.met),
        fleet.carriers,
        lag=fleet.setup.layout.about.rules.start_lag,
        pace=fleet.pace,
        watch=watch,
        paths=Paths(fleet.setup.track),
        environment=environment,
    )


def _read(fleet: Fleet, floor: Floor, meter: Meter, warm: float, end: float) -> Run:
    setup = fleet.setup
    _hold(setup, floor, meter)
    mean, peak = meter.read(warm, end)
    stations = tuple(
        _station(name, tally, warm, end)
        for name, tally in zip(setup.names, floor.tallies, strict=True)
    )
    # Told in the order of the case.
    stations = tuple(stations[k] for k in setup.layout.on.rank)
    passed = _rate(floor.tallies[0].done, floor.places[0], fleet.carriers, warm, end)
    rate = setup.layout.about.option.items * passed
    return Run(rate, stations, mean, peak, floor.guard.closest, meter.moves)


def _hold(setup: Setup, floor: Floor, meter: Meter) -> None:
    """Add what is drawn while carriers are held against the force of a station."""
    about, on = setup.layout.about, setup.layout.on
    constant = float(motor_constant(setup.layout.setting))
    for k, tally in zip(on.order, floor.tallies, strict=True):
        power = float(copper_loss(about.case.station[k].force[0], constant))
        if power <= 0.0:
            continue
        for place in range(int(about.positions[k])):
            at = on.placement.at[k] - place * about.spacing
            for begun, worked in tally.worked:
                meter.hold(at, power, begun, begun + worked)


def _rate(done: list[float], place: Place, carriers: int, begin: float, end: float) -> float:
    """Carriers that pass a second; over whole laps, so that their order does not matter."""
    within = [time for time in done if begin <= time <= end]
    count = (len(within) - 1) // carriers * carriers or len(within) - 1
    if count < 1:
        return 0.0
    return count * place.positions / (within[count] - within[0])


def _station(name: str, tally: Tally, begin: float, end: float) -> StationRun:
    def mean(pairs: list[tuple[float, float]]) -> float:
        inside = [value for time, value in pairs if begin <= time <= end]
        return float(np.mean(inside)) if inside else 0.0

    busy = sum(
        max(min(start + length, end) - max(start, begin), 0.0) for start, length in tally.worked
    )
    mean_queue, longest = _queue(tally.standing, begin, end)
    return StationRun(
        name,
        busy / (end - begin),
        mean(tally.delayed),
        mean(tally.gathered),
        mean(tally.blocked),
        mean_queue,
        longest,
    )


def _queue(standing: list[tuple[float, int]], begin: float, end: float) -> tuple[float, int]:
    """Mean and greatest number of carriers that stand before a station."""
    total, since = 0.0, begin
    longest = count = 0
    for time, number in standing:
        if time > begin:
            stop = min(time, end)
            total += count * max(stop - since, 0.0)
            # What ends in the instant at which it began is no queue.
            longest = max(longest, count) if stop > since else longest
            since = stop
        count = number
        if time >= end:
            break
    else:
        total += count * (end - since)
        longest = max(longest, count)
    return total / (end - begin), longest
