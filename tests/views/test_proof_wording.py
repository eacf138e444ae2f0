"""How sure the answer says it is: never surer than its proof."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from recommender.views.terminal import headline


def worded(worked_case: Any, bound: str) -> str:
    """The head of the crate's answer with another bound, for a price of 35,105.00 EUR."""
    answer = worked_case("crate").answer
    price = Decimal("35105.00")
    optimal = Decimal(bound) >= price
    proof = replace(answer.proof, best_bound=Decimal(bound), price=price, optimal=optimal)
    return headline(replace(answer, proof=proof)).plain


def test_what_is_proven_is_called_so(worked_case: Any) -> None:
    text = worded(worked_case, "35105.00")
    assert "proven cheapest of 36 options" in text
    assert "at most" not in text


@pytest.mark.parametrize(
    ("bound", "share"),
    # 35,105 over the bound: 1.0025, 1.00000285 and 1.25 times as much, rounded up.
    [("35017.46", "0.3 %"), ("35104.90", "0.1 %"), ("28084.00", "25.0 %")],
)
def test_what_is_not_is_said_to_lie_so_far_off_at_most(
    worked_case: Any, bound: str, share: str
) -> None:
    text = worded(worked_case, bound)
    assert f"best found, at most {share} from the cheapest" in text
    assert "proven" not in text
