"""The least price of several supplies, against every set of them."""

from itertools import product

import numpy as np
import pytest

from recommender.choice.supplies import feed as feeding
from recommender.choice.supplies.data import FeedData, SupplyData


@pytest.mark.parametrize("seed", range(6))
def test_the_cheapest_set_of_supplies_is_that_of_all_sets(seed: int) -> None:
    """Every number of every supply that the rules allow, those that cover all three demands."""
    rng, found = np.random.default_rng([61, seed]), 0
    for _ in range(40):
        supplies = tuple(
            SupplyData(*rng.integers((20, 40, 2, 100), (90, 200, 7, 900)).tolist())
            for _ in range(int(rng.integers(1, 4)))
        )
        feeds = tuple(
            FeedData(*rng.integers((2, 10), (9, 90)).tolist())
            for _ in range(int(rng.integers(1, 3)))
        )
        most, size = int(rng.integers(1, 5)), int(rng.integers(2, 12))
        mean, peak = rng.integers((30, 60), (220, 500)).tolist()
        least = [int(n) if rng.random() < 0.8 else None for n in rng.integers(1, 5, len(feeds))]
        if all(number is None for number in least):
            continue
        prices = []
        for counts in product(range(most + 1), repeat=len(supplies)):
            pieces = sum(counts)
            totals = [
                sum(n * getattr(part, field) for n, part in zip(counts, supplies, strict=True))
                for field in ("mean_power", "peak_power", "max_sections", "price")
            ]
            if not 2 <= pieces <= min(most, size):
                continue
            if totals[0] < mean or totals[1] < peak or totals[2] < size:
                continue
            fed = [
                max(number, pieces) * feed.price
                for number, feed in zip(least, feeds, strict=True)
                if number is not None
            ]
            prices.append(totals[3] + min(fed))
        expected = min(prices, default=None)
        asked = (supplies, feeds, least, most, size, mean, peak)
        assert feeding._several_at_least(*asked) == expected
        shares = feeding._several_by_share(supplies, feeds, least, most, (mean, peak, size))
        if expected is not None:
            found += 1
            assert shares is not None and shares <= expected
    assert found > 5


@pytest.mark.parametrize("field", ["mean_power", "peak_power", "max_sections"])
def test_a_demand_of_whole_supplies_costs_so_many_by_its_share(field: str) -> None:
    """Four supplies' worth of one thing and little of the others cost four supplies."""
    supply = SupplyData(mean_power=500, peak_power=900, max_sections=8, price=731)
    feeds, least = (FeedData(6, 50),), (1,)
    each = {"mean_power": 500, "peak_power": 900, "max_sections": 8}
    demand = {name: 4 * value if name == field else value for name, value in each.items()}
    bound = feeding._several_by_share((supply,), feeds, least, 4, tuple(demand.values()))
    assert bound == 4 * 731 + 2 * 50
    assert feeding._several_by_share((supply,), feeds, least, 3, tuple(demand.values())) is None
