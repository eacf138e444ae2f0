"""What there is: families, carriers, guide parts, electrical parts and rules of the house."""

import hashlib
import re
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Final, Self, TypeVar

from pydantic import AfterValidator, BaseModel, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from recommender.inputs.catalogue_entries import (
    Bend,
    BrakeResistor,
    Carrier,
    Controller,
    DeliveryStep,
    Energy,
    Engineering,
    Factor,
    Family,
    Feed,
    Id,
    LowerRail,
    OrderLine,
    Part,
    Roller,
    Share,
    Straight,
    Supply,
    Table,
)
from recommender.inputs.errors import InputError, explain, nearest
from recommender.inputs.files import read_folder
from recommender.inputs.lines import Description, Note
from recommender.inputs.quantities import (
    Acceleration,
    Duration,
    Length,
    LineResistance,
    PositiveDuration,
    PositiveLength,
    Power,
    Speed,
    Temperature,
    Viscosity,
)
from recommender.inputs.references import reference_faults
from recommender.shown import shown, shown_path

__all__ = [
    "BRAKE_RESISTORS",
    "ID_TABLES",
    "PART_TABLES",
    "Bend",
    "BrakeResistor",
    "Carrier",
    "Catalogue",
    "Controller",
    "DeliveryStep",
    "Energy",
    "Engineering",
    "Family",
    "Feed",
    "Header",
    "LowerRail",
    "OrderLine",
    "Part",
    "Roller",
    "Rules",
    "Straight",
    "Supply",
    "make_catalogue",
    "read_catalogue",
]


BRAKE_RESISTORS: Final = "brake resistors"
"""How a bill and an enquiry call them."""


def _three_capitals(text: str) -> str:
    if not re.fullmatch(r"[A-Z]{3}", text):
        raise PydanticCustomError("currency", 'must be three capital letters, such as "EUR"')
    return text


class Rules(Table):
    """What the house asks of every loop, whatever the case."""

    drive_margin: Factor
    static_safety: Factor
    holding_safety: Factor
    carrier_gap: PositiveLength
    item_gap: Length
    ramp_time: PositiveDuration
    start_lag: Duration
    recovered: Share
    longest_loop: Annotated[PositiveLength, Field(le=300)]
    least_acceleration: Acceleration
    most_acceleration: Acceleration = 40.0
    least_speed: Speed
    most_supplies: Annotated[int, Field(ge=1, le=50)]
    stop_delay: Duration = 0.1
    rate_reserve: Share
    guide_behind: PositiveLength
    load_acceleration: Acceleration = 10.0
    jerk_window: PositiveDuration = 0.05
    liquid_viscosity: Viscosity = 1e-6
    carrier_damping: Annotated[float, Field(gt=0, lt=1, allow_inf_nan=False)] = 0.03
    least_settling: Duration = 0.05
    # IEC 60034-1 rates machines for 40 °C; thermal class 130 (B) of IEC 60085.
    rated_ambient: Temperature = 313.15
    winding_limit: Temperature = 403.15
    # IEC 60204-1:2016, 12.5: from the point of supply to the load.
    voltage_drop: Annotated[float, Field(gt=0, le=0.5, allow_inf_nan=False)] = 0.05

    @model_validator(mode="after")
    def _windings_above_ambient(self) -> Self:
        if self.winding_limit <= self.rated_ambient:
            raise ValueError("winding_limit must lie above rated_ambient")
        return self


class Header(Table):
    """Name, money and marks of the catalogue."""

    id: Id
    title: Description
    currency: Annotated[str, AfterValidator(_three_capitals)]
    section_idle_power: Power
    bus_resistance: LineResistance | None = None
    note: Note = ""


