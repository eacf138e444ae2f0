"""Physical quantities as text with a unit, in and out.

Text is read by pint, whose registry is built only when the first unit has to be understood. The
number and the unit are taken apart first, so that each distinct unit is looked up once.
"""

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

_NUMBER_AND_UNIT: Final = re.compile(
    r"\s*(?P<number>[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(?P<unit>.*?)\s*", re.DOTALL
)


@dataclass(frozen=True)
class Kind:
    """One physical dimension: its SI unit, and the unit in which people read it.

    ``shown`` is written behind ``value * per_si`` with ``decimals`` places at most.
    """

    name: str
    si: str
    shown: str
    per_si: float
    decimals: int
    example: str


KINDS: Final = {
    kind.name: kind
    for kind in (
        Kind("mass", "kg", "kg", 1.0, 2, "30 kg"),
        Kind("length", "m", "mm", 1e3, 1, "200 mm"),
        Kind("duration", "s", "s", 1.0, 3, "1.2 s"),
        Kind("lead time", "s", "weeks", 1.0 / 604800.0, 1, "10 weeks"),
        Kind("rate", "1/s", "/min", 60.0, 2, "18/min"),
        Kind("speed", "m/s", "m/s", 1.0, 3, "1.5 m/s"),
        Kind("acceleration", "m/s^2", "m/s^2", 1.0, 3, "2.5 m/s^2"),
        Kind("jerk", "m/s^3", "m/s^3", 1.0, 2, "60 m/s^3"),
        Kind("force", "N", "N", 1.0, 1, "150 N"),
        Kind("power", "W", "W", 1.0, 1, "480 W"),
        Kind("inertia", "kg*m^2", "kg*m^2", 1.0, 4, "0.02 kg*m^2"),
        Kind("angle", "rad", "deg", 180.0 / math.pi, 1, "45 deg"),
        Kind("motor constant", "N/W^0.5", "N/W^0.5", 1.0, 2, "18 N/W^0.5"),
    )
}


@cache
def _registry() -> Any:
    import pint  # noqa: PLC0415 - building the registry costs as much as the whole choice

    return pint.UnitRegistry(cache_folder=None)


@cache
def _factor(unit: str, si: str) -> float | None:
    """How many SI units one ``unit`` is; ``None`` if it is another dimension.

    Raises
    ------
    LookupError
        If no such unit is known.
    """
    registry = _registry()
    try:
        quantity = registry.Quantity(1.0, unit)
        if not quantity.is_compatible_with(si):
            return None
        return float(quantity.to(si).magnitude)
    except Exception as error:
        raise LookupError(unit) from error


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
        If the text is a bare number, no number, not finite, or of another dimension.

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
    would_do = f'write a {kind.name} as text with a unit, such as "{kind.example}"'
    if not isinstance(text, str):
        raise PydanticCustomError("bare_number", "has no unit; {remedy}", {"remedy": would_do})
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if match is None:
        raise PydanticCustomError("no_number", "is not a number; {remedy}", {"remedy": would_do})
    unit = match["unit"]
    if not unit:
        raise PydanticCustomError("bare_number", "has no unit; {remedy}", {"remedy": would_do})
    try:
        factor = _factor(f"1{unit}" if unit.startswith("/") else unit, kind.si)
    except LookupError:
        raise PydanticCustomError(
            "unknown_unit",
            "has a unit that is not known ({unit}); {remedy}",
            {"unit": unit, "remedy": would_do},
        ) from None
    if factor is None:
        raise PydanticCustomError(
            "wrong_dimension",
            "is not a {kind}; {remedy}",
            {"kind": kind.name, "remedy": would_do},
        )
    value = float(match["number"]) * factor
    if not math.isfinite(value):
        raise PydanticCustomError("not_finite", "is not finite; {remedy}", {"remedy": would_do})
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
    number = f"{value * per_si:.{places}f}"
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    number = "0" if number == "-0" else number
    return f"{number}{shown}" if shown.startswith("/") else f"{number} {shown}"


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
