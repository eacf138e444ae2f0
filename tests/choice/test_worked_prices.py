"""What the worked cases cost: no change of the search may move it unnoticed."""

from collections.abc import Callable
from typing import Any

from recommender.choice.decision.decide import price_alone
from recommender.inputs.catalogue import Catalogue
from tests.conftest import NAMES

PRICES = {
    "assembly": 71_583,
    "batch": 46_062,
    "cantilever": 48_794,
    "crate": 50_257,
    "impossible": None,
    "nest": 41_229,
    "tray": 45_762,
    "two-up": 46_742,
    "upright": 38_584,
}
"""In euros of the invented catalogue, as they were found and proven, the tray within its bound."""


def test_worked_cases_cost_what_they_did(
    catalogue: Catalogue, worked_case: Callable[[str], Any]
) -> None:
    assert list(PRICES) == NAMES
    for name, price in PRICES.items():
        found, _ = price_alone(worked_case(name).case, catalogue)
        assert found == (None if price is None else 100 * price), name
