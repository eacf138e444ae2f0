"""What a line comes to as a whole: what is shared, its floor, its handovers, what must hold."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.loop.built import layout_of, setting_of
from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import Condition, LineAudit, floor_of
from recommender.lines.decide import LineDecision
from recommender.lines.direct import Turns, place_name
from recommender.lines.model import Handover, Line
from recommender.lines.result import (
    HandoverResult,
    KindResult,
    LineFloor,
    LineSupply,
    LoopOnFloor,
    ServedRun,
    SharedResult,
)
from recommender.results.answer import CheckResult

_UNITS = {"": "1"}


def shared_result(line: LineAudit, catalogue: Catalogue) -> SharedResult:
    """The controller, supplies, cabinets and kinds of carriers of a line."""
    built = line.built
    controller = next(part for part in catalogue.controller if part.id == built.controller)
    kinds: dict[str, KindResult] = {}
    for name, loop in zip(built.names, built.loops, strict=True):
        id_ = loop.option.carrier.id
        known = kinds.get(id_, KindResult(id_, (), 0))
        kinds[id_] = replace(
            known, loops=(*known.loops, name), carriers=known.carriers + loop.carriers
        )
    return SharedResult(
        controller=controller.id,
        carriers=built.carriers,
        carriers_limit=controller.max_carriers,
        sections=built.sections,
        sections_limit=controller.max_sections,
        cabinets=-(-len(built.supplies) // catalogue.rules.most_supplies),
        supplies=tuple(_supplies(line, catalogue)),
        kinds=tuple(kinds.values()),
    )


def _supplies(line: LineAudit, catalogue: Catalogue) -> Iterator[LineSupply]:
    known = {part.id: part for part in catalogue.supply}
    for load in line.supplies:
        part = known[load.id]
        yield LineSupply(
            number=load.number + 1,
            id=load.id,
            runs=tuple(_runs(line, load.number)),
            mean_w=load.mean,
            mean_limit_w=part.mean_power,
            peak_w=load.peak,
            peak_limit_w=part.peak_power,
            sections=load.sections,
            sections_limit=part.max_sections,
        )


def _runs(line: LineAudit, number: int) -> Iterator[ServedRun]:
    for name, loop, serves in zip(line.built.names, line.loops, line.built.serves, strict=True):
        groups = loop.configuration.electrics.groups
        for group, supply, powers in zip(groups, serves, loop.loop.run_powers, strict=True):
            if supply == number:
                yield ServedRun(name, group.first + 1, group.count, powers[0], powers[1])


def floor_result(line: LineAudit, asked: Line) -> LineFloor:
    """Where each loop lies on the floor, side by side in the order of the enquiry."""
    gap, level = asked.floor.gap, 0.0
    loops = []
    for name, loop in zip(line.built.names, line.loops, strict=True):
        along, across = floor_of(loop)
        loops.append(LoopOnFloor(name, level, across, along))
        level += across + gap
    return LineFloor(
        length_m=line.floor[0],
        width_m=level - gap,
        gap_m=gap,
        length_limit_m=asked.floor.length,
        width_limit_m=asked.floor.width,
        loops=tuple(loops),
    )


def handover_results(decision: LineDecision, catalogue: Catalogue) -> Iterator[HandoverResult]:
    """How each handover works; of a direct one the places where there is a line."""
    for handover, found in zip(
        decision.line.handovers, handovers_in(decision.line, decision.turns), strict=True
    ):
        if found.places is None or decision.cheapest is None:
            yield found
            continue
        number = decision.line.names.index(handover.taker)
        names = [handover.takes_at]
        if found.places > 1:
            names = [place_name(handover.takes_at, k + 1) for k in range(found.places)]
        takes = exchanges(decision.cheapest, number, catalogue)
        yield replace(found, exchange_s=tuple(takes[name] for name in names))


def exchanges(line: LineAudit, loop: int, catalogue: Catalogue) -> dict[str, float]:
    """From a carrier's departure until the next one has settled, by the stations of a loop, s."""
    built, case = line.built.loops[loop], line.built.cases[loop]
    about = OptionContext(built.option, case, catalogue)
    layout = layout_of(built, setting_of(about, built.motion))
    takes = layout.exchange[0] + about.occupied - about.dwells
    return {s.name: float(t) for s, t in zip(case.station, takes, strict=True)}


def handovers_in(line: Line, settled: Iterable[Turns]) -> Iterator[HandoverResult]:
    """How each handover works, the direct ones settled in one way."""
    turns = {turn.handover: turn for turn in settled}
    for handover in line.handovers:
        found = _rates(line, handover)
        turn = turns.get(handover.name)
        if turn is not None:
            found = replace(
                found,
                places=turn.places,
                rhythm_s=turn.rhythm,
                shares=turn.shares,
                standing_s=turn.standing,
                left_s=turn.left,
            )
        yield found


def _rates(line: Line, handover: Handover) -> HandoverResult:
    return HandoverResult(
        name=handover.name,
        giver=handover.beginning,
        taker=handover.end,
        items=handover.items,
        between=handover.between,
        share=handover.share,
        giver_per_min=60.0 * line.cases[handover.giver].rate.items,
        taker_per_min=60.0 * line.cases[handover.taker].rate.items,
    )


def conditions_of(line: LineAudit | None) -> tuple[CheckResult, ...]:
    """What must hold for all loops together."""
    return tuple(_check(entry) for entry in line.conditions) if line is not None else ()


def _check(condition: Condition) -> CheckResult:
    limit = condition.limit
    money = condition.id == "line.budget"
    return CheckResult(
        id=condition.id,
        title=condition.title,
        demand=float(condition.demand),
        limit=float(limit),
        unit="money" if money else _UNITS.get(condition.unit, condition.unit),
        utilisation=condition.demand / limit if limit > 0.0 else float("inf"),
        governed_by=condition.of,
        ok=condition.ok,
        source="house rule",
    )
