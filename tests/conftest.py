"""The worked cases, each decided and explained once for all tests that look at the result."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from math import inf
from pathlib import Path
from typing import Any

import pytest

from recommender.choice.deadline import time_left
from recommender.choice.decision.decide import PROOF, choose, decide
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.explored import Effort
from recommender.choice.parts.goals import Goal
from recommender.explain.explained import Explained, explain_decision
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import Catalogue, Part, read_catalogue
from recommender.inputs.files import shipped
from recommender.recommend import write_answer
from recommender.results.answer import Answer

NAMES = sorted(path.stem for path in shipped("cases").glob("*.toml"))


class Memory:
    """Decides and explains every case once for each content of a catalogue."""

    def __init__(self) -> None:
        self._decisions: dict[tuple[Case, str, Effort, Goal, int | None], Decision] = {}
        self._chosen: dict[tuple[Case, str, tuple[Goal, ...], Effort], list[Decision]] = {}
        self._explained: dict[tuple[Any, ...], Explained] = {}

    def decide(
        self,
        case: Case,
        catalogue: Catalogue,
        *,
        work: Effort = PROOF,
        goal: Goal = Goal.PRICE,
        nearest: int | None = None,
    ) -> Decision:
        if time_left() < inf:
            # What a limit of time cuts off is no answer for anybody else.
            return decide(case, catalogue, work=work, goal=goal, nearest=nearest)
        key = case, catalogue.digest, work, goal, nearest
        if key not in self._decisions:
            self._decisions[key] = decide(case, catalogue, work=work, goal=goal, nearest=nearest)
        return self._decisions[key]

    def choose(
        self,
        case: Case,
        catalogue: Catalogue,
        goals: Sequence[Goal],
        *,
        work: Effort = PROOF,
    ) -> list[Decision]:
        if time_left() < inf:
            return choose(case, catalogue, goals, work=work)
        key = case, catalogue.digest, tuple(goals), work
        if key not in self._chosen:
            self._chosen[key] = choose(case, catalogue, goals, work=work)
        return self._chosen[key]

    def explain(
        self,
        decision: Decision,
        case: Case,
        catalogue: Catalogue,
        *,
        about: Collection[str] | None = None,
        turning: bool = False,
        offers_alone: bool = False,
        most_headroom: int | None = None,
        **unseen: Any,
    ) -> Explained:
        """What is explained about the decision on a case, with its turning points or without."""
        how = {
            "about": about,
            "turning": turning,
            "offers_alone": offers_alone,
            "most_headroom": most_headroom,
            **unseen,
        }
        if time_left() < inf:
            return explain_decision(decision, case, catalogue, **how)
        asked = None if about is None else tuple(sorted(about))
        extent = turning, offers_alone, most_headroom
        key = case, catalogue.digest, asked, extent, decision.goal
        if key not in self._explained:
            self._explained[key] = explain_decision(decision, case, catalogue, **how)
        return self._explained[key]


MEMORY = Memory()


@dataclass(frozen=True)
class Worked:
    """A worked case of the project with what was decided and explained about it."""

    name: str
    case: Case
    catalogue: Catalogue

    @property
    def decision(self) -> Decision:
        return MEMORY.decide(self.case, self.catalogue)

    @property
    def explained(self) -> Explained:
        return MEMORY.explain(self.decision, self.case, self.catalogue)

    @cached_property
    def answer(self) -> Answer:
        return write_answer(self.case, self.catalogue, self.decision, self.explained)

    @cached_property
    def thinned(self) -> Catalogue:
        """The catalogue without carriers that are far from being chosen, to be quick.

        Waves are dear to compute: where there is a liquid, two carriers on the bend that is chosen;
        else those two and the strongest one on all bends.
        """
        works = sorted(
            (looked for looked in self.decision.looked if looked.audit and looked.feasible),
            key=lambda looked: looked.audit.price if looked.audit else 0,
        )
        cheapest = list(dict.fromkeys(looked.option.carrier.id for looked in works))
        strongest = max(self.catalogue.carrier, key=lambda carrier: carrier.rated_payload).id
        liquid = self.case.load.liquid is not None
        kept = cheapest[:2] if liquid else [*cheapest[:2], strongest]
        carriers = tuple(c for c in self.catalogue.carrier if c.id in kept)
        bends = (works[0].option.bend,) if liquid else self.catalogue.bend
        return without_memory(self.catalogue, carrier=carriers, bend=bends)


def without_memory(catalogue: Catalogue, **tables: tuple[Part, ...]) -> Catalogue:
    """The catalogue with other tables, and nothing remembered of the old ones."""
    return Catalogue.model_construct(**{**dict(catalogue), **tables})


@cache
def shipped_catalogue() -> Catalogue:
    return read_catalogue(shipped("catalog"))


@cache
def work(name: str) -> Worked:
    """A worked case by its name, the same for all tests."""
    case = read_case(shipped("cases") / f"{name}.toml")
    return Worked(name, case, shipped_catalogue())


SLOW = Path(__file__).with_name("slow.txt")
"""What the default run leaves out, so that it takes minutes: tests, files, and worked cases."""
NIGHTLY = "nightly "
"""How what the integration leaves out too is named there."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark the tests that are slow, before those are left out that are not asked for."""
    listed = SLOW.read_text(encoding="utf-8").splitlines()
    slow = {line for line in listed if line and not line.startswith("#")}
    nightly = {line.removeprefix(NIGHTLY) for line in slow if line.startswith(NIGHTLY)}
    slow = {line.removeprefix(NIGHTLY) for line in slow}
    seen = set()
    for item in items:
        if names := slow & names_of(item.nodeid):
            item.add_marker(pytest.mark.nightly if names & nightly else pytest.mark.slow)
            seen |= names
    whole = config.args == config.getini("testpaths")
    if whole and slow != seen:
        gone = ", ".join(sorted(slow - seen))
        raise pytest.UsageError(f"{SLOW.name} names what there is not: {gone}")


def names_of(nodeid: str) -> set[str]:
    """What may stand for a test in the list: itself, its function, its file, its worked case.

    >>> sorted(names_of("tests/a.py::test_b[two-up-3]"))
    ['[two-up]', 'tests/a.py', 'tests/a.py::test_b', 'tests/a.py::test_b[two-up-3]']
    """
    function, _, parameters = nodeid.partition("[")
    cases = {f"[{name}]" for name in NAMES if f"-{name}-" in f"-{parameters.removesuffix(']')}-"}
    return {nodeid, function, function.partition("::")[0]} | cases


@pytest.fixture(scope="session")
def altered() -> Callable[..., Catalogue]:
    """How to change tables of a catalogue."""
    return without_memory


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return shipped_catalogue()


@pytest.fixture(scope="session")
def worked_case() -> Callable[[str], Worked]:
    """How to get at a worked case by its name."""
    return work


@pytest.fixture(scope="session", params=NAMES)
def worked(request: pytest.FixtureRequest) -> Worked:
    return work(request.param)


@pytest.fixture(scope="module")
def _answered_once() -> Iterator[None]:
    """Commands run in this process take decisions and explanations from what is known."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("recommender.recommend.decide", MEMORY.decide)
        patch.setattr("recommender.recommend.explain_decision", MEMORY.explain)
        patch.setattr("recommender.comparison.choose", MEMORY.choose)
        yield
