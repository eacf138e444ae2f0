"""The commands plan and sheet: what they write, how they end, what they refuse."""

import importlib.util
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from recommender.inputs.files import shipped
from tests.commands import Ended, call

pytestmark = pytest.mark.usefixtures("_answered_once")

CRATE = str(shipped("cases") / "crate.toml")
IMPOSSIBLE = str(shipped("cases") / "impossible.toml")
BEGINS = {".svg": b"<svg ", ".dxf": b"  0\nSECTION", ".png": b"\x89PNG"}


@pytest.mark.parametrize("suffix", BEGINS)
def test_a_plan_is_written_in_the_form_of_its_name(tmp_path: Path, suffix: str) -> None:
    target = tmp_path / f"crate{suffix}"
    ended = call("plan", CRATE, "-o", str(target))
    assert (ended.status, ended.out) == (0, "")
    assert f"wrote {target}" in ended.err
    assert target.read_bytes().startswith(BEGINS[suffix])


def test_a_plan_of_another_option_is_another_plan(tmp_path: Path) -> None:
    first, second = tmp_path / "first.dxf", tmp_path / "second.dxf"
    assert call("plan", CRATE, "-o", str(first), "--quiet") == Ended(0, "", "")
    other = ("--option", "bs-228_eased-420_x1")
    assert call("plan", CRATE, "-o", str(second), "--quiet", *other) == Ended(0, "", "")
    arcs = [len(ezdxf.readfile(path).modelspace().query("ARC")) for path in (first, second)]
    assert arcs == [2, 0]


def test_a_sheet_is_written_for_its_reader(tmp_path: Path) -> None:
    whole, short = tmp_path / "whole.html", tmp_path / "short.html"
    when = ("--date", "2026-11-25")
    assert call("sheet", CRATE, "-o", str(whole), *when, "--quiet") == Ended(0, "", "")
    customer = ("--for", "customer")
    assert call("sheet", CRATE, "-o", str(short), *when, *customer, "--quiet").status == 0
    texts = [path.read_text(encoding="utf-8") for path in (whole, short)]
    assert all("25 November 2026" in text for text in texts)
    assert ["Calculation sheet" in text for text in texts] == [True, False]


def test_the_date_is_that_of_the_build_where_one_is_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    target = tmp_path / "sheet.html"
    assert call("sheet", CRATE, "-o", str(target), "--for", "customer").status == 0
    assert "1 January 1970" in target.read_text(encoding="utf-8")


def test_where_nothing_meets_there_is_a_sheet_and_no_plan(tmp_path: Path) -> None:
    plan, sheet = tmp_path / "plan.svg", tmp_path / "sheet.html"
    ended = call("plan", IMPOSSIBLE, "-o", str(plan))
    assert ended.status == 3 and "no loop to draw" in ended.err
    assert not plan.exists()
    ended = call("sheet", IMPOSSIBLE, "-o", str(sheet))
    assert ended.status == 3 and "the sheet says why" in ended.err
    text = sheet.read_text(encoding="utf-8")
    assert "No option of the catalogue meets this enquiry." in text
    assert "What would make it work" in text


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (("plan", CRATE, "-o", "plan.pdf"), "plan.pdf: the name must end in .svg or .dxf or .png"),
        (("sheet", CRATE, "-o", "sheet"), "sheet: the name must end in .html"),
        (("sheet", CRATE, "-o", "none/s.html"), "there is no folder none"),
        (("sheet", CRATE, "-o", "s.html", "--date", "tomorrow"), "--date must be a date"),
        (("sheet", CRATE, "-o", "s.html", "--for", "anybody"), "'anybody' is not one of"),
        (("plan", CRATE), "Missing option '-o'"),
        (("plan", "none.toml", "-o", "p.svg"), "none.toml: there is no such file"),
        (("plan", CRATE, "-o", "p.svg", "--option", "x"), "x"),
    ],
)
def test_what_cannot_be_done_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], complaint: str
) -> None:
    monkeypatch.chdir(tmp_path)
    ended = call(*words)
    assert (ended.status, ended.out) == (2, "")
    assert complaint in ended.err
    assert not list(tmp_path.iterdir())


def test_an_option_that_fails_has_no_plan(tmp_path: Path) -> None:
    ended = call("plan", CRATE, "-o", str(tmp_path / "p.svg"), "--option", "std-68_arc-280_x1")
    assert ended.status == 2
    assert "does not meet this case, so it has no plan" in ended.err


def test_a_file_is_replaced_with_force_only(tmp_path: Path) -> None:
    target = tmp_path / "plan.svg"
    target.write_text("mine", encoding="utf-8")
    ended = call("plan", CRATE, "-o", str(target))
    assert ended.status == 2 and "--force" in ended.err
    assert target.read_text(encoding="utf-8") == "mine"
    assert call("plan", CRATE, "-o", str(target), "--force").status == 0
    assert target.read_bytes().startswith(b"<svg ")


def test_a_library_that_is_not_there_is_named_with_its_remedy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = importlib.util.find_spec

    def lacking(name: str, *rest: Any) -> Any:
        return None if name in ("ezdxf", "jinja2") else found(name, *rest)

    monkeypatch.setattr(importlib.util, "find_spec", lacking)
    for words in (("plan", CRATE, "-o", "p.dxf"), ("sheet", CRATE, "-o", "s.html")):
        ended = call(*words[:-1], str(tmp_path / words[-1]))
        assert ended.status == 2
        assert "pip install '.[sheet]'" in ended.err
    # A plan as SVG needs nothing beside the program itself.
    assert call("plan", CRATE, "-o", str(tmp_path / "p.svg")).status == 0
