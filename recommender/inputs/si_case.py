"""A case as an answer holds it, in SI units, read by the case's own reader."""

import typing
from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from recommender.inputs.case import Case, make_case
from recommender.inputs.errors import InputError
from recommender.inputs.quantities import Kind, kind_of


def case_in_si(data: Mapping[str, Any], where: str) -> Case:
    """The case of which an answer holds what was understood.

    Every value counts as given, also what was assumed at the time.

    Parameters
    ----------
    data : mapping
        As ``Case.model_dump(mode="json")`` gives it: numbers are SI.
    where : str
        What a message names.

    Raises
    ------
    InputError
        As ``make_case``, and if the numbers are not those of a case.

    Examples
    --------
    >>> case = Case.model_validate({"load": {"mass": "66 lb"}, "rate": {"items": "18/min"}})
    >>> case_in_si(case.model_dump(mode="json"), "an answer").model_dump() == case.model_dump()
    True
    """
    case = make_case(written_in_si(data, Case), where)
    if case.model_dump(mode="json") != data:
        raise InputError(f"{where}: is not a case as this version understands one")
    return case


def table_of(field: FieldInfo) -> type[BaseModel] | None:
    """The table that a field holds, one or a list of them; ``None`` if it holds a value."""
    for part in (field.annotation, *typing.get_args(field.annotation)):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return part
    return None


def written_in_si(data: Mapping[str, Any], table: type[BaseModel]) -> dict[str, Any]:
    """A table in SI as people would write it: quantities as text, what is not given left out."""
    written = {}
    for key, value in data.items():
        field = table.model_fields.get(key)
        if value is not None:
            written[key] = value if field is None else _value(value, field)
    return written


def _value(value: Any, field: FieldInfo) -> Any:
    kind, table = kind_of(field), table_of(field)
    if isinstance(value, list):
        return [_one(entry, kind, table) for entry in value]
    return _one(value, kind, table)


def _one(value: Any, kind: Kind | None, table: type[BaseModel] | None) -> Any:
    if table is not None and isinstance(value, Mapping):
        return written_in_si(value, table)
    if kind is not None and isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value!r} {kind.si}"
    return value


def values_of(data: Mapping[str, Any]) -> dict[str, tuple[Any, Kind | None]]:
    """Every value of a case in SI under its dotted key, with its kind if it is a quantity.

    Stations go by their names.

    Examples
    --------
    >>> case = Case.model_validate({"load": {"mass": "66 lb"}, "rate": {"items": "18/min"}})
    >>> found = values_of(case.model_dump(mode="json"))
    >>> found["rate.items"][0], found["station.unload.dwell"][0], found["loop.plane"]
    (0.3, 1.5, ('flat', None))
    """
    return dict(values_in(data, Case, ""))


def values_in(
    data: Mapping[str, Any], table: type[BaseModel], prefix: str
) -> Iterator[tuple[str, tuple[Any, Kind | None]]]:
    """As `values_of`, of any table whose lists hold what has a name; keys begin with a prefix."""
    for key, value in data.items():
        field = table.model_fields[key]
        inner = table_of(field)
        if inner is None:
            yield prefix + key, (value, kind_of(field))
        elif isinstance(value, Mapping):
            yield from values_in(value, inner, f"{prefix}{key}.")
        elif isinstance(value, list):
            for entry in value:
                yield from values_in(entry, inner, f"{prefix}{key}.{entry['name']}.")
