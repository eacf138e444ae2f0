"""What an enquiry leaves open is asked in words of its own; the rest is told apart from it."""

from typing import Any

import pytest

from recommender.inputs.case import Assumption, Case, assumptions
from recommender.inputs.catalogue import Catalogue
from recommender.questions import Group, all_assumptions, asked_of_customer, question

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
