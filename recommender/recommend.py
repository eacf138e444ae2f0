"""Chains inputs, choice and explanation, and fills in the answer."""

import math
from collections.abc import Collection, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from recommender import explanations
from recommender.calculation import calculation_of
from recommender.cautions import cautions
from recommender.choice.checks.findings import Finding
from recommender.choice.deadline import Unsettled, ending_in
from recommender.choice.decision.audit import Audit
from recommender.choice.decision.decide import PROOF, Decision, decide, decide_in_steps
from recommender.choice.decision.explore import Effort
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.bill import PartLine
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import Goal
from recommender.choice.parts.options import reserve_of
from recommender.explain.differences import item_differences, told_differences
from recommender.explain.explained import (
    Explained,
    Progress,
    explain_decision,
    explain_in_brief,
)
from recommender.goal_results import least_result, measure_result, told_for
from recommender.inputs.case import Case, check_currency, check_without
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS
from recommender.operation import delivery_plan, running_cost, stop_results
from recommender.plans import loop_plan, motion_plan
from recommender.questions import all_assumptions
from recommender.result import (
    Answer,
    CatalogueMark,
    CheckResult,
    DearerBy,
    Extent,
    ItemDifference,
    LapTimes,
    OptionResult,
    PartResult,
    Proof,
    RateAsked,
    Verdict,
)
from recommender.units import written_in
from recommender.version import program_version

_CENTS: Final = Decimal(100)
EXPLAINED: Final = Extent()


def recommend(
    case: Case,
    catalogue: Catalogue,
    *,
    in_brief: bool = False,
    about: Collection[str] | None = (),
    turning: bool = False,
    seconds: float | None = None,
    work: Effort = PROOF,
    progress: Progress | None = None,
    goal: Goal = Goal.PRICE,
    calculation: bool = False,
) -> Answer:
    """Answer a case from a catalogue.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    in_brief : bool
        Whether to leave out what would have to give, and say only which checks fail.
    about : collection of str, optional
        Ids of options that are asked about in depth, ``None`` for all. Of the others that fail it
        is said what would have to give where that is little, and else which checks fail.
    turning : bool
        Whether to look for the values at which another option would be recommended, if the
        recommended one is among those that are asked about; takes some seconds.
    seconds : float, optional
        Time after which the rest is left out, explanations too; no clock is looked at if it is not
        given. Whatever it cuts off, the answer says.
    work : Effort
        Work for the proof, which is counted. Where it ends early, the answer says how far at most
        its price is from the cheapest.
    progress : callable, optional
        Called while options are explained.
    goal : Goal
        What is to be least.
    calculation : bool
        Whether the answer is to hold what a calculation sheet shows beside it.

    Returns
    -------
    Answer
        Its status is ``recommended``, or ``none`` if no option meets the case.
    """
    check_currency(case, catalogue.catalogue.currency, "the case")
    check_without(case, catalogue.items, "the case")
    with written_in(case.units):
        with ending_in(seconds) as deadline:
            decision = decide(case, catalogue, work=work, goal=goal)
            answer = _answered(case, catalogue, decision, in_brief, about, turning, progress)
        answer = replace(answer, unsettled=unsettled_words(deadline.cut))
        if not calculation or decision.chosen is None:
            return answer
        return replace(answer, calculation=calculation_of(decision.chosen, case, catalogue))


def decision_of(
    case: Case, catalogue: Catalogue, *, seconds: float | None = None, where: str = "the case"
) -> Decision:
    """The decision alone, for what needs the configuration itself and no answer in words.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    seconds : float, optional
        As for `recommend`.
    where : str
        How a refusal names the case.

    Returns
    -------
    Decision
    """
    check_currency(case, catalogue.catalogue.currency, where)
    check_without(case, catalogue.items, where)
    with ending_in(seconds):
        return decide(case, catalogue)


