"""A line of loops is read whole, and every fault is said once, with its remedy."""

import copy
from pathlib import Path
from typing import Any

import pytest

from recommender.inputs.case import make_case, read_case
from recommender.inputs.errors import InputError
from recommender.inputs.files import shipped
from recommender.lines.model import Line
from recommender.lines.reading import make_line, read_line

UNITS = {
    "name": "units",
    "load": {"mass": "1 kg"},
    "rate": {"items": "120/min"},
    "station": [{"name": "close", "dwell": "0.1 s"}, {"name": "pack", "dwell": "0.2 s"}],
}
BOXES = {
    "name": "boxes",
    "load": {"mass": "24 kg"},
    "station": [{"name": "fill", "dwell": "1 s"}, {"name": "unload", "dwell": "1.5 s"}],
}
PACK = {"from": "units.pack", "to": "boxes.fill", "items": 12, "between": "buffer"}


def data(**changes: Any) -> dict[str, Any]:
    return copy.deepcopy({"line": [UNITS, BOXES], "handover": [PACK], **changes})


def changed(loop: int = 0, **keys: Any) -> dict[str, Any]:
    """The usual line with some keys of one of its loops, or without those that are None."""
    found = data()
    found["line"][loop] |= keys
    found["line"][loop] = {k: v for k, v in found["line"][loop].items() if v is not None}
    return found


def handed(**keys: Any) -> dict[str, Any]:
    found = data()
    found["handover"][0] |= keys
    return found


def made(found: dict[str, Any]) -> Line:
    return make_line(found, "line.toml")


def refusal(found: dict[str, Any]) -> str:
    with pytest.raises(InputError) as refused:
        made(found)
    return str(refused.value)


@pytest.mark.parametrize(
    "path", sorted(shipped("cases").glob("lines/*.toml")), ids=lambda p: p.stem
)
def test_the_worked_lines_are_sound(path: Path) -> None:
    line = read_line(path)
    assert len(line.loops) == 2 and line.handovers
    assert path.read_text(encoding="utf-8").startswith("# Invented scenario")


def test_a_loop_is_the_case_that_it_would_be_alone() -> None:
    line = made(
        data(
            title="Bottles",
            life={"hours": 9000.0},
            limits={"acceleration": "5 m/s^2", "speed": "2 m/s"},
            commercial={"budget": "90000 EUR", "latest_delivery": "12 weeks"},
            line=[UNITS, BOXES | {"limits": {"acceleration": "3 m/s^2"}}],
        )
    )
    tables = {key: value for key, value in BOXES.items() if key != "name"}
    alone = make_case(
        {
            **tables,
            "title": "Bottles: boxes",
            "rate": {"items": "10/min"},
            "life": {"hours": 9000.0},
            "limits": {"acceleration": "3 m/s^2", "speed": "2 m/s"},
            "commercial": {"latest_delivery": "12 weeks"},
        },
        "alone",
    )
    assert line.cases["boxes"].model_copy(update={"rate": alone.rate}) == alone
    assert line.cases["boxes"].rate.items == pytest.approx(alone.rate.items, rel=1e-15)
    # The budget holds for the whole, and for no loop by itself.
    assert line.commercial.budget == "90000 EUR"
    assert [loop.supplied for loop in line.loops] == [False, True]


def test_two_loops_join_into_one() -> None:
    more = copy.deepcopy(UNITS) | {"name": "more", "rate": {"items": "60/min"}}
    pack = {**PACK, "from": "more.pack"}
    line = made(data(line=[UNITS, more, BOXES], handover=[PACK, pack]))
    assert 60 * line.cases["boxes"].rate.items == pytest.approx(15.0)
    assert [handover.name for handover in line.handovers] == ["units.pack", "more.pack"]


def test_one_loop_supplies_two() -> None:
    other = copy.deepcopy(BOXES) | {"name": "trays"}
    handovers = [
        PACK | {"share": 0.75},
        {**PACK, "to": "trays.fill", "items": 6, "share": 0.25},
    ]
    line = made(data(line=[UNITS, BOXES, other], handover=handovers))
    assert 60 * line.cases["boxes"].rate.items == pytest.approx(7.5)
    assert 60 * line.cases["trays"].rate.items == pytest.approx(5.0)
    assert [h.name for h in line.handovers] == ["units.pack.boxes", "units.pack.trays"]


