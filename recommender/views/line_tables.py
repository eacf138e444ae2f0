"""The bill of a line as text and spreadsheets for other programs."""

import csv
import io
from datetime import date
from decimal import Decimal
from typing import Final

from recommender.lines.result import LineAnswer, LinePartResult
from recommender.results.answer import PriceLine, plain
from recommender.shown import json_text
from recommender.views.order import delivery_text
from recommender.views.tables import csv_cell, part_columns
from recommender.views.workbook import Column, Formula, Sheet, Workbook

_SHARED: Final = "all loops"
_COLUMNS: Final = (
    "loop",
    "item",
    "id",
    "description",
    "quantity",
    "unit_price",
    "price",
    "currency",
    "lead_time_weeks",
    "why",
)


def line_parts_title(answer: LineAnswer) -> str:
    """What a list of parts is for."""
    return f"{answer.title}: parts of {len(answer.loops)} loops"


def _total(answer: LineAnswer) -> Decimal:
    return sum((part.price for part in answer.parts), start=Decimal(0))


def line_parts_json(answer: LineAnswer) -> str:
    """The bill as a JSON list; the loop of what is for several is null."""
    return json_text(plain(answer.parts))


def line_parts_csv(answer: LineAnswer) -> str:
    """The bill as CSV (RFC 4180): a title, a head, a line for each part, the total.

    Spreadsheets may read it, so no cell begins a formula.
    """
    text = io.StringIO()
    plainly = csv.DictWriter(text, _COLUMNS)
    quoted = csv.DictWriter(text, _COLUMNS, quoting=csv.QUOTE_NONNUMERIC)
    rows: list[dict[str, object]] = [
        {"item": line_parts_title(answer)},
        {name: name for name in _COLUMNS},
    ]
    rows += [
        {**plain(part), "loop": part.loop or _SHARED, "currency": answer.currency}
        for part in answer.parts
    ]
    delivery = answer.delivery
    rows.append(
        {
            "item": "total",
            "price": f"{_total(answer):.2f}",
            "currency": answer.currency,
            "lead_time_weeks": delivery.weeks if delivery else "",
            "why": f"delivery in {delivery_text(delivery)}" if delivery else "",
        }
    )
    for row in rows:
        cells = {name: csv_cell(row.get(name, "")) for name in _COLUMNS}
        parted = any(isinstance(cell, str) and ";" in cell for cell in cells.values())
        (quoted if parted else plainly).writerow(cells)
    return text.getvalue()


def line_parts_xlsx(answer: LineAnswer) -> bytes:
    """The bill as a workbook: parts with the loop of each, what one order saves, assumptions."""
    with Workbook(answer.currency, line_parts_title(answer)) as book:
        _parts_sheet(book, answer)
        _savings_sheet(book, answer)
        _assumptions_sheet(book, answer)
        _revision_sheet(book, answer)
    return book.data


def _parts_sheet(book: Workbook, answer: LineAnswer) -> None:
    listed = {line.id: line for line in answer.prices.lines} if answer.prices else {}
    columns = (Column("For", 16), *part_columns(bool(listed)))
    heads = [line_parts_title(answer), f"Prices in {answer.currency}"]
    sheet = book.sheet("Parts", columns, heads)
    first = sheet.row + 1
    for part in answer.parts:
        _part(sheet, part, listed.get(part.id), bool(listed))
    last = sheet.row
    sheet.filter_rows()
    price = chr(ord("A") + [column.title for column in columns].index("Price"))
    cells: dict[str, object] = {
        "For": "total",
        "Price": Formula(f"=SUM({price}{first}:{price}{last})", _total(answer)),
    }
    sheet.add_sum(*(cells.get(column.title) for column in columns))
    names = [*(loop.name for loop in answer.loops), _SHARED]
    for name in names:
        some = (part.price for part in answer.parts if (part.loop or _SHARED) == name)
        total = Formula(
            f'=SUMIF(A{first}:A{last},"{_quoted(name)}",{price}{first}:{price}{last})',
            sum(some, start=Decimal(0)),
        )
        cells = {"For": name, "Item": "of which", "Price": total}
        sheet.add(*(cells.get(column.title) for column in columns))


