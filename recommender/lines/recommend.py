"""Answers a line: decided together, each loop explained by itself, what they share itemised."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from recommender.choice.deadline import ending_in
from recommender.choice.decision.audit import Audit
from recommender.choice.decision.decision import Decision
from recommender.choice.parts.pricing import cents
from recommender.explain.explained import (
    Explained,
    Progress,
    explain_decision,
    explain_in_brief,
)
from recommender.explain.headroom import headroom
from recommender.explain.scene import Scene
from recommender.filling.operation import delivery_result
from recommender.filling.options import part_result
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import LineAudit
from recommender.lines.decide import LineDecision, LoopAlone, decide_line
from recommender.lines.impasse import impasse_of
from recommender.lines.model import Line
from recommender.lines.others import Others
from recommender.lines.result import (
    LineAnswer,
    LinePartResult,
    LoopOption,
    LoopResult,
    Savings,
)
from recommender.lines.saving import Alone, ordered_alone, savings_of
from recommender.lines.whole import (
    conditions_of,
    floor_result,
    handover_results,
    shared_result,
)
from recommender.recommend import mark_of, unsettled_words, write_answer
from recommender.results.answer import Answer, Extent, OptionResult, PartResult, Proof
from recommender.units import written_in
from recommender.version import program_version

_CENTS: Final = Decimal(100)


@dataclass(frozen=True)
class _Loop:
    """One loop: what is decided and explained about it by itself, and its own answer."""

    name: str
    entry: LoopAlone
    explained: Explained
    answer: Answer

    @property
    def case(self) -> Case:
        return self.entry.version.case

    @property
    def decision(self) -> Decision:
        return self.entry.decision


def recommend_line(
    line: Line,
    catalogue: Catalogue,
    *,
    in_brief: bool = False,
    about: Collection[str] | None = (),
    seconds: float | None = None,
    progress: Progress | None = None,
) -> LineAnswer:
    """Answer a line from a catalogue.

    Parameters
    ----------
    line : Line
    catalogue : Catalogue
    in_brief : bool
        Whether to leave out what would have to give in each loop.
    about : collection of str, optional
        Options that are asked about in depth, each behind its loop and a point; ``None`` for all.
    seconds : float, optional
        Time after which the rest is left out.
    progress : callable, optional

    Returns
    -------
    LineAnswer
    """
    with written_in(line.units), ending_in(seconds) as deadline:
        decision = decide_line(line, catalogue)
        loops = tuple(
            _looked_at(decision, number, catalogue, in_brief, about, progress)
            for number in range(len(line.loops))
        )
        answer = _written(decision, loops, catalogue)
    return replace(answer, unsettled=unsettled_words(deadline.cut))


def recommend_line_in_steps(
    line: Line, catalogue: Catalogue, *, seconds: float | None = None
) -> Iterator[LineAnswer]:
    """The answer in brief as soon as the line is decided, then with explanations.

    Parameters
    ----------
    line : Line
    catalogue : Catalogue
    seconds : float, optional
        As for `recommend_line`.
    """
    with written_in(line.units), ending_in(seconds) as deadline:
        decision = decide_line(line, catalogue)
        for in_brief in (True, False):
            loops = tuple(
                _looked_at(decision, number, catalogue, in_brief, (), None)
                for number in range(len(line.loops))
            )
            answer = _written(decision, loops, catalogue)
            yield replace(answer, unsettled=unsettled_words(deadline.cut))


def _looked_at(
    decision: LineDecision,
    number: int,
    catalogue: Catalogue,
    in_brief: bool,
    about: Collection[str] | None,
    progress: Progress | None,
) -> _Loop:
    """A loop by itself, in the way in which the handovers of the line work.

    Where there is no line, in the first way in which it works, or else in the last.
    """
    entries, name = decision.alone[number], decision.line.names[number]
    if decision.picked:
        entry = entries[decision.picked[number].version]
    else:
        entry = next((one for one in entries if one.decision.chosen is not None), entries[-1])
    case, own = entry.version.case, entry.decision
    if in_brief:
        explained = explain_in_brief(own, case, catalogue)
        answer = write_answer(case, catalogue, own, explained, Extent(explained=False))
        return _Loop(name, entry, explained, answer)
    wanted = None
    if about is not None:
        wanted = [
            option for loop, _, option in (id_.partition(".") for id_ in about) if loop == name
        ]
    explained = explain_decision(own, case, catalogue, about=wanted, progress=progress)
    return _Loop(name, entry, explained, write_answer(case, catalogue, own, explained))


def _written(decision: LineDecision, loops: Sequence[_Loop], catalogue: Catalogue) -> LineAnswer:
    line, chosen = decision.line, decision.chosen
    answers = {loop.name: loop.answer for loop in loops}
    parts = tuple(_parts(chosen)) if chosen else ()
    others = Others(decision, catalogue)
    orders = _orders(decision, catalogue)
    return LineAnswer(
        status="recommended" if chosen else "none",
        title=line.title,
        catalogue=mark_of(catalogue),
        line={**understood(line), "cases": cases_of(line)},
        price=chosen.price if chosen else None,
        currency=catalogue.catalogue.currency,
        proof=_proof(decision) if chosen else None,
        shared=shared_result(chosen, catalogue) if chosen else None,
        floor=floor_result(chosen, line) if chosen else None,
        delivery=delivery_result(chosen.delivery) if chosen else None,
        conditions=conditions_of(chosen or decision.cheapest),
        handovers=tuple(handover_results(decision, catalogue)),
        loops=tuple(
            _loop(decision, number, loop, others, orders[number], parts, catalogue)
            for number, loop in enumerate(loops)
        ),
        parts=parts,
        savings=_savings(chosen, orders, catalogue),
        impasse=impasse_of(decision, answers, catalogue),
        cautions=_cautions(decision, loops, catalogue),
        units=line.units,
        program=program_version(),
    )


def understood(line: Line) -> dict[str, Any]:
    """What was understood of a line beside its loops' cases, SI."""
    return {
        "title": line.title,
        "units": line.units,
        "loops": list(line.names),
        "own": {loop.name: list(loop.own) for loop in line.loops},
        "handover": [
            {
                "from": handover.beginning,
                "to": handover.end,
                "items": handover.items,
                "between": handover.between,
                "share": handover.share,
                "positions": list(handover.positions),
            }
            for handover in line.handovers
        ],
        "reserve": line.reserve,
        "spares": line.spares.model_dump(mode="json"),
        "floor": line.floor.model_dump(mode="json"),
        "commercial": line.commercial.model_dump(mode="json"),
    }


