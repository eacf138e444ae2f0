"""The parts list as a spreadsheet reads it, and its quantities as the plan alone gives them."""

import csv
import importlib.util
import io
import json
import math
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from recommender.commands.writing import parts_writers, writer_of
from recommender.faults import InputError
from recommender.inputs.catalogue import Catalogue
from recommender.results.answer import Answer, OptionResult, PriceLine, PriceList, Verdict, as_json
from recommender.views.tables import parts_csv, parts_title, parts_xlsx

FORMULAS = (
    '=HYPERLINK("http://x.invalid")',
    "+1",
    "-1",
    "@SUM(1)",
    "\t=1",
    "=cmd|' /C x'!A0",
    "'=1",
)


@pytest.fixture(scope="module")
def answer(worked_case: Callable[[str], Any]) -> Answer:
    found: Answer = worked_case("crate").answer
    return found


@pytest.fixture(scope="module")
def choice(answer: Answer) -> OptionResult:
    assert answer.choice is not None
    return answer.choice


def opened(data: bytes, *, values: bool = False) -> Any:
    return openpyxl.load_workbook(io.BytesIO(data), data_only=values)


def head_row(sheet: Worksheet) -> int:
    """The row of the column heads, below which the sheet scrolls."""
    return int(re.sub(r"\D", "", str(sheet.freeze_panes))) - 1


def rows(sheet: Worksheet) -> list[dict[str, Any]]:
    """The rows below the heads, by them."""
    first = head_row(sheet)
    titles = [cell.value for cell in sheet[first]]
    return [
        dict(zip(titles, (cell for cell in row), strict=True))
        for row in sheet.iter_rows(min_row=first + 1)
    ]


