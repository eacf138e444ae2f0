"""A configuration that runs for some hours: its rate with what varies, its waits, its power."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.random import SeedSequence

from recommender.choice.decision.audit import Audit
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array
from recommender.results.rehearsal import FleetTried, Rehearsal, StationRun, SupplyUse
from recommender.trials.chance import Chance, Spread, told
from recommender.trials.guard import Move
from recommender.trials.run import SHOWN_LAPS, Fleet, Run, Setup, Tie, run_together

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

Progress = Callable[[str, int, int], None]


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
    return rehearse_together(
        [ToRun(audit, case, chance)],
        catalogue,
        hours=hours,
        replications=replications,
        seeds=[SeedSequence(seed)],
        seed=seed,
        pace=pace,
        progress=progress,
    )[0]


@dataclass(frozen=True)
class ToRun:
    """A configuration that is to run, with its case and what varies there."""

    audit: Audit
    case: Case
    chance: Chance


def rehearse_together(
    loops: Sequence[ToRun],
    catalogue: Catalogue,
    *,
    hours: float,
    replications: int,
    seeds: Sequence[SeedSequence],
    seed: int,
    pace: bool,
    ties: Sequence[Tie] = (),
    progress: Progress | None = None,
) -> list[tuple[Rehearsal, Trace]]:
    """Let loops that hand over directly run under one clock; as `rehearse`, of each.

    Larger fleets are looked for of a loop that runs by itself.

    Parameters
    ----------
    loops : sequence of ToRun
    catalogue : Catalogue
    hours, replications, pace, progress
        As for `rehearse`.
    seeds : sequence of SeedSequence
        Lots of each loop.
    seed : int
        From which they come, as it is told.
    ties : sequence of Tie
        Handovers between them, by the numbers of the loops.
    """
    fleets = []
    for entry in loops:
        setup = Setup.of(entry.audit, entry.case, catalogue)
        held = setup.layout.about.takt if pace else 0.0
        chance = _with_case(entry.chance, entry.case)
        fleets.append(Fleet(setup, chance, entry.audit.configuration.carriers, held))
    varies = any(fleet.chance.varies for fleet in fleets)
    replications = replications if varies else 1
    warm, seconds = _times(max(fleet.lap for fleet in fleets), varies, hours)
    spawned = [own.spawn(replications) for own in seeds]
    runs: list[list[Run]] = []
    watched: list[list[tuple[int, Move]]] = [[] for _ in fleets]
    for number in range(replications):
        if progress:
            progress("replications", number, replications)
        shown = [replace(f, watched=w) for f, w in zip(fleets, watched, strict=True)]
        lots = [own[number] for own in spawned]
        runs.append(run_together(fleets if runs else shown, lots, warm, seconds, ties))
    found = []
    for k, (entry, fleet) in enumerate(zip(loops, fleets, strict=True)):
        told_of = _rehearsal(entry, fleet, catalogue, [run[k] for run in runs], hours, warm, seed)
        if told_of.verdict != "holds" and len(loops) == 1:
            some = spawned[k][:_SEARCH_REPLICATIONS]
            told_of = _with_more(told_of, fleet, some, hours, progress)
        found.append((told_of, _trace(fleet, entry.audit, watched[k], warm)))
    return found


def _rehearsal(
    entry: ToRun,
    fleet: Fleet,
    catalogue: Catalogue,
    runs: list[Run],
    hours: float,
    warm: float,
    seed: int,
) -> Rehearsal:
    audit, about = entry.audit, fleet.setup.layout.about
    rate, low, high = interval([60.0 * run.rate for run in runs])
    asked = 60.0 * entry.case.rate.items
    varied, stops = told(fleet.chance)
    return Rehearsal(
        option=audit.configuration.option.id,
        carriers=fleet.carriers,
        hours=hours,
        warm_up_s=warm,
        replications=len(runs),
        seed=seed,
        varied=varied,
        stops=stops,
        pace_s=fleet.pace,
        asked_per_min=asked,
        rate_per_min=rate,
        low_per_min=low,
        high_per_min=high,
        formula_per_min=60.0 * about.option.items / max(audit.takt, fleet.pace),
        verdict=_verdict(asked, rate, low, high),
        stations=_mean_stations([run.stations for run in runs]),
        supplies=_supplies(audit, catalogue, runs),
        closest=min(run.closest for run in runs),
        moves=sum(run.moves for run in runs),
    )


def _with_case(chance: Chance, case: Case) -> Chance:
    """What varies by the case, unless something else was said of a station."""
    known = {
        station.name: Spread(station.dwell_variation)
        for station in case.station
        if station.dwell_variation > 0.0
    }
    return replace(chance, spreads={**known, **chance.spreads})


def _times(lap: float, varies: bool, hours: float) -> tuple[float, float]:
    """Warm-up and the time that is looked at, s."""
    if not varies:
        return _WARM_LAPS * lap, min(3600.0 * hours, _ENOUGH_LAPS * lap)
    return max(_WARM_LAPS * lap, _WARM_SHARE * 3600.0 * hours), 3600.0 * hours


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


def _supplies(audit: Audit, catalogue: Catalogue, runs: list[Run]) -> tuple[SupplyUse, ...]:
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
    fleet: Fleet,
    seeds: Sequence[SeedSequence],
    hours: float,
    progress: Progress | None,
) -> Rehearsal:
    """Try larger fleets on the same loop, with the same lots, until one makes the rate."""
    most = min(int(fleet.setup.track.places) - 1, found.carriers + _MOST_MORE)
    warm, seconds = _times(fleet.lap, fleet.chance.varies, min(hours, _SEARCH_HOURS))
    tried: list[FleetTried] = []
    for carriers in range(found.carriers + 1, most + 1):
        if progress:
            progress("larger fleets", len(tried), most - found.carriers)
        larger = replace(fleet, carriers=carriers, watched=None)
        # Each fleet meets the lots that the first one met.
        own = [SeedSequence(entropy=s.entropy, spawn_key=s.spawn_key) for s in seeds]
        rates = [run_together([larger], [seed], warm, seconds)[0].rate for seed in own]
        tried.append(FleetTried(carriers, 60.0 * float(np.mean(rates))))
        if tried[-1].rate_per_min >= found.asked_per_min:
            return replace(found, tried=tuple(tried), enough=tried[-1])
        if len(tried) > 2 and tried[-1].rate_per_min < 1.0005 * tried[-3].rate_per_min:
            break
    return replace(found, tried=tuple(tried))


def _trace(fleet: Fleet, audit: Audit, watched: list[tuple[int, Move]], warm: float) -> Trace:
    setup, moves = fleet.setup, []
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
    return Trace(
        title=f"{audit.configuration.option.id}, {audit.configuration.carriers} carriers",
        length=setup.track.length,
        begin=0.0,
        end=SHOWN_LAPS * fleet.lap,
        stations=tuple(
            (name, places[k]) for k, name in zip(setup.layout.on.order, setup.names, strict=True)
        ),
        carriers=audit.configuration.carriers,
        moves=tuple(moves),
    )
