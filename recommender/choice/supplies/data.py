"""Supplies and feeds of the catalogue in the whole numbers that models reckon in."""

from dataclasses import dataclass

from recommender.choice.parts import rounding
from recommender.choice.parts.pricing import Cents, feed_price, supply_price
from recommender.inputs.catalogue import Catalogue


@dataclass(frozen=True)
class SupplyData:
    """A supply: powers in milliwatts."""

    mean_power: int
    peak_power: int
    max_sections: int
    price: Cents


@dataclass(frozen=True)
class FeedData:
    """A feed and how many sections it reaches."""

    max_sections: int
    price: Cents


def supply_data(catalogue: Catalogue) -> tuple[SupplyData, ...]:
    """The catalogue's supplies for a model."""
    return tuple(
        SupplyData(
            mean_power=int(rounding.capacity(part.mean_power, "power")),
            peak_power=int(rounding.capacity(part.peak_power, "power")),
            max_sections=part.max_sections,
            price=supply_price(part, catalogue),
        )
        for part in catalogue.supply
    )


def feed_data(catalogue: Catalogue) -> tuple[FeedData, ...]:
    """The catalogue's feeds for a model."""
    return tuple(
        FeedData(part.max_sections, feed_price(part, catalogue)) for part in catalogue.feed
    )