def recommend_in_steps(
    case: Case, catalogue: Catalogue, *, seconds: float | None = None
) -> Iterator[Answer]:
    """Answer a case as soon as something is known: the choice, in brief, explained, calculated.

    The case is decided once. The first answers look at no option but the choice and are left out
    if nothing works. While a choice is one so far, the answer names the search as unsettled.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    seconds : float, optional
        As for `recommend`, for each decision and for the explanations.

    Yields
    ------
    Answer
    """
    check_currency(case, catalogue.catalogue.currency, "the case")
    check_without(case, catalogue.items, "the case")
    steps = decide_in_steps(case, catalogue)
    while True:
        with written_in(case.units), ending_in(seconds) as deadline:
            following = next(steps, None)
            if following is None:
                break
            decision = following
            answer = _answered(case, catalogue, decision, True, (), False, None)
            cut = deadline.cut | ({Unsettled.SEARCH} if decision.so_far else set())
        yield replace(answer, unsettled=unsettled_words(cut))
    with written_in(case.units), ending_in(seconds) as deadline:
        answer = _answered(case, catalogue, decision, False, (), False, None)
    answer = replace(answer, unsettled=unsettled_words(cut | deadline.cut))
    yield answer
    if decision.chosen is not None:
        with written_in(case.units):
            calculation = calculation_of(decision.chosen, case, catalogue)
        yield replace(answer, calculation=calculation)


def unsettled_words(cut: Collection[Unsettled]) -> tuple[str, ...]:
    return tuple(what.value for what in Unsettled if what in cut)


def _answered(
    case: Case,
    catalogue: Catalogue,
    decision: Decision,
    in_brief: bool,
    about: Collection[str] | None,
    turning: bool,
    progress: Progress | None,
) -> Answer:
    if in_brief:
        explained = explain_in_brief(decision, case, catalogue)
        return write_answer(case, catalogue, decision, explained, Extent(explained=False))
    chosen = decision.chosen
    # Where another option would win is looked for by its price.
    turning = turning and decision.goal is Goal.PRICE and chosen is not None
    if chosen is not None and about is not None:
        turning = turning and chosen.configuration.option.id in about
    explained = explain_decision(
        decision, case, catalogue, about=about, turning=turning, progress=progress
    )
    return write_answer(case, catalogue, decision, explained, Extent(turning_points=turning))


def write_answer(
    case: Case,
    catalogue: Catalogue,
    decision: Decision,
    explained: Explained,
    extent: Extent = EXPLAINED,
) -> Answer:
    """The answer that a decision and what is explained about it come to."""
    chosen = decision.chosen
    return Answer(
        status="recommended" if chosen else "none",
        catalogue=mark_of(catalogue),
        case=_understood(case),
        units=case.units,
        assumptions=told_for(decision.least, all_assumptions(case, catalogue)),
        recommended=chosen.configuration.option.id if chosen else None,
        proof=_proof(decision),
        options=tuple(
            _option(looked, decision, case, catalogue, explained) for looked in decision.looked
        ),
        parts=tuple(part_result(line) for line in chosen.parts) if chosen else (),
        cautions=cautions(case, catalogue, chosen),
        impasse=explanations.impasse(decision.looked, explained, catalogue.catalogue.currency),
        rate=rate_asked(case, catalogue),
        rejections=explanations.rejections(decision.looked, explained, case, catalogue),
        least=least_result(decision, case, catalogue),
        extent=extent,
        program=program_version(),
    )


def mark_of(catalogue: Catalogue) -> CatalogueMark:
    """Which catalogue it is."""
    return CatalogueMark(catalogue.catalogue.id, catalogue.digest, catalogue.catalogue.title or "")


def _understood(case: Case) -> dict[str, Any]:
    return case.model_dump(mode="json")


def _proof(decision: Decision) -> Proof | None:
    if decision.chosen is None or decision.least is not None:
        return None
    return Proof(
        best_bound=decision.bound / _CENTS, price=decision.price / _CENTS, optimal=decision.optimal
    )


