"""The worked cases, each decided once for all tests that look at the result."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, cached_property

import pytest

from recommender.answer import Answer
from recommender.choice.decide import Decision, decide
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import Catalogue, Part, read_catalogue
from recommender.inputs.files import shipped
from recommender.recommend import recommend

NAMES = sorted(path.stem for path in shipped("cases").glob("*.toml"))


@dataclass(frozen=True)
class Worked:
    """A worked case of the project with what was decided about it."""

    name: str
    case: Case
    catalogue: Catalogue

    @cached_property
    def decision(self) -> Decision:
        return decide(self.case, self.catalogue)

    @cached_property
    def answer(self) -> Answer:
        return recommend(self.case, self.catalogue)

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


@pytest.fixture(scope="session")
def altered() -> Callable[..., Catalogue]:
    """How to change tables of a catalogue."""
    return without_memory


@cache
def shipped_catalogue() -> Catalogue:
    return read_catalogue(shipped("catalog"))


@cache
def work(name: str) -> Worked:
    """A worked case by its name, the same for all tests."""
    case = read_case(shipped("cases") / f"{name}.toml")
    return Worked(name, case, shipped_catalogue())


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
