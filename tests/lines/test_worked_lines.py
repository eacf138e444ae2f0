"""The two worked lines: what they come to, and that their answers hold together."""

import json
from decimal import Decimal
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.files import read_toml, shipped
from recommender.lines.reading import make_line, read_line
from recommender.lines.recommend import recommend_line
from recommender.lines.result import LineAnswer, line_as_json
from recommender.lines.short import shortened_line
from recommender.physics.handover import left_over
from recommender.recommend import recommend
from recommender.schemas import line_answer_schema, line_schema
from tests.lines.conftest import CASES

NOTHING = Decimal(0)


@pytest.fixture(params=["bottles", "jars"])
def answer(request: pytest.FixtureRequest) -> LineAnswer:
    return request.getfixturevalue(request.param)


def test_a_line_is_found_and_proven(answer: LineAnswer) -> None:
    assert answer.status == "recommended"
    assert answer.proof is not None and answer.proof.optimal
    assert answer.price == answer.proof.price
    assert all(loop.chosen is not None for loop in answer.loops)
    assert all(check.ok for check in answer.conditions)
    assert all(check.ok for loop in answer.loops for check in loop.chosen.checks)


def test_the_bill_adds_up(answer: LineAnswer) -> None:
    assert sum((part.price for part in answer.parts), start=NOTHING) == answer.price
    for loop in answer.loops:
        own = [part for part in answer.parts if part.loop == loop.name]
        assert loop.chosen.price == sum((part.price for part in own), start=NOTHING)
        assert [part.id for part in loop.chosen.parts] == [part.id for part in own]
    once = [part for part in answer.parts if part.loop is None]
    assert sum(part.item == "controllers" for part in answer.parts) == 1
    assert any(part.id == "eng-order" for part in once)


def test_what_is_saved_is_itemised(answer: LineAnswer) -> None:
    savings = answer.savings
    assert savings is not None
    assert savings.separate - savings.together == savings.saved > 0
    assert sum((item.saved for item in savings.items), start=NOTHING) == savings.saved
    assert sum((order.price for order in savings.orders), start=NOTHING) == savings.separate
    by_item = {item.item: item for item in savings.items}
    # The controller is paid once, and so is the order's engineering.
    control = by_item["controllers"]
    assert control.separate == 2 * control.together
    assert by_item["engineering"].saved == Decimal("7200.00")


def test_the_floor_is_that_of_the_loops_side_by_side(answer: LineAnswer) -> None:
    floor = answer.floor
    assert floor is not None
    loops = [loop.chosen.loop for loop in answer.loops]
    across = sum(loop.floor_width_m for loop in loops)
    assert floor.width_m == pytest.approx(across + (len(loops) - 1) * floor.gap_m)
    assert floor.length_m == pytest.approx(max(loop.floor_extent_m for loop in loops))


def test_rates_follow_from_the_handover(answer: LineAnswer) -> None:
    (handover,) = answer.handovers
    assert handover.taker_per_min * handover.items == pytest.approx(handover.giver_per_min)
    taker = answer.loop(handover.taker.partition(".")[0])
    assert taker is not None and taker.supplied
    assert taker.chosen.rate_per_min >= handover.taker_per_min


def test_bottles_into_boxes_of_twelve(bottles: LineAnswer) -> None:
    """120 bottles a minute are ten boxes of 20 to 30 kg, on a light loop and on a heavy one."""
    assert [loop.rate_per_min for loop in bottles.loops] == pytest.approx([120.0, 10.0])
    light, heavy = (loop.alone.case["load"]["mass"] for loop in bottles.loops)
    assert light < 2.0 and 20.0 <= heavy <= 30.0
    assert bottles.handovers[0].places is None


def test_where_nothing_is_shared_a_loop_is_what_it_is_alone(bottles: LineAnswer) -> None:
    """The same options, carriers and loops as two answers to two cases."""
    line = read_line(CASES / "bottles.toml")
    catalogue = read_catalogue(shipped("catalog"))
    for loop in bottles.loops:
        alone = recommend(line.cases[loop.name], catalogue, in_brief=True)
        assert loop.alone.recommended == alone.recommended == loop.chosen.id
        assert loop.chosen.carriers == alone.choice.carriers
        assert loop.chosen.loop.length_m == alone.choice.loop.length_m
        assert [o.price for o in loop.alone.options] == [o.price for o in alone.options]


