"""Headroom of the recommended configuration, audited on both sides, and where the choice turns."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from recommender.choice.decision.audit import Audit, audit
from recommender.choice.decision.decide import decide
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.pricing import cents
from recommender.explain.headroom import _Trial, turning_points
from recommender.explain.oracle import Oracle
from recommender.explain.requirements import Number, Situation, value_at
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.inputs.quantities import KINDS, parse
from recommender.recommend import recommend
from recommender.results.answer import Answer, HeadroomResult
from recommender.views.explanation import headroom_table
from recommender.views.numbers import what_stops


def decimal_step(shown: float, share: float) -> float:
    """The largest of 1, 2 and 5 times a power of ten within a share of a value."""
    power = 10.0 ** math.floor(math.log10(share * shown))
    return max(factor * power for factor in (1.0, 2.0, 5.0) if factor * power <= share * shown)


def numbers(worked: Any) -> dict[str, Number]:
    moves = [move for each in worked.explained.requirements for move in each.moves]
    return {move.key: move for move in moves if isinstance(move, Number)}


def read(number: Number, text: str) -> float:
    """SI value of what is written."""
    if number.kind is None:
        return float(text.split(maxsplit=1)[0])
    if text.startswith("["):
        parts = [parse(part.strip(' "'), number.kind) for part in text.strip("[]").split(",")]
        return float(sum(part**2 for part in parts) ** 0.5)
    return parse(text, number.kind)


def audited(trial: _Trial, case: Case, worked: Any) -> Audit:
    """The audit of the configuration as it may have to move then, worked out anew."""
    found = trial.audit(case)
    return audit(found.configuration, case, worked.catalogue)


def test_the_configuration_holds_to_the_edge_and_no_further(worked: Any) -> None:
    chosen = worked.decision.chosen
    if chosen is None:
        assert worked.explained.headroom == []
        return
    by_key = numbers(worked)
    told = {each.key for each in worked.explained.headroom}
    # A limit of acceleration that the enquiry leaves to the house is none of its numbers.
    assert told == {key for key in by_key if value_at(worked.case, key) is not None}
    trial = _Trial(worked.explained.scenes[chosen.configuration.option.id], chosen)
    for entry in worked.explained.headroom:
        number = by_key[entry.key]
        assert entry.start == number.write(number.start)
        tighter = -1 if number.sense > 0 else 1
        if entry.to is None:
            far = number.put(worked.case, number.start * 10.0**tighter)
            assert not audited(trial, far, worked).failures, entry.key
            continue
        value = read(number, entry.to)
        holds = audited(trial, number.put(worked.case, value), worked)
        assert not holds.failures, entry.key
        shown = abs(value) * number.per_unit
        step = decimal_step(shown, 1.01 / number.fine) / number.per_unit
        further = value + tighter * step * (1.0 if value > 0 else -1.0)
        if entry.key == "life.reliability":
            further = min(further, 99.95)  # where the tabulated ones end
        fails = trial.audit(number.put(worked.case, further))
        assert fails.failures, entry.key
        assert entry.stopped_by is not None
        assert entry.stopped_by.check in {each.check for each in fails.failures}


@pytest.fixture(scope="module")
def points(worked_case: Any) -> Any:
    worked = worked_case("crate")
    prices = {
        each.option: cents(each.audit.price) for each in worked.decision.looked if each.feasible
    }
    chosen = worked.decision.chosen.configuration.option
    some = [
        requirement
        for requirement in worked.explained.requirements
        if requirement.key in {"load.mass", "rate.items", "load.held", "loop.max_width"}
    ]
    oracle = Oracle(worked.catalogue)
    return worked, turning_points(prices, Situation(chosen, worked.case), some, oracle), chosen


def first_by_price(case: Case, catalogue: Catalogue) -> str | None:
    """The cheapest option, as the choice has it."""
    chosen = decide(case, catalogue, nearest=0).chosen
    return None if chosen is None else chosen.configuration.option.id


def test_the_recommendation_stands_to_its_turning_point(points: Any) -> None:
    worked, found, chosen = points
    by_key = numbers(worked)
    assert [point.key for point in found] == [
        "load.mass",
        "load.friction",
        "rate.items",
        "loop.max_width",
    ]
    for point in found:
        number = by_key[point.key]
        value = read(number, point.to)
        assert first_by_price(number.put(worked.case, value), worked.catalogue) == chosen.id
        tighter = -1.0 if number.sense > 0 else 1.0
        step = decimal_step(abs(value) * number.per_unit, 0.0101) / number.per_unit
        turned = number.put(worked.case, value + tighter * step)
        assert first_by_price(turned, worked.catalogue) == point.option, point.key
        assert point.option != chosen.id


def test_turning_points_lie_beyond_the_headroom(points: Any) -> None:
    worked, found, _ = points
    by_key = numbers(worked)
    held = {entry.key: entry.to for entry in worked.explained.headroom}
    for point in found:
        number = by_key[point.key]
        tighter = -1.0 if number.sense > 0 else 1.0
        assert tighter * (read(number, point.to) - read(number, held[point.key])) >= -1e-9


def test_a_dearer_situation_is_told_by_its_price(points: Any) -> None:
    worked, found, chosen = points
    mass = next(point for point in found if point.key == "load.mass")
    assert mass.option is not None
    oracle = Oracle(worked.catalogue)
    number = numbers(worked)["load.mass"]
    heavier = number.put(worked.case, 1.02 * read(number, mass.to))
    winner = next(each.option for each in worked.decision.looked if each.option.id == mass.option)
    assert oracle.price(Situation(chosen, heavier)) is None
    assert oracle.price(Situation(winner, heavier)) is not None


CLAMPED: dict[str, Any] = {
    "load": {"mass": "12 kg", "reach": "100 mm", "held": "clamped"},
    "rate": {"items": "20/min"},
    "station": [{"name": "load", "dwell": "1.5 s"}, {"name": "unload", "dwell": "1.5 s"}],
}


@pytest.fixture(scope="module", params=[None, "9 m/s^2"], ids=["the house's", "stated"])
def clamped(request: pytest.FixtureRequest) -> tuple[str | None, Answer]:
    """A load that a clamp holds, with a limit of acceleration of its own or none."""
    limits = {} if request.param is None else {"limits": {"acceleration": request.param}}
    case = make_case({**CLAMPED, **limits}, "a test")
    return request.param, recommend(case, read_catalogue(shipped("catalog")))


def test_a_rule_of_the_house_is_no_number_of_the_enquiry(
    clamped: tuple[str | None, Answer],
) -> None:
    stated, answer = clamped
    assert answer.choice is not None
    told = {entry.key: entry.start for entry in answer.choice.headroom}
    assert told.get("limits.acceleration") == stated
    assert "load.mass" in told and "rate.items" in told
    rules = {line.key for line in answer.assumptions if line.group == "house"}
    assert ("rules.load_acceleration" in rules) == (stated is None)


def test_what_has_no_room_is_said_to_have_none() -> None:
    at_its_limit = HeadroomResult("load.mass", "12 kg", "12 kg", "reach", "Reach", factor=1.0)
    with_room = HeadroomResult("rate.items", "20/min", "21/min", "lap", "Lap", factor=1.05)
    boundless = HeadroomResult("life.hours", "20000", None, None, None)
    assert [at_its_limit.no_room, with_room.no_room, boundless.no_room] == [True, False, False]
    table = headroom_table((at_its_limit, with_room, boundless))
    assert [str(cell) for cell in table.columns[2].cells] == ["no more", "21/min", "10 times"]


LIGHT = {"mass": "11 kg", "reach": "70 mm", "held": "nested"}
NAMES = ("fill", "close", "empty")


@pytest.fixture(scope="module")
def nested() -> tuple[Case, Answer]:
    stations = [{"name": name, "dwell": "1.1 s"} for name in NAMES]
    case = Case.model_validate({"load": LIGHT, "rate": {"items": "16/min"}, "station": stations})
    return case, recommend(case, read_catalogue(shipped("catalog")))


def test_what_no_motion_cures_is_what_stops_it(nested: tuple[Case, Answer]) -> None:
    """A load above the rated payload also makes the lap too slow, which a harder motion would cure.

    The demonstration catalogue rates the carrier for 13 kg, at whatever speed.
    """
    _, answer = nested
    assert answer.choice is not None
    carrier = answer.choice.id.split("_")[0]
    carriers = read_catalogue(shipped("catalog")).carrier
    (rated,) = (each.rated_payload for each in carriers if each.id == carrier)
    assert rated == 13.0
    (mass,) = (entry for entry in answer.choice.headroom if entry.key == "load.mass")
    assert (mass.to, mass.check, mass.harder) == ("13 kg", "rating.payload", None)


def test_what_stops_a_harder_motion_is_told_too(nested: tuple[Case, Answer]) -> None:
    """Motions drawn at random beyond the edge: none holds, and those in time all tip the load."""
    case, answer = nested
    catalogue = read_catalogue(shipped("catalog"))
    assert answer.choice is not None
    (rate,) = (entry for entry in answer.choice.headroom if entry.key == "rate.items")
    assert (rate.check, rate.harder) == ("fleet.lap", "Load tipping over its edge or its nest")
    assert what_stops(rate.stopped_by, rate.harder) == (
        "lap against the time that the fleet has or, run harder, load tipping over its edge or its"
        " nest"
    )
    assert rate.to is not None
    asked = parse(rate.to, KINDS["rate"])
    case = case.model_copy(update={"rate": case.rate.model_copy(update={"items": 1.01 * asked})})
    built = decide(nested[0], catalogue, nearest=0).chosen
    assert built is not None
    rng, kept_up = np.random.default_rng(3), 0
    motion = built.configuration.motion
    for _ in range(300):
        acceleration, bend_speed, speed = np.exp(rng.uniform(0.0, 1.5, 3)) * (
            motion.acceleration,
            motion.bend_speed,
            motion.speed,
        )
        harder = Motion(acceleration, 20.0 * acceleration, max(speed, bend_speed), bend_speed)
        found = audit(replace(built.configuration, motion=harder), case, catalogue).failures
        assert found
        checks = {each.check for each in found}
        if not checks & {"fleet.lap", "fleet.takt"}:
            kept_up += 1
            assert "load.tip" in checks
    assert kept_up > 10