def test_rates_follow_along_a_chain_in_any_order() -> None:
    pallets = copy.deepcopy(BOXES) | {"name": "pallets"}
    stack = {"from": "boxes.unload", "to": "pallets.fill", "items": 20, "between": "buffer"}
    line = made(data(line=[pallets, BOXES, UNITS], handover=[stack, PACK]))
    assert 60 * line.cases["pallets"].rate.items == pytest.approx(0.5)


def test_the_reserve_of_one_is_that_of_all() -> None:
    line = made(changed(1, rate={"reserve": 0.1}))
    assert [loop.case.rate.reserve for loop in line.loops] == [0.1, 0.1]
    assert made(data()).reserve is None


def test_what_follows_may_be_said_where_it_agrees() -> None:
    assert made(changed(1, rate={"items": "10/min"})).cases["boxes"].rate.items > 0.0


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (
            changed(1, rate={"items": "9/min"}),
            "line.toml: line[2].rate.items contradicts what its handovers bring, 10/min (read:"
            " 9/min); leave it out, it follows",
        ),
        (
            changed(0, rate=None),
            "line.toml: line[1].rate.items is missing: no handover supplies units, so its rate must"
            ' be said; write one such as "120/min"',
        ),
        (
            data(handover=[PACK, {**PACK, "from": "boxes.unload", "to": "units.close"}]),
            "line.toml: handover leads in a circle: units from boxes from units; a line has a"
            " beginning, a loop that no other supplies",
        ),
        (
            handed(**{"from": "unit.pack"}),
            'line.toml: handover[1].from names no loop of this line (read: "unit.pack"); the'
            " nearest known key is units",
        ),
        (
            handed(to="boxes.full"),
            'line.toml: handover[1].to names no station of the loop boxes (read: "boxes.full"); the'
            " nearest known key is fill",
        ),
        (
            handed(to="fill"),
            "line.toml: handover[1].to must be a loop and a station with a point between them, such"
            ' as "units.close" (read: "fill")',
        ),
        (
            handed(to="units.close"),
            "line.toml: handover[1].to is on the loop that gives (read: \"units.close\"); a"
            " handover leads from one loop to another",
        ),
        (
            changed(1, name="units"),
            'line.toml: line[2].name is that of line[1] as well (read: "units"); give each loop its'
            " own name",
        ),
        (
            data(handover=[PACK, PACK]),
            "line.toml: handover[2] leads from units.pack to boxes.fill like one before it; write"
            " each handover once",
        ),
        (
            changed(1, rate={"reserve": 0.1}) | {"line": [
                UNITS | {"rate": {"items": "120/min", "reserve": 0.0}},
                BOXES | {"rate": {"reserve": 0.1}},
            ]},
            "line.toml: line[2].rate.reserve differs from that of line[1] (read: 0.1 and 0); one"
            " rhythm ties all loops, so write one reserve",
        ),
        (
            data(handover=[PACK | {"share": 0.7}, {**PACK, "to": "boxes.unload", "share": 0.7}]),
            "line.toml: handover[2].share brings what units gives away to 1.4 of its items (read:"
            " 0.7); the shares of one loop are 1 together at most",
        ),
        (
            data(handover=[PACK, {**PACK, "to": "boxes.unload"}]),
            "line.toml: handover[1].share is missing: the loop units supplies 2 others; write the"
            " share of its items that goes this way, such as share = 0.5",
        ),
        (
            data(handover=[PACK | {"share": 0.5}, {**PACK, "to": "boxes.unload", "share": 0.25}]),
            "line.toml: handover brings 5/min to boxes.fill and 2.5/min to boxes.unload; every"
            " carrier comes to both stations, so make the items or rates agree",
        ),
        (
            data(load={"mass": "1 kg"}),
            "line.toml: load stands above the loops, each of which has its own; write it below a"
            " [[line]] as [line.load]",
        ),
        (
            changed(0, commercial={"budget": "1 EUR"}),
            "line.toml: line[1].commercial is not known here: budget and delivery hold for the"
            " whole line; write [commercial] above the first [[line]]",
        ),
        (
            changed(0, name="a.b"),
            "line.toml: line[1].name is not the name of a loop; write letters, digits, spaces, -"
            ' and _, such as "units", and none of commercial, floor, handover, line, spares (read:'
            ' "a.b")',
        ),
        (
            handed(items="12"),
            'line.toml: handover[1].items must be a whole number (read: "12")',
        ),
        (
            handed(between="belt"),
            "line.toml: handover[1].between must be 'buffer' or 'direct' (read: \"belt\")",
        ),
        (
            handed(positions=[1, 2]),
            'line.toml: handover[1] has positions although it leads through a buffer; they are for'
            ' between = "direct", where boxes stand while their units arrive',
        ),
        (
            data(line=[UNITS]),
            "line.toml: line must have 2 or more entries",
        ),
        (
            changed(0, load={"mas": "1 kg"}),
            "line.toml: line[1].load.mass is missing",
        ),
        (
            {key: value for key, value in data().items() if key != "handover"},
            "line.toml: handover is missing",
        ),
        (
            changed(1, station=[*BOXES["station"], BOXES["station"][0]]),
            "line.toml: line[2]: station[3].name is 'fill' like that of station[1]; give each"
            " station its own name",
        ),
    ],
)  # fmt: skip
def test_a_fault_is_said_with_file_key_and_remedy(found: dict[str, Any], said: str) -> None:
    assert refusal(found).startswith(said)


