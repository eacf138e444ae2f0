"""The door for other programs, and the schemas that say what goes in and out."""

import json
import subprocess
import sys
import tomllib
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

import recommender
from recommender.inputs.case import Case
from recommender.inputs.files import shipped
from recommender.results import answer as result
from recommender.schemas import answer_schema, case_schema

WORKED = sorted(shipped("cases").glob("*.toml"))
SMALL: dict[str, Any] = {"load": {"mass": "3 kg"}, "rate": {"items": "20/min"}}


def run(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def reads() -> Draft202012Validator:
    Draft202012Validator.check_schema(case_schema())
    return Draft202012Validator(case_schema())


@pytest.fixture(scope="module")
def says() -> Draft202012Validator:
    Draft202012Validator.check_schema(answer_schema())
    return Draft202012Validator(answer_schema())


class TestDoor:
    def test_importing_it_imports_nothing(self) -> None:
        heavy = "{'numpy', 'pydantic', 'ortools', 'rich', 'typer', 'pint', 'recommender.results'}"
        ended = run("-c", f"import sys, recommender; print({heavy} & set(sys.modules))")
        assert (ended.stdout.strip(), ended.stderr) == ("set()", "")

    def test_answers_a_case(self) -> None:
        case = recommender.read_case(shipped("cases") / "crate.toml")
        answer = recommender.answer(case, recommender.read_catalogue(), brief=True)
        assert isinstance(answer, recommender.Answer)
        assert answer.choice is not None and answer.choice.price is not None
        assert json.loads(recommender.as_json(answer))["recommended"] == answer.recommended

    def test_reads_as_the_command_line_does(self) -> None:
        path = str(shipped("cases") / "tray.toml")
        with Path(path).open("rb") as file:
            data = tomllib.load(file)
        assert recommender.make_case(data) == recommender.read_case(path)
        folder = str(shipped("catalog"))
        assert recommender.read_catalogue(folder).digest == recommender.read_catalogue().digest

    def test_refuses_with_the_same_words(self) -> None:
        with pytest.raises(recommender.InputError, match="the nearest known key is mass"):
            recommender.make_case({**SMALL, "load": {"mass": "3 kg", "weight": "3 kg"}})
        case = recommender.make_case(SMALL)
        with pytest.raises(recommender.InputError, match="there is no option 'std-116'"):
            recommender.answer(case, recommender.read_catalogue(), why="std-116")

    def test_has_all_that_it_names_and_says_that_it_is_typed(self) -> None:
        for name in recommender.__all__:
            assert getattr(recommender, name).__doc__
        with pytest.raises(AttributeError, match="no attribute 'anwser'"):
            recommender.anwser  # noqa: B018
        assert (Path(recommender.__file__).parent / "py.typed").is_file()


UNREAD = """
import sys
from recommender.__main__ import main
sys.argv = ["recommender", *sys.argv[2:]]
try:
    main()
except SystemExit as ended:
    unwanted = %r
    print(f"\\nloaded: {ended.code} {sorted(unwanted & set(sys.modules))}")
"""
COMPUTES = {
    "numpy",
    "ortools",
    "pint",
    "scipy",
    "recommender.physics",
    "recommender.results.answer",
}
READS = {"pydantic", "rich", "recommender.inputs", "recommender.views"}
OTHERS = {"recommender.commands.map", "recommender.commands.page", "recommender.commands.data"}
LINES = {"recommender.lines.model", "recommender.lines.tables", "recommender.views.terminal"}


class TestReading:
    """What only reads starts at once: no library is loaded that it can do without."""

    @pytest.mark.parametrize(
        ("words", "status", "unwanted"),
        [
            (("--help",), 0, COMPUTES | READS),
            (("case", "--help"), 0, COMPUTES | READS),
            (("answer", "CRATE", "--breif"), 2, COMPUTES | READS | OTHERS),
            (("case", "check", "CRATE", "--breif"), 2, COMPUTES | READS),
            (("anwser",), 2, COMPUTES | READS | OTHERS),
            (("case", "check", "CRATE"), 0, COMPUTES | LINES),
            (("case", "check", "CRATE", "--json"), 0, COMPUTES | LINES | {"rich"}),
        ],
        ids=lambda words: " ".join(words) if isinstance(words, tuple) else "",
    )
    def test_loads_no_more_than_it_needs(
        self, words: tuple[str, ...], status: int, unwanted: set[str]
    ) -> None:
        crate = str(shipped("cases") / "crate.toml")
        given = [crate if word == "CRATE" else word for word in words]
        ended = run("-c", UNREAD % unwanted, "-", *given)
        assert ended.stdout.splitlines()[-1] == f"loaded: {status} []", ended.stderr

    @pytest.mark.parametrize("path", WORKED, ids=lambda path: path.stem)
    def test_no_worked_case_that_works_needs_arrays_to_be_checked(self, path: Path) -> None:
        ended = run("-c", UNREAD % COMPUTES, "-", "case", "check", str(path))
        needed = not ended.stdout.splitlines()[-1].endswith(" []")
        # How long an exchange takes is said where none would be quick enough.
        assert needed == (path.stem == "impossible"), ended.stderr


class TestCaseSchema:
    @pytest.mark.parametrize("path", WORKED, ids=lambda path: path.stem)
    def test_takes_every_worked_case(self, reads: Draft202012Validator, path: Path) -> None:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        assert [error.message for error in reads.iter_errors(data)] == []

    @pytest.mark.parametrize(
        "wrong",
        [
            {"load": {"mass": 3}},
            {"load": {"mass": "3"}},
            {"load": {"mass": "3,5 kg"}},
            {"load": {"mass": "kg"}},
            {"load": {"mass": "3 kg", "weight": "3 kg"}},
            {"load": {"mass": "3 kg", "held": "glued"}},
            {"load": {}},
            {"rate": {"items": "20/min", "per_carrier": []}},
            {"rate": {"items": "20/min", "per_carrier": [0]}},
            {"rate": {"items": "20/min", "reserve": -0.1}},
            {"station": [{"name": "a"}]},
            {"station": [{"name": "a", "dwell": "1 s", "force": ["1 N", "2 N"]}]},
            {"station": [{"name": "a", "dwell": "1 s", "dwell_for": "tray"}]},
            {"surprise": 1},
        ],
        ids=str,
    )
    def test_refuses_what_the_program_refuses(
        self, reads: Draft202012Validator, wrong: dict[str, Any]
    ) -> None:
        assert reads.is_valid(SMALL)
        assert not reads.is_valid({**SMALL, **wrong})
        with pytest.raises(recommender.InputError):
            recommender.make_case({**SMALL, **wrong})

    def test_has_every_key_and_defaults_that_can_be_written(
        self, reads: Draft202012Validator
    ) -> None:
        schema = case_schema()
        tables = {"Case": schema, **schema["$defs"]}
        assert set(schema["properties"]) == set(Case.model_fields)
        for name, table in tables.items():
            given = {
                key: entry["default"]
                for key, entry in table["properties"].items()
                if entry.get("default") not in (None, {})
            }
            part = Draft202012Validator({**table, "required": [], "$defs": schema["$defs"]})
            assert [error.message for error in part.iter_errors(given)] == [], name


class TestAnswerSchema:
    @pytest.mark.parametrize("name", ["crate", "batch", "impossible"])
    def test_holds_for_what_is_answered(self, says: Draft202012Validator, name: str) -> None:
        case = recommender.read_case(shipped("cases") / f"{name}.toml")
        answer = recommender.answer(case, recommender.read_catalogue(), brief=True)
        data = json.loads(recommender.as_json(answer))
        assert [error.message for error in says.iter_errors(data)] == []
        assert not says.is_valid({**data, "schema": "something else"})
        assert not says.is_valid({**data, "surprise": 1})
        data["options"][0]["verdict"] = "perhaps"
        assert not says.is_valid(data)

    def test_has_every_table_of_the_answer(self) -> None:
        tables = answer_schema()["$defs"]
        known = {
            name: table
            for name, table in vars(result).items()
            if is_dataclass(table) and isinstance(table, type)
        }
        # What the evidence command prints is no part of an answer.
        beside = {"Answer", "EvidenceLine", "EvidenceReport", "ComparisonLine"}
        for name in known.keys() - beside:
            keys = {entry.metadata.get("name", entry.name) for entry in fields(known[name])}
            assert set(tables[name]["properties"]) == keys


class TestCommand:
    @pytest.mark.parametrize(("of", "made"), [("case", case_schema), ("answer", answer_schema)])
    def test_writes_it(self, tmp_path: Path, of: str, made: Any) -> None:
        path = tmp_path / "schema.json"
        printed = run("-m", "recommender", "schema", of)
        assert (printed.returncode, printed.stderr) == (0, "")
        assert json.loads(printed.stdout) == made()
        written = run("-m", "recommender", "schema", of, "-o", str(path))
        assert (written.returncode, written.stdout) == (0, "")
        assert json.loads(path.read_text(encoding="utf-8")) == made()
        again = run("-m", "recommender", "schema", of, "-o", str(path))
        assert again.returncode == 2 and "add --force" in again.stderr

    def test_refuses_another_word(self) -> None:
        ended = run("-m", "recommender", "schema", "catalogue")
        assert (ended.returncode, ended.stdout) == (2, "")
        assert "'case', 'answer'" in ended.stderr
