"""How carriers of an option come to rest at their stations: settling and deflection.

One settling for each option and station, whatever the setting: it is bounded at the greatest
acceleration that the drive can give to carrier and load, and the shortest ramp of the house. Limits
of the enquiry are not counted on, nor is the fixture's mass, so that asking for less never makes a
station slower.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from recommender.choice.carrier.bodies import Batch, loaded_by
from recommender.choice.parts.options import Option
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Rules
from recommender.physics.constants import Array
from recommender.physics.settling import (
    overhang_deflection,
    rocking_frequency,
    settling_time,
    swing_after_move,
)


def settled(option: Option, case: Case, rules: Rules) -> Case:
    """The case with a settling for every station; those that the enquiry gives stay."""
    return Settling(rules).settled(option, case)


def _filled_in(case: Case, times: Sequence[float]) -> Case:
    stations = tuple(
        station if station.settling is not None else station.model_copy(update={"settling": time})
        for station, time in zip(case.station, times, strict=True)
    )
    return case.model_copy(update={"station": stations})


class Settling:
    """Fills in the settling in many cases, worked out once for each load and tolerance."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self._stations: dict[tuple[Any, ...], tuple[float, ...]] = {}

    def settled(self, option: Option, case: Case) -> Case:
        """The case with a settling for every station; those that the enquiry gives stay."""
        if all(station.settling is not None for station in case.station):
            return case
        tolerances = tuple(station.tolerance for station in case.station)
        key = option.id, loaded_by(case), tolerances
        if key not in self._stations:
            times = settling_times(option, case, self.rules, list(tolerances))
            self._stations[key] = tuple(times.tolist())
        return _filled_in(case, self._stations[key])


def settling_times(option: Option, case: Case, rules: Rules, tolerances: list[float]) -> Array:
    """Time to come to rest within each tolerance, (tolerances,), s.

    The swing of what rocks on the carrier's stiffness, and at least the time of the controller.
    """
    return np.asarray(settling_of(Batch((option,), case, rules), tolerances)[0])


def settling_of(body: Batch, tolerances: list[float]) -> Array:
    """As `settling_times`, of each option of a batch, (options, tolerances), s."""
    rules = body.rules
    levers = np.sqrt((body.part_centre[:, 0, 0] ** 2).sum(axis=-1))
    masses = body.part_mass[:, 0, 0]
    inertia = (masses * levers**2 + body.part_inertia[:, 0, 0]).sum(axis=-1, keepdims=True)
    stiffness = body.carrier("stiffness")
    frequency = rocking_frequency(stiffness, inertia)
    # Without the fixture: a lighter one would only let the drive stop harder.
    driven = masses[:, :1] + masses[:, -1:]
    hardest = body.peak_force / (rules.drive_margin * driven)
    acceleration = np.minimum(hardest, rules.most_acceleration)
    spacing = np.maximum(body.carrier("plate_length"), body.load_length) + rules.carrier_gap
    swing = swing_after_move(
        (masses * levers).sum(axis=-1, keepdims=True) * levers[:, -1:] / stiffness,
        frequency,
        rules.carrier_damping,
        acceleration,
        acceleration / rules.ramp_time,
        spacing,
    )
    swinging = settling_time(swing, tolerances, frequency, rules.carrier_damping)
    return np.asarray(np.maximum(swinging, rules.least_settling))


def deflections(option: Option, case: Case, rules: Rules) -> Array:
    """How far the process force of each station moves the load, (stations,), m.

    The sag under the weight is the same at each visit and set out when a station is set up.
    """
    body = Batch((option,), case, rules)
    lever = np.sqrt((body.part_centre[0, 0, 0, -1] ** 2).sum())
    force = np.linalg.norm([station.force for station in case.station], axis=-1)
    return overhang_deflection(force, lever, option.carrier.stiffness)
