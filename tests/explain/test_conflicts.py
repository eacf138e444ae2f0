"""Minimal conflicts of sets of names, against looking at every set there is."""

from collections.abc import Callable
from itertools import combinations
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.explain.conflicts import (
    Conflicts,
    Keys,
    find_conflicts,
    joint_conflicts,
    minimal,
    minimal_hitting_sets,
)

NAMES = "abcdefg"


def answered(holds: Callable[[Keys], bool], names: Any = NAMES, **how: Any) -> tuple[Any, int]:
    """What a search for conflicts finds, and how many questions it asked."""
    asked = []

    def told(kept: Keys) -> bool:
        asked.append(kept)
        return holds(kept)

    found = find_conflicts(names, told, **how)
    assert len(asked) == len(set(asked))
    return found, len(asked)


def every_set(names: str) -> list[Keys]:
    return [frozenset(keys) for size in range(len(names) + 1) for keys in combinations(names, size)]


def holding(conflicts: list[Keys]) -> Callable[[Keys], bool]:
    return lambda kept: not any(conflict <= kept for conflict in conflicts)


families = st.lists(
    st.frozensets(st.sampled_from(NAMES), min_size=1, max_size=5), min_size=1, max_size=6
)


@given(families)
@settings(max_examples=200, deadline=None)
def test_finds_all_minimal_conflicts_and_all_concessions(family: list[Keys]) -> None:
    found, asked = answered(holding(family), most=50)
    assert set(found.sets) == set(minimal(family))
    assert found.complete
    assert [len(keys) for keys in found.sets] == sorted(len(keys) for keys in found.sets)
    everything = frozenset(NAMES)
    helping = [keys for keys in every_set(NAMES) if holding(family)(everything - keys)]
    assert set(found.concessions) == set(minimal(helping))
    assert asked < 2 ** len(NAMES)


@given(families, families, st.frozensets(st.sampled_from(NAMES)))
@settings(max_examples=200, deadline=None)
def test_what_is_looked_into_first_changes_nothing(
    family: list[Keys], likely: list[Keys], alone: Keys
) -> None:
    found, _ = answered(holding(family), likely=likely, alone=alone, most=50)
    plain, _ = answered(holding(family), most=50)
    assert found == plain


@given(families)
@settings(max_examples=50, deadline=None)
def test_stopped_early_it_gives_minimal_conflicts_and_says_so(family: list[Keys]) -> None:
    found, _ = answered(holding(family), most=1)
    assert len(found.sets) == 1
    assert found.sets[0] in minimal(family)
    assert found.complete == (len(minimal(family)) == 1)


@given(families)
@settings(max_examples=50, deadline=None)
def test_out_of_breath_it_gives_minimal_conflicts_still(family: list[Keys]) -> None:
    found, _ = answered(holding(family), effort=3)
    assert set(found.sets) <= set(minimal(family))
    assert found.sets
    if found.complete:
        assert set(found.sets) == set(minimal(family))


def test_what_never_holds_has_the_empty_conflict() -> None:
    found, asked = answered(lambda _: False)
    assert found == Conflicts((frozenset(),), (), complete=True)
    assert asked == 1


def test_where_giving_up_more_does_harm_no_conflict_is_claimed_that_holds() -> None:
    # Holds for every other number of keys only: nothing that shrinking may rely on.
    asked: dict[Keys, bool] = {}

    def fickle(kept: Keys) -> bool:
        return asked.setdefault(kept, len(kept) % 2 == 0)

    found, _ = answered(fickle)
    assert found.sets
    assert not any(asked.get(conflict, False) for conflict in found.sets)


@given(families)
@settings(max_examples=200, deadline=None)
def test_minimal_hitting_sets_against_all_sets(family: list[Keys]) -> None:
    hitting = [keys for keys in every_set(NAMES) if all(keys & each for each in family)]
    assert set(minimal_hitting_sets(family)) == set(minimal(hitting))


@given(st.lists(families, min_size=1, max_size=4))
@settings(max_examples=100, deadline=None)
def test_joint_conflicts_against_all_sets(options: list[list[Keys]]) -> None:
    found, complete = joint_conflicts([minimal(family) for family in options], most=10_000)
    clash = [
        keys
        for keys in every_set(NAMES)
        if all(any(conflict <= keys for conflict in family) for family in options)
    ]
    assert complete
    assert set(found) == set(minimal(clash))


def test_twenty_requirements_take_few_questions() -> None:
    names = [f"r{k:02d}" for k in range(20)]
    rng = np.random.default_rng(5)
    for _ in range(20):
        sizes = rng.integers(1, 4, 2)
        family = [frozenset(map(str, rng.choice(names, size, replace=False))) for size in sizes]
        found, asked = answered(holding(family), names, most=50)
        assert set(found.sets) == set(minimal(family))
        assert asked < 70
