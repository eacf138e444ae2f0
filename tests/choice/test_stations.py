"""What stations and fixtures ask for: their length, their work for each item, their run."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.decision.beforehand import cannot_work
from recommender.choice.decision.decide import decide
from recommender.choice.parts.goals import GAP
from recommender.choice.parts.options import list_options
from recommender.explain.table import list_requirements
from recommender.inputs.case import Case, assumptions, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.recommend import recommend
from recommender.results.answer import Answer, OptionResult
from recommender.views.plan import loop_drawing

Altered = Callable[..., Catalogue]


def case_of(*stations: dict[str, Any], **tables: dict[str, Any]) -> Case:
    load = {"mass": "1 kg", "length": "100 mm", "width": "100 mm", "held": "clamped"}
    data = {
        "load": {**load, **tables.pop("load", {})},
        "rate": {"items": "10/min", **tables.pop("rate", {})},
        "station": [{"dwell": "1 s", **station} for station in stations],
        **tables,
    }
    return make_case(data, "test")


def abouts(case: Case, catalogue: Catalogue) -> list[OptionContext]:
    return [OptionContext(option, case, catalogue) for option in list_options(case, catalogue)]


@pytest.fixture(scope="module")
def one(catalogue: Catalogue, altered: Altered) -> Catalogue:
    """The catalogue with one carrier and one bend, so that answers come at once."""
    carrier = next(part for part in catalogue.carrier if part.id == "std-116")
    bend = next(part for part in catalogue.bend if part.id == "arc-280")
    return altered(catalogue, carrier=(carrier,), bend=(bend,))


def chosen(case: Case, catalogue: Catalogue) -> tuple[Answer, OptionResult]:
    answer = recommend(case, catalogue, in_brief=True)
    assert answer.choice is not None, [option.reason for option in answer.options]
    assert all(check.ok for check in answer.choice.checks)
    return answer, answer.choice


class TestReserve:
    def test_is_a_rule_of_the_house_unless_the_enquiry_says(self, catalogue: Catalogue) -> None:
        free, given = case_of({"name": "a"}), case_of({"name": "a"}, rate={"reserve": 0.2})
        assert catalogue.rules.rate_reserve == 0.05
        # Ten a minute are one in 6 s; with a fifth more, one in 5 s.
        assert abouts(free, catalogue)[0].takt == pytest.approx(6.0 / 1.05)
        assert abouts(given, catalogue)[0].takt == pytest.approx(5.0)

    def test_is_kept_by_the_loop_and_said(self, one: Catalogue) -> None:
        case = case_of({"name": "a"}, {"name": "b"}, rate={"items": "30/min"})
        answer, choice = chosen(case, one)
        assert answer.rate is not None and choice.rate_per_min is not None
        assert answer.rate.items_per_min == pytest.approx(30.0)
        assert answer.rate.reserve == 0.05
        assert choice.rate_per_min >= answer.rate.with_reserve_per_min * (1 - 1e-9)
        assert answer.rate.with_reserve_per_min == pytest.approx(31.5)
        lines = {line.key: line.value for line in answer.assumptions}
        assert lines["rate.reserve"] == "0.05"

    def test_of_nothing_is_the_rate_with_a_reserve_asked_outright(self, one: Catalogue) -> None:
        """30 a minute with 5 % are 31.5 a minute with none: the same loop at the same price."""
        stations = {"name": "a"}, {"name": "b"}
        with_reserve = chosen(case_of(*stations, rate={"items": "30/min", "reserve": 0.05}), one)
        outright = chosen(case_of(*stations, rate={"items": "31.5/min", "reserve": 0.0}), one)
        assert with_reserve[1].price == outright[1].price
        assert with_reserve[1].takt_s == pytest.approx(outright[1].takt_s)
        assert "rate.reserve" not in {line.key for line in outright[0].assumptions}


class TestLap:
    @pytest.mark.parametrize("positions", [1, 2, 3])
    def test_is_carriers_times_takt(self, one: Catalogue, positions: int) -> None:
        case = case_of(
            {"name": "place"},
            {"name": "fill", "dwell": "2.4 s", "positions": positions},
            {"name": "pick"},
            rate={"items": f"{14 * positions}/min"},
        )
        _, choice = chosen(case, one)
        assert choice.lap_s is not None and choice.takt_s and choice.carriers
        assert choice.lap_s / choice.takt_s == pytest.approx(choice.carriers)
        times = choice.lap_times
        assert times is not None
        assert times.unhindered_s + times.batches_s + times.places_s == pytest.approx(choice.lap_s)
        assert (times.batches_s > 0.0) == (positions > 1)
        assert times.batches_s <= (positions - 1) * choice.takt_s * (1 + 1e-9)


class TestLength:
    def test_keeps_neighbours_and_bends_clear(self, one: Catalogue) -> None:
        case = case_of(
            {"name": "press", "length": "900 mm", "side": "front"},
            {"name": "look", "length": "500 mm", "side": "front"},
            {"name": "out", "side": "back"},
        )
        _, choice = chosen(case, one)
        assert choice.loop is not None
        at = {place.name: place.at_m for place in choice.loop.stations}
        # Half of 900 mm and half of 500 mm.
        assert at["look"] - at["press"] >= 0.7 - 1e-6
        assert at["press"] >= 0.45 - 1e-6
        assert at["look"] <= choice.loop.straight_m - 0.25 + 1e-6
        assert choice.loop.straight_m >= 1.4 - 1e-6

    def test_that_is_longer_than_any_straight_is_said(self, one: Catalogue) -> None:
        case = case_of(
            {"name": "oven", "length": "3 m"}, {"name": "out"}, loop={"max_length": "5 m"}
        )
        answer = recommend(case, one, in_brief=True)
        assert answer.status == "none"
        assert "oven with its length needs 3 m of straight" in answer.options[0].reason

    def test_of_a_batch_stands_round_its_carriers(self, catalogue: Catalogue) -> None:
        case = case_of(
            {"name": "a", "length": "400 mm"},
            {"name": "b", "length": "2 m", "positions": 3},
        )
        about = abouts(case, catalogue)[0]
        row = 2.0 * about.spacing
        # Middle to middle 1.2 m, and the first carrier stands half a row ahead of b's middle.
        assert about.distances_asked[1] == pytest.approx(max(1.2 + 0.5 * row, 3 * about.spacing))
        assert about.distances_asked[0] == pytest.approx(max(1.2 - 0.5 * row, about.spacing))


class TestWorkForEachItem:
    def test_dwell(self, catalogue: Catalogue) -> None:
        case = case_of(
            {"name": "fill", "dwell": "0.8 s", "dwell_for": "item", "settling": "0.1 s"},
            {"name": "out", "dwell": "0.5 s", "settling": "0.1 s"},
            rate={"per_carrier": [1, 3]},
        )
        taken = {about.option.items: about.occupied.tolist() for about in abouts(case, catalogue)}
        assert taken[1] == pytest.approx([0.9, 0.6])
        assert taken[3] == pytest.approx([3 * 0.8 + 0.1, 0.6])

    def test_more_items_do_not_help_a_station_that_takes_them_one_by_one(
        self, one: Catalogue
    ) -> None:
        stations = {"name": "fill", "dwell": "2 s", "dwell_for": "item"}, {"name": "out"}
        counts = {"items": "40/min", "per_carrier": [1, 2, 4]}
        answer = recommend(case_of(*stations, rate=counts), one, in_brief=True)
        assert answer.status == "none"
        together = ({**stations[0], "dwell_for": "carrier"}, stations[1])
        assert recommend(case_of(*together, rate=counts), one, in_brief=True).status != "none"

    def test_fixtures(self, catalogue: Catalogue) -> None:
        for per, masses in (("carrier", {1: 1.4, 3: 3.4}), ("item", {1: 1.4, 3: 4.2})):
            case = case_of(
                {"name": "a"}, rate={"per_carrier": [1, 3]}, tooling={"mass": "400 g", "per": per}
            )
            for about in abouts(case, catalogue):
                found = float(about.alone.payload[0, 0])
                assert found == pytest.approx(masses[about.option.items])
                assert about.mass == pytest.approx(found + about.option.carrier.mass)
                parts = about.alone.part_mass[0, 0, 0]
                assert float(np.sum(parts)) == pytest.approx(about.mass)


class TestUpright:
    def upright(self, *stations: dict[str, Any], **loop: Any) -> Case:
        return case_of(*stations, loop={"plane": "upright", **loop})

    def test_stations_stand_on_the_upper_run(self, one: Catalogue) -> None:
        answer, choice = chosen(self.upright({"name": "a"}, {"name": "b"}), one)
        assert choice.loop is not None and choice.loop.plane == "upright"
        half = 0.5 * choice.loop.length_m
        assert all(place.at_m < half for place in choice.loop.stations)
        assert any("upside down" in line and "lower run" in line for line in answer.cautions)
        assert {line.key: line.value for line in answer.assumptions}["station.side"] == "upper"

    def test_unless_the_lower_one_is_asked_for(self, one: Catalogue) -> None:
        case = self.upright({"name": "a"}, {"name": "b", "side": "lower"})
        answer, choice = chosen(case, one)
        assert choice.loop is not None
        half = 0.5 * choice.loop.length_m
        assert [place.at_m >= half for place in choice.loop.stations] == [False, True]
        assert any("is served at b" in line for line in answer.cautions)

    def test_the_lower_run_is_offered_where_the_upper_is_too_short(self, one: Catalogue) -> None:
        long = [{"name": name, "length": "700 mm"} for name in "abc"]
        answer = recommend(self.upright(*long, max_length="5 m"), one)
        (option,) = answer.options
        assert answer.status == "none"
        lower = [each for each in option.relaxations if each.key.endswith(".side")]
        assert {each.to for each in lower} == {"lower"}
        asked = list_requirements(self.upright(*long, max_length="5 m"), one)
        (move,) = next(each for each in asked if each.key == "station.c.side").moves
        assert move.concession(0).words == "station c on the lower run"
        case = self.upright(*long[:2], {**long[2], "side": "lower"}, max_length="5 m")
        known = {each.key: each.price for each in lower}
        assert chosen(case, one)[1].price == known["station.c.side"]

    def test_the_upper_run_is_drawn_above(self, one: Catalogue) -> None:
        loop = chosen(self.upright({"name": "high"}, {"name": "low", "side": "lower"}), one)[1].loop
        assert loop is not None
        lines = loop_drawing(loop, 3).splitlines()
        rows = {
            sign: next(k for k, line in enumerate(lines) if sign in line)
            for sign in ("1", "▽", "→", "←", "△", "2")
        }
        assert sorted(rows, key=rows.__getitem__) == ["1", "▽", "→", "←", "△", "2"]
        assert "1 high   2 low" in lines[-1]
        flat = loop_drawing(replace(loop, plane="flat"), 3).splitlines()
        assert next(k for k, line in enumerate(flat) if "2" in line) < 3

    def test_the_sides_of_a_flat_loop_are_read_with_a_note(self) -> None:
        case = self.upright({"name": "a", "side": "front"}, {"name": "b", "side": "back"})
        assert [station.side for station in case.sided] == ["front", "back"]
        notes = {line.key: line.value for line in assumptions(case)}
        assert (notes["station.a.side"], notes["station.b.side"]) == ("upper", "lower")

    def test_a_flat_loop_makes_nothing_of_height_and_runs_and_says_so(self) -> None:
        case = case_of({"name": "a", "side": "upper"}, loop={"max_height": "2 m"})
        assert [station.side for station in case.sided] == ["any"]
        notes = {line.key: line for line in assumptions(case)}
        assert notes["loop.max_height"].value == "not looked at"
        assert "this one lies flat" in notes["loop.max_height"].why
        assert notes["station.a.side"].value == "any"
        assert '"upper" is for an upright loop' in notes["station.a.side"].why

    def test_height_and_floor_are_looked_at(self, catalogue: Catalogue) -> None:
        case = self.upright({"name": "a"}, max_height="5 m", max_width="1 m")
        about = abouts(case, catalogue)[0]
        carrier, rules = about.option.carrier, catalogue.rules
        behind = max(rules.guide_behind, carrier.guide_depth or 0.0)
        # A load whose centre of gravity is 150 mm up is taken to be 300 mm high.
        assert about.floor_depth == pytest.approx(behind + carrier.mounting_height + 0.3)
        low = self.upright({"name": "a"}, max_height=f"{about.floor_width - 0.001:.4f} m")
        slim = self.upright({"name": "a"}, max_width=f"{about.floor_depth - 0.001:.4f} m")
        for tight, failing in ((low, "loop.height"), (slim, "loop.width")):
            decision = decide(tight, catalogue)
            looked = next(each for each in decision.looked if each.option == about.option)
            assert looked.audit is not None
            assert failing in {finding.check for finding in looked.audit.failures}


class TestBottleneck:
    def test_more_carriers_at_once_are_tried_and_priced(self, one: Catalogue) -> None:
        case = case_of(
            {"name": "load", "dwell": "0.6 s"},
            {"name": "fill", "dwell": "3 s"},
            {"name": "unload", "dwell": "0.6 s"},
            rate={"items": "32/min"},
        )
        keys = {requirement.key for requirement in list_requirements(case, one)}
        assert {key for key in keys if key.endswith(".positions")} == {"station.fill.positions"}
        answer = recommend(case, one)
        (option,) = answer.options
        assert answer.status == "none"
        two = next(each for each in option.relaxations if each.key == "station.fill.positions")
        assert (two.start, two.to) == ("1", "2")
        eased = case_of(
            {"name": "load", "dwell": "0.6 s"},
            {"name": "fill", "dwell": "3 s", "positions": 2},
            {"name": "unload", "dwell": "0.6 s"},
            rate={"items": "32/min"},
        )
        price = chosen(eased, one)[1].price
        # What would have to give is looked for on a grid of settings, which may miss the cheapest.
        assert price is not None and two.price is not None
        assert price <= two.price <= price * Decimal(1 + GAP)
        assert "two carriers at a time at fill" in option.reason

    def test_stations_that_are_alike_hold_up_nothing_alone(self, catalogue: Catalogue) -> None:
        case = case_of({"name": "a", "dwell": "3 s"}, {"name": "b", "dwell": "3 s"})
        keys = {requirement.key for requirement in list_requirements(case, catalogue)}
        assert not any(key.endswith(".positions") for key in keys)


class TestBeforehand:
    @pytest.mark.parametrize(
        ("stations", "tables", "said"),
        [
            (
                {"dwell": "9 s", "settling": "0.1 s"},
                {},
                "station.a.dwell: each carrier is there for 9.1 s",
            ),
            (
                {"dwell": "3 s", "dwell_for": "item", "settling": "0.1 s"},
                {"rate": {"items": "25/min", "per_carrier": [1, 2]}},
                "station.a.dwell: each carrier with 2 items is there for 6.1 s",
            ),
            ({}, {"tooling": {"mass": "500 kg"}}, "tooling.mass: the fixture alone weighs 500 kg"),
            ({}, {"load": {"mass": "500 kg"}}, "load.mass: load and fixture weigh 500 kg"),
            ({}, {"loop": {"max_length": "1 m"}}, "loop.max_length: the bends alone take"),
            ({}, {"loop": {"max_width": "0.2 m"}}, "loop.max_width: the bends alone take"),
            ({"at": "20 m"}, {}, "station.a.at: 20 m from the start of its straight"),
            (
                {},
                {"loop": {"plane": "upright"}, "load": {"held": "nested"}},
                'load.held: "nested" holds no load that hangs upside down',
            ),
        ],
    )
    def test_what_no_option_can_meet_is_said(
        self, catalogue: Catalogue, stations: Any, tables: Any, said: str
    ) -> None:
        case = case_of({"name": "a", **stations}, {"name": "b"}, **tables)
        faults = cannot_work(case, catalogue)
        assert any(fault.startswith(said) for fault in faults), faults
        # Nothing is refused that an answer could be found for.
        assert recommend(case, catalogue, in_brief=True).status == "none"

    def test_a_dwell_that_just_does_is_no_fault(self, catalogue: Catalogue) -> None:
        """5 s at 10/min with a fifth of reserve: one every 5 s, of which 0.1 s is settling."""
        just, over = (
            case_of({"name": "a", "dwell": dwell, "settling": "0.1 s"}, rate={"reserve": 0.2})
            for dwell in ("4.9 s", "4.91 s")
        )
        assert cannot_work(just, catalogue) == ()
        assert len(cannot_work(over, catalogue)) == 1
