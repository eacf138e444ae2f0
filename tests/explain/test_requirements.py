"""Named requirements: each can be given up and relaxed, and what is written can be pasted back."""

import tomllib
from typing import Any

import pytest

from recommender.choice.parts.options import list_options
from recommender.explain.requirements import (
    Choice,
    Number,
    Requirement,
    Situation,
    situations,
    value_at,
)
from recommender.explain.table import list_requirements
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue

EVERYTHING: dict[str, Any] = {
    "title": "Everything asked at once",
    "load": {
        "mass": "12 kg",
        "length": "320 mm",
        "reach": "-130 mm",
        "offset": "10 mm",
        "cg_height": "70 mm",
        "held": "friction",
        "friction": 0.3,
        "liquid": {"length": "300 mm", "depth": "60 mm", "freeboard": "45 mm"},
    },
    "tooling": {"mass": "1.5 kg"},
    "rate": {"items": "10/min", "per_carrier": [1, 2]},
    "loop": {
        "plane": "upright",
        "max_length": "9 m",
        "max_width": "1.5 m",
        "max_extent": "4 m",
        "max_height": "2 m",
        "restart": "together",
    },
    "station": [
        {
            "name": "fill up",
            "dwell": "900 ms",
            "dwell_variation": 0.1,
            "side": "front",
            "length": "400 mm",
            "at": "600 mm",
            "clear_of_joints": True,
            "force": ["0 N", "30 N", "-40 N"],
        },
        {"name": "drain.2", "dwell": "800 ms", "after": "1 m"},
    ],
    "limits": {"acceleration": "3 m/s^2", "jerk": "40 m/s^3", "speed": "2 m/s"},
    "site": {"ambient": "55 °C"},
    "life": {"hours": 30000, "reliability": 97},
    "commercial": {"budget": "60000 EUR", "latest_delivery": "9 weeks"},
}

KEYS = {
    "load.mass", "load.reach", "load.offset", "load.cg_height", "load.held",
    "load.liquid.freeboard", "tooling.mass", "rate.items", "rate.per_carrier",
    "loop.max_length", "loop.max_width", "loop.max_extent", "loop.plane", "loop.restart",
    "station.fill up.dwell", "station.fill up.dwell_variation", "station.fill up.force",
    "station.fill up.at", "station.fill up.side", "station.fill up.clear_of_joints",
    "station.fill up.length", "station.fill up.positions", "loop.max_height",
    "station.drain.2.dwell", "station.drain.2.after", "station.drain.2.side",
    "limits.acceleration", "limits.jerk", "limits.speed",
    "site.ambient", "life.hours", "life.reliability",
    "commercial.budget", "commercial.latest_delivery",
}  # fmt: skip

CASE = make_case(EVERYTHING, "test")


@pytest.fixture(scope="module")
def requirements(catalogue: Catalogue) -> tuple[Requirement, ...]:
    return list_requirements(CASE, catalogue)


@pytest.fixture(scope="module")
def situation(catalogue: Catalogue) -> Situation:
    option = next(each for each in list_options(CASE, catalogue) if each.items == 2)
    return Situation(option, CASE)


def test_every_requirement_has_its_entry(requirements: tuple[Requirement, ...]) -> None:
    assert {requirement.key for requirement in requirements} == KEYS
    assert len(requirements) == len(KEYS)


def test_what_is_not_asked_is_no_requirement(catalogue: Catalogue) -> None:
    case = make_case({"load": {"mass": "3 kg"}, "rate": {"items": "18/min"}}, "test")
    keys = {requirement.key for requirement in list_requirements(case, catalogue)}
    assert keys == {
        "load.mass",
        "load.cg_height",
        "load.held",
        "rate.items",
        "rate.per_carrier",
        "station.load.dwell",
        "station.unload.dwell",
        "life.hours",
    }


def test_a_loop_longer_than_the_catalogue_s_longest_is_no_requirement(catalogue: Catalogue) -> None:
    data = {"load": {"mass": "3 kg"}, "rate": {"items": "18/min"}, "loop": {"max_length": "30 m"}}
    keys = [entry.key for entry in list_requirements(make_case(data, "test"), catalogue)]
    assert "loop.max_length" not in keys


