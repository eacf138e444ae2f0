"""Conflicts and edges of 180 random cases, asked anew of the whole search.

The worked cases with their numbers moved at random; of each one an option that fails, and some of
its requirements, the others being facts. Motion is looked at more coarsely than for an answer and
loops are shorter, which changes what works but not what is true of a conflict or an edge.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

import pytest

from recommender.choice.parts.options import Option, list_options
from recommender.choice.search.grid import Grid
from recommender.explain.oracle import Oracle
from recommender.explain.reasons import Explanation, explain
from recommender.explain.requirements import (
    Number,
    Requirement,
    Situation,
    situations,
)
from recommender.explain.table import list_requirements
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped

CASES = 180
COARSE = Grid(accelerations=4, speeds=4, bend_speeds=4, ramp_times=2, search=12)
LONGEST = 9.0
REQUIREMENTS = 6
ALWAYS = ("load.mass", "load.reach", "rate.items")
BODIES = 2
"""Loaded carriers of each worked case; everything else is drawn anew for every case."""

ANEW = 3
"""Of so many cases one is asked anew of the whole search, without memory and short cuts."""


@dataclass(frozen=True)
class Drawn:
    """A random case and an option that fails in it, explained."""

    situation: Situation
    requirements: tuple[Requirement, ...]
    explanation: Explanation


def moved(case: Case, catalogue: Catalogue, rng: random.Random, *, body: bool) -> Case:
    """The case with some numbers half to twice as large: of the loaded carrier, or all others."""
    for requirement in list_requirements(case, catalogue):
        for move in requirement.moves:
            if isinstance(move, Number) and is_of_body(move.key) == body and rng.random() < 0.5:
                value = move.start * 2.0 ** rng.uniform(-1.0, 1.0)
                if move.key == "life.reliability":
                    value = rng.uniform(90.5, 99.5)
                if move.key == "load.friction":
                    value = min(value, 1.2)
                case = move.put(case, value)
    return case


def is_of_body(key: str) -> bool:
    """Whether a number changes the loads of a carrier, which take longest to work out."""
    return key.startswith(("load.", "tooling.", "limits.")) or key.endswith(".force")


def draw(
    catalogue: Catalogue, oracle: Oracle
) -> Iterator[tuple[Situation, tuple[Requirement, ...]]]:
    """Failing options of random cases without end, with some requirements; always the same."""
    rng = random.Random(20)
    worked = [read_case(path) for path in sorted(shipped("cases").glob("*.toml"))]
    # A liquid and pairs of trucks cost most of the time; they are in the worked cases.
    bases = [case for case in worked if case.load.liquid is None]
    bodies = [moved(base, catalogue, rng, body=True) for base in bases for _ in range(BODIES)]
    while True:
        case = moved(rng.choice(bodies), catalogue, rng, body=False)
        options = [each for each in list_options(case, catalogue) if each.family.trucks == 1]
        option = _failing(rng.sample(options, 3), case, oracle)
        if option is not None:
            everything = list_requirements(case, catalogue)
            # Few options fail whatever these are.
            always = [each for each in everything if each.key in ALWAYS]
            others = [each for each in everything if each not in always]
            some = rng.sample(others, REQUIREMENTS - len(always))
            yield Situation(option, case), (*always, *some)


def _failing(options: list[Option], case: Case, oracle: Oracle) -> Option | None:
    """The first that fails, those first that their own checks let pass."""
    options.sort(key=lambda option: not oracle.passes_alone(Situation(option, case)))
    return next((each for each in options if not oracle.works(Situation(each, case))), None)


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    found = read_catalogue(shipped("catalog"))
    rules = found.rules.model_copy(update={"longest_loop": LONGEST})
    return found.model_copy(update={"rules": rules})


@pytest.fixture(scope="module")
def oracle(catalogue: Catalogue) -> Oracle:
    return Oracle(catalogue, grid=COARSE)


@pytest.fixture(scope="module")
def drawn(catalogue: Catalogue, oracle: Oracle) -> list[Drawn]:
    return [
        Drawn(situation, requirements, explain(situation, requirements, oracle))
        for situation, requirements in islice(draw(catalogue, oracle), CASES)
    ]


@pytest.fixture(scope="module")
def judge(catalogue: Catalogue, make_judge: Any) -> Any:
    return make_judge(catalogue, COARSE)


def test_every_kind_of_explanation_occurs(drawn: list[Drawn]) -> None:
    assert len(drawn) == CASES
    found = [each.explanation for each in drawn]
    assert sum(each.hopeless for each in found) < 36
    assert sum(len(each.conflicts.sets) > 1 for each in found) > 12
    assert sum(len(each.alone) > 1 for each in found) > 24
    assert sum(each.pair is not None for each in found) > 6
    assert len({key for each in found for key in each.conflict}) > 10


def test_conflicts_suffice_and_are_minimal(drawn: list[Drawn], judge: Any) -> None:
    for each in drawn[::ANEW]:
        for conflict in each.explanation.conflicts.sets:
            for kept in situations(each.situation, each.requirements, conflict):
                assert judge.price(kept) is None, conflict
            for key in conflict:
                left = situations(each.situation, each.requirements, conflict - {key})
                assert any(judge.price(part) is not None for part in left), (conflict, key)


def test_edges_hold_on_one_side_and_fail_on_the_other(
    drawn: list[Drawn], judge: Any, oracle: Oracle
) -> None:
    for each in drawn[::ANEW]:
        for relaxed in each.explanation.known:
            assert judge.price(relaxed.works) is not None, relaxed.concessions
            price = oracle.price(relaxed.works)
            assert price is not None
            assert judge.prices_to_half_a_per_cent(price, relaxed.works), relaxed.concessions
            for short in relaxed.fails:
                assert judge.price(short) is None, relaxed.concessions


def test_all_of_them_by_asking_once_more(drawn: list[Drawn], oracle: Oracle) -> None:
    for each in drawn:
        for conflict in each.explanation.conflicts.sets:
            kept = situations(each.situation, each.requirements, conflict)
            assert not any(oracle.works(part) for part in kept), conflict
            for key in conflict:
                left = situations(each.situation, each.requirements, conflict - {key})
                assert any(oracle.works(part) for part in left), (conflict, key)
        for relaxed in each.explanation.alone:
            assert oracle.works(relaxed.works)
            assert not any(oracle.works(short) for short in relaxed.fails)
