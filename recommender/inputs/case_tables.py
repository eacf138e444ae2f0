"""The tables of a case: what each key holds, and why its default is what it is."""

import re
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, field_validator

from recommender.inputs.lines import Name
from recommender.inputs.quantities import (
    Acceleration,
    Coordinate,
    Duration,
    ForceComponent,
    Jerk,
    LeadTime,
    Length,
    Mass,
    PositiveForce,
    PositiveLength,
    PositiveMass,
    Rate,
    Speed,
    Temperature,
    Viscosity,
)


@dataclass(frozen=True)
class Because:
    """Why a default is what it is; makes the default an assumption that the answer lists."""

    why: str


@dataclass(frozen=True)
class Told:
    """What a message about a key adds, whatever is wrong there."""

    told: str


class Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


_AMOUNT = r"[0-9]{1,12}(\.[0-9]{1,2})? [A-Z]{3}"
_FORCE = (
    "; a force on the load has three components: along the travel, outward, upward, so that"
    ' ["0 N", "0 N", "-150 N"] presses down with 150 N and ["-20 N", "0 N", "0 N"] holds back'
)
_Count = Annotated[int, Field(ge=1, le=20)]


class Liquid(Table):
    """Liquid in an open rectangular tray, its long side along the travel or across it."""

    length: PositiveLength
    depth: PositiveLength
    freeboard: PositiveLength
    width: Annotated[
        PositiveLength | None, Because("the liquid is taken to be as wide as the load")
    ] = None
    viscosity: Annotated[
        Viscosity | None, Because("the liquid is taken to be as thin as rules.liquid_viscosity")
    ] = None


class Load(Table):
    """The thing carried, one item."""

    mass: PositiveMass
    length: Annotated[PositiveLength, Because("a usual length along the travel")] = 0.3
    width: Annotated[PositiveLength, Because("a usual width across the travel")] = 0.3
    reach: Annotated[
        Coordinate, Because("the load's centre of gravity is taken above the guide centre line")
    ] = 0.0
    offset: Annotated[
        Coordinate, Because("the load is taken centred on the carrier along the travel")
    ] = 0.0
    cg_height: Annotated[
        Length, Because("a usual height of the centre of gravity above the mounting face")
    ] = 0.15
    held: Annotated[
        Literal["friction", "nested", "clamped"],
        Because("nothing but friction is sure to hold an item of which nothing more is known"),
    ] = "friction"
    friction: Annotated[
        float,
        Field(ge=0.01, le=1.5, allow_inf_nan=False),
        Because(
            "smooth metal on metal (CTU Code, annex 7, appendix 2); measure it for the real pair"
        ),
    ] = 0.2
    pocket: Annotated[
        PositiveLength | None,
        Because("the depth of the nest is not given; the load is taken to tip over its base"),
    ] = None
    clamping_force: Annotated[
        PositiveForce | None,
        Because("what the clamp holds is not given; it is taken to hold what the load bears"),
    ] = None
    liquid: Liquid | None = None


class Tooling(Table):
    """The fixture that stays on the carrier."""

    mass: Annotated[Mass, Because("no fixture is counted")] = 0.0
    reach: Annotated[
        Coordinate | None, Because("the fixture is taken to reach as far out as the load")
    ] = None
    cg_height: Annotated[Length, Because("a flat fixture on the mounting face")] = 0.02
    per: Literal["carrier", "item"] = "carrier"


