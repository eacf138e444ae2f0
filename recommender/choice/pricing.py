"""What the parts of a configuration cost, in cents, prepared so that the search only adds up.

Prices are whole cents throughout, so nothing is rounded. The bill of materials
(``recommender.choice.parts``) adds up the same prices from the finished configuration.
"""

from decimal import Decimal
from typing import Literal

from recommender.choice.options import Option
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

Cents = int


def cents(amount: Decimal) -> Cents:
    """Whole cents of a price."""
    return int(amount * 100)


def budget_of(case: Case) -> Cents | None:
    """What the enquiry may spend at most; ``None`` if it does not say."""
    budget = case.commercial.budget
    return None if budget is None else cents(Decimal(budget.split()[0]))


def engineering_price(
    catalogue: Catalogue, per: Literal["order", "station", "carrier", "section"]
) -> Cents:
    """Work that is charged once for each ``per``."""
    return sum(cents(work.price) for work in catalogue.engineering if work.per == per)


def fixed_price(option: Option, case: Case, catalogue: Catalogue) -> Cents:
    """What an option costs before its straights, carriers and electrical parts."""
    bend = cents(option.bend.price) + option.bend.sections * engineering_price(catalogue, "section")
    if option.family.lower_guide:
        bend += cents(catalogue.lower_rails[option.bend.id].price)
    return (
        2 * bend
        + engineering_price(catalogue, "order")
        + len(case.station) * engineering_price(catalogue, "station")
    )


def carrier_price(option: Option, catalogue: Catalogue) -> Cents:
    """What one carrier more costs."""
    return cents(option.carrier.price) + engineering_price(catalogue, "carrier")
