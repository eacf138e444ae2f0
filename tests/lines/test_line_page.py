"""The file of a line on the page: answered as it stands, with its files and without a form."""

import io
from collections.abc import Iterator
from dataclasses import replace
from queue import Queue
from typing import Any

import pytest

pytest.importorskip("starlette")

import html5lib
import openpyxl
from starlette.testclient import TestClient

from recommender.inputs.catalogue import Catalogue
from recommender.lines.reading import read_line
from recommender.lines.result import LineAnswer, line_as_json
from recommender.page.app import Setting, application
from recommender.page.workers import Workers
from tests.lines.conftest import CASES
from tests.page.conftest import HOST, TOKEN, Stand
from tests.test_readme import run

TEXT = (CASES / "bottles.toml").read_text(encoding="utf-8")
EVIL = "<script>alert(1)</script>"


def opened(catalogue: Catalogue, stand: Stand) -> TestClient:
    app = application(Setting(catalogue, {}, {}), lambda: stand, TOKEN, [HOST])
    return TestClient(app, base_url=f"http://{HOST}/{TOKEN}", headers={"Origin": f"http://{HOST}"})


@pytest.fixture
def told(catalogue: Catalogue, bottles: LineAnswer) -> Iterator[tuple[TestClient, dict[str, Any]]]:
    """A page on which the bottles were opened and answered."""
    with opened(catalogue, Stand([bottles, None])) as client:
        yield client, client.post("/open?name=bottles.toml", content=TEXT).json()


def test_a_line_is_asked_and_has_no_form(told: tuple[TestClient, dict[str, Any]]) -> None:
    _, read = told
    assert set(read) == {"line", "form"}
    assert "Bottles into boxes of twelve" in read["form"] and "<input" not in read["form"]


def test_its_answer_shows_the_whole_and_what_else_works(
    told: tuple[TestClient, dict[str, Any]], bottles: LineAnswer
) -> None:
    client, read = told
    news = client.get(f"/question/{read['line']}?seen=0").json()
    assert news["state"] == "done" and news["explained"]
    assert f"{bottles.price:,.2f} EUR" in news["headline"]
    assert set(news["wares"]) == {"parts.xlsx", "plan.svg", "plan.dxf", "sheet.html"}
    shown = "".join(html5lib.parse(news["html"], namespaceHTMLElements=False).itertext())
    assert "units.pack to boxes.fill, 12 to 1 through a buffer" in shown
    assert bottles.savings and bottles.savings.sentence in shown
    dearer = [o for loop in bottles.loops for o in loop.options if o.line_price and o.dearer]
    assert dearer and all(f"{option.line_price:,.2f}" in shown for option in dearer)
    assert "style=" not in news["html"]


def test_its_files_are_those_of_the_commands(
    told: tuple[TestClient, dict[str, Any]], bottles: LineAnswer
) -> None:
    client, read = told
    got = {
        name: client.get(f"/question/{read['line']}/{name}")
        for name in ("parts.xlsx", "plan.svg", "plan.dxf", "sheet.html", "shown.svg")
    }
    assert {answer.status_code for answer in got.values()} == {200}
    book = openpyxl.load_workbook(io.BytesIO(got["parts.xlsx"].content), data_only=True)
    total = next(row for row in book["Parts"].iter_rows(values_only=True) if row[0] == "total")
    assert float(bottles.price or 0) in total
    assert "units" in got["plan.svg"].text and "boxes" in got["sheet.html"].text
    assert "bottles-into-boxes-of-twelve-plan.dxf" in got["plan.dxf"].headers["content-disposition"]


def test_in_brief_there_is_no_sheet_yet(catalogue: Catalogue, bottles: LineAnswer) -> None:
    loops = tuple(
        replace(
            loop,
            alone=replace(loop.alone, extent=replace(loop.alone.extent, explained=False)),
        )
        for loop in bottles.loops
    )
    with opened(catalogue, Stand([replace(bottles, loops=loops)])) as client:
        read = client.post("/open", content=TEXT).json()
        news = client.get(f"/question/{read['line']}?seen=0").json()
        assert news["state"] == "working" and not news["explained"]
        assert "sheet.html" not in news["wares"] and "plan.svg" in news["wares"]
        assert client.get(f"/question/{read['line']}/sheet.html").status_code == 409


def test_a_line_that_is_wrong_is_refused_in_the_words_of_its_reader(
    catalogue: Catalogue, stand: Stand
) -> None:
    with opened(catalogue, stand) as client:
        wrong = TEXT.replace('"units.pack"', '"units.pak"')
        refused = client.post("/open?name=x.toml", content=wrong).json()["refused"]
        assert refused.startswith("x.toml: handover[1].from names no station of the loop units")
        wrong = TEXT.replace("150000 EUR", "150000 USD")
        assert "USD" in client.post("/open", content=wrong).json()["refused"]
        assert stand.asked == []


@pytest.fixture
def stand() -> Stand:
    return Stand()


def test_text_of_others_stays_text(catalogue: Catalogue, bottles: LineAnswer) -> None:
    evil = replace(bottles, title=EVIL, cautions=(EVIL,))
    with opened(catalogue, Stand([evil, None])) as client:
        text = TEXT.replace("Bottles into boxes of twelve", EVIL)
        read = client.post("/open", content=text).json()
        news = client.get(f"/question/{read['line']}?seen=0").json()
        for html in (read["form"], news["html"]):
            found = html5lib.parse(html, namespaceHTMLElements=False)
            assert not list(found.iter("script")) and EVIL in "".join(found.itertext())


def test_a_process_answers_in_brief_and_then_in_full(
    catalogue: Catalogue, bottles: LineAnswer
) -> None:
    workers, said = Workers(catalogue), Queue[Any]()
    try:
        workers.start(read_line(CASES / "bottles.toml"), said.put)
        brief, full, end = (said.get(timeout=240) for _ in range(3))
    finally:
        workers.close()
    assert end is None
    assert brief.price == full.price == bottles.price
    assert not any(loop.alone.extent.explained for loop in brief.loops)
    assert line_as_json(full) == line_as_json(bottles)


def test_a_page_cannot_begin_with_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(f"recommender page {CASES / 'bottles.toml'}")[0] == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "start the page without it, and open the file there" in said
