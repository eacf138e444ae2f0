"""Physical quantities as text with a unit, in and out.

Text is read by pint, which is loaded only when a unit other than the usual ones has to be
understood. The number and the unit are taken apart first, so that each distinct unit is looked up
once.
"""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import chain
from typing import Annotated, Any, Final, get_args

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, PydanticCustomError

from recommender import units

LONGEST_TEXT: Final = 80
"""Characters of a quantity; each pattern below takes time in proportion to its text."""

_NUMBER: Final = re.compile(
    r"[+-]?(?:[0-9]++(?:\.[0-9]*+)?|\.[0-9]++)(?:[eE][+-]?[0-9]++)?",
)
# The same for those who cannot run it: a number, then something that is no number.
_WRITTEN: Final = r"^\s*[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?\s*[^\s0-9.,+-].*$"
# A unit is names with small powers, multiplied or divided. Anything else that the unit library
# would make sense of could hide a remark, a second number, or a power that takes a day to compute.
_NAME: Final = r"(?:[^\W\d_]\w*+|°\w?)"
_POWER: Final = r"(?:\s*+(?:\*\*|\^)\s*+\(?[+-]?[0-9](?:\.[0-9]{1,2})?\)?|[²³])?"
_UNIT: Final = re.compile(
    rf"(?:1\s*+/\s*+)?{_NAME}{_POWER}(?:(?:\s*+[*·/]\s*+|\s++){_NAME}{_POWER}){{0,7}}"
)

_COMMA: Final = re.compile(r"\s*[+-]?[0-9]+(?:,[0-9]+)+(?:\.[0-9]+)?(?![0-9.,])")
_THOUSANDS: Final = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?")
# What is counted in a rate says nothing about its size: items, parts, crates are all ones.
_COUNTED: Final = re.compile(
    r"(?:(?P<what>[^\W\d_]+)\s*)?(?:/\s*|\bper\s+|\ba\s+(?=[^\W\d_]))(?P<time>[^\W\d_]+)"
)
_TIMES: Final = {
    **dict.fromkeys(("s", "sec", "second", "seconds"), "/s"),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), "/min"),
    **dict.fromkeys(("h", "hr", "hour", "hours"), "/h"),
}
_COUNTABLE: Final = frozenset(
    name + ending
    for name in (
        *("item", "part", "piece", "load", "carrier", "unit", "product", "pc", "crate", "tray"),
        *("jar", "case", "carton", "pack", "bottle", "can", "bag"),
    )
    for ending in ("", "s")
) | {"box", "boxes"}


