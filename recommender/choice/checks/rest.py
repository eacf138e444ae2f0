"""How still an option stands at its stations."""

import numpy as np

from recommender.choice.carrier.rest import deflections
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks.entry import Check, CheckText, Outcome


def _deflection(context: OptionContext) -> Outcome | None:
    """Where the enquiry gives a tolerance, a process may not press the load out of it."""
    stations = context.case.station
    asked = [
        k
        for k, station in enumerate(stations)
        if any(station.force) and "tolerance" in station.model_fields_set
    ]
    if not asked:
        return None
    demand = deflections(context.option, context.case, context.rules)[asked]
    limit = np.array([stations[k].tolerance for k in asked])
    return Outcome(demand, limit, tuple(stations[k].name for k in asked))


CHECKS: tuple[Check[OptionContext], ...] = (
    Check(
        CheckText(
            id="station.deflection",
            title="Overhang pressed aside by the process",
            unit="length",
            source="statics of a lever on the carrier's stiffness",
            requirements=("station.force", "station.tolerance", "load.reach"),
            evidence=("settling-against-oscillator",),
            fails=(
                "at {where} the process presses the load {demand} aside, {excess} than its"
                " tolerance, as the carrier is not stiff enough for its overhang"
            ),
            together=(
                "at {where} the process presses the load {demand} aside, where its tolerance is"
                " {limit}"
            ),
        ),
        _deflection,
    ),
)
