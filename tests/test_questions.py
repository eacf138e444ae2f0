"""What an enquiry leaves open is asked in words of its own; the rest is told apart from it."""

from collections.abc import Iterator
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from recommender.filling.questions import Group, all_assumptions, asked_of_customer, question
from recommender.inputs.case import Assumption, Because, Case, assumptions
from recommender.inputs.catalogue import Catalogue

SMALLEST = {"load": {"mass": "30 kg"}, "rate": {"items": "18/min"}}
FULLER = {
    "load": {
        "mass": "3 kg",
        "liquid": {"length": "200 mm", "depth": "30 mm", "freeboard": "20 mm"},
    },
    "tooling": {"mass": "1 kg"},
    "rate": {"items": "18/min"},
    "station": [{"name": "a.b", "dwell": "1 s", "positions": 2}, {"name": "c", "dwell": "1 s"}],
}


@pytest.mark.parametrize("data", [SMALLEST, FULLER])
def test_every_question_has_words_of_its_own(data: dict[str, Any]) -> None:
    lines = asked_of_customer(Case.model_validate(data))
    assert len(lines) > 10
    for line in lines:
        assert line.question.endswith("?")
        assert "is that right" not in line.question, line.key
        assert "{" not in line.question
    assert len({line.question for line in lines}) == len(lines)


HELD_OTHERWISE = [
    {"load": {"mass": "3 kg", "held": held}, "loop": {"plane": plane}, "rate": {"items": "9/min"}}
    for held in ("nested", "clamped")
    for plane in ("flat", "upright")
]
READ_OTHERWISE = [
    {
        **SMALLEST,
        "loop": {"plane": plane, "max_width": "2 m", "max_height": "2 m"},
        "station": [{"name": "a", "dwell": "1 s", "side": side}, {"name": "b", "dwell": "1 s"}],
    }
    for plane, side in (("upright", "back"), ("flat", "lower"))
]


def defaults(model: type[BaseModel], prefix: str = "") -> Iterator[str]:
    """Every key of the case whose default is an assumption."""
    for name, field in model.model_fields.items():
        if any(isinstance(entry, Because) for entry in field.metadata):
            yield prefix + name
        for inner in (field.annotation, *get_args(field.annotation)):
            if isinstance(inner, type) and issubclass(inner, BaseModel):
                yield from defaults(inner, f"{prefix}{name}.")


def test_every_key_that_may_be_left_open_has_a_question() -> None:
    keys = list(defaults(Case))
    assert {"load.mass", "station.dwell"}.isdisjoint(keys)
    assert {"load.pocket", "load.liquid.viscosity", "station.tolerance", "life.years"} <= set(keys)
    for key in keys:
        assert "is that right" not in question(Assumption(key, "1", "why")), key


@pytest.mark.parametrize("data", [*HELD_OTHERWISE, *READ_OTHERWISE])
def test_what_is_read_otherwise_is_asked_in_words_too(data: dict[str, Any]) -> None:
    lines = asked_of_customer(Case.model_validate(data))
    assert not [line.key for line in lines if "is that right" in line.question]
    assert len({line.question for line in lines}) == len(lines)


def test_a_width_or_height_that_is_read_otherwise_is_not_asked_for_anew() -> None:
    for data, key, words in zip(
        READ_OTHERWISE,
        ("loop.max_width", "loop.max_height"),
        ("floor across", "upright"),
        strict=True,
    ):
        found = {line.key: line for line in asked_of_customer(Case.model_validate(data))}
        assert words in found[key].question
        assert not found["station.a.side"].brief


def test_what_is_usual_is_brief_and_says_what_is_taken() -> None:
    found = {line.key: line for line in asked_of_customer(Case.model_validate(FULLER))}
    assert found["station.c.positions"].brief == "carriers served one by one at c"
    assert found["life.years"].brief == "running hours spread over 5 years"
    assert not found["station.tolerance"].brief
    assert found["loop.max_length"].value == "no limit"


def test_a_station_is_named_where_it_stands_alone() -> None:
    found = {line.key: line.question for line in asked_of_customer(Case.model_validate(FULLER))}
    assert found["station.c.positions"] == "How many carriers are served at once at c?"


def test_what_nobody_has_worded_is_asked_all_the_same() -> None:
    asked = question(Assumption("load.colour", "grey", "most are"))
    assert asked == "load.colour is taken as grey (most are): is that right?"


def test_groups_come_one_after_the_other_and_hold_everything(
    worked: Any, catalogue: Catalogue
) -> None:
    lines = all_assumptions(worked.case, catalogue)
    groups = [line.group for line in lines]
    assert list(dict.fromkeys(groups)) == [str(group) for group in Group]
    assert groups == sorted(groups, key=[str(group) for group in Group].index)
    keys = [line.key for line in lines if line.group == Group.CUSTOMER]
    assert keys == [line.key for line in assumptions(worked.case)]
    for line in lines:
        assert bool(line.question) == (line.group == Group.CUSTOMER)
        assert (line.group == Group.HOUSE) == line.key.startswith("rules.")
