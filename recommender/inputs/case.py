"""One enquiry: what the customer asked, every default filled in and listed."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from recommender.inputs.errors import InputError, explain
from recommender.inputs.files import read_toml
from recommender.inputs.lines import Name
from recommender.inputs.quantities import (
    KINDS,
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
    as_text,
    kind_of,
    system_of,
    write,
)
from recommender.shown import shown_path


@dataclass(frozen=True)
class Because:
    """Why a default is what it is; makes the default an assumption that the answer lists."""

    why: str


@dataclass(frozen=True)
class Told:
    """What a message about a key adds, whatever is wrong there."""

    told: str


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


_AMOUNT = r"[0-9]{1,12}(\.[0-9]{1,2})? [A-Z]{3}"
_EXTENT = {"length": "long", "width": "wide"}
_LONGEST_GUIDE = 200.0
_RUNS = ("upper", "lower")
_STRAIGHT_OF = {"upper": "front", "front": "front", "lower": "back", "back": "back"}
_RUN_OF = {"front": "upper", "back": "lower"}
_FORCE = (
    "; a force on the load has three components: along the travel, outward, upward, so that"
    ' ["0 N", "0 N", "-150 N"] presses down with 150 N and ["-20 N", "0 N", "0 N"] holds back'
)
_Count = Annotated[int, Field(ge=1, le=20)]


class Liquid(_Table):
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


class Load(_Table):
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


class Tooling(_Table):
    """The fixture that stays on the carrier."""

    mass: Annotated[Mass, Because("no fixture is counted")] = 0.0
    reach: Annotated[
        Coordinate | None, Because("the fixture is taken to reach as far out as the load")
    ] = None
    cg_height: Annotated[Length, Because("a flat fixture on the mounting face")] = 0.02
    per: Literal["carrier", "item"] = "carrier"


class Demand(_Table):
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


class Floor(_Table):
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


class Station(_Table):
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

    def dwell_with(self, items: int) -> float:
        """Standstill for the work on a carrier with some items, s."""
        return self.dwell * items if self.dwell_for == "item" else self.dwell

    def occupied_with(self, items: int) -> float:
        """Time that a carrier needs the place, from its arrival on, s.

        The dwell alone where the settling is left to be worked out for each option.
        """
        return self.dwell_with(items) + (self.settling or 0.0)


class Limits(_Table):
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


class Site(_Table):
    """Where the loop stands."""

    ambient: Annotated[
        Temperature,
        Field(ge=253.15, le=353.15),
        Because("the warmest that electrical equipment of machines must bear (IEC 60204-1, 4.4.3)"),
    ] = 313.15


class Life(_Table):
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


class Commercial(_Table):
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


def _usual_stations() -> tuple[Station, ...]:
    return tuple(
        Station.model_validate({"name": name, "dwell": "1.5 s"}) for name in ("load", "unload")
    )


class Case(_Table):
    """A whole enquiry. One loop is one case; a line of loops would be a list of them."""

    title: Name = "Untitled enquiry"
    units: Literal["metric", "us"] = "metric"
    load: Load
    tooling: Tooling = Tooling()
    rate: Demand
    loop: Floor = Floor()
    station: Annotated[
        tuple[Station, ...],
        Field(default_factory=_usual_stations, min_length=1, max_length=24, strict=False),
        Because("one place to load and one to unload, 1.5 s each"),
    ]
    limits: Limits = Limits()
    site: Site = Site()
    life: Life = Life()
    commercial: Commercial = Commercial()

    @model_validator(mode="before")
    @classmethod
    def _answered_as_asked(cls, data: Any) -> Any:
        if isinstance(data, dict) and "units" not in data:
            return {**data, "units": system_of(data)}
        return data

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        first: dict[str, int] = {}
        for number, station in enumerate(self.station, start=1):
            if first.setdefault(station.name, number) != number:
                raise ValueError(
                    f"station[{number}].name is {station.name!r} like that of"
                    f" station[{first[station.name]}]; give each station its own name"
                )
        self._tray_holds_its_liquid()
        return self

    def _tray_holds_its_liquid(self) -> None:
        if self.loop.max_length is not None and self.loop.max_length > _LONGEST_GUIDE:
            raise ValueError(
                f"has a loop.max_length beyond the {_LONGEST_GUIDE:.0f} m that are looked at"
            )
        liquid = self.load.liquid
        if liquid is None:
            return
        length, width = KINDS["length"], self.liquid_width
        for key, inside, outside in (
            ("length", liquid.length, self.load.length),
            ("width", width, self.load.width),
        ):
            if inside > outside:
                raise ValueError(
                    f"load.liquid.{key} is {write(inside, length)}, more than load.{key} of"
                    f" {write(outside, length)}; a liquid is as {_EXTENT[key]} as its tray at most"
                )

    @property
    def sided(self) -> tuple[Station, ...]:
        """The stations, each with the straight that it is to stand on: front, back or any.

        On an upright loop the front straight is the upper run, where stations stand unless the
        lower run is asked for, on which loads hang upside down.
        """
        if self.loop.plane == "upright":
            sides = [_STRAIGHT_OF.get(station.side, "front") for station in self.station]
        else:
            sides = ["any" if s.side in _RUNS else s.side for s in self.station]
        return tuple(
            station if station.side == side else station.model_copy(update={"side": side})
            for station, side in zip(self.station, sides, strict=True)
        )

    def fixture_mass(self, items: int) -> float:
        """Mass of all fixtures on a carrier with some items, kg."""
        return self.tooling.mass * (items if self.tooling.per == "item" else 1)

    @property
    def minds_joints(self) -> bool:
        """Whether some station must be clear of the joints between sections."""
        return any(station.clear_of_joints for station in self.station)

    @property
    def liquid_width(self) -> float:
        """Width of the liquid's surface across the travel, m."""
        liquid = self.load.liquid
        return liquid.width if liquid and liquid.width is not None else self.load.width

    @property
    def tooling_reach(self) -> float:
        """Reach of the fixture's centre of gravity, m."""
        reach = self.tooling.reach
        return self.load.reach if reach is None else reach


