"""What must hold of the answer to every worked case, whatever it is."""

import json
import math
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from recommender.inputs.quantities import KINDS, parse
from recommender.physics.constants import STANDARD_GRAVITY
from recommender.recommend import recommend
from recommender.results.answer import OptionResult, Verdict, as_json

NEVER_MET = {"impossible"}
MONEY = re.compile(r"-?\d+\.\d\d")
CONTRACT = {
    "": {
        "schema",
        "status",
        "catalogue",
        "case",
        "assumptions",
        "recommended",
        "proof",
        "options",
        "parts",
        "cautions",
    },
    "catalogue": {"id", "digest"},
    "assumptions": {"key", "value", "why"},
    "proof": {"best_bound", "price", "optimal"},
    "options": {
        "id",
        "family",
        "carrier",
        "bend",
        "items_per_carrier",
        "verdict",
        "price",
        "currency",
        "carriers",
        "loop",
        "motion",
        "takt_s",
        "lap_s",
        "rate_per_min",
        "checks",
        "conflict",
        "relaxations",
        "dearer_by",
        "reason",
    },
    "options.loop": {"length_m", "straight_m", "sections", "stations"},
    "options.loop.stations": {"name", "at_m"},
    "options.motion": {"acceleration", "jerk", "speed", "bend_speed"},
    "options.checks": {
        "id",
        "title",
        "demand",
        "limit",
        "unit",
        "utilisation",
        "governed_by",
        "ok",
        "source",
    },
    "options.relaxations": {"key", "from", "to", "price"},
    "options.dearer_by": {"price", "because"},
    "options.dearer_by.because": {"item", "difference"},
    "parts": {
        "item",
        "id",
        "description",
        "quantity",
        "unit_price",
        "price",
        "lead_time_weeks",
        "why",
    },
}


def working(worked: Any) -> list[OptionResult]:
    works = (Verdict.RECOMMENDED, Verdict.DEARER)
    return [option for option in worked.answer.options if option.verdict in works]


def test_status(worked: Any) -> None:
    expected = "none" if worked.name in NEVER_MET else "recommended"
    assert worked.answer.status == expected
    assert (worked.answer.recommended is None) == (expected == "none")
    assert (worked.answer.choice is None) == (expected == "none")


def test_every_variant_bend_and_number_of_items_is_an_option(worked: Any) -> None:
    catalogue = worked.catalogue
    combinations = {
        (carrier.id, bend.id, items)
        for carrier in catalogue.carrier
        for bend in catalogue.bend
        for items in worked.case.rate.per_carrier
    }
    found = [
        (option.carrier, option.bend, option.items_per_carrier) for option in worked.answer.options
    ]
    assert len(found) == len(set(found))
    assert set(found) == combinations
    assert len({option.id for option in worked.answer.options}) == len(found)


def test_verdicts_agree_with_the_status(worked: Any) -> None:
    answer = worked.answer
    chosen = [o.id for o in answer.options if o.verdict is Verdict.RECOMMENDED]
    assert chosen == ([answer.recommended] if answer.status == "recommended" else [])
    if answer.status == "none":
        assert all(option.verdict is Verdict.REJECTED for option in answer.options)
        assert answer.proof is None and not answer.parts


def test_the_recommended_price_is_least_and_proven(worked: Any) -> None:
    answer = worked.answer
    if answer.choice is None:
        return
    prices = [option.price for option in working(worked)]
    assert answer.choice.price == min(prices)
    assert answer.proof.price == answer.choice.price
    assert answer.proof.best_bound <= answer.proof.price
    # Proven is that nothing is cheaper by more than half a per cent; waves have no such bound.
    near = answer.proof.best_bound >= Decimal("0.995") * answer.proof.price
    assert answer.proof.optimal is near
    assert answer.proof.optimal or worked.case.load.liquid is not None


def test_what_works_passes_every_check(worked: Any) -> None:
    for option in working(worked):
        assert option.checks
        assert [check.id for check in option.checks if not check.ok] == [], option.id


