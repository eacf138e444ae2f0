"""How hard a carrier may brake in a stop without losing its load, and how far it goes meanwhile."""

from dataclasses import dataclass

import numpy as np

from recommender.choice.carrier.load_cases import straight_loads
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.load import CHECKS
from recommender.choice.decision.audit import Audit
from recommender.choice.parts.braking import moving_mass
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.braking import stopping_distance

_STEPS = 400


@dataclass(frozen=True)
class Stop:
    """A stop from top speed on a straight: its deceleration, delay and way, SI."""

    deceleration: float
    delay: float
    distance: float


@dataclass(frozen=True)
class Stops:
    """A stop that the load's hold still allows, and one at the full force of the drive."""

    controlled: Stop
    full_force: Stop


def stops_of(audit: Audit, case: Case, catalogue: Catalogue) -> Stops:
    """Both stops of a configuration."""
    configuration = audit.configuration
    motion, about = configuration.motion, OptionContext(configuration.option, case, catalogue)
    gentle, delay = held_deceleration(about, motion.acceleration), catalogue.rules.stop_delay
    ramp = min(gentle / motion.jerk, motion.speed / gentle)
    mass = moving_mass(configuration.option, case)
    hard = configuration.option.carrier.total_peak_force / mass
    return Stops(_stop(motion.speed, gentle, delay + 0.5 * ramp), _stop(motion.speed, hard, delay))


def _stop(speed: float, deceleration: float, delay: float) -> Stop:
    return Stop(deceleration, delay, float(stopping_distance(speed, deceleration, delay)))


def held_deceleration(about: OptionContext, planned: float) -> float:
    """Greatest deceleration on a straight at which all checks of the load hold, m/s².

    Not beyond what the drive gives with its margin, and never below the planned one, which is
    checked. A liquid is thrown up by every move in its own way, so with one no more than the
    planned deceleration is promised.
    """
    if about.case.load.liquid is not None:
        return planned
    most = float(about.alone.peak_force[0, 0]) / (about.rules.drive_margin * about.mass)
    if most <= planned:
        return planned
    rates = np.linspace(planned, most, _STEPS + 1)
    loads = straight_loads(about.alone, rates[None, :])
    outcomes = (check.evaluate(loads) for check in CHECKS)
    used = [outcome.utilisation()[0] for outcome in outcomes if outcome is not None]
    beyond = np.flatnonzero(np.max([np.zeros_like(rates), *used], axis=0) > HOLDS)
    return float(rates[max(int(beyond[0]) - 1, 0)]) if len(beyond) else most
