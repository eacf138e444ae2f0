"""What an answer says where something else than the price was to be least."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Final

from recommender.choice.decision.audit import Audit
from recommender.choice.decision.decision import Decision, Least
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.goals import Goal
from recommender.explain.goal_words import of_steps, value_of
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.results.answer import LeastResult, MeasureResult
from recommender.results.assumption import AssumptionLine

_CENTS: Final = Decimal(100)
_UNITS: Final = {Goal.FLOOR: "m^2", Goal.DELIVERY: "weeks", Goal.ENERGY: "kWh/year"}
_TOLD_OTHERWISE: Final = {
    "station.places": (
        "these might be somewhat cheaper, though never cheaper than the recommended one",
        "these might be somewhat better, though never better than the recommended one",
    ),
    "motion.choice": ("at the same price", "at the same price, and at no more energy"),
}


def least_result(decision: Decision, case: Case, catalogue: Catalogue) -> LeastResult | None:
    """What the choice has of its goal and what nothing undercuts; ``None`` of a least price."""
    least, chosen = decision.least, decision.chosen
    if least is None or chosen is None:
        return None
    other = least.cheapest
    return LeastResult(
        goal=str(least.goal),
        unit=_UNITS[least.goal],
        value=of_steps(least.goal, least.value, case, catalogue),
        best_bound=of_steps(least.goal, min(least.bound, least.value), case, catalogue),
        optimal=least.optimal,
        price_bound=decision.bound / _CENTS if decision.bound else None,
        cheapest=other.configuration.option.id if other else None,
        cheapest_price=other.price if other else None,
        cheapest_at_least=least.at_least / _CENTS if other else None,
        cheapest_value=value_of(least.goal, other, case, catalogue) if other else None,
        same=other is not None and same_loop(chosen, other),
    )


def measure_result(
    looked: OptionReport, decision: Decision, case: Case, catalogue: Catalogue
) -> MeasureResult | None:
    """What an option that works has of the goal, and what nothing of it undercuts."""
    least = decision.least
    if least is None or not looked.feasible or looked.audit is None:
        return None
    value = value_of(least.goal, looked.audit, case, catalogue)
    if looked.least is None:
        return MeasureResult(value, value)
    bound = of_steps(least.goal, looked.least, case, catalogue)
    # Steps are rounded to the safe side; what was found is not undercut by its own rounding.
    return MeasureResult(value, min(bound, value))


def same_loop(one: Audit, other: Audit) -> bool:
    """Whether two configurations differ in their motion at most."""
    ours, theirs = one.configuration, other.configuration
    return (
        (ours.option, ours.carriers, ours.loop) == (theirs.option, theirs.carriers, theirs.loop)
    ) and one.price == other.price


def told_for(least: Least | None, lines: Iterable[AssumptionLine]) -> tuple[AssumptionLine, ...]:
    """Assumptions in words that hold whatever was to be least."""
    if least is None:
        return tuple(lines)
    told = []
    for line in lines:
        one, other = _TOLD_OTHERWISE.get(line.key, ("", ""))
        energy = line.key != "motion.choice" or least.goal is Goal.ENERGY
        told.append(replace(line, why=line.why.replace(one, other)) if one and energy else line)
    return tuple(told)