def _option(
    looked: OptionReport, decision: Decision, case: Case, catalogue: Catalogue, explained: Explained
) -> OptionResult:
    option, audit, chosen = looked.option, looked.audit, decision.chosen
    verdict = _verdict(looked, decision)
    currency = catalogue.catalogue.currency
    works = looked.feasible and audit is not None
    conflicts = explanations.conflicts(looked, explained)
    return OptionResult(
        id=option.id,
        family=option.family.id,
        carrier=option.carrier.id,
        bend=option.bend.id,
        items_per_carrier=option.items,
        verdict=verdict,
        price=audit.price if works and audit else None,
        currency=currency,
        carriers=audit.configuration.carriers if audit else None,
        loop=loop_plan(audit, looked.stations, catalogue) if audit else None,
        motion=motion_plan(audit.configuration.motion) if audit else None,
        takt_s=_finite(audit.takt) if audit else None,
        lap_s=_finite(audit.lap_in_service) if audit else None,
        rate_per_min=60.0 * audit.rate if audit else None,
        checks=tuple(check_result(finding) for finding in audit.findings) if audit else (),
        conflict=conflicts[0] if conflicts else (),
        relaxations=explanations.relaxations(looked, explained, case),
        dearer_by=_dearer(audit, chosen) if verdict is Verdict.DEARER else None,
        parts=tuple(part_result(line) for line in audit.parts) if works and audit else (),
        reason=explanations.reason(looked, decision, explained, case, catalogue),
        conflicts=conflicts,
        conflicts_complete=explanations.all_found(looked, explained),
        pair=explanations.pair(looked, explained),
        breakdowns=explanations.breakdowns(looked, explained),
        headroom=explanations.headroom(looked, explained, verdict is Verdict.RECOMMENDED),
        lap_times=lap_times_of(audit) if audit else None,
        delivery=delivery_plan(audit, catalogue) if works and audit else None,
        running=running_cost(audit, case, catalogue) if works and audit else None,
        stops=stop_results(audit, case, catalogue) if works and audit else (),
        causes=explanations.causes(looked),
        at_least=_at_least(looked),
        concession=explanations.concession(looked, explained, case),
        measure=measure_result(looked, decision, case, catalogue),
    )


def _at_least(looked: OptionReport) -> Decimal | None:
    """A price that nothing of an option undercuts; ``None`` if nothing of it works."""
    found = looked.audit.price if looked.feasible and looked.audit else None
    bound = looked.bound / _CENTS if looked.bound < NEVER else None
    if found is None:
        return None if looked.decided else bound
    return found if bound is None else min(found, bound)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def lap_times_of(audit: Audit) -> LapTimes | None:
    if not math.isfinite(audit.lap_in_service):
        return None
    return LapTimes(audit.lap_time, *audit.lap_waits)


def rate_asked(case: Case, catalogue: Catalogue) -> RateAsked:
    reserve, asked = reserve_of(case, catalogue), 60.0 * case.rate.items
    return RateAsked(asked, reserve, asked * (1.0 + reserve))


def _verdict(looked: OptionReport, decision: Decision) -> Verdict:
    chosen = decision.chosen
    if chosen is not None and looked.option == chosen.configuration.option:
        return Verdict.RECOMMENDED
    if looked.feasible:
        return Verdict.WORKS if decision.least else Verdict.DEARER
    return Verdict.REJECTED if looked.decided else Verdict.UNDECIDED


def _dearer(audit: Audit | None, chosen: Audit | None) -> DearerBy | None:
    if audit is None or chosen is None:
        return None
    return DearerBy(
        price=audit.price - chosen.price,
        because=tuple(ItemDifference(*entry) for entry in item_differences(audit, chosen)),
        told=tuple(ItemDifference(*entry) for entry in told_differences(audit, chosen)),
    )


def check_result(finding: Finding) -> CheckResult:
    kind = KINDS.get(finding.about.unit)
    return CheckResult(
        id=finding.check,
        title=finding.about.title,
        demand=finding.demand,
        limit=finding.limit,
        unit=kind.si if kind else finding.about.unit,
        utilisation=finding.utilisation,
        governed_by=finding.governed_by,
        ok=finding.ok,
        source=finding.about.source,
    )


def part_result(line: PartLine) -> PartResult:
    return PartResult(
        item=line.item,
        id=line.id,
        description=line.description,
        quantity=line.quantity,
        unit_price=line.unit_price,
        price=line.price,
        lead_time_weeks=round(line.lead_time, 2),
        why=line.why,
    )
