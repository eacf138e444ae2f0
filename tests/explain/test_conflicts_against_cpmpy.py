"""Minimal conflicts against those that a constraint library's explanation tools give.

Which requirements an option's own checks let hold together is asked of the physics for every set of
them and told to CPMpy as Boolean constraints; its enumeration of minimal unsatisfiable subsets and
its deletion-based one must find what is found here.
"""

from collections.abc import Sequence
from itertools import combinations

import cpmpy
import pytest
from cpmpy.tools.explain import marco, mus

from recommender.choice.parts.options import list_options
from recommender.explain.conflicts import Keys, find_conflicts
from recommender.explain.oracle import Oracle
from recommender.explain.requirements import (
    Requirement,
    Situation,
    situations,
)
from recommender.explain.table import list_requirements
from recommender.inputs.case import read_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import shipped

FAILING = [
    ("impossible", "std-68_arc-480_x1"),
    ("impossible", "pair-230_arc-280_x1"),
    ("assembly", "std-68_arc-280_x1"),
    ("crate", "std-92_eased-420_x1"),
    ("two-up", "std-92_arc-280_x2"),
]


def table(
    situation: Situation, requirements: Sequence[Requirement], oracle: Oracle
) -> dict[Keys, bool]:
    """Whether the checks of the option alone hold, for every set of requirements."""
    keys = [requirement.key for requirement in requirements]
    return {
        frozenset(kept): any(
            oracle.passes_alone(each)
            for each in situations(situation, requirements, frozenset(kept))
        )
        for size in range(len(keys) + 1)
        for kept in combinations(keys, size)
    }


def by_library(holds: dict[Keys, bool], keys: Sequence[str]) -> tuple[set[Keys], Keys]:
    """All minimal unsatisfiable subsets by CPMpy, and the one that it finds by deletion."""
    kept = {key: cpmpy.boolvar(name=key) for key in keys}
    hard = [
        ~cpmpy.all([kept[key] if key in failing else ~kept[key] for key in keys])
        for failing, works in holds.items()
        if not works
    ]
    soft = list(kept.values())
    found = {
        frozenset(str(each) for each in subset)
        for kind, subset in marco(soft, hard)
        if kind == "MUS"
    }
    return found, frozenset(str(each) for each in mus(soft, hard))


@pytest.mark.parametrize(("name", "option_id"), FAILING)
def test_same_conflicts_as_the_library(name: str, option_id: str, catalogue: Catalogue) -> None:
    case = read_case(shipped("cases") / f"{name}.toml")
    option = next(each for each in list_options(case, catalogue) if each.id == option_id)
    oracle, situation = Oracle(catalogue), Situation(option, case)
    # Only these can matter to checks that look at neither motion nor loop.
    named = {
        "load.mass",
        "load.reach",
        "tooling.mass",
        "loop.max_width",
        "rate.per_carrier",
        "load.held",
        "rate.items",
    }
    requirements = [each for each in list_requirements(case, catalogue) if each.key in named]
    keys = [requirement.key for requirement in requirements]
    holds = table(situation, requirements, oracle)
    found = find_conflicts(keys, lambda kept: holds[kept], most=50)
    all_minimal, one = by_library(holds, keys)
    assert set(found.sets) == all_minimal
    assert one in set(found.sets)
