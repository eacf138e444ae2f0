"""Formulas of what loads and forces do: ratings, rollers, the hold of the load, the drive."""

from collections.abc import Callable, Mapping
from math import isfinite
from typing import Final

from recommender.calculation.worked import Worked, written
from recommender.choice.carrier.load_cases import CaseLoads
from recommender.choice.checks.findings import Finding
from recommender.choice.parts.braking import fall_of, link_of, moving_mass
from recommender.physics.bearings import static_equivalent_load
from recommender.physics.constants import STANDARD_GRAVITY
from recommender.physics.drive import available_force
from recommender.results.calculation import Formula

Sides = tuple[Formula, Formula]
_RATED: Final = "rating of the catalogue"
_ASKED: Final = "limit of the enquiry"
_GRAVITY: Final = ("gravity", STANDARD_GRAVITY)


def given(words: str, value: float) -> Formula:
    """A value that stands in the catalogue or in the enquiry; words alone where it is no limit."""
    if not isfinite(value):
        return Formula(words)
    return written("{value}", value=(words, value))


def told(demand: str, limit: str) -> Callable[[Worked, Finding], Sides]:
    """Words for both sides, with the limit as it is found."""
    return lambda worked, finding: (Formula(demand), given(limit, finding.limit))


def both(demand: str, limit: str) -> Callable[[Worked, Finding], Sides]:
    """Values for both sides as they are found."""
    return lambda worked, finding: (given(demand, finding.demand), given(limit, finding.limit))


def _payload(worked: Worked, finding: Finding) -> Sides:
    items, fixture = worked.option.items, worked.case.fixture_mass(worked.option.items)
    demand = written(
        "{items}·{mass} + {fixture}",
        items=("items", items),
        mass=("mass of an item", worked.case.load.mass),
        fixture=("fixtures", fixture),
    )
    return demand, given(_RATED, finding.limit)


def _roller(worked: Worked, finding: Finding) -> tuple[Formula, float]:
    """The equivalent load of the roller that governs, and its static rating."""
    where = finding.where
    loads = worked.bend if where.in_bends else worked.straight
    row = next(k for k, case in enumerate(loads.directions) if case == where.load_case)
    option, rollers = worked.option, loads.rollers
    named = [(label.truck, label.roller) for label in rollers.labels]
    if (where.truck, where.roller) not in named:
        lower = [(label.truck, label.roller) for label in rollers.lower_labels]
        column = lower.index((where.truck, where.roller))
        force = float(rollers.lower_radial[0, 0, row, column])
        rating = (option.lower_roller or option.roller).static_rating
        return written("{force}", force=("radial load of the lower roller", force)), rating
    column = named.index((where.truck, where.roller))
    radial = float(rollers.radial[0, 0, row, column])
    axial = abs(float(rollers.axial[0, 0, row, column]))
    y0 = float(static_equivalent_load(0.0, 1.0, option.roller.contact_angle))
    demand = written(
        "{radial} + {y0}·{axial}",
        radial=("radial load", radial),
        y0=("Y0", y0),
        axial=("axial load", axial),
    )
    return demand, option.roller.static_rating


def _static(worked: Worked, finding: Finding) -> Sides:
    demand, rating = _roller(worked, finding)
    limit = written(
        "{rating}/{safety}",
        rating=("static rating C0", rating),
        safety=("static safety", worked.rules.static_safety),
    )
    return demand, limit


def _working(worked: Worked, finding: Finding) -> Sides:
    return _roller(worked, finding)[0], given("working load of the catalogue", finding.limit)


def _slip(worked: Worked, finding: Finding) -> Sides:
    limit = written(
        "{friction}·{gravity}/{safety}",
        friction=("friction", worked.case.load.friction),
        gravity=_GRAVITY,
        safety=("holding safety", worked.rules.holding_safety),
    )
    words = "share of the friction that push and yaw take together · what friction holds"
    return Formula(words), limit


def _tip(worked: Worked, finding: Finding) -> Sides:
    load, along = worked.case.load, finding.where.axis == "along"
    base = load.length if along else load.width
    pocket = load.pocket if load.held == "nested" and load.pocket is not None else 0.0
    words = f"acceleration of the outermost item {finding.where.axis} the travel"
    if pocket >= load.cg_height:
        return Formula(words), Formula("none: its nest reaches above the centre of gravity")
    limit = written(
        "{half}·{gravity}/({safety}·({height} − {pocket}))",
        half=("half the base", 0.5 * base),
        gravity=_GRAVITY,
        safety=("holding safety", worked.rules.holding_safety),
        height=("height of the centre of gravity", load.cg_height),
        pocket=("depth of the nest", pocket),
    )
    return Formula(words), limit


def _clamp(worked: Worked, finding: Finding) -> Sides:
    load = worked.case.load
    limit = written(
        "2·{friction}·{force}/({mass}·{safety})",
        friction=("friction", load.friction),
        force=("clamping force", load.clamping_force or 0.0),
        mass=("mass of an item", load.mass),
        safety=("holding safety", worked.rules.holding_safety),
    )
    words = "share of the clamp's hold that pull and yaw take together · what the clamp holds"
    return Formula(words), limit


