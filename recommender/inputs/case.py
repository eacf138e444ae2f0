"""One enquiry: what the customer asked, every default filled in and listed."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from recommender.inputs.errors import InputError, explain
from recommender.inputs.files import read_toml
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
    PositiveLength,
    PositiveMass,
    Rate,
    Speed,
    as_text,
    kind_of,
    system_of,
    write,
)


@dataclass(frozen=True)
class Because:
    """Why a default is what it is; makes the default an assumption that the answer lists."""

    why: str


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


_AMOUNT = r"[0-9]{1,12}(\.[0-9]{1,2})? [A-Z]{3}"
_EXTENT = {"length": "long", "width": "wide"}
_LONGEST_GUIDE = 200.0
_Name = Annotated[str, Field(min_length=1, max_length=60)]
_Count = Annotated[int, Field(ge=1, le=20)]


class Liquid(_Table):
    """Liquid in an open rectangular tray, its long side along the travel or across it."""

    length: PositiveLength
    depth: PositiveLength
    freeboard: PositiveLength
    width: Annotated[
        PositiveLength | None, Because("the liquid is taken to be as wide as the load")
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
    liquid: Liquid | None = None


class Tooling(_Table):
    """The fixture that stays on the carrier."""

    mass: Annotated[Mass, Because("no fixture is counted")] = 0.0
    reach: Annotated[
        Coordinate | None, Because("the fixture is taken to reach as far out as the load")
    ] = None
    cg_height: Annotated[Length, Because("a flat fixture on the mounting face")] = 0.02


class Demand(_Table):
    """How many items a minute, and how many may share a carrier."""

    items: Rate
    per_carrier: Annotated[
        tuple[_Count, ...],
        Field(min_length=1, strict=False),
        Because("one item on a carrier, unless the enquiry allows more"),
    ] = (1,)

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
    max_extent: Annotated[
        PositiveLength | None, Because("the floor's extent along the straights is taken as free")
    ] = None
    restart: Annotated[
        Literal["staggered", "together"],
        Because("after a stop the carriers are started one after another"),
    ] = "staggered"


class Station(_Table):
    """A place where carriers stop."""

    name: _Name
    dwell: Duration
    settling: Annotated[Duration, Because("the usual time to come to rest within tolerance")] = 0.1
    dwell_variation: Annotated[
        float,
        Field(ge=0, le=1, allow_inf_nan=False),
        Because("the dwell is taken to be the same each time"),
    ] = 0.0
    after: Length = 0.0
    positions: Annotated[_Count, Because("one carrier is served at a time")] = 1
    side: Literal["front", "back", "any"] = "any"
    at: Length | None = None
    clear_of_joints: bool = False
    force: Annotated[
        tuple[ForceComponent, ForceComponent, ForceComponent],
        Field(strict=False),
        Because("no process pushes on the load"),
    ] = (0.0, 0.0, 0.0)

    @property
    def occupied(self) -> float:
        """Time that a carrier needs the place, from its arrival on, s."""
        return self.dwell + self.settling


class Limits(_Table):
    """Ceilings of motion that the customer names."""

    acceleration: Annotated[
        Acceleration | None, Because("the load is taken to bear what its hold and the drive allow")
    ] = None
    jerk: Annotated[
        Jerk | None,
        Because("the jerk follows from the acceleration and the ramp time of the house"),
    ] = None
    speed: Annotated[
        Speed | None, Because("the carrier's own top speed is the only limit of speed")
    ] = None


class Life(_Table):
    """How long the rollers must run, and how surely."""

    hours: Annotated[
        float,
        Field(ge=1, le=1e6, allow_inf_nan=False),
        Because("about five years in two shifts"),
    ] = 20000.0
    reliability: Annotated[
        float,
        Field(ge=90, le=99.95, allow_inf_nan=False),
        Because("the basic rating life of ISO 281 is the one that 90 % reach"),
    ] = 90.0


class Commercial(_Table):
    """Money and time."""

    budget: str | None = None
    latest_delivery: LeadTime | None = None

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

    title: _Name = "Untitled enquiry"
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
    return tuple(_assumed(case, ""))


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


def _matters(table: BaseModel, name: str) -> bool:
    """Whether the answer depends on a default: no friction where nothing slides, for one."""
    if isinstance(table, Load) and name == "friction":
        return table.held == "friction"
    if isinstance(table, Tooling) and name in {"reach", "cg_height"}:
        return table.mass > 0
    return True


def read_case(path: Path) -> Case:
    """A case from a TOML file.

    Raises
    ------
    InputError
        With one line for each fault: file, key, what was read, what would do.
    """
    return make_case(read_toml(path), str(path))


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


__all__ = [
    "Assumption",
    "Case",
    "InputError",
    "Station",
    "assumptions",
    "check_currency",
    "make_case",
    "read_case",
]