def test_one_place_fails_and_two_work(jars: LineAnswer) -> None:
    """Eight jars at 75.6/min with the reserve: of 6.349 s one place leaves 0.544 s.

    No carrier of 14 kg at 3 m/s² moves up by 420 mm in that; two places leave 3.718 s each.
    """
    takt = 60.0 / 75.6
    assert float(left_over(8, 8, takt, 0.25)) == pytest.approx(0.5437, abs=1e-4)
    (handover,) = jars.handovers
    assert handover.places == 2
    assert handover.rhythm_s == pytest.approx(8 * takt)
    assert handover.left_s == pytest.approx((4 * takt + takt - 0.25,) * 2)
    # What the exchange takes fits into that, and would not fit into what one place leaves.
    assert all(
        0.5437 < takes <= left
        for takes, left in zip(handover.exchange_s, handover.left_s, strict=True)
    )
    boxes = jars.loop("boxes")
    assert boxes is not None and boxes.chosen is not None and boxes.chosen.loop is not None
    first, second, unload = boxes.chosen.loop.stations
    assert (first.name, second.name, unload.name) == ("fill 1", "fill 2", "unload")
    # On one straight, with room for the carrier that waits between them.
    assert first.side == second.side
    assert second.along_m - first.along_m >= 2.0 * boxes.chosen.loop.spacing_m - 1e-6
    assert boxes.chosen.takt_s <= handover.rhythm_s * (1.0 + 1e-6)


def test_with_one_place_alone_the_answer_says_what_would_do(jars: LineAnswer) -> None:
    data = read_toml(CASES / "jars.toml")
    data["handover"][0]["positions"] = [1]
    line = make_line(data, "jars.toml")
    answer = recommend_line(line, read_catalogue(shipped("catalog")), in_brief=True)
    assert answer.status == "none" and answer.price is None and not answer.parts
    assert answer.impasse is not None and answer.impasse.loops == ("boxes",)
    found = {(entry.key, entry.start, entry.to) for entry in answer.impasse.concessions}
    assert ("handover.hand over.positions", "1", "2") in found
    assert ("handover.hand over.between", "direct", "buffer") in found


@pytest.mark.parametrize(
    ("key", "table", "said"),
    [
        ("commercial.budget", {"commercial": {"budget": "60000 EUR"}}, "more than the budget"),
        ("floor.width", {"floor": {"width": "2.2 m"}}, "side by side"),
    ],
)
def test_what_keeps_loops_that_work_from_being_a_line(
    key: str, table: dict[str, Any], said: str
) -> None:
    data = read_toml(CASES / "bottles.toml") | table
    answer = recommend_line(
        make_line(data, "bottles.toml"), read_catalogue(shipped("catalog")), in_brief=True
    )
    assert answer.status == "none"
    assert answer.impasse is not None and not answer.impasse.loops
    assert any(key in conflict for conflict in answer.impasse.conflicts)
    assert any(entry.key == key for entry in answer.impasse.concessions)
    assert said in answer.impasse.reason


class TestSchemas:
    def test_the_worked_lines_pass(self) -> None:
        schema = line_schema()
        Draft202012Validator.check_schema(schema)
        for path in sorted(CASES.glob("*.toml")):
            Draft202012Validator(schema).validate(read_toml(path))

    def test_what_no_reader_takes_does_not_pass(self) -> None:
        says = Draft202012Validator(line_schema())
        data = read_toml(CASES / "jars.toml")
        assert not says.is_valid({**data, "line": data["line"][:1]})
        assert not says.is_valid({**data, "handover": [{"from": "jars.lid"}]})
        assert not says.is_valid({key: data[key] for key in data if key != "handover"})

    def test_answers_pass_in_full_and_in_short(self, answer: LineAnswer) -> None:
        schema = line_answer_schema()
        Draft202012Validator.check_schema(schema)
        says = Draft202012Validator(schema)
        for some in (answer, shortened_line(answer)):
            data = json.loads(line_as_json(some))
            assert not [error.message for error in says.iter_errors(data)]
        assert not says.is_valid({**data, "schema": "recommender.answer/1"})
        assert not says.is_valid({**data, "more": 1})