@dataclass(frozen=True)
class Assumption:
    """Something that the enquiry did not say and the answer depends on."""

    key: str
    value: str
    why: str


def assumptions(case: Case) -> tuple[Assumption, ...]:
    """What the case left open, with the value that was taken and the reason."""
    return (*_assumed(case, ""), *_read_as(case))


def _read_as(case: Case) -> Iterator[Assumption]:
    """How words are read that mean something else in the other plane of the loop."""
    if case.loop.plane != "upright":
        yield from _for_upright_loops(case)
        return
    for station in case.station:
        if station.side in _RUN_OF:
            yield Assumption(
                f"station.{station.name}.side",
                _RUN_OF[station.side],
                f'"{station.side}" is read as "{_RUN_OF[station.side]}", as the runs of an upright'
                " loop are called",
            )
    if any(station.side == "any" for station in case.station):
        yield Assumption(
            "station.side",
            "upper",
            "stations stand on the upper run, since loads hang upside down on the lower one",
        )
    if case.loop.max_width is not None:
        yield Assumption(
            "loop.max_width",
            write(case.loop.max_width, KINDS["length"]),
            "on an upright loop the floor across it, from the back of the guide to the end of the"
            " load; its height is loop.max_height",
        )


def _for_upright_loops(case: Case) -> Iterator[Assumption]:
    """What a loop that lies flat makes nothing of."""
    if case.loop.max_height is not None:
        yield Assumption(
            "loop.max_height",
            "not looked at",
            "it is for an upright loop; this one lies flat, and loop.max_width is the floor across",
        )
    for station in case.station:
        if station.side in _RUNS:
            yield Assumption(
                f"station.{station.name}.side",
                "any",
                f'"{station.side}" is for an upright loop; the sides of one that lies flat are'
                ' "front" and "back"',
            )


def _assumed(table: BaseModel, prefix: str) -> Iterator[Assumption]:
    for name, field in type(table).model_fields.items():
        value = getattr(table, name)
        reason = next((m for m in field.metadata if isinstance(m, Because)), None)
        if reason is not None and name not in table.model_fields_set and _matters(table, name):
            yield Assumption(prefix + name, as_text(value, kind_of(field)), reason.why)
        if isinstance(value, BaseModel):
            yield from _assumed(value, f"{prefix}{name}.")
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            yield from _assumed_of_each(value, f"{prefix}{name}.")


def _assumed_of_each(entries: tuple[BaseModel, ...], prefix: str) -> Iterator[Assumption]:
    """Assumptions about the entries of a list; what holds for all of them is said once."""
    found = [list(_assumed(entry, "")) for entry in entries]
    shared = [line for line in found[0] if all(line in lines for lines in found)]
    yield from (replace(line, key=f"{prefix}{line.key}") for line in shared)
    for entry, lines in zip(entries, found, strict=True):
        label = getattr(entry, "name", "")
        yield from (
            replace(line, key=f"{prefix}{label}.{line.key}") for line in lines if line not in shared
        )


_MATTERS_IF_HELD = {
    "friction": {"friction"},
    "pocket": {"nested"},
    "clamping_force": {"clamped"},
}


def _matters(table: BaseModel, name: str) -> bool:
    """Whether the answer depends on a default: no friction where nothing slides, for one."""
    if isinstance(table, Load) and name == "friction" and table.held == "clamped":
        return table.clamping_force is not None
    if isinstance(table, Load) and name in _MATTERS_IF_HELD:
        return table.held in _MATTERS_IF_HELD[name]
    if isinstance(table, Station) and name == "tolerance":
        return table.settling is None
    if isinstance(table, Tooling) and name in {"reach", "cg_height"}:
        return table.mass > 0
    if isinstance(table, Floor) and name == "max_height":
        return table.plane == "upright"
    return True


def read_case(path: Path) -> Case:
    """A case from a TOML file.

    Raises
    ------
    InputError
        With one line for each fault: file, key, what was read, what would do.
    """
    return make_case(read_toml(path), shown_path(path))


def make_case(data: dict[str, Any], where: str) -> Case:
    """A case from plain data, as TOML gives it.

    Raises
    ------
    InputError
        As ``read_case``.
    """
    try:
        return Case.model_validate(data)
    except ValidationError as error:
        raise explain(error, where, Case) from None


def check_currency(case: Case, currency: str, where: str) -> None:
    """Refuse a budget in another money than the catalogue's prices.

    Raises
    ------
    InputError
        If the budget's currency differs.
    """
    budget = case.commercial.budget
    if budget is not None and budget.split()[1] != currency:
        raise InputError(
            f"{where}: commercial.budget must be in {currency}, as the catalogue's prices are"
            f' (read: "{budget}")'
        )


def check_without(case: Case, items: Sequence[str], where: str) -> None:
    """Refuse to leave out of an order what is no item of it.

    Raises
    ------
    InputError
        If an item is not among those of the catalogue.
    """
    for item in case.commercial.without:
        if item not in items:
            raise InputError(
                f"{where}: commercial.without may hold {', '.join(items)} (read: {item!r})"
            )


__all__ = [
    "Assumption",
    "Case",
    "InputError",
    "Station",
    "assumptions",
    "check_currency",
    "check_without",
    "make_case",
    "read_case",
]
