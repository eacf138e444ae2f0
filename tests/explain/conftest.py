"""The worked cases, each decided and explained once for all tests that look at the result."""

from dataclasses import dataclass
from functools import cached_property

import pytest

from recommender.choice.decide import Decision, decide
from recommender.choice.grid import Grid
from recommender.choice.screen import screen
from recommender.choice.search import cheapest
from recommender.choice.workshop import Workshop
from recommender.explain.explained import Explained, explain_decision
from recommender.explain.oracle import Oracle
from recommender.explain.requirements import Situation
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped

CASES = sorted(shipped("cases").glob("*.toml"))


@dataclass(frozen=True)
class Worked:
    """A worked case with its decision and everything that is explained about it."""

    name: str
    case: Case
    catalogue: Catalogue

    @cached_property
    def decision(self) -> Decision:
        return decide(self.case, self.catalogue)

    @cached_property
    def explained(self) -> Explained:
        return explain_decision(self.decision, self.case, self.catalogue)


class Judge:
    """Searches every option anew with the search of the choice, without any short cut."""

    def __init__(self, catalogue: Catalogue, grid: Grid | None = None) -> None:
        self.catalogue = catalogue
        self.grid = grid or Grid()
        self.alone = Oracle(catalogue)

    def price(self, situation: Situation) -> int | None:
        """Price in cents, ``None`` if nothing works."""
        if not self.alone.passes_alone(situation):
            return None
        case = situation.case
        longest = case.loop.max_length or self.catalogue.rules.longest_loop
        (entry,) = screen([situation.option], case, self.catalogue, self.grid)
        found = cheapest(entry, Workshop(case, self.catalogue, longest))
        budget = case.commercial.budget
        if not found or (budget and found[0].price > round(100 * float(budget.split()[0]))):
            return None
        return found[0].price


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return read_catalogue(shipped("catalog"))


@pytest.fixture(scope="session")
def worked_cases(catalogue: Catalogue) -> dict[str, Worked]:
    return {path.stem: Worked(path.stem, read_case(path), catalogue) for path in CASES}


@pytest.fixture(params=[path.stem for path in CASES])
def worked(request: pytest.FixtureRequest, worked_cases: dict[str, Worked]) -> Worked:
    name: str = request.param
    return worked_cases[name]


@pytest.fixture(scope="session")
def make_judge() -> type[Judge]:
    return Judge


@pytest.fixture(scope="session")
def judge(catalogue: Catalogue) -> Judge:
    return Judge(catalogue)