class TestDirect:
    def direct(self, **keys: Any) -> dict[str, Any]:
        return handed(between="direct", **keys)

    def test_needs_no_dwell_where_boxes_stand_for_their_units(self) -> None:
        found = self.direct()
        del found["line"][1]["station"][0]["dwell"]
        assert made(found).cases["boxes"].station[0].dwell == 0.0

    @pytest.mark.parametrize("given", [2, [2, 1, 2]])
    def test_places_are_one_or_a_list(self, given: Any) -> None:
        (handover,) = made(self.direct(positions=given)).handovers
        assert handover.positions == ((2,) if given == 2 else (1, 2))

    def test_several_streams_have_no_rhythm(self) -> None:
        more = copy.deepcopy(UNITS) | {"name": "more"}
        found = self.direct() | {"line": copy.deepcopy([UNITS, more, BOXES])}
        found["handover"].append({**PACK, "from": "more.pack"})
        assert "there is no steady rhythm; let it lead through a buffer" in refusal(found)

    def test_dwells_that_vary_have_no_rhythm(self) -> None:
        found = self.direct()
        found["line"][0]["station"][1]["dwell_variation"] = 0.2
        assert (
            'handover[1].between is "direct", but units.pack has a dwell_variation (read: 0.2)'
            in refusal(found)
        )

    def test_units_that_come_in_batches_have_no_rhythm(self) -> None:
        found = self.direct()
        found["line"][0]["station"][1]["positions"] = 2
        assert "takes 2 carriers at once" in refusal(found)

    def test_units_come_on_whole_carriers(self) -> None:
        found = self.direct(items=7)
        found["line"][0]["rate"]["per_carrier"] = [2]
        assert (
            "handover[1].items cannot be brought by whole carriers (read: 7, with 2 items on a"
            " carrier of units)" in refusal(found)
        )

    def test_too_much_left_open_is_refused(self) -> None:
        found = self.direct(positions=[1, 2, 3])
        for loop in found["line"]:
            loop["rate"] = {**loop.get("rate", {}), "per_carrier": [1, 2, 3, 4, 6]}
        assert (
            "line.toml: handover leaves 75 ways open to share carriers and places (positions times"
            " rate.per_carrier of the loops that it ties); give fewer, 48 at most" in refusal(found)
        )

    def test_a_place_needs_a_name_of_its_own(self) -> None:
        found = self.direct(positions=[1, 2])
        found["line"][1]["station"][1]["name"] = "fill 2"
        assert "makes a place called fill 2, as a station of boxes is called" in refusal(found)


def test_where_one_loop_is_wanted_a_line_is_refused_with_a_sentence() -> None:
    with pytest.raises(InputError, match=r"holds a line of loops \(\[\[line\]\]\), and here one"):
        read_case(shipped("cases") / "lines" / "bottles.toml")
