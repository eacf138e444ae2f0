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
    return _printed(_of_quantity(value, unit))


def _printed(text: str) -> str:
    """Powers and products of units as they are printed."""
    return text.replace("^2", "²").replace("^3", "³").replace("*", "·")


def spoken(text: str) -> str:
    """A quantity of a case file as it stands in a sentence, its size alone.

    Examples
    --------
    >>> spoken("-1076 mm"), spoken("12.5 m/s^2"), spoken("18/min"), spoken("0.0512 mm")
    ('1,076 mm', '12.5 m/s²', '18 items/min', '0.0512 mm')
    """
    return _printed(_thousands(text.removeprefix("-")).replace("/min", " items/min"))


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
    return _thousands(write(value, kind, _places(value * kind.per_si)))


def _thousands(text: str) -> str:
    """A written quantity with its thousands apart; decimals are left as they are."""
    return re.sub(r"(?<![0-9.])[0-9]{4,}", lambda digits: f"{int(digits[0]):,}", text, count=1)


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


def of_cents(amount: int, currency: str) -> str:
    """A price that is kept in whole cents.

    Examples
    --------
    >>> of_cents(3510500, "EUR")
    '35,105.00 EUR'
    """
    return money(Decimal(amount) / 100, currency)


def count(number: int) -> str:
    """A small number in words.

    Examples
    --------
    >>> count(3), count(12)
    ('three', '12')
    """
    return _COUNTS[number] if number < len(_COUNTS) else str(number)


def many(number: int, what: str) -> str:
    """So many of a thing.

    Examples
    --------
    >>> many(1, "carrier"), many(3, "carrier")
    ('one carrier', 'three carriers')
    """
    return f"{count(number)} {what}{'' if number == 1 else 's'}"


def sentence(text: str) -> str:
    """A capital first and a stop last.

    Examples
    --------
    >>> sentence("its lap takes 9.9 s")
    'Its lap takes 9.9 s.'
    """
    return text[:1].upper() + text[1:].rstrip(".") + "."


def lowered(title: str) -> str:
    """A title within a sentence."""
    return title[:1].lower() + title[1:]


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
