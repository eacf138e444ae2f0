"""Every command and every path that the two pages show is tried, wherever on the page it stands.

A command of the program is run, with `CASE`, `DIR` and the like filled in. A script that takes
flags is asked for its help, which has to know those that are shown. What neither can be done with
is listed below with its reason. A block of output belongs to the last command before it.
"""

import ast
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from recommender import cli
from recommender.inputs.files import shipped
from tests.test_readme import COMMANDS as IN_TABLE
from tests.test_readme import run

pytestmark = pytest.mark.usefixtures("_answered_once")

ROOT = Path(__file__).parents[1]
PAGES = {name: (ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md")}
FENCED = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)
TREE = re.compile(r"^(\w+(?:\.py|/))(?= )", re.MULTILINE)
QUOTED = re.compile(r"`([^`\n]+)`")
BELOW = {"catalogue", "case"}
COMMANDS = set(cli.Commands.homes)

NOT_RUN = {
    # `.ci/run` does these as they stand, in a fresh copy.
    "python3 -m venv .venv && .venv/bin/pip install -q . && "
    ".venv/bin/recommender answer cases/crate.toml": "sets up an environment",
    "python3 -m venv .venv && .venv/bin/pip install -q -e '.[test]' && "
    ".venv/bin/python -m pytest -q": "sets up an environment and runs all tests",
    ".venv/bin/pip install '.[office]'": "sets up an environment",
    "pip install '.[trials]'": "sets up an environment",
    "pip install '.[sheet]'": "sets up an environment",
    ".venv/bin/pip install -c tests/release/pinned.txt -e '.[test,lint]'": "sets up an environment",
    # `.ci/run` runs what they name.
    ".ci/run": "does all of this and more",
    "lint-imports": "a check of `.ci/run`",
    "mypy --strict": "a check of `.ci/run`",
    # tests/test_case_new.py answers what it asks.
    "case new": "asks questions on a terminal",
    "recommender case new crate.toml": "asks questions on a terminal",
    # tests/page starts it, asks and ends it.
    "recommender page": "serves until it is ended",
    # tests/test_readme.py runs the doubt that is shown, and in brief; with a search it takes long.
    "recommender doubt CASE": "answers the case and some harder ones",
    'recommender doubt cases/crate.toml --vary load.mass="±10 %" --vary load.friction="0.4 to 0.5"'
    ' --vary dwell="±10 %"': "answers the case and some harder ones",
    # tests/test_readme.py runs the table that is shown, tests/trials/test_batch.py folders.
    # tests/test_readme.py runs the map that is shown, tests/maps others.
    "recommender map CASE": "works out some hundred cases",
    "recommender map cases/crate.toml --points 6": "works out some dozens of cases",
    "recommender batch DIR -o answers.csv": "answers a folder of cases",
    "recommender batch FILE.csv": "answers a table of cases",
    "recommender batch cases.csv": "ends with 2, as one line is wrong",
    # The table of commands has it, but for its form, and it takes long.
    "answer --all --json": "every option in depth",
    # tests/test_completion.py runs these where they do no harm.
    "recommender --install-completion": "changes the start file of a shell",
    "recommender --show-completion": "asks which shell it runs in",
}
CHECKED_THERE = (ROOT / "tests" / "test_readme.py").read_text(encoding="utf-8")
"""Where some blocks are read in a way of their own, and the table of commands is run."""

OF_A_CASE = ("answer", "compare", "why", "parts", "plan", "sheet", "rehearse", "doubt", "map")
FILLED_IN = {
    "CASE": "cases/crate.toml",
    "DIR": "catalog",
    "ID": "bs-180",
    "OPTION": "std-116_arc-280_x1",
    "FILE": "written.json",
    "TIME": "60 s",
}
OF_OTHERS = ("python", "pip", ".venv/", ".ci/", "lint-imports", "mypy", "ruff", "pytest")
ALONE = (".ci/run", "lint-imports", "mypy")


def fenced(text: str) -> list[tuple[int, str, str]]:
    return [(match.start(), match[1], match[2]) for match in FENCED.finditer(text)]


def is_command(line: str) -> bool:
    word, _, rest = line.partition(" ")
    if word == "recommender":
        return bool(rest)
    # Within a sentence `catalogue show ID` stands for the whole command, `answer` for its name.
    if not rest:
        return word in ALONE
    return word in COMMANDS or word.startswith(OF_OTHERS)


def shown(page: str) -> list[tuple[int, str]]:
    """All commands of a page and where they stand."""
    text = PAGES[page]
    within = [(match.start(), match.end()) for match in FENCED.finditer(text)]
    found = [
        (match.start(), match[1])
        for match in QUOTED.finditer(text)
        if not any(begin <= match.start() < end for begin, end in within)
    ]
    for begin, language, block in fenced(text):
        if language in ("", "sh", "console", "bash"):
            lines = re.sub(r"\\\n\s*", " ", block).splitlines()
            # What is indented is output, or a tree of modules.
            flush = (line for line in lines if not line.startswith(" "))
            found += [(begin, line.removeprefix("$ ").strip()) for line in flush]
    return [(place, line) for place, line in found if is_command(line)]


def every_command() -> list[str]:
    return sorted({line for page in PAGES for _, line in shown(page)})


def of_ours(line: str) -> str | None:
    """A command line of the program with its names filled in; ``None`` for another program's."""
    words = shlex.split(line)
    if words[0] in COMMANDS:
        words = ["recommender", *words]
    if words[0] != "recommender":
        return None
    if words[1:] == ["case", "check"]:
        words.append("CASE")
    words = [FILLED_IN.get(word, word) for word in words]
    # A name of a command alone stands for it with the case that it needs.
    if words[1] in OF_A_CASE and not any(word.endswith(".toml") for word in words):
        words.insert(2, FILLED_IN["CASE"])
    if words[1] == "plan" and "-o" not in words:
        words += ["-o", "plan.svg"]
    return shlex.join(words)


def to_run() -> list[str]:
    return [line for line in every_command() if line not in {*NOT_RUN, *IN_TABLE} and of_ours(line)]


@pytest.fixture
def _checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("cases", "catalog"):
        shutil.copytree(shipped(name), tmp_path / name)
    monkeypatch.chdir(tmp_path)


@pytest.mark.usefixtures("_checkout")
@pytest.mark.parametrize(
    "line", [c for c in every_command() if c not in {*NOT_RUN, *IN_TABLE} and of_ours(c)]
)
def test_a_command_of_the_program_runs(line: str) -> None:
    command = of_ours(line)
    assert command is not None
    status, out = run(command)
    assert status == 0, line
    assert out or " -o " in command


@pytest.mark.parametrize("line", [c for c in every_command() if not (c in NOT_RUN or of_ours(c))])
def test_a_script_has_the_flags_that_are_shown(line: str) -> None:
    words = shlex.split(line)
    assert words[0] in ("python", ".venv/bin/python"), f"{line} is neither run nor excused"
    script = ROOT / words[1]
    assert script.is_file(), line
    text, flags = script.read_text(encoding="utf-8"), [w for w in words if w.startswith("--")]
    ast.parse(text)
    if "ArgumentParser(" not in text:
        # One that takes no flags would take a request for help for a wish to run it.
        assert not flags
        return
    asked = [sys.executable, str(script), "--help"]
    helped = subprocess.run(asked, capture_output=True, text=True, check=False, cwd=ROOT)
    assert helped.returncode == 0, helped.stderr
    for flag in flags:
        assert re.search(rf"{flag}\b", helped.stdout), f"{words[1]} has no {flag}"


@pytest.mark.parametrize("line", sorted(NOT_RUN))
def test_only_what_is_shown_is_excused(line: str) -> None:
    assert line in every_command()
    assert NOT_RUN[line]


def outputs() -> list[tuple[str, str]]:
    """Commands and the blocks of output behind them."""
    found = []
    for page, text in PAGES.items():
        commands = sorted(shown(page))
        for begin, language, block in fenced(text):
            lines = block.splitlines()
            if language or any(is_command(line) for line in lines) or TREE.search(block):
                continue
            mark = re.search(r"<!-- ([\w-]+) -->\n$", text[:begin])
            names = [f'"{mark[1]}"'] if mark else []
            if any(name in CHECKED_THERE for name in (*names, f'startswith("{block[:8]}')):
                continue
            before = [line for place, line in commands if place < begin]
            found.append((before[-1] if before else "nothing", block))
    return found


@pytest.mark.usefixtures("_checkout")
@pytest.mark.parametrize(("line", "block"), outputs())
def test_output_that_is_shown_is_printed(line: str, block: str) -> None:
    command = of_ours(line)
    assert command is not None, f"a block of output stands behind {line}"
    _, out = run(command)
    real = iter(printed.rstrip() for printed in out.splitlines())
    for wanted in block.splitlines():
        if wanted.strip() != "[...]":
            assert wanted.rstrip() in real, f"{command} does not print {wanted!r} there"


def paths() -> list[str]:
    """Files and folders that are named between quotation marks, or in the tree of the modules."""
    named = {text for page in PAGES.values() for text in QUOTED.findall(page)}
    files = {text for text in named if re.fullmatch(r"[\w./-]+(\.(py|md|toml|txt)|/)", text)}
    for _, _, block in fenced(PAGES["DEVELOPERS.md"]):
        files |= set(TREE.findall(block))
    return sorted(files - {"parts.csv", "guide.toml"})


def test_paths_that_are_named_exist() -> None:
    for path in paths():
        places = [ROOT / path, ROOT / "recommender" / path, ROOT / "recommender" / "choice" / path]
        places += [ROOT / "tests" / path]
        places += [ROOT / "recommender" / room / path for room in ("trials", "maps", "page")]
        assert any(place.exists() for place in places), path


def test_commands_and_paths_are_found() -> None:
    """The patterns above do find what they look for."""
    commands = every_command()
    assert len([line for line in commands if of_ours(line)]) > 15
    assert any("fuzz_inputs.py" in line for line in commands)
    assert len(IN_TABLE) > 10
    assert {"choice/", "views/", "choice/parts/rounding.py", "tests/evidence"} & set(paths())
    assert len(paths()) > 20
