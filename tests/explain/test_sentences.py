"""What is said about every option of every worked case: approved text, and rules that it keeps."""

import re
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

from recommender.choice.checks import (
    BEND_CHECKS,
    CONFIGURED_CHECKS,
    FLEET_CHECKS,
    GEOMETRY_CHECKS,
    LAYOUT_CHECKS,
    OPTION_CHECKS,
    SETTING_CHECKS,
    STRAIGHT_CHECKS,
)
from recommender.choice.checks.entry import CheckText
from recommender.choice.checks.findings import TAKT
from recommender.explain.phrases import ASKED
from recommender.explain.table import requirement_name
from recommender.filling import explanations
from tests.conftest import NAMES

CHECKS = {
    check.about.id: check.about
    for checks in (
        OPTION_CHECKS,
        STRAIGHT_CHECKS,
        BEND_CHECKS,
        SETTING_CHECKS,
        GEOMETRY_CHECKS,
        FLEET_CHECKS,
        LAYOUT_CHECKS,
        CONFIGURED_CHECKS,
    )
    for check in checks
}


def said(worked: Any) -> dict[str, str]:
    return {
        looked.option.id: explanations.reason(
            looked, worked.decision, worked.explained, worked.case, worked.catalogue
        )
        for looked in worked.decision.looked
    }


def test_every_worked_case_has_approved_sentences_and_nothing_else_has() -> None:
    """What a run leaves out would be reported as unused; so this is looked at by itself."""
    kept = Path(__file__).with_name("__snapshots__") / "test_sentences.ambr"
    named = re.findall(r"^# name: \w+\[(.+)\]$", kept.read_text(encoding="utf-8"), re.MULTILINE)
    assert named == NAMES


def test_sentences_are_the_approved_ones(worked: Any, snapshot: Any) -> None:
    if worked.case.load.liquid is not None:
        pytest.skip("where waves decide, how far the search comes depends on the machine")
    told = said(worked)
    currency = worked.catalogue.catalogue.currency
    impasse = explanations.impasse(worked.decision.looked, worked.explained, currency)
    if impasse is not None:
        told = {"the whole case": impasse.reason, **told}
    assert "\n".join(f"{id_}: {text}" for id_, text in told.items()) == snapshot


def test_sentences_speak_to_people(worked: Any) -> None:
    for id_, text in said(worked).items():
        assert not any(check in text for check in CHECKS), (id_, text)
        assert not re.search(r"\b(solver|infeasible|constraint|MUS|utilisation|%)", text), text
        assert "%" not in text
        assert text[0].isupper()
        assert text.endswith(".")
        assert "  " not in text
        assert "None" not in text
        assert "nan" not in text
        assert not re.search(r"\d\.\d{4,}", text), (id_, text)
        assert text.count(". ") <= 2, (id_, text)


def test_every_requirement_has_a_name_and_words_for_its_concession(worked: Any) -> None:
    for requirement in worked.explained.requirements:
        assert requirement_name(requirement.key)
        for move in requirement.moves:
            for step in (0, move.last):
                words = move.concession(step).words
                assert words
                assert "{" not in words


def test_checks_ask_for_nothing_that_a_failure_does_not_know() -> None:
    for about in (*CHECKS.values(), TAKT):
        asked = {name for _, name, _, _ in Formatter().parse(about.fails) if name is not None}
        assert asked <= set(ASKED), about.id
        asked = {name for _, name, _, _ in Formatter().parse(together(about)) if name is not None}
        assert asked <= {"demand", "limit", "where", "moment"}, about.id
        asked = {name for _, name, _, _ in Formatter().parse(about.slower) if name is not None}
        assert asked <= {"where"}, about.id


def together(about: CheckText) -> str:
    return about.together or about.fails


def test_every_check_of_the_motion_says_what_happens_at_another_pace() -> None:
    of_motion = (STRAIGHT_CHECKS, BEND_CHECKS, SETTING_CHECKS, FLEET_CHECKS, LAYOUT_CHECKS)
    ids = {check.about.id for checks in of_motion for check in checks} | {TAKT.id}
    for about in (*CHECKS.values(), TAKT):
        assert bool(about.quicker) + bool(about.slower) == (about.id in ids), about.id