def test_what_is_rejected_fails_a_check(worked: Any) -> None:
    for option in worked.answer.options:
        if option.verdict is Verdict.REJECTED:
            assert option.price is None and option.dearer_by is None and not option.parts
            failing = {check.id for check in option.checks if not check.ok}
            assert failing or option.loop is None, option.id
            # Only a pair that is too long for its bend is refused whatever the case asks for.
            assert option.conflict or "pair.bend" in failing, option.id


def test_a_check_is_demand_over_limit(worked: Any) -> None:
    for option in worked.answer.options:
        ids = [check.id for check in option.checks]
        assert len(ids) == len(set(ids))
        for check in option.checks:
            assert check.demand >= 0.0 or check.ok
            if check.limit > 0 and math.isfinite(check.limit) and check.demand > 0:
                assert check.utilisation == pytest.approx(check.demand / check.limit)
            assert check.ok == (check.utilisation <= 1.0 + 1e-9)
            assert check.title and check.source


def test_the_rate_is_reached(worked: Any) -> None:
    asked = 1.05 * 60.0 * worked.case.rate.items
    for option in working(worked):
        assert option.rate_per_min >= asked * (1 - 1e-9)
        assert option.rate_per_min == pytest.approx(60 * option.items_per_carrier / option.takt_s)
        # Little's law: no loop passes carriers on faster than they get round.
        assert option.carriers * option.takt_s == pytest.approx(option.lap_s)
        times = option.lap_times
        assert times.unhindered_s <= option.lap_s * (1 + 1e-9)
        waits = times.batches_s + times.places_s
        assert times.unhindered_s + waits == pytest.approx(option.lap_s, rel=1e-6)


def test_carriers_are_no_fewer_than_any_motion_asks_for(worked: Any) -> None:
    """A lap takes all its dwells, and the guide's length at the carrier's rated speed."""
    case = worked.case
    for option in working(worked):
        items = option.items_per_carrier
        standing = sum(station.occupied_with(items) for station in case.station)
        takt = option.items_per_carrier / case.rate.items
        top_speed = worked.catalogue.carriers[option.carrier].top_speed
        moving = option.loop.length_m / top_speed
        assert option.carriers * takt >= standing + moving


def test_parts_add_up_to_the_price(worked: Any) -> None:
    for option in working(worked):
        lines = option.parts
        assert sum((line.price for line in lines), Decimal(0)) == option.price
        assert all(line.price == line.quantity * line.unit_price for line in lines)
        count = {line.id: line.quantity for line in lines}
        assert count[option.carrier] == option.carriers
        for id_, number in option.loop.sections.items():
            assert count[id_] == number
    if worked.answer.choice:
        assert worked.answer.parts == worked.answer.choice.parts


def test_lower_rails_run_where_the_family_needs_them(worked: Any) -> None:
    catalogue = worked.catalogue
    for option in working(worked):
        count = {line.id: line.quantity for line in option.parts if line.item == "lower rail"}
        needed = catalogue.families[option.family].lower_guide
        expected = {
            catalogue.lower_rails[id_].id: number
            for id_, number in option.loop.sections.items()
            if needed
        }
        assert count == expected


def test_what_makes_an_option_dearer_adds_up(worked: Any) -> None:
    choice = worked.answer.choice
    for option in worked.answer.options:
        if option.verdict is not Verdict.DEARER:
            assert option.dearer_by is None
            continue
        assert choice is not None
        assert option.dearer_by.price == option.price - choice.price >= 0
        differences = [entry.difference for entry in option.dearer_by.because]
        assert sum(differences, Decimal(0)) == option.dearer_by.price
        assert all(differences)
        assert differences == sorted(differences, reverse=True)


def test_ratings_of_the_catalogue_decide_whatever_else_holds(worked: Any) -> None:
    case = worked.case
    for option in worked.answer.options:
        carrier = worked.catalogue.carriers[option.carrier]
        payload = option.items_per_carrier * case.load.mass + case.tooling.mass
        weights = (
            (carrier.mass, carrier.centre_of_gravity[1]),
            (case.tooling.mass, case.tooling_reach),
            (option.items_per_carrier * case.load.mass, case.load.reach),
        )
        roll = STANDARD_GRAVITY * abs(sum(mass * reach for mass, reach in weights))
        beyond = {"rating.payload": payload > carrier.rated_payload}
        if case.loop.plane == "flat" and roll > carrier.rated_roll_moment:
            # More moments act than that of the weight, so that less of it may be too much.
            beyond["rating.roll_moment"] = True
        if any(beyond.values()):
            assert option.verdict is Verdict.REJECTED
        for check in option.checks:
            if check.id in beyond:
                assert check.ok is not beyond[check.id]


