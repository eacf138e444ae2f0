"""The answer about a line: one frozen value that every view reads, and its JSON form.

As in `recommender.results.answer` numbers are SI with the unit in the key, money is decimal text,
and nothing here knows how an answer comes about. Each loop holds the answer about it by itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final, Literal

from recommender.results.answer import (
    Answer,
    CatalogueMark,
    CheckResult,
    DeliveryPlan,
    ItemDifference,
    OptionResult,
    PriceList,
    Proof,
    document,
)
from recommender.shown import json_text

LINE_SCHEMA: Final = "recommender.line/1"


@dataclass(frozen=True)
class LinePartResult:
    """One line of the bill, and the loop that it is for; no loop if it is for several."""

    loop: str | None
    item: str
    id: str
    description: str
    quantity: int
    unit_price: Decimal
    price: Decimal
    lead_time_weeks: float
    why: str


@dataclass(frozen=True)
class ServedRun:
    """A run of sections of a loop that a supply serves, numbered as on the loop's plan."""

    loop: str
    first_section: int
    sections: int
    mean_w: float
    peak_w: float


@dataclass(frozen=True)
class LineSupply:
    """A supply of the line, numbered from 1, and all that it serves; peaks are added up."""

    number: int
    id: str
    runs: tuple[ServedRun, ...]
    mean_w: float
    mean_limit_w: float
    peak_w: float
    peak_limit_w: float
    sections: int
    sections_limit: int


@dataclass(frozen=True)
class KindResult:
    """A kind of carrier in the line, and the loops that run it."""

    carrier: str
    loops: tuple[str, ...]
    carriers: int


@dataclass(frozen=True)
class SharedResult:
    """What the loops share: the controller, cabinets and supplies, kinds of carriers.

    The controller is the cheapest that commands all ``carriers`` on all ``sections``.
    """

    controller: str
    carriers: int
    carriers_limit: int
    sections: int
    sections_limit: int
    cabinets: int
    supplies: tuple[LineSupply, ...]
    kinds: tuple[KindResult, ...]


@dataclass(frozen=True)
class LoopOnFloor:
    """Where a loop lies on the line's floor: from one side across it, m, and its own extents."""

    loop: str
    from_m: float
    across_m: float
    along_m: float


@dataclass(frozen=True)
class LineFloor:
    """Floor of all loops side by side, gaps included, and what there is; m."""

    length_m: float
    width_m: float
    gap_m: float
    length_limit_m: float | None
    width_limit_m: float | None
    loops: tuple[LoopOnFloor, ...]


@dataclass(frozen=True)
class HandoverResult:
    """How a handover works.

    Rates are those of both loops, items a minute as asked. For a direct one ``places`` fill in
    turn, a carrier of boxes comes each ``rhythm_s``, ``shares`` are the unit carriers at each
    place, which stands there so long and leaves so much for the exchange; that takes ``exchange_s``
    with settling, where there is a line.
    """

    name: str
    giver: str = field(metadata={"name": "from"})
    taker: str = field(metadata={"name": "to"})
    items: int
    between: str
    share: float
    giver_per_min: float
    taker_per_min: float
    places: int | None = None
    rhythm_s: float | None = None
    shares: tuple[int, ...] = ()
    standing_s: tuple[float, ...] = ()
    left_s: tuple[float, ...] = ()
    exchange_s: tuple[float, ...] = ()


@dataclass(frozen=True)
class LoopOption:
    """An option of a loop as part of the line.

    ``alone`` is its price where the loop is ordered by itself, ``verdict`` the one there.
    ``line_price`` is that of the cheapest line with it of all that was found, its supplies looked
    at as if they were joined, so that it costs that or more; ``dearer`` is by how much it is above
    the choice. Both are ``None`` where no line was found with it.
    """

    id: str
    verdict: str
    alone: Decimal | None
    line_price: Decimal | None
    dearer: Decimal | None
    reason: str


