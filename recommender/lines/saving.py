"""What one order for all loops saves against an order for each, item by item.

A loop ordered by itself is a line of one loop: built, audited and billed in the same way, with
spares, cabinet and controller of its own. So the difference of the bills is what sharing saves.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import LineAudit
from recommender.lines.bill import LinePart
from recommender.lines.build import Builder
from recommender.lines.candidates import undominated
from recommender.lines.choose import choose
from recommender.lines.found import Found
from recommender.lines.model import Line
from recommender.lines.result import ItemSaving, Savings, SeparateOrder
from recommender.lines.shared import terms_of
from recommender.lines.tables import Space

_MOST_TRIED: Final = 6
_NUMBERS: Final = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


@dataclass(frozen=True)
class Alone:
    """A loop ordered by itself: a configuration of it, and the line of one loop that it makes."""

    name: str
    found: Found
    audit: LineAudit

    @property
    def option(self) -> str:
        """Id of its option."""
        return self.found.candidate.on.about.option.id


def one_loop(line: Line, number: int) -> Line:
    """A line of one of the loops, on a floor of its own, whatever it may cost."""
    return replace(
        line,
        loops=(line.loops[number],),
        handovers=(),
        floor=Space(),
        commercial=line.commercial.model_copy(update={"budget": None}),
    )


def ordered_alone(
    line: Line, number: int, known: Sequence[Found], catalogue: Catalogue
) -> Alone | None:
    """A loop ordered by itself at the least price of what was found.

    Parameters
    ----------
    line : Line
    number : int
        Of the loop.
    known : sequence of Found
        Its configurations, or some of them.
    catalogue : Catalogue
    """
    own = one_loop(line, number)
    terms = terms_of(own, catalogue)
    builder = Builder(own, catalogue, terms)
    asks = [replace(found.asks, ways=1) for found in known]
    kept = undominated(asks, terms)
    best: Alone | None = None
    without: list[tuple[int, ...]] = []
    for _ in range(_MOST_TRIED):
        chosen = choose([[asks[k] for k in kept]], terms, without=without)
        if chosen is None or (best is not None and chosen.price >= best.audit.cents):
            break
        without.append(chosen.candidates)
        found = known[kept[chosen.candidates[0]]]
        built, _ = builder.build((found,), chosen.price)
        if built is not None and (best is None or built.cents < best.audit.cents):
            best = Alone(own.names[0], found, built)
    return best


def by_item(parts: Iterable[LinePart]) -> dict[str, Decimal]:
    """What each group of parts comes to, in the order of the bill."""
    found: dict[str, Decimal] = {}
    for part in parts:
        found[part.part.item] = found.get(part.part.item, Decimal(0)) + part.price
    return found


def savings_of(line: LineAudit, orders: Sequence[Alone], currency: str) -> Savings:
    """What the line saves against an order for each loop.

    Parameters
    ----------
    line : LineAudit
    orders : sequence of Alone
    currency : str
    """
    apart = by_item(part for order in orders for part in order.audit.parts)
    together, nothing = by_item(line.parts), Decimal(0)
    items = tuple(
        ItemSaving(
            item,
            apart.get(item, nothing),
            together.get(item, nothing),
            apart.get(item, nothing) - together.get(item, nothing),
        )
        for item in dict.fromkeys([*apart, *together])
    )
    separate = sum((order.audit.price for order in orders), start=nothing)
    saved = separate - line.price
    return Savings(
        tuple(SeparateOrder(order.name, order.option, order.audit.price) for order in orders),
        separate,
        line.price,
        saved,
        items,
        _sentence(items, saved, currency, len(orders)),
    )


def _sentence(items: Sequence[ItemSaving], saved: Decimal, currency: str, orders: int) -> str:
    number = _NUMBERS.get(orders, str(orders))
    if saved <= 0:
        return f"One order saves nothing against {number} separate ones."
    most = sorted((item for item in items if item.saved > 0), key=lambda item: -item.saved)[:3]
    named = ", ".join(f"{item.item} {item.saved:,.2f}" for item in most)
    return (
        f"One order saves {saved:,.2f} {currency} against {number} separate ones, most of it on"
        f" {named}."
    )
