"""The form: the fields of a case from its own schema, and the way from what is typed to a case."""

import re
import typing
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from recommender import units
from recommender.filling.questions import text_of
from recommender.inputs.case import Because, Case, make_case
from recommender.inputs.errors import InputError, by_key
from recommender.inputs.given import typed
from recommender.inputs.quantities import Kind, as_text, kind_of, system_of, write
from recommender.inputs.si_case import table_of
from recommender.page.words import GROUPS, HELP, LABELS, MAIN_OF_STATION, OPENED
from recommender.units import System, written_in
from recommender.views.numbers import raised

MOST_STATIONS: Final = 24
_NEW_STATION: Final = "1.5 s"
_STATION: Final = re.compile(r"station\[([1-9][0-9]?)\]\.([a-z_]{1,40})")
_NUMBER: Final = re.compile(r"^[\s0-9.+-]+")
_ENTRY: Final = re.compile(r"\[[0-9]{1,3}\]$")

Sort = Literal["text", "choice", "flag", "several"]


@dataclass(frozen=True)
class Entry:
    """One field of the form as the page shows it.

    ``name`` is its key in messages about a case, so that these find it. ``value`` is what was
    typed, ``chosen`` what was ticked of ``choices`` where several may be.
    """

    name: str
    label: str
    help: str
    unit: str
    taken: str
    sort: Sort
    choices: tuple[str, ...]
    needed: bool
    value: str = ""
    chosen: tuple[str, ...] = ()

    @property
    def given(self) -> bool:
        """Whether something was typed or ticked."""
        return bool(self.value or self.chosen)


@dataclass(frozen=True)
class Station:
    """The fields of one station: those that are always seen, and the others."""

    number: int
    name: str
    main: tuple[Entry, ...]
    others: tuple[Entry, ...]


@dataclass(frozen=True)
class Group:
    """Fields that belong together; the stations are a group of groups."""

    key: str
    title: str
    entries: tuple[Entry, ...]
    stations: tuple[Station, ...] = ()

    @property
    def opened(self) -> bool:
        """Whether it is unfolded from the start."""
        return self.key in OPENED or any(entry.given for entry in self.entries)


@dataclass(frozen=True)
class Read:
    """What was made of a form: a case, or what is wrong, by the names of fields.

    ``notes`` say how values in other units are understood. An empty name holds what concerns no
    field alone.
    """

    data: dict[str, Any]
    case: Case | None
    faults: Mapping[str, str]
    notes: Mapping[str, str]


def groups(data: Mapping[str, Any], items: Sequence[str]) -> list[Group]:
    """The form for a case as a file has it.

    Parameters
    ----------
    data : mapping
    items : sequence of str
        Groups of the parts list, any of which may be left out of an order.
    """
    with written_in(_system(data)):
        return _groups(data, items)


def _system(data: Mapping[str, Any]) -> System:
    """The units in which the case is answered, and what is taken for it is written."""
    return "us" if data.get("units", system_of(data)) == "us" else "metric"


def _groups(data: Mapping[str, Any], items: Sequence[str]) -> list[Group]:
    found = dict(_tables(Case, ""))
    order = [key for key in GROUPS if key in found]
    order += [key for key in found if key not in GROUPS]
    return [_group(key, found[key], data, items) for key in order]


def _tables(table: type[BaseModel], prefix: str) -> Iterator[tuple[str, type[BaseModel]]]:
    """Every table of a case with its key, itself first."""
    yield prefix, table
    for name, field in table.model_fields.items():
        inner = table_of(field)
        if inner is not None:
            yield from _tables(inner, f"{prefix}.{name}" if prefix else name)


def _group(
    key: str, table: type[BaseModel], data: Mapping[str, Any], items: Sequence[str]
) -> Group:
    title = GROUPS.get(key) or _words(key)
    if key == "station":
        given = data.get("station") or usual_stations()
        return Group(key, title, (), tuple(_station(n, e) for n, e in enumerate(given, start=1)))
    return Group(key, title, tuple(_entries(key, key, table, _at(data, key), items)))


def usual_stations() -> list[dict[str, Any]]:
    """What is taken where a case names no station, so that it can be seen and changed."""
    return [{"name": name, "dwell": _NEW_STATION} for name in ("load", "unload")]


def _station(number: int, given: Mapping[str, Any]) -> Station:
    table = dict(_tables(Case, ""))["station"]
    entries = tuple(_entries(f"station[{number}]", "station", table, given, ()))
    main = tuple(entry for entry in entries if entry.name.rpartition(".")[2] in MAIN_OF_STATION)
    others = tuple(entry for entry in entries if entry not in main)
    return Station(number, str(given.get("name", "")), main, others)