@dataclass(frozen=True)
class Kind:
    """One physical dimension: its SI unit, and the unit in which people read it.

    ``shown`` is written behind ``value * per_si`` with ``decimals`` places at most. A value is 0,
    or its size lies between ``least`` and ``most``: what is beyond is a slip of the pen.
    ``offset`` is what is shown where the SI value is 0, as of temperatures.
    """

    name: str
    si: str
    shown: str
    per_si: float
    decimals: int
    example: str
    least: float
    most: float
    offset: float = 0.0

    def __get_pydantic_json_schema__(
        self, core_schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """As it is written: text with a unit. As the answer's case has it: a number, SI."""
        if handler.mode == "serialization":
            return {**handler(core_schema), "description": f"{self.name}, {self.si}"}
        return {
            "type": "string",
            "pattern": _WRITTEN,
            "description": f"{self.name}, a number with its unit",
            "examples": [self.example],
        }

    @property
    def with_article(self) -> str:
        """The name as it stands in a sentence."""
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"


KINDS: Final = {
    kind.name: kind
    for kind in (
        Kind("mass", "kg", "kg", 1.0, 2, "30 kg", 1e-6, 1e5),
        Kind("length", "m", "mm", 1e3, 1, "200 mm", 1e-6, 1e3),
        Kind("duration", "s", "s", 1.0, 3, "1.2 s", 1e-6, 1e6),
        # Kept in weeks: nobody orders by the second, and no output should name one.
        Kind("lead time", "weeks", "weeks", 1.0, 1, "10 weeks", 1e-3, 1e4),
        Kind("rate", "1/s", "/min", 60.0, 2, "18/min", 1e-6, 1e3),
        Kind("speed", "m/s", "m/s", 1.0, 3, "1.5 m/s", 1e-3, 1e3),
        Kind("acceleration", "m/s^2", "m/s^2", 1.0, 3, "2.5 m/s^2", 1e-3, 1e4),
        Kind("jerk", "m/s^3", "m/s^3", 1.0, 2, "60 m/s^3", 1e-3, 1e7),
        Kind("force", "N", "N", 1.0, 1, "150 N", 1e-3, 1e6),
        Kind("stiffness", "N/m", "N/mm", 1e-3, 1, "250 N/mm", 1.0, 1e12),
        Kind("moment", "N*m", "N*m", 1.0, 1, "60 N*m", 1e-3, 1e6),
        Kind("temperature", "K", "°C", 1.0, 1, "30 °C", 0.01, 2e3, -273.15),
        Kind("voltage", "V", "V", 1.0, 1, "72 V", 1e-3, 1e5),
        Kind("resistance per length", "ohm/m", "mohm/m", 1e3, 2, "6 mohm/m", 1e-9, 1e3),
        Kind("power", "W", "W", 1.0, 1, "480 W", 1e-3, 1e7),
        Kind("energy", "J", "J", 1.0, 1, "250 J", 1e-6, 1e9),
        Kind("capacitance", "F", "mF", 1e3, 3, "4.7 mF", 1e-9, 1e3),
        Kind("inertia", "kg*m^2", "kg*m^2", 1.0, 6, "0.02 kg*m^2", 1e-9, 1e6),
        Kind("rotational stiffness", "N*m/rad", "N*m/rad", 1.0, 0, "9000 N*m/rad", 1.0, 1e8),
        Kind("angle", "rad", "deg", 180.0 / math.pi, 1, "45 deg", 1e-4, 100.0),
        Kind("kinematic viscosity", "m^2/s", "mm^2/s", 1e6, 3, "1 mm^2/s", 1e-8, 1.0),
        Kind("motor constant", "N/W^0.5", "N/W^0.5", 1.0, 2, "18 N/W^0.5", 1e-3, 1e4),
    )
}


# How many SI units one of the usual units is, by SI unit; what pint says, without loading it.
USUAL_UNITS: Final[Mapping[str, Mapping[str, float]]] = {
    "kg": {"kg": 1.0, "g": 1e-3, "t": 1e3},
    "m": {"m": 1.0, "mm": 1e-3, "cm": 1e-2},
    "s": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0, "days": 86400.0, "weeks": 604800.0},
    "1/s": {"/min": 1.0 / 60.0, "1/min": 1.0 / 60.0, "/s": 1.0, "1/s": 1.0, "/h": 1.0 / 3600.0},
    "m/s": {"m/s": 1.0, "mm/s": 1e-3, "m/min": 1.0 / 60.0},
    "m/s^2": {"m/s^2": 1.0, "m/s²": 1.0, "g0": 9.80665},
    "m/s^3": {"m/s^3": 1.0, "m/s³": 1.0},
    "N": {"N": 1.0, "kN": 1e3},
    "N/m": {"N/m": 1.0, "N/mm": 1e3, "kN/mm": 1e6},
    "N*m": {"N*m": 1.0, "N·m": 1.0},
    "K": {"K": 1.0},
    "V": {"V": 1.0, "mV": 1e-3},
    "ohm/m": {"ohm/m": 1.0, "mohm/m": 1e-3, "ohm/km": 1e-3},
    "W": {"W": 1.0, "kW": 1e3},
    "J": {"J": 1.0, "kJ": 1e3},
    "F": {"F": 1.0, "mF": 1e-3, "µF": 1e-6},
    "weeks": {"weeks": 1.0, "days": 1.0 / 7.0},
    "kg*m^2": {"kg*m^2": 1.0, "kg*m²": 1.0},
    "N*m/rad": {"N*m/rad": 1.0, "N·m/rad": 1.0, "kN*m/rad": 1e3},
    "rad": {"rad": 1.0, "deg": math.pi / 180.0, "°": math.pi / 180.0},
    "m^2/s": {"m^2/s": 1.0, "mm^2/s": 1e-6, "mm²/s": 1e-6, "cSt": 1e-6},
    "N/W^0.5": {"N/W^0.5": 1.0},
}


