"""By how much an option is dearer than the choice, item by item, and what makes it so."""

from collections.abc import Callable
from decimal import Decimal
from typing import Final

from recommender.choice.decision.audit import Audit
from recommender.choice.parts.bill import price_by_item
from recommender.explain.measures import measure, money
from recommender.results.answer import REST

_SLOWER: Final = 0.95
"""Ratio of bend speeds below which one is told as the slower."""


def item_differences(option: Audit, choice: Audit) -> tuple[tuple[str, Decimal], ...]:
    """Difference of each group of parts, largest first; together they are the whole difference."""
    ours, theirs = price_by_item(choice.parts), price_by_item(option.parts)
    groups = dict.fromkeys([*theirs, *ours])
    differences = [
        (item, theirs.get(item, Decimal(0)) - ours.get(item, Decimal(0))) for item in groups
    ]
    return tuple(sorted((entry for entry in differences if entry[1]), key=lambda entry: -entry[1]))


_WORTH_SAYING: Final = Decimal("0.1")
"""Savings below this part of the whole difference are left to the rest."""


def told_differences(option: Audit, choice: Audit) -> tuple[tuple[str, Decimal], ...]:
    """What is named of a difference in price, and the rest; together they are the whole.

    The item that weighs most, what is saved if that is worth saying, and the rest if there is any.
    """
    differences = item_differences(option, choice)
    whole = option.price - choice.price
    named = list(differences[:1])
    if len(differences) > 1 and -differences[-1][1] >= _WORTH_SAYING * whole:
        named.append(differences[-1])
    rest = whole - sum(amount for _, amount in named)
    return (*named, (REST, rest)) if rest else tuple(named)


def cause(item: str, option: Audit, choice: Audit, currency: str) -> str:
    """What lies behind the difference of an item, as half a sentence."""
    tell = _CAUSES.get(item)
    return tell(option, choice, currency) if tell else _counted(item, option, choice, currency)


def _counted(item: str, option: Audit, choice: Audit, currency: str) -> str:
    """Of an item with lines of its own the line that makes most of the difference."""
    ours, theirs = (
        {part.id: part for part in audit.parts if part.item == item} for audit in (choice, option)
    )
    both = [id_ for id_ in theirs if id_ in ours]
    dearest = max(both, key=lambda id_: theirs[id_].price - ours[id_].price, default=None)
    if dearest is None or theirs[dearest].price <= ours[dearest].price:
        return f"more is spent on {item}"
    one, other = theirs[dearest], ours[dearest]
    if one.quantity > other.quantity:
        return f"{one.quantity} of {one.id} are charged instead of {other.quantity}"
    prices = [money(part.unit_price, currency) for part in (one, other)]
    return f"{one.id} costs {prices[0]} instead of {prices[1]}"


def _carriers(option: Audit, choice: Audit, currency: str) -> str:
    one, other = option.configuration, choice.configuration
    each = money(one.option.carrier.price, currency)
    instead = money(other.option.carrier.price, currency)
    if one.carriers == other.carriers:
        return f"each of its {one.carriers} costs {each} instead of {instead}"
    if one.carriers < other.carriers:
        return f"each costs {each} instead of {instead}, though it takes {one.carriers} only"
    reason = f"it takes {one.carriers} instead of {other.carriers}"
    if one.option.items < other.option.items:
        return f"{reason} because each carries {one.option.items} instead of {other.option.items}"
    why = _slower(option, choice)
    return f"{reason} because {why}" if why else reason


def _slower(option: Audit, choice: Audit) -> str:
    """Why more carriers are taken, if it is their way round.

    Their laps say nothing of it: each option moves as gently as its carriers allow.
    """
    one, other = option.configuration, choice.configuration
    speeds = [entry.motion.bend_speed for entry in (one, other)]
    if speeds[0] < _SLOWER * speeds[1]:
        slower, faster = (measure(speed, "speed") for speed in speeds)
        return f"it runs the bends at {slower} instead of {faster}"
    if one.loop.length > 1.02 * other.loop.length:
        lengths = [measure(entry.loop.length, "length") for entry in (one, other)]
        return f"it runs along {lengths[0]} of guide instead of {lengths[1]}"
    return ""


def _straights(option: Audit, choice: Audit, currency: str) -> str:
    one, other = option.configuration, choice.configuration
    straights = [measure(entry.loop.straight, "length") for entry in (one, other)]
    if straights[0] == straights[1]:
        return "its straights are made up of dearer sections"
    lengths = [entry.option.carrier.plate_length for entry in (one, other)]
    longer = lengths[0] > 1.02 * lengths[1]
    why = ", as its longer carriers need more room" if longer else ""
    return f"its straights are {straights[0]} long instead of {straights[1]}{why}"


def _bends(option: Audit, choice: Audit, currency: str) -> str:
    one, other = option.configuration.option.bend, choice.configuration.option.bend
    prices = [money(bend.price, currency) for bend in (one, other)]
    return f"each {one.id} costs {prices[0]} instead of {prices[1]} for {other.id}"


def _lower_rail(option: Audit, choice: Audit, currency: str) -> str:
    if choice.configuration.option.family.lower_guide:
        lengths = [measure(entry.configuration.loop.length, "length") for entry in (option, choice)]
        return f"it runs along {lengths[0]} of guide instead of {lengths[1]}"
    return "its carriers lean on a lower rail along the whole guide"


def _supplies(option: Audit, choice: Audit, currency: str) -> str:
    for power, what in (("peak_power", "up to"), ("mean_power", "on average")):
        one, other = (getattr(entry.loop, power) for entry in (option, choice))
        if one > 1.02 * other:
            first, second = measure(one, "power"), measure(other, "power")
            return f"its fleet draws {what} {first} instead of {second}"
    sections = [entry.configuration.sections for entry in (option, choice)]
    return f"they serve {sections[0]} sections instead of {sections[1]}"


def _commanded(option: Audit, choice: Audit, currency: str) -> str:
    one, other = option.configuration, choice.configuration
    if one.carriers > other.carriers:
        return f"it commands {one.carriers} carriers instead of {other.carriers}"
    return f"it commands {one.sections} sections instead of {other.sections}"


def _engineering(option: Audit, choice: Audit, currency: str) -> str:
    one, other = option.configuration, choice.configuration
    return (
        f"{one.carriers} carriers and {one.sections} sections are to be set up instead of"
        f" {other.carriers} and {other.sections}"
    )


_CAUSES: Final[dict[str, Callable[[Audit, Audit, str], str]]] = {
    "carriers": _carriers,
    "straights": _straights,
    "bends": _bends,
    "lower rail": _lower_rail,
    "supplies": _supplies,
    "controllers": _commanded,
    "feeds": _supplies,
    "engineering": _engineering,
}
