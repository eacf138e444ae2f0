"""What every answer warns of."""

from recommender.choice.audit import Audit
from recommender.explain.measures import measure
from recommender.inputs.case import Case

_ALWAYS = (
    "A preliminary selection, not a release for manufacture: a licensed engineer checks it before"
    " anything is ordered or built, and local codes apply.",
    "Guarding, stopping and electrical equipment follow ISO 12100, ISO 13849-1, ISO 13850, ISO"
    " 13854, ISO 13855, ISO 13857, ISO 14118, IEC 60204-1 and IEC 61800-5-2 as adopted locally.",
    "Crush and shear points: at the bends, between carriers, and between carriers and stations.",
    "Strong magnets on the carriers and bare windings: keep implants, cards, watches and loose"
    " steel tools away.",
    "DC links stay charged after switch-off: wait and measure before touching.",
)


def cautions(case: Case, choice: Audit | None) -> tuple[str, ...]:
    """Cautions for a case and its choice."""
    lines = list(_ALWAYS)
    if case.loop.plane == "upright":
        lines.append("Unpowered carriers on an upright loop fall: hold or catch them.")
    else:
        lines.append("Unpowered carriers coast until friction or an obstacle stops them.")
    if choice is not None:
        lines.extend(_of_choice(case, choice))
    return tuple(lines)


def _of_choice(case: Case, choice: Audit) -> list[str]:
    option, motion = choice.configuration.option, choice.configuration.motion
    mass = option.carrier.mass + option.items * case.load.mass + case.tooling.mass
    energy = 0.5 * mass * motion.speed**2
    lines = [
        f"A loaded carrier of {measure(mass, 'mass')} at {measure(motion.speed, 'speed')} carries"
        f" {measure(energy, 'J')} of kinetic energy."
    ]
    stop = option.carrier.total_peak_force / mass
    if case.load.held != "clamped" and stop > motion.acceleration:
        lines.append(
            f"An emergency stop at full force brakes with {measure(stop, 'acceleration')}, and a"
            " load that is not clamped may slide or fall then: guard for it."
        )
    return lines
