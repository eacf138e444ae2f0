"""What the README shows is what the program does."""

import contextlib
import io
import re
import shlex
import shutil
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from recommender import cli
from recommender.inputs.case import Case, make_case
from recommender.inputs.errors import known_keys
from recommender.inputs.files import shipped
from recommender.inputs.prices import asked_price, parse_prices

pytestmark = pytest.mark.usefixtures("_answered_once")

README = Path(__file__).parents[1] / "README.md"
TEXT = README.read_text(encoding="utf-8")
FENCED = re.findall(r"^```\w*\n(.*?)^```", TEXT, re.MULTILINE | re.DOTALL)
COMMANDS = re.findall(r"^\| `(recommender [^`]+)`", TEXT, re.MULTILINE)


def marked(name: str) -> str:
    """The fenced block behind a mark that readers do not see."""
    found = re.search(rf"<!-- {name} -->\n```\w*\n(.*?)```", TEXT, re.DOTALL)
    assert found is not None
    return found[1]


def run(command: str) -> tuple[int, str]:
    out = io.StringIO()
    with (
        pytest.MonkeyPatch.context() as patch,
        contextlib.redirect_stdout(out),
        pytest.raises(SystemExit) as ended,
    ):
        patch.setenv("COLUMNS", "80")
        patch.setattr(sys, "argv", shlex.split(command))
        cli.run()
    assert isinstance(ended.value.code, int)
    return ended.value.code, out.getvalue()


@pytest.fixture
def _checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(shipped("cases"), tmp_path / "cases")
    monkeypatch.chdir(tmp_path)


def keys(table: dict[str, Any], prefix: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for key, value in table.items():
        yield (*prefix, key)
        for inner in value if isinstance(value, list) else [value]:
            if isinstance(inner, dict):
                yield from keys(inner, (*prefix, key))


def test_the_first_two_commands_need_nothing_but_python() -> None:
    answer, tests = (block.strip() for block in FENCED[:2])
    for command in (answer, tests):
        assert "\n" not in command
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install ")
    assert answer.endswith(".venv/bin/recommender answer cases/crate.toml")
    assert tests.endswith(".venv/bin/python -m pytest -q")


@pytest.mark.usefixtures("_checkout")
@pytest.mark.parametrize(
    ("name", "flags", "lines"), [("crate", "", 30), ("floor", " --least floor", 8)]
)
def test_the_answer_that_is_shown_is_the_real_one(name: str, flags: str, lines: int) -> None:
    status, out = run(f"recommender answer cases/crate.toml{flags}")
    assert status == 0
    real = iter(line.rstrip() for line in out.splitlines())
    shown = [line for line in marked(name).splitlines() if line.strip() != "[...]"]
    assert len(shown) > lines
    for line in shown:
        assert line in real, f"the README shows a line that is not printed there: {line!r}"


def as_shown(name: str, out: str) -> None:
    real = iter(line.rstrip() for line in out.splitlines())
    for line in marked(name).splitlines():
        assert line.strip() == "[...]" or line in real, f"not printed there: {line!r}"


@pytest.mark.usefixtures("_checkout")
def test_what_moved_is_the_real_one() -> None:
    text = Path("cases/crate.toml").read_text(encoding="utf-8")
    for old, new in (('"30 kg"', '"36 kg"'), ('"18/min"', '"20/min"')):
        text = text.replace(old, new)
    Path("now.toml").write_text(text, encoding="utf-8")
    status, out = run("recommender changed cases/crate.toml now.toml")
    assert status == 0
    as_shown("changed", out)


@pytest.mark.usefixtures("_checkout")
def test_the_what_if_table_is_the_real_one() -> None:
    (command,) = re.findall(r"`(compare cases/crate.toml --vary [^`]*90 kg\")`", TEXT)
    status, out = run(f"recommender {command}")
    assert status == 0
    as_shown("what-if", out)


@pytest.mark.usefixtures("_checkout")
def test_the_map_is_the_real_one() -> None:
    (command,) = re.findall(r"^`(recommender map cases/crate.toml [^`]*)`:$", TEXT, re.MULTILINE)
    status, out = run(f"{command} --processes 1")
    assert status == 0
    as_shown("map", out)


def test_the_price_list_that_is_shown_is_one() -> None:
    listed = next(block for block in FENCED if block.startswith("id,price"))
    now, later = parse_prices(listed, "README.md")
    asked = asked_price(now.price, now.discount, now.margin)
    assert f"asked for at {asked}" in " ".join(TEXT.split())
    assert later.valid_from > now.valid_from


@pytest.mark.usefixtures("_checkout")
def test_the_rehearsal_that_is_shown_is_the_real_one() -> None:
    command = re.search(r"^`(recommender rehearse [^`]+)`:$", TEXT, re.MULTILINE)
    assert command is not None
    status, out = run(command[1])
    assert status == 0
    assert [line.rstrip() for line in out.splitlines()] == marked("rehearse").splitlines()


@pytest.mark.usefixtures("_checkout")
def test_the_doubt_that_is_shown_is_the_real_one() -> None:
    command = re.search(r"^`(recommender doubt [^`]+)`:$", TEXT, re.MULTILINE)
    assert command is not None
    status, out = run(command[1])
    assert status == 0
    assert [line.rstrip() for line in out.splitlines()] == marked("doubt").splitlines()


@pytest.mark.usefixtures("_checkout")
def test_the_many_cases_that_are_shown_come_to_what_is_shown() -> None:
    Path("cases.csv").write_text(marked("cases"), encoding="utf-8")
    status, out = run("recommender batch cases.csv")
    assert status == 2
    assert [line.rstrip() for line in out.splitlines()] == marked("batch").splitlines()


@pytest.mark.usefixtures("_checkout")
@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_that_is_shown_runs(command: str) -> None:
    assert run(command)[0] == 0


def test_commands_are_shown() -> None:
    assert {command.split()[1] for command in COMMANDS} == {
        "answer",
        "changed",
        "compare",
        "why",
        "parts",
        "plan",
        "sheet",
        "rehearse",
        "doubt",
        "map",
        "evidence",
        "catalogue",
        "case",
        "schema",
    }


def test_the_smallest_case_is_one() -> None:
    smallest = next(block for block in FENCED if block.startswith("load.mass"))
    assert make_case(tomllib.loads(smallest), "README.md").load.mass == 30.0


def test_the_door_that_is_shown_opens(monkeypatch: pytest.MonkeyPatch) -> None:
    door = next(block for block in FENCED if block.startswith("import recommender"))
    monkeypatch.chdir(README.parent)
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(door, "README.md", "exec"), {})
    assert re.fullmatch(r"[a-z0-9-]+_[a-z0-9-]+_x1 [0-9]+\.[0-9]{2} EUR\n", out.getvalue())


def test_the_whole_case_is_one_and_holds_every_key() -> None:
    data = tomllib.loads(marked("case"))
    make_case(data, "README.md")
    shown = set(keys(data))
    for table in {(), *(key for key in shown if is_table(key))}:
        assert {(*table, key) for key in known_keys(Case, table)} <= shown


def is_table(key: tuple[str, ...]) -> bool:
    """Whether a key stands for a table, so that it has keys of its own."""
    return known_keys(Case, key) != known_keys(Case, key[:-1])


def test_tables_of_a_case_are_found() -> None:
    assert is_table(("load", "liquid"))
    assert not is_table(("load", "mass"))


@pytest.mark.parametrize("status", ["0", "1", "2", "3", "4", "130", "143"])
def test_exit_statuses_are_listed(status: str) -> None:
    assert re.search(rf"^\| {status} \| ", TEXT, re.MULTILINE)