def _entries(
    prefix: str,
    key: str,
    table: type[BaseModel],
    given: Mapping[str, Any],
    items: Sequence[str],
) -> Iterator[Entry]:
    for name, field in table.model_fields.items():
        if table_of(field) is None:
            yield _entry(_joined(prefix, name), _joined(key, name), field, given.get(name), items)


def _joined(prefix: str, name: str) -> str:
    return f"{prefix}.{name}" if prefix else name


def _entry(name: str, key: str, field: FieldInfo, value: Any, items: Sequence[str]) -> Entry:
    kind = kind_of(field)
    sort, choices = _sort(key, field, items)
    several = sort == "several"
    return Entry(
        name=name,
        label=LABELS.get(key) or _words(key.rpartition(".")[2]),
        help=_help(key, field),
        unit=raised(_unit(kind)) if kind else "",
        taken=_taken(field),
        sort=sort,
        choices=choices,
        needed=field.is_required(),
        value="" if several else _written(value),
        chosen=tuple(map(str, value)) if several and isinstance(value, list | tuple) else (),
    )


def _unit(kind: Kind) -> str:
    """The unit in which a quantity is usually written."""
    other = units.shown(kind.si, 1.0)
    return other.unit if other else kind.shown


def _sort(key: str, field: FieldInfo, items: Sequence[str]) -> tuple[Sort, tuple[str, ...]]:
    if typing.get_origin(field.annotation) is Literal:
        return "choice", tuple(map(str, typing.get_args(field.annotation)))
    if field.annotation is bool:
        return "flag", ()
    if key == "commercial.without" and items:
        return "several", tuple(items)
    return "text", ()


def _taken(field: FieldInfo) -> str:
    """What is taken where nothing is typed; empty where that depends, or it is needed."""
    if field.is_required() or field.default in (None, ()) or field.annotation is bool:
        return ""
    return raised(as_text(field.default, kind_of(field)))


def _help(key: str, field: FieldInfo) -> str:
    """What a field asks, what would do, and what is taken for it and why."""
    kind = kind_of(field)
    said = [HELP.get(key) or text_of(key)]
    if kind is not None:
        said.append(f"{kind.with_article.capitalize()} with its unit, such as {kind.example}.")
    because = next((mark.why for mark in field.metadata if isinstance(mark, Because)), "")
    taken = _taken(field)
    if because:
        said.append(f"If it is open: {f'{taken}, ' if taken else ''}{because}.")
    return raised(" ".join(filter(None, said)))


def _words(key: str) -> str:
    """A key as words, where it has no name of its own."""
    text = key.replace(".", " ").replace("_", " ")
    return f"{text[:1].upper()}{text[1:]}"


def _written(value: Any) -> str:
    """A value of a file as one would type it."""
    if value is None or value is False:
        return ""
    if isinstance(value, list | tuple):
        return ", ".join(map(_written, value))
    return "yes" if value is True else str(value)


