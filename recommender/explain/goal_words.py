"""Why an option that works is the choice or not, where something else than the price was least."""

from decimal import Decimal
from typing import Final

from recommender import units
from recommender.choice.decision.audit import Audit
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.finish import measured
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.goals import Goal, in_units
from recommender.explain.measures import many, money, sentence
from recommender.explain.words import used_most
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

BEST: Final = {
    Goal.FLOOR: "smallest",
    Goal.DELIVERY: "soonest",
    Goal.ENERGY: "most economical",
}
_HAS: Final = {
    Goal.FLOOR: "takes {} of floor",
    Goal.DELIVERY: "runs after {}",
    Goal.ENERGY: "takes {} a year",
}


def of_steps(goal: Goal, steps: int, case: Case, catalogue: Catalogue) -> float:
    """A measure in m², weeks of the whole chain, or kWh a year, from whole steps."""
    value = in_units(goal, steps)
    if goal is Goal.DELIVERY:
        return round(value + sum(step.time for step in catalogue.delivery_step), 2)
    if goal is Goal.ENERGY:
        return value * case.life.hours / case.life.years / 1000.0
    return value


def value_of(goal: Goal, found: Audit, case: Case, catalogue: Catalogue) -> float:
    """What a configuration has of a goal, in m², weeks of the whole chain, or kWh a year."""
    return of_steps(goal, measured(goal, found, catalogue), case, catalogue)


def written(goal: Goal, value: float) -> str:
    """A measure with its unit.

    Examples
    --------
    >>> written(Goal.FLOOR, 2.9299), written(Goal.DELIVERY, 13.0), written(Goal.ENERGY, 492.4)
    ('2.93 m²', '13 weeks', '492 kWh')
    """
    if goal is Goal.DELIVERY:
        return f"{value:g} {'week' if value == 1.0 else 'weeks'}"
    if goal is Goal.ENERGY:
        return f"{_three(value)} kWh"
    foot = units.shown("m", 10.0)
    return f"{_three(value)} m²" if foot is None else f"{_three(value * foot.per_si**2)} ft²"


def _three(value: float) -> str:
    places = 0 if value >= 100 else 1 if value >= 10 else 2 if value >= 1 else 3
    return f"{value:,.{places}f}"


def reason(looked: OptionReport, decision: Decision, case: Case, catalogue: Catalogue) -> str:
    """One or two sentences about an option that works.

    Parameters
    ----------
    looked : OptionReport
        One that has an audit.
    decision : Decision
        One with a choice, of which something else than the price was to be least.
    case : Case
    catalogue : Catalogue
    """
    audit, chosen, least = looked.audit, decision.chosen, decision.least
    assert audit is not None and chosen is not None and least is not None
    goal, currency = least.goal, catalogue.catalogue.currency
    value = value_of(goal, audit, case, catalogue)
    has = _HAS[goal].format(written(goal, value))
    if looked.option == chosen.configuration.option:
        found = "" if least.optimal else " was found and"
        carriers = many(audit.configuration.carriers, "carrier")
        price = money(audit.price, currency)
        return (
            f"The {BEST[goal]} that{found} passes every check: {carriers} for {price};"
            f" it {has}. {used_most(audit)}"
        )
    more = value - value_of(goal, chosen, case, catalogue)
    by = f", {written(goal, more)} more" if more > 0.0 else ", as much as the choice"
    return sentence(f"it works and {has}{by}; it costs {_against(audit, chosen, currency)}")


def _against(audit: Audit, chosen: Audit, currency: str) -> str:
    price, more = money(audit.price, currency), audit.price - chosen.price
    if more == Decimal(0):
        return f"{price}, as much as the choice"
    return f"{price}, {money(abs(more), currency)} {'more' if more > 0 else 'less'}"
