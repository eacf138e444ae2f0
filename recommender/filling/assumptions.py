"""What the method itself takes for granted, as lines of the answer."""

from collections.abc import Iterator

from recommender.choice.parts.options import reserve_of
from recommender.inputs.case import Assumption, Case
from recommender.inputs.catalogue import Catalogue, Rules
from recommender.inputs.quantities import KINDS, write
from recommender.physics.slosh_decay import sloshing_damping


def method_assumptions(case: Case, catalogue: Catalogue) -> tuple[Assumption, ...]:
    """Assumptions of the method and the house's rules that this case depends on."""
    return (*_rules(case, catalogue), *_always(), *_sometimes(case, catalogue.rules))


def _rules(case: Case, catalogue: Catalogue) -> Iterator[Assumption]:
    rules = catalogue.rules
    if case.rate.reserve is None:
        yield Assumption(
            "rate.reserve",
            f"{rules.rate_reserve:g}",
            "share of the rate that every takt is asked for beyond it; a rule of the house",
        )
    held = case.rate.items * (1.0 + reserve_of(case, catalogue))
    yield Assumption(
        "rate.held",
        write(held, KINDS["rate"]),
        "the controller holds the rate that is asked, with its reserve at most: power, heat, life"
        " and energy are those at this rate, and would be more at the higher one that the loop"
        " could reach",
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
    if case.load.held != "clamped" or case.load.clamping_force is not None:
        yield Assumption(
            "rules.holding_safety", f"{rules.holding_safety:g}", "on slipping and tipping"
        )
    if case.load.held != "friction" and case.limits.acceleration is None:
        yield Assumption(
            "rules.load_acceleration",
            write(rules.load_acceleration, KINDS["acceleration"]),
            "that the load bears in planned motion; ask the customer, and write it down as"
            " limits.acceleration",
        )
    yield Assumption(
        "rules.ramp_time",
        write(rules.ramp_time, KINDS["duration"]),
        "in which the acceleration is built up, unless the enquiry limits the jerk",
    )
    if case.limits.jerk is not None:
        yield Assumption(
            "rules.jerk_window",
            write(rules.jerk_window, KINDS["duration"]),
            "over which the jerk of the load at the ends of bends is meant: a plain arc takes hold"
            " at once, and play and give round off what is shorter; a speed change that has just"
            " ended is not added",
        )
    yield Assumption(
        "rules.start_lag",
        write(rules.start_lag, KINDS["duration"]),
        "from the start of a carrier to that of the one behind it",
    )
    if any(station.settling is None for station in case.station):
        yield Assumption(
            "rules.carrier_damping",
            f"{rules.carrier_damping:g}",
            "with which a loaded carrier stops rocking, after the hardest stop of its drive; what a"
            " bend leaves is not counted",
        )
        yield Assumption(
            "rules.least_settling",
            write(rules.least_settling, KINDS["duration"]),
            "for the position control, however stiff the carrier",
        )
    yield Assumption("rules.drive_margin", f"{rules.drive_margin:g}", "on every drive force")
    yield Assumption("rules.static_safety", f"{rules.static_safety:g}", "C0/P0 of every roller")
    yield Assumption(
        "rules.carrier_gap",
        write(rules.carrier_gap, KINDS["length"]),
        "between two carriers or their loads at standstill",
    )
    yield Assumption(
        "rules.winding_limit",
        write(rules.winding_limit, KINDS["temperature"]),
        "of the windings; continuous forces are rated for"
        f" {write(rules.rated_ambient, KINDS['temperature'])} around them",
    )
    if catalogue.catalogue.bus_resistance is not None:
        yield Assumption(
            "rules.voltage_drop",
            f"{rules.voltage_drop:g}",
            "share of the voltage lost from a feed to the farthest section, at most; the bus is as"
            " warm as windings may be",
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
            "bend.cut_for",
            "as in the catalogue",
            "rails are cut midway between what the front and the rear axle of that wheelbase need;"
            " rollers of other wheelbases are squeezed or come loose by (b² - b_0²)·g/(8·R²)",
        ),
        (
            "carrier.motor_constant",
            "of warm windings",
            "the catalogue gives it for windings at their limit; at 20 °C they lose three tenths"
            " less, and the supplies are not sized for that",
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
            "all that the carriers allow",
            "what is proven holds to half a per cent for every acceleration, speed and bend speed"
            " up to the option's own limits; loads are worked out at some hundred of each, and"
            " nearer to each other where that decides",
        ),
        (
            "motion.choice",
            "the gentlest",
            "of all motions that hold every check at the same price the one with the least"
            " acceleration, then the least bend speed, then the least top speed",
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


def _sometimes(case: Case, rules: Rules) -> Iterator[Assumption]:
    liquid = case.load.liquid
    if liquid is not None:
        if liquid.viscosity is None:
            yield Assumption(
                "rules.liquid_viscosity",
                write(rules.liquid_viscosity, KINDS["kinematic viscosity"]),
                "of a liquid of which nothing is said; ask the customer, a warm or thin one calms"
                " more slowly",
            )
        viscosity = rules.liquid_viscosity if liquid.viscosity is None else liquid.viscosity
        size = (liquid.length, case.liquid_width, liquid.depth)
        yield Assumption(
            "liquid.damping",
            f"{100.0 * float(sloshing_damping(*size, viscosity)):.2f} % of critical",
            "by friction at smooth walls, for what earlier moves leave; within a move waves do not"
            " die out, and moves meet the waves in the unluckiest phase. Hops in a queue are not"
            " counted",
        )
        yield Assumption("liquid.fill", "± 10 %", "the depth of the fill may vary so much")
    if any(any(station.force) for station in case.station):
        yield Assumption(
            "station.force", "at the load", "a process force acts at the load's centre of gravity"
        )
    if max(case.rate.per_carrier) > 1:
        yield Assumption("rules.item_gap", "as in the catalogue", "between items on one carrier")
        if not any("dwell_for" in station.model_fields_set for station in case.station):
            yield Assumption(
                "station.dwell_for", "carrier", "a dwell serves all items of a carrier together"
            )
        if case.tooling.mass > 0.0 and "per" not in case.tooling.model_fields_set:
            yield Assumption("tooling.per", "carrier", "one fixture holds all items of a carrier")
    if case.loop.plane == "upright":
        yield Assumption(
            "rules.guide_behind",
            write(rules.guide_behind, KINDS["length"]),
            "from the guide centre line to the back of its frame",
        )
        yield Assumption(
            "load.height",
            write(2.0 * case.load.cg_height, KINDS["length"]),
            "a load is taken to be twice as high as its centre of gravity, where the floor across"
            " an upright loop is asked for",
        )