def _at(data: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    at: Any = data
    for step in filter(None, key.split(".")):
        at = at.get(step) if isinstance(at, Mapping) else None
    return at if isinstance(at, Mapping) else {}


def data_of(pairs: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """A case as a file has it, from what a form sends; what is empty is left open.

    Parameters
    ----------
    pairs : sequence of pairs
        Names of fields with what was typed. Names that no field has are left out.

    Examples
    --------
    >>> data_of([("load.mass", " 66 lb "), ("rate.per_carrier", "1, 2"), ("station[2].name", "b")])
    {'load': {'mass': '66 lb'}, 'rate': {'per_carrier': [1, 2]}, 'station': [{'name': 'b'}]}
    """
    tables = dict(_tables(Case, ""))
    # A case without them says which of their keys is missing, and so where on the form.
    data: dict[str, Any] = {"load": {}, "rate": {}}
    stations: dict[int, dict[str, Any]] = {}
    for name, typed_text in pairs:
        text = typed_text.strip()
        if match := _STATION.fullmatch(name):
            # One that is empty stays, so that messages count stations as the form does.
            _put(stations.setdefault(int(match[1]), {}), match[2], text, tables["station"])
            continue
        if not text:
            continue
        key, _, last = name.rpartition(".")
        known = key in tables and key != "station" and name == _joined(key, last)
        if known and last in tables[key].model_fields:
            at = data
            for step in filter(None, key.split(".")):
                at = at.setdefault(step, {})
            _put(at, last, text, tables[key])
    if stations:
        data["station"] = [stations[number] for number in sorted(stations)]
    return data


def _put(at: dict[str, Any], name: str, text: str, table: type[BaseModel]) -> None:
    field = table.model_fields.get(name)
    if not text or field is None or table_of(field) is not None:
        return
    if field.annotation is bool:
        at[name] = text == "yes"
    elif name == "without":
        at[name] = [*at.get(name, ()), *(one.strip() for one in text.split(","))]
    else:
        at[name] = typed(text, field)


def read(pairs: Sequence[tuple[str, str]]) -> Read:
    """What a form says, judged by the reader of cases."""
    data = data_of(pairs)
    names = [name for name, _ in pairs]
    try:
        case = Case.model_validate(data)
    except ValidationError as error:
        faults: dict[str, str] = {}
        for key, text in by_key(error, Case).items():
            name = _field_of(key, names)
            faults[name] = f"{faults[name]}; {text}" if name in faults else text
        return Read(data, None, faults, {})
    with written_in(case.units):
        return Read(data, case, {}, dict(_notes(data, case)))


def _field_of(key: str, names: Sequence[str]) -> str:
    """The field at which a fault is shown: that of a list for its entry; none if there is none."""
    while key and key not in names:
        shorter = _ENTRY.sub("", key)
        key = shorter if shorter != key else ""
    return key


def _notes(data: Mapping[str, Any], case: Case) -> Iterator[tuple[str, str]]:
    """How a quantity in another unit than the usual one is understood."""
    for name, text, value, field in _values(data, case, ""):
        kind = kind_of(field)
        if kind is None or not isinstance(text, str) or not isinstance(value, float):
            continue
        unit, usual = _NUMBER.sub("", text).strip(), write(value, kind)
        same = usual.replace(" ", "") == text.replace(" ", "")
        if not same and unit not in (_unit(kind), raised(_unit(kind))):
            yield name, raised(usual)


def _values(
    data: Mapping[str, Any], table: BaseModel, prefix: str
) -> Iterator[tuple[str, Any, Any, FieldInfo]]:
    for key, text in data.items():
        value, field = getattr(table, key), type(table).model_fields[key]
        name = _joined(prefix, key)
        if isinstance(value, BaseModel):
            yield from _values(text, value, name)
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for number, (one, written) in enumerate(zip(value, text, strict=True), start=1):
                yield from _values(written, one, f"{name}[{number}]")
        else:
            yield name, text, value, field


def opened(data: dict[str, Any], where: str) -> dict[str, Any]:
    """A case from a file, for the form; its faults stay, where the form can show them.

    Raises
    ------
    InputError
        If it holds what no field does.
    """
    try:
        make_case(data, where)
    except InputError:
        if _tidy(data_of(pairs_of(data))) != _tidy(data):
            raise
    return data


def pairs_of(data: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What a form that shows a case sends."""
    pairs: list[tuple[str, str]] = []
    for group in groups(data, ()):
        of_stations = [e for s in group.stations for e in (*s.main, *s.others)]
        if group.key == "station" and not data.get("station"):
            continue
        pairs += [(entry.name, entry.value) for entry in (*group.entries, *of_stations)]
    return pairs


def _tidy(value: Any) -> Any:
    """Data without what says nothing: empty tables, and flags that are not set."""
    if isinstance(value, Mapping):
        kept = {key: _tidy(entry) for key, entry in value.items()}
        return {key: entry for key, entry in kept.items() if entry not in ({}, [], False, None)}
    return [_tidy(entry) for entry in value] if isinstance(value, list) else value


def with_stations(data: Mapping[str, Any], do: str) -> dict[str, Any]:
    """The case with a station added behind the last, or one taken out: ``add``, ``remove 2``."""
    stations = [dict(entry) for entry in data.get("station") or ()]
    verb, _, number = do.partition(" ")
    if verb == "add" and len(stations) < MOST_STATIONS:
        known = {entry.get("name") for entry in stations}
        names = (f"station {n}" for n in range(len(stations) + 1, 2 * MOST_STATIONS + 2))
        stations.append({"name": next(n for n in names if n not in known), "dwell": _NEW_STATION})
    elif verb == "remove" and number.isdecimal() and 0 < int(number) <= len(stations) > 1:
        del stations[int(number) - 1]
    return {**data, "station": stations}
