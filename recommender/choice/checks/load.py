"""What the load itself bears: slipping, tipping, the customer's ceiling on acceleration."""

from dataclasses import replace

import numpy as np

from recommender.choice.checks.entry import Check, CheckText, Outcome
from recommender.choice.load_cases import CaseLoads
from recommender.choice.where import Where
from recommender.physics.constants import Array
from recommender.physics.load_limits import (
    friction_limited_acceleration,
    slip_utilisation,
    tipping_acceleration,
)

# An emergency stop at full force is a caution of the answer: no free load would survive it.
_PLANNED = ("speeding up", "braking", "turning", "entering", "leaving")


def _planned(loads: CaseLoads) -> tuple[list[int], tuple[Where, ...]]:
    columns = loads.of_kind(*_PLANNED)
    return columns, tuple(Where(loads.directions[k]) for k in columns)


def _slip(loads: CaseLoads) -> Outcome | None:
    load, rules = loads.batch.case.load, loads.batch.rules
    if load.held != "friction" or loads.batch.case.loop.plane == "upright":
        return None
    columns, names = _planned(loads)
    allowed = float(friction_limited_acceleration(load.friction, rules.holding_safety))
    used = slip_utilisation(
        _resultant(loads)[..., columns],
        loads.yaw_acceleration[..., columns],
        load.friction,
        float(np.hypot(load.length, load.width)),
        rules.holding_safety,
    )
    return Outcome(used * allowed, np.array(allowed), names)


def _tip(loads: CaseLoads) -> Outcome | None:
    load, rules = loads.batch.case.load, loads.batch.rules
    if load.held == "clamped" or loads.batch.case.loop.plane == "upright":
        return None
    columns, names = _planned(loads)
    limits = [
        float(tipping_acceleration(load.cg_height, 0.5 * base, 0.0, rules.holding_safety))
        for base in (load.length, load.width)
    ]
    along = np.abs(loads.load_x).max(axis=-1)[..., columns]
    across = np.abs(loads.load_y).max(axis=-1)[..., columns]
    return Outcome(
        np.concatenate([along, across], axis=-1),
        np.repeat(limits, len(columns)),
        tuple(replace(name, axis=axis) for axis in ("along", "across") for name in names),
    )


def _resultant(loads: CaseLoads) -> Array:
    """Resultant acceleration of the worst item, (..., cases), m/s²."""
    return np.asarray(np.hypot(loads.load_x, loads.load_y).max(axis=-1))


def _acceleration(loads: CaseLoads) -> Outcome | None:
    ceiling = loads.batch.case.limits.acceleration
    if ceiling is None:
        return None
    columns, names = _planned(loads)
    return Outcome(_resultant(loads)[..., columns], np.array(ceiling), names)


CHECKS: tuple[Check[CaseLoads], ...] = (
    Check(
        CheckText(
            id="load.slip",
            title="Load held by friction",
            unit="acceleration",
            source="Coulomb friction of an evenly pressed base; safety: common practice, no source",
            requirements=("load.friction", "load.reach"),
            evidence=("load-limits", "slip-and-tip-against-statics"),
            fails="the load slips {where}: it is thrown with {demand} and friction holds {limit}",
        ),
        _slip,
    ),
    Check(
        CheckText(
            id="load.tip",
            title="Load tipping over its edge",
            unit="acceleration",
            source="statics about the edge of the base; safety: common practice, no source",
            requirements=("load.cg_height", "load.reach"),
            evidence=("load-limits", "slip-and-tip-against-statics"),
            fails="the load tips {where}: it is thrown with {demand} and stands up to {limit}",
        ),
        _tip,
    ),
    Check(
        CheckText(
            id="limit.acceleration",
            title="Acceleration that the enquiry allows the load",
            unit="acceleration",
            source="limit of the enquiry",
            requirements=("limits.acceleration", "load.reach"),
            evidence=("loads", "loads-against-first-principles"),
            fails="the load is accelerated with {demand} {where} where {limit} is allowed",
        ),
        _acceleration,
    ),
)
