"""Formulas of what is bought: supplies, feeds, controller, delivery, budget."""

from collections.abc import Callable, Mapping
from typing import Final

from recommender.calculation.load_formulas import Sides, both, given, told
from recommender.calculation.worked import Worked, written
from recommender.choice.checks.findings import Finding
from recommender.results.calculation import Formula

_RATED: Final = "rating of the catalogue"


def _mean(worked: Worked, finding: Finding) -> Sides:
    limit = given(_RATED, finding.limit)
    if len(worked.audit.configuration.electrics.groups) > 1:
        words = "energy that a lap takes on its sections over the takt, and what they draw idle"
        return Formula(words), limit
    idle = worked.layout.idle_power
    takt = worked.about.takt
    demand = written(
        "{energy}/{takt} + {idle}",
        energy=("energy of a lap and of queues", (finding.demand - idle) * takt),
        takt=("takt", takt),
        idle=("idle sections", idle),
    )
    return demand, limit


FORMULAS: Final[Mapping[str, Callable[[Worked, Finding], Sides]]] = {
    "supply.mean": _mean,
    "supply.peak": told("all carriers at the worst instant, and idle sections", _RATED),
    "supply.sections": both("sections", _RATED),
    "supply.number": both("supplies", "rule of the house"),
    "supply.feeds": both("sections from one feed to the next", _RATED),
    "supply.voltage": told(
        "current at peak power · resistance of the warm bus, to the farthest section",
        "share of the voltage that may be lost",
    ),
    "controller.carriers": both("carriers", _RATED),
    "commercial.budget": both("price", "budget of the enquiry"),
    "commercial.delivery": told("slowest part and what follows it", "latest delivery"),
    "commercial.chain": told("slowest part and what follows it", "latest delivery"),
}