@dataclass(frozen=True)
class Instead:
    """Why the cheapest option of a loop alone is not the choice: the same line with it.

    By itself the loop would be ``cheaper_alone`` with it than with the chosen one. The line with
    it, the other loops as they are, would cost ``dearer`` more, which the items add up to; where
    no such line can be built, ``fails`` says for which conditions, and nothing is added up.
    """

    option: str
    cheaper_alone: Decimal
    dearer: Decimal | None
    items: tuple[ItemDifference, ...]
    fails: tuple[str, ...]
    sentence: str


@dataclass(frozen=True)
class LoopResult:
    """One loop of a line.

    ``chosen`` is its configuration in the line; its price and parts are those that are for this
    loop alone, without what the loops share. ``alone`` is the answer about the loop by itself.
    """

    name: str
    supplied: bool
    rate_per_min: float
    chosen: OptionResult | None
    alone: Answer
    options: tuple[LoopOption, ...]
    instead: Instead | None


@dataclass(frozen=True)
class SeparateOrder:
    """A loop ordered by itself: its cheapest option, and what that costs with its own spares."""

    loop: str
    option: str
    price: Decimal


@dataclass(frozen=True)
class ItemSaving:
    """What one group of parts costs in separate orders and in the line."""

    item: str
    separate: Decimal
    together: Decimal
    saved: Decimal


@dataclass(frozen=True)
class Savings:
    """What one line saves against separate orders; the items add up to the whole exactly."""

    orders: tuple[SeparateOrder, ...]
    separate: Decimal
    together: Decimal
    saved: Decimal
    items: tuple[ItemSaving, ...]
    sentence: str


@dataclass(frozen=True)
class LineConcession:
    """One key of the line changed alone, with which it works, and what it then costs.

    Keys of a loop bear its name, ``boxes.load.mass``; those of a handover are
    ``handover.pack.items``; those of the whole have no name before them.
    """

    key: str
    start: str = field(metadata={"name": "from"})
    to: str
    price: Decimal | None


@dataclass(frozen=True)
class LineImpasse:
    """Why there is no line.

    ``conflicts`` are sets of keys that cannot be met together, the first the plainest. ``loops``
    are those that do not work by themselves; none where each does and only the line does not.
    """

    conflicts: tuple[tuple[str, ...], ...]
    loops: tuple[str, ...]
    concessions: tuple[LineConcession, ...]
    reason: str


@dataclass(frozen=True)
class LineAnswer:
    """Everything that one enquiry about a line was answered with.

    ``line`` is the enquiry as it was understood, with each loop's case as it was before direct
    handovers were settled. The price is that of all parts; no line costs
    less than the proof's bound, and none that was looked for anywhere is cheaper by more than half
    a per cent where it is ``optimal``. ``conditions`` are those of all loops together.
    ``unsettled`` is what a limit of time has cut off, and ``prices`` a price list that was used.
    """

    status: str
    title: str
    catalogue: CatalogueMark
    line: Mapping[str, Any]
    price: Decimal | None
    currency: str
    proof: Proof | None
    shared: SharedResult | None
    floor: LineFloor | None
    delivery: DeliveryPlan | None
    conditions: tuple[CheckResult, ...]
    handovers: tuple[HandoverResult, ...]
    loops: tuple[LoopResult, ...]
    parts: tuple[LinePartResult, ...]
    savings: Savings | None
    impasse: LineImpasse | None
    cautions: tuple[str, ...]
    units: Literal["metric", "us"] = "metric"
    unsettled: tuple[str, ...] = ()
    prices: PriceList | None = None
    program: str = ""
    schema: str = LINE_SCHEMA

    def loop(self, name: str) -> LoopResult | None:
        """The loop of a name, or ``None``."""
        return next((loop for loop in self.loops if loop.name == name), None)


def line_as_json(answer: LineAnswer) -> str:
    """The answer as one JSON document, the schema first."""
    return json_text(document(answer))
