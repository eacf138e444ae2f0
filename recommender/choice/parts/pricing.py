"""What the parts of a configuration cost, in cents, prepared so that the search only adds up.

Prices are whole cents throughout, so nothing is rounded. The bill of materials
(``recommender.choice.parts.bill``) adds up the same prices from the finished configuration.
"""

from collections.abc import Iterator
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from recommender.choice.parts.options import Option
from recommender.inputs.case import Case
from recommender.inputs.catalogue import BRAKE_RESISTORS, Catalogue, Feed, OrderLine, Supply
from recommender.physics.bend import bend_length
from recommender.physics.constants import Array

Cents = int


def cents(amount: Decimal) -> Cents:
    """Whole cents of a price."""
    return int(amount * 100)


def budget_of(case: Case) -> Cents | None:
    """What the enquiry may spend at most; ``None`` if it does not say."""
    budget = case.commercial.budget
    return None if budget is None else cents(Decimal(budget.split()[0]))


def offered(catalogue: Catalogue, case: Case) -> Catalogue:
    """The catalogue without what a case leaves out of its order."""
    without = set(case.commercial.without)
    tables = {
        "engineering": tuple(x for x in catalogue.engineering if x.item not in without),
        "order_line": tuple(x for x in catalogue.order_line if x.item not in without),
        "brake_resistor": () if BRAKE_RESISTORS in without else catalogue.brake_resistor,
    }
    if all(len(entries) == len(getattr(catalogue, name)) for name, entries in tables.items()):
        return catalogue
    return catalogue.model_copy(update=tables)


def lines_for(catalogue: Catalogue, option: Option | None, *per: str) -> Iterator[OrderLine]:
    """Lines of the order that are charged for each of some things, for an option or for any."""
    for line in catalogue.lines:
        if line.per in per and (line.roller is None or option is None or serves(line, option)):
            yield line


def serves(line: OrderLine, option: Option) -> bool:
    """Whether a line is for an option's carriers."""
    return line.roller is None or line.roller == option.roller.id


def unit_price(line: OrderLine, option: Option) -> Decimal:
    """Price of one piece, that of the option's carrier included where it is a carrier."""
    return line.price + option.carrier.price if line.of == "carrier" else line.price


def lines_price(catalogue: Catalogue, per: str) -> Cents:
    """What is charged once for each ``per``, whatever the option."""
    return sum(line.pieces * cents(line.price) for line in lines_for(catalogue, None, per))


def fixed_price(option: Option, case: Case, catalogue: Catalogue) -> Cents:
    """What an option costs before its straights, metres, carriers and electrical parts."""
    bend = cents(option.bend.price) + option.bend.sections * lines_price(catalogue, "section")
    if option.family.lower_guide:
        bend += cents(catalogue.lower_rails[option.bend.id].price)
    once = lines_for(catalogue, option, "order", "loop", "cabinet", "kind of carrier")
    return (
        2 * bend
        + sum(line.pieces * cents(unit_price(line, option)) for line in once)
        + len(case.station) * lines_price(catalogue, "station")
    )


def loop_length(option: Option, straight: Array | float) -> Array:
    """Length of the guide round a loop, by the length of one straight, m."""
    bend = float(bend_length(option.bend.radius, option.bend.transition))
    return np.asarray(2.0 * (np.asarray(straight, dtype=np.float64) + bend))


def metres(length: Array | float) -> NDArray[np.int64]:
    """Metres of guide that are charged: each that is begun, but for a micrometre."""
    return np.asarray(np.ceil(np.asarray(length) - 1e-6), dtype=np.int64)


def metre_price(option: Option, straight: Array | float, catalogue: Catalogue) -> NDArray[np.int64]:
    """What is charged by the metre of guide, by the length of one straight."""
    return metres(loop_length(option, straight)) * lines_price(catalogue, "metre")


def carrier_price(option: Option, catalogue: Catalogue) -> Cents:
    """What one carrier more costs, at least."""
    return cents(option.carrier.price) + lines_price(catalogue, "carrier")


def supply_price(part: Supply, catalogue: Catalogue) -> Cents:
    """What a supply costs with all that is charged for each."""
    return cents(part.price) + lines_price(catalogue, "supply")


def feed_price(part: Feed, catalogue: Catalogue) -> Cents:
    """What a feed costs with all that is charged for each."""
    return cents(part.price) + lines_price(catalogue, "feed")