class Demand(Table):
    """How many items a minute, and how many may share a carrier."""

    items: Rate
    per_carrier: Annotated[
        tuple[_Count, ...],
        Field(min_length=1, strict=False),
        Because("one item on a carrier, unless the enquiry allows more"),
    ] = (1,)
    reserve: Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)] | None = None

    @field_validator("per_carrier")
    @classmethod
    def _once_each(cls, counts: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(sorted(set(counts)))


class Floor(Table):
    """What the loop may occupy."""

    plane: Annotated[Literal["flat", "upright"], Because("a loop lying flat is the usual one")] = (
        "flat"
    )
    max_length: Annotated[
        PositiveLength | None,
        Because("the guide is not limited by the enquiry; the catalogue's longest loop is"),
    ] = None
    max_width: Annotated[PositiveLength | None, Because("the floor's width is taken as free")] = (
        None
    )
    max_height: Annotated[
        PositiveLength | None, Because("the room above an upright loop is taken as free")
    ] = None
    max_extent: Annotated[
        PositiveLength | None, Because("the floor's extent along the straights is taken as free")
    ] = None
    restart: Annotated[
        Literal["staggered", "together"],
        Because("after a stop the carriers are started one after another"),
    ] = "staggered"


class Station(Table):
    """A place where carriers stop."""

    name: Name
    dwell: Duration
    dwell_for: Literal["carrier", "item"] = "carrier"
    settling: Duration | None = None
    tolerance: Annotated[
        PositiveLength,
        Because("a usual tolerance of a load at rest; the time to settle follows from it"),
    ] = 0.2e-3
    dwell_variation: Annotated[
        float,
        Field(ge=0, le=1, allow_inf_nan=False),
        Because("the dwell is taken to be the same each time"),
    ] = 0.0
    after: Length = 0.0
    length: Annotated[
        PositiveLength | None, Because("a station is taken to be no longer than its carriers")
    ] = None
    positions: Annotated[_Count, Because("one carrier is served at a time")] = 1
    side: Literal["front", "back", "upper", "lower", "any"] = "any"
    at: Length | None = None
    clear_of_joints: bool = False
    force: Annotated[
        tuple[ForceComponent, ForceComponent, ForceComponent],
        Field(strict=False),
        Because("no process pushes on the load"),
        Told(_FORCE),
    ] = (0.0, 0.0, 0.0)

    _due: float | None = PrivateAttr(None)

    @property
    def due(self) -> float | None:
        """When the next station's work begins, counted from a carrier's departure here, s.

        So soon, or a takt or several later, for which the carrier waits on its way. No case says
        so; it follows where places of a line's handover fill in turn.
        """
        return self._due

    def due_in(self, seconds: float) -> "Station":
        """The same station, whose carriers are due at the next one after a time, s."""
        station = self.model_copy()
        station._due = seconds
        return station

    def dwell_with(self, items: int) -> float:
        """Standstill for the work on a carrier with some items, s."""
        return self.dwell * items if self.dwell_for == "item" else self.dwell

    def occupied_with(self, items: int) -> float:
        """Time that a carrier needs the place, from its arrival on, s.

        The dwell alone where the settling is left to be worked out for each option.
        """
        return self.dwell_with(items) + (self.settling or 0.0)


class Limits(Table):
    """Ceilings of motion that the customer names."""

    acceleration: Annotated[
        Acceleration | None,
        Because("what the load's hold bears, or else what is usual (rules.load_acceleration)"),
    ] = None
    jerk: Annotated[
        Jerk | None,
        Because("the jerk follows from the acceleration and the ramp time of the house"),
    ] = None
    speed: Annotated[
        Speed | None, Because("the carrier's own top speed is the only limit of speed")
    ] = None


class Site(Table):
    """Where the loop stands."""

    ambient: Annotated[
        Temperature,
        Field(ge=253.15, le=353.15),
        Because("the warmest that electrical equipment of machines must bear (IEC 60204-1, 4.4.3)"),
    ] = 313.15


class Life(Table):
    """How long the rollers must run, and how surely."""

    hours: Annotated[
        float,
        Field(ge=1, le=1e6, allow_inf_nan=False),
        Because("about five years in two shifts"),
    ] = 20000.0
    years: Annotated[
        float,
        Field(ge=0.1, le=100, allow_inf_nan=False),
        Because("over which the hours are spread, for the energy of a year"),
    ] = 5.0
    reliability: Annotated[
        float,
        Field(ge=90, le=99.95, allow_inf_nan=False),
        Because("the basic rating life of ISO 281 is the one that 90 % reach"),
    ] = 90.0


class Commercial(Table):
    """Money and time."""

    budget: str | None = None
    latest_delivery: LeadTime | None = None
    without: Annotated[tuple[Name, ...], Field(strict=False)] = ()

    @field_validator("budget", mode="before")
    @classmethod
    def _an_amount(cls, text: object) -> object:
        if not isinstance(text, str) or not re.fullmatch(_AMOUNT, text):
            raise ValueError('is not an amount; write it with its currency, such as "60000 EUR"')
        return text