ICE_POINT: Final = 273.15
"""What 0 °C is in kelvins."""

_LEVELS: Final = {"°C": ICE_POINT, "degC": ICE_POINT}
"""Temperatures that are not counted from 0 K, by the name of their unit."""


@cache
def _registry() -> Any:
    import pint  # noqa: PLC0415 - loading it and its units takes longer than reading all files

    return pint.UnitRegistry(cache_folder=None)


@cache
def _factor(unit: str, si: str) -> float | None:
    """How many SI units one ``unit`` is; ``None`` if it is another dimension.

    Raises
    ------
    LookupError
        If no such unit is known.
    """
    if unit in USUAL_UNITS[si]:
        return USUAL_UNITS[si][unit]
    return pint_factor(f"1{unit}" if unit.startswith("/") else unit, si)


def _without_comma(number: str) -> str:
    """How a number with commas is to be written.

    Examples
    --------
    >>> _without_comma("7,5"), _without_comma("1,000.5"), _without_comma("7,500")
    ('7.5, with a point', '1000.5, without it', '7.5, with a point, or 7500')
    """
    plain, grouped = number.replace(",", ""), _THOUSANDS.fullmatch(number)
    if number.count(",") > 1 or "." in number:
        return f"{plain}, without it"
    pointed = number.replace(",", ".").rstrip("0").removesuffix(".")
    return f"{pointed}, with a point, or {plain}" if grouped else f"{pointed}, with a point"


def _per_time(unit: str) -> str:
    """The unit of a rate without what is counted, where it is written as people say it.

    Examples
    --------
    >>> _per_time("items/min"), _per_time("per minute"), _per_time("parts an hour"), _per_time("Hz")
    ('/min', '/min', 'parts an hour', 'Hz')
    """
    match = _COUNTED.fullmatch(unit)
    if match is None or match["time"] not in _TIMES:
        return unit
    if match["what"] is not None and match["what"] not in _COUNTABLE:
        return unit
    return _TIMES[match["time"]]


def pint_factor(unit: str, si: str) -> float | None:
    """How many SI units one ``unit`` is, by pint; ``None`` if it is another dimension.

    Raises
    ------
    LookupError
        If no such unit is known, or it is no unit but a level or a calculation.
    """
    if not _UNIT.fullmatch(unit):
        raise LookupError(unit)
    registry = _registry()
    try:
        quantity = registry.Quantity(1.0, unit)
        if not quantity.is_compatible_with(si):
            return None
        if _turns(unit) != _turns(si):
            return None
        factor = float(quantity.to(si).magnitude)
        doubled = float(registry.Quantity(2.0, unit).to(si).magnitude)
    except Exception as error:
        raise LookupError(unit) from error
    if not math.isclose(doubled, 2.0 * factor):
        raise LookupError(unit)  # a level such as dBm is no multiple of anything
    return factor


@cache
def _turns(unit: str) -> bool:
    """Whether a unit has an angle in it: 18 turns a minute are not 18 items a minute."""
    return "radian" in str(_registry().Quantity(1.0, unit).to_base_units().units)


