"""The two inputs that a map goes over: which keys of a case, from where to where."""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from recommender.faults import InputError, nearest_ids
from recommender.inputs.case import Case
from recommender.inputs.errors import as_written
from recommender.inputs.given import with_values
from recommender.inputs.quantities import Kind, as_text, kind_of, parse
from recommender.inputs.si_case import case_in_si

SHORT: Final[Mapping[str, str]] = {
    "mass": "load.mass",
    "reach": "load.reach",
    "rate": "rate.items",
}
"""Short names of the inputs that are asked for most."""

USUAL: Final = ("mass,rate",)
LEAST_POINTS, MOST_POINTS = 3, 100

_NAMES: Final[Mapping[str, str]] = {
    "load.mass": "Mass of an item",
    "load.reach": "Reach of an item",
    "rate.items": "Rate",
}
_TABLES: Final = ("load", "tooling", "rate", "loop", "limits", "site", "life")
_FROM, _TO = 1.0 / 3.0, 5.0 / 3.0
_DIGITS: Final = 2
# A comma between digits belongs to a number, whose refusal says so.
_COMMA: Final = re.compile(r"(?<!\d),|,(?!\d)")
_WOULD_DO: Final = (
    'two inputs, such as mass,rate or load.mass="10 kg to 60 kg",rate.items="6/min to 36/min"'
)


@dataclass(frozen=True)
class Over:
    """A key of a case with the values that it takes, SI, and the one that the case has."""

    key: str
    name: str
    unit: str
    values: tuple[float, ...]
    asked: float | None


@dataclass(frozen=True)
class _Entry:
    """A number of a case: its value, if it has one, and its kind, if it is a quantity."""

    value: float | None
    kind: Kind | None


def read_over(texts: Sequence[str], case: Case, points: int) -> tuple[Over, Over]:
    """Two inputs with evenly spaced values, from text.

    Parameters
    ----------
    texts : sequence of str
        Each one input or two with a comma between them: a short name or a key, which may be
        followed by its range. Without a range it goes from a third of the case's value to
        five thirds.
    case : Case
    points : int
        Values of each.

    Raises
    ------
    InputError
        With what was read and what would do.

    Examples
    --------
    >>> case = Case.model_validate({"load": {"mass": "30 kg"}, "rate": {"items": "18/min"}})
    >>> mass, rate = read_over(["mass,rate.items=6/min to 30/min"], case, 3)
    >>> mass.values, [round(60.0 * value, 9) for value in rate.values]
    ((10.0, 30.0, 50.0), [6.0, 18.0, 30.0])
    """
    if not LEAST_POINTS <= points <= MOST_POINTS:
        raise InputError(f"--points must be from {LEAST_POINTS} to {MOST_POINTS} (read: {points})")
    parts = [part.strip() for text in texts or USUAL for part in _COMMA.split(text)]
    if len(parts) != 2:
        raise InputError(f"--over must be {_WOULD_DO} (read: {as_written(', '.join(parts))})")
    first, second = (_over(part, case, points) for part in parts)
    if first.key == second.key:
        raise InputError(f"--over names {first.key} twice; a map goes over two inputs")
    kinds = {key: entry.kind for key, entry in _entries(case)}
    for one in (first.values[0], first.values[-1]):
        for other in (second.values[0], second.values[-1]):
            values = {first.key: one, second.key: other}
            told = ", ".join(f"{key}={as_text(v, kinds[key])}" for key, v in values.items())
            changed = with_values(case, values)
            case_in_si(changed.model_dump(mode="json"), f"--over {told}")
    return first, second


def _over(text: str, case: Case, points: int) -> Over:
    key, equals, span = (part.strip() for part in text.partition("="))
    key = SHORT.get(key, key)
    known = dict(_entries(case))
    if key not in known:
        raise InputError(
            f"--over: {as_written(key)} is no number of this case;"
            f" {nearest_ids(key, [*known, *SHORT])}"
        )
    entry = known[key]
    low, high = _span(span, key, entry, text) if equals else _usual(key, entry)
    step = (high - low) / (points - 1)
    values = (low, *(low + k * step for k in range(1, points - 1)), high)
    unit = entry.kind.si if entry.kind else "1"
    return Over(key, _NAMES.get(key, key), unit, values, entry.value)


def _span(span: str, key: str, entry: _Entry, text: str) -> tuple[float, float]:
    ends = [part.strip() for part in span.split(" to ")]
    try:
        low, high = (parse(e, entry.kind) if entry.kind else float(e) for e in ends)
    except ValueError as error:
        told = f": {error}" if entry.kind is not None and len(ends) == 2 else ""
        raise InputError(
            f"--over: the range of {key} must be two values, such as {_example(entry)}{told}"
            f" (read: {as_written(text)})"
        ) from None
    if not low < high or not (math.isfinite(low) and math.isfinite(high)):
        raise InputError(
            f"--over: the range of {key} must begin with the lower end (read: {as_written(text)})"
        )
    return low, high


def _example(entry: _Entry) -> str:
    if entry.kind is None:
        return '"0.2 to 0.6"'
    example = entry.kind.example
    unit = example.lstrip("0123456789.")
    return f'"{example} to {2.0 * float(example.removesuffix(unit)):g}{unit}"'


def _usual(key: str, entry: _Entry) -> tuple[float, float]:
    """From a third of the case's value to five thirds, in round numbers of the unit people read."""
    if entry.value is None or entry.value <= 0.0 or (entry.kind and entry.kind.offset):
        given = "not given" if entry.value is None else as_text(entry.value, entry.kind)
        raise InputError(
            f"--over: {key} is {given} in this case, which makes no range; write one, such as"
            f" {key}={_example(entry)}"
        )
    low, high = (_round(factor * entry.value, entry.kind) for factor in (_FROM, _TO))
    return low, high


def _round(value: float, kind: Kind | None) -> float:
    per_si = kind.per_si if kind else 1.0
    return float(f"{value * per_si:.{_DIGITS}g}") / per_si


def _entries(case: Case) -> Iterator[tuple[str, _Entry]]:
    """Every number of a case, given or not, under its key."""
    tables: list[tuple[str, BaseModel]] = [(name, getattr(case, name)) for name in _TABLES]
    tables += [(f"station.{station.name}", station) for station in case.station]
    for prefix, table in tables:
        for name, field in type(table).model_fields.items():
            if _is_number(field):
                yield f"{prefix}.{name}", _Entry(getattr(table, name), kind_of(field))


def _is_number(field: FieldInfo) -> bool:
    parts = {field.annotation, *get_args(field.annotation)}
    # What is annotated within a choice of types hides its own.
    parts |= {part.__origin__ for part in parts if hasattr(part, "__metadata__")}
    return float in parts and tuple not in parts
