"""A configuration that runs for some hours: its rate with what varies, its waits, its power."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Literal

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
from recommender.result_rehearsal import FleetTried, Rehearsal, StationRun, SupplyUse
from recommender.trials.chance import Chance, Spread, told
from recommender.trials.floor import Floor, Place, Tally
from recommender.trials.guard import Move
from recommender.trials.meter import Drawing, Meter
from recommender.trials.path import Paths
from recommender.trials.track import Limits, Track

# Quantiles of Student's t at 97.5 % for 1 to 30 degrees of freedom.
_STUDENT: Final = (
    *(12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228),
    *(2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086),
    *(2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042),
)
MOST_REPLICATIONS: Final = len(_STUDENT) + 1
MOST_HOURS: Final = 48.0

_WARM_LAPS: Final = 20
_WARM_SHARE: Final = 0.05
_ENOUGH_LAPS: Final = 120
"""Laps that stand for any time where nothing varies."""

_MOST_MORE: Final = 8
_SEARCH_HOURS: Final = 4.0
_SEARCH_REPLICATIONS: Final = 3
_SHOWN_LAPS: Final = 4

Progress = Callable[[str, int, int], None]


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

    def places(self, chance: Chance, seed: SeedSequence) -> list[Place]:
        """The stations along the travel, each with its own lots."""
        about, at = self.layout.about, self.layout.on.placement.at
        seeds = seed.spawn(len(self.names))
        return [
            Place(
                at[k],
                int(about.positions[k]),
                float(about.occupied[k] - about.dwells[k]),
                chance.work(name, float(about.dwells[k]), own),
            )
            for k, name, own in zip(self.layout.on.order, self.names, seeds, strict=True)
        ]


@dataclass(frozen=True)
class _Run:
    """What one replication gave."""

    rate: float
    stations: tuple[StationRun, ...]
    mean: Array
    peak: Array
    closest: float
    moves: int


@dataclass(frozen=True)
class Trace:
    """Moves of all carriers for some laps, for a diagram.

    ``moves`` are carrier, instants from the beginning, s, and places, m, which count on lap by lap.
    """

    title: str
    length: float
    begin: float
    end: float
    stations: tuple[tuple[str, float], ...]
    carriers: int
    moves: tuple[tuple[int, Array, Array], ...]


def rehearse(
    audit: Audit,
    case: Case,
    catalogue: Catalogue,
    chance: Chance,
    *,
    hours: float = 8.0,
    replications: int = 5,
    seed: int = 1,
    pace: bool = True,
    progress: Progress | None = None,
) -> tuple[Rehearsal, Trace]:
    """Let a configuration run.

    Parameters
    ----------
    audit : Audit
        Of the configuration.
    case : Case
    catalogue : Catalogue
    chance : Chance
        What varies; a station that is not named is as the case has it.
    hours : float
        For which each replication is looked at, after a warm-up of 20 laps or a twentieth of them,
        whichever is longer. Where nothing varies 120 laps stand for all hours, and one replication.
    replications : int
    seed : int
        Same seed, same result.
    pace : bool
        Whether the controller lets no more through than is asked for with its reserve, as the
        answer takes it for power and heat.
    progress : callable, optional

    Returns
    -------
    Rehearsal, Trace

    Raises
    ------
    RuleError
        If a rule is broken that no run may break: a fault of this program.
    """
    setup = Setup.of(audit, case, catalogue)
    chance = _with_case(chance, case)
    about, fleet = setup.layout.about, audit.configuration.carriers
    replications = replications if chance.varies else 1
    warm, seconds = _times(setup, chance, hours)
    held = about.takt if pace else 0.0
    seeds = SeedSequence(seed).spawn(replications)
    runs: list[_Run] = []
    watched: list[tuple[int, Move]] = []
    for number, one in enumerate(seeds):
        if progress:
            progress("replications", number, replications)
        shown = None if runs else watched
        runs.append(_run(setup, chance, fleet, one, warm, seconds, held, shown))
    rate, low, high = interval([60.0 * run.rate for run in runs])
    asked = 60.0 * case.rate.items
    takt = max(audit.takt, held)
    varied, stops = told(chance)
    found = Rehearsal(
        option=audit.configuration.option.id,
        carriers=fleet,
        hours=hours,
        warm_up_s=warm,
        replications=replications,
        seed=seed,
        varied=varied,
        stops=stops,
        pace_s=held,
        asked_per_min=asked,
        rate_per_min=rate,
        low_per_min=low,
        high_per_min=high,
        formula_per_min=60.0 * about.option.items / takt,
        verdict=_verdict(asked, rate, low, high),
        stations=_mean_stations([run.stations for run in runs]),
        supplies=_supplies(audit, catalogue, runs),
        closest=min(run.closest for run in runs),
        moves=sum(run.moves for run in runs),
    )
    if found.verdict != "holds":
        found = _with_more(found, setup, chance, seeds[:_SEARCH_REPLICATIONS], hours, progress)
    return found, _trace(setup, audit, watched, warm)


def _with_case(chance: Chance, case: Case) -> Chance:
    """What varies by the case, unless something else was said of a station."""
    known = {
        station.name: Spread(station.dwell_variation)
        for station in case.station
        if station.dwell_variation > 0.0
    }
    return replace(chance, spreads={**known, **chance.spreads})


def _times(setup: Setup, chance: Chance, hours: float) -> tuple[float, float]:
    """Warm-up and the time that is looked at, s."""
    lap = max(setup.takt, setup.layout.about.takt) * float(setup.layout.carriers[0])
    if not chance.varies:
        return _WARM_LAPS * lap, min(3600.0 * hours, _ENOUGH_LAPS * lap)
    return max(_WARM_LAPS * lap, _WARM_SHARE * 3600.0 * hours), 3600.0 * hours


def _run(
    setup: Setup,
    chance: Chance,
    carriers: int,
    seed: SeedSequence,
    warm: float,
    seconds: float,
    pace: float,
    watched: list[tuple[int, Move]] | None,
) -> _Run:
    about, end = setup.layout.about, warm + seconds
    meter = Meter(setup.drawing, end)
    until = warm + _SHOWN_LAPS * max(setup.takt, about.takt) * carriers

    def watch(carrier: int, move: Move) -> None:
        meter.watch(carrier, move)
        if watched is not None and move[0] < until:
            watched.append((carrier, move))

    places = setup.places(chance, seed)
    with trusted():
        floor = Floor(
            setup.track,
            places,
            carriers,
            lag=about.rules.start_lag,
            pace=pace,
            watch=watch,
            paths=Paths(setup.track),
        )
        floor.run(end)
        _hold(setup, floor, meter)
        mean, peak = meter.read(warm, end)
    stations = tuple(
        _station(name, tally, warm, end)
        for name, tally in zip(setup.names, floor.tallies, strict=True)
    )
    # Told in the order of the case.
    stations = tuple(stations[k] for k in setup.layout.on.rank)
    rate = about.option.items * _rate(floor.tallies[0].done, places[0], carriers, warm, end)
    return _Run(rate, stations, mean, peak, floor.guard.closest, meter.moves)


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


def interval(values: list[float]) -> tuple[float, float | None, float | None]:
    """Mean of some replications and its bounds with a confidence of 95 %.

    m ± t·s/√n, t of Student's distribution with n − 1 degrees of freedom.

    Examples
    --------
    Mean 4, deviation 1, t = 4.303: 4.303/√3 = 2.484 to either side.

    >>> [round(value, 3) for value in interval([3.0, 4.0, 5.0])]
    [4.0, 1.516, 6.484]
    """
    mean = float(np.mean(values))
    if len(values) < 2:
        return mean, None, None
    half = _STUDENT[len(values) - 2] * float(np.std(values, ddof=1)) / np.sqrt(len(values))
    return mean, mean - float(half), mean + float(half)


def _verdict(
    asked: float, rate: float, low: float | None, high: float | None
) -> Literal["holds", "short", "open"]:
    least, most = (rate if low is None else low), (rate if high is None else high)
    if least >= asked * (1.0 - 1e-9):
        return "holds"
    return "short" if most < asked else "open"


def _mean_stations(runs: list[tuple[StationRun, ...]]) -> tuple[StationRun, ...]:
    found = []
    for same in zip(*runs, strict=True):
        means = {
            name: float(np.mean([getattr(run, name) for run in same]))
            for name in ("busy", "delayed_s", "gathering_s", "blocked_s", "queue")
        }
        longest = max(run.longest_queue for run in same)
        found.append(StationRun(same[0].name, longest_queue=longest, **means))
    return tuple(found)


def _supplies(audit: Audit, catalogue: Catalogue, runs: list[_Run]) -> tuple[SupplyUse, ...]:
    known = {part.id: part for part in catalogue.supply}
    idle = catalogue.catalogue.section_idle_power
    found = []
    for number, group in enumerate(audit.configuration.electrics.groups):
        supply, counted = known[group.supply], audit.loop.run_powers[number]
        found.append(
            SupplyUse(
                id=group.supply,
                first_section=group.first + 1,
                sections=group.count,
                mean_w=float(np.mean([run.mean[number] for run in runs])) + idle * group.count,
                mean_counted_w=counted[0],
                mean_limit_w=supply.mean_power,
                peak_w=max(float(run.peak[number]) for run in runs) + idle * group.count,
                peak_counted_w=counted[1],
                peak_limit_w=supply.peak_power,
            )
        )
    return tuple(found)


def _with_more(
    found: Rehearsal,
    setup: Setup,
    chance: Chance,
    seeds: list[SeedSequence],
    hours: float,
    progress: Progress | None,
) -> Rehearsal:
    """Try larger fleets on the same loop, with the same lots, until one makes the rate."""
    most = min(int(setup.track.places) - 1, found.carriers + _MOST_MORE)
    warm, seconds = _times(setup, chance, min(hours, _SEARCH_HOURS))
    tried: list[FleetTried] = []
    for carriers in range(found.carriers + 1, most + 1):
        if progress:
            progress("larger fleets", len(tried), most - found.carriers)
        # Each fleet meets the lots that the first one met.
        own = [SeedSequence(entropy=s.entropy, spawn_key=s.spawn_key) for s in seeds]
        rates = [
            _run(setup, chance, carriers, seed, warm, seconds, found.pace_s, None).rate
            for seed in own
        ]
        tried.append(FleetTried(carriers, 60.0 * float(np.mean(rates))))
        if tried[-1].rate_per_min >= found.asked_per_min:
            return replace(found, tried=tuple(tried), enough=tried[-1])
        if len(tried) > 2 and tried[-1].rate_per_min < 1.0005 * tried[-3].rate_per_min:
            break
    return replace(found, tried=tuple(tried))


def _trace(setup: Setup, audit: Audit, watched: list[tuple[int, Move]], warm: float) -> Trace:
    moves = []
    seen: set[int] = set()
    for carrier, (since, lap, path) in watched:
        if since + path.duration >= warm:
            place = path.samples[0] + lap * setup.track.length
            times = since + path.times - warm
            if carrier not in seen and times[0] > 0.0:
                # It stood there before.
                times, place = np.append(0.0, times), np.append(place[0], place)
            seen.add(carrier)
            moves.append((carrier, times, place))
    places = setup.layout.on.placement.at
    lap_time = max(setup.takt, setup.layout.about.takt) * audit.configuration.carriers
    return Trace(
        title=f"{audit.configuration.option.id}, {audit.configuration.carriers} carriers",
        length=setup.track.length,
        begin=0.0,
        end=_SHOWN_LAPS * lap_time,
        stations=tuple(
            (name, places[k]) for k, name in zip(setup.layout.on.order, setup.names, strict=True)
        ),
        carriers=audit.configuration.carriers,
        moves=tuple(moves),
    )
