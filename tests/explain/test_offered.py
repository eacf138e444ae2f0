"""What is offered of options that fail, found by itself and as a part of the whole explanation."""

from itertools import chain, combinations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recommender.choice.parts.goals import GAP
from recommender.explain.concessions import ways_of
from recommender.explain.conflicts import find_conflicts, helping_alone
from recommender.explain.offered import Offers
from recommender.explain.oracle import Oracle
from recommender.explain.requirements import Situation

KEYS = "abcdef"


@given(st.lists(st.frozensets(st.sampled_from(KEYS), min_size=1), min_size=1, max_size=5))
def test_what_helps_alone_is_what_all_conflicts_hold(conflicts: list[frozenset[str]]) -> None:
    """By trying every single one, and as the concessions of one key of all minimal conflicts."""

    def holds(kept: frozenset[str]) -> bool:
        return not any(each <= kept for each in conflicts)

    for likely in ([], [frozenset(KEYS)], list(conflicts), [frozenset("ab")]):
        clash, alone = helping_alone(KEYS, holds, likely)
        assert not holds(clash)
        assert alone == [key for key in KEYS if holds(frozenset(KEYS) - {key})]
    found = find_conflicts(KEYS, holds)
    assert sorted(alone) == sorted(
        chain.from_iterable(each for each in found.concessions if len(each) == 1)
    )


def test_the_same_is_offered_as_by_the_whole_explanation(worked: Any) -> None:
    """All that is offered, and its size; of what fails whatever is asked that it does."""
    explained, case = worked.explained, worked.case
    failing = {
        entry.option.id: (
            Situation(entry.option, case),
            tuple(entry.audit.findings) if entry.audit else (),
        )
        for entry in worked.decision.looked
        if entry.option.id in explained.failing
    }
    oracle = Oracle(worked.catalogue, [situation.option for situation, _ in failing.values()])
    offers = Offers(explained.requirements, oracle)
    for id_, (situation, findings) in failing.items():
        found, whole = offers.of(situation, findings), explained.failing[id_]
        offered = [way.concessions for way in ways_of(found.known, case)] if found else []
        assert offered == [way.concessions for way in ways_of(whole.known, case)], id_
        if found and found.hopeless:
            assert whole.hopeless, id_


def test_several_options_are_built_for_what_the_cheapest_of_them_costs(worked: Any) -> None:
    by_case: dict[Any, list[Situation]] = {}
    for found in worked.explained.failing.values():
        for way in ways_of(found.known, worked.case)[:1]:
            by_case.setdefault(way.works.case, []).append(way.works)
    alike = [situations for situations in by_case.values() if len(situations) > 1]
    if not alike:
        pytest.skip("no two options are offered the same")
    oracle = Oracle(worked.catalogue)
    for one, other in chain.from_iterable(combinations(each, 2) for each in alike[:2]):
        built = [oracle.price(situation) for situation in (one, other)]
        found = oracle.cheapest(one, other)
        assert found is not None
        least = min(price for price in built if price)
        assert found[1] == pytest.approx(least, rel=GAP)
