"""Values of a case that people type one by one, put where a file would have them."""

import re
import typing
from collections.abc import Mapping
from typing import Any, Final

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from recommender.inputs.case import Case
from recommender.inputs.errors import InputError
from recommender.inputs.quantities import kind_of
from recommender.inputs.si_case import table_of
from recommender.shown import shown

_NUMBER: Final = re.compile(r"[+-]?[0-9]{1,30}(\.[0-9]{1,30})?([eE][+-]?[0-9]{1,3})?")
_LISTED: Final = re.compile(r"[+,]")
_FLAGS: Final = {"true": True, "false": False}


def put(
    data: dict[str, Any], key: str, text: str, where: str, tables: type[BaseModel] = Case
) -> None:
    """Set a key of a case to what was typed; stations go by their names.

    What is no value of the key is left to the reader of cases to refuse.

    Parameters
    ----------
    data : dict
        The case as a file has it; changed in place.
    key : str
        Such as ``load.mass`` or ``station.unload.dwell``.
    text : str
    where : str
        What a message begins with.
    tables : model
        What says which keys there are.

    Raises
    ------
    InputError
        If there is no such table or station.

    Examples
    --------
    >>> data = {"load": {"mass": "30 kg"}}
    >>> put(data, "load.reach", "200 mm", "x")
    >>> put(data, "rate.per_carrier", "1, 2", "x")
    >>> data
    {'load': {'mass': '30 kg', 'reach': '200 mm'}, 'rate': {'per_carrier': [1, 2]}}
    """
    *way, last = _steps(key)
    at: Any = data
    table: Any = tables
    for step in way:
        at, table = _into(at, table, step, f"{where} {shown(key)}")
    if not isinstance(at, dict):
        raise InputError(
            f"{where} {shown(key)}: there is no station named; write station.NAME.{shown(last)}"
        )
    field = table.model_fields.get(last)
    at[last] = text if field is None else typed(text, field)


def _steps(key: str) -> list[str]:
    """The parts of a dotted key; the name of a station may have dots of its own."""
    if key.startswith("station.") and key.count(".") > 1:
        name, _, last = key.removeprefix("station.").rpartition(".")
        return ["station", name, last]
    return key.split(".")


def _into(at: Any, table: Any, step: str, where: str) -> tuple[Any, Any]:
    if isinstance(at, list):
        found = next((e for e in at if isinstance(e, dict) and e.get("name") == step), None)
        if found is None:
            names = ", ".join(shown(e.get("name")) for e in at if isinstance(e, dict))
            raise InputError(f"{where}: there is no station '{shown(step)}'; {names}")
        return found, table
    field = table.model_fields.get(step)
    inner = table_of(field) if field is not None else None
    if inner is None or not isinstance(at.get(step, {}), dict | list):
        raise InputError(f"{where}: {shown(step)} is no table of a case")
    if typing.get_origin(field.annotation) is tuple and step not in at:
        raise InputError(f"{where}: the case names no stations; write them there first")
    return at.setdefault(step, {}), inner


def typed(text: str, field: FieldInfo) -> Any:
    """What a file would have for what was typed.

    A quantity stays text; a number becomes one, and a list one of what is typed.
    """
    if kind_of(field) is not None and typing.get_origin(field.annotation) is not tuple:
        return text
    if typing.get_origin(field.annotation) is tuple:
        return [_plain(entry.strip()) for entry in _LISTED.split(text)]
    return _plain(text) if _takes_more_than_text(field) else text


def _takes_more_than_text(field: FieldInfo) -> bool:
    parts = {field.annotation, *typing.get_args(field.annotation)}
    # What is annotated within a choice of types hides its own.
    parts |= {part.__origin__ for part in parts if typing.get_origin(part) is typing.Annotated}
    return bool(parts & {int, float, bool})


def _plain(text: str) -> Any:
    if text in _FLAGS:
        return _FLAGS[text]
    if _NUMBER.fullmatch(text):
        return float(text) if "." in text or "e" in text.lower() else int(text)
    return text


def with_values(case: Case, values: Mapping[str, float]) -> Case:
    """The case with some of its numbers changed, SI.

    Examples
    --------
    >>> case = Case.model_validate({"load": {"mass": "3 kg"}, "rate": {"items": "9/min"}})
    >>> changed = with_values(case, {"load.mass": 4.0, "station.load.dwell": 2.0})
    >>> changed.load.mass, changed.station[0].dwell, changed.station[1].dwell
    (4.0, 2.0, 1.5)
    """
    tables: dict[str, dict[str, float]] = {}
    for key, value in values.items():
        table, _, name = key.rpartition(".")
        tables.setdefault(table, {})[name] = value
    update: dict[str, Any] = {
        table: getattr(case, table).model_copy(update=own)
        for table, own in tables.items()
        if table in Case.model_fields
    }
    update["station"] = tuple(
        station.model_copy(update=tables.get(f"station.{station.name}", {}))
        for station in case.station
    )
    return case.model_copy(update=update)