def _quoted(text: str) -> str:
    return text.replace('"', '""')


def _part(sheet: Sheet, part: LinePartResult, line: PriceLine | None, wide: bool) -> None:
    row = sheet.row + 1
    each: object = part.unit_price
    between: tuple[object, ...] = (None, None, None) if wide else ()
    if line is not None and line.price == part.unit_price:
        between = (line.listed, line.discount / 100, line.margin / 100)
        each = Formula(f"=ROUND(F{row}*(1-G{row})/(1-H{row}),2)", part.unit_price)
    price = Formula(f"=E{row}*{'I' if wide else 'F'}{row}", part.price)
    front = (part.loop or _SHARED, part.item, part.id, part.description, part.quantity)
    sheet.add(*front, *between, each, price, part.lead_time_weeks, part.why)


def _savings_sheet(book: Workbook, answer: LineAnswer) -> None:
    if answer.savings is None:
        return
    columns = (
        Column("Item", 22),
        Column("Apart", 16, "money"),
        Column("Together", 16, "money"),
        Column("Saved", 16, "money"),
    )
    sheet = book.sheet("Saved", columns, [answer.savings.sentence])
    first = sheet.row + 1
    for item in answer.savings.items:
        row = sheet.row + 1
        sheet.add(item.item, item.separate, item.together, Formula(f"=B{row}-C{row}", item.saved))
    last = sheet.row
    totals = (answer.savings.separate, answer.savings.together, answer.savings.saved)
    sums = (
        Formula(f"=SUM({letter}{first}:{letter}{last})", total)
        for letter, total in zip("BCD", totals, strict=True)
    )
    sheet.add_sum("total", *sums)


def _assumptions_sheet(book: Workbook, answer: LineAnswer) -> None:
    """What was taken for granted of each loop; what holds for all of them once."""
    columns = (
        Column("Loop", 16),
        Column("Key", 28),
        Column("Taken", 30),
        Column("Why", 60),
        Column("Question", 60),
    )
    sheet = book.sheet("Assumptions", columns)
    of_each = [(loop.name, loop.alone.assumptions) for loop in answer.loops]
    for name, lines in of_each:
        for line in lines:
            everywhere = all(line in others for _, others in of_each)
            if everywhere and name != of_each[0][0]:
                continue
            whose = _SHARED if everywhere else name
            sheet.add(whose, line.key, line.value, line.why, line.question)
    sheet.filter_rows()


def _revision_sheet(book: Workbook, answer: LineAnswer) -> None:
    """What the list was made from, and a line for this revision with room for the next."""
    columns = (
        Column("Revision", 22, "count"),
        Column("Date", 26, "date"),
        Column("Options", 44),
        Column("Price", 16, "money"),
        Column("What changed", 60),
    )
    sheet = book.sheet("Revision", columns)
    options = [f"{loop.name} {loop.chosen.id}" for loop in answer.loops if loop.chosen]
    sheet.add(1, date.today(), ", ".join(options), _total(answer), "first list")
    sheet.skip()
    bound = answer.proof.best_bound if answer.proof else None
    made_from = {
        "Line": answer.title,
        "Catalogue": answer.catalogue.id,
        "Catalogue digest": answer.catalogue.digest,
        "Price list": answer.prices.file if answer.prices else "none",
        "Program version": answer.program or "not installed",
        "Cheapest possible": f"{bound:.2f} {answer.currency}" if bound is not None else "",
    }
    for name, value in made_from.items():
        sheet.put(sheet.row, 0, name, "text")
        sheet.put(sheet.row, 1, str(value), "text")
        sheet.row += 1
    for line in answer.cautions[:1]:
        sheet.skip()
        sheet.put(sheet.row, 0, line, "text", wrap=False)
