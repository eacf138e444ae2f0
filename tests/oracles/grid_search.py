"""The cheapest configuration of an option among settings on a grid, on one build after the other.

No boxes and no motion between the points of the grid: what it finds can be had, and what it does
not find may be there all the same.
"""

import numpy as np

from recommender.choice.loop.layout import placed_on
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents
from recommender.choice.search.candidates import Candidate, candidates_on
from recommender.choice.search.price_bound import BuildPrices
from recommender.choice.search.screen import Screened


def cheapest(
    screened: Screened, price_book: PriceBook, at_most: Cents | None = None
) -> list[Candidate]:
    """The cheapest candidate of an option first, empty if no setting on no loop holds.

    Nothing that costs more than ``at_most``, cents, if that is given.
    """
    rows = screened.holding
    if len(rows) == 0:
        return []
    setting, used = screened.context.take(rows), screened.used[rows]
    prices, quickest = BuildPrices.of(setting.about, price_book), setting.settings.quickest()
    limits = quickest.acceleration, quickest.speed, quickest.bend_speed
    bounds = prices.rough_bound(*(float(limit[0]) for limit in limits))
    found: list[Candidate] = []
    best = at_most
    for build in np.argsort(bounds, kind="stable"):
        bound = int(bounds[build])
        if bound >= NEVER or (best is not None and bound > best):
            break
        priced = prices.priced(int(build), bound)
        for on in placed_on(setting.about, priced.build):
            for candidate in candidates_on(priced, on, setting, used, price_book, best):
                found.append(candidate)
                best = candidate.price if best is None else min(best, candidate.price)
    return sorted(found, key=lambda candidate: (candidate.price, candidate.used))