class TestWorkbook:
    def test_holds_typed_cells(self, answer: Answer, choice: OptionResult) -> None:
        book = opened(parts_xlsx(answer, choice))
        assert book.sheetnames == ["Parts", "Assumptions", "Revision"]
        listed = rows(book["Parts"])
        for part, row in zip(choice.parts, listed[: len(choice.parts)], strict=True):
            assert row["Part"].value == part.id
            assert (row["Pieces"].data_type, row["Pieces"].value) == ("n", part.quantity)
            assert (row["Each"].data_type, row["Each"].value) == ("n", float(part.unit_price))
            assert row["Each"].number_format == '#,##0.00 "EUR"'
            assert row["Price"].data_type == "f"
            assert row["Why"].value == part.why != ""
        assert book["Parts"].freeze_panes == "A4"

    def test_its_formulas_give_the_total(self, answer: Answer, choice: OptionResult) -> None:
        """Worked out here from the cells, as a spreadsheet would, and as they are stored."""
        data = parts_xlsx(answer, choice)
        sheet, stored = opened(data)["Parts"], opened(data, values=True)["Parts"]
        first = head_row(sheet) + 1
        last = first + len(choice.parts) - 1
        total = Decimal(0)
        for row in range(first, last + 1):
            assert sheet.cell(row, 6).value == f"=D{row}*E{row}"
            price = Decimal(str(sheet.cell(row, 4).value)) * Decimal(str(sheet.cell(row, 5).value))
            assert float(price) == pytest.approx(stored.cell(row, 6).value)
            total += price
        assert total == choice.price
        assert sheet.cell(last + 1, 1).value == "total"
        assert sheet.cell(last + 1, 6).value == f"=SUM(F{first}:F{last})"
        assert stored.cell(last + 1, 6).value == float(total)

    def test_tells_the_chain_of_the_delivery(self, answer: Answer, choice: OptionResult) -> None:
        data = parts_xlsx(answer, choice)
        assert choice.delivery is not None
        chain = [row for row in rows(opened(data, values=True)["Parts"]) if row["Item"].value]
        chain = [row for row in chain if row["Item"].value == "delivery"]
        weeks = [row["Weeks"].value for row in chain]
        assert weeks[0] == max(part.lead_time_weeks for part in choice.parts)
        assert weeks[-1] == sum(weeks[:-1]) == choice.delivery.weeks
        assert chain[0]["Why"].value == f"governed by {choice.delivery.steps[0].governed_by}"

    def test_has_all_assumptions_and_what_it_was_made_from(
        self, answer: Answer, choice: OptionResult
    ) -> None:
        book = opened(parts_xlsx(answer, choice))
        listed = rows(book["Assumptions"])
        assert [row["Key"].value for row in listed] == [line.key for line in answer.assumptions]
        revision = [[cell.value for cell in row] for row in book["Revision"].iter_rows()]
        said = {row[0]: row[1] for row in revision}
        assert said["Catalogue digest"] == answer.catalogue.digest
        assert said["Program version"] == (answer.program or "not installed")
        assert revision[1][0] == 1
        assert revision[1][1].date() == date.today()

    @pytest.mark.parametrize("text", FORMULAS)
    def test_text_that_looks_like_a_formula_is_text(
        self, answer: Answer, choice: OptionResult, text: str
    ) -> None:
        part = replace(choice.parts[0], description=text, why=text, item=text)
        case = {**answer.case, "title": text}
        lines = (replace(answer.assumptions[0], value=text, question=text),)
        odd = replace(answer, case=case, assumptions=lines, cautions=(text,))
        book = opened(parts_xlsx(odd, replace(choice, parts=(part,))))
        shown = text.replace("\t", "\\t")
        found = 0
        for sheet in book:
            for row in sheet.iter_rows():
                for cell in row:
                    if cell.data_type == "f":
                        assert re.fullmatch(
                            r"=(D\d+\*E\d+|(SUM|MAX)\([F-G]\d+:[F-G]\d+\))", cell.value
                        )
                    found += cell.value == shown
        assert found >= 6

    def test_is_refused_where_its_library_is_missing(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
        with pytest.raises(InputError, match=r"needs the package XlsxWriter; install it with pip"):
            writer_of(tmp_path / "parts.xlsx", parts_writers(), force=False, quiet=True)
        writer_of(tmp_path / "parts.csv", parts_writers(), force=False, quiet=True)

    def test_shows_how_prices_of_a_list_come_about(
        self, answer: Answer, choice: OptionResult
    ) -> None:
        part = choice.parts[0]
        line = PriceLine(
            id=part.id,
            listed=Decimal("2500.00"),
            discount=Decimal("10"),
            margin=Decimal("25"),
            price=Decimal("3000.00"),
            lead_time_weeks=part.lead_time_weeks,
            valid_from="2026-01-01",
        )
        listed = replace(answer, prices=PriceList("p.csv", (line,), (), (), ()))
        dear = replace(
            part, unit_price=Decimal("3000.00"), price=part.quantity * Decimal("3000.00")
        )
        option = replace(choice, parts=(dear, *choice.parts[1:]))
        data = parts_xlsx(listed, option)
        row = rows(opened(data)["Parts"])[0]
        assert row["Each"].value == "=ROUND(E4*(1-F4)/(1-G4),2)"
        assert row["Price"].value == "=D4*H4"
        values = rows(opened(data, values=True)["Parts"])[0]
        shares = (values["Discount"].value, values["Margin"].value)
        assert (values["List price"].value, *shares) == (2500.0, 0.1, 0.25)
        assert values["Each"].value == 3000.0
        other = rows(opened(data)["Parts"])[1]
        assert other["List price"].value is None


def written(answer: Answer, option: OptionResult) -> str:
    title = parts_title(answer, option)
    return parts_csv(option.parts, title, option.currency, option.delivery)


class TestCsv:
    def test_has_title_currency_and_total(self, answer: Answer, choice: OptionResult) -> None:
        title, head, *lines, total = csv.reader(io.StringIO(written(answer, choice)))
        assert title[0] == f"Crate transfer at end of line: parts of {choice.id}"
        assert {len(line) for line in (title, head, *lines, total)} == {9}
        listed = [dict(zip(head, line, strict=True)) for line in lines]
        assert [line["id"] for line in listed] == [part.id for part in choice.parts]
        assert {line["currency"] for line in listed} == {"EUR"}
        summed = dict(zip(head, total, strict=True))
        assert summed["item"] == "total"
        assert Decimal(summed["price"]) == sum(Decimal(line["price"]) for line in listed)
        assert Decimal(summed["price"]) == choice.price
        assert "parts 8 (bs-228)" in summed["why"]

    @pytest.mark.parametrize("text", FORMULAS)
    @pytest.mark.parametrize("delimiter", [",", ";"])
    def test_begins_no_formula(
        self, answer: Answer, choice: OptionResult, text: str, delimiter: str
    ) -> None:
        odd = replace(answer, case={**answer.case, "title": f"{text};{text}"})
        part = replace(choice.parts[0], description=f"a;{text}", why=text)
        read = csv.reader(
            io.StringIO(written(odd, replace(choice, parts=(part,)))), delimiter=delimiter
        )
        assert not any(
            cell[:1] in ("=", "+", "-", "@", "\t") for row in read for cell in row if cell
        )


def from_plan(option: OptionResult, catalogue: Catalogue) -> Counter[str]:
    """How many of each part a loop has, counted off its plan and the rules of the catalogue."""
    loop = option.loop
    assert loop is not None and option.carriers is not None
    counted = Counter({option.carrier: option.carriers, option.bend: 2})
    counted.update(loop.front)
    counted.update(loop.back)
    carrier = catalogue.carriers[option.carrier]
    if catalogue.families[carrier.family].lower_guide:
        for id_ in (*loop.front, *loop.back, option.bend, option.bend):
            counted[catalogue.lower_rails[id_].id] += 1
    counted.update(run.id for run in loop.supplies)
    counted.update(feed.id for feed in loop.feeds)
    per = {
        "order": 1,
        "loop": 1,
        "cabinet": 1,
        "kind of carrier": 1,
        "metre": math.ceil(loop.length_m - 1e-6),
        "section": sum(run.sections for run in loop.supplies),
        "station": len(loop.stations),
        "carrier": option.carriers,
        "supply": len(loop.supplies),
        "feed": len(loop.feeds),
    }
    for line in catalogue.lines:
        if line.roller in (None, carrier.roller):
            counted[line.id] += line.pieces * per[line.per]
    return counted


class TestQuantities:
    @pytest.mark.parametrize("name", ["crate", "two-up"])
    def test_are_those_of_the_plan(
        self, worked_case: Callable[[str], Any], catalogue: Catalogue, name: str
    ) -> None:
        answer: Answer = worked_case(name).answer
        works = [o for o in answer.options if o.verdict in (Verdict.RECOMMENDED, Verdict.DEARER)]
        assert works
        for option in works:
            listed = Counter({part.id: part.quantity for part in option.parts})
            # These two are sized by power and by numbers of carriers, and have tests of their own.
            sized = {p.id for p in option.parts if p.item in ("brake resistors", "controllers")}
            assert sum(p.quantity for p in option.parts if p.item == "controllers") == 1
            for id_ in sized:
                del listed[id_]
            assert listed == from_plan(option, catalogue), option.id

    def test_spares_follow_rules(self, choice: OptionResult, catalogue: Catalogue) -> None:
        carrier = catalogue.carriers[choice.carrier]
        spares = {part.id: part for part in choice.parts if part.item == "spares"}
        assert set(spares) == {"spare-carrier", f"spare-{carrier.roller}"}
        assert spares["spare-carrier"].unit_price == carrier.price
        assert spares["spare-carrier"].lead_time_weeks == carrier.lead_time
        assert all(part.quantity == 1 for part in spares.values())

    def test_each_line_says_why(self, answer: Answer, choice: OptionResult) -> None:
        why = {part.id: part.why for part in choice.parts}
        assert all(why.values())
        assert choice.loop is not None
        sections = sum(run.sections for run in choice.loop.supplies)
        assert why["eng-section"] == f"for each of {sections} sections"
        assert why["start-up"] == "2 for the order"
        assert why["protection"] == "for the one supply"
        assert why["spare-carrier"] == "for the kind of carrier, as a spare"
        assert json.loads(as_json(answer))["parts"][0]["why"] == choice.parts[0].why


def test_lines_are_in_the_order_of_the_bill(choice: OptionResult) -> None:
    items = [part.item for part in choice.parts]
    assert sum(one != other for one, other in pairwise(items)) == len(set(items)) - 1
