"""What a case file says, as it stands there and as it was understood."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from recommender.inputs.case import Case
from recommender.inputs.errors import as_written
from recommender.inputs.quantities import Kind, as_text, kind_of


@dataclass(frozen=True)
class Understood:
    """One value of a case: its key, the text of the file, and the same in SI units."""

    key: str
    written: str
    si: str


def understood(data: Mapping[str, Any], case: Case) -> tuple[Understood, ...]:
    """Every value that a case file holds, in the order of the file.

    Parameters
    ----------
    data : mapping
        The file as TOML gives it.
    case : Case
        What was made of it.

    Examples
    --------
    >>> data = {"load": {"mass": "66 lb", "held": "nested"}, "rate": {"items": "18/min"}}
    >>> for line in understood(data, Case.model_validate(data)):
    ...     print(line.key, "|", line.written, "|", line.si)
    load.mass | "66 lb" | 29.9371 kg
    load.held | "nested" | nested
    rate.items | "18/min" | 0.3 1/s
    """
    return tuple(_values(data, case, ""))


def _values(data: Mapping[str, Any], table: BaseModel, prefix: str) -> Iterator[Understood]:
    for name, written in data.items():
        value, field = getattr(table, name), type(table).model_fields[name]
        if isinstance(value, BaseModel):
            yield from _values(written, value, f"{prefix}{name}.")
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            for entry, each in zip(value, written, strict=True):
                yield from _values(each, entry, f"{prefix}{name}.{getattr(entry, 'name', '')}.")
        else:
            yield Understood(prefix + name, as_written(written), in_si(value, field))


def in_si(value: object, field: FieldInfo) -> str:
    """A value in SI units, or as people read it if it is no quantity."""
    kind = kind_of(field)
    if kind is None:
        return as_text(value, None)
    entries = value if isinstance(value, tuple) else (value,)
    return ", ".join(_number(entry, kind) for entry in entries)


def _number(value: object, kind: Kind) -> str:
    return f"{value:.6g} {kind.si}"
