"""What there is: families, carriers, guide parts, electrical parts and rules of the house."""

import hashlib
from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)
from pydantic_core import PydanticCustomError

from recommender.inputs.errors import InputError, explain
from recommender.inputs.files import read_toml
from recommender.inputs.quantities import (
    Acceleration,
    Angle,
    Coordinate,
    Duration,
    Force,
    Inertia,
    LeadTime,
    Length,
    MotorConstant,
    PositiveDuration,
    PositiveForce,
    PositiveLength,
    PositiveMass,
    PositivePower,
    Power,
    Speed,
)

_TABULATED_ANGLES = (25.0, 30.0, 35.0, 40.0, 45.0)


def _money(text: object) -> Decimal:
    if not isinstance(text, str):
        raise PydanticCustomError("money", 'is not a price; write it as text, such as "1240.00"')
    try:
        amount = Decimal(text)
    except ArithmeticError:
        raise PydanticCustomError("money", 'is not a price; write one such as "1240.00"') from None
    if not amount.is_finite() or amount < 0 or amount != amount.quantize(Decimal("0.01")):
        raise PydanticCustomError("money", "is not a price of whole cents, zero or more")
    return amount


def _tabulated(value: float) -> float:
    if value not in _TABULATED_ANGLES:
        raise PydanticCustomError(
            "angle", "must be a contact angle that ISO 281 tabulates: 25, 30, 35, 40 or 45"
        )
    return value


def _number(value: object) -> object:
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


Money = Annotated[Decimal, BeforeValidator(_money)]
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=40)]
Share = Annotated[float, BeforeValidator(_number), Field(ge=0, le=1, allow_inf_nan=False)]
Factor = Annotated[float, BeforeValidator(_number), Field(ge=1, le=20, allow_inf_nan=False)]
Triple = Annotated[tuple[Coordinate, Coordinate, Coordinate], Field(strict=False)]
Pair = Annotated[tuple[Coordinate, Coordinate], Field(strict=False)]


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Rules(_Table):
    """What the house asks of every loop, whatever the case."""

    drive_margin: Factor
    static_safety: Factor
    holding_safety: Factor
    carrier_gap: PositiveLength
    item_gap: Length
    ramp_time: PositiveDuration
    start_lag: Duration
    recovered: Share
    longest_loop: PositiveLength
    least_acceleration: Acceleration
    least_speed: Speed
    most_supplies: Annotated[int, Field(ge=1, le=50)]


class Part(_Table):
    """Anything that can be bought."""

    id: Id
    description: Annotated[str, Field(min_length=1, max_length=120)]
    price: Money
    lead_time: LeadTime


class Family(_Table):
    """How the carriers of a family are borne."""

    id: Id
    name: Annotated[str, Field(min_length=1, max_length=60)]
    trucks: Literal[1, 2]
    lower_guide: bool


class Roller(_Table):
    """A guide roller on a double-row angular contact bearing."""

    id: Id
    description: Annotated[str, Field(min_length=1, max_length=120)]
    diameter: PositiveLength
    dynamic_rating: PositiveForce
    static_rating: PositiveForce
    working_load: PositiveForce
    contact_angle: Annotated[float, BeforeValidator(_number), BeforeValidator(_tabulated)]
    flank_angle: Angle


class Carrier(Part):
    """One carrier variant, with all that its checks need."""

    family: Id
    mass: PositiveMass
    centre_of_gravity: Triple
    yaw_inertia: Inertia
    plate_length: PositiveLength
    plate_width: PositiveLength
    mounting_height: Length
    wheelbase: PositiveLength
    gauge: PositiveLength
    roller: Id
    preload: PositiveForce
    drag: Force
    rolling_coefficient: Annotated[float, Field(gt=0, lt=0.2, allow_inf_nan=False)]
    magnets: Annotated[int, Field(ge=1, le=4)]
    magnet_length: PositiveLength
    peak_force: PositiveForce
    continuous_force: PositiveForce
    knee_speed: Speed
    no_load_speed: Speed
    motor_constant: MotorConstant
    drive_line: Pair
    attraction: Force
    rated_payload: PositiveMass
    rated_reach: PositiveLength
    top_speed: Speed
    guide_depth: PositiveLength | None = None
    lower_roller: Id | None = None
    lower_preload: Force = 0.0
    coupling_distance: PositiveLength | None = None
    truck_yaw_inertia: Inertia = 0.0

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        if self.knee_speed >= self.no_load_speed:
            raise ValueError("knee_speed must lie below no_load_speed")
        if self.continuous_force > self.peak_force:
            raise ValueError("continuous_force must not exceed peak_force")
        if self.top_speed > self.no_load_speed:
            raise ValueError("top_speed must not exceed no_load_speed")
        if (self.guide_depth is None) != (self.lower_roller is None):
            raise ValueError("guide_depth and lower_roller go together")
        together = (self.coupling_distance or 0.0) + self.magnet_length
        if self.coupling_distance is not None and self.plate_length < together:
            raise ValueError("plate_length must hold coupling_distance and one magnet_length")
        return self

    @property
    def total_peak_force(self) -> float:
        """Peak force of all magnets together, N."""
        return self.magnets * self.peak_force


