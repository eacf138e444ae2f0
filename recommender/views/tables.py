"""Parts as text and spreadsheets for other programs."""

import csv
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import date
from decimal import Decimal
from typing import Any, Final

from recommender.results.answer import (
    Answer,
    DeliveryPlan,
    OptionResult,
    PartResult,
    PriceLine,
    plain,
)
from recommender.results.batch import Line
from recommender.shown import json_text, spreadsheet_cell
from recommender.views.order import delivery_text
from recommender.views.workbook import Column, Formula, Sheet, Workbook

_COLUMNS: Final = (
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


def parts_title(answer: Answer, option: OptionResult) -> str:
    """What a list of parts is for."""
    return f"{answer.case.get('title', '')}: parts of {option.id}"


def parts_csv(
    parts: Sequence[PartResult], title: str, currency: str, delivery: DeliveryPlan | None = None
) -> str:
    """The bill of materials as CSV (RFC 4180): a title, a head, a line for each part, the total.

    Spreadsheets may read it, so no cell begins a formula.
    """
    text = io.StringIO()
    plainly = csv.DictWriter(text, _COLUMNS)
    quoted = csv.DictWriter(text, _COLUMNS, quoting=csv.QUOTE_NONNUMERIC)
    rows: list[dict[str, Any]] = [
        {"item": title},
        {name: name for name in _COLUMNS},
    ]
    rows += [plain(part) | {"currency": currency} for part in parts]
    rows.append(
        {
            "item": "total",
            "price": f"{total_of(parts):.2f}",
            "currency": currency,
            "lead_time_weeks": delivery.weeks if delivery else "",
            "why": f"delivery in {delivery_text(delivery)}" if delivery else "",
        }
    )
    for row in rows:
        cells = {name: csv_cell(row.get(name, "")) for name in _COLUMNS}
        parted = any(isinstance(cell, str) and ";" in cell for cell in cells.values())
        (quoted if parted else plainly).writerow(cells)
    return text.getvalue()


def lines_csv(lines: Sequence[Line]) -> str:
    """Lines of many cases as CSV; no cell begins a formula."""
    text = io.StringIO()
    writer = csv.writer(text)
    columns = [field.name for field in fields(Line)]
    writer.writerow(columns)
    for line in map(plain, lines):
        writer.writerow(csv_cell(line[name]) for name in columns)
    return text.getvalue()


def lines_jsonl(lines: Sequence[Line]) -> str:
    """Lines of many cases as JSON, one document on each line."""
    return "".join(json.dumps(plain(line), ensure_ascii=False) + "\n" for line in lines)


def csv_cell(value: object) -> object:
    """A cell that begins no formula, nor does what stands behind a semicolon in it.

    A spreadsheet that takes semicolons for commas begins a cell behind each of them.

    Examples
    --------
    >>> csv_cell("=1"), csv_cell("a; =1;b"), csv_cell(-3)
    ("'=1", "a;' =1;b", -3)
    """
    if not isinstance(value, str):
        return value
    return ";".join(str(spreadsheet_cell(part)) for part in value.split(";"))


def parts_json(parts: Sequence[PartResult]) -> str:
    """The bill of materials as a JSON list."""
    return json_text(plain(parts))


def total_of(parts: Sequence[PartResult]) -> Decimal:
    """What all lines come to."""
    return sum((part.price for part in parts), start=Decimal(0))


def parts_xlsx(answer: Answer, option: OptionResult) -> bytes:
    """The bill of materials as a workbook: parts, what was assumed, what it was made from."""
    title = parts_title(answer, option)
    with Workbook(option.currency, title) as book:
        _parts_sheet(book, answer, option)
        _assumptions_sheet(book, answer)
        _revision_sheet(book, answer, option)
    return book.data


def part_columns(listed: bool) -> tuple[Column, ...]:
    """Columns of a sheet of parts, with list prices where a price list was read."""
    front = (
        Column("Item", 16),
        Column("Part", 20),
        Column("Description", 44),
        Column("Pieces", 8, "count"),
    )
    from_list = (
        Column("List price", 15, "money"),
        Column("Discount", 9, "percent"),
        Column("Margin", 9, "percent"),
    )
    back = (
        Column("Each", 15, "money"),
        Column("Price", 16, "money"),
        Column("Weeks", 8, "number"),
        Column("Why", 44),
    )
    return (*front, *(from_list if listed else ()), *back)


def _parts_sheet(book: Workbook, answer: Answer, option: OptionResult) -> None:
    listed = {line.id: line for line in answer.prices.lines} if answer.prices else {}
    columns = part_columns(bool(listed))
    heads = [parts_title(answer, option), f"Prices in {option.currency}"]
    sheet = book.sheet("Parts", columns, heads)
    first = sheet.row + 1
    for part in option.parts:
        _part(sheet, part, listed, bool(listed))
    last = sheet.row
    sheet.filter_rows()
    price, weeks = (_letter(columns, title) for title in ("Price", "Weeks"))
    cells: dict[str, object] = {
        "Item": "total",
        "Price": Formula(f"=SUM({price}{first}:{price}{last})", total_of(option.parts)),
    }
    sheet.add_sum(*(cells.get(column.title) for column in columns))
    if option.delivery is not None:
        _delivery(sheet, option, columns, f"{weeks}{first}:{weeks}{last}")


def _letter(columns: Sequence[Column], title: str) -> str:
    return chr(ord("A") + [column.title for column in columns].index(title))


def _part(sheet: Sheet, part: PartResult, listed: Mapping[str, PriceLine], wide: bool) -> None:
    row = sheet.row + 1
    each: object = part.unit_price
    between: tuple[object, ...] = (None, None, None) if wide else ()
    line = listed.get(part.id)
    if line is not None and line.price == part.unit_price:
        between = (line.listed, line.discount / 100, line.margin / 100)
        each = Formula(f"=ROUND(E{row}*(1-F{row})/(1-G{row}),2)", part.unit_price)
    price = Formula(f"=D{row}*{'H' if wide else 'E'}{row}", part.price)
    front = (part.item, part.id, part.description, part.quantity)
    sheet.add(*front, *between, each, price, part.lead_time_weeks, part.why)


def _delivery(
    sheet: Sheet, option: OptionResult, columns: Sequence[Column], weeks_of_parts: str
) -> None:
    """The chain below the parts: the part that takes longest, then each step, then the sum."""
    assert option.delivery is not None
    sheet.skip()
    first, *rest = option.delivery.steps

    def row(what: str, weeks: object, why: str) -> int:
        cells = {"Item": "delivery", "Description": what, "Weeks": weeks, "Why": why}
        return sheet.add(*(cells.get(column.title) for column in columns))

    begin = row(
        "the part that takes longest",
        Formula(f"=MAX({weeks_of_parts})", first.weeks),
        f"governed by {first.governed_by}",
    )
    end = begin
    for step in rest:
        end = row(step.what, step.weeks, "once the step before has ended")
    column = _letter(columns, "Weeks")
    row(
        "from the order until the loop runs",
        Formula(f"=SUM({column}{begin}:{column}{end})", option.delivery.weeks),
        "one after the other",
    )


_GROUPS: Final = {
    "customer": "to ask the customer",
    "house": "rule of the house",
    "method": "of the method",
}


def _assumptions_sheet(book: Workbook, answer: Answer) -> None:
    columns = (Column("Whose", 20), Column("Key", 28), Column("Taken", 30), Column("Why", 60))
    sheet = book.sheet("Assumptions", (*columns, Column("Question", 60)))
    for line in answer.assumptions:
        whose = _GROUPS.get(line.group, line.group)
        sheet.add(whose, line.key, line.value, line.why, line.question)
    sheet.filter_rows()


def _revision_sheet(book: Workbook, answer: Answer, option: OptionResult) -> None:
    """What the list was made from, and a line for this revision with room for the next."""
    columns = (
        Column("Revision", 22, "count"),
        Column("Date", 26, "date"),
        Column("Option", 26),
        Column("Price", 16, "money"),
        Column("What changed", 60),
    )
    sheet = book.sheet("Revision", columns)
    sheet.add(1, date.today(), option.id, total_of(option.parts), "first list")
    sheet.skip()
    bound = answer.proof.best_bound if answer.proof else None
    made_from = {
        "Case": answer.case.get("title", ""),
        "Catalogue": answer.catalogue.id,
        "Catalogue digest": answer.catalogue.digest,
        "Price list": answer.prices.file if answer.prices else "none",
        "Program version": answer.program or "not installed",
        "Cheapest possible": f"{bound:.2f} {option.currency}" if bound is not None else "",
    }
    for name, value in made_from.items():
        sheet.put(sheet.row, 0, name, "text")
        sheet.put(sheet.row, 1, str(value), "text")
        sheet.row += 1
    for line in answer.cautions[:1]:
        sheet.skip()
        sheet.put(sheet.row, 0, line, "text", wrap=False)
