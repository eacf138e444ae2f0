"""The sheet: complete, self-contained, harmless, and its figures those of the answer."""

import re
import shutil
import subprocess
import warnings
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import reduce
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import pytest

from recommender.calculation import calculation_of
from recommender.results.answer import Answer, Change, Impasse, OptionResult, Verdict, Way
from recommender.sheet import sheet_of

NAMESPACE = "http://www.w3.org/1999/xhtml"
H = f"{{{NAMESPACE}}}"
S = "{http://www.w3.org/2000/svg}"
DATE = "25 November 2026"
ODD = '<script>alert("x")</script>'
CHROMIUM = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None
)


@pytest.fixture(scope="module")
def answer(worked_case: Callable[[str], Any]) -> Answer:
    worked = worked_case("crate")
    calculation = calculation_of(worked.decision.chosen, worked.case, worked.catalogue)
    return replace(worked.answer, calculation=calculation)


@pytest.fixture(scope="module")
def text(answer: Answer) -> str:
    return sheet_of(answer, date=DATE, version="0.1.0")


@pytest.fixture(scope="module")
def page(text: str) -> Element:
    return parsed(text)


def parsed(text: str) -> Element:
    """A page as a browser reads it; whatever a strict parser complains of is a failure."""
    parser = html5lib.HTMLParser(strict=True)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return parser.parse(text)