class Bend(Part):
    """A 180 degree bend: an arc, with or without curvature transitions."""

    radius: PositiveLength
    transition: Length
    sections: Annotated[int, Field(ge=1, le=12)]


class Straight(Part):
    """A straight section of the guideway with its windings."""

    length: PositiveLength
    takes_feed: bool = True


class LowerRail(Part):
    """The lower guide's rail along one straight or bend."""

    along: Id


class Supply(Part):
    """A DC supply and how many sections it may serve."""

    mean_power: PositivePower
    peak_power: PositivePower
    max_sections: Annotated[int, Field(ge=1, le=500)]


class Feed(Part):
    """A place where a supply feeds the guideway, and how many sections it reaches."""

    max_sections: Annotated[int, Field(ge=1, le=500)]


class Controller(Part):
    """A motion controller by the number of carriers and sections that it commands."""

    max_carriers: Annotated[int, Field(ge=1, le=1000)]
    max_sections: Annotated[int, Field(ge=1, le=2000)]


class Engineering(Part):
    """A fixed line of work: once an order, or for each station, carrier or section."""

    per: Literal["order", "station", "carrier", "section"]


class Header(_Table):
    """Name, money and marks of the catalogue."""

    id: Id
    title: Annotated[str, Field(min_length=1)]
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    section_idle_power: Power
    note: str = ""


class Catalogue(_Table):
    """A whole catalogue; lists are in the order of the files, files in the order of their names."""

    catalogue: Header
    rules: Rules
    family: Annotated[tuple[Family, ...], Field(min_length=1, strict=False)]
    roller: Annotated[tuple[Roller, ...], Field(min_length=1, strict=False)]
    carrier: Annotated[tuple[Carrier, ...], Field(min_length=1, strict=False)]
    bend: Annotated[tuple[Bend, ...], Field(min_length=1, strict=False)]
    straight: Annotated[tuple[Straight, ...], Field(min_length=1, strict=False)]
    lower_rail: Annotated[tuple[LowerRail, ...], Field(strict=False)] = ()
    supply: Annotated[tuple[Supply, ...], Field(min_length=1, strict=False)]
    feed: Annotated[tuple[Feed, ...], Field(min_length=1, strict=False)]
    controller: Annotated[tuple[Controller, ...], Field(min_length=1, strict=False)]
    engineering: Annotated[tuple[Engineering, ...], Field(strict=False)] = ()

    @model_validator(mode="after")
    def _cross_references(self) -> Self:
        for problem in self._dangling():
            raise ValueError(problem)
        return self

    def _dangling(self) -> Iterable[str]:
        for table in ID_TABLES:
            ids = [entry.id for entry in getattr(self, table)]
            for id_ in sorted({i for i in ids if ids.count(i) > 1}):
                yield f"has two entries [[{table}]] with id {id_!r}; give each its own id"
        for carrier in self.carrier:
            yield from self._dangling_carrier(carrier)
        yield from self._dangling_rails()

    def _dangling_carrier(self, carrier: Carrier) -> Iterable[str]:
        where = f"has [[carrier]] {carrier.id!r} with"
        references: list[tuple[str, str, Mapping[str, Any]]] = [
            ("family", carrier.family, self.families)
        ]
        rollers = [("roller", carrier.roller), ("lower_roller", carrier.lower_roller)]
        references += [(key, id_, self.rollers) for key, id_ in rollers if id_ is not None]
        for key, id_, known in references:
            if id_ not in known:
                yield f"{where} {key} {id_!r}; known are {_listed(known)}"
        family = self.families.get(carrier.family)
        if family is not None:
            if family.lower_guide != (carrier.guide_depth is not None):
                yield f"{where} a guide_depth that family {family.id!r} does not go with"
            if (family.trucks == 2) != (carrier.coupling_distance is not None):
                yield f"{where} a coupling_distance that family {family.id!r} does not go with"

    def _dangling_rails(self) -> Iterable[str]:
        guides = {part.id for part in (*self.bend, *self.straight)}
        for rail in self.lower_rail:
            if rail.along not in guides:
                where = f"has [[lower_rail]] {rail.id!r} along {rail.along!r}"
                yield f"{where}; known are {_listed(guides)}"
        if any(family.lower_guide for family in self.family):
            for id_ in sorted(guides - {rail.along for rail in self.lower_rail}):
                yield f"has no [[lower_rail]] along {id_!r}, but families with a lower guide"

    @cached_property
    def families(self) -> Mapping[str, Family]:
        """Families by id."""
        return {entry.id: entry for entry in self.family}

    @cached_property
    def rollers(self) -> Mapping[str, Roller]:
        """Rollers by id."""
        return {entry.id: entry for entry in self.roller}

    @cached_property
    def carriers(self) -> Mapping[str, Carrier]:
        """Carrier variants by id."""
        return {entry.id: entry for entry in self.carrier}

    @cached_property
    def bends(self) -> Mapping[str, Bend]:
        """Bends by id."""
        return {entry.id: entry for entry in self.bend}

    @cached_property
    def straights(self) -> Mapping[str, Straight]:
        """Straight sections by id."""
        return {entry.id: entry for entry in self.straight}

    @cached_property
    def lower_rails(self) -> Mapping[str, LowerRail]:
        """Lower rails by the guide part that they run along."""
        return {entry.along: entry for entry in self.lower_rail}

    @cached_property
    def digest(self) -> str:
        """Short fingerprint of the contents, the same wherever the files lie."""
        return hashlib.sha256(self.model_dump_json().encode()).hexdigest()[:16]