def test_motion_keeps_to_newton_and_to_every_limit(worked: Any) -> None:
    case = worked.case
    for option in working(worked):
        carrier = worked.catalogue.carriers[option.carrier]
        mass = carrier.mass + option.items_per_carrier * case.load.mass + case.tooling.mass
        motion = {
            name: parse(getattr(option.motion, name), KINDS[kind])
            for name, kind in (
                ("acceleration", "acceleration"),
                ("jerk", "jerk"),
                ("speed", "speed"),
                ("bend_speed", "speed"),
            )
        }
        # Texts are rounded to two places.
        assert mass * motion["acceleration"] <= carrier.magnets * carrier.peak_force + mass * 0.005
        assert motion["bend_speed"] <= motion["speed"] <= carrier.top_speed + 0.005
        acceleration = case.limits.acceleration or math.inf
        if case.load.held == "friction":
            safety = worked.catalogue.rules.holding_safety
            acceleration = min(acceleration, case.load.friction * STANDARD_GRAVITY / safety)
        assert motion["acceleration"] <= acceleration + 0.005
        assert motion["speed"] <= (case.limits.speed or math.inf) + 0.005


def test_the_loop_is_what_its_parts_make(worked: Any) -> None:
    case, catalogue = worked.case, worked.catalogue
    for option in working(worked):
        bend, loop = catalogue.bends[option.bend], option.loop
        pieces = {id_: n for id_, n in loop.sections.items() if id_ != bend.id}
        side = sum(n * catalogue.straights[id_].length for id_, n in pieces.items()) / 2
        assert all(n % 2 == 0 for n in pieces.values())
        assert loop.straight_m == pytest.approx(side)
        turn = math.pi * bend.radius + bend.transition
        assert loop.length_m == pytest.approx(2 * (side + turn))
        assert loop.length_m <= (case.loop.max_length or math.inf) + 1e-9


def test_stations_stand_in_their_order_on_straights(worked: Any) -> None:
    case = worked.case
    for option in working(worked):
        loop = option.loop
        half = 0.5 * loop.length_m
        at = [station.at_m for station in loop.stations]
        assert [station.name for station in loop.stations] == [s.name for s in case.station]
        carrier = worked.catalogue.carriers[option.carrier]
        for place in at:
            beyond = place % half
            assert carrier.plate_length / 2 - 1e-9 <= beyond
            assert beyond <= loop.straight_m - carrier.plate_length / 2 + 1e-9
        before = [at[-1], *at[:-1]]
        gaps = [(here - last) % loop.length_m for last, here in zip(before, at, strict=True)]
        assert sum(gaps) == pytest.approx(loop.length_m)
        for station, gap in zip(case.station, gaps, strict=True):
            assert gap >= station.after - 1e-9
            assert gap >= station.positions * carrier.plate_length


@pytest.mark.parametrize("name", ["crate", "impossible", "two-up", "upright"])
def test_the_answer_comes_out_the_same_again(name: str, worked_case: Any) -> None:
    """Decided once more on the way to another answer."""
    worked = worked_case(name)
    again = recommend(worked.case, worked.catalogue, in_brief=True)
    first = worked.answer
    assert (again.status, again.recommended, again.proof) == (
        first.status,
        first.recommended,
        first.proof,
    )
    assert again.parts == first.parts
    for option, same in zip(again.options, first.options, strict=True):
        assert (option.id, option.verdict, option.price) == (same.id, same.verdict, same.price)
        assert (option.loop, option.motion) == (same.loop, same.motion)
        assert option.checks == same.checks