def words(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


def failing(answer: Answer) -> Answer:
    """The answer as it would be if nothing met the case."""
    way = Way("kind_arc_x1", (Change("load.reach", "200 mm", "150 mm"),), Decimal("41200.00"))
    none = tuple(replace(one, verdict=Verdict.REJECTED, price=None) for one in answer.options)
    keys = ("load.reach", "rate.items")
    impasse = Impasse(keys, (keys,), True, (way,), "No option meets load.reach and rate.items.")
    return replace(
        answer,
        status="none",
        recommended=None,
        proof=None,
        options=none,
        parts=(),
        impasse=impasse,
        calculation=None,
    )


class TestForm:
    def test_it_parses_strictly(self, page: Element) -> None:
        assert page.find(f"{H}body") is not None

    def test_it_needs_nothing_else(self, text: str, page: Element) -> None:
        outside = set(re.findall(r"https?://[^\s\"'<>)]+", text))
        assert outside == {"http://www.w3.org/2000/svg"}
        assert not re.search(r"@import|url\((?!#)", text)
        for element in page.iter():
            assert element.tag not in {
                f"{H}{n}" for n in ("script", "link", "img", "iframe", "form")
            }
            for name, value in element.attrib.items():
                assert not str(name).startswith("on")
                if str(name).endswith(("href", "src")):
                    assert value.startswith("#")

    def test_ids_are_unique_and_what_is_referred_to_is_there(self, page: Element) -> None:
        ids = [element.get("id") for element in page.iter() if element.get("id")]
        assert len(ids) == len(set(ids))
        wanted = set()
        for element in page.iter():
            for value in element.attrib.values():
                wanted |= set(re.findall(r"url\(#([^)]+)\)", value))
            wanted |= set((element.get("aria-labelledby") or "").split())
            href = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href")
            wanted |= {href[1:]} if href else set()
        assert wanted and wanted <= set(ids)

    def test_it_tells_readers_what_it_is(self, page: Element, answer: Answer) -> None:
        assert page.get("lang") == "en-GB"
        assert words(page.find(f"{H}head/{H}title")) == answer.case["title"]
        heads = [
            int(e.tag[-1]) for e in page.iter() if re.fullmatch(rf"{re.escape(H)}h[1-6]", e.tag)
        ]
        assert heads[0] == 1 and heads.count(1) == 1
        assert all(b <= a + 1 for a, b in pairwise(heads))

    def test_every_drawing_has_a_sentence(self, page: Element) -> None:
        drawings = list(page.iter(f"{S}svg"))
        assert len(drawings) == 5
        for drawing in drawings:
            assert drawing.get("role") == "img"
            label = drawing.get("aria-label") or words(drawing.find(f"{S}desc"))
            assert len(label) > 60 and label.endswith(".")

    def test_every_table_has_a_caption_and_heads(self, page: Element) -> None:
        tables = list(page.iter(f"{H}table"))
        assert len(tables) >= 6
        for table in tables:
            assert words(table.find(f"{H}caption"))
            heads = table.findall(f"{H}thead/{H}tr/{H}th")
            assert heads and all(head.get("scope") == "col" and words(head) for head in heads)
            for row in table.findall(f"{H}tbody/{H}tr"):
                assert len(list(row)) == len(heads)

    def test_the_same_answer_gives_the_same_bytes(self, answer: Answer, text: str) -> None:
        assert sheet_of(answer, date=DATE, version="0.1.0") == text

    def test_letters_stand_out_from_the_paper(self, text: str) -> None:
        schemes = re.findall(r":root \{(.*?)\}", text, re.DOTALL)
        assert len(schemes) == 3
        plans = re.findall(r"\.loop-plan \{(.*?)\}", text, re.DOTALL)[:3]
        for scheme in schemes:
            colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", scheme))
            for name in ("ink", "faint", "load", "plate", "station", "feed", "warn"):
                assert contrast(colours[name], colours["paper"]) >= 4.5, name
            assert contrast(colours["faint"], colours["wash"]) >= 4.5
            # The plan has the colours of the page around it.
            own = [dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", part)) for part in plans]
            assert {name: colours[name] for name in own[0]} in own


def contrast(first: str, second: str) -> float:
    """Contrast of two colours (WCAG 2.2, definition of contrast ratio and relative luminance)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


class TestPageOne:
    def test_its_figures_are_those_of_the_answer(self, page: Element, answer: Answer) -> None:
        data = {e.get("data-figure"): e.get("value") for e in page.iter(f"{H}data")}
        choice = answer.choice
        assert choice is not None
        for key, value in data.items():
            assert key is not None and value is not None
            names = key.split(".")
            start = answer if names[0] == "rate" else choice
            found = reduce(getattr, names, start)
            assert float(value) == float(found), key
        assert {"price", "rate_per_min", "delivery.weeks", "running.energy_kwh_a_year"} <= set(data)
        assert {"loop.floor_width_m", "loop.floor_extent_m"} <= set(data)

    def test_its_words_are_those_figures(self, page: Element, answer: Answer) -> None:
        choice = answer.choice
        assert choice is not None and choice.loop is not None and choice.running is not None
        assert choice.delivery is not None and choice.price is not None and answer.rate is not None
        read = [words(e) for e in page.iter(f"{H}li") if e.find(f"{H}data") is not None]
        assert len(read) == 5
        rate, floor, price, delivery, energy = read
        number = float(re.search(r"([\d.]+) items a minute", rate)[1])  # type: ignore[index]
        assert 0.0 <= (choice.rate_per_min or 0.0) - number < 0.1
        # Nor may rounding make it look as if the reserve were not reached.
        assert number >= round(answer.rate.with_reserve_per_min, 1)
        assert f"{answer.rate.items_per_min:.1f} asked" in rate
        sizes = [1000.0 * choice.loop.floor_width_m, 1000.0 * choice.loop.floor_extent_m]
        assert f"{sizes[0]:,.0f} × {sizes[1]:,.0f} mm" in floor
        assert f"{choice.price:,.2f} EUR" in price
        assert f"{choice.delivery.weeks:g} weeks" in delivery
        assert "bs-228" in delivery
        assert f"{choice.running.energy_kwh_a_year:.0f} kWh" in energy

    def test_the_question_is_told_in_its_own_units(self, answer: Answer, page: Element) -> None:
        told = words(page)
        for part in ("30 kg an item", "400 mm along", "200 mm outward", "18 items a minute"):
            assert part in told
        american = words(parsed(sheet_of(replace(answer, units="us"))))
        assert "66.1 lb an item" in american
        assert "7.87 in outward" in american and "carriers of the kind" in american
        question = american.split("What we recommend")[0]
        assert not re.search(r"\d (mm|kg|m|m/s²)\b", question)

    def test_the_budget_is_told_in_its_money(self, answer: Answer) -> None:
        commercial = {**answer.case["commercial"], "budget": "60000.5 EUR"}
        told = replace(answer, case={**answer.case, "commercial": commercial})
        page = words(parsed(sheet_of(told, date=DATE, version="0.1.0")))
        assert re.search(r"Budget ?60,000\.50 EUR(?! EUR)", page)

    def test_open_questions_and_cautions_are_all_there(self, page: Element, answer: Answer) -> None:
        told = words(page)
        for line in answer.assumptions:
            if line.group == "customer":
                assert (line.brief or line.question).replace("^2", "²") in told
        for line in answer.cautions:
            assert line in told

    def test_what_a_limit_of_time_left_open_is_said(self, answer: Answer, page: Element) -> None:
        cut = replace(answer, unsettled=("options that were not looked at",))
        title = "Not settled in the time that was given"
        assert f"{title} Options that were not looked at." in words(parsed(sheet_of(cut)))
        assert title not in words(page)

    def test_the_customer_gets_nothing_else(self, answer: Answer) -> None:
        page = parsed(sheet_of(answer, date=DATE, customer_only=True))
        told = words(page)
        for part in ("For colleagues", "Calculation sheet", "Parts of", "Rules of the house"):
            assert part not in told
        others = [o.id for o in answer.options if o.id != answer.recommended]
        assert not [id_ for id_ in others if id_ in told]
        assert len(list(page.iter(f"{S}svg"))) == 1


class TestForColleagues:
    def test_all_that_works_and_all_that_fails_is_told(self, page: Element, answer: Answer) -> None:
        told = words(page)
        for option in answer.options:
            if option.verdict in (Verdict.RECOMMENDED, Verdict.DEARER):
                assert option.id in told
        for entry in answer.rejections:
            assert entry.who in told

    def test_every_check_has_its_line(self, page: Element, answer: Answer) -> None:
        choice = answer.choice
        assert choice is not None
        table = next(
            t for t in page.iter(f"{H}table") if "checks of" in words(t.find(f"{H}caption"))
        )
        rows = [[words(cell) for cell in row] for row in table.findall(f"{H}tbody/{H}tr")]
        assert len(rows) == len(choice.checks)
        for check in choice.checks:
            row = next(r for r in rows if r[0].startswith(check.title))
            assert row[0] == f"{check.title}{check.governed_by}" and row[-1] == check.source
            assert row[5] == f"{100.0 * check.utilisation:.0f} %"

    def test_parts_add_up(self, page: Element, answer: Answer) -> None:
        table = next(
            t for t in page.iter(f"{H}table") if "Parts of" in words(t.find(f"{H}caption"))
        )
        rows = [[words(cell) for cell in row] for row in table.findall(f"{H}tbody/{H}tr")]
        prices = [Decimal(row[4].replace(",", "")) for row in rows]
        foot = words(table.find(f"{H}tfoot"))
        assert sum(prices) == answer.choice.price  # type: ignore[union-attr]
        assert f"{sum(prices):,.2f}" in foot

    def test_it_says_from_what_it_was_made(self, page: Element, answer: Answer) -> None:
        foot = words(page.find(f"{H}body/{H}footer"))
        assert answer.catalogue.digest in foot and "0.1.0" in foot and DATE in foot

    def test_a_kept_answer_goes_without_a_lap(self, answer: Answer) -> None:
        page = parsed(sheet_of(replace(answer, calculation=None)))
        assert len(list(page.iter(f"{S}svg"))) == 3
        assert "kept without its formulas" in words(page)


class TestWhereNothingMeets:
    def test_page_one_says_so_and_what_would_have_to_give(self, answer: Answer) -> None:
        told = words(parsed(sheet_of(failing(answer), customer_only=True)))
        assert "No option of the catalogue meets this enquiry." in told
        assert "load reach from 200 mm to 150 mm" in told
        assert "41,200.00" in told and "What we recommend" not in told

    def test_colleagues_get_the_reasons(self, answer: Answer) -> None:
        told = words(parsed(sheet_of(failing(answer))))
        assert "Why not the others" in told and "Calculation sheet" not in told


class TestTextOfOthers:
    def odd(self, answer: Answer) -> Answer:
        choice = answer.choice
        assert choice is not None and choice.loop is not None
        stations = tuple(replace(one, name=ODD) for one in choice.loop.stations)
        changed: OptionResult = replace(choice, loop=replace(choice.loop, stations=stations))
        checks = tuple(replace(check, governed_by=ODD) for check in changed.checks)
        options = (replace(changed, checks=checks),)
        case = {
            **answer.case,
            "title": ODD,
            "station": [{**entry, "name": ODD} for entry in answer.case["station"]],
        }
        lines = tuple(replace(line, question=ODD, brief="") for line in answer.assumptions)
        return replace(answer, case=case, options=options, assumptions=lines, cautions=(ODD,))

    def test_it_is_shown_and_does_nothing(self, answer: Answer) -> None:
        text = sheet_of(self.odd(answer), date=ODD, version=ODD)
        assert "<script" not in text
        page = parsed(text)
        assert not list(page.iter(f"{H}script")) and not list(page.iter(f"{S}script"))
        assert ODD in words(page.find(f"{H}head/{H}title"))

    def test_what_cannot_be_seen_is_written_out(self, answer: Answer) -> None:
        odd = replace(answer, case={**answer.case, "title": "a\u202eb\x1b"})
        text = sheet_of(odd, customer_only=True)
        assert "\u202e" not in text and "\x1b" not in text
        assert "a\\u202Eb\\u001B" in text


@pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here to print with")
def test_it_prints_on_a4(answer: Answer, tmp_path: Path) -> None:
    """Page one is one page of A4, and no sheet of paper is wider than what is printed on it."""
    assert CHROMIUM is not None
    for name, customer_only in (("customer", True), ("whole", False)):
        source, target = tmp_path / f"{name}.html", tmp_path / f"{name}.pdf"
        source.write_text(
            sheet_of(answer, date=DATE, customer_only=customer_only), encoding="utf-8"
        )
        subprocess.run(
            [
                CHROMIUM,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                f"--user-data-dir={tmp_path / 'profile'}",
                "--no-pdf-header-footer",
                f"--print-to-pdf={target}",
                source.as_uri(),
            ],
            check=True,
            capture_output=True,
            timeout=120,
        )
        boxes = re.findall(rb"/MediaBox\s*\[([^\]]+)\]", target.read_bytes())
        sizes = [tuple(round(float(n)) for n in box.split()[2:]) for box in boxes]
        assert sizes and set(sizes) <= {(595, 842), (842, 595), (596, 842), (842, 596)}
        assert len(sizes) == 1 if customer_only else 6 <= len(sizes) <= 12
