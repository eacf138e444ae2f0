"""What the method itself takes for granted, as lines of the answer."""

from collections.abc import Iterator

from recommender.inputs.case import Assumption, Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS, write


def method_assumptions(case: Case, catalogue: Catalogue) -> tuple[Assumption, ...]:
    """Assumptions of the method and the house's rules that this case depends on."""
    return (*_rules(case, catalogue), *_always(), *_sometimes(case))


def _rules(case: Case, catalogue: Catalogue) -> Iterator[Assumption]:
    rules = catalogue.rules
    yield Assumption(
        "rate.held",
        write(case.rate.items, KINDS["rate"]),
        "the controller holds the rate that is asked: power, heat, life and energy are those at"
        " this rate, and would be more at the higher one that the loop could reach",
    )
    yield Assumption(
        "rules.stop_delay",
        write(rules.stop_delay, KINDS["duration"]),
        "from the demand of a stop until the drive brakes",
    )
    if catalogue.brake_resistor:
        yield Assumption(
            "braking.sizing",
            "top speed of the carrier",
            "brake resistors take a stop of all carriers from the top speed and at the force of"
            " the carrier itself, so that no later change of motion outgrows them; the smallest DC"
            " link of any supply is taken off, and all of one size work together",
        )
    else:
        yield Assumption(
            "braking.energy",
            "not looked at",
            "the catalogue has no brake resistors; what comes back when carriers brake is not"
            " compared with anything",
        )
    if catalogue.energy is not None:
        yield Assumption(
            "energy.price_per_kwh",
            f"{catalogue.energy.price_per_kwh} {catalogue.catalogue.currency}",
            "for the energy of a year; what the supplies lose themselves is not counted",
        )
    if case.load.held != "clamped":
        yield Assumption(
            "rules.holding_safety", f"{rules.holding_safety:g}", "on slipping and tipping"
        )
    yield Assumption(
        "rules.ramp_time",
        write(rules.ramp_time, KINDS["duration"]),
        "in which the acceleration is built up, unless the enquiry limits the jerk",
    )
    yield Assumption(
        "rules.start_lag",
        write(rules.start_lag, KINDS["duration"]),
        "from the start of a carrier to that of the one behind it",
    )
    yield Assumption("rules.drive_margin", f"{rules.drive_margin:g}", "on every drive force")
    yield Assumption("rules.static_safety", f"{rules.static_safety:g}", "C0/P0 of every roller")
    yield Assumption(
        "rules.carrier_gap",
        write(rules.carrier_gap, KINDS["length"]),
        "between two carriers or their loads at standstill",
    )
    yield Assumption(
        "rules.recovered",
        f"{rules.recovered:g}",
        "share of the braking energy that the supplies take back",
    )


def _always() -> Iterator[Assumption]:
    for key, value, why in (
        (
            "rollers.position",
            "on the outer edges",
            "the rollers straddle the rail pair, so that the inner ones take an outward force",
        ),
        (
            "rollers.rim_lever",
            "not counted",
            "an axial load at the rim also tilts a roller's bearing; the catalogue's ratings are"
            " taken to allow for it",
        ),
        (
            "rollers.preload_in_bends",
            "unchanged",
            "rails of a bend not corrected for it squeeze the rollers by about b²·g/(8·R²)",
        ),
        (
            "lower_guide.share",
            "1",
            "the lower guide takes all of the roll moment; the upper guide's own share is small",
        ),
        (
            "bend.speed_held",
            "half a base longer",
            "the bend speed is held until all of a carrier's wheelbase or coupling is out",
        ),
        (
            "station.places",
            "round numbers",
            "multiples of 10 mm from the start of a straight (20 mm beyond 5 m, 50 mm beyond 10 m)"
            " unless fixed; those of dearer options are spread or drawn together, and elsewhere"
            " these might be somewhat cheaper, though never cheaper than the recommended one",
        ),
        (
            "motion.settings",
            "a grid",
            "accelerations, speeds and bend speeds up to the option's own limits; twice as many"
            " points move no price by more than half a per cent",
        ),
        (
            "peak_force.speed",
            "top speed",
            "the peak force is compared at the top speed of a leg, where it is least",
        ),
        (
            "system_life.exponent",
            "10/9",
            "lives of ball rollers together; on the safe side of the slope behind a1",
        ),
    ):
        yield Assumption(key, value, why)


def _sometimes(case: Case) -> Iterator[Assumption]:
    if case.load.liquid is not None:
        yield Assumption(
            "liquid.damping",
            "none",
            "waves do not die out during a move, and the liquid is calm again when it starts",
        )
        yield Assumption("liquid.fill", "± 10 %", "the depth of the fill may vary so much")
    if any(any(station.force) for station in case.station):
        yield Assumption(
            "station.force", "at the load", "a process force acts at the load's centre of gravity"
        )
    if max(case.rate.per_carrier) > 1:
        yield Assumption("rules.item_gap", "as in the catalogue", "between items on one carrier")
        yield Assumption(
            "station.dwell", "once for all", "a dwell serves all items of a carrier together"
        )
