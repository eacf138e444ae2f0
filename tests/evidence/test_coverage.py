"""Every check rests on named evidence, and every piece of evidence is there."""

from pathlib import Path

import pytest

from recommender.choice import checks
from recommender.choice.checks.entry import Check, CheckText
from recommender.choice.checks.findings import TAKT
from recommender.evidence.registry import COMPARISONS, PUBLISHED, names, published

TESTS = Path(__file__).parents[1]


def all_checks() -> list[CheckText]:
    lists = [value for name, value in vars(checks).items() if name.endswith("CHECKS")]
    found = {entry.about.id: entry.about for group in lists for entry in group}
    assert all(isinstance(entry, Check) for group in lists for entry in group)
    return [*found.values(), TAKT]


@pytest.mark.parametrize("check", all_checks(), ids=lambda check: check.id)
def test_a_check_names_its_evidence(check: CheckText) -> None:
    assert check.evidence
    assert set(check.evidence) <= names()


def test_checks_are_many_and_have_ids_of_their_own() -> None:
    ids = [check.id for check in all_checks()]
    assert len(ids) == len(set(ids)) >= 30


@pytest.mark.parametrize("comparison", COMPARISONS.values(), ids=lambda entry: entry.id)
def test_a_comparison_has_its_test(comparison) -> None:
    assert (TESTS / comparison.test).is_file()


def test_at_least_sixty_values_are_published_and_all_hold() -> None:
    entries = list(published())
    assert len({entry.id for entry in entries}) == len(entries) >= 60
    assert not [entry.id for entry in entries if not entry.holds()]


def test_tolerances_are_no_wider_than_the_print_allows() -> None:
    for entry in published():
        if not entry.note and entry.published:
            assert entry.tolerance <= 0.05 * abs(entry.published), entry.id


def test_every_section_is_named_by_a_check() -> None:
    named = {evidence for check in all_checks() for evidence in check.evidence}
    assert set(PUBLISHED) <= named
