"""Random enquiries for tests: loads from a bottle to a pallet corner, most of which can be met.

Their numbers are drawn apart from the worked cases, so that what is claimed is not only true of
cases that the program was tuned on.
"""

from typing import Any

import numpy as np

from recommender.inputs.case import Case

HELD = ("clamped", "clamped", "nested", "friction")


def random_enquiry(rng: np.random.Generator) -> Case:
    """One enquiry; the same generator gives the same ones."""
    return Case.model_validate(random_table(rng))


def random_table(rng: np.random.Generator) -> dict[str, Any]:
    """One enquiry as it would stand in a file."""
    mass = float(np.exp(rng.uniform(np.log(0.5), np.log(60.0))))
    side = float(np.clip(90.0 * mass ** (1.0 / 3.0) * rng.uniform(0.7, 1.3), 60.0, 420.0))
    load: dict[str, Any] = {
        "mass": f"{mass:.2f} kg",
        "length": f"{side:.0f} mm",
        "width": f"{side * rng.uniform(0.7, 1.2):.0f} mm",
        "reach": f"{rng.choice([0.0, 0.0, rng.uniform(-40.0, 160.0)]):.0f} mm",
        "cg_height": f"{0.45 * side:.0f} mm",
        "held": str(rng.choice(HELD)),
        "friction": 0.4,
    }
    stations = [_station(rng, number) for number in range(int(rng.integers(2, 5)))]
    # A light load is asked for more often a minute than a heavy one, and none more often than its
    # stations can serve it.
    served = min(
        60.0 * station.get("positions", 1) / (float(station["dwell"].split()[0]) + 0.8)
        for station in stations
    )
    most = min(70.0 / (1.0 + mass / 15.0), served)
    table: dict[str, Any] = {
        "load": load,
        "rate": {"items": f"{rng.uniform(0.1, 1.0) * most:.1f}/min"},
        "life": {"hours": float(rng.choice([8000.0, 20000.0, 60000.0]))},
        "station": stations,
    }
    if rng.random() < 0.3:
        table["tooling"] = {"mass": f"{0.1 * mass:.2f} kg"}
    if rng.random() < 0.25:
        table["rate"]["per_carrier"] = [1, 2]
    if rng.random() < 0.3:
        table["loop"] = {"max_length": f"{rng.uniform(4.0, 12.0):.1f} m"}
    if rng.random() < 0.3:
        table["limits"] = {"acceleration": f"{rng.uniform(1.0, 8.0):.1f} m/s^2"}
    return table


def _station(rng: np.random.Generator, number: int) -> dict[str, Any]:
    table: dict[str, Any] = {
        "name": f"station {number + 1}",
        "dwell": f"{rng.uniform(0.2, 1.6):.2f} s",
    }
    if number and rng.random() < 0.4:
        table["after"] = f"{rng.uniform(0.3, 1.5):.2f} m"
    if rng.random() < 0.08:
        table["positions"] = 2
    if rng.random() < 0.08:
        table["force"] = ["0 N", "0 N", f"{-rng.uniform(20.0, 150.0):.0f} N"]
    return table