def test_giving_up_changes_its_own_key_alone(
    requirements: tuple[Requirement, ...], situation: Situation
) -> None:
    everything = frozenset(KEYS)
    for requirement in requirements:
        for found in situations(situation, requirements, everything - {requirement.key}):
            changed = {key for key in KEYS if _at(found.case, key) != _at(CASE, key)}
            allowed = {requirement.key}
            if requirement.key == "load.liquid.freeboard":
                assert found.case.load.liquid is None
            assert changed <= allowed


def _at(case: Case, key: str) -> Any:
    return None if key.startswith("load.liquid") else value_at(case, key)


def test_giving_up_a_limit_of_acceleration_asks_for_no_other(catalogue: Catalogue) -> None:
    # Where an enquiry sets no limit, the usual one of the house stands, which may be less.
    usual = catalogue.rules.load_acceleration
    data = {**EVERYTHING, "limits": {"acceleration": f"{2.5 * usual} m/s^2"}}
    for held in ("friction", "clamped"):
        case = make_case({**data, "load": {**EVERYTHING["load"], "held": held}}, "test")
        (found,) = (
            each for each in list_requirements(case, catalogue) if each.key == "limits.acceleration"
        )
        option = list_options(case, catalogue)[0]
        for change in found.given_up:
            assert (change(Situation(option, case)).case.limits.acceleration or 0.0) > 5.0 * usual


def test_giving_up_nothing_changes_nothing(
    requirements: tuple[Requirement, ...], situation: Situation
) -> None:
    assert situations(situation, requirements, frozenset(KEYS)) == (situation,)


def test_more_items_are_for_the_option_with_most(catalogue: Catalogue) -> None:
    requirements = list_requirements(CASE, catalogue)
    kept = frozenset(KEYS) - {"rate.per_carrier"}
    by_items = {
        option.items: {
            each.option.items for each in situations(Situation(option, CASE), requirements, kept)
        }
        for option in list_options(CASE, catalogue)
    }
    assert by_items == {1: {1}, 2: {2, 3, 4}}


def pasted(key: str, text: str) -> Any:
    """What a case file says with another value at a key."""
    raw = text if text.startswith("[") or _plain(text) else f'"{text}"'
    value = tomllib.loads(f"value = {raw}")["value"]
    data = {**EVERYTHING, "station": [dict(station) for station in EVERYTHING["station"]]}
    if key.startswith("station."):
        name, _, field = key.removeprefix("station.").rpartition(".")
        next(entry for entry in data["station"] if entry["name"] == name)[field] = value
    else:
        *tables, field = key.split(".")
        inner = data
        for table in tables:
            inner[table] = dict(inner[table])
            inner = inner[table]
        inner[field] = value
    if key == "loop.plane":
        data["loop"]["plane"] = value
    return make_case(data, "pasted")


def _plain(text: str) -> bool:
    return text in ("true", "false") or text.replace(".", "", 1).isdigit()


def test_what_is_written_can_be_pasted_into_the_case(
    requirements: tuple[Requirement, ...], situation: Situation
) -> None:
    for requirement in requirements:
        for move in requirement.moves:
            if isinstance(move, Choice):
                for alternative in move.alternatives:
                    changed = alternative.change(situation).case
                    assert pasted(move.key, alternative.text) == changed
                continue
            for value in (move.start, *between(move)):
                text = move.write(value)
                expected = move.put(CASE, value)
                got = pasted(move.key, text)
                assert value_at(got, move.key) == pytest.approx(value_at(expected, move.key)) or (
                    value_at(got, move.key) == value_at(expected, move.key)
                )


def between(move: Number) -> list[float]:
    """Some magnitudes on the way to the lax end, as whole steps."""
    return [move.value(round(share * move.last)) for share in (0.3, 0.7)]


def test_numbers_have_different_ends(requirements: tuple[Requirement, ...]) -> None:
    numbers = [move for entry in requirements for move in entry.moves if isinstance(move, Number)]
    assert len(numbers) >= 20
    assert all(move.start != move.lax for move in numbers)
