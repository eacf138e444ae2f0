"""Long loops with several stations and heavy loads on coupled pairs: proven, and not left open."""

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
