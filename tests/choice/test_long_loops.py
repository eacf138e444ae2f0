"""Loops on which it hangs on the places of stations what is cheapest: proven, and not left open."""

import pytest

from recommender.choice.decision.decide import price_alone
from recommender.choice.parts.goals import GAP
from recommender.inputs.case import make_case

# Items a minute, least distance between stations and dwell: all within 14 m of guide.
ASKED = [
    ("12/min", None, "2 s"),
    ("24/min", None, "0.8 s"),
    ("12/min", "3 m", "2 s"),
    ("15/min", "2 m", "1.5 s"),
]


@pytest.mark.parametrize(("rate", "apart", "dwell"), ASKED)
def test_four_stations_on_fourteen_metres_are_proven(rate, apart, dwell, catalogue):
    stations = [{"name": name, "dwell": dwell} for name in ("load", "press", "screw", "unload")]
    if apart is not None:
        stations[1:] = [{**station, "after": apart} for station in stations[1:]]
    table = {
        "load": {"mass": "64 kg", "length": "350 mm", "width": "350 mm"},
        "rate": {"items": rate},
        "loop": {"max_length": "14 m"},
        "station": stations,
    }
    price, bound = price_alone(make_case(table, "long"), catalogue)
    assert price is not None
    assert bound >= (1.0 - GAP) * price


def test_bend_speeds_between_which_no_lap_is_quick_enough_are_refuted(catalogue):
    """Seating all boxes at once takes the quickest of each leg; only in parts they are too slow."""
    table = {
        "load": {
            "mass": "7.22 kg",
            "length": "167 mm",
            "width": "148 mm",
            "cg_height": "75 mm",
            "held": "nested",
        },
        "rate": {"items": "26.7/min", "per_carrier": [1, 2]},
        "life": {"hours": 60000.0},
        "limits": {"acceleration": "1.8 m/s^2"},
        "station": [
            {"name": "in", "dwell": "0.84 s"},
            {"name": "out", "dwell": "1.13 s", "after": "1.4 m"},
        ],
    }
    price, bound = price_alone(make_case(table, "apart"), catalogue)
    assert price is not None
    assert bound >= (1.0 - GAP) * price
