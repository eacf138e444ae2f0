"""What one order for all loops saves against an order for each, item by item."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from recommender.choice.audit import Audit
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import LineAudit
from recommender.lines.bill import BuiltLine, LinePart, bill_of, total
from recommender.lines.result import ItemSaving, Savings, SeparateOrder
from recommender.lines.tables import Spares


def order_of(
    name: str, audit: Audit, case: Case, catalogue: Catalogue, spares: Spares
) -> tuple[LinePart, ...]:
    """The bill of a loop that is ordered by itself, with the spares that are asked for.

    Parameters
    ----------
    name : str
        The loop's.
    audit : Audit
        Its configuration.
    case : Case
    catalogue : Catalogue
    spares : Spares
    """
    electrics = audit.configuration.electrics
    supplies = tuple(group.supply for group in electrics.groups)
    built = BuiltLine(
        (name,),
        (case,),
        (audit.configuration,),
        supplies,
        (tuple(range(len(supplies))),),
        electrics.controller,
    )
    return bill_of(built, catalogue, spares)


def by_item(parts: Iterable[LinePart]) -> dict[str, Decimal]:
    """What each group of parts comes to, in the order of the bill."""
    found: dict[str, Decimal] = {}
    for part in parts:
        found[part.part.item] = found.get(part.part.item, Decimal(0)) + part.price
    return found


def savings_of(
    line: LineAudit,
    alone: Sequence[tuple[str, Audit, Case]],
    catalogue: Catalogue,
    spares: Spares,
) -> Savings:
    """What the line saves against an order for each loop's cheapest.

    Parameters
    ----------
    line : LineAudit
    alone : sequence of tuple
        Each loop's name, its cheapest configuration by itself, and its case.
    catalogue : Catalogue
    spares : Spares
        Asked for in each order.
    """
    bills = [order_of(name, audit, case, catalogue, spares) for name, audit, case in alone]
    orders = tuple(
        SeparateOrder(name, audit.configuration.option.id, total(bill))
        for (name, audit, _), bill in zip(alone, bills, strict=True)
    )
    apart, together = by_item(part for bill in bills for part in bill), by_item(line.parts)
    nothing = Decimal(0)
    items = tuple(
        ItemSaving(
            item,
            apart.get(item, nothing),
            together.get(item, nothing),
            apart.get(item, nothing) - together.get(item, nothing),
        )
        for item in dict.fromkeys([*apart, *together])
    )
    separate = sum(apart.values(), start=nothing)
    saved = separate - line.price
    return Savings(
        orders, separate, line.price, saved, items, _sentence(items, saved, catalogue, len(orders))
    )


def _sentence(
    items: Sequence[ItemSaving], saved: Decimal, catalogue: Catalogue, orders: int
) -> str:
    currency = catalogue.catalogue.currency
    most = sorted((item for item in items if item.saved > 0), key=lambda item: -item.saved)[:3]
    named = ", ".join(f"{item.item} {item.saved:,.2f}" for item in most)
    number = {2: "two", 3: "three", 4: "four"}.get(orders, str(orders))
    if saved <= 0:
        return f"One order saves nothing against {number} separate ones."
    return (
        f"One order saves {saved:,.2f} {currency} against {number} separate ones, most of it on"
        f" {named}."
    )
