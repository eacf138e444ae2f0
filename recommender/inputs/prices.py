"""A price list of one's own, laid over a catalogue: which prices hold today, to the cent.

A line gives the list price of a part, what is taken off it and what is kept of the price that is
asked. Money is decimal throughout and rounded once, to whole cents, a half upward.
"""

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Final

from recommender.inputs.catalogue import PART_TABLES, Catalogue, Part
from recommender.inputs.errors import MOST_FAULTS, InputError, as_written, nearest
from recommender.inputs.files import read_bytes
from recommender.results.answer import PriceLine, PriceList
from recommender.shown import shown, shown_path

COLUMNS: Final = ("id", "price", "lead_time_weeks", "valid_from", "discount", "margin")
_NEEDED: Final = ("id", "price")
_CENT: Final = Decimal("0.01")
_HUNDRED: Final = Decimal(100)
_MOST_PRICE: Final = Decimal(10**9)
_MONEY: Final = re.compile(r"(?P<number>[0-9]{1,9}(\.[0-9]{1,2})?)")
_WEEKS: Final = re.compile(r"(?P<number>[0-9]{1,3}(\.[0-9]{1,2})?)")
_PER_CENT: Final = re.compile(r"(?P<number>[0-9]{1,3}(\.[0-9]{1,2})?)\s?%?")
_MOST_MARGIN: Final = 95


@dataclass(frozen=True)
class PriceRow:
    """A line of a price list as it was read; what it leaves empty is ``None``."""

    id: str
    price: Decimal | None
    lead_time: float | None
    valid_from: date | None
    discount: Decimal
    margin: Decimal


def asked_price(listed: Decimal, discount: Decimal, margin: Decimal) -> Decimal:
    """What is asked for a part, in whole cents.

    Parameters
    ----------
    listed : Decimal
        List price.
    discount : Decimal
        Per cent off it.
    margin : Decimal
        Per cent of the price that is asked, kept by the house; less than 100.

    Examples
    --------
    A list price of 200.00 with 10 % off is bought for 180.00; of 240.00 a quarter is kept:

    >>> asked_price(Decimal("200.00"), Decimal(10), Decimal(25))
    Decimal('240.00')
    """
    bought = listed * (_HUNDRED - discount)
    return (bought / (_HUNDRED - margin)).quantize(_CENT, rounding=ROUND_HALF_UP)


def read_prices(path: Path) -> tuple[PriceRow, ...]:
    """The lines of a price list.

    Raises
    ------
    InputError
        With one line for each fault: file, line, column, what was read, what would do.
    """
    name = shown_path(path)
    try:
        text = read_bytes(path, what="price list").decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{name}: is not UTF-8 text; save it as UTF-8") from None
    return parse_prices(text, name)


