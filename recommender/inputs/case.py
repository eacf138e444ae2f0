"""One enquiry: what the customer asked, every default filled in and listed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, Field, ValidationError, model_validator

from recommender.inputs.case_tables import (
    Because,
    Commercial,
    Demand,
    Floor,
    Life,
    Limits,
    Load,
    Site,
    Station,
    Table,
    Tooling,
)
from recommender.inputs.errors import InputError, explain
from recommender.inputs.files import read_toml
from recommender.inputs.lines import Name
from recommender.inputs.quantities import KINDS, as_text, kind_of, system_of, write
from recommender.shown import shown_path

LINE_COMMANDS = (
    "answer, compare, why, parts, plan, sheet, changed, rehearse, doubt, batch or case check"
)
"""The commands that take a line of loops as well."""

_EXTENT = {"length": "long", "width": "wide"}
_LONGEST_GUIDE = 200.0
_RUNS = ("upper", "lower")
_STRAIGHT_OF = {"upper": "front", "front": "front", "lower": "back", "back": "back"}
_RUN_OF = {"front": "upper", "back": "lower"}


def _usual_stations() -> tuple[Station, ...]:
    return tuple(
        Station.model_validate({"name": name, "dwell": "1.5 s"}) for name in ("load", "unload")
    )


class Case(Table):
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
    def takes_turns(self) -> bool:
        """Whether carriers wait for turns on their way from some station."""
        return any(station.due is not None for station in self.station)

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
            text = _stations_text(value) if name == "station" else as_text(value, kind_of(field))
            yield Assumption(prefix + name, text, reason.why)
        if isinstance(value, BaseModel):
            yield from _assumed(value, f"{prefix}{name}.")
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            yield from _assumed_of_each(value, f"{prefix}{name}.")


def _stations_text(stations: tuple[Station, ...]) -> str:
    """Stations that are taken, with their dwells: what is asked for has both."""
    return ", ".join(
        f"{station.name} {write(station.dwell, KINDS['duration'])}" for station in stations
    )


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
    if "line" in data:
        raise InputError(
            f"{where}: holds a line of loops ([[line]]), and here one loop is wanted; name a case"
            f" of one loop, or give the line to {LINE_COMMANDS}"
        )
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
    "Because",
    "Case",
    "InputError",
    "Station",
    "assumptions",
    "check_currency",
    "check_without",
    "make_case",
    "read_case",
]
