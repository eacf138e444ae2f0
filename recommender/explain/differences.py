"""By how much an option is dearer than the choice, item by item, and what makes it so."""

from decimal import Decimal

from recommender.choice.audit import Audit
from recommender.choice.parts import price_by_item
from recommender.inputs.quantities import KINDS, write


def item_differences(option: Audit, choice: Audit) -> tuple[tuple[str, Decimal], ...]:
    """Difference of each group of parts, largest first; together they are the whole difference."""
    ours, theirs = price_by_item(choice.parts), price_by_item(option.parts)
    groups = dict.fromkeys([*theirs, *ours])
    differences = [
        (item, theirs.get(item, Decimal(0)) - ours.get(item, Decimal(0))) for item in groups
    ]
    return tuple(sorted((entry for entry in differences if entry[1]), key=lambda entry: -entry[1]))


def cause(item: str, option: Audit, choice: Audit) -> str:
    """What lies behind the largest difference, as half a sentence."""
    one, other = option.configuration, choice.configuration
    if item == "carriers":
        return _carriers(option, choice)
    straights = [write(entry.loop.straight, KINDS["length"]) for entry in (one, other)]
    causes = {
        "straights": f"its straights are {straights[0]} long instead of {straights[1]}",
        "bends": f"bend {one.option.bend.id} costs more than {other.option.bend.id}",
        "lower rail": "a lower rail runs along its guide",
        "supplies": "its fleet draws more power or has more sections to serve",
        "controllers": "it has more carriers or sections to command",
    }
    return causes.get(item, f"more is spent on {item}")


def _carriers(option: Audit, choice: Audit) -> str:
    one, other = option.configuration, choice.configuration
    if one.carriers == other.carriers:
        return (
            f"each of its {one.carriers} carriers costs {one.option.carrier.price} instead of "
            f"{other.option.carrier.price}"
        )
    reason = f"it needs {one.carriers} carriers instead of {other.carriers}"
    slower = write(one.motion.bend_speed, KINDS["speed"], 2)
    faster = write(other.motion.bend_speed, KINDS["speed"], 2)
    if one.motion.bend_speed < 0.95 * other.motion.bend_speed:
        return f"{reason} because it takes the bends at {slower} instead of {faster}"
    if option.lap_time > choice.lap_time:
        laps = [write(entry.lap_time, KINDS["duration"], 1) for entry in (option, choice)]
        return f"{reason} because its lap takes {laps[0]} instead of {laps[1]}"
    return reason
