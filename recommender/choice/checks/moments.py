"""Checks of the static moments on a carrier's guide, about each of its axes.

The rated moments are what the catalogue allows each alone. What forces and moments do together
shows at the single rollers, which have checks of their own.
"""

from collections.abc import Callable
from functools import partial
from typing import Final

import numpy as np

from recommender.choice.carrier.load_cases import CaseLoads
from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import Check, CheckText, Outcome

COMPONENT: Final = {"rating.roll_moment": 3, "rating.pitch_moment": 4, "rating.yaw_moment": 5}
"""Where each check's moment stands in a wrench."""

_REQUIREMENTS: Final = {
    "roll": ("load.mass", "load.reach", "load.cg_height"),
    "pitch": ("load.mass", "load.cg_height", "load.offset"),
    "yaw": ("load.mass", "load.reach", "load.offset"),
}


def _moment(axis: str, loads: CaseLoads) -> Outcome:
    demand = np.abs(loads.wrench[..., COMPONENT[f"rating.{axis}_moment"]])
    limit = loads.batch.carrier(f"rated_{axis}_moment")[..., None]
    return Outcome(demand, limit, tuple(Where(direction) for direction in loads.directions))


def _check(axis: str, about: str) -> Check[CaseLoads]:
    evaluate: Callable[[CaseLoads], Outcome] = partial(_moment, axis)
    return Check(
        CheckText(
            id=f"rating.{axis}_moment",
            title=f"{axis.capitalize()} moment that the carrier is rated for",
            unit="moment",
            source="static rating of the catalogue, about the axis " + about,
            requirements=_REQUIREMENTS[axis],
            evidence=(
                "loads",
                "loads-against-first-principles",
                "bend-ends-against-driving",
                "ratings-against-catalogue",
            ),
            fails=(
                f"{{moment}} the {axis} moment on the guide is {{demand}}, {{excess}} than"
                " {carrier} is rated for{made_by}"
            ),
            together=(
                f"{{moment}} the {axis} moment on the guide is {{demand}}, where {{limit}} are"
                " rated"
            ),
            quicker=f"the {axis} moment on its guide would be too large",
        ),
        evaluate,
    )


CHECKS: tuple[Check[CaseLoads], ...] = (
    _check("roll", "along the travel"),
    _check("pitch", "across the travel"),
    _check("yaw", "normal to the carrier"),
)
