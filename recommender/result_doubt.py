"""How sure a choice is, as views read it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

DOUBT_SCHEMA: Final = "recommender.doubt/1"


@dataclass(frozen=True)
class InputShare:
    """An input that is not sure, as it was taken, and what comes of it.

    ``share`` is its first-order share of the variance, of holding or not, or, where all draws do
    the same, of the greatest utilisation. ``held_low`` and ``held_high`` are the shares that hold
    of the draws in which it is in its lowest and in its highest tenth.
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
class Sturdier:
    """A configuration that holds in enough draws."""

    option: str
    carriers: int
    price: Decimal
    more: Decimal
    held: float
    level: float | None
    """Quantile of each input at which it was found; ``None`` if the answer itself has it."""


@dataclass(frozen=True)
class Doubt:
    """How often a configuration holds when its inputs are not sure.

    ``audited`` of the ``draws`` were audited in full; the others are too far from any limit for
    the fitted utilisations to be wrong by more than their greatest known error, ``margin``.
    """

    option: str
    carriers: int
    price: Decimal
    currency: str
    draws: int
    seed: int
    reserve: bool
    held: float
    asked: float
    audited: int
    margin: float
    measured: str
    inputs: tuple[InputShare, ...]
    checks: tuple[FailingCheck, ...]
    sturdier: Sturdier | None
    looked_for: bool
    schema: str = DOUBT_SCHEMA
