"""What is to be least: the price, the floor, the weeks until it runs, or the energy of a year.

Configurations are ordered by one whole number, their rank: the measure first, then the price. So
one search serves all goals, and of what measures the same the cheapest is taken. Where the price
is to be least it is the rank itself.
"""

from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from recommender.choice.parts import rounding
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.pricing import Cents
from recommender.faults import InputError
from recommender.shown import shown

Whole = NDArray[np.int64]

PRICE_ROOM: Final = 10**10
"""Cents that no price reaches: what one step of a measure weighs more than any price."""

GAP: Final = 0.005
"""Share of the price by which something may be cheaper where a price is called proven."""

_MOST: Final = 3 * 10**8
_WORTH: Final = 0.004
_PER_UNIT: Final = {"floor": 1e4, "delivery": 1e2, "energy": 1e3}
_NOISE: Final = 1e-6


class Goal(StrEnum):
    """What a choice is to have least of, in steps of a cent, cm², hundredth of a week, or mW.

    The energy of a year is the mean power, idle sections included, over the hours of a year, which
    are the same for all: so the mean power stands for it.
    """

    PRICE = "price"
    FLOOR = "floor"
    DELIVERY = "delivery"
    ENERGY = "energy"

    @property
    def discrete(self) -> bool:
        """Whether what measures differently differs by a step that counts, and is told apart."""
        return self is not Goal.ENERGY


def goal_named(name: str, where: str) -> Goal:
    """A goal by its name.

    Raises
    ------
    InputError
        If there is none of that name; ``where`` says who asked.
    """
    known = [str(goal) for goal in Goal]
    if name not in known:
        raise InputError(f'{where} must be {" or ".join(known)} (read: "{shown(name)}")')
    return Goal(name)


def steps(goal: Goal, value: ArrayLike) -> Whole:
    """A measure in whole steps that cover it, from m², weeks or W.

    Examples
    --------
    >>> steps(Goal.FLOOR, 2.92981).item(), steps(Goal.DELIVERY, 13.0).item()
    (29299, 1300)
    """
    if goal is Goal.ENERGY:
        return rounding.demand(value, "power")
    whole = np.asarray(value, dtype=np.float64) * _PER_UNIT[goal]
    return np.ceil(whole - _NOISE).astype(np.int64)


def in_units(goal: Goal, measure: int) -> float:
    """A measure in m², weeks or W, from whole steps."""
    return measure / _PER_UNIT[goal]


def rank(measure: Whole | int, price: Whole | Cents) -> Whole:
    """The number by which configurations are ordered; that of a measure of nothing is the price.

    Examples
    --------
    >>> rank(0, 5_025_700).item(), rank(1300, 5_025_700).item()
    (5025700, 13000005025700)
    """
    weight = np.minimum(np.asarray(measure, dtype=np.int64), _MOST) * PRICE_ROOM
    room = np.where(weight > 0, PRICE_ROOM - 1, NEVER)
    return np.asarray(weight + np.minimum(np.asarray(price, dtype=np.int64), room))


def measure_of(rank_: int) -> int:
    """The measure that a rank holds, in steps."""
    return rank_ // PRICE_ROOM


def price_of(rank_: int) -> Cents:
    """The price that the rank of a measure holds."""
    return rank_ % PRICE_ROOM


def near_enough(goal: Goal, rank_: int, least: int) -> bool:
    """Whether something by its rank may be taken for what ranks least: by price, within `GAP`."""
    return least >= ((1.0 - GAP) * rank_ if goal is Goal.PRICE else rank_)


def as_good_from(price: Cents) -> Cents:
    """The price from which on another is as good as one: less, but not by more than `GAP`.

    Examples
    --------
    >>> as_good_from(50_000_00)
    4975000
    """
    return price if price >= NEVER else int((1.0 - GAP) * price)


def worth_finding(goal: Goal, rank_: int) -> int:
    """The rank that another must stay below to be worth looking for.

    Energy has no steps that count: what saves less than two fifths of a per cent is left.
    """
    if goal.discrete or rank_ >= NEVER:
        return rank_
    return int((1.0 - _WORTH) * measure_of(rank_)) * PRICE_ROOM
