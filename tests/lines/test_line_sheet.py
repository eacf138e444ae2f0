"""The sheet of a line: sound HTML that needs nothing else, and its figures those of the answer."""

import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest

from recommender.lines.result import LineAnswer, LineConcession, LineImpasse
from recommender.sheet.line import line_sheet_of
from tests.test_readme import run

H = "{http://www.w3.org/1999/xhtml}"
ODD = '<script>alert("x")</script>'


def parsed(text: str) -> Element:
    """A page as a browser reads it; whatever a strict parser complains of is a failure."""
    return html5lib.HTMLParser(strict=True).parse(text)


def words(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


@pytest.fixture(scope="module")
def text(jars: LineAnswer) -> str:
    return line_sheet_of(jars, date="25 November 2026", version="0.1.0")


def test_it_needs_nothing_else(text: str) -> None:
    page = parsed(text)
    assert not list(page.iter(f"{H}script"))
    assert not re.search(r"(src|href)=|url\(|@import", text)
    ids = [element.get("id") for element in page.iter() if element.get("id")]
    assert len(ids) == len(set(ids))


def test_figures_are_those_of_the_answer(text: str, jars: LineAnswer) -> None:
    found = {e.get("data-figure"): e.get("value") for e in parsed(text).iter(f"{H}data")}
    assert Decimal(found["price"]) == jars.price
    assert Decimal(found["savings.saved"]) == jars.savings.saved
    assert float(found["floor.width_m"]) == jars.floor.width_m
    assert float(found["loop.boxes.rate_per_min"]) == jars.loop("boxes").rate_per_min


def test_it_says_what_the_answer_says(text: str, jars: LineAnswer) -> None:
    said = words(parsed(text))
    assert "Loop jars" in said and "Loop boxes" in said
    assert jars.savings.sentence in said
    assert "2 places that fill in turn, which leaves 3.72 s for the exchange; that takes" in said
    for part in jars.parts:
        assert part.id in said
    for caution in jars.cautions:
        assert caution in said
    # A plan of the line and one of each loop.
    assert len(re.findall(r"<svg", text)) == 3


def test_it_says_what_a_limit_of_time_left_open(text: str, jars: LineAnswer) -> None:
    title = "Not settled in the time that was given"
    cut = line_sheet_of(replace(jars, unsettled=("options that were not looked at",)))
    assert f"{title} Options that were not looked at." in words(parsed(cut))
    assert title not in words(parsed(text))


def test_the_customer_sees_no_parts(jars: LineAnswer) -> None:
    said = words(parsed(line_sheet_of(jars, customer_only=True)))
    assert "For colleagues" not in said and "spare-carrier" not in said
    assert f"{jars.price:,.2f} EUR" in said


def test_text_of_others_is_text(jars: LineAnswer) -> None:
    page = line_sheet_of(replace(jars, title=ODD, cautions=(ODD,)))
    assert "<script" not in page
    parsed(page)


def test_where_there_is_no_line_it_says_why(jars: LineAnswer) -> None:
    impasse = LineImpasse(
        (("boxes.load.mass", "handover.pack.items"),),
        ("boxes",),
        (LineConcession("boxes.load.mass", "14 kg", "12 kg", None),),
        "boxes: nothing carries so much.",
    )
    none = replace(
        jars,
        status="none",
        price=None,
        proof=None,
        shared=None,
        floor=None,
        savings=None,
        delivery=None,
        parts=(),
        loops=tuple(replace(loop, chosen=None, instead=None) for loop in jars.loops),
        impasse=impasse,
    )
    said = words(parsed(line_sheet_of(none)))
    assert "boxes: nothing carries so much." in said
    assert "boxes load mass and handover pack items" in said
    assert "14 kg" in said and "12 kg" in said and "not looked for" in said


def test_the_command_writes_it(saved: Path, tmp_path: Path) -> None:
    target = tmp_path / "line.html"
    command = f"recommender sheet {saved} -o {target} --date 2026-11-25"
    assert run(command)[0] == 0
    assert "25 November 2026" in target.read_text(encoding="utf-8")
    assert run(command)[0] == 2
    assert run(f"{command} --force --for customer")[0] == 0