def test_the_answer_is_what_was_decided(worked: Any) -> None:
    decision, choice = worked.decision, worked.answer.choice
    assert (decision.chosen is None) == (choice is None)
    if choice is not None:
        assert decision.chosen.price == choice.price
        assert Decimal(decision.price) / 100 == choice.price
        assert decision.chosen.configuration.option.id == choice.id
        assert decision.chosen.configuration.carriers == choice.carriers


def test_takt_of_the_audit_keeps_the_takt_asked_for(worked: Any) -> None:
    chosen = worked.decision.chosen
    if chosen is not None:
        # A twentieth on top of the rate is a rule of the catalogue, and no worked case has its own.
        takt = chosen.configuration.option.items / (1.05 * worked.case.rate.items)
        assert chosen.takt <= takt * (1 + 1e-9)
        assert not chosen.failures


def refuse(constant: str) -> None:
    raise AssertionError(f"{constant} is no JSON")


def read_json(worked: Any) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(as_json(worked.answer), parse_constant=refuse)
    return data


def tables(data: Any, path: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table under a path of the contract."""
    if isinstance(data, list):
        for entry in data:
            yield from tables(entry, path)
    elif isinstance(data, dict):
        yield path, data
        for key, value in data.items():
            if not (path == "" and key == "case"):
                yield from tables(value, f"{path}.{key}".lstrip("."))


def test_json_has_the_keys_of_the_contract(worked: Any) -> None:
    data = read_json(worked)
    seen = set()
    for path, table in tables(data, ""):
        if path in CONTRACT:
            assert CONTRACT[path] <= set(table), path
            seen.add(path)
    assert data["schema"] == "recommender.answer/1"
    assert next(iter(data)) == "schema"
    if worked.name not in NEVER_MET:
        assert set(CONTRACT) - {"options.relaxations"} <= seen


def test_json_money_is_decimal_text_and_numbers_are_numbers(worked: Any) -> None:
    data = read_json(worked)
    money = {"price", "unit_price", "difference", "best_bound"}
    for path, table in tables(data, ""):
        for key, value in table.items():
            if key in money and value is not None and not isinstance(value, dict):
                assert MONEY.fullmatch(value), (path, key, value)
            if key.endswith(("_m", "_s", "_per_min")) and value is not None:
                numbers = value if isinstance(value, list) else [value]
                assert all(isinstance(number, int | float) for number in numbers)


def test_json_case_has_every_default_filled_in(worked: Any) -> None:
    case = read_json(worked)["case"]
    assert case["load"]["mass"] == worked.case.load.mass
    for key in ("friction", "held", "offset"):
        assert case["load"][key] == getattr(worked.case.load, key)
    assert case["life"] == {
        "hours": worked.case.life.hours,
        "years": worked.case.life.years,
        "reliability": worked.case.life.reliability,
    }
    for station in case["station"]:
        # What is not given is worked out for each option.
        assert station["settling"] is None or station["settling"] >= 0
        assert station["tolerance"] > 0 and station["positions"] >= 1


def test_assumptions_have_a_value_and_a_reason_once_each(worked: Any) -> None:
    keys = [entry.key for entry in worked.answer.assumptions]
    assert len(keys) == len(set(keys))
    assert all(entry.value and entry.why for entry in worked.answer.assumptions)
    assert "load.mass" not in keys and "rate.items" not in keys
    given = "plane" in worked.case.loop.model_fields_set
    assert ("loop.plane" in keys) is not given


def test_cautions_stand_with_every_answer(worked: Any) -> None:
    text = " ".join(worked.answer.cautions)
    unpowered = "fall" if worked.case.loop.plane == "upright" else "coast"
    for needed in ("licensed engineer", "ISO 12100", "magnets", "switch-off", unpowered):
        assert needed in text
    assert ("kinetic energy" in text) == (worked.answer.choice is not None)


def test_reasons_are_sentences(worked: Any) -> None:
    for option in worked.answer.options:
        assert option.reason[:1] == option.reason[:1].upper()
        assert option.reason.endswith(".")
        if option.verdict is not Verdict.RECOMMENDED and option.loop is not None:
            assert re.search(r"\d", option.reason), option.reason
