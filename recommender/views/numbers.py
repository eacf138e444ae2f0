"""Numbers, quantities and money as people read them."""

import math
from collections.abc import Sequence
from decimal import Decimal

from recommender import units

# SI unit: what is shown instead, and how many of it one SI unit is.
_SHOWN = {"m": ("mm", 1e3), "1/s": ("/min", 60.0)}
_LONG_LENGTH = 2.0


def quantity(value: float, unit: str, currency: str = "") -> str:
    """A number in its SI unit as people read it.

    Examples
    --------
    >>> quantity(0.118, "m"), quantity(3.759, "m"), quantity(20000.0, "h"), quantity(3.0, "1")
    ('118 mm', '3.76 m', '20,000 h', '3')
    """
    if math.isinf(value):
        return "∞"
    if unit == "money":
        return money(Decimal(value), currency)
    if unit == "1" or unit in units.COUNTED:
        number = f"{value:.2f}".rstrip("0").rstrip(".")
        return number if unit == "1" else units.counted(number, unit)
    if (other := units.shown(unit, value)) is not None:
        return f"{three_digits(value * other.per_si)} {raised(other.unit)}"
    if unit in _SHOWN and not (unit == "m" and abs(value) >= _LONG_LENGTH):
        unit, factor = _SHOWN[unit]
        value *= factor
    return f"{three_digits(value)} {raised(unit)}"


def raised(text: str) -> str:
    """Text with the powers and products of its units as one prints them.

    Examples
    --------
    >>> raised("2.5 m/s^2"), raised("50 m/s^3"), raised("12 N*m")
    ('2.5 m/s²', '50 m/s³', '12 N·m')
    """
    return text.replace("s^2", "s²").replace("s^3", "s³").replace("*", "·")


def lowered(title: str) -> str:
    """A title within a sentence.

    Examples
    --------
    >>> lowered("Load held by friction")
    'load held by friction'
    """
    return f"{title[:1].lower()}{title[1:]}"


def what_stops(check: str | None, harder: str | None) -> str:
    """The check that fails a step further, and the one that a harder motion fails instead.

    Examples
    --------
    >>> what_stops("Lap against the time", "Peak power of the supplies")
    'lap against the time or, run harder, peak power of the supplies'
    >>> what_stops("Load held by friction", None), what_stops(None, None)
    ('load held by friction', '')
    """
    stopped_by = lowered(check or "")
    return f"{stopped_by} or, run harder, {lowered(harder)}" if harder else stopped_by


def whole_amount(value: Decimal) -> str:
    """An amount without cents where it has none.

    Examples
    --------
    >>> whole_amount(Decimal("71549.00")), whole_amount(Decimal("12.50"))
    ('71,549', '12.50')
    """
    return f"{value:,.0f}" if value == value.to_integral_value() else amount(value)


def listed(names: Sequence[str]) -> str:
    """Names in a row.

    Examples
    --------
    >>> listed(["load", "press", "unload"])
    'load, press and unload'
    """
    *others, last = names
    return f"{', '.join(others)} and {last}" if others else last


def place(metres: float) -> str:
    """A place along the guide, as finely as stations are set.

    Examples
    --------
    >>> place(0.8), place(12.345)
    ('0.80 m', '12.35 m')
    """
    other = units.shown("m", 10.0)
    if other is None:
        return f"{metres:.2f} m"
    return f"{metres * other.per_si:.2f} {other.unit}"


def three_digits(value: float) -> str:
    """At least three digits, thousands apart.

    Examples
    --------
    >>> three_digits(0.3333), three_digits(12.34), three_digits(12345.6)
    ('0.333', '12.3', '12,346')
    """
    places = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2 if abs(value) >= 1 else 3
    return f"{value:,.{places}f}"


def amount(value: Decimal) -> str:
    """A sum of money whose currency stands elsewhere.

    Examples
    --------
    >>> amount(Decimal("35105"))
    '35,105.00'
    """
    return f"{value:,.2f}"


def money(value: Decimal, currency: str) -> str:
    """A sum of money.

    Examples
    --------
    >>> money(Decimal("35105"), "EUR")
    '35,105.00 EUR'
    """
    return f"{amount(value)} {currency}"


def share(value: float) -> str:
    """A utilisation in per cent.

    Examples
    --------
    >>> share(0.6345), share(float("inf"))
    ('63 %', '∞')
    """
    return "∞" if math.isinf(value) else f"{100 * value:.0f} %"
