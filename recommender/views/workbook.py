"""Spreadsheets: typed cells, formulas with their values, and text that stays text.

The library that writes them is an extra of the package and is loaded when a sheet is written.
"""

import importlib.util
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, Literal

from recommender.faults import InputError
from recommender.shown import escaped

if TYPE_CHECKING:
    from types import TracebackType

Style = Literal["text", "count", "number", "money", "percent", "date", "head", "title", "sum"]
_LONGEST_CELL: Final = 32_000


@dataclass(frozen=True)
class Formula:
    """A formula and the value that it has now, for readers that do not calculate."""

    text: str
    value: Decimal | float


@dataclass(frozen=True)
class Column:
    """A column: its title, its width in characters, and what its cells are."""

    title: str
    width: float
    style: Style = "text"


def refuse_without_library() -> None:
    """Refuse to write a workbook where the library for it is missing.

    Raises
    ------
    InputError
        With what would do.
    """
    if importlib.util.find_spec("xlsxwriter") is None:
        raise InputError(
            "writing .xlsx needs the package XlsxWriter; install it with pip install '.[office]',"
            " or name a .csv file"
        )


class Workbook:
    """A workbook that becomes bytes when it is closed; nothing touches the disk.

    Raises
    ------
    InputError
        If the library that writes it is not installed.
    """

    def __init__(self, currency: str, title: str) -> None:
        refuse_without_library()
        import xlsxwriter  # noqa: PLC0415 - an extra, wanted for spreadsheets alone

        self._bytes = io.BytesIO()
        self._book = xlsxwriter.Workbook(self._bytes, {"in_memory": True})
        self._book.set_properties({"title": escaped(title), "comments": ""})
        money = f'#,##0.00 "{currency}"'
        looks: dict[Style, dict[str, Any]] = {
            "text": {"text_wrap": True, "valign": "top"},
            "count": {"num_format": "0", "valign": "top"},
            "number": {"num_format": "0.###", "valign": "top"},
            "money": {"num_format": money, "valign": "top"},
            "percent": {"num_format": "0.##%", "valign": "top"},
            "date": {"num_format": "yyyy-mm-dd", "valign": "top", "align": "left"},
            "head": {"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"},
            "title": {"bold": True, "font_size": 13},
            "sum": {"bold": True, "top": 1, "num_format": money},
        }
        self._formats = {style: self._book.add_format(look) for style, look in looks.items()}

    def __enter__(self) -> "Workbook":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: "TracebackType | None",
    ) -> None:
        if kind is None:
            self._book.close()

    @property
    def data(self) -> bytes:
        """The file, once the workbook is closed."""
        return self._bytes.getvalue()

    def sheet(self, name: str, columns: Sequence[Column], head: Sequence[str] = ()) -> "Sheet":
        """A new sheet: lines above, then the heads of its columns, frozen."""
        return Sheet(self._book.add_worksheet(name), self._formats, columns, head)


class Sheet:
    """A sheet that is filled row by row below its frozen head."""

    def __init__(
        self, sheet: Any, formats: dict[Style, Any], columns: Sequence[Column], head: Sequence[str]
    ) -> None:
        self._sheet, self._formats, self._columns = sheet, formats, columns
        self.row = 0
        for number, line in enumerate(head):
            self.put(number, 0, line, "text" if number else "title", wrap=False)
        self._heads = len(head)
        for column, entry in enumerate(columns):
            sheet.set_column(column, column, entry.width)
            self.put(self._heads, column, entry.title, "head")
        self.row = self._heads + 1
        sheet.freeze_panes(self.row, 0)
        sheet.repeat_rows(self._heads)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)

    def add(self, *cells: object) -> int:
        """A row of cells, styled as their columns; gives its number as formulas count it."""
        for column, cell in enumerate(cells):
            if cell is not None:
                self.put(self.row, column, cell, self._columns[column].style)
        self.row += 1
        return self.row

    def skip(self) -> None:
        """Leave a row empty."""
        self.row += 1

    def add_sum(self, *cells: object) -> int:
        """A row that sums up, under a rule."""
        for column in range(len(self._columns)):
            cell = cells[column] if column < len(cells) else None
            self.put(self.row, column, "" if cell is None else cell, "sum")
        self.row += 1
        return self.row

    def filter_rows(self) -> None:
        """Let the rows so far be filtered by their columns."""
        self._sheet.autofilter(self._heads, 0, self.row - 1, len(self._columns) - 1)

    def put(self, row: int, column: int, cell: object, style: Style, *, wrap: bool = True) -> None:
        """One cell: a formula, a number, a date, or text as it stands."""
        look = self._formats[style] if wrap or style != "text" else None
        if isinstance(cell, Formula):
            self._sheet.write_formula(row, column, cell.text, look, float(cell.value))
        elif isinstance(cell, date):
            self._sheet.write_datetime(row, column, datetime(cell.year, cell.month, cell.day), look)
        elif isinstance(cell, int | float | Decimal) and not isinstance(cell, bool):
            self._sheet.write_number(row, column, float(cell), look)
        elif cell == "":
            self._sheet.write_blank(row, column, None, look)
        else:
            self._sheet.write_string(row, column, escaped(str(cell), "\n")[:_LONGEST_CELL], look)
