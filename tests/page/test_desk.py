"""What the page answers to a form, question by question, and the files that it gives."""

import io
import tomllib
from collections.abc import Callable
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

import pytest

pytest.importorskip("starlette")

import html5lib
import openpyxl
from starlette.testclient import TestClient

from recommender.inputs.case import Case
from recommender.inputs.files import shipped
from recommender.page import app, form
from recommender.page.desk import MOST_KEPT
from recommender.results.answer import Answer
from tests.page.conftest import Stand

CRATE = tomllib.loads((shipped("cases") / "crate.toml").read_text())
EVIL = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'&"


def sent(data: dict[str, Any]) -> str:
    return urlencode(form.pairs_of(data))


def ask(client: TestClient, data: dict[str, Any]) -> dict[str, Any]:
    answer = client.post("/question", content=sent(data))
    assert answer.status_code == 200
    return answer.json()


def news(client: TestClient, id_: str, seen: int = 0) -> dict[str, Any]:
    return client.get(f"/question/{id_}?seen={seen}").json()


@pytest.fixture(scope="module")
def crate(worked_case: Callable[..., Any]) -> Answer:
    return worked_case("crate").answer


def test_an_answer_comes_in_brief_then_with_what_may_move(opened, crate):
    brief = replace(crate, extent=replace(crate.extent, explained=False))
    client = opened(Stand([brief]))
    read = ask(client, CRATE)
    told = news(client, read["question"])
    assert told["state"] == "working" and not told["explained"]
    assert crate.recommended in told["headline"]
    assert "sheet.html" not in told["wares"] and "parts.xlsx" in told["wares"]
    client = opened(Stand([brief, crate, None]))
    told = news(client, ask(client, CRATE)["question"])
    assert told["state"] == "done" and told["explained"]
    assert told["rooms"]["load.mass"].startswith("holds up to ")
    assert told["rooms"]["station[2].dwell"].startswith("holds up to ")


def test_what_works_so_far_is_told_as_such_until_the_choice_is_there(opened, crate):
    brief = replace(crate, extent=replace(crate.extent, explained=False))
    so_far = replace(brief, unsettled=("other motions, which may cost less",))
    told = news(client := opened(Stand([so_far])), ask(client, CRATE)["question"])
    assert told["so_far"] and "Other motions, which may cost less." in told["html"]
    told = news(client := opened(Stand([so_far, brief])), ask(client, CRATE)["question"])
    assert not told["so_far"] and "may cost less." not in told["html"]
    # What a limit of time has cut off stays said, and nothing is looked for any more.
    told = news(client := opened(Stand([so_far, None])), ask(client, CRATE)["question"])
    assert not told["so_far"] and "Other motions, which may cost less." in told["html"]


def test_the_answer_shows_choice_checks_ranges_and_options(opened, crate):
    client = opened(Stand([crate, None]))
    page = html5lib.parse(
        news(client, ask(client, CRATE)["question"])["html"], namespaceHTMLElements=False
    )
    text = " ".join(" ".join(page.itertext()).split())
    choice = crate.choice
    assert choice is not None
    for check in choice.checks:
        assert check.title in text
    for line in choice.headroom:
        assert line.to is None or line.to.replace("^2", "²") in text
    for option in crate.options:
        if option.price is not None:
            assert option.id in text
    assert all(caution in text for caution in crate.cautions)


def test_the_case_that_it_begins_with_is_answered_at_once(opened, stand):
    opened(stand, CRATE)
    assert [case.load.mass for case in stand.asked] == [30.0]


def test_a_wrong_unit_asks_nothing_and_is_said_beside_its_field(opened, stand):
    client = opened(stand)
    read = ask(client, {**CRATE, "load": {**CRATE["load"], "mass": "30 mm"}})
    assert "question" not in read
    assert list(read["faults"]) == ["load.mass"]
    assert "is not a mass" in read["faults"]["load.mass"]
    assert stand.asked == []


def test_other_money_than_the_catalogues_is_refused_beside_the_budget(opened, stand):
    read = ask(opened(stand), {**CRATE, "commercial": {"budget": "1 USD"}})
    assert list(read["faults"]) == ["commercial.budget"]


def test_what_nothing_can_meet_is_said_at_once(opened, stand):
    read = ask(opened(stand), {**CRATE, "load": {**CRATE["load"], "mass": "9 t"}})
    assert len(read["beforehand"]) == 1 and read["beforehand"][0].startswith("load.mass")


def test_a_question_takes_the_place_of_another_and_is_answered_once(opened):
    stand = Stand()
    client = opened(stand)
    first = ask(client, CRATE)["question"]
    second = ask(client, {**CRATE, "title": "another"})["question"]
    assert news(client, first)["state"] == "superseded"
    assert ask(client, {**CRATE, "title": "another"})["question"] == second
    assert len(stand.asked) == 2
    assert ask(client, CRATE)["question"] == first
    assert len(stand.asked) == 3
    assert news(client, second)["state"] == "superseded"


def test_what_was_answered_before_is_not_computed_again(opened, crate):
    stand = Stand([crate, None])
    client = opened(stand)
    first = ask(client, CRATE)["question"]
    ask(client, {**CRATE, "title": "another"})
    assert ask(client, CRATE)["question"] == first
    assert len(stand.asked) == 2


def test_only_so_many_questions_are_remembered(opened):
    client = opened(Stand())
    ids = [ask(client, {**CRATE, "title": f"t{n}"})["question"] for n in range(MOST_KEPT + 1)]
    assert client.get(f"/question/{ids[0]}").status_code == 404
    assert news(client, ids[1])["state"] == "superseded"


