"""Checks of the guide rollers that hold for one setting, whatever the loop."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from recommender.choice.carrier.directions import Direction
from recommender.choice.carrier.load_cases import CaseLoads
from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import Check, CheckText, Outcome
from recommender.physics.bearings import static_equivalent_load
from recommender.physics.constants import Array

_ISO_76 = "ISO 76:2006, double-row angular contact bearings, table of X0 and Y0"


def _equivalent(loads: CaseLoads) -> tuple[Array, tuple[Where, ...]]:
    """Static equivalent load of each roller in each case, (..., cases * rollers), N."""
    rollers = loads.rollers
    angle = loads.batch.column(lambda option: option.roller.contact_angle)[..., None, None]
    upper = static_equivalent_load(rollers.radial, rollers.axial, angle)
    both = np.concatenate([upper, rollers.lower_radial], axis=-1)
    named = rollers.labels + rollers.lower_labels[: rollers.lower_radial.shape[-1]]
    return both.reshape(*both.shape[:-2], -1), _labels(loads.directions, named)


@lru_cache(maxsize=64)
def _labels(directions: tuple[Direction, ...], rollers: tuple[Where, ...]) -> tuple[Where, ...]:
    # The same for every setting of a search, and there are hundreds of an upright loop.
    return tuple(replace(roller, load_case=case) for case in directions for roller in rollers)


def _per_roller(loads: CaseLoads, field: str) -> Array:
    """A field of the catalogue's rollers for each column of ``_equivalent``, (options, 1, k)."""
    upper, lower = loads.rollers.radial.shape[-1], loads.rollers.lower_radial.shape[-1]
    rows = []
    for option in loads.batch.options:
        row = [getattr(option.roller, field)] * upper
        if option.lower_roller is not None:
            row += [getattr(option.lower_roller, field)] * lower
        rows.append([row * len(loads.names)])
    return np.array(rows, dtype=np.float64)


def _static(loads: CaseLoads) -> Outcome:
    demand, labels = _equivalent(loads)
    limit = _per_roller(loads, "static_rating") / loads.batch.rules.static_safety
    return Outcome(demand, limit, labels)


def _working(loads: CaseLoads) -> Outcome:
    demand, labels = _equivalent(loads)
    return Outcome(demand, _per_roller(loads, "working_load"), labels)


_LOAD = ("load.mass", "load.reach", "load.cg_height")

CHECKS: tuple[Check[CaseLoads], ...] = (
    Check(
        CheckText(
            id="roller.static",
            title="Static load of a roller's bearing",
            unit="force",
            source=_ISO_76,
            requirements=_LOAD,
            evidence=(
                "bearings",
                "rollers",
                "rollers-against-springs",
                "loads-against-first-principles",
                "bend-ends-against-driving",
                "bend-fit-against-geometry",
            ),
            fails=(
                "{moment} the {roller} would bear {demand}, {excess} than its bearing"
                " allows{mostly}"
            ),
            together="{moment} a roller would bear {demand}, where its bearing bears {limit}",
            quicker="its rollers would be overloaded",
        ),
        _static,
    ),
    Check(
        CheckText(
            id="roller.working_load",
            title="Working load of a roller",
            unit="force",
            source="ceiling of the catalogue on the equivalent load by ISO 76",
            requirements=_LOAD,
            evidence=(
                "bearings",
                "rollers",
                "rollers-against-springs",
                "bend-ends-against-driving",
                "bend-fit-against-geometry",
            ),
            fails=(
                "{moment} the {roller} would bear {demand}, {excess} than the catalogue"
                " allows{mostly}"
            ),
            together="{moment} a roller would bear {demand}, where {limit} are allowed",
            quicker="its rollers would be overloaded",
        ),
        _working,
    ),
)
