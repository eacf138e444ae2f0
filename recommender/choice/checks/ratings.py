"""Checks that an option passes or fails whatever its motion and loop: ratings, holding, size."""

import numpy as np

from recommender.choice.carrier.bend_fit import fits
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import Check, CheckText, Outcome, single
from recommender.choice.parts.delivery import delivery_of
from recommender.choice.parts.pricing import offered
from recommender.physics.constants import STANDARD_GRAVITY
from recommender.physics.turning import upright_bend_peak_drive_force

_CATALOGUE = "rating of the catalogue"


def _payload(context: OptionContext) -> Outcome:
    carrier = context.option.carrier
    return single(float(context.alone.payload[0, 0]), carrier.rated_payload, Where(part=carrier.id))


def _bend_fit(context: OptionContext) -> Outcome | None:
    """Rollers squeezed up to their working load, or loose once their preload is used up."""
    carrier, roller = context.option.carrier, context.option.roller
    if carrier.swivelling:
        return None
    _, loosest, tightest = (float(fit[0, 0]) for fit in fits(context.alone))
    give = 2.0 / roller.radial_stiffness
    return Outcome(
        np.maximum([tightest, -loosest], 0.0),
        give * np.array([max(roller.working_load - carrier.preload, 0.0), carrier.preload]),
        ("tight", "loose"),
    )


def _standing(context: OptionContext) -> Outcome | None:
    """Force of one magnet that holds a carrier where it stands in an upright bend for any time."""
    if context.case.loop.plane == "flat":
        return None
    alone, carrier = context.alone, context.option.carrier
    x, y = alone.centre[0, 0, :2]
    radius = context.option.bend.radius
    held = float(upright_bend_peak_drive_force(context.mass, x, y, radius))
    lever = 1.0 + carrier.drive_line[0] / radius
    demand = held / (lever * carrier.magnets * context.bend_force_share)
    return single(demand, context.continuous_force, Where(part=carrier.id))


def _pair(context: OptionContext) -> Outcome | None:
    distance = context.option.carrier.coupling_distance
    if distance is None:
        return None
    return single(distance, context.option.bend.radius, Where(part=context.option.bend.id))


def _width(context: OptionContext) -> Outcome | None:
    limit, upright = context.case.loop.max_width, context.case.loop.plane == "upright"
    if limit is None:
        return None
    if upright:
        return single(context.floor_depth, limit, Where(part=context.option.carrier.id))
    return single(context.floor_width, limit, Where(part=context.option.bend.id))


def _height(context: OptionContext) -> Outcome | None:
    limit = context.case.loop.max_height
    if limit is None or context.case.loop.plane == "flat":
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
    catalogue = offered(context.catalogue, context.case)
    delivery = delivery_of(context.option.parts(catalogue), catalogue)
    return single(delivery.weeks, latest, delivery.slowest)


CHECKS: tuple[Check[OptionContext], ...] = (
    Check(
        CheckText(
            id="rating.payload",
            title="Payload that the carrier is rated for",
            unit="mass",
            source=_CATALOGUE,
            requirements=("load.mass", "rate.per_carrier"),
            evidence=("ratings-against-catalogue",),
            fails="{what} {demand}, {excess} than the {limit} that {where} may carry",
            together="may carry {limit} of the {demand}",
        ),
        _payload,
    ),
    Check(
        CheckText(
            id="pair.bend",
            title="Coupling distance against the bend's radius",
            unit="length",
            source="assumption: trucks no further apart than the radius turn 30° at most",
            requirements=("loop.max_width",),
            evidence=("ratings-against-catalogue",),
            fails=(
                "its two trucks stand {demand} apart, {excess} than the radius of {where}, and"
                " would turn too far under their platform"
            ),
            together="their two trucks stand {demand} apart, more than the radius of the bend",
        ),
        _pair,
    ),
    Check(
        CheckText(
            id="loop.width",
            title="Width of the loop with the swing of its loads",
            unit="length",
            source="geometry of the bend and of the rectangles that swing round it",
            requirements=("loop.max_width", "load.reach", "load.offset", "load.cg_height"),
            evidence=("loop", "bend-against-fresnel", "sweep-against-tracing"),
            fails="{sweeps_width}",
            together="the loop would sweep {demand} of width, where {limit} are free",
        ),
        _width,
    ),
    Check(
        CheckText(
            id="loop.height",
            title="Height of the loop with the swing of its loads",
            unit="length",
            source="geometry of the bend and of the rectangles that swing round it",
            requirements=("loop.max_height", "load.reach", "load.offset"),
            evidence=("loop", "bend-against-fresnel", "sweep-against-tracing"),
            fails=(
                "with {where} the loop sweeps {demand} of height, {excess} than is free, because"
                " load and plate reach {beyond_guide} beyond the guide on either side"
            ),
            together="the loop would sweep {demand} of height, where {limit} are free",
        ),
        _height,
    ),
    Check(
        CheckText(
            id="load.holding",
            title="Load held on the lower run of an upright loop",
            unit="acceleration",
            source="statics: nothing but a clamp holds a load that hangs upside down",
            requirements=("load.held", "loop.plane"),
            evidence=("ratings-against-catalogue",),
            fails="on the lower run the load hangs upside down, where nothing but a clamp holds it",
            together="nothing but a clamp holds a load that hangs upside down",
        ),
        _holding,
    ),
    Check(
        CheckText(
            id="commercial.delivery",
            title="Delivery with the slowest part that cannot be spared",
            unit="lead time",
            source="lead times of the parts and steps of the catalogue, one after the other",
            requirements=("commercial.latest_delivery",),
            evidence=("ratings-against-catalogue",),
            fails="with {where} as its slowest part delivery takes {demand}, {excess} than is left",
            together="take {demand} to arrive, where {limit} are left",
        ),
        _delivery,
    ),
    Check(
        CheckText(
            id="guide.bend_fit",
            title="Rollers on rails cut for another wheelbase",
            unit="length",
            source="geometry of a truck on the chord of the bend; preload and stiffness of the"
            " catalogue's rollers",
            requirements=("loop.max_width",),
            evidence=("bend-fit-against-geometry", "rollers-against-springs"),
            fails=(
                "its wheelbase of {wheelbase} does not fit the rails of {bend}, which are"
                " {rails}: its rollers {play}"
            ),
            together=(
                "their wheelbase does not fit the rails of the bend, which are off by {demand},"
                " where rollers bear {limit}"
            ),
        ),
        _bend_fit,
    ),
    Check(
        CheckText(
            id="drive.standing",
            title="Force that holds a carrier standing in an upright bend",
            unit="force",
            source="virtual work of the weight; rise of the winding over the ambient temperature",
            requirements=("load.mass", "load.reach", "loop.plane", "site.ambient"),
            evidence=("standing-against-energy", "thermal", "bend-motor-against-integration"),
            fails=(
                "a carrier that waits in an upright bend asks each of its magnets for {demand},"
                " {excess} than {where} gives for any time in surroundings of {ambient}"
            ),
            together=(
                "a carrier that waits in an upright bend asks each magnet for {demand}, where it"
                " gives {limit} for any time"
            ),
        ),
        _standing,
    ),
)
