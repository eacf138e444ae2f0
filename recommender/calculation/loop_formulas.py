"""Formulas of the loop's size and of where its stations stand."""

from collections.abc import Callable, Mapping
from typing import Final

from recommender.calculation.load_formulas import Sides, both, given, told
from recommender.calculation.worked import Worked, written
from recommender.choice.checks.findings import Finding
from recommender.physics.bend import bend_width
from recommender.results.calculation import Formula

_FREE: Final = "what the enquiry leaves free"


def _across(worked: Worked) -> Formula:
    """Room across the loop in its plane."""
    bend = worked.option.bend
    between = float(bend_width(bend.radius, bend.transition))
    return written(
        "{between} + 2·{swing}",
        between=("between the straights", between),
        swing=("swing of plates and loads", 0.5 * (worked.about.floor_width - between)),
    )


def _width(worked: Worked, finding: Finding) -> Sides:
    limit = given(_FREE, finding.limit)
    if worked.case.loop.plane == "flat":
        return _across(worked), limit
    carrier = worked.option.carrier
    behind = max(worked.rules.guide_behind, carrier.guide_depth or 0.0)
    ahead = worked.about.floor_depth - behind - carrier.mounting_height
    demand = written(
        "{behind} + {mounting} + {ahead}",
        behind=("guide behind its centre", behind),
        mounting=("height of the mounting face", carrier.mounting_height),
        ahead=("twice the height of the load's centre", ahead),
    )
    return demand, limit


def _height(worked: Worked, finding: Finding) -> Sides:
    return _across(worked), given(_FREE, finding.limit)


def _extent(worked: Worked, finding: Finding) -> Sides:
    demand = written(
        "{straight} + 2·{beyond}",
        straight=("straight", worked.layout.on.loop.straight),
        beyond=("reach of a bend with its loads", worked.about.floor_beyond),
    )
    return demand, given(_FREE, finding.limit)


def _length(worked: Worked, finding: Finding) -> Sides:
    loop = worked.layout.on.loop
    demand = written(
        "2·({straight} + {bend})", straight=("straight", loop.straight), bend=("bend", loop.bend)
    )
    source = "limit of the enquiry" if worked.case.loop.max_length else "rule of the house"
    return demand, given(source, finding.limit)


FORMULAS: Final[Mapping[str, Callable[[Worked, Finding], Sides]]] = {
    "loop.width": _width,
    "loop.height": _height,
    "loop.extent": _extent,
    "loop.length": _length,
    "loop.stations": told(
        "clear distance that is asked: half a carrier, or what the enquiry says",
        "distance that is kept",
    ),
    "pair.bend": both("coupling distance", "radius of the bend"),
    "guide.bend_fit": told(
        "chord of the truck against the rails' curve",
        "what stiffness and preload of the rollers bear",
    ),
}
