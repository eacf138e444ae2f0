"""Lets the loops of a line run: by themselves where buffers part them, else under one clock.

Through a buffer only rates are tied, so that each loop by itself is all there is to it as long as
the buffer is neither empty nor full. A direct handover ties loops carrier by carrier
(`recommender.trials.meeting`): boxes stand until their units are there, and units wait for a box.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final, Literal, TypeVar

from numpy.random import SeedSequence

from recommender.faults import InputError
from recommender.lines.result import HandoverResult
from recommender.lines.result_rehearsal import LineRehearsal, LineSupplyUse, LoopRehearsal
from recommender.lines.tried import TriedLine, places_of
from recommender.shown import shown
from recommender.trials.chance import Chance, read_spreads, read_stops
from recommender.trials.rehearse import ToRun, Trace, rehearse_together
from recommender.trials.run import Tie

_Value = TypeVar("_Value")
Progress = Callable[[str, int, int], None]
_RANK: Final[dict[Literal["holds", "short", "open"], int]] = {"holds": 0, "open": 1, "short": 2}


def chances_of(line: TriedLine, vary: Sequence[str], stops: Sequence[str]) -> dict[str, Chance]:
    """What varies in each loop, from texts as for a single one with stations behind their loops.

    What is said of no station is for all but those where boxes stand while their units arrive.

    Raises
    ------
    InputError
        With what was read and what would do.
    """
    named = line.stations
    free = [name for name in named if name not in line.places]
    spreads, stopping = {}, {}
    for text in vary:
        spreads.update(read_spreads([text], free if _of_all(text, named) else named))
    met = [name for name in spreads if name in line.places]
    if met:
        givers = ", ".join(h.giver for h in line.handovers if h.between == "direct")
        raise InputError(
            f"--vary: how long a box stands at {shown(met[0])} follows from its units; let the"
            f" dwell vary where they are handed over ({shown(givers)})"
        )
    for text in stops:
        stopping.update(read_stops([text], free if _of_all(text, named) else named))
    return {loop: Chance(_of_loop(spreads, loop), _of_loop(stopping, loop)) for loop in line.loops}


def _of_all(text: str, names: Sequence[str]) -> bool:
    text = text.strip()
    begins = text[:1].isdigit() and not text.lower().endswith(".csv")
    return begins and not any(text.startswith(name) for name in names)


def _of_loop(found: "Mapping[str, _Value]", loop: str) -> "dict[str, _Value]":
    begin = f"{loop}."
    return {
        name.removeprefix(begin): value for name, value in found.items() if name.startswith(begin)
    }


def rehearse_line(
    line: TriedLine,
    chances: Mapping[str, Chance],
    *,
    hours: float = 8.0,
    replications: int = 5,
    seed: int = 1,
    pace: bool = True,
    progress: Progress | None = None,
) -> tuple[LineRehearsal, dict[str, Trace]]:
    """Let a line run.

    Parameters
    ----------
    line : TriedLine
    chances : mapping of str to Chance
        What varies in each loop.
    hours, replications, pace, progress
        As for a single loop.
    seed : int
        Each loop draws lots of its own from it.

    Returns
    -------
    LineRehearsal, dict of str to Trace
    """
    runs: dict[str, LoopRehearsal] = {}
    traces: dict[str, Trace] = {}
    numbers = {name: number for number, name in enumerate(line.loops)}
    for group in groups_of(line):
        found = rehearse_together(
            [ToRun(*line.loops[name], chances[name]) for name in group],
            line.catalogue,
            hours=hours,
            replications=replications,
            seeds=[SeedSequence([seed, numbers[name]]) for name in group],
            seed=seed,
            pace=pace,
            ties=list(_ties(line, group)),
            progress=progress,
        )
        for name, (run, trace) in zip(group, found, strict=True):
            runs[name], traces[name] = LoopRehearsal(name, run), trace
    loops = tuple(runs[name] for name in line.loops)
    rehearsal = LineRehearsal(
        title=line.line.title,
        hours=hours,
        replications=max(entry.run.replications for entry in loops),
        seed=seed,
        verdict=max((entry.run.verdict for entry in loops), key=_RANK.__getitem__),
        loops=tuple(replace(e, run=replace(e.run, supplies=())) for e in loops),
        supplies=tuple(_supplies(line, runs)),
        handovers=tuple(_told(handover) for handover in line.handovers),
    )
    return rehearsal, traces


def groups_of(line: TriedLine) -> list[list[str]]:
    """Loops that direct handovers tie to each other, in the order of the line; others alone."""
    group = {name: [name] for name in line.loops}
    for handover in line.handovers:
        one, other = (end.partition(".")[0] for end in (handover.giver, handover.taker))
        if handover.between == "direct" and group[one] is not group[other]:
            joined = sorted(group[one] + group[other], key=list(line.loops).index)
            group |= dict.fromkeys(joined, joined)
    return [found for name, found in group.items() if found[0] == name]


def _ties(line: TriedLine, group: Sequence[str]) -> Iterator[Tie]:
    """The direct handovers within a group of loops."""
    for handover in line.handovers:
        giver, _, gives_at = handover.giver.partition(".")
        taker = handover.taker.partition(".")[0]
        if handover.between != "direct" or giver not in group or handover.rhythm_s is None:
            continue
        takt = handover.rhythm_s / sum(handover.shares)
        # Before its last place a box stands for its units alone.
        audit, case = line.loops[giver]
        station = next(station for station in case.station if station.name == gives_at)
        dwell = min(station.dwell_with(audit.configuration.option.items), takt)
        stands = (handover.shares[-1] - 1) * takt + dwell
        yield Tie(
            giver=group.index(giver),
            gives_at=gives_at,
            taker=group.index(taker),
            takes_at=tuple(place.partition(".")[2] for place in places_of(handover)),
            shares=handover.shares,
            rhythm=handover.rhythm_s,
            dwell=dwell,
            own=max(handover.standing_s[-1] - stands, 0.0),
        )


def _told(handover: HandoverResult) -> str:
    """How a handover was let run."""
    begun = f"{handover.giver} to {handover.taker}"
    if handover.between == "buffer":
        return (
            f"{begun}: through a buffer, which is taken to be neither empty nor full, so that each"
            " loop runs by itself."
        )
    return (
        f"{begun}: direct, both loops under one clock: a box stands until its units are there, and"
        " units wait for a box."
    )


def _supplies(line: TriedLine, runs: Mapping[str, LoopRehearsal]) -> Iterator[LineSupplyUse]:
    """Each supply with all that it serves, by loop and first section."""
    uses = {
        (name, use.first_section): use for name, entry in runs.items() for use in entry.run.supplies
    }
    for supply in line.supplies:
        own = [uses[run.loop, run.first_section] for run in supply.runs]
        yield LineSupplyUse(
            number=supply.number,
            id=supply.id,
            loops=tuple(dict.fromkeys(run.loop for run in supply.runs)),
            mean_w=sum(use.mean_w for use in own),
            mean_counted_w=supply.mean_w,
            mean_limit_w=supply.mean_limit_w,
            peak_w=sum(use.peak_w for use in own),
            peak_counted_w=supply.peak_w,
            peak_limit_w=supply.peak_limit_w,
        )
