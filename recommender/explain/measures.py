"""Numbers, money and requirements as an engineer would say them."""

import re
from decimal import Decimal

from recommender import units
from recommender.inputs.quantities import KINDS, write

_LONG = 2.0
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def measure(value: float, unit: str, currency: str = "") -> str:
    """A number with its unit as people write it.

    Examples
    --------
    >>> measure(0.118, "length"), measure(13412.0, "h"), measure(12.0, "1"), measure(71.2, "N*m")
    ('118 mm', '13,412 h', '12', '71.2 N·m')
    """
    if value == float("inf"):
        return "more than any number"
    if unit == "money":
        return money(Decimal(f"{value:.2f}"), currency)
    if unit in ("h", "1"):
        return f"{value:,.0f} h" if unit == "h" else f"{value:.1f}".removesuffix(".0")
    if unit in units.COUNTED:
        return units.counted(f"{value:.1f}".removesuffix(".0"), unit)
    return _of_quantity(value, unit).replace("^2", "²").replace("^3", "³").replace("*", "·")


def _of_quantity(value: float, unit: str) -> str:
    kind = KINDS.get(unit)
    other = units.shown(kind.si if kind else unit, value)
    if other is not None:
        shown = value * other.per_si
        number = f"{shown:,.{_places(shown)}f}"
        number = number.rstrip("0").rstrip(".") if "." in number else number
        return f"{number} {other.unit}"
    if kind is None:
        return f"{value:,.{_places(value)}f} {unit}"
    # Long lengths are written in metres, for which millimetres are too fine in a sentence.
    if unit == "length" and abs(value) >= _LONG:
        return write(round(value, 2), kind)
    return thousands(write(value, kind, _places(value * kind.per_si)))


def thousands(text: str) -> str:
    """A written quantity with its thousands apart.

    Examples
    --------
    >>> thousands("1076 mm"), thousands("12.5 m"), thousands("20000 h")
    ('1,076 mm', '12.5 m', '20,000 h')
    """
    return re.sub(r"[0-9]{4,}", lambda digits: f"{int(digits[0]):,}", text, count=1)


def _places(shown: float) -> int:
    """Decimals that leave three digits or so."""
    size = abs(shown)
    return 0 if size >= 100 else 1 if size >= 10 else 2 if size >= 0.1 else 4


def money(amount: Decimal, currency: str) -> str:
    """A sum of money.

    Examples
    --------
    >>> money(Decimal("35105"), "EUR")
    '35,105.00 EUR'
    """
    return f"{amount:,.2f} {currency}"


def count(number: int) -> str:
    """A small number in words.

    Examples
    --------
    >>> count(3), count(12)
    ('three', '12')
    """
    return _COUNTS[number] if number < len(_COUNTS) else str(number)


def sentence(text: str) -> str:
    """A capital first and a stop last.

    Examples
    --------
    >>> sentence("its lap takes 9.9 s")
    'Its lap takes 9.9 s.'
    """
    return text[:1].upper() + text[1:].rstrip(".") + "."


def listed(names: list[str], last: str = "and") -> str:
    """Names in a row.

    Examples
    --------
    >>> listed(["mass", "reach", "rate"])
    'mass, reach and rate'
    """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