def parse_prices(text: str, name: str) -> tuple[PriceRow, ...]:
    """The lines of a price list from its text, parted by commas or by semicolons."""
    head, _, _ = text.partition("\n")
    parted = ";" if ";" in head else ","
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=parted, strict=True))
    except csv.Error as error:
        raise InputError(f"{name}: is no CSV ({shown(error)})") from None
    if not lines:
        raise InputError(f"{name}: is empty; its first line names {', '.join(COLUMNS)}")
    columns = _columns(lines[0], name)
    faults: list[str] = []
    rows: list[PriceRow] = []
    first_line: dict[tuple[str, date | None], int] = {}
    for number, cells in enumerate(lines[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        row, wrong = _row(columns, cells)
        faults += [f"{name}: line {number}: {fault}" for fault in wrong]
        if row is None:
            continue
        before = first_line.setdefault((row.id, row.valid_from), number)
        if before != number:
            faults.append(
                f"{name}: line {number}: {shown(row.id)} stands in line {before} already; keep one"
                " of the two, or give each its own valid_from"
            )
        rows.append(row)
    if faults:
        left = len(faults) - MOST_FAULTS
        more = [f"{name}: and {left} {'fault' if left == 1 else 'faults'} more"] if left > 0 else []
        raise InputError("\n".join(faults[:MOST_FAULTS] + more))
    return tuple(rows)


def _columns(head: Sequence[str], name: str) -> tuple[str, ...]:
    columns = tuple(cell.strip().lower() for cell in head)
    for column in columns:
        if column not in COLUMNS:
            raise InputError(
                f"{name}: column {as_written(column)} is not known here{nearest(column, COLUMNS)}"
            )
        if columns.count(column) > 1:
            raise InputError(f"{name}: column {column} stands there twice; keep one of the two")
    for needed in _NEEDED:
        if needed not in columns:
            raise InputError(
                f"{name}: has no column {needed}; its first line names {', '.join(COLUMNS)}, of"
                " which id and price are needed"
            )
    return columns


def _row(columns: Sequence[str], cells: Sequence[str]) -> tuple[PriceRow | None, list[str]]:
    """A line, or what is wrong with it."""
    if len(cells) != len(columns):
        return None, [f"has {len(cells)} entries for {len(columns)} columns"]
    said = {column: cell.strip() for column, cell in zip(columns, cells, strict=True)}
    faults: list[str] = []

    def read(column: str, pattern: re.Pattern[str], remedy: str) -> Decimal | None:
        text = said.get(column, "")
        found = pattern.fullmatch(text)
        if text and not found:
            faults.append(f"{column} {remedy} (read: {as_written(text)})")
        return Decimal(found["number"]) if found else None

    if not said["id"]:
        faults.append("id is missing; write the id of a part, such as bs-180")
    price = read("price", _MONEY, 'must be in whole cents with a point, such as "1240.00"')
    weeks = read("lead_time_weeks", _WEEKS, 'must be a number of weeks, such as "8"')
    discount = read("discount", _PER_CENT, 'must be per cent, such as "12.5"') or Decimal(0)
    margin = read("margin", _PER_CENT, 'must be per cent, such as "20"') or Decimal(0)
    if discount > _HUNDRED:
        faults.append(f"discount must be at most 100 per cent (read: {discount})")
    if margin > _MOST_MARGIN:
        faults.append(f"margin must be at most {_MOST_MARGIN} per cent of the price asked")
    valid_from = None
    if said.get("valid_from"):
        try:
            valid_from = date.fromisoformat(said["valid_from"])
        except ValueError:
            faults.append(
                "valid_from must be a day as in 2026-01-31, or empty"
                f" (read: {as_written(said['valid_from'])})"
            )
    if faults:
        return None, faults
    lead_time = float(weeks) if weeks is not None else None
    return PriceRow(said["id"], price, lead_time, valid_from, discount, margin), []


def priced(
    catalogue: Catalogue, rows: Sequence[PriceRow], today: date, file: str
) -> tuple[Catalogue, PriceList]:
    """A catalogue with the prices that hold on a day, and what became of the lines.

    Of several lines of a part the last one whose day has come holds.

    Raises
    ------
    InputError
        If a price comes out larger than a catalogue may have.
    """
    known = {part.id: part for table in PART_TABLES for part in getattr(catalogue, table)}
    holds = _holding(rows, today)
    lines = {id_: _line(known[id_], row, file) for id_, row in holds.items() if id_ in known}
    tables = {
        table: tuple(_with_price(part, lines) for part in getattr(catalogue, table))
        for table in PART_TABLES
    }
    # Made anew, so that nothing that the old one worked out of its parts stays.
    laid_over = Catalogue.model_construct(**{**dict(catalogue), **tables})
    return laid_over, PriceList(
        file=file,
        lines=tuple(lines[id_] for id_ in known if id_ in lines),
        unknown=tuple(dict.fromkeys(row.id for row in rows if row.id not in known)),
        missing=tuple(id_ for id_ in known if id_ not in lines),
        not_yet=tuple(
            dict.fromkeys(row.id for row in rows if row.id in known and _later(row, today))
        ),
    )


def _later(row: PriceRow, today: date) -> bool:
    return row.valid_from is not None and row.valid_from > today


def _holding(rows: Sequence[PriceRow], today: date) -> Mapping[str, PriceRow]:
    holds: dict[str, PriceRow] = {}
    for row in rows:
        if _later(row, today):
            continue
        old = holds.get(row.id)
        if old is None or (old.valid_from or date.min) < (row.valid_from or date.min):
            holds[row.id] = row
    return holds


def _line(part: Part, row: PriceRow, file: str) -> PriceLine:
    listed = part.price if row.price is None else row.price
    price = asked_price(listed, row.discount, row.margin)
    if price >= _MOST_PRICE:
        raise InputError(f"{file}: {part.id} comes to {price}, more than a price here may be")
    return PriceLine(
        id=part.id,
        listed=listed,
        discount=row.discount,
        margin=row.margin,
        price=price,
        lead_time_weeks=part.lead_time if row.lead_time is None else row.lead_time,
        valid_from=row.valid_from.isoformat() if row.valid_from else "",
    )


def _with_price(part: Part, lines: Mapping[str, PriceLine]) -> Part:
    line = lines.get(part.id)
    if line is None:
        return part
    return part.model_copy(update={"price": line.price, "lead_time": line.lead_time_weeks})


def notes_on(prices: PriceList) -> Iterator[str]:
    """What there is to say about a price list, each in a line."""
    used = len(prices.lines)
    yield f"{prices.file}: prices of {used} {'part' if used == 1 else 'parts'} used"
    for ids, said in (
        (prices.unknown, "not in the catalogue"),
        (prices.not_yet, "not used yet, as valid_from lies ahead"),
        (prices.missing, "without a price of today, at the catalogue's"),
    ):
        if ids:
            yield f"{prices.file}: {said}: {_some(ids)}"


_MOST_NAMED: Final = 8


def _some(ids: Sequence[str]) -> str:
    told = ", ".join(shown(id_) for id_ in ids[:_MOST_NAMED])
    left = len(ids) - _MOST_NAMED
    return f"{told} and {left} more" if left > 0 else told