PART_TABLES = (
    "carrier",
    "bend",
    "straight",
    "lower_rail",
    "supply",
    "feed",
    "controller",
    "engineering",
)

ID_TABLES = ("family", "roller", *PART_TABLES)


def _listed(ids: Iterable[str]) -> str:
    return ", ".join(sorted(ids))


def read_catalogue(folder: Path) -> Catalogue:
    """The catalogue in a folder of TOML files, whose tables are joined.

    Raises
    ------
    InputError
        If the folder has no TOML file, a file is broken, a value is out of range, or a reference
        leads nowhere.
    """
    if not folder.is_dir():
        raise InputError(f"{folder}: there is no such catalogue folder; check the name")
    files = sorted(folder.glob("*.toml"))
    if not files:
        raise InputError(f"{folder}: holds no TOML file; a catalogue is a folder of them")
    joined: dict[str, Any] = {}
    for file in files:
        for key, value in read_toml(file).items():
            if isinstance(value, list):
                joined.setdefault(key, []).extend(_entries(key, value, file))
            elif key in joined:
                raise InputError(f"{file}: has a second [{key}]; keep one in the whole catalogue")
            else:
                joined[key] = value
    return make_catalogue(joined, str(folder))


def _entries(key: str, entries: list[Any], file: Path) -> list[BaseModel]:
    """Entries of one file: validated here, because the joined whole knows no file any more."""
    model = _ENTRY_MODELS.get(key)
    if model is None:
        raise InputError(f"{file}: [[{key}]] is not known here; known are {_listed(_ENTRY_MODELS)}")
    validated = []
    for number, entry in enumerate(entries, start=1):
        label = entry.get("id", number) if isinstance(entry, dict) else number
        try:
            validated.append(model.model_validate(entry))
        except ValidationError as error:
            raise explain(error, f"{file}: [[{key}]] {label}", model) from None
    return validated


_ENTRY_MODELS: dict[str, type[BaseModel]] = {
    "family": Family,
    "roller": Roller,
    "carrier": Carrier,
    "bend": Bend,
    "straight": Straight,
    "lower_rail": LowerRail,
    "supply": Supply,
    "feed": Feed,
    "controller": Controller,
    "engineering": Engineering,
}


def make_catalogue(data: dict[str, Any], where: str) -> Catalogue:
    """A catalogue from plain data.

    Raises
    ------
    InputError
        As ``read_catalogue``.
    """
    try:
        return Catalogue.model_validate(data)
    except ValidationError as error:
        raise explain(error, where, Catalogue) from None
