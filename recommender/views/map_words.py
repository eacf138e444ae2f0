"""What a map shows, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from recommender import units
from recommender.results.map import Map, MapCell, MapInput, MapOption
from recommender.views.numbers import listed, money, quantity, raised, share

HEADS: Final = ("", "option", "family", "share", "from", "to")
NOTHING: Final = "–"
_LETTERS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ"
_USUAL: Final = {"m": ("mm", 1e3), "1/s": ("/min", 60.0)}
_LONG: Final = 2.0
_SEEN: Final = 0.005


@dataclass(frozen=True)
class Scale:
    """How values of an input are written: the unit, and how many of it one SI unit is."""

    unit: str
    per_si: float

    def of(self, value: float) -> float:
        """A value in the unit."""
        return value * self.per_si


def scale_of(entry: MapInput) -> Scale:
    """One unit for all values of an input."""
    largest = max(map(abs, entry.values))
    if (other := units.shown(entry.unit, largest)) is not None:
        return Scale(raised(other.unit), other.per_si)
    if entry.unit in _USUAL and not (entry.unit == "m" and largest >= _LONG):
        return Scale(*_USUAL[entry.unit])
    return Scale("" if entry.unit == "1" else raised(entry.unit), 1.0)


def label(entry: MapInput) -> str:
    """An input with its unit, as an axis has it."""
    unit = scale_of(entry).unit
    # What is counted in a rate stands before its unit.
    unit = f"items{unit}" if entry.key == "rate.items" else unit
    return f"{entry.name}, {unit}" if unit else entry.name


def letters(found: Map) -> dict[str, str]:
    """A letter for each option, the cheapest first; numbers where letters do not suffice."""
    many = len(found.options) > len(_LETTERS)
    return {
        option.id: str(number) if many else _LETTERS[number - 1]
        for number, option in enumerate(found.options, start=1)
    }


def title(found: Map) -> str:
    """What is mapped."""
    inputs = f"{found.first.name} and {found.second.name}".lower()
    return f"{found.title}: what is cheapest by {inputs}, prices in {found.currency}"


def rows(found: Map) -> list[tuple[str, str]]:
    """Names and values of what was found."""
    return [
        ("This case", _asked(found)),
        ("Over", f"{_span(found.first)}; {_span(found.second)}; {len(found.cells):,} cells"),
        ("Nothing works", _nothing(found)),
        ("How sure", sure(found)),
    ]


def _span(entry: MapInput) -> str:
    first, last = (quantity(entry.values[k], entry.unit) for k in (0, -1))
    return f"{entry.key} from {first} to {last}"


def _asked(found: Map) -> str:
    inputs = [
        f"{entry.key} {quantity(entry.asked, entry.unit)}"
        for entry in (found.first, found.second)
        if entry.asked is not None
    ]
    with_what = f" with {listed(inputs)}" if inputs else ""
    return f"{cell_words(found.asked, found.currency)}{with_what}"


def cell_words(cell: MapCell, currency: str) -> str:
    """The choice of one cell."""
    if cell.option is None or cell.price is None:
        return "no option works" if cell.proven else "no option is found"
    return f"{cell.option}, {cell.carriers} carriers, {money(cell.price, currency)}"


def _nothing(found: Map) -> str:
    none = [cell for cell in found.cells if cell.option is None]
    told = f"in {share(len(none) / len(found.cells))} of the cells"
    left = sum(not cell.proven for cell in none)
    return f"{told}; {left:,} of them not proven" if left else told


def sure(found: Map) -> str:
    """How the cells were found, and how near their prices are to the least."""
    told = [f"{found.worked_out:,} cells were worked out"]
    if found.worked_out < len(found.cells):
        known = [entry.key for entry in (found.first, found.second) if entry.harder != "unknown"]
        asked = known if not found.alone else known[-1:]
        told.append(
            "the others lie between cells that cost the same, since less of what"
            f" {listed(asked)} {'ask' if len(asked) > 1 else 'asks'} never costs more"
        )
    if found.checked:
        told.append(f"{found.checked} were worked out again by themselves")
    told.append(f"nothing is cheaper by more than {100 * found.tolerance:g} %")
    if open_ := sum(not cell.proven for cell in found.cells):
        told[-1] += f", but in {open_:,} cells, which are marked, that is not proven"
    return "; ".join(told)


def option_row(option: MapOption, found: Map, letter: str) -> tuple[str, ...]:
    """An option as a row of a table."""
    part = option.cells / len(found.cells)
    return (
        letter,
        option.id,
        option.family,
        share(part) if part >= _SEEN else "< 1 %",
        f"{option.least:,.0f}",
        f"{option.most:,.0f}",
    )


def cells_between(count: int, most: int) -> Sequence[int]:
    """Some numbers of all, evenly spread, with both ends.

    Examples
    --------
    >>> cells_between(60, 5), cells_between(3, 5)
    ([0, 15, 30, 44, 59], [0, 1, 2])
    """
    if count <= most:
        return list(range(count))
    return [round(k * (count - 1) / (most - 1)) for k in range(most)]


CLOSING: Final = (
    "Prices and options are those of a case with the values of its cell and all else as it is."
)
