"""Concessions: which are worth offering, and how large they are."""

from collections.abc import Iterable, Sequence
from typing import Final

from recommender.choice.checks.configured import BUDGET
from recommender.explain.edges import Relaxed
from recommender.explain.requirements import (
    Change,
    Choice,
    Concession,
    Number,
    Requirement,
    Situation,
    in_all_ways,
    unchanged,
)
from recommender.inputs.case import Case

A_FIFTH: Final = 0.2
"""Share of what was asked up to which a concession is offered of its own accord."""

MOST_WAYS: Final = 2
"""Ways that are told of one option."""

_LEAST: Final = 0.2
"""Share of what was asked below which a number asks for another load or another job."""


def size(way: Relaxed) -> float:
    """How large concessions are together: the largest share, choices behind small numbers."""
    numbers = [entry.share for entry in way.concessions]
    choices = sum(entry.value is None for entry in way.concessions)
    return max(numbers) + A_FIFTH * choices + 0.01 * (len(numbers) - 1)


def sensible(way: Relaxed, case: Case) -> bool:
    """Whether anybody would offer it: not a budget, no other load, nothing next to nothing.

    A load lighter than its own fixture is no load, a centre of gravity 3 mm high no height, and a
    budget that is the option's own price no concession but the price said twice.
    """
    return all(_sensible(entry, case) for entry in way.concessions)


def _sensible(entry: Concession, case: Case) -> bool:
    if entry.key == BUDGET:
        return False
    if entry.asked is None or entry.value is None:
        return True
    if entry.key == "load.mass" and entry.value < case.tooling.mass:
        return False
    # Towards nothing; a reach of nothing is a load that stands over the guide.
    return entry.key == "load.reach" or abs(entry.value) >= _LEAST * abs(entry.asked)


def offered(way: Relaxed, case: Case) -> bool:
    """Whether a way is offered of its own accord."""
    return sensible(way, case) and all(entry.share <= A_FIFTH for entry in way.concessions)


def ways_of(known: Iterable[Relaxed], case: Case) -> list[Relaxed]:
    """Of the ways that are known those that are offered, the smallest first."""
    return sorted((way for way in known if offered(way, case)), key=size)


def offers(situation: Situation, requirements: Sequence[Requirement]) -> tuple[Situation, ...]:
    """The situations with everything at once that would be offered, for one of which is asked."""
    return in_all_ways(situation, filter(None, map(_offered_changes, requirements)))


def _offered_changes(requirement: Requirement) -> tuple[Change, ...]:
    """The most that is offered of one requirement, in each way; none if nothing is."""
    if any(isinstance(move, Choice) for move in requirement.moves):
        return requirement.given_up
    numbers = [m for m in requirement.moves if isinstance(m, Number) and not m.by_price]
    if not numbers:
        return ()
    as_it_is = (unchanged,) if unchanged in requirement.given_up else ()
    return (*(number.at(most_offered(number)) for number in numbers), *as_it_is)


def most_offered(number: Number) -> float:
    """The value of a number as far on its way to the lax end as it is offered."""
    least, most = sorted((abs(number.start) * (1.0 - A_FIFTH), abs(number.start) * (1.0 + A_FIFTH)))
    size = min(max(abs(number.lax), least), most)
    return -size if number.start < 0.0 else size