def parse(text: object, kind: Kind) -> float:
    """The SI value of a quantity written as text.

    Parameters
    ----------
    text : object
        What the user wrote; anything but text is refused.
    kind : Kind
        The dimension that is wanted.

    Returns
    -------
    float, SI

    Raises
    ------
    PydanticCustomError
        If the text is a bare number, no number, not finite, of another dimension, or beyond all
        reason.

    Examples
    --------
    The international pound is 0.45359237 kg exactly (international yard and pound, 1959):

    >>> round(parse("66 lb", KINDS["mass"]), 8)
    29.93709642
    >>> parse("18/min", KINDS["rate"])
    0.3
    >>> round(parse("0.25 g0", KINDS["acceleration"]), 7)
    2.4516625
    """
    would_do = f'write {kind.with_article} as text with a unit, such as "{kind.example}"'
    if not isinstance(text, str):
        raise PydanticCustomError("bare_number", "has no unit; {remedy}", {"remedy": would_do})
    if len(text) > LONGEST_TEXT:
        raise PydanticCustomError(
            "too_long_text",
            "has more than {most} characters; {remedy}",
            {"most": LONGEST_TEXT, "remedy": would_do},
        )
    text = text.strip()
    match = _NUMBER.match(text)
    if match is None:
        raise PydanticCustomError("no_number", "is not a number; {remedy}", {"remedy": would_do})
    unit = text[match.end() :].strip()
    if comma := _COMMA.match(text):
        raise PydanticCustomError(
            "decimal_comma",
            "has a comma; write {number}",
            {"number": _without_comma(comma[0].strip())},
        )
    if not unit:
        raise PydanticCustomError("bare_number", "has no unit; {remedy}", {"remedy": would_do})
    if kind.si == "K" and unit in _LEVELS:
        return _within(float(match[0]) + _LEVELS[unit], kind, would_do)
    try:
        factor = _factor(_per_time(unit) if kind.si == "1/s" else unit, kind.si)
    except LookupError:
        raise PydanticCustomError(
            "unknown_unit",
            "has a unit that is not known; {remedy}",
            {"remedy": would_do},
        ) from None
    if factor is None:
        raise PydanticCustomError(
            "wrong_dimension",
            "is not {kind}; {remedy}",
            {"kind": kind.with_article, "remedy": would_do},
        )
    return _within(float(match[0]) * factor, kind, would_do)


def _within(value: float, kind: Kind, would_do: str) -> float:
    """A value that is finite and not out of all proportion."""
    if not math.isfinite(value):
        raise PydanticCustomError("not_finite", "is not finite; {remedy}", {"remedy": would_do})
    if value and not kind.least <= abs(value) <= kind.most:
        raise PydanticCustomError(
            "out_of_range",
            "is beyond what {kind} can be here, {least} to {most} {si}; look at its unit",
            {
                "kind": kind.with_article,
                "least": f"{kind.least:g}",
                "most": f"{kind.most:g}",
                "si": kind.si,
            },
        )
    return value


def write(value: float, kind: Kind, decimals: int | None = None) -> str:
    """Quantity text that ``parse`` reads back.

    Examples
    --------
    >>> write(0.118, KINDS["length"])
    '118 mm'
    >>> write(14.6 / 60, KINDS["rate"])
    '14.6/min'
    >>> write(8.0, KINDS["length"])
    '8 m'
    """
    shown, per_si = kind.shown, kind.per_si
    places = kind.decimals if decimals is None else decimals
    if kind.name == "length" and abs(value) >= 2.0:
        shown, per_si, places = "m", 1.0, 3
    if (other := units.shown(kind.si, value)) is not None:
        shown, per_si = other.unit, other.per_si
        places = other.decimals if decimals is None else decimals
    number = f"{value * per_si + kind.offset:.{places}f}"
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    number = "0" if number == "-0" else number
    return f"{number}{shown}" if shown.startswith("/") else f"{number} {shown}"


def system_of(data: object) -> units.System:
    """The system of units in which most masses and lengths of an enquiry are written.

    Examples
    --------
    >>> system_of({"load": {"mass": "66 lb", "reach": "8 in"}, "rate": {"items": "18/min"}})
    'us'
    """
    counts = {"us": 0, "metric": 0}
    metric = USUAL_UNITS["kg"].keys() | USUAL_UNITS["m"].keys()
    for unit in _units_in(data):
        counts["us"] += unit in units.US_UNITS
        counts["metric"] += unit in metric
    return "us" if counts["us"] > counts["metric"] else "metric"


