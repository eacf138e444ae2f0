"""The commands rehearse and doubt: saved answers, what they keep, and the sheet that shows it."""

import csv
import io
import json
from pathlib import Path

import pytest

from recommender.inputs.files import shipped
from tests.commands import Ended, call

pytestmark = pytest.mark.usefixtures("_answered_once")

CRATE = str(shipped("cases") / "crate.toml")
IMPOSSIBLE = str(shipped("cases") / "impossible.toml")
DOUBT = ("doubt", "--brief", "--draws", "500", "--quiet")
REHEARSE = ("rehearse", "--hours", "0.05", "--runs", "2", "--vary", "20 %", "--quiet")


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory, _answered_once: None) -> str:
    """The crate's answer, saved."""
    target = tmp_path_factory.mktemp("saved") / "crate.json"
    assert call("answer", CRATE, "--brief", "--save", str(target), "--quiet").status == 0
    return str(target)


@pytest.mark.parametrize("command", [DOUBT, REHEARSE])
def test_a_saved_answer_is_tried_like_its_case(saved: str, command: tuple[str, ...]) -> None:
    """Without another search: the same to the last figure."""
    asked = call(*command, CRATE, "--json")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("recommender.recommend.decide", lambda *_, **__: pytest.fail("a search"))
        again = call(*command, saved, "--json")
    assert asked.status == again.status == 0
    assert json.loads(asked.out) == json.loads(again.out)


def test_what_was_tried_stands_in_the_sheet(saved: str, tmp_path: Path) -> None:
    doubt, run, page = (str(tmp_path / name) for name in ("d.json", "r.json", "sheet.html"))
    assert call(*DOUBT, saved, "--save", doubt).status == 0
    assert call(*REHEARSE, saved, "--save", run).status == 0
    ended = call("sheet", CRATE, "-o", page, "--with", run, "--with", doubt, "--quiet")
    assert ended == Ended(0, "", "")
    text = Path(page).read_text(encoding="utf-8")
    kept = json.loads(Path(doubt).read_text(encoding="utf-8"))
    assert f"in {100 * kept['chance']['held']:.1f}".removesuffix(".0") in text
    for entry in kept["inputs"]:
        assert f'<th scope="row">{entry["key"]}</th>' in text
    assert text.index("Rehearsal of bs-228_arc-280_x1") < text.index("Doubt about bs-228_arc-280")
    assert "Position against time of 3 carriers" in text
    courses = json.loads(Path(run).read_text(encoding="utf-8"))["courses"]
    assert len(courses["carriers"]) == 3
    for line in courses["carriers"]:
        assert len(line["time_s"]) == len(line["place_m"]) > 10
        assert line["time_s"] == sorted(line["time_s"])
    # Nothing of it in what is kept without a sheet in mind.
    assert json.loads(call(*REHEARSE, saved, "--json").out)["courses"] is None


def test_a_trial_of_another_choice_stands_in_no_sheet(saved: str, tmp_path: Path) -> None:
    kept, page = tmp_path / "d.json", str(tmp_path / "sheet.html")
    assert call(*DOUBT, saved, "--save", str(kept)).status == 0
    data = json.loads(kept.read_text(encoding="utf-8"))
    for key, value in (("carriers", 5), ("option", "bs-180_arc-280_x1"), ("price", "1.00")):
        kept.write_text(json.dumps({**data, key: value}), encoding="utf-8")
        ended = call("sheet", CRATE, "-o", page, "--with", str(kept))
        assert ended.status == 2
        assert "--with: a doubt of" in ended.err
        assert "run it again for this answer" in ended.err
    assert not Path(page).exists()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "is damaged: no JSON"),
        ("[]", 'l/1" or "recommender.doubt/1" or "recommender.map/1" is wanted'),
        ('{"schema": "recommender.answer/1"}', "keep it with rehearse, doubt or map and --save"),
        ('{"schema": "recommender.doubt/1"}', "is damaged, or changed by hand"),
    ],
)
def test_what_is_no_trial_is_refused(tmp_path: Path, text: str, told: str) -> None:
    kept = tmp_path / "kept.json"
    kept.write_text(text, encoding="utf-8")
    ended = call("sheet", CRATE, "-o", str(tmp_path / "sheet.html"), "--with", str(kept))
    assert ended.status == 2
    assert told in ended.err


def test_a_customer_gets_no_trials(tmp_path: Path) -> None:
    ended = call(
        *("sheet", CRATE, "-o", str(tmp_path / "s.html"), "--for", "customer", "--with", "d.json")
    )
    assert ended.status == 2
    assert "--with is for colleagues" in ended.err


def test_a_doubt_is_written_for_spreadsheets_and_as_a_picture(saved: str, tmp_path: Path) -> None:
    table, picture = tmp_path / "d.csv", tmp_path / "d.svg"
    assert call(*DOUBT, saved, "-o", str(table)).status == 0
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert [row["input"] for row in rows][-1] == "load.mass"
    assert all(row["held"] == rows[0]["held"] for row in rows)
    assert call(*DOUBT, saved, "-o", str(picture)).status == 0
    assert b"load.friction" in picture.read_bytes()
    assert call(*DOUBT, saved, "-o", str(picture)).status == 2


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--draws", "10"), "--draws must be from 500 to 100000 (read: 10)"),
        (("--seed", "-1"), "--seed must not be negative (read: -1)"),
        (("--enough", "100"), "--enough must be from 50 to 99.9 (read: 100)"),
        (("--vary", "load.mas=±10 %"), "is no number of this case"),
        (("--save", "kept.toml"), "must end in .json"),
        (("-o", "kept.txt"), "must end in .csv, .svg or .png"),
        (("--time-limit", "10 s"), "a saved answer goes without --time-limit"),
    ],
)
def test_what_makes_no_sense_is_refused(saved: str, words: tuple[str, ...], told: str) -> None:
    ended = call("doubt", saved, *words)
    assert (ended.status, ended.out) == (2, "")
    assert told in ended.err


def test_a_saved_answer_wants_its_own_catalogue(saved: str, tmp_path: Path) -> None:
    data = json.loads(Path(saved).read_text(encoding="utf-8"))
    data["catalogue"]["digest"] = "0" * 16
    other = tmp_path / "other.json"
    other.write_text(json.dumps(data), encoding="utf-8")
    ended = call(*DOUBT, str(other))
    assert ended.status == 2
    assert "was answered with another catalogue or other prices" in ended.err


@pytest.mark.parametrize("command", [DOUBT, REHEARSE])
def test_where_nothing_works_there_is_nothing_to_try(command: tuple[str, ...]) -> None:
    ended = call(*command, IMPOSSIBLE)
    assert (ended.status, ended.out) == (3, "")
    assert "no option meets this case" in ended.err
