"""How sure a choice is, as views read it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

DOUBT_SCHEMA: Final = "recommender.doubt/1"


@dataclass(frozen=True)
class InputShare:
    """An input that is not sure, as it was taken, and what comes of it.

    ``share`` is what it alone explains of the variance of what was ``measured`` (first order).
    ``held_low`` and ``held_high`` are the shares that hold of the draws in which it is in its
    lowest and in its highest tenth.
    """

    key: str
    taken: str
    share: float
    held_low: float
    held_high: float


@dataclass(frozen=True)
class FailingCheck:
    """A check, and the share of all draws in which it fails."""

    check: str
    title: str
    share: float


@dataclass(frozen=True)
class Chance:
    """Share of the draws that hold.

    ``low`` and ``high`` bound the chance with a confidence of 95 % (Wilson's interval); draws whose
    verdict is left open count as failing for the one and as holding for the other.
    """

    held: float
    low: float
    high: float


@dataclass(frozen=True)
class SetToSuit:
    """Share of some draws in which the same parts hold with one of some motions.

    It is ``held`` at least, since only so many ``motions`` were tried, and the chance is above
    ``low`` with a confidence of 97.5 %.
    """

    held: float
    low: float
    draws: int
    motions: int


@dataclass(frozen=True)
class Sturdier:
    """A configuration that holds in enough draws.

    ``level`` is the quantile of each input, on its bad side, for which it was recommended, and
    ``answers`` the values there; ``None`` and none if it is an option of the answer itself.
    """

    option: str
    carriers: int
    length_m: float
    price: Decimal
    more: Decimal
    chance: Chance
    level: float | None
    answers: tuple[tuple[str, str], ...]
    same_parts: bool


@dataclass(frozen=True)
class Doubt:
    """How often a configuration holds when its inputs are not sure.

    ``audited`` of the draws were audited in full; ``open`` ones were left as fitted though they are
    near a limit. ``set_to_suit`` says how often the same parts hold with another motion, and is
    ``None`` where that was not needed or is not known. ``fitted`` are the checks that differ
    between draws and were fitted to the audited ones, with ``margin`` as the greatest error that
    was allowed for; all others are exact in each draw. ``at_least`` is a price that nothing
    undercuts that holds often enough, if an input on its worse side makes nothing better; ``None``
    where that was not looked for.
    """

    option: str
    carriers: int
    price: Decimal
    currency: str
    draws: int
    seed: int
    assumed: bool
    reserve: float
    chance: Chance
    asked: float
    audited: int
    open: int
    fitted: tuple[str, ...]
    margin: float
    measured: Literal["holding or not", "greatest utilisation"]
    inputs: tuple[InputShare, ...]
    checks: tuple[FailingCheck, ...]
    set_to_suit: SetToSuit | None = None
    looked_for: bool = False
    sturdier: Sturdier | None = None
    at_least: Decimal | None = None
    schema: str = DOUBT_SCHEMA
