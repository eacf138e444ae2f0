"""Checks that an option passes or fails whatever its motion and loop: ratings, holding, size."""

import numpy as np

from recommender.choice.checks.entry import Check, CheckText, Outcome, single
from recommender.choice.setting import OptionContext
from recommender.choice.where import Where
from recommender.inputs.catalogue import Part
from recommender.physics.constants import STANDARD_GRAVITY

_CATALOGUE = "rating of the catalogue"


def _payload(context: OptionContext) -> Outcome:
    carrier = context.option.carrier
    return single(float(context.alone.payload[0, 0]), carrier.rated_payload, Where(part=carrier.id))


def _reach(context: OptionContext) -> Outcome:
    carrier = context.option.carrier
    return single(abs(context.case.load.reach), carrier.rated_reach, Where(part=carrier.id))


def _pair(context: OptionContext) -> Outcome | None:
    distance = context.option.carrier.coupling_distance
    if distance is None:
        return None
    return single(distance, context.option.bend.radius, Where(part=context.option.bend.id))


def _width(context: OptionContext) -> Outcome | None:
    limit = context.case.loop.max_width
    if limit is None:
        return None
    return single(context.floor_width, limit, Where(part=context.option.bend.id))


def _holding(context: OptionContext) -> Outcome | None:
    if context.case.loop.plane == "flat":
        return None
    holds = context.case.load.held == "clamped"
    return single(STANDARD_GRAVITY, np.inf if holds else 0.0, "on the lower run")


def _delivery(context: OptionContext) -> Outcome | None:
    latest = context.case.commercial.latest_delivery
    if latest is None:
        return None
    parts = context.option.parts(context.catalogue)
    slowest: Part = max(parts, key=lambda part: part.lead_time)
    return single(slowest.lead_time, latest, Where(part=slowest.id))


CHECKS: tuple[Check[OptionContext], ...] = (
    Check(
        CheckText(
            id="rating.payload",
            title="Payload that the carrier is rated for",
            unit="mass",
            source=_CATALOGUE,
            requirements=("load.mass", "rate.per_carrier"),
            evidence=("ratings-against-catalogue",),
            fails="load and fixture weigh {demand} and {where} is rated for {limit}",
        ),
        _payload,
    ),
    Check(
        CheckText(
            id="rating.reach",
            title="Reach that the carrier is rated for",
            unit="length",
            source=_CATALOGUE,
            requirements=("load.reach",),
            evidence=("ratings-against-catalogue",),
            fails="the load reaches out {demand} and {where} is rated for {limit}",
        ),
        _reach,
    ),
    Check(
        CheckText(
            id="pair.bend",
            title="Coupling distance against the bend's radius",
            unit="length",
            source="assumption: trucks no further apart than the radius turn 30° at most",
            requirements=("loop.max_width",),
            evidence=("ratings-against-catalogue",),
            fails="the trucks stand {demand} apart and {where} has a radius of {limit}",
        ),
        _pair,
    ),
    Check(
        CheckText(
            id="loop.width",
            title="Width of the loop with the swing of its loads",
            unit="length",
            source="geometry of the bend and of the rectangles that swing round it",
            requirements=("loop.max_width", "load.reach", "load.offset"),
            evidence=("loop", "bend-against-fresnel", "sweep-against-tracing"),
            fails="with {where} the loop sweeps {demand} of width where {limit} are free",
        ),
        _width,
    ),
    Check(
        CheckText(
            id="load.holding",
            title="Load held on the lower run of an upright loop",
            unit="acceleration",
            source="statics: nothing but a clamp holds a load that hangs upside down",
            requirements=("load.held", "loop.plane"),
            evidence=("ratings-against-catalogue",),
            fails="{where} the load hangs under {demand} of gravity and only a clamp would hold it",
        ),
        _holding,
    ),
    Check(
        CheckText(
            id="commercial.delivery",
            title="Delivery of the slowest part",
            unit="lead time",
            source="lead times of the catalogue",
            requirements=("commercial.latest_delivery",),
            evidence=("ratings-against-catalogue",),
            fails="{where} takes {demand} to arrive where {limit} are left",
        ),
        _delivery,
    ),
)
