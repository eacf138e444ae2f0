"""The command map: what it writes, what it refuses, and the sheet that shows a kept map."""

import csv
import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from recommender.inputs.files import shipped
from recommender.results.map import MAP_SCHEMA, Map
from recommender.saved import read_kept
from tests.commands import Ended, call

pytestmark = pytest.mark.usefixtures("_answered_once")

CRATE = str(shipped("cases") / "crate.toml")
SMALL = (
    *("map", CRATE, "--over", "mass=26 kg to 36 kg,rate=16/min to 26/min", "--points", "3"),
    *("--processes", "1", "--quiet"),
)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory, _answered_once: None) -> Path:
    """A small map of the crate, kept for a sheet."""
    target = tmp_path_factory.mktemp("kept") / "map.json"
    assert call(*SMALL, "--save", str(target)).status == 0
    return target


@pytest.fixture(scope="module", autouse=True)
def _mapped_once(kept: Path) -> None:
    """The map of these tests is worked out once; what is looked at is what becomes of it."""


@pytest.fixture
def _known(kept: Path, monkeypatch: pytest.MonkeyPatch) -> Map:
    found = read_kept(kept, {MAP_SCHEMA: Map}, "again")
    monkeypatch.setattr("recommender.maps.study.map_of", lambda *_, **__: found)
    assert isinstance(found, Map)
    return found


def test_what_is_kept_is_the_document_that_is_printed(kept: Path, _known: Map) -> None:
    ended = call(*SMALL, "--json")
    assert ended.status == 0
    assert json.loads(ended.out) == json.loads(kept.read_text(encoding="utf-8"))
    document = json.loads(ended.out)
    assert document["schema"] == "recommender.map/1"
    assert len(document["cells"]) == 9
    assert document["asked"]["option"] == "bs-228_arc-280_x1"


def test_the_terminal_shows_every_cell_of_a_small_map(_known: Map) -> None:
    text = call(*SMALL).out
    for cell in _known.cells:
        assert cell.price is None or f"{cell.price:,.0f}" in text
    for option in _known.options:
        assert option.id in text
    # The highest rate stands on top, as on a picture.
    rates = [float(rate) for rate in re.findall(r"^ +([0-9.]+) +(?:[A-Z] |–)", text, re.MULTILINE)]
    assert rates == [26.0, 21.0, 16.0]
    assert max(map(len, text.splitlines())) <= 80


def test_a_spreadsheet_gets_a_line_for_each_cell(_known: Map, tmp_path: Path) -> None:
    target = tmp_path / "map.csv"
    assert call(*SMALL, "-o", str(target)).status == 0
    lines = list(csv.DictReader(target.read_text(encoding="utf-8").splitlines()))
    assert [(line["load.mass [kg]"], line["rate.items [/min]"]) for line in lines[:4]] == [
        ("26", "16"),
        ("26", "21"),
        ("26", "26"),
        ("31", "16"),
    ]
    for line, cell in zip(lines, _known.cells, strict=True):
        assert line["option"] == (cell.option or "")
        assert line["price"] == ("" if cell.price is None else str(cell.price))


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_a_picture_is_the_same_each_time(kind: str, _known: Map, tmp_path: Path) -> None:
    first, second = (tmp_path / f"{name}.{kind}" for name in ("one", "two"))
    for target in (first, second):
        assert call(*SMALL, "-o", str(target)).status == 0
    assert first.read_bytes() == second.read_bytes()
    if kind == "svg":
        text = "".join(ET.fromstring(first.read_bytes()).itertext())
        for option in _known.options:
            assert option.id in text
            assert option.family in text
        for word in ("none works", "Mass of an item, kg", "Rate, items/min", "equal price, EUR"):
            assert word in text
        assert "this case:" in text


@pytest.mark.usefixtures("_known")
def test_the_sheet_shows_a_map_of_its_own_case_alone(kept: Path, tmp_path: Path) -> None:
    page = tmp_path / "sheet.html"
    ended = call("sheet", CRATE, "-o", str(page), "--with", str(kept), "--quiet")
    assert ended == Ended(0, "", "")
    text = page.read_text(encoding="utf-8")
    assert "what is cheapest by mass of an item and rate" in text
    assert 'aria-label="What is cheapest by load.mass and rate.items: ' in text
    data = json.loads(kept.read_text(encoding="utf-8"))
    data["asked"]["price"] = "1.00"
    other = tmp_path / "other.json"
    other.write_text(json.dumps(data), encoding="utf-8")
    ended = call("sheet", CRATE, "-o", str(tmp_path / "no.html"), "--with", str(other), "--quiet")
    assert ended.status == 2
    assert (
        "--with: a map of a case for which it has bs-228_arc-280_x1, 3 carriers, 1.00" in ended.err
    )
    assert "run it again for this answer" in ended.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--over", "mass"), "--over must be two inputs"),
        (("--points", "2"), "--points must be from 3 to 100 (read: 2)"),
        (("--processes", "0"), "--processes must be from 1 to 256 (read: 0)"),
        (("-o", "map.txt"), "map.txt: the name must end in .svg, .png, .csv or .json"),
        (("--save", "map.txt"), "map.txt: the name of a saved answer must end in .json"),
    ],
)
def test_what_is_wrong_is_said_before_anything_is_worked_out(
    words: tuple[str, ...], says: str
) -> None:
    ended = call("map", CRATE, *words, "--quiet")
    assert (ended.status, ended.out) == (2, "")
    assert says in ended.err
    assert ended.err.count("\n") == 1


def test_a_line_and_a_saved_answer_make_no_map(tmp_path: Path) -> None:
    line = next(iter(sorted((shipped("cases") / "lines").glob("*.toml"))))
    assert "holds a line of loops; a map is of one loop's case" in call("map", str(line)).err
    saved = tmp_path / "saved.json"
    saved.write_text("{}", encoding="utf-8")
    assert "a map answers a case anew; name the case" in call("map", str(saved)).err
