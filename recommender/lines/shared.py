"""What the loops of a line share, in whole numbers: what is paid once, for each kind, and together.

Of each loop that is looked at only what it asks of the others' purse is known: the price of its own
parts, its carriers and sections, its mean and peak power, its kind of carrier, its floor. What is
shared is priced from these alone.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import reduce
from operator import and_

import numpy as np

from recommender.choice.parts.options import Option
from recommender.choice.parts.pricing import (
    Cents,
    cents,
    feed_price,
    lines_for,
    lines_price,
    offered,
    serves,
    unit_price,
)
from recommender.choice.supplies.data import SupplyData, supply_data
from recommender.inputs.catalogue import Carrier, Catalogue, OrderLine
from recommender.lines.model import Line
from recommender.lines.tables import Spares

SIZE_STEPS = 1e6
"""Steps of a length in a metre: micrometres."""


@dataclass(frozen=True)
class ControllerData:
    """A controller and what it commands."""

    max_carriers: int
    max_sections: int
    price: Cents


@dataclass(frozen=True)
class Terms:
    """What is shared, and at what price.

    ``once`` is paid for the order, ``kinds`` for each kind of carrier in it, spares included,
    ``supply_spares`` for each kind of supply, ``cabinet`` for each cabinet, which takes
    ``most_supplies``; ``feed`` is the least price of a feed. A supply may serve one run in each
    loop, so that of all supplies only what they give together must cover all loops. The loops stand
    side by side, ``gap`` apart, on a floor so long and so wide, micrometres, where that is limited.
    """

    once: Cents
    kinds: Mapping[str, Cents]
    supplies: tuple[SupplyData, ...]
    supply_spares: tuple[Cents, ...]
    controllers: tuple[ControllerData, ...]
    most_supplies: int
    cabinet: Cents
    feed: Cents
    length: int | None = None
    width: int | None = None
    gap: int = 0
    budget: Cents | None = None


@dataclass(frozen=True)
class Asks:
    """What one way to build one loop costs by itself, and what it asks of all that is shared.

    ``own`` is the price of its own parts, cents, with the least price of its feeds, of which it may
    need ``feeds`` at least; ``mean`` and ``peak`` are milliwatts with idle sections; ``across`` and
    ``along`` its floor, micrometres. What direct handovers leave open is settled in one of several
    ways for all loops; the bits of ``ways`` are those ways that it suits.
    """

    own: Cents
    kind: str
    carriers: int
    sections: int
    mean: int
    peak: int
    feeds: int = 0
    across: int = 0
    along: int = 0
    ways: int = 1


def of_the_kind(line: OrderLine) -> bool:
    """Whether a line of the order is charged for each kind of carrier in it.

    What is charged for the order but depends on its carriers is charged for each kind as well: an
    order of two kinds needs both.
    """
    return line.per == "kind of carrier" or (
        line.per == "order" and bool(line.of or line.roller is not None)
    )


def once_price(catalogue: Catalogue) -> Cents:
    """What is paid once for an order, however many loops it has."""
    return sum(
        line.pieces * cents(line.price)
        for line in catalogue.lines
        if line.per == "order" and not of_the_kind(line)
    )


def spare_pieces(catalogue: Catalogue, asked: int) -> int:
    """Spare carriers of each kind beside those that the order contains anyway."""
    given = sum(line.pieces for line in catalogue.lines if of_the_kind(line) and line.of)
    return max(asked - given, 0)


def kind_price(carrier: Carrier, catalogue: Catalogue, spares: Spares) -> Cents:
    """What is paid once for a kind of carrier in an order: its spares, as a rule."""
    price = spare_pieces(catalogue, spares.carriers) * cents(carrier.price)
    for line in catalogue.lines:
        if of_the_kind(line) and line.roller in (None, carrier.roller):
            each = cents(line.price) + (cents(carrier.price) if line.of else 0)
            price += line.pieces * each
    return price


def option_shared(option: Option, catalogue: Catalogue) -> Cents:
    """What of an option's fixed price the loops of a line share: order, kind, cabinet."""
    return sum(
        line.pieces * cents(unit_price(line, option))
        for line in lines_for(catalogue, option, "order", "kind of carrier", "cabinet")
        if serves(line, option)
    )


