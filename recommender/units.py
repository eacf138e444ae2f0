"""Units in which an answer is written: those of the enquiry, whatever is computed in SI.

Which system holds is set once round the writing of an answer; what is not listed here is written as
it is everywhere.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

System: TypeAlias = Literal["metric", "us"]

_POUND: Final = 0.45359237
_FOOT: Final = 0.3048
_GRAVITY: Final = 9.80665


@dataclass(frozen=True)
class Shown:
    """A unit as it is written, how many of it one SI unit is, and decimals at most."""

    unit: str
    per_si: float
    decimals: int


_US: Final[Mapping[str, Shown]] = {
    "kg": Shown("lb", 1.0 / _POUND, 2),
    "m": Shown("in", 12.0 / _FOOT, 2),
    "m/s": Shown("ft/s", 1.0 / _FOOT, 3),
    "m/s^2": Shown("ft/s^2", 1.0 / _FOOT, 2),
    "m/s^3": Shown("ft/s^3", 1.0 / _FOOT, 1),
    "N": Shown("lbf", 1.0 / (_POUND * _GRAVITY), 1),
    "J": Shown("ft*lbf", 1.0 / (_POUND * _GRAVITY * _FOOT), 0),
    "N*m": Shown("ft*lbf", 1.0 / (_POUND * _GRAVITY * _FOOT), 1),
}
_LONG_US: Final = Shown("ft", 1.0 / _FOOT, 3)
_SHORT_US: Final = Shown("in", 12.0 / _FOOT, 4)
_LONG: Final = 2.0
"""Length from which on it is written in the long unit, m: what is longer than a man."""
_SHORT: Final = 2.54e-3
"""Length below which it is a tolerance, and written more finely, m."""

COUNTED: Final = frozenset({"carriers", "places", "sections", "supplies"})
"""Units of what is counted; a number of them is never written without its word."""

_SYSTEM: ContextVar[System] = ContextVar("system", default="metric")

US_UNITS: Final = frozenset(
    {"lb", "lbs", "pound", "pounds", "oz", "in", "inch", "inches", "ft", "foot", "feet", "yd"}
    | {"lbf", "ft/s", "in/s", "ft/s^2", "ft/s²", "in/s^2"}
)
"""What an enquiry in US customary units is known by."""


@contextmanager
def written_in(system: System) -> Iterator[None]:
    """Everything within is written in the units of a system.

    Examples
    --------
    >>> with written_in("us"):
    ...     shown("kg", 30.0)
    Shown(unit='lb', per_si=2.2046226218487757, decimals=2)
    >>> shown("kg", 30.0) is None
    True
    """
    token = _SYSTEM.set(system)
    try:
        yield
    finally:
        _SYSTEM.reset(token)


def shown(si: str, value: float) -> Shown | None:
    """How a value in an SI unit is written where that differs from what is usual.

    ``None`` if it is written as everywhere.
    """
    if _SYSTEM.get() == "metric":
        return None
    if si == "m" and abs(value) >= _LONG:
        return _LONG_US
    return _SHORT_US if si == "m" and 0.0 < abs(value) < _SHORT else _US.get(si)


def counted(number: str, unit: str) -> str:
    """A count with its word.

    Examples
    --------
    >>> counted("1", "places"), counted("5.98", "places"), counted("1", "supplies")
    ('1 place', '5.98 places', '1 supply')
    """
    if number == "1":
        unit = "supply" if unit == "supplies" else unit.removesuffix("s")
    return f"{number} {unit}"


def steps_of(si: str) -> float | None:
    """How many steps one SI unit has where numbers are rounded; ``None`` if as everywhere."""
    entry = None if _SYSTEM.get() == "metric" else _US.get(si)
    return entry.per_si if entry else None
