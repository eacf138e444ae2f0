"""What every answer warns of."""

import math

from recommender.choice.decision.audit import Audit
from recommender.choice.decision.stopping import stops_of
from recommender.explain.measures import measure
from recommender.inputs.case import Case
from recommender.inputs.catalogue import BRAKE_RESISTORS, Catalogue
from recommender.physics.load_limits import clamp_limited_acceleration

_ALWAYS = (
    "A preliminary selection, not a release for manufacture: a licensed engineer checks it by local"
    " codes before anything is ordered or built.",
    "Guarding, stopping and electrical equipment follow ISO 12100, ISO 13849-1, ISO 13850, ISO"
    " 13854, ISO 13855, ISO 13857, ISO 14118, IEC 60204-1 and IEC 61800-5-2 as adopted locally.",
    "Crush and shear points: at bends, between carriers, and at stations.",
    "Strong magnets, bare windings: keep implants, cards, watches, steel tools away.",
    "DC links stay charged after switch-off: wait and measure before touching.",
)


def cautions(case: Case, catalogue: Catalogue, choice: Audit | None) -> tuple[str, ...]:
    """Cautions for a case and its choice."""
    lines = list(_ALWAYS)
    if case.loop.plane == "upright":
        lines.append("Unpowered carriers on an upright loop fall: hold or catch them.")
        lines.append(_upside_down(case))
    else:
        lines.append("Unpowered carriers coast until friction or an obstacle stops them.")
    if choice is not None:
        lines.extend(_of_choice(case, choice))
        lines.append(_stops(case, catalogue, choice))
    if case.commercial.without:
        lines.append(_left_out(case))
    return tuple(lines)


def _upside_down(case: Case) -> str:
    below = [station.name for station in case.sided if station.side == "back"]
    served = f", and is served at {' and '.join(below)} so" if below else ""
    return (
        f"On the lower run every load travels upside down{served}: its clamp must hold it without"
        " power as well, and nobody stays below it."
    )


def _of_choice(case: Case, choice: Audit) -> list[str]:
    option, motion = choice.configuration.option, choice.configuration.motion
    mass = option.carrier.mass + option.items * case.load.mass + case.fixture_mass(option.items)
    energy = 0.5 * mass * motion.speed**2
    lines = [
        f"A loaded carrier of {measure(mass, 'mass')} at {measure(motion.speed, 'speed')} carries"
        f" {measure(energy, 'J')} of kinetic energy."
    ]
    stop = option.carrier.total_peak_force / mass
    if case.load.held != "clamped" and stop > motion.acceleration:
        lines.append(
            f"An emergency stop at full force brakes with {measure(stop, 'acceleration')}: a load"
            " that is not clamped may slide or fall. Guard for it."
        )
    load = case.load
    if load.held == "clamped" and load.clamping_force is not None:
        holds = float(clamp_limited_acceleration(load.clamping_force, load.friction, load.mass))
        if stop > holds:
            lines.append(
                f"An emergency stop at full force brakes with {measure(stop, 'acceleration')}, and"
                f" the clamp holds {measure(holds, 'acceleration')} without any safety: the load"
                " may come loose. Guard for it."
            )
    return lines


def _stops(case: Case, catalogue: Catalogue, choice: Audit) -> str:
    stops, speed = stops_of(choice, case, catalogue), choice.configuration.motion.speed
    soft, hard = stops.controlled, stops.full_force
    return (
        f"A controlled stop that the load bears (IEC 60204-1, category 1) takes"
        f" {_way(soft.distance)} from {measure(speed, 'speed')} on a straight: {soft.delay:.2f} s"
        f" of delay, then {measure(soft.deceleration, 'acceleration')}. At full force it takes"
        f" {_way(hard.distance)}. Safeguards stand off by the time of the whole stop (ISO 13855)."
    )


def _way(distance: float) -> str:
    """The way of a stop, rounded up."""
    return measure(math.ceil(100.0 * distance) / 100.0, "length")


def _left_out(case: Case) -> str:
    items = ", ".join(case.commercial.without)
    line = f"Left out of this order, as the enquiry says: {items}; somebody else must see to it."
    if BRAKE_RESISTORS in case.commercial.without:
        line += " Nothing here then takes what comes back when the carriers brake."
    return line
