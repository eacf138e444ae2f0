"""A catalogue that is what it says raises no doubt, and a slip of the pen raises one."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from recommender.inputs.catalogue import Catalogue
from recommender.inputs.plausibility import Doubt, doubts


def slipped(
    catalogue: Catalogue, altered: Callable[..., Catalogue], id_: str, **values: Any
) -> tuple[Doubt, ...]:
    """What is doubted with one carrier's data changed."""
    carriers = tuple(
        carrier.model_copy(update=values) if carrier.id == id_ else carrier
        for carrier in catalogue.carrier
    )
    return doubts(altered(catalogue, carrier=carriers))


def test_the_demonstration_catalogue_raises_no_doubt(catalogue: Catalogue) -> None:
    assert doubts(catalogue) == ()


@pytest.mark.parametrize(
    ("id_", "values", "ids", "said"),
    [
        # Just below what the next shorter magnet of the family gives or costs.
        ("std-92", {"peak_force": 127.0}, ("std-68", "std-92"), "less peak force"),
        ("std-92", {"continuous_force": 46.0}, ("std-68", "std-92"), "less continuous force"),
        ("lm-176", {"price": Decimal("1119.99")}, ("lm-128", "lm-176"), "costs less"),
        # A digit too many or too few.
        ("std-116", {"peak_force": 2260.0}, ("std-92", "std-116"), "peak force per length"),
        ("bs-228", {"mass": 54.0}, ("bs-132", "bs-228"), "mass per length of plate"),
        ("pair-390", {"rated_payload": 8.6}, ("pair-230", "pair-390"), "payload per working load"),
    ],
)
def test_a_slip_is_doubted_with_both_ids(
    id_: str,
    values: dict[str, Any],
    ids: tuple[str, str],
    said: str,
    catalogue: Catalogue,
    altered: Callable[..., Catalogue],
) -> None:
    found = slipped(catalogue, altered, id_, **values)
    assert any(set(doubt.ids) == set(ids) and said in doubt.text for doubt in found), found
    assert all(id_ in doubt.ids for doubt in found)
    assert all(name in doubt.text for doubt in found for name in doubt.ids)
