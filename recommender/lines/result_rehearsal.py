"""What a rehearsal of a line found, as views read it."""

from dataclasses import dataclass
from typing import Final, Literal

from recommender.results.rehearsal import Rehearsal

LINE_REHEARSAL_SCHEMA: Final = "recommender.line-rehearsal/1"


@dataclass(frozen=True)
class LoopRehearsal:
    """How one loop fared; its supplies are told of the whole line."""

    loop: str
    run: Rehearsal


@dataclass(frozen=True)
class LineSupplyUse:
    """Power that a supply of the line gave to all that it serves, W.

    ``mean_w`` adds up the loops' means, ``peak_w`` their peaks as if they came at once; ``counted``
    is what the answer counts on.
    """

    number: int
    id: str
    loops: tuple[str, ...]
    mean_w: float
    mean_counted_w: float
    mean_limit_w: float
    peak_w: float
    peak_counted_w: float
    peak_limit_w: float


@dataclass(frozen=True)
class LineRehearsal:
    """A line whose loops ran for some hours.

    Loops that hand over directly ran under one clock, those behind a buffer by themselves.
    ``verdict`` is that of all loops: the line holds if each does, and is short if one is.
    ``handovers`` say of each how it was let run.
    """

    title: str
    hours: float
    replications: int
    seed: int
    verdict: Literal["holds", "short", "open"]
    loops: tuple[LoopRehearsal, ...]
    supplies: tuple[LineSupplyUse, ...]
    handovers: tuple[str, ...]
    schema: str = LINE_REHEARSAL_SCHEMA