def terms_of(line: Line, catalogue: Catalogue) -> Terms:
    """What the loops of a line share.

    Parameters
    ----------
    line : Line
    catalogue : Catalogue
    """
    bought, spares, floor = bought_for(line, catalogue), line.spares, line.floor
    return Terms(
        once=once_price(bought),
        kinds={part.id: kind_price(part, bought, spares) for part in bought.carrier},
        supplies=supply_data(bought),
        supply_spares=tuple(spares.supplies * cents(part.price) for part in bought.supply),
        controllers=tuple(
            ControllerData(part.max_carriers, part.max_sections, cents(part.price))
            for part in bought.controller
        ),
        most_supplies=bought.rules.most_supplies,
        cabinet=lines_price(bought, "cabinet"),
        feed=min(feed_price(part, bought) for part in bought.feed),
        length=_at_most(floor.length),
        width=_at_most(floor.width),
        gap=micrometres(floor.gap),
        budget=line_budget(line),
    )


def bought_for(line: Line, catalogue: Catalogue) -> Catalogue:
    """The catalogue without what the line leaves out of its order."""
    return offered(catalogue, line.loops[0].case)


def line_budget(line: Line) -> Cents | None:
    """What the whole line may cost at most."""
    budget = line.commercial.budget
    return None if budget is None else cents(Decimal(budget.split()[0]))


def micrometres(value: float) -> int:
    """Whole micrometres that cover a length."""
    return int(np.ceil(value * SIZE_STEPS - 1e-3))


def _at_most(value: float | None) -> int | None:
    return None if value is None else int(np.floor(value * SIZE_STEPS + 1e-3))


def controller_for(terms: Terms, carriers: int, sections: int) -> int | None:
    """Number of the cheapest controller that commands so many, the first of equal ones."""
    able = [
        number
        for number, part in enumerate(terms.controllers)
        if part.max_carriers >= carriers and part.max_sections >= sections
    ]
    return min(able, key=lambda number: (terms.controllers[number].price, number), default=None)


def supplies_price(terms: Terms, counts: Sequence[int]) -> Cents:
    """Some supplies with their cabinets and a spare of each kind."""
    if not counts:
        return 0
    number = sum(counts)
    price = sum(n * part.price for n, part in zip(counts, terms.supplies, strict=True))
    price += sum(spare for n, spare in zip(counts, terms.supply_spares, strict=True) if n)
    return price + -(-number // terms.most_supplies) * terms.cabinet


def suffices(terms: Terms, counts: Sequence[int], asks: Iterable[Asks]) -> bool:
    """Whether some supplies together give what all loops draw, and reach all their sections."""
    loops = list(asks)
    for limit, demand in (("mean_power", "mean"), ("peak_power", "peak")):
        given = sum(
            n * getattr(part, limit) for n, part in zip(counts, terms.supplies, strict=True)
        )
        if given < sum(getattr(loop, demand) for loop in loops):
            return False
    reach = sum(n * part.max_sections for n, part in zip(counts, terms.supplies, strict=True))
    return reach >= sum(loop.sections for loop in loops)


def stands(terms: Terms, asks: Sequence[Asks]) -> bool:
    """Whether all loops find room on the floor side by side."""
    if terms.length is not None and max(loop.along for loop in asks) > terms.length:
        return False
    if terms.width is None:
        return True
    across = sum(loop.across for loop in asks) + (len(asks) - 1) * terms.gap
    return across <= terms.width


def agrees(asks: Iterable[Asks]) -> bool:
    """Whether some way to settle what the handovers leave open suits all loops."""
    return reduce(and_, (loop.ways for loop in asks)) != 0


def line_price(terms: Terms, asks: Sequence[Asks], controller: int, counts: Sequence[int]) -> Cents:
    """The price of a line with a controller and some supplies; it need not suffice.

    Without any counts it is the price but for supplies and cabinets.
    Feeds are at least as many as supplies, since each supply serves some run that needs one.
    """
    kinds = Counter(loop.kind for loop in asks)
    more_feeds = max(sum(counts) - sum(loop.feeds for loop in asks), 0)
    return (
        terms.once
        + sum(loop.own for loop in asks)
        + sum(terms.kinds[kind] for kind in kinds)
        + terms.controllers[controller].price
        + supplies_price(terms, counts)
        + more_feeds * terms.feed
    )
