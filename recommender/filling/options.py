"""Fills in what an answer holds of each option."""

import math
from dataclasses import replace
from decimal import Decimal
from typing import Final

from recommender.choice.checks.findings import Finding
from recommender.choice.decision.audit import Audit
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.bill import PartLine
from recommender.choice.parts.electrical import NEVER
from recommender.explain.differences import item_differences, told_differences
from recommender.explain.explained import Explained
from recommender.filling import explanations
from recommender.filling.goals import measure_result
from recommender.filling.operation import delivery_plan, running_cost, stop_results
from recommender.filling.plans import loop_plan, motion_plan
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS
from recommender.results.answer import (
    CheckResult,
    DearerBy,
    ItemDifference,
    LapTimes,
    OptionResult,
    PartResult,
    Verdict,
)

_CENTS: Final = Decimal(100)


def option_result(
    looked: OptionReport,
    decision: Decision,
    case: Case,
    catalogue: Catalogue,
    explained: Explained,
    *,
    whole: bool,
) -> OptionResult:
    """One option; of one that is not recommended the verdict and reasons alone, unless whole."""
    option, audit, chosen = looked.option, looked.audit, decision.chosen
    verdict = _verdict(looked, decision)
    conflicts = explanations.conflicts(looked, explained)
    result = OptionResult(
        id=option.id,
        family=option.family.id,
        carrier=option.carrier.id,
        bend=option.bend.id,
        items_per_carrier=option.items,
        verdict=verdict,
        price=audit.price if looked.feasible and audit else None,
        currency=catalogue.catalogue.currency,
        carriers=audit.configuration.carriers if audit else None,
        loop=None,
        motion=motion_plan(audit.configuration.motion) if audit else None,
        takt_s=_finite(audit.takt) if audit else None,
        lap_s=_finite(audit.lap_in_service) if audit else None,
        rate_per_min=60.0 * audit.rate if audit else None,
        checks=(),
        conflict=conflicts[0] if conflicts else (),
        relaxations=explanations.relaxations(looked, explained, case),
        dearer_by=_dearer(audit, chosen) if verdict is Verdict.DEARER else None,
        parts=(),
        reason=explanations.reason(looked, decision, explained, case, catalogue),
        conflicts=conflicts,
        conflicts_complete=explanations.all_found(looked, explained),
        pair=explanations.pair(looked, explained),
        headroom=explanations.headroom(looked, explained, verdict is Verdict.RECOMMENDED),
        causes=explanations.causes(looked, case),
        at_least=_at_least(looked),
        concession=explanations.concession(looked, explained, case),
        measure=measure_result(looked, decision, case, catalogue),
    )
    if audit is None or not (whole or verdict is Verdict.RECOMMENDED):
        return result
    return _in_full(result, looked, audit, case, catalogue, explained)


def _in_full(
    result: OptionResult,
    looked: OptionReport,
    audit: Audit,
    case: Case,
    catalogue: Catalogue,
    explained: Explained,
) -> OptionResult:
    """The same with its loop and checks, and of one that works with its parts and service."""
    result = replace(
        result,
        loop=loop_plan(audit, looked.stations, catalogue),
        checks=tuple(check_result(finding) for finding in audit.findings),
        breakdowns=explanations.breakdowns(looked, explained),
        lap_times=lap_times_of(audit),
    )
    if not looked.feasible:
        return result
    return replace(
        result,
        parts=tuple(part_result(line) for line in audit.parts),
        delivery=delivery_plan(audit, catalogue),
        running=running_cost(audit, case, catalogue),
        stops=stop_results(audit, case, catalogue),
    )


def _at_least(looked: OptionReport) -> Decimal | None:
    """A price that nothing of an option undercuts; ``None`` if nothing of it works."""
    if looked.feasible and looked.audit is None:
        return looked.bound / _CENTS
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