def test_only_so_many_wait_at_once(opened, monkeypatch):
    client = opened(Stand())
    id_ = ask(client, CRATE)["question"]
    monkeypatch.setattr(app, "MOST_WAITING", 0)
    assert client.get(f"/question/{id_}").status_code == 503


def test_a_failure_is_said_and_the_same_question_can_be_asked_again(opened):
    stand = Stand([f"a fault {EVIL}"])
    client = opened(stand)
    id_ = ask(client, CRATE)["question"]
    assert news(client, id_)["state"] == "failed"
    ask(client, CRATE)
    assert len(stand.asked) == 2


def test_the_files_are_those_of_the_commands(opened, crate):
    client = opened(Stand([crate, None]))
    id_ = ask(client, CRATE)["question"]
    got = {
        name: client.get(f"/question/{id_}/{name}")
        for name in ("parts.xlsx", "plan.svg", "plan.dxf", "sheet.html")
    }
    for name, answer in got.items():
        assert answer.status_code == 200, name
        named = f'attachment; filename="crate-transfer-at-end-of-line-{name}"'
        assert answer.headers["Content-Disposition"] == named
        assert answer.headers["Content-Security-Policy"].endswith("sandbox")
    book = openpyxl.load_workbook(io.BytesIO(got["parts.xlsx"].content))
    assert {part.id for part in crate.parts} <= {
        str(cell.value) for row in book.worksheets[0].iter_rows() for cell in row
    }
    assert got["plan.svg"].text.startswith("<svg") and "EOF" in got["plan.dxf"].text[-8:]
    assert got["sheet.html"].text.startswith("<!DOCTYPE html>")


def test_the_case_is_saved_as_it_stands_finished_or_not(opened, stand):
    client = opened(stand)
    answer = client.post("/case.toml", content=sent(CRATE))
    named = 'attachment; filename="crate-transfer-at-end-of-line-case.toml"'
    assert answer.headers["Content-Disposition"] == named
    assert Case.model_validate(tomllib.loads(answer.text)) == Case.model_validate(CRATE)
    begun = {"title": EVIL, "load": {"mass": "30 mm"}, "station": [{"name": 'a"\\'}]}
    answer = client.post("/case.toml", content=sent(begun))
    data = {key: value for key, value in tomllib.loads(answer.text).items() if value}
    assert data == begun
    assert answer.headers["Content-Disposition"].isascii()
    assert client.post("/open", content=answer.text).json()["form"]


def test_no_file_is_given_of_what_is_not_known_yet(opened, stand):
    client = opened(stand)
    id_ = ask(client, CRATE)["question"]
    assert client.get(f"/question/{id_}/parts.xlsx").status_code == 409
    assert client.get(f"/question/{id_}/nothing.txt").status_code == 404
    assert client.get("/question/x/plan.svg").status_code == 404


def test_text_of_others_stays_text_everywhere(opened, crate):
    data = {
        **CRATE,
        "title": EVIL,
        "station": [{"name": EVIL, "dwell": EVIL}, {"name": "b", "dwell": "1 s"}],
        "load": {**CRATE["load"], "mass": EVIL},
    }
    shown = opened(Stand(), data).get("/").text
    read = html5lib.parse(shown, namespaceHTMLElements=False)
    values = [entry.get("value") for entry in read.iter("input")]
    assert values.count(EVIL) == 4
    assert len(list(read.iter("script"))) == 1
    assert not [image for image in read.iter("img") if image.get("src") == "x"]
    evil = replace(crate, case={**crate.case, "title": EVIL}, cautions=(EVIL,))
    client = opened(Stand([evil, None]))
    html = news(client, ask(client, CRATE)["question"])["html"]
    found = html5lib.parse(html, namespaceHTMLElements=False)
    assert not list(found.iter("script"))
    assert EVIL in "".join(found.itertext())


def test_a_case_file_is_opened_or_refused_in_the_words_of_its_reader(opened, stand):
    client = opened(stand)
    text = (shipped("cases") / "crate.toml").read_text()
    read = client.post("/open?name=crate.toml", content=text).json()
    values = {
        entry.get("name"): entry.get("value")
        for entry in html5lib.parse(read["form"], namespaceHTMLElements=False).iter("input")
    }
    assert values["load.mass"] == "30 kg" and values["station[2].name"] == "unload"
    refused = client.post("/open?name=x.toml", content=text + "\ncolour = 1").json()["refused"]
    assert refused.startswith("x.toml: ") and "colour" in refused
    assert "is not valid TOML" in client.post("/open", content="a = = 1").json()["refused"]
    assert "UTF-8" in client.post("/open", content=b"\xff\xfe").json()["refused"]
    deep = client.post("/open", content="a = " + "[" * 5000).json()["refused"]
    assert len(deep) < 300


def test_worked_cases_are_opened_by_name(opened, stand):
    client = opened(stand, None, {"crate": CRATE})
    assert 'value="30 kg"' in client.post("/worked/crate").json()["form"]
    assert client.post("/worked/..%2Fcrate").status_code == 404


def test_stations_are_added_and_removed(opened, stand):
    client = opened(stand)
    more = client.post("/stations", content=sent(CRATE) + "&do=add").json()["form"]
    assert 'name="station[3].name" value="station 3"' in more
    less = client.post("/stations", content=sent(CRATE) + "&do=remove+1").json()["form"]
    assert 'name="station[1].name" value="unload"' in less and "station[2]" not in less


def test_what_answers_is_closed_with_the_page(catalogue):
    stand = Stand()
    gate = app.application(app.Setting(catalogue, {}, {}), lambda: stand, "t", ["h"])
    with TestClient(gate):
        assert stand.closed == 0
    assert stand.closed == 1
