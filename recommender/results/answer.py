"""The answer: one frozen value that every view reads, and its JSON form.

Numbers are SI with the unit in the key or beside them, money is decimal text. Nothing here knows
how an answer comes about.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import Any, Final, Literal

from recommender.results.assumption import AssumptionLine
from recommender.results.calculation import Calculation
from recommender.results.loop import LoopPlan
from recommender.shown import json_text

SCHEMA: Final = "recommender.answer/1"
REST: Final = "the rest"
NEAREST: Final = 5
"""Options that are told one by one where not all are: of those that work, and of near misses."""
MOST_HEADROOM: Final = 4
"""Numbers of a case of which is told how far they hold where not all are: the tightest ones."""
"""What a difference in price is told to be, beside the items that are named."""


class Verdict(StrEnum):
    """What became of an option; one that ``works`` has more of what was to be least.

    Where that is the price it is ``dearer``.
    """

    RECOMMENDED = "recommended"
    DEARER = "dearer"
    WORKS = "works"
    REJECTED = "rejected"
    UNDECIDED = "undecided"


@dataclass(frozen=True)
class CatalogueMark:
    """Which catalogue was used, and what it is called."""

    id: str
    digest: str
    title: str = ""


@dataclass(frozen=True)
class LapTimes:
    """What the lap of a carrier is made of, s.

    ``unhindered_s`` it would take alone: legs, bends, dwells and settling. It waits for batches to
    form and to part, and for the rest until there is a place for it.
    """

    unhindered_s: float
    batches_s: float
    places_s: float


@dataclass(frozen=True)
class RateAsked:
    """Items a minute that were asked for, and the share of reserve that is asked on top."""

    items_per_min: float
    reserve: float
    with_reserve_per_min: float


@dataclass(frozen=True)
class MotionPlan:
    """How the carriers move, as quantity text."""

    acceleration: str
    jerk: str
    speed: str
    bend_speed: str


@dataclass(frozen=True)
class CheckResult:
    """One check of a configuration."""

    id: str
    title: str
    demand: float
    limit: float
    unit: str
    utilisation: float
    governed_by: str
    ok: bool
    source: str


@dataclass(frozen=True)
class Relaxation:
    """A requirement that, changed alone, would make an option work, and what it would then cost."""

    key: str
    start: str = field(metadata={"name": "from"})
    to: str
    price: Decimal | None


@dataclass(frozen=True)
class Change:
    """One key of the case changed, both values as text that can be pasted into the case."""

    key: str
    start: str = field(metadata={"name": "from"})
    to: str


@dataclass(frozen=True)
class Pair:
    """Two changes that only together make an option work, and what it would then cost."""

    changes: tuple[Change, ...]
    price: Decimal | None


@dataclass(frozen=True)
class Way:
    """Changes that make an option work in a case which none meets."""

    option: str
    changes: tuple[Change, ...]
    price: Decimal | None


@dataclass(frozen=True)
class Impasse:
    """Why no option meets a case.

    ``conflict`` is the smallest set of requirements that no option meets together, ``conflicts``
    holds all that were found; there are none if the time was up before. Where money is all that is
    lacking, the first of the ``ways`` is a larger budget; the others are within the one of the
    case.
    """

    conflict: tuple[str, ...]
    conflicts: tuple[tuple[str, ...], ...]
    conflicts_complete: bool
    ways: tuple[Way, ...]
    reason: str


@dataclass(frozen=True)
class ShareResult:
    """One share of a quantity."""

    what: str
    amount: float


@dataclass(frozen=True)
class BreakdownResult:
    """What a quantity that a check looks at is made of; the shares add up to the total."""

    check: str
    title: str
    unit: str
    total: float
    shares: tuple[ShareResult, ...]


@dataclass(frozen=True)
class HeadroomResult:
    """How far a requirement can be raised.

    ``to`` is the last value that the configuration meets, and ``stopped_by`` the check that fails a
    step further; ``stands_to`` the last value at which the option stays the recommended one, and
    ``then`` the one that is recommended a step further, where that was looked for. No value means
    ten times as much and more; ``to`` equal to ``from`` that the next round value fails already.
    ``factor`` is what ``to`` is of what is asked. Where a harder motion would cure that check,
    ``harder`` is the one that such a motion fails.
    """

    key: str
    start: str = field(metadata={"name": "from"})
    to: str | None
    check: str | None
    stopped_by: str | None
    stands_to: str | None = None
    then: str | None = None
    factor: float | None = None
    harder: str | None = None

    @property
    def no_room(self) -> bool:
        """Whether it holds to no more than what is asked, as far as that is printed."""
        return self.to == self.start


@dataclass(frozen=True)
class CauseResult:
    """A check that fails at every setting and place, or wherever those that it clashes with hold.

    ``demand`` and ``limit`` are those of the configuration that is shown, in ``unit``.
    """

    check: str
    title: str
    demand: float
    limit: float
    unit: str
    governed_by: str
    clashes_with: tuple[str, ...]


@dataclass(frozen=True)
class ItemDifference:
    """By how much one group of parts is dearer; negative if it is cheaper."""

    item: str
    difference: Decimal


@dataclass(frozen=True)
class DearerBy:
    """By how much an option is dearer than the recommended one, and through which items.

    ``told`` holds what is named in words and the rest; it adds up to the price as well.
    """

    price: Decimal
    because: tuple[ItemDifference, ...]
    told: tuple[ItemDifference, ...] = ()


@dataclass(frozen=True)
class MeasureResult:
    """What an option as found has of what was to be least, and what nothing of it undercuts."""

    value: float
    at_least: float


@dataclass(frozen=True)
class LeastResult:
    """What was to be least instead of the price: floor, delivery or energy.

    Nothing has less of it than ``best_bound``; the choice is ``optimal`` if it has no more than
    that, or of energy by no more than half a per cent. Nothing that has as little costs less
    than ``price_bound``, where that is known. The cheapest option costs ``cheapest_price``, and
    nothing less than ``cheapest_at_least``; it is the ``same`` if only its motion may differ.
    """

    goal: str
    unit: str
    value: float
    best_bound: float
    optimal: bool
    price_bound: Decimal | None
    cheapest: str | None
    cheapest_price: Decimal | None
    cheapest_at_least: Decimal | None
    cheapest_value: float | None
    same: bool


@dataclass(frozen=True)
class PartResult:
    """One line of the bill of materials."""

    item: str
    id: str
    description: str
    quantity: int
    unit_price: Decimal
    price: Decimal
    lead_time_weeks: float
    why: str


@dataclass(frozen=True)
class DeliveryStage:
    """One step of a delivery, and the part or rule that governs it."""

    what: str
    weeks: float
    governed_by: str


@dataclass(frozen=True)
class DeliveryPlan:
    """From the order until the loop runs: steps of which each waits for the one before."""

    weeks: float
    steps: tuple[DeliveryStage, ...]


@dataclass(frozen=True)
class RunningCost:
    """Energy that the supplies give in a year at the asked rate and hours, and what it costs."""

    mean_w: float
    hours_a_year: float
    energy_kwh_a_year: float
    price_per_kwh: Decimal | None
    cost_a_year: Decimal | None


@dataclass(frozen=True)
class StopResult:
    """A stop from top speed on a straight: ``controlled``, holding the load, or at full force."""

    what: str
    deceleration_m_s2: float
    delay_s: float
    distance_m: float


@dataclass(frozen=True)
class OptionResult:
    """What was found out about one option.

    ``lap_s`` is the time in which each carrier comes round: carriers times takt. `LapTimes` says
    what it is made of. ``at_least`` is a price that nothing of this option undercuts, also where it
    is not decided; ``price`` is that of what was found. ``concession`` says of one that fails by
    what share of what is asked the nearest requirement would have to give; a choice counts a fifth.
    """

    id: str
    family: str
    carrier: str
    bend: str
    items_per_carrier: int
    verdict: Verdict
    price: Decimal | None
    currency: str
    carriers: int | None
    loop: LoopPlan | None
    motion: MotionPlan | None
    takt_s: float | None
    lap_s: float | None
    rate_per_min: float | None
    checks: tuple[CheckResult, ...]
    conflict: tuple[str, ...]
    relaxations: tuple[Relaxation, ...]
    dearer_by: DearerBy | None
    parts: tuple[PartResult, ...]
    reason: str
    conflicts: tuple[tuple[str, ...], ...] = ()
    conflicts_complete: bool = True
    pair: Pair | None = None
    breakdowns: tuple[BreakdownResult, ...] = ()
    headroom: tuple[HeadroomResult, ...] = ()
    lap_times: LapTimes | None = None
    delivery: DeliveryPlan | None = None
    running: RunningCost | None = None
    stops: tuple[StopResult, ...] = ()
    causes: tuple[CauseResult, ...] = ()
    at_least: Decimal | None = None
    concession: float | None = None
    measure: MeasureResult | None = None


@dataclass(frozen=True)
class Rejection:
    """Options that fail for the same cause, told together; or a near miss, told by itself.

    ``near`` says that a concession of at most a fifth of what was asked would make them work.
    """

    options: tuple[str, ...]
    who: str
    reason: str
    near: bool


@dataclass(frozen=True)
class Proof:
    """Price of the choice and the bound that nothing can undercut.

    The choice is ``optimal`` if nothing is cheaper by more than half a per cent.
    """

    best_bound: Decimal
    price: Decimal
    optimal: bool


@dataclass(frozen=True)
class EvidenceLine:
    """One published value beside the one computed here."""

    id: str
    section: str
    covers: tuple[str, ...]
    quantity: str
    inputs: str
    source: str
    consulted: str
    unit: str
    published: float
    computed: float
    deviation: float
    tolerance: float
    holds: bool
    note: str


@dataclass(frozen=True)
class ComparisonLine:
    """A comparison with a library or a simulation, which the tests run."""

    id: str
    against: str
    what: str
    test: str


@dataclass(frozen=True)
class EvidenceReport:
    """What the checks rest on."""

    published: tuple[EvidenceLine, ...]
    comparisons: tuple[ComparisonLine, ...]


@dataclass(frozen=True)
class PriceLine:
    """A line of a price list that was used.

    Discount and margin are in per cent: the discount off the list price, the margin as a share of
    what is asked, so that ``price = listed * (1 - discount / 100) / (1 - margin / 100)``.
    """

    id: str
    listed: Decimal
    discount: Decimal
    margin: Decimal
    price: Decimal
    lead_time_weeks: float
    valid_from: str


@dataclass(frozen=True)
class PriceList:
    """A price list that was laid over the catalogue.

    ``unknown`` ids are none of the catalogue's parts, ``missing`` ones keep the catalogue's price,
    and ``not_yet`` holds those of lines whose day has not come, which were not used.
    """

    file: str
    lines: tuple[PriceLine, ...]
    unknown: tuple[str, ...]
    missing: tuple[str, ...]
    not_yet: tuple[str, ...]


@dataclass(frozen=True)
class Extent:
    """How much an answer holds.

    ``explained`` is false where it was asked in brief: what would have to give, and how much more
    the choice could take, were not looked for. ``turning_points`` says whether the values at which
    another option would be recommended were. Where ``whole`` is false the options that are not
    recommended come without checks, parts, loop, delivery, running cost, stops and breakdowns,
    and there is no calculation; those that work and are not among the nearest may come without a
    price, and concessions without theirs.
    """

    explained: bool = True
    turning_points: bool = False
    whole: bool = True


@dataclass(frozen=True)
class Answer:
    """Everything that one enquiry was answered with.

    ``units`` says in which units texts and tables are written; numbers here are SI all the same.
    ``unsettled`` is what a limit of time has cut off; where it is empty, the answer is the same
    without the limit.
    Where something else than the price was to be ``least``, that is proven instead, and there is no
    ``proof`` of the price.
    ``program`` is the version that worked it out.
    ``calculation`` is that of the choice, where it was asked for.
    """

    status: str
    catalogue: CatalogueMark
    case: Mapping[str, Any]
    assumptions: tuple[AssumptionLine, ...]
    recommended: str | None
    proof: Proof | None
    options: tuple[OptionResult, ...]
    parts: tuple[PartResult, ...]
    cautions: tuple[str, ...]
    impasse: Impasse | None = None
    rate: RateAsked | None = None
    rejections: tuple[Rejection, ...] = ()
    units: Literal["metric", "us"] = "metric"
    unsettled: tuple[str, ...] = ()
    least: LeastResult | None = None
    extent: Extent = Extent()
    prices: PriceList | None = None
    program: str = ""
    calculation: Calculation | None = None
    schema: str = SCHEMA

    def option(self, id_: str) -> OptionResult | None:
        """The option of an id, or ``None``."""
        return next((option for option in self.options if option.id == id_), None)

    @property
    def choice(self) -> OptionResult | None:
        """The recommended option, or ``None``."""
        return self.option(self.recommended) if self.recommended else None


def as_json(answer: Answer) -> str:
    """The answer as one JSON document, the schema first."""
    return json_text(document(answer))


def shortened(answer: Answer) -> Answer:
    """The same with the recommended option in full, and of every other its verdict and reasons."""
    return replace(
        answer,
        extent=replace(answer.extent, whole=False),
        calculation=None,
        options=tuple(
            option if option.id == answer.recommended else _in_short(option)
            for option in answer.options
        ),
    )


def _in_short(option: OptionResult) -> OptionResult:
    return replace(
        option,
        checks=(),
        parts=(),
        loop=None,
        lap_times=None,
        delivery=None,
        running=None,
        stops=(),
        breakdowns=(),
    )


def document(value: Any) -> dict[str, Any]:
    """A result as the JSON that it is printed as, its schema first."""
    data = plain(value)
    return {"schema": data.pop("schema"), **data}


def plain(value: Any) -> Any:
    """Plain data for JSON: tables, lists, text and finite numbers.

    Examples
    --------
    >>> plain(Relaxation("rate.items", "18/min", "14.6/min", Decimal("41200.00")))
    {'key': 'rate.items', 'from': '18/min', 'to': '14.6/min', 'price': '41200.00'}
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {
            entry.metadata.get("name", entry.name): plain(getattr(value, entry.name))
            for entry in fields(value)
        }
    if isinstance(value, Mapping):
        return {key: plain(entry) for key, entry in value.items()}
    if isinstance(value, tuple | list):
        return [plain(entry) for entry in value]
    if isinstance(value, Decimal):
        return f"{value:.2f}"
    # JSON has no infinity; a limit that does not bind is left out as null.
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