def cases_of(line: Line) -> dict[str, Any]:
    """Each loop's case as it was understood, SI, with what stands above the loops merged in."""
    return {name: case.model_dump(mode="json") for name, case in line.cases.items()}


def _orders(decision: LineDecision, catalogue: Catalogue) -> list[Alone | None]:
    """Each loop ordered by itself, where there is a line to compare with."""
    if decision.chosen is None:
        return [None] * len(decision.known)
    return [
        ordered_alone(decision.line, number, known, catalogue)
        for number, known in enumerate(decision.known)
    ]


def _savings(
    line: LineAudit | None, orders: Sequence[Alone | None], catalogue: Catalogue
) -> Savings | None:
    known = [order for order in orders if order is not None]
    if line is None or len(known) < len(orders):
        return None
    return savings_of(line, known, catalogue.catalogue.currency)


def _proof(decision: LineDecision) -> Proof:
    return Proof(
        best_bound=decision.bound / _CENTS,
        price=decision.price / _CENTS,
        optimal=decision.optimal,
    )


def _parts(line: LineAudit) -> Iterator[LinePartResult]:
    for entry in line.parts:
        part = part_result(entry.part)
        yield LinePartResult(
            entry.loop,
            part.item,
            part.id,
            part.description,
            part.quantity,
            part.unit_price,
            part.price,
            part.lead_time_weeks,
            part.why,
        )


def _loop(
    decision: LineDecision,
    number: int,
    loop: _Loop,
    others: Others,
    order: Alone | None,
    parts: Sequence[LinePartResult],
    catalogue: Catalogue,
) -> LoopResult:
    chosen = decision.chosen
    audit = chosen.loops[number] if chosen else None
    return LoopResult(
        name=loop.name,
        supplied=decision.line.loops[number].supplied,
        rate_per_min=60.0 * loop.case.rate.items,
        chosen=_in_line(loop, audit, parts, catalogue) if audit else None,
        alone=loop.answer,
        options=tuple(_options(decision, number, loop, others)),
        instead=others.instead(number, order) if order is not None else None,
    )


def _in_line(
    loop: _Loop, audit: Audit, parts: Sequence[LinePartResult], catalogue: Catalogue
) -> OptionResult:
    """A loop's configuration in the line, with the parts that are for this loop alone."""
    option, own = audit.configuration.option, loop.decision
    looked = tuple(
        replace(entry, audit=audit, feasible=True, decided=True, cut_off=False)
        if entry.option == option
        else entry
        for entry in own.looked
    )
    placed = replace(own, looked=looked, chosen=audit, price=cents(audit.price))
    explained = loop.explained
    same = own.chosen is not None and own.chosen.configuration == audit.configuration
    if not explained.in_brief and not same:
        scene = Scene(audit.configuration, loop.case, catalogue)
        explained = replace(
            explained,
            scenes={**explained.scenes, option.id: scene},
            headroom=headroom(audit, explained.requirements, scene),
        )
    choice = write_answer(loop.case, catalogue, placed, explained).choice
    assert choice is not None
    mine = tuple(part for part in loop_parts(parts, loop.name))
    total = sum((part.price for part in mine), start=Decimal(0))
    return replace(choice, price=total, parts=mine, at_least=None, delivery=None)


def loop_parts(parts: Sequence[LinePartResult], name: str) -> Iterator[PartResult]:
    """The parts that are for one loop alone, as those of an option."""
    for part in parts:
        if part.loop == name:
            yield PartResult(
                part.item,
                part.id,
                part.description,
                part.quantity,
                part.unit_price,
                part.price,
                part.lead_time_weeks,
                part.why,
            )


def _options(
    decision: LineDecision, number: int, loop: _Loop, others: Others
) -> Iterator[LoopOption]:
    """Every option of a loop, by what the line costs with it."""
    chosen = decision.chosen
    prices = others.prices(number)
    for option in loop.answer.options:
        price = prices.get(option.id)
        yield LoopOption(
            option.id,
            str(option.verdict),
            option.price,
            price,
            price - chosen.price if price is not None and chosen is not None else None,
            option.reason,
        )


def _cautions(
    decision: LineDecision, loops: Sequence[_Loop], catalogue: Catalogue
) -> tuple[str, ...]:
    """What every loop warns of once, what only some do with their names, and what a line adds."""
    of_each = [(loop.name, loop.answer.cautions) for loop in loops]
    shared = [line for line in of_each[0][1] if all(line in lines for _, lines in of_each)]
    own = [f"{name}: {line}" for name, lines in of_each for line in lines if line not in shared]
    together = [
        "One controller commands all loops: an emergency stop and a restart act on each of them.",
    ]
    if any(handover.between == "direct" for handover in decision.line.handovers):
        together.append(
            "Where boxes stand while units arrive, whatever hands over moves between two loops:"
            " guard both sides, and let neither start alone."
        )
    return (*shared, *together, *own)
