"""A judge of explanations that remembers nothing."""

import numpy as np
import pytest

from recommender.choice.decision.decide import price_alone
from recommender.choice.parts.goals import GAP
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.axes import axes_of
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import Screened, screen
from recommender.choice.search.waves import sampled
from recommender.explain.oracle import Oracle
from recommender.explain.requirements import Situation
from recommender.inputs.catalogue import Catalogue
from tests.conftest import without_memory
from tests.oracles.grid_search import cheapest


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
        found = cheapest(self._screened(situation), PriceBook(case, self.catalogue, longest))
        budget = case.commercial.budget
        if not found or (budget and found[0].price > round(100 * float(budget.split()[0]))):
            return None
        return found[0].price

    def prices_to_half_a_per_cent(self, price: int, situation: Situation) -> bool:
        """Whether a price is that of the choice, if nothing but one option could be chosen."""
        option = situation.option
        if situation.case.load.liquid is not None:
            return True  # a sample of motions says what is as found, and no more
        alone = without_memory(self.catalogue, carrier=(option.carrier,), bend=(option.bend,))
        least, bound = price_alone(situation.case, alone)
        return least is not None and bound <= price <= least / (1.0 - GAP)

    def _screened(self, situation: Situation) -> Screened:
        """The settings that are looked at: a grid of them, or the sample where a liquid sloshes."""
        asked = [situation.option], situation.case, self.catalogue
        if situation.case.load.liquid is None:
            (entry,) = screen(*asked, self.grid)
            return entry
        (axes,) = axes_of(*asked)
        setting, used = sampled(axes)
        return Screened(setting, used, np.zeros_like(used))


@pytest.fixture(scope="session")
def make_judge() -> type[Judge]:
    return Judge


@pytest.fixture(scope="session")
def judge(catalogue: Catalogue) -> Judge:
    return Judge(catalogue)
