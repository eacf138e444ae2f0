"""Direct handovers as plain cases: how long boxes stand, where, and what is settled how."""

import copy
from typing import Any

import pytest

from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.lines.direct import variants
from recommender.lines.reading import make_line
from tests.lines.test_reading import BOXES, PACK, UNITS


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return read_catalogue(shipped("catalog"))


def line(reserve: float = 0.0, per_carrier: Any = (1,), boxes: Any = (1,), **handover: Any):
    units = copy.deepcopy(UNITS)
    units["rate"] |= {"reserve": reserve, "per_carrier": list(per_carrier)}
    taker = copy.deepcopy(BOXES) | {"rate": {"per_carrier": list(boxes)}}
    del taker["station"][0]["dwell"]
    return make_line(
        {"line": [units, taker], "handover": [PACK | {"between": "direct"} | handover]}, "line.toml"
    )


def test_a_buffer_leaves_the_cases_as_they_are(catalogue: Catalogue) -> None:
    found = make_line({"line": [UNITS, BOXES], "handover": [PACK]}, "line.toml")
    (only,) = variants(found, catalogue)
    assert only.cases == found.cases and only.turns == ()


def test_a_box_stands_for_all_takts_but_one_and_a_dwell(catalogue: Catalogue) -> None:
    """Twelve at 120/min, 0.2 s each: 11 takts of 0.5 s and a dwell, and 0.3 s left of 6 s."""
    (only,) = variants(line(), catalogue)
    fill, unload = only.cases["boxes"].station
    assert fill.dwell == pytest.approx(11 * 0.5 + 0.2, rel=1e-12)
    assert (fill.name, fill.due, unload.due) == ("fill", None, None)
    (turns,) = only.turns
    assert turns.left == pytest.approx((0.3,))
    assert turns.rhythm == pytest.approx(6.0)
    assert only.cases["units"].station == line().cases["units"].station


def test_the_reserve_makes_the_rhythm_quicker(catalogue: Catalogue) -> None:
    """At 126/min the takt is 0.47619 s; a dwell by the slower takt would leave nothing."""
    (only,) = variants(line(reserve=0.05), catalogue)
    takt = 0.5 / 1.05
    assert only.cases["boxes"].station[0].dwell == pytest.approx(11 * takt + 0.2)
    (by_rule,) = variants(make_line(_without_reserve(), "line.toml"), catalogue)
    assert by_rule.turns[0].takt == pytest.approx(0.5 / (1 + catalogue.rules.rate_reserve))


def _without_reserve() -> dict[str, Any]:
    return {"line": [UNITS, BOXES], "handover": [PACK | {"between": "direct"}]}


def test_places_in_turn_are_stations_and_the_way_between_them_has_a_turn(
    catalogue: Catalogue,
) -> None:
    one, two = variants(line(positions=[1, 2]), catalogue)
    assert [turn.places for turn in (*one.turns, *two.turns)] == [1, 2]
    first, second, unload = two.cases["boxes"].station
    assert (first.name, second.name, unload.name) == ("fill 1", "fill 2", "unload")
    assert first.dwell == second.dwell == pytest.approx(5 * 0.5 + 0.2)
    # The next turn begins a takt after the last unit began, so 0.3 s after it is handed over.
    assert (first.due, second.due) == (pytest.approx(0.3), None)
    assert first.side == second.side == "front"
    assert two.turns[0].left == pytest.approx((3.3, 3.3))
    # The loop of the units is the same case in both.
    assert one.cases["units"] is two.cases["units"]


def test_what_a_box_stands_beyond_its_units_counts_at_the_last_place(catalogue: Catalogue) -> None:
    found = line(positions=[2])
    station = found.cases["boxes"].station[0].model_copy(update={"dwell": 0.4})
    case = found.cases["boxes"].model_copy(
        update={"station": (station, *found.cases["boxes"].station[1:])}
    )
    loops = tuple(
        loop if loop.name == "units" else type(loop)(loop.name, case, loop.supplied)
        for loop in found.loops
    )
    (only,) = variants(type(found)(**{**vars(found), "loops": loops}), catalogue)
    first, second, _ = only.cases["boxes"].station
    assert second.dwell - first.dwell == pytest.approx(0.4)
    assert only.turns[0].left == pytest.approx((3.3, 2.9))


def test_items_that_share_a_carrier_are_settled_in_both_loops(catalogue: Catalogue) -> None:
    found = variants(line(per_carrier=(1, 2, 5), boxes=(1, 2)), catalogue)
    # Five do not make up twelve, nor twenty-four.
    assert {(v.turns[0].units, v.turns[0].boxes) for v in found} == {(1, 1), (2, 1), (1, 2), (2, 2)}
    for variant in found:
        (turns,) = variant.turns
        assert variant.cases["units"].rate.per_carrier == (turns.units,)
        assert variant.cases["boxes"].rate.per_carrier == (turns.boxes,)
        assert sum(turns.shares) == 12 * turns.boxes / turns.units
        assert turns.takt == pytest.approx(0.5 * turns.units)
        assert turns.rhythm == pytest.approx(6.0 * turns.boxes)


def test_uneven_shares_stand_unevenly(catalogue: Catalogue) -> None:
    (only,) = variants(line(items=5, positions=[2]), catalogue)
    assert only.turns[0].shares == (3, 2)
    assert only.turns[0].standing == pytest.approx((1.2, 0.7))
