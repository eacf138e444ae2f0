"""Options side by side for spreadsheets and other programs: typed, a row for each thing."""

import csv
import io
import math
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import Final, NamedTuple

from recommender.results.answer import Answer, OptionResult, Verdict
from recommender.views.tables import csv_cell
from recommender.views.workbook import Column, Style, Workbook

SAME: Final = "same"
DIFFERS: Final = "differs"

VERDICTS: Final = {
    Verdict.RECOMMENDED: "recommended",
    Verdict.DEARER: "works, dearer",
    Verdict.REJECTED: "does not work",
    Verdict.UNDECIDED: "not decided",
}

Cell = str | int | float | Decimal | None


class Row(NamedTuple):
    """One thing that is compared: its name, its unit, how it is shown, its value in each option."""

    name: str
    unit: str
    style: Style
    values: tuple[Cell, ...]

    @property
    def differs(self) -> str:
        """Whether the options differ in it, in a word."""
        return SAME if len(set(self.values)) == 1 else DIFFERS


def compared(options: Sequence[OptionResult]) -> Iterator[Row]:
    """Everything in which options are compared, then the use of each check, then the reasons."""
    for name, unit, style, value in _FIGURES:
        row = Row(name, unit, style, tuple(value(option) for option in options))
        if any(cell is not None for cell in row.values):
            yield row
    uses = [{check.id: check for check in option.checks} for option in options]
    for id_ in dict.fromkeys(id_ for checks in uses for id_ in checks):
        title = next(checks[id_].title for checks in uses if id_ in checks)
        shares = tuple(_use(checks[id_].utilisation) if id_ in checks else None for checks in uses)
        yield Row(title, "used", "percent", shares)
    yield Row("Reason", "", "text", tuple(option.reason for option in options))


def _use(utilisation: float) -> Cell:
    return "not allowed" if math.isinf(utilisation) else round(utilisation, 4)


def _motion(name: str) -> Callable[[OptionResult], Cell]:
    return lambda option: getattr(option.motion, name) if option.motion else None


def _loop(name: str) -> Callable[[OptionResult], Cell]:
    return lambda option: _rounded(getattr(option.loop, name)) if option.loop else None


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def _sections(option: OptionResult) -> Cell:
    if option.loop is None:
        return None
    return ", ".join(f"{count} x {id_}" for id_, count in option.loop.sections.items())


_FIGURES: Final[tuple[tuple[str, str, Style, Callable[[OptionResult], Cell]], ...]] = (
    ("Verdict", "", "text", lambda option: VERDICTS[option.verdict]),
    ("Price", "money", "money", lambda option: option.price),
    ("Costs at least", "money", "money", lambda option: option.at_least),
    ("Dearer by", "money", "money", lambda o: o.dearer_by.price if o.dearer_by else None),
    ("Carrier", "", "text", lambda option: option.carrier),
    ("Bend", "", "text", lambda option: option.bend),
    ("Carriers", "carriers", "count", lambda option: option.carriers),
    ("Items on a carrier", "items", "count", lambda option: option.items_per_carrier),
    ("Length of the guide", "m", "number", _loop("length_m")),
    ("Floor across, with loads", "m", "number", _loop("floor_width_m")),
    ("Floor along, with loads", "m", "number", _loop("floor_extent_m")),
    ("Guide", "", "text", _sections),
    ("Acceleration", "", "text", _motion("acceleration")),
    ("Speed", "", "text", _motion("speed")),
    ("Speed in bends", "", "text", _motion("bend_speed")),
    ("Takt", "s", "number", lambda option: _rounded(option.takt_s)),
    ("Lap", "s", "number", lambda option: _rounded(option.lap_s)),
    ("Rate that it could reach", "/min", "number", lambda o: _rounded(o.rate_per_min)),
    ("Delivery", "weeks", "number", lambda o: o.delivery.weeks if o.delivery else None),
    (
        "Energy a year",
        "kWh",
        "number",
        lambda o: _rounded(o.running.energy_kwh_a_year) if o.running else None,
    ),
)


def _unit(row: Row, currency: str) -> str:
    return currency if row.unit == "money" else row.unit


def comparison_csv(answer: Answer, options: Sequence[OptionResult]) -> str:
    """Options side by side as CSV (RFC 4180); no cell begins a formula."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(
        csv_cell(head) for head in ("compared", "unit", *(o.id for o in options), "differs")
    )
    for row in compared(options):
        cells = (row.name, _unit(row, options[0].currency), *row.values, row.differs)
        writer.writerow("" if cell is None else csv_cell(cell) for cell in cells)
    return text.getvalue()


def comparison_xlsx(answer: Answer, options: Sequence[OptionResult]) -> bytes:
    """Options side by side as a workbook; numbers are numbers."""
    currency = options[0].currency
    title = f"{answer.case.get('title', '')}: options compared"
    heads = [Column(option.id, 26) for option in options]
    columns = (Column("Compared", 40), Column("Unit", 9), *heads, Column("Differs", 9))
    with Workbook(currency, title) as book:
        sheet = book.sheet("Options", columns, [title])
        for row in compared(options):
            at = sheet.row
            sheet.put(at, 0, row.name, "text")
            sheet.put(at, 1, _unit(row, currency), "text")
            for column, cell in enumerate(row.values, start=2):
                if cell is not None:
                    sheet.put(at, column, cell, "text" if isinstance(cell, str) else row.style)
            sheet.put(at, len(options) + 2, row.differs, "text")
            sheet.row += 1
        sheet.filter_rows()
    return book.data