def _units_in(data: object) -> Iterator[str]:
    if isinstance(data, Mapping):
        for value in data.values():
            yield from _units_in(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from _units_in(value)
    elif isinstance(data, str) and (match := _NUMBER.match(data := data[:LONGEST_TEXT].strip())):
        yield data[match.end() :].strip()


def kind_of(field: FieldInfo) -> Kind | None:
    """The kind of a field's quantity, or of its components; ``None`` if it is no quantity."""
    components = [getattr(part, "__metadata__", ()) for part in get_args(field.annotation)]
    marks = chain(field.metadata, *components)
    return next((mark for mark in marks if isinstance(mark, Kind)), None)


def as_text(value: object, kind: Kind | None) -> str:
    """A value as people read it, a quantity with its unit.

    Examples
    --------
    >>> as_text((0.03, -0.006), KINDS["length"]), as_text(20000.0, None), as_text(None, None)
    ('30 mm, -6 mm', '20000', 'not given')
    """
    if value is None:
        return "not given"
    if isinstance(value, tuple):
        return ", ".join(getattr(entry, "name", None) or as_text(entry, kind) for entry in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return write(value, kind) if kind else f"{value:g}"
    return str(value)


def _reader(name: str) -> BeforeValidator:
    kind = KINDS[name]
    return BeforeValidator(lambda text: parse(text, kind))


_FINITE: Final = Field(allow_inf_nan=False)
_POSITIVE: Final = Field(gt=0, allow_inf_nan=False)
_NOT_NEGATIVE: Final = Field(ge=0, allow_inf_nan=False)

PositiveMass = Annotated[float, _reader("mass"), _POSITIVE, KINDS["mass"]]
Mass = Annotated[float, _reader("mass"), _NOT_NEGATIVE, KINDS["mass"]]
PositiveLength = Annotated[float, _reader("length"), _POSITIVE, KINDS["length"]]
Length = Annotated[float, _reader("length"), _NOT_NEGATIVE, KINDS["length"]]
Coordinate = Annotated[float, _reader("length"), _FINITE, KINDS["length"]]
PositiveDuration = Annotated[float, _reader("duration"), _POSITIVE, KINDS["duration"]]
Duration = Annotated[float, _reader("duration"), _NOT_NEGATIVE, KINDS["duration"]]
LeadTime = Annotated[float, _reader("lead time"), _NOT_NEGATIVE, KINDS["lead time"]]
Rate = Annotated[float, _reader("rate"), _POSITIVE, KINDS["rate"]]
Speed = Annotated[float, _reader("speed"), _POSITIVE, KINDS["speed"]]
Acceleration = Annotated[float, _reader("acceleration"), _POSITIVE, KINDS["acceleration"]]
Jerk = Annotated[float, _reader("jerk"), _POSITIVE, KINDS["jerk"]]
PositiveForce = Annotated[float, _reader("force"), _POSITIVE, KINDS["force"]]
Force = Annotated[float, _reader("force"), _NOT_NEGATIVE, KINDS["force"]]
ForceComponent = Annotated[float, _reader("force"), _FINITE, KINDS["force"]]
Stiffness = Annotated[float, _reader("stiffness"), _POSITIVE, KINDS["stiffness"]]
Temperature = Annotated[float, _reader("temperature"), _POSITIVE, KINDS["temperature"]]
Voltage = Annotated[float, _reader("voltage"), _POSITIVE, KINDS["voltage"]]
LineResistance = Annotated[
    float, _reader("resistance per length"), _POSITIVE, KINDS["resistance per length"]
]
PositiveMoment = Annotated[float, _reader("moment"), _POSITIVE, KINDS["moment"]]
Power = Annotated[float, _reader("power"), _NOT_NEGATIVE, KINDS["power"]]
PositivePower = Annotated[float, _reader("power"), _POSITIVE, KINDS["power"]]
PositiveEnergy = Annotated[float, _reader("energy"), _POSITIVE, KINDS["energy"]]
Capacitance = Annotated[float, _reader("capacitance"), _NOT_NEGATIVE, KINDS["capacitance"]]
LinkVoltage = Annotated[float, _reader("voltage"), _NOT_NEGATIVE, KINDS["voltage"]]
Inertia = Annotated[float, _reader("inertia"), _NOT_NEGATIVE, KINDS["inertia"]]
Angle = Annotated[float, _reader("angle"), Field(gt=0, lt=math.pi / 2), KINDS["angle"]]
MotorConstant = Annotated[float, _reader("motor constant"), _POSITIVE, KINDS["motor constant"]]
Viscosity = Annotated[
    float, _reader("kinematic viscosity"), _POSITIVE, KINDS["kinematic viscosity"]
]
RotationalStiffness = Annotated[
    float, _reader("rotational stiffness"), _POSITIVE, KINDS["rotational stiffness"]
]