class Catalogue(Table):
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
    order_line: Annotated[tuple[OrderLine, ...], Field(strict=False)] = ()
    brake_resistor: Annotated[tuple[BrakeResistor, ...], Field(strict=False)] = ()
    delivery_step: Annotated[tuple[DeliveryStep, ...], Field(strict=False)] = ()
    energy: Energy | None = None

    @model_validator(mode="after")
    def _cross_references(self) -> Self:
        for fault in reference_faults(self, ID_TABLES):
            raise PydanticCustomError("reference", "{text}", fault._asdict())
        return self

    @property
    def lines(self) -> tuple[OrderLine, ...]:
        """Lines of the order with rules of their own, work first."""
        return (*self.engineering, *self.order_line)

    @property
    def items(self) -> list[str]:
        """Groups of the order that an enquiry may leave out, in the order of the bill."""
        resistors = [BRAKE_RESISTORS] if self.brake_resistor else []
        return list(dict.fromkeys([*resistors, *(line.item for line in self.lines)]))

    def entry(self, id_: str) -> "Part | Family | Roller | DeliveryStep | None":
        """The entry of an id, which is its own in the whole catalogue, or ``None``."""
        entries = (entry for table in ID_TABLES for entry in getattr(self, table))
        return next((entry for entry in entries if entry.id == id_), None)

    @property
    def ids(self) -> list[str]:
        """All ids, in the order of the tables."""
        return [entry.id for table in ID_TABLES for entry in getattr(self, table)]

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
    "brake_resistor",
    "engineering",
    "order_line",
)

ID_TABLES = ("family", "roller", *PART_TABLES, "delivery_step")


def read_catalogue(folder: Path) -> Catalogue:
    """The catalogue in a folder of TOML files, whose tables are joined.

    Raises
    ------
    InputError
        If the folder has no TOML file, a file is broken, a value is out of range, or a reference
        leads nowhere.
    """
    joined: dict[str, Any] = {}
    origin: dict[tuple[str, str], Path] = {}
    for file, tables in read_folder(folder):
        for key, value in tables.items():
            _join(joined, origin, key, value, file)
    return make_catalogue(joined, shown_path(folder), origin)


def _join(
    joined: dict[str, Any],
    origin: dict[tuple[str, str], Path],
    key: str,
    value: object,
    file: Path,
) -> None:
    """Add a table of a file: validated here, because the joined whole knows no file any more."""
    name = shown_path(file)
    if key in _SINGLE_MODELS:
        if key in joined:
            raise InputError(f"{name}: has a second [{key}]; keep one in the whole catalogue")
        joined[key] = _validated(_SINGLE_MODELS[key], value, f"{name}: [{key}]")
        return
    if key not in _ENTRY_MODELS:
        known = (*_SINGLE_MODELS, *_ENTRY_MODELS)
        raise InputError(f"{name}: {shown(key)} is not known here{nearest(key, known)}")
    if not isinstance(value, list):
        raise InputError(
            f"{name}: {key} must be a list of tables; write [[{key}]] above each entry"
        )
    for number, entry in enumerate(value, start=1):
        id_ = entry.get("id") if isinstance(entry, dict) else None
        label = shown(id_) if isinstance(id_, str) else f"number {number}"
        made = _validated(_ENTRY_MODELS[key], entry, f"{name}: [[{key}]] {label}")
        joined.setdefault(key, []).append(made)
        # Where an id comes twice the later entry is the one to complain of.
        origin[key, made.id] = file


_Model = TypeVar("_Model", bound=BaseModel)


def _validated(model: type[_Model], value: object, where: str) -> _Model:
    try:
        return model.model_validate(value)
    except ValidationError as error:
        raise explain(error, where, model) from None


_SINGLE_MODELS: dict[str, type[Header | Rules | Energy]] = {
    "catalogue": Header,
    "rules": Rules,
    "energy": Energy,
}

_ENTRY_MODELS: dict[str, type[Family | Roller | Part | DeliveryStep]] = {
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
    "order_line": OrderLine,
    "brake_resistor": BrakeResistor,
    "delivery_step": DeliveryStep,
}


def make_catalogue(
    data: dict[str, Any], where: str, origin: Mapping[tuple[str, str], Path] | None = None
) -> Catalogue:
    """A catalogue from plain data.

    Parameters
    ----------
    data : dict
        Tables and lists of tables, as TOML gives them or validated.
    where : str
        What a message names if it knows no file.
    origin : mapping of (table, id) to Path, optional
        The files that the entries come from.

    Raises
    ------
    InputError
        As ``read_catalogue``.
    """
    try:
        return Catalogue.model_validate(data)
    except ValidationError as error:
        fault = error.errors(include_url=False)[0].get("ctx", {})
        table, id_ = fault.get("table"), fault.get("id")
        if table is not None and id_ is not None:
            file = (origin or {}).get((table, id_))
            where = f"{shown_path(file) if file else where}: [[{table}]] {id_}"
        raise explain(error, where, Catalogue) from None
