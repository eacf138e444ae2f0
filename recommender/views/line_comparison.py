"""Lines with other options side by side: on a terminal, and for spreadsheets."""

import csv
import io
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from rich.console import Console, Group
from rich.text import Text

from recommender.lines.result import LineAnswer, LoopOption, LoopResult
from recommender.results.answer import OptionResult
from recommender.views.comparison_tables import Cell
from recommender.views.layout import grid
from recommender.views.line_words import line_headline
from recommender.views.numbers import quantity, three_digits, whole_amount
from recommender.views.tables import csv_cell
from recommender.views.terminal import VERDICTS, section
from recommender.views.workbook import Column, Style, Workbook

_WORDS: Final = {str(verdict): text for verdict, text in VERDICTS.items()}
_Pairs = Sequence[tuple[LoopResult, LoopOption]]


def show_lines(
    console: Console, answer: LineAnswer, compared: _Pairs, sort: str | None = None
) -> None:
    """Print lines side by side: the choice, lines with other options, separate orders."""
    console.print(Text(line_headline(answer), style="bold"))
    by = _SORTED.get(sort or "")
    table = grid(
        ("loop", False),
        ("option", False),
        *(((by[0], True),) if by else ()),
        (f"the line, {answer.currency}", True),
        ("more", True),
        # Ids stay whole in 80 columns where there is a figure in place of these.
        *(() if by else (("alone", True), ("more", True))),
    )
    table.columns[1].no_wrap = True
    prices = 2 if by else 4
    for loop in answer.loops:
        if loop.chosen is not None and answer.price is not None:
            own = loop.alone.option(loop.chosen.id)
            alone = whole_amount(own.price) if own is not None and own.price else ""
            figure = (by[1](loop.chosen),) if by else ()
            cells = (whole_amount(answer.price), "", alone, "")[:prices]
            table.add_row(loop.name, loop.chosen.id, *figure, *cells, style="bold")
    for loop, entry in compared:
        if loop.chosen is not None and loop.chosen.id == entry.id:
            continue
        option = loop.alone.option(entry.id)
        figure = (by[1](option) if option is not None else "",) if by else ()
        table.add_row(loop.name, entry.id, *figure, *list(_prices(loop, entry))[:prices])
    if answer.savings is not None:
        apart = whole_amount(answer.savings.separate), whole_amount(answer.savings.saved)
        table.add_row("", "separate orders", *(("",) if by else ()), *apart)
    section(console, f"Lines by {sort or 'price'}", table)
    if by:
        console.print(Text(_BY_ITSELF))
    sentences = [loop.instead.sentence for loop in answer.loops if loop.instead is not None]
    if sentences:
        body = Group(*(Text(f"- {sentence}") for sentence in sentences))
        section(console, "Why not each loop's cheapest", body)


_BY_ITSELF: Final = (
    "Figures of the choice are those in the line, of other options those of the loop by itself."
)


def _prices(loop: LoopResult, entry: LoopOption) -> Iterator[str]:
    own = loop.alone.option(loop.chosen.id) if loop.chosen is not None else None
    more = entry.alone - own.price if entry.alone and own and own.price else None
    fails = "dearer" if entry.alone is not None else _WORDS.get(entry.verdict, entry.verdict)
    yield whole_amount(entry.line_price) if entry.line_price is not None else fails
    yield whole_amount(entry.dearer) if entry.dearer is not None else ""
    yield whole_amount(entry.alone) if entry.alone is not None else ""
    yield whole_amount(more) if more is not None else ""


def _floor(option: OptionResult) -> str:
    if option.loop is None:
        return ""
    return f"{option.loop.floor_width_m * option.loop.floor_extent_m:.2f} m²"


_SORTED: Final[dict[str, tuple[str, Callable[[OptionResult], str]]]] = {
    "carriers": ("fleet", lambda o: str(o.carriers) if o.carriers is not None else ""),
    "length": ("guide", lambda o: quantity(o.loop.length_m, "m") if o.loop else ""),
    "floor": ("floor", _floor),
    "delivery": ("weeks", lambda o: f"{o.delivery.weeks:g}" if o.delivery else ""),
    "energy": (
        "kWh a year",
        lambda o: three_digits(o.running.energy_kwh_a_year) if o.running else "",
    ),
    "rate": ("items/min", lambda o: three_digits(o.rate_per_min) if o.rate_per_min else ""),
}
"""What options are sorted by: the head of its column, and the figure of an option."""


# Files ---------------------------------------------------------------------------------------


def _verdict(loop: LoopResult, entry: LoopOption) -> str:
    """What an option is in the line."""
    if loop.chosen is not None and loop.chosen.id == entry.id:
        return "recommended"
    return "works, dearer" if entry.line_price is not None else "no line with it was found"


def _cells(answer: LineAnswer, loop: LoopResult, entry: LoopOption) -> Iterator[Cell]:
    """An option as a row: in the line, then the loop by itself."""
    option = loop.alone.option(entry.id)
    yield from (loop.name, entry.id, _verdict(loop, entry), entry.line_price, entry.dearer)
    yield _WORDS.get(entry.verdict, entry.verdict)
    yield entry.alone
    own = option.loop if option is not None else None
    yield option.carriers if option is not None else None
    yield round(own.length_m, 4) if own else None
    yield round(own.floor_width_m, 4) if own else None
    yield round(own.floor_extent_m, 4) if own else None
    yield option.delivery.weeks if option is not None and option.delivery else None
    yield round(option.running.energy_kwh_a_year, 1) if option and option.running else None
    yield round(option.rate_per_min, 4) if option and option.rate_per_min else None
    yield entry.reason


_COLUMNS: Final[tuple[tuple[str, str, float, Style], ...]] = (
    ("loop", "Loop", 16, "text"),
    ("option", "Option", 26, "text"),
    ("in_the_line", "In the line", 22, "text"),
    ("line_price", "The line", 16, "money"),
    ("dearer", "More", 14, "money"),
    ("alone", "By itself", 18, "text"),
    ("alone_price", "Price alone", 16, "money"),
    ("carriers", "Carriers", 10, "count"),
    ("length_m", "Guide, m", 10, "number"),
    ("floor_width_m", "Floor across, m", 10, "number"),
    ("floor_extent_m", "Floor along, m", 10, "number"),
    ("delivery_weeks", "Weeks", 8, "number"),
    ("energy_kwh_a_year", "kWh a year", 12, "number"),
    ("rate_per_min", "Items/min", 10, "number"),
    ("reason", "Why", 70, "text"),
)
"""Key, head, width and look of each column; figures are those of the loop by itself."""


def lines_csv(answer: LineAnswer, compared: _Pairs) -> str:
    """Options of loops as CSV (RFC 4180), a line each; no cell begins a formula."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow((*(key for key, *_ in _COLUMNS), "currency"))
    for loop, entry in compared:
        cells = (*_cells(answer, loop, entry), answer.currency)
        writer.writerow("" if cell is None else csv_cell(cell) for cell in cells)
    return text.getvalue()


def lines_xlsx(answer: LineAnswer, compared: _Pairs) -> bytes:
    """Options of loops as a workbook, a row each; numbers are numbers."""
    title = f"{answer.title}: options of its loops compared"
    columns = [Column(head, width, style) for _, head, width, style in _COLUMNS]
    heads = [title, line_headline(answer), "Figures from Carriers on are of the loop by itself."]
    with Workbook(answer.currency, title) as book:
        sheet = book.sheet("Options", columns, heads)
        for loop, entry in compared:
            sheet.add(*_cells(answer, loop, entry))
        sheet.filter_rows()
    return book.data
