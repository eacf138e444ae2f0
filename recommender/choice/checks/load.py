"""What the load itself bears: slipping, tipping, the grip of a clamp, ceilings on acceleration."""

from dataclasses import replace

import numpy as np

from recommender.choice.carrier.load_cases import CaseLoads
from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import Check, CheckText, Outcome
from recommender.physics.constants import Array
from recommender.physics.jerk import bend_jerk
from recommender.physics.load_limits import (
    clamp_limited_acceleration,
    friction_limited_acceleration,
    nest_tipping_acceleration,
    slip_utilisation,
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
    friction = np.asarray(load.friction)[..., None]
    allowed = friction_limited_acceleration(friction, rules.holding_safety)
    used = slip_utilisation(
        _resultant(loads)[..., columns],
        loads.yaw_acceleration[..., columns],
        friction,
        float(np.hypot(load.length, load.width)),
        rules.holding_safety,
    )
    return Outcome(used * allowed, allowed, names)


def _tip(loads: CaseLoads) -> Outcome | None:
    load, rules = loads.batch.case.load, loads.batch.rules
    if load.held == "clamped" or loads.batch.case.loop.plane == "upright":
        return None
    columns, names = _planned(loads)
    pocket = load.pocket if load.held == "nested" and load.pocket is not None else 0.0
    limits = [
        nest_tipping_acceleration(load.cg_height, pocket, 0.5 * base, 0.0, rules.holding_safety)
        for base in (load.length, load.width)
    ]
    along = np.abs(loads.load_x).max(axis=-1)[..., columns]
    across = np.abs(loads.load_y).max(axis=-1)[..., columns]
    return Outcome(
        np.concatenate([along, across], axis=-1),
        np.repeat(np.stack(limits, axis=-1), len(columns), axis=-1),
        tuple(replace(name, axis=axis) for axis in ("along", "across") for name in names),
    )


def _clamp(loads: CaseLoads) -> Outcome | None:
    load, safety = loads.batch.case.load, loads.batch.rules.holding_safety
    if load.held != "clamped" or load.clamping_force is None:
        return None
    columns, names = _planned(loads)
    friction = np.asarray(load.friction)[..., None]
    held = clamp_limited_acceleration(
        np.asarray(load.clamping_force)[..., None], friction, np.asarray(load.mass)[..., None]
    )
    used = slip_utilisation(
        _with_gravity(loads)[..., columns],
        loads.yaw_acceleration[..., columns],
        friction,
        float(np.hypot(load.length, load.width)),
        safety,
        vertical=held / friction,
    )
    allowed = held / safety
    return Outcome(used * allowed, allowed, names)


def _with_gravity(loads: CaseLoads) -> Array:
    """Resultant in the plane of the loop that the faces of a clamp bear, (..., cases), m/s².

    On a flat loop the load stands on its seat; on an upright one its weight pulls in that plane.
    """
    gravity = np.array([direction.gravity[:2] for direction in loads.directions])
    x = loads.load_x - gravity[:, 0, None]
    y = loads.load_y - gravity[:, 1, None]
    return np.asarray(np.hypot(x, y).max(axis=-1))


def _resultant(loads: CaseLoads) -> Array:
    """Resultant acceleration of the worst item, (..., cases), m/s²."""
    return np.asarray(np.hypot(loads.load_x, loads.load_y).max(axis=-1))


def _acceleration(loads: CaseLoads) -> Outcome | None:
    ceiling = loads.batch.case.limits.acceleration
    if ceiling is None:
        return None
    columns, names = _planned(loads)
    return Outcome(_resultant(loads)[..., columns], np.array(ceiling), names)


def _usual_acceleration(loads: CaseLoads) -> Outcome | None:
    if loads.batch.case.limits.acceleration is not None:
        return None
    columns, names = _planned(loads)
    return Outcome(
        _resultant(loads)[..., columns], np.array(loads.batch.rules.load_acceleration), names
    )


def _jerk_in_bends(loads: CaseLoads) -> Outcome | None:
    batch = loads.batch
    load, ceiling = batch.case.load, batch.case.limits.jerk
    if ceiling is None:
        return None
    jerk = bend_jerk(
        loads.speed,
        batch.radius,
        batch.transition,
        batch.base,
        load.reach,
        abs(load.offset) + batch.item_offset,
        batch.rules.jerk_window,
    )
    return Outcome(
        jerk[..., None], np.array(ceiling), (Where(bends=True, words="entering or leaving a bend"),)
    )


BEND_CHECKS: tuple[Check[CaseLoads], ...] = (
    Check(
        CheckText(
            id="limit.jerk_bend",
            title="Jerk of the load at the ends of the bends",
            unit="jerk",
            source="kinematics of a body guided at two points, over the window of the house",
            requirements=("limits.jerk", "load.reach"),
            evidence=("load-limits", "bend-jerk-against-differences"),
            fails=(
                "{where}, the load is jerked with {demand}, {excess} than the enquiry allows,"
                " because {bend_is_abrupt}"
            ),
            together=(
                "{where} the load would be jerked with {demand}, where the enquiry allows {limit}"
            ),
            quicker="the enquiry's limit of jerk would be passed",
        ),
        _jerk_in_bends,
    ),
)

CHECKS: tuple[Check[CaseLoads], ...] = (
    Check(
        CheckText(
            id="load.slip",
            title="Load held by friction",
            unit="acceleration",
            source="Coulomb friction of an evenly pressed base; safety: common practice, no source",
            requirements=("load.friction", "load.reach"),
            evidence=("load-limits", "slip-and-tip-against-statics"),
            fails=(
                "{moment} the load is thrown with {demand}, {excess} than a friction of"
                " {friction} holds"
            ),
            together=(
                "{moment} the load would be thrown with {demand}, where friction holds {limit}"
            ),
            quicker="the load would slip",
        ),
        _slip,
    ),
    Check(
        CheckText(
            id="load.tip",
            title="Load tipping over its edge or its nest",
            unit="acceleration",
            source="statics about the edge of base or nest; safety: common practice, no source",
            requirements=("load.cg_height", "load.reach"),
            evidence=("load-limits", "slip-and-tip-against-statics"),
            fails=(
                "{moment} the load is thrown with {demand} {axis} the travel and tips beyond"
                " {limit}, because its centre of gravity is {height} high on a base of {base}"
            ),
            together="{moment} the load would be thrown with {demand} and tips beyond {limit}",
            quicker="the load would tip",
        ),
        _tip,
    ),
    Check(
        CheckText(
            id="load.clamp",
            title="Load held by its clamp",
            unit="acceleration",
            source="Coulomb friction at both faces of a clamp; safety: common practice, no source",
            requirements=("load.clamping_force", "load.mass", "load.reach"),
            evidence=("load-limits", "slip-and-tip-against-statics"),
            fails=(
                "{moment} the load is pulled with {demand}, {excess} than a clamp of {clamp} holds"
            ),
            together=(
                "{moment} the load would be pulled with {demand}, where its clamp holds {limit}"
            ),
            quicker="the load would slip in its clamp",
        ),
        _clamp,
    ),
    Check(
        CheckText(
            id="load.acceleration",
            title="Acceleration that a load is taken to bear",
            unit="acceleration",
            source="rule of the house where the enquiry sets no limit: common practice, no source",
            requirements=("limits.acceleration", "load.reach"),
            evidence=("loads", "loads-against-first-principles"),
            fails=(
                "{moment} the load is accelerated with {demand}, {excess} than a load is taken to"
                " bear where the enquiry sets no limit"
            ),
            together=(
                "{moment} the load would be accelerated with {demand}, where a load is taken to"
                " bear {limit}"
            ),
            quicker="the load might not bear it",
        ),
        _usual_acceleration,
    ),
    Check(
        CheckText(
            id="limit.acceleration",
            title="Acceleration that the enquiry allows the load",
            unit="acceleration",
            source="limit of the enquiry",
            requirements=("limits.acceleration", "load.reach"),
            evidence=("loads", "loads-against-first-principles"),
            fails=(
                "{moment} the load is accelerated with {demand}, {excess} than the enquiry allows"
            ),
            together=(
                "{moment} the load would be accelerated with {demand}, where the enquiry allows"
                " {limit}"
            ),
            quicker="the enquiry's limit of acceleration would be passed",
        ),
        _acceleration,
    ),
)
