"""The formula behind each check, with its numbers put in where it is plain arithmetic.

What is not, such as the balance of a carrier on its rollers or the takt of an event graph, is told
in words; the function that works it out has the formula and its source in `recommender.physics`.
"""

from collections.abc import Callable, Mapping
from typing import Final, TypeAlias

from recommender.calculation import fleet_formulas, load_formulas, loop_formulas, order_formulas
from recommender.calculation.worked import NOTHING, Worked
from recommender.choice.checks.findings import Finding
from recommender.results.calculation import Formula, Working

Sides: TypeAlias = tuple[Formula, Formula]
"""How a demand and its limit come about."""

FORMULAS: Final[Mapping[str, Callable[[Worked, Finding], Sides]]] = {
    **load_formulas.FORMULAS,
    **loop_formulas.FORMULAS,
    **fleet_formulas.FORMULAS,
    **order_formulas.FORMULAS,
}
"""By the id of the check."""


def workings(worked: Worked) -> tuple[Working, ...]:
    """How the demand and the limit of each check of a configuration come about."""
    found = []
    for finding in worked.audit.findings:
        formula = FORMULAS.get(finding.check)
        demand, limit = formula(worked, finding) if formula else (NOTHING, NOTHING)
        found.append(Working(finding.check, demand, limit))
    return tuple(found)
