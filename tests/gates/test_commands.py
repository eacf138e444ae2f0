"""A case and a catalogue full of what could be taken for something else, through the commands."""

import csv
import json
import shutil
from pathlib import Path

import pytest

from recommender.inputs.files import shipped
from recommender.shown import is_plain
from tests.commands import call

pytestmark = pytest.mark.usefixtures("_answered_once")

TITLE = "[link=x]Crate[/link] :smile:"
DESCRIPTION = "=1+1 [/] arc"


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str]:
    """A case whose stations have markup for names, and a catalogue with a formula in it."""
    folder = tmp_path_factory.mktemp("odd")
    case, catalogue = folder / "[b]case.toml", folder / "catalog"
    text = (shipped("cases") / "crate.toml").read_text(encoding="utf-8")
    for old, new in (
        ('name = "load"', 'name = "[/x]"'),
        ('name = "unload"', 'name = "left [b]"'),
        ('title = "Crate transfer at end of line"', f'title = "{TITLE}"'),
    ):
        assert old in text
        text = text.replace(old, new)
    case.write_text(text, encoding="utf-8")
    shutil.copytree(shipped("catalog"), catalogue)
    guide = catalogue / "guide.toml"
    begin, _, end = guide.read_text(encoding="utf-8").partition('description = "')
    changed = f'{begin}description = "{DESCRIPTION}{end[end.index(chr(34)) :]}'
    guide.write_text(changed, encoding="utf-8")
    return str(case), str(catalogue)


def test_an_answer_shows_names_as_they_stand(files: tuple[str, str]) -> None:
    case, catalogue = files
    status, out, err = call("answer", case, "--brief", "--catalogue", catalogue)
    assert (status, err) == (0, "")
    assert out.startswith(TITLE)
    for line in ("[/x] at ", "left [b] at ", "before left [b]"):
        assert line in out
    assert is_plain(out.replace("\n", ""))


def test_a_parts_list_begins_no_formula(files: tuple[str, str], tmp_path: Path) -> None:
    case, catalogue = files
    path = tmp_path / "parts.csv"
    status, out, _ = call("parts", case, "--catalogue", catalogue, "-o", str(path))
    assert (status, out) == (0, "")
    with path.open(encoding="utf-8", newline="") as file:
        assert TITLE in next(file)
        rows = list(csv.DictReader(file))
    assert f"'{DESCRIPTION}" in [row["description"] for row in rows]
    assert not any(cell[:1] in "=+-@\t\r" for row in rows for cell in row.values() if cell)
    data = json.loads(call("parts", case, "--catalogue", catalogue, "--json")[1])
    assert DESCRIPTION in [part["description"] for part in data]


def test_what_was_asked_for_is_escaped_in_refusals(files: tuple[str, str]) -> None:
    case, catalogue = files
    for words in (
        ("why", case, "\x1b[2J\u202e\n"),
        ("compare", case, "\x9b31m"),
        ("parts", case, "--option", "\x1b[2J"),
        ("parts", case, "-o", "\x1b[2J\n"),
        ("catalogue", "show", "\x1b[2J\u202e"),
        ("answer", case, "--time-limit", "\x1b[2J s"),
        ("answer", "\x1b[2J.toml"),
        ("answer", "\x1b[2J.toml", "--mass", "3 kg"),
        ("catalogue", "check", "--catalogue", "\x1b[2J\u202e"),
        ("\x1b[2J",),
        ("answer", "--\x1b[2J"),
        ("answer", case, "\x1b[2J"),
    ):
        folder = (
            () if "--catalogue" in words or words[0] == "\x1b[2J" else ("--catalogue", catalogue)
        )
        status, out, err = call(*words, *folder)
        assert (status, out) == (2, "")
        assert err.startswith("recommender: ")
        assert is_plain(err.replace("\n", ""))
