"""How sure the choice of a line is, as views read it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from recommender.results.doubt import Chance, FailingCheck, InputShare, SetToSuit

LINE_DOUBT_SCHEMA: Final = "recommender.line-doubt/1"


@dataclass(frozen=True)
class LoopDoubt:
    """How often one loop's configuration holds; fields as those of a single doubt."""

    loop: str
    option: str
    carriers: int
    chance: Chance
    checks: tuple[FailingCheck, ...]
    audited: int
    open: int
    fitted: tuple[str, ...]
    set_to_suit: SetToSuit | None = None


@dataclass(frozen=True)
class LineDoubt:
    """How often a whole line holds when its inputs are not sure.

    All loops meet the same draws: an input that stands above the loops has one value for all of
    them in each, and the rate of a loop behind a buffer follows from that of the loop that supplies
    it. ``chance`` is that every loop holds and what they share as well; ``conditions`` are those of
    the line that fail now and then. ``inputs`` are ranked by what they explain of the whole line.
    ``fixed`` are inputs that were taken as they stand, since a direct handover ties them.
    """

    title: str
    price: Decimal
    currency: str
    draws: int
    seed: int
    assumed: bool
    reserve: float
    chance: Chance
    asked: float
    measured: Literal["holding or not", "greatest utilisation"]
    loops: tuple[LoopDoubt, ...]
    conditions: tuple[FailingCheck, ...]
    inputs: tuple[InputShare, ...]
    fixed: tuple[str, ...]
    schema: str = LINE_DOUBT_SCHEMA
