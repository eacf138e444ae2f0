"""Checks of what is ordered for a finished configuration: brake resistors, delivery."""

import numpy as np

from recommender.choice.checks.configured import ConfiguredContext
from recommender.choice.checks.entry import Check, CheckText, Outcome, single
from recommender.choice.loop.power import hop_energy, hop_speed, motor_constant, queue_energy
from recommender.choice.parts.bill import bill_of_materials
from recommender.choice.parts.braking import fall_of, link_of, moving_mass
from recommender.choice.parts.delivery import delivery_of
from recommender.choice.parts.pricing import offered
from recommender.inputs.catalogue import BrakeResistor
from recommender.physics.braking import braking_power, mean_braking_power
from recommender.physics.constants import STANDARD_GRAVITY


def _resistors(context: ConfiguredContext) -> list[tuple[BrakeResistor, int]] | None:
    """Brake resistors with their pieces; ``None`` if they are no matter of this order."""
    about = context.layout.about
    known = {part.id: part for part in offered(context.catalogue, about.case).brake_resistor}
    if not known:
        return None
    return [(known[id_], count) for id_, count in context.configuration.resistors]


def _link(context: ConfiguredContext) -> float:
    """What the DC links of all supplies take together, J."""
    return sum(count * link_of(part) for part, count in context.supplies())


def _stop_energy(context: ConfiguredContext) -> float:
    """What all carriers return if they stop from their top speed together, J."""
    about, configuration = context.layout.about, context.configuration
    mass = moving_mass(about.option, about.case)
    fall = STANDARD_GRAVITY * fall_of(about.option, about.case)
    each = mass * (0.5 * configuration.motion.speed**2 + fall)
    return configuration.carriers * each * (1.0 - about.rules.recovered)


def _mean_power(context: ConfiguredContext) -> float:
    """What carriers return on average as they run, W: stops and bends of a lap, queues, falls."""
    layout, about = context.layout, context.layout.about
    setting, lap = layout.setting, layout.lap
    mass = moving_mass(about.option, about.case)
    braked = 0.5 * mass * float(lap.over_lap(lap.peak**2 - lap.end**2)[0])
    hops = float((queue_energy(layout) / hop_energy(setting))[0])
    braked += hops * 0.5 * mass * float(hop_speed(setting)[0]) ** 2
    force = mass * float(setting.settings.acceleration[0])
    most = float(mean_braking_power(force, layout.on.loop.length, about.takt)) * about.takt
    fall = mass * STANDARD_GRAVITY * fall_of(about.option, about.case)
    return (1.0 - about.rules.recovered) * (min(braked, most) + fall) / about.takt


def _energy(context: ConfiguredContext) -> Outcome | None:
    bought = _resistors(context)
    if bought is None:
        return None
    taken = sum(count * part.pulse_energy for part, count in bought)
    names = [f"{count} {part.id}" for part, count in bought]
    where = " and ".join([*names, "the DC links of the supplies"])
    return single(np.array([_stop_energy(context)]), _link(context) + taken, where)


def _power(context: ConfiguredContext) -> Outcome | None:
    bought = _resistors(context)
    if bought is None or _stop_energy(context) <= _link(context):
        return None
    about, configuration = context.layout.about, context.configuration
    each = braking_power(
        configuration.motion.speed,
        about.option.carrier.total_peak_force,
        motor_constant(context.layout.setting),
    )
    peak = configuration.carriers * float(each) * (1.0 - about.rules.recovered)
    limits = [
        sum(count * part.peak_power for part, count in bought),
        sum(count * part.mean_power for part, count in bought),
    ]
    demand = np.array([[peak, _mean_power(context)]])
    return Outcome(demand, np.array(limits), ("a stop of all carriers", "running"))


def _delivery(context: ConfiguredContext) -> Outcome | None:
    case = context.layout.about.case
    latest = case.commercial.latest_delivery
    if latest is None:
        return None
    parts = bill_of_materials(context.configuration, case, context.catalogue)
    delivery = delivery_of(parts, context.catalogue)
    return single(np.array([delivery.weeks]), latest, delivery.slowest)


CHECKS: tuple[Check[ConfiguredContext], ...] = (
    Check(
        CheckText(
            id="braking.energy",
            title="Braking energy of a stop of all carriers",
            unit="energy",
            source="kinetic energy; capacitance of the DC links, C·(U₂² − U₁²)/2; catalogue",
            requirements=("rate.items", "load.mass"),
            evidence=("braking", "braking-against-time-domain"),
            fails="{demand} come back when all carriers stop where {where} take {limit}",
            together="{demand} would come back when all carriers stop, where {limit} can be taken",
        ),
        _energy,
    ),
    Check(
        CheckText(
            id="braking.power",
            title="Braking power that the brake resistors take",
            unit="power",
            source="force times speed less copper loss, at the force that returns most; catalogue",
            requirements=("rate.items", "load.mass"),
            evidence=("braking", "braking-against-time-domain"),
            fails="in {where} {demand} come back where the brake resistors take {limit}",
            together="{demand} would come back in braking, where the brake resistors take {limit}",
        ),
        _power,
    ),
    Check(
        CheckText(
            id="commercial.chain",
            title="Delivery of what is ordered",
            unit="lead time",
            source="lead times of the parts and steps of the catalogue, one after the other",
            requirements=("commercial.latest_delivery",),
            evidence=("ratings-against-catalogue",),
            fails="with {where} as its slowest part delivery takes {demand}, {excess} than is left",
            together="take {demand} to deliver, where {limit} are left",
        ),
        _delivery,
    ),
)
