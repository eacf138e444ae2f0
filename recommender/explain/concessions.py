"""Concessions: which are worth offering, how large they are, and their words."""

import re
from collections.abc import Iterable, Sequence
from typing import Final

from recommender.explain.edges import Relaxed
from recommender.explain.measures import count, measure, thousands
from recommender.explain.requirements import (
    Change,
    Choice,
    Number,
    Requirement,
    Situation,
    unchanged,
)
from recommender.explain.steps import Concession
from recommender.explain.table import TABLE, station_of, table_key
from recommender.inputs.case import Case

A_FIFTH: Final = 0.2
"""Share of what was asked up to which a concession is offered of its own accord."""

MOST_WAYS: Final = 2
"""Ways that are told of one option."""

_LEAST: Final = 0.2
"""Share of what was asked below which a number asks for another load or another job."""


def share(entry: Concession) -> float:
    """By how much of what was asked a number gives; 0 of a choice, which is another way to do it.

    Examples
    --------
    >>> round(share(Concession("load.mass", "30 kg", "27 kg", 30.0, 27.0)), 3)
    0.1
    """
    if entry.asked is None or entry.value is None:
        return 0.0
    return abs(entry.value - entry.asked) / abs(entry.asked) if entry.asked else float("inf")


def size(way: Relaxed) -> float:
    """How large concessions are together: the largest share, choices behind small numbers."""
    numbers = [share(entry) for entry in way.concessions]
    choices = sum(entry.value is None for entry in way.concessions)
    return max(numbers) + A_FIFTH * choices + 0.01 * (len(numbers) - 1)


def sensible(way: Relaxed, case: Case) -> bool:
    """Whether anybody would offer it: not a budget, no other load, nothing next to nothing.

    A load lighter than its own fixture is no load, a centre of gravity 3 mm high no height, and a
    budget that is the option's own price no concession but the price said twice.
    """
    return all(_sensible(entry, case) for entry in way.concessions)


def _sensible(entry: Concession, case: Case) -> bool:
    if entry.key == "commercial.budget":
        return False
    if entry.asked is None or entry.value is None:
        return True
    if entry.key == "load.mass" and entry.value < case.tooling.mass:
        return False
    # Towards nothing; a reach of nothing is a load that stands over the guide.
    return entry.key == "load.reach" or abs(entry.value) >= _LEAST * abs(entry.asked)


def offered(way: Relaxed, case: Case) -> bool:
    """Whether a way is offered of its own accord."""
    return sensible(way, case) and all(share(entry) <= A_FIFTH for entry in way.concessions)


def ways_of(known: Iterable[Relaxed], case: Case) -> list[Relaxed]:
    """Of the ways that are known those that are offered, the smallest first."""
    return sorted((way for way in known if offered(way, case)), key=size)


def offers(situation: Situation, requirements: Sequence[Requirement]) -> tuple[Situation, ...]:
    """The situations with everything at once that would be offered, for one of which is asked.

    Parameters
    ----------
    situation : Situation
    requirements : sequence of Requirement

    Returns
    -------
    tuple of Situation
        Several where something can be done in several ways.
    """
    found = [situation]
    for requirement in requirements:
        if changes := _offered_changes(requirement):
            found = [change(each) for each in found for change in changes]
    return tuple(found)


def _offered_changes(requirement: Requirement) -> tuple[Change, ...]:
    """The most that is offered of one requirement, in each way; none if nothing is."""
    if any(isinstance(move, Choice) for move in requirement.moves):
        return requirement.given_up
    numbers = [m for m in requirement.moves if isinstance(m, Number) and not m.by_price]
    if not numbers:
        return ()
    as_it_is = (unchanged,) if unchanged in requirement.given_up else ()
    return (*(number.at(_gentler(number)) for number in numbers), *as_it_is)


def _gentler(number: Number) -> float:
    """A number as far on its way to the lax end as it is offered."""
    least, most = sorted((abs(number.start) * (1.0 - A_FIFTH), abs(number.start) * (1.0 + A_FIFTH)))
    size = min(max(abs(number.lax), least), most)
    return -size if number.start < 0.0 else size


_ANOTHER_WAY: Final = {
    ("load.held", "nested"): "the load in a nest",
    ("load.held", "clamped"): "the load clamped",
    ("loop.plane", "flat"): "the loop lying flat",
    ("loop.restart", "staggered"): "the carriers restarted one after another",
    ("station.side", "any"): "station {station} on either side",
    ("station.side", "upper"): "station {station} on the upper run",
    ("station.side", "lower"): "station {station} on the lower run",
    ("station.clear_of_joints", "false"): "station {station} over a joint",
}


def concession(entry: Concession, currency: str = "") -> str:
    """One concession as a noun with what it has to be.

    Examples
    --------
    >>> concession(Concession("rate.items", "18/min", "14.6/min", 0.3, 14.6 / 60, 0.245))
    '14.6 items/min or fewer'
    >>> concession(Concession("rate.per_carrier", "[1]", "[1, 2]"))
    'two items on a carrier'
    """
    key, station = table_key(entry.key), station_of(entry.key)
    if key == "rate.per_carrier":
        return f"{count(int(re.findall(r'[0-9]+', entry.to)[-1]))} items on a carrier"
    if key == "station.positions":
        taken = "one carrier" if entry.to == "1" else f"{count(int(entry.to))} carriers"
        return f"{taken} at a time at {station}"
    if entry.value is None:
        return _ANOTHER_WAY[key, entry.to].format(station=station)
    return TABLE[key].words.format(to=_amount(entry, TABLE[key].unit, currency), station=station)


def _amount(entry: Concession, unit: str, currency: str) -> str:
    """The value as it stands in the case, which is rounded to the safe side already."""
    assert entry.value is not None
    if unit in ("money", "h", "force"):
        return measure(abs(entry.value), unit, currency)
    text = thousands(entry.to.removeprefix("-"))
    if unit == "rate":
        return text.replace("/min", " items/min")
    return text.replace("^2", "²").replace("^3", "³")
