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

from pydantic import BeforeValidator, Field
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from recommender import units

_NUMBER_AND_UNIT: Final = re.compile(
    r"\s*(?P<number>[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(?P<unit>.*?)\s*",
    re.DOTALL,
)
# A unit is names with small powers, multiplied or divided. Anything else that the unit library
# would make sense of could hide a remark, a second number, or a power that takes a day to compute.
_NAME: Final = r"(?:[^\W\d_]\w*|°\w?)"
_POWER: Final = r"(?:\s*(?:\*\*|\^)\s*\(?[+-]?[0-9](?:\.[0-9]{1,2})?\)?|[²³])?"
_UNIT: Final = re.compile(
    rf"(?:1\s*/\s*)?{_NAME}{_POWER}(?:(?:\s*[*·/]\s*|\s+){_NAME}{_POWER}){{0,7}}"
)


@dataclass(frozen=True)
class Kind:
    """One physical dimension: its SI unit, and the unit in which people read it.

    ``shown`` is written behind ``value * per_si`` with ``decimals`` places at most. A value is 0,
    or its size lies between ``least`` and ``most``: what is beyond is a slip of the pen.
    """

    name: str
    si: str
    shown: str
    per_si: float
    decimals: int
    example: str
    least: float
    most: float

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
        Kind("lead time", "s", "weeks", 1.0 / 604800.0, 1, "10 weeks", 1.0, 1e9),
        Kind("rate", "1/s", "/min", 60.0, 2, "18/min", 1e-6, 1e3),
        Kind("speed", "m/s", "m/s", 1.0, 3, "1.5 m/s", 1e-3, 1e3),
        Kind("acceleration", "m/s^2", "m/s^2", 1.0, 3, "2.5 m/s^2", 1e-3, 1e4),
        Kind("jerk", "m/s^3", "m/s^3", 1.0, 2, "60 m/s^3", 1e-3, 1e7),
        Kind("force", "N", "N", 1.0, 1, "150 N", 1e-3, 1e6),
        Kind("power", "W", "W", 1.0, 1, "480 W", 1e-3, 1e7),
        Kind("inertia", "kg*m^2", "kg*m^2", 1.0, 6, "0.02 kg*m^2", 1e-9, 1e6),
        Kind("angle", "rad", "deg", 180.0 / math.pi, 1, "45 deg", 1e-4, 100.0),
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
    "W": {"W": 1.0, "kW": 1e3},
    "kg*m^2": {"kg*m^2": 1.0, "kg*m²": 1.0},
    "rad": {"rad": 1.0, "deg": math.pi / 180.0, "°": math.pi / 180.0},
    "N/W^0.5": {"N/W^0.5": 1.0},
}


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
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if match is None:
        raise PydanticCustomError("no_number", "is not a number; {remedy}", {"remedy": would_do})
    unit = match["unit"]
    if not unit:
        raise PydanticCustomError("bare_number", "has no unit; {remedy}", {"remedy": would_do})
    try:
        factor = _factor(unit, kind.si)
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
    value = float(match["number"]) * factor
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
    number = f"{value * per_si:.{places}f}"
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
    elif isinstance(data, str) and (match := _NUMBER_AND_UNIT.fullmatch(data)) is not None:
        yield match["unit"]


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
Power = Annotated[float, _reader("power"), _NOT_NEGATIVE, KINDS["power"]]
PositivePower = Annotated[float, _reader("power"), _POSITIVE, KINDS["power"]]
Inertia = Annotated[float, _reader("inertia"), _NOT_NEGATIVE, KINDS["inertia"]]
Angle = Annotated[float, _reader("angle"), Field(gt=0, lt=math.pi / 2), KINDS["angle"]]
MotorConstant = Annotated[float, _reader("motor constant"), _POSITIVE, KINDS["motor constant"]]