def _pushed(worked: Worked, finding: Finding, loads: CaseLoads) -> tuple[float, float]:
    """Thrust and resistance in the load case that governs, N."""
    row = next(k for k, case in enumerate(loads.directions) if case == finding.where.load_case)
    return abs(float(loads.thrust[0, 0, row])), float(loads.resistance[0, 0, row])


def _peak_straight(worked: Worked, finding: Finding) -> Sides:
    thrust, resistance = _pushed(worked, finding, worked.straight)
    carrier, motion = worked.option.carrier, worked.audit.configuration.motion
    demand = written(
        "{margin}·({mass}·{acceleration} + {resistance})",
        margin=("drive margin", worked.rules.drive_margin),
        mass=("mass", worked.about.mass),
        acceleration=("acceleration", thrust / worked.about.mass),
        resistance=("resistance", resistance),
    )
    if motion.speed <= carrier.knee_speed:
        return demand, given("peak force of the catalogue", finding.limit)
    limit = written(
        "{force}·({idle} − {speed})/({idle} − {knee})",
        force=("peak force", carrier.total_peak_force),
        idle=("no-load speed", carrier.no_load_speed),
        speed=("top speed", motion.speed),
        knee=("knee speed", carrier.knee_speed),
    )
    return demand, limit


def _peak_bend(worked: Worked, finding: Finding) -> Sides:
    thrust, resistance = _pushed(worked, finding, worked.bend)
    carrier, motion = worked.option.carrier, worked.audit.configuration.motion
    demand = written(
        "{margin}·({thrust} + {resistance})",
        margin=("drive margin", worked.rules.drive_margin),
        thrust=("force that turns the carrier", thrust),
        resistance=("resistance", resistance),
    )
    force = available_force(
        motion.bend_speed, carrier.total_peak_force, carrier.knee_speed, carrier.no_load_speed
    )
    limit = written(
        "{share}·{force}",
        share=("share of the force left over curved windings", worked.about.bend_force_share),
        force=("peak force at bend speed", float(force)),
    )
    return demand, limit


def _continuous(worked: Worked, finding: Finding) -> Sides:
    carrier = worked.option.carrier
    limit = written(
        "{force}·{share}",
        force=("continuous force", carrier.continuous_force),
        share=(
            "share left in the ambient temperature",
            worked.about.continuous_force / carrier.continuous_force,
        ),
    )
    return Formula("root of the mean square of the force over a takt"), limit


def _moment(axis: str) -> Callable[[Worked, Finding], Sides]:
    words = f"{axis} moment of masses, drive and magnets about the centre of the upper guide"
    return told(words, _RATED)


def _energy(worked: Worked, finding: Finding) -> Sides:
    configuration, option, case = worked.audit.configuration, worked.option, worked.case
    fall = fall_of(option, case)
    terms = {
        "carriers": ("carriers", float(configuration.carriers)),
        "mass": ("mass", moving_mass(option, case)),
        "speed": ("speed", configuration.motion.speed),
        "kept": ("share not taken back", 1.0 - worked.rules.recovered),
        "gravity": _GRAVITY,
        "fall": ("fall of a lap", fall),
    }
    template = "{carriers}·{mass}·({speed}²/2 + {gravity}·{fall})·{kept}"
    if not fall:
        template = "{carriers}·{mass}·{speed}²/2·{kept}"
    links = float(sum(count * link_of(part) for part, count in worked.built.supplies()))
    limit = written(
        "{links} + {resistors}",
        links=("DC links", links),
        resistors=("brake resistors", finding.limit - links),
    )
    return written(template, **terms), limit


_ACCELERATION: Final = "resultant acceleration of the outermost item"

FORMULAS: Final[Mapping[str, Callable[[Worked, Finding], Sides]]] = {
    "rating.payload": _payload,
    "rating.roll_moment": _moment("roll"),
    "rating.pitch_moment": _moment("pitch"),
    "rating.yaw_moment": _moment("yaw"),
    "rating.speed": both("top speed", _RATED),
    "house.acceleration": both("acceleration on straights", "rule of the house"),
    "roller.static": _static,
    "roller.working_load": _working,
    "load.slip": _slip,
    "load.tip": _tip,
    "load.clamp": _clamp,
    "load.holding": told("gravity on the lower run", "what holds the load upside down"),
    "load.acceleration": told(_ACCELERATION, "rule of the house"),
    "load.spill": told("all modes of the wave, earlier moves decayed", "freeboard"),
    "limit.acceleration": told(_ACCELERATION, _ASKED),
    "limit.speed": both("top speed", _ASKED),
    "limit.jerk": both("jerk on straights", _ASKED),
    "limit.jerk_bend": told("change of the load's acceleration over the window", _ASKED),
    "drive.peak_straight": _peak_straight,
    "drive.peak_bend": _peak_bend,
    "drive.continuous": _continuous,
    "drive.standing": told(
        "greatest pull of the weight along the guide, on each magnet",
        "continuous force in the ambient temperature",
    ),
    "station.deflection": told(
        "process force · lever² over the stiffness of the carrier", "tolerance of the station"
    ),
    "braking.energy": _energy,
    "braking.power": told(
        "force · speed less the copper loss at that force, of all carriers",
        "brake resistors of the catalogue",
    ),
}
