"""Enquiries and catalogues that hypothesis draws, most of which can be met.

As `tests.random_enquiries`, but drawn piece by piece, so that a failing one can be made smaller.
"""

from typing import Any

from hypothesis import strategies as st

from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue, Part

MASSES = (0.8, 1.5, 3.0, 6.0, 12.0, 20.0, 30.0)


@st.composite
def tables(draw: st.DrawFn) -> dict[str, Any]:
    """An enquiry as it would stand in a file, SI units throughout."""
    mass = draw(st.sampled_from(MASSES)) * draw(st.floats(0.8, 1.2))
    side = round(0.09 * mass ** (1.0 / 3.0), 3)
    count = draw(st.integers(2, 3))
    dwells = [draw(st.sampled_from((0.3, 0.6, 1.0, 1.5))) for _ in range(count)]
    # Light loads are asked for more often than heavy ones, none more often than it can be served.
    most = min(0.9 / (1.0 + mass / 15.0), 1.0 / (max(dwells) + 0.9))
    table: dict[str, Any] = {
        "load": {
            "mass": f"{mass!r} kg",
            "length": f"{side} m",
            "width": f"{side} m",
            "reach": f"{draw(st.sampled_from((0.0, 0.0, 0.03, 0.08)))} m",
            "cg_height": f"{0.4 * side} m",
            "held": draw(st.sampled_from(("clamped", "nested", "friction"))),
            "friction": 0.4,
        },
        "rate": {"items": f"{draw(st.floats(0.2, 0.95)) * most!r} 1/s"},
        "station": [{"name": f"s{k}", "dwell": f"{dwell} s"} for k, dwell in enumerate(dwells)],
        "life": {"hours": draw(st.sampled_from((8000.0, 20000.0)))},
    }
    if draw(st.booleans()):
        table["limits"] = {"acceleration": f"{draw(st.sampled_from((1.5, 3.0, 6.0)))} m/s^2"}
    return table


def case_of(table: dict[str, Any]) -> Case:
    return make_case(table, "drawn")


@st.composite
def few_parts(draw: st.DrawFn, catalogue: Catalogue) -> dict[str, tuple[Part, ...]]:
    """Two carriers, one of them strong, on one bend or two."""
    by_payload = sorted(catalogue.carrier, key=lambda carrier: carrier.rated_payload)
    half = len(by_payload) // 2
    carriers = draw(st.sampled_from(by_payload[:half])), draw(st.sampled_from(by_payload[half:]))
    bends = draw(st.lists(st.sampled_from(catalogue.bend), min_size=1, max_size=2, unique=True))
    return {
        "carrier": tuple(part for part in catalogue.carrier if part in carriers),
        "bend": tuple(part for part in catalogue.bend if part in bends),
    }
