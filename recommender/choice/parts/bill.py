"""Bill of materials of a configuration, and its price."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from recommender.choice.parts.configuration import Configuration
from recommender.choice.parts.pricing import metres, offered, serves, unit_price
from recommender.inputs.case import Case
from recommender.inputs.catalogue import BRAKE_RESISTORS, Catalogue, OrderLine, Part


@dataclass(frozen=True)
class PartLine:
    """One line of the bill of materials; the lead time is in weeks."""

    item: str
    id: str
    description: str
    quantity: int
    unit_price: Decimal
    lead_time: float
    why: str

    @property
    def price(self) -> Decimal:
        """Quantity times unit price."""
        return self.quantity * self.unit_price


def bill_of_materials(
    configuration: Configuration, case: Case, catalogue: Catalogue
) -> tuple[PartLine, ...]:
    """Every line that has to be bought or done, in the order in which a loop is built up."""
    reduced = offered(catalogue, case)
    lines = (*_lines(configuration, catalogue), *_by_rules(configuration, case, reduced))
    return tuple(line for line in lines if line.quantity > 0)


def total_price(lines: tuple[PartLine, ...]) -> Decimal:
    """Sum of all lines."""
    return sum((line.price for line in lines), start=Decimal(0))


def price_by_item(lines: tuple[PartLine, ...]) -> dict[str, Decimal]:
    """Price of each group of lines, in the order of the bill."""
    groups: dict[str, Decimal] = {}
    for line in lines:
        groups[line.item] = groups.get(line.item, Decimal(0)) + line.price
    return groups


def _line(item: str, part: Part, quantity: int, why: str) -> PartLine:
    return PartLine(item, part.id, part.description, quantity, part.price, part.lead_time, why)


def _lines(configuration: Configuration, catalogue: Catalogue) -> Iterator[PartLine]:
    option, carriers = configuration.option, configuration.carriers
    yield _line("carriers", option.carrier, carriers, "as many as the rate and the life ask for")
    pieces = dict(configuration.straights)
    straights = {part.id: pieces[part.id] for part in catalogue.straight if part.id in pieces}
    for id_, count in straights.items():
        yield _line("straights", catalogue.straights[id_], count, "both sides together")
    yield _line("bends", option.bend, 2, "one at each end of the loop")
    if option.family.lower_guide:
        for id_, count in {**straights, option.bend.id: 2}.items():
            rail = catalogue.lower_rails[id_]
            yield _line("lower rail", rail, count, "takes the roll moment of the carriers")
    parts = {part.id: part for part in (*catalogue.supply, *catalogue.feed, *catalogue.controller)}
    electrics = configuration.electrics
    for id_, count in electrics.supplies:
        yield _line("supplies", parts[id_], count, "mean and peak power, and sections served")
    for id_, count in electrics.feeds:
        yield _line("feeds", parts[id_], count, "so many sections from feed to feed")
    yield _line("controllers", parts[electrics.controller], 1, "commands all carriers and sections")
    resistors = {part.id: part for part in catalogue.brake_resistor}
    for id_, count in configuration.resistors:
        why = "takes what comes back when all carriers brake at once"
        yield _line(BRAKE_RESISTORS, resistors[id_], count, why)


def _by_rules(configuration: Configuration, case: Case, catalogue: Catalogue) -> Iterator[PartLine]:
    """Lines of the order with rules of their own."""
    electrics, option = configuration.electrics, configuration.option
    quantity = {
        "order": 1,
        "loop": 1,
        "metre": int(metres(configuration.loop.length)),
        "section": configuration.sections,
        "station": len(case.station),
        "carrier": configuration.carriers,
        "supply": len(electrics.groups),
        "feed": len(electrics.feed_sections),
        "cabinet": 1,
        "kind of carrier": 1,
    }
    for line in catalogue.lines:
        if serves(line, option):
            yield PartLine(
                line.item,
                line.id,
                line.description,
                line.pieces * quantity[line.per],
                unit_price(line, option),
                max(line.lead_time, option.carrier.lead_time if line.of else 0.0),
                _why(line, quantity[line.per]),
            )


def _why(line: OrderLine, count: int) -> str:
    """What a line is charged for, and how many of those there are."""
    pieces = "" if line.pieces == 1 else f"{line.pieces} "
    if line.per in ("order", "loop", "cabinet", "kind of carrier"):
        spare = ", as a spare" if line.of or line.roller else ""
        return f"{pieces}for the {line.per}{spare}"
    begun = " begun" if line.per == "metre" else ""
    if count == 1:
        return f"{pieces}for the one {line.per}{begun}"
    many = "supplies" if line.per == "supply" else f"{line.per}s"
    return f"{pieces}for each of {count} {many}{begun}"
