"""Which concessions are worth offering to a customer, and how large they are."""

from typing import Final

from recommender.explain.edges import Relaxed
from recommender.explain.scale import Concession
from recommender.inputs.case import Case

A_FIFTH: Final = 0.2
"""Share of what was asked up to which a concession is offered of its own accord."""

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


def ways_of(alone: tuple[Relaxed, ...], pair: Relaxed | None, case: Case) -> list[Relaxed]:
    """Ways that are offered, the smallest first: of one concession, or else of two."""
    known = [way for way in (*alone, *([pair] if pair else [])) if offered(way, case)]
    return sorted(known, key=size)
