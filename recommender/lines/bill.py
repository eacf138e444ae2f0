"""The bill of a line, each line of it for one loop or for all, from what is built alone.

Nothing of the search is used: quantities are counted from the configurations, and what is paid once
is paid once.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from recommender.choice.parts.bill import PartLine, bill_of_materials
from recommender.choice.parts.configuration import Configuration
from recommender.choice.parts.pricing import offered
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Carrier, Catalogue, OrderLine, Part
from recommender.lines.tables import Spares

SPARES = "spares"
"""How a bill calls what is bought as a spare."""


@dataclass(frozen=True)
class BuiltLine:
    """Everything that is decided for a line.

    ``supplies`` are those of its cabinets, by their ids in the catalogue; ``serves`` has for each
    loop the number of the supply of each of its runs. ``cases`` are the loops' as they are asked
    for in the way in which the handovers work.
    """

    names: tuple[str, ...]
    cases: tuple[Case, ...]
    loops: tuple[Configuration, ...]
    supplies: tuple[str, ...]
    serves: tuple[tuple[int, ...], ...]
    controller: str

    @property
    def carriers(self) -> int:
        """Carriers of all loops."""
        return sum(loop.carriers for loop in self.loops)

    @property
    def sections(self) -> int:
        """Sections of all loops."""
        return sum(loop.sections for loop in self.loops)

    def loops_of(self, supply: int) -> list[str]:
        """The loops in which a supply serves."""
        return [n for n, serves in zip(self.names, self.serves, strict=True) if supply in serves]


@dataclass(frozen=True)
class LinePart:
    """A line of the bill, and the loop that it is for; ``None`` if it is for several."""

    loop: str | None
    part: PartLine

    @property
    def price(self) -> Decimal:
        """Quantity times unit price."""
        return self.part.price


def bill_of(built: BuiltLine, catalogue: Catalogue, spares: Spares) -> tuple[LinePart, ...]:
    """Every line that has to be bought or done: those of each loop, then those for several.

    Parameters
    ----------
    built : BuiltLine
    catalogue : Catalogue
    spares : Spares
    """
    bought = offered(catalogue, built.cases[0])
    own = [
        LinePart(name, line)
        for name, case, loop in zip(built.names, built.cases, built.loops, strict=True)
        for line in bill_of_materials(loop, case, catalogue)
        if not _is_shared(line, bought)
    ]
    together = [*_electrical(built, bought), *_by_rules(built, bought)]
    together += _spare(built, bought, spares)
    return tuple(part for part in (*own, *together) if part.part.quantity > 0)


def total(parts: Sequence[LinePart]) -> Decimal:
    """Sum of all lines."""
    return sum((part.price for part in parts), start=Decimal(0))


_SHARED = ("order", "cabinet", "supply", "kind of carrier")


def _is_shared(line: PartLine, catalogue: Catalogue) -> bool:
    """Whether a line of a loop's own bill is counted for the whole line instead."""
    if line.item in ("supplies", "controllers"):
        return True
    return any(rule.id == line.id and rule.per in _SHARED for rule in catalogue.lines)


def _only(loops: Sequence[str]) -> str | None:
    return loops[0] if len(loops) == 1 else None


def _part(part: Part, item: str, quantity: int, why: str) -> PartLine:
    return PartLine(item, part.id, part.description, quantity, part.price, part.lead_time, why)


def _served(built: BuiltLine) -> list[tuple[str | None, str, int]]:
    """Pieces of each kind of supply, by the loop that they serve alone, in order."""
    found: dict[tuple[str | None, str], int] = {}
    for number, id_ in enumerate(built.supplies):
        key = _only(built.loops_of(number)), id_
        found[key] = found.get(key, 0) + 1
    return [(loop, id_, count) for (loop, id_), count in found.items()]


def _electrical(built: BuiltLine, catalogue: Catalogue) -> Iterator[LinePart]:
    supplies = {part.id: part for part in catalogue.supply}
    controllers = {part.id: part for part in catalogue.controller}
    for loop, id_, count in _served(built):
        why = "mean and peak power, and sections served"
        why += "" if loop or len(built.names) == 1 else ", in several loops"
        yield LinePart(loop, _part(supplies[id_], "supplies", count, why))
    why = "commands all carriers and sections"
    yield LinePart(None, _part(controllers[built.controller], "controllers", 1, why))


def _by_rules(built: BuiltLine, catalogue: Catalogue) -> Iterator[LinePart]:
    """Lines of the order that the loops share: for the order, cabinets, supplies, kinds."""
    cabinets = -(-len(built.supplies) // catalogue.rules.most_supplies)
    for rule in catalogue.lines:
        if rule.per not in _SHARED:
            continue
        if rule.per == "supply":
            for loop, id_, count in _served(built):
                yield LinePart(loop, _ruled(rule, count, f"for each {id_}"))
        elif rule.per == "cabinet":
            yield LinePart(None, _ruled(rule, cabinets, "for the cabinet"))
        elif rule.per == "order" and not rule.of and rule.roller is None:
            yield LinePart(None, _ruled(rule, 1, "for the order"))
        else:
            yield from _of_each_kind(rule, built)


def _of_each_kind(rule: OrderLine, built: BuiltLine) -> Iterator[LinePart]:
    for carrier, loops in _kinds(built):
        if rule.roller in (None, carrier.roller):
            extra = carrier.price if rule.of else Decimal(0)
            weeks = max(rule.lead_time, carrier.lead_time if rule.of else 0.0)
            why = f"for the kind of carrier {carrier.id}, as a spare"
            line = _ruled(rule, 1, why)
            line = replace(line, unit_price=rule.price + extra, lead_time=weeks)
            yield LinePart(_only(loops), line)


def _kinds(built: BuiltLine) -> list[tuple[Carrier, list[str]]]:
    """Each kind of carrier, and the loops that run it."""
    found: dict[str, tuple[Carrier, list[str]]] = {}
    for name, loop in zip(built.names, built.loops, strict=True):
        carrier = loop.option.carrier
        found.setdefault(carrier.id, (carrier, []))[1].append(name)
    return list(found.values())


def _ruled(rule: OrderLine, count: int, why: str) -> PartLine:
    return PartLine(
        rule.item,
        rule.id,
        rule.description,
        rule.pieces * count,
        rule.price,
        rule.lead_time,
        why if rule.pieces == 1 else f"{rule.pieces} {why}",
    )


def _spare(built: BuiltLine, catalogue: Catalogue, spares: Spares) -> Iterator[LinePart]:
    """Spares that the enquiry asks for beside those that the order contains anyway."""
    given = sum(
        rule.pieces
        for rule in catalogue.lines
        if rule.of and rule.per in ("order", "kind of carrier")
    )
    for carrier, loops in _kinds(built):
        more = max(spares.carriers - given, 0)
        why = f"spare of the kind {carrier.id}, as the enquiry asks"
        yield LinePart(_only(loops), _part(carrier, SPARES, more, why))
    parts = {part.id: part for part in catalogue.supply}
    for id_ in dict.fromkeys(built.supplies):
        loops = [
            name
            for name in built.names
            if any(
                built.supplies[k] == id_ and name in built.loops_of(k)
                for k in range(len(built.supplies))
            )
        ]
        why = f"spare of the kind {id_}, as the enquiry asks"
        yield LinePart(_only(loops), _part(parts[id_], SPARES, spares.supplies, why))
