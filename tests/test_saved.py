"""A saved answer says what the answer said, and nothing in it is trusted."""

import json
import math
import os
import random
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender import saved
from recommender.faults import InputError
from recommender.inputs.case import make_case, read_case
from recommender.inputs.files import shipped
from recommender.inputs.quantities import KINDS, parse
from recommender.inputs.si_case import case_in_si
from recommender.results.answer import Answer, Extent, as_json, shortened
from recommender.saved import case_of, make_saved
from recommender.shown import is_plain
from tests.commands import call

pytestmark = pytest.mark.usefixtures("_answered_once")

CRATE = str(shipped("cases") / "crate.toml")


def turnless(text: str) -> str:
    """JSON without what is worked out for answers that are saved, beside what is printed."""

    def without(value: Any) -> Any:
        if isinstance(value, list):
            return [without(entry) for entry in value]
        if not isinstance(value, dict):
            return value
        left = ("turning_points", "stands_to", "then", "calculation")
        return {key: without(entry) for key, entry in value.items() if key not in left}

    return json.dumps(without(json.loads(text)))


@pytest.fixture(scope="module")
def answer(worked_case: Callable[[str], Any]) -> Answer:
    found: Answer = worked_case("crate").answer
    return found


@pytest.fixture(scope="module")
def document(answer: Answer) -> Any:
    return json.loads(as_json(answer))


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The crate's answer, saved by the command."""
    path = str(tmp_path_factory.mktemp("saved") / "crate.json")
    ended = call("answer", CRATE, "--save", path, "--json")
    assert (ended.status, ended.err) == (0, f"wrote {path}\n")
    return path


def read(document: Any) -> Answer:
    return make_saved(json.dumps(document).encode(), "answer.json")


class TestRoundTrip:
    @pytest.mark.parametrize("name", ["crate", "impossible"])
    def test_is_the_answer_that_was_saved(
        self, worked_case: Callable[[str], Any], name: str
    ) -> None:
        answer = worked_case(name).answer
        again = make_saved(as_json(answer).encode(), name)
        assert again == answer
        assert as_json(again) == as_json(answer)

    @pytest.mark.parametrize("path", sorted(shipped("cases").glob("*.toml")), ids=lambda p: p.stem)
    def test_its_case_is_read_by_the_reader_of_cases(self, path: Path) -> None:
        case = read_case(path)
        again = case_in_si(case.model_dump(mode="json"), "an answer")
        assert again.model_dump() == case.model_dump()

    @settings(max_examples=60, deadline=None)
    @given(
        numbers=st.lists(st.floats(allow_nan=False), min_size=3, max_size=3),
        text=st.text(max_size=300).filter(is_plain),
        none=st.booleans(),
    )
    def test_of_any_numbers_and_text(
        self, answer: Answer, numbers: list[float], text: str, none: bool
    ) -> None:
        # JSON has one word for what has no number, and limits are not infinite downward.
        demand, limit, use = (math.inf if math.isinf(number) else number for number in numbers)
        choice = answer.choice
        assert choice is not None
        check = replace(
            choice.checks[0], demand=demand, limit=limit, utilisation=use, governed_by=text
        )
        lap = None if none or math.isinf(demand) else demand
        changed = replace(choice, checks=(check,), lap_s=lap, reason=text)
        options = tuple(changed if o.id == choice.id else o for o in answer.options)
        whole = replace(answer, options=options, cautions=(text,), extent=Extent(False, True))
        assert make_saved(as_json(whole).encode(), "x") == whole

    def test_a_case_in_si_keeps_every_digit(self) -> None:
        numbers = random.Random(5)
        for _ in range(200):
            mass, rate = 10 ** numbers.uniform(-3, 3), 10 ** numbers.uniform(-3, 0)
            text = {
                "load": {"mass": f"{mass!r} kg", "reach": f"{-mass / 100!r} m"},
                "rate": {"items": f"{rate!r} 1/s"},
            }
            made = make_case(text, "x").model_dump(mode="json")
            assert (made["load"]["mass"], made["rate"]["items"]) == (mass, rate)
            assert case_in_si(made, "x").model_dump(mode="json") == made

    def test_every_si_unit_is_one_of_itself(self) -> None:
        for kind in KINDS.values():
            value = math.sqrt(kind.least * kind.most)
            assert parse(f"{value!r} {kind.si}", kind) == value


class TestCommands:
    """What they print comes from the file alone, and is what they print for the case."""

    @pytest.mark.parametrize(
        "words",
        [
            ("answer",),
            ("answer", "--all"),
            ("answer", "--all", "--json"),
            ("compare", "CHOICE", "std-116_arc-280_x1"),
            ("compare", "CHOICE", "std-116_arc-280_x1", "--json"),
            ("parts",),
            ("parts", "--json"),
            ("why", "std-116_arc-280_x1"),
            ("why", "CHOICE"),
            ("why", "CHOICE", "--json"),
        ],
        ids=" ".join,
    )
    def test_say_the_same(
        self,
        file: str,
        answer: Answer,
        words: tuple[str, ...],
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        command, *rest = (str(answer.recommended) if word == "CHOICE" else word for word in words)
        expected = call(command, CRATE, *rest)

        def never(*_: object, **__: object) -> None:
            raise AssertionError("nothing is to be computed")

        monkeypatch.setattr("recommender.recommend.decide", never)
        found = call(command, file, *rest)
        if words[0] != "why" and words[-1] == "--json":
            # A saved answer knows its turning points and its calculation besides.
            found, expected = (
                ended._replace(out=turnless(ended.out)) for ended in (found, expected)
            )
        assert found == expected

    def test_go_without_what_a_case_is_answered_with(self, file: str) -> None:
        ended = call("compare", file, "--catalogue", "x", "--time-limit", "9 s")
        assert ended == (
            2,
            "",
            f"recommender: {file}: a saved answer goes without --catalogue, --time-limit; name the"
            " case\n",
        )
        assert "goes without --mass" in call("answer", file, "--mass", "3 kg").err

    def test_name_the_nearest_of_an_unknown_option(self, file: str) -> None:
        ended = call("why", file, "bs-228_arc-280_x2")
        assert (ended.status, ended.out) == (2, "")
        assert "there is no option 'bs-228_arc-280_x2'; the nearest" in ended.err

    def test_refuse_to_explain_what_was_saved_in_brief(self, tmp_path: Path) -> None:
        path = str(tmp_path / "brief.json")
        assert call("answer", CRATE, "--brief", "--save", path).status == 0
        assert call("parts", path).status == 0
        for words in (("why", path, "bs-228_arc-280_x1"), ("compare", path)):
            ended = call(*words)
            assert (ended.status, ended.out) == (2, "")
            assert "was saved with --brief, without what would have to give" in ended.err

    def test_save_over_nothing_and_under_a_name_of_their_own(self, tmp_path: Path) -> None:
        path = tmp_path / "answer.json"
        path.write_text("mine", encoding="utf-8")
        for name, why in (
            (path, "is there already; add --force"),
            (tmp_path, "must end in .json"),
            (tmp_path / "answer.txt", "must end in .json"),
            (tmp_path / "no" / "answer.json", "there is no folder"),
        ):
            ended = call("answer", CRATE, "--save", str(name))
            assert (ended.status, ended.out) == (2, "")
            assert why in ended.err
        assert path.read_text(encoding="utf-8") == "mine"
        assert call("answer", CRATE, "--save", str(path), "--force", "--quiet").err == ""
        assert call("parts", str(path)).status == 0


class TestShort:
    def test_json_of_the_crate_is_below_150_kb(self) -> None:
        assert len(call("answer", CRATE, "--json").out.encode()) < 150_000

    def test_json_leaves_out_what_all_has(self, answer: Answer) -> None:
        short, whole = (
            json.loads(call("answer", CRATE, "--json", *more).out) for more in ((), ("--all",))
        )
        assert whole == json.loads(as_json(answer))
        assert not short["extent"]["whole"]
        for few, all_ in zip(short["options"], whole["options"], strict=True):
            if few["id"] == answer.recommended:
                assert few == all_
            else:
                assert (few["checks"], few["parts"], few["loop"]) == ([], [], None)
                for key in ("id", "verdict", "price", "at_least", "carriers", "causes"):
                    assert few[key] == all_[key]

    def test_json_is_not_taken_for_a_saved_answer(self, answer: Answer) -> None:
        with pytest.raises(InputError, match="holds its options in short, as answer --json"):
            make_saved(as_json(shortened(answer)).encode(), "x")


def damaged(document: Any, *path: Any, value: Any) -> Any:
    changed = deepcopy(document)
    at = changed
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    return changed


class TestDistrust:
    @pytest.mark.parametrize(
        ("path", "value", "why"),
        [
            (("schema",), "recommender.answer/99", 'has the schema "recommender.answer/99"'),
            (("schema",), {"x": 1}, "has the schema"),
            (("surprise",), 1, "surprise is not known here"),
            (("options", 0, "verdict"), "perhaps", r"options\[1\].verdict must be"),
            (("options", 0, "reason"), "\x1b[2J", r"options\[1\].reason must be one line"),
            (("options", 0, "reason"), "x" * 5000, "characters long at most"),
            (("options", 0, "reason"), None, r"options\[1\].reason must be text"),
            (("options", 0, "currency"), ["EUR"], r"options\[1\].currency must be text"),
            (("options", 0, "price"), 12.5, r"options\[1\].price"),
            (("options", 0, "price"), "1e9", r"options\[1\].price"),
            (("options",), {}, "options must be a list"),
            (("options", 1), 7, r"options\[2\]"),
            (("recommended",), "nothing", "the recommended option is not the one"),
            (("recommended",), None, "the recommended option is not the one"),
            (("status",), "none", "its status is not what its options say"),
            (("proof", "price"), "1.00", "its price is not that of the recommended option"),
            (("parts", 0, "quantity"), 9, "its price is not that of the recommended option"),
            (("case", "load", "mass"), -1.0, "case: load.mass must be greater than 0"),
            (("case", "load", "mass"), "30 kg", "is not a case as this version understands one"),
            (("case", "load", "weight"), 3.0, "case: load.weight is not known here"),
            (("case", "title"), "\u202e", "case: title"),
            (("case",), [], "case"),
        ],
        ids=lambda value: str(value)[:30],
    )
    def test_refuses_what_is_damaged(
        self, document: Any, path: tuple[Any, ...], value: Any, why: str
    ) -> None:
        with pytest.raises(InputError, match=why) as refused:
            read(damaged(document, *path, value=value))
        assert is_plain(str(refused.value).replace("\n", ""))

    def test_says_which_version_wrote_what_it_cannot_read(self, document: Any) -> None:
        wrong = damaged(document, "surprise", value=1) | {"program": "99.1"}
        with pytest.raises(InputError, match=r'was written by version "99\.1", this is'):
            read(wrong)

    def test_takes_one_without_what_came_later(self, document: Any, answer: Answer) -> None:
        early = {key: value for key, value in document.items() if key not in {"extent", "program"}}
        assert read(early) == replace(answer, program="")

    @pytest.mark.parametrize(
        "data",
        [
            b"",
            b"{",
            b"[]",
            b"null",
            b"\xff\xfe",
            b'{"schema": NaN}',
            b"[" * 100_000,
            b'{"a":' * 100_000,
            b'{"schema": "recommender.answer/1"}',
            b'{"schema": "recommender.answer/1", "options": ' + b"9" * 9999 + b"}",
        ],
        ids=lambda data: data[:24].decode("latin-1"),
    )
    def test_refuses_what_is_no_answer(self, data: bytes) -> None:
        with pytest.raises(InputError):
            make_saved(data, "x")

    def test_refuses_every_beginning_of_one(self, answer: Answer) -> None:
        data = as_json(answer).encode()
        for length in range(0, len(data) - 1, 20_011):
            with pytest.raises(InputError, match="is damaged"):
                make_saved(data[:length], "x")

    @settings(max_examples=150, deadline=None)
    @given(seed=st.integers(0, 2**32), value=st.sampled_from([None, 0, -1, 1e300, "", "x", [], {}]))
    def test_takes_or_refuses_whatever_is_changed(
        self, document: Any, seed: int, value: Any
    ) -> None:
        numbers, path, at = random.Random(seed), [], document
        while isinstance(at, dict | list) and at and (not path or numbers.random() < 0.9):
            keys = list(at) if isinstance(at, dict) else range(len(at))
            path.append(numbers.choice(keys))
            at = at[path[-1]]
        try:
            answer = read(damaged(document, *path, value=value))
        except InputError:
            return
        assert isinstance(answer, Answer)
        case_of(answer)

    @pytest.mark.skipif(os.name != "posix", reason="pipes and sparse files are those of POSIX")
    def test_files_pass_the_gate(self, tmp_path: Path) -> None:
        huge, pipe, folder = (tmp_path / name for name in ("a.json", "b.json", "c.json"))
        with huge.open("wb") as out:
            out.truncate(saved.LARGEST_SAVED + 1)
        os.mkfifo(pipe)
        folder.mkdir()
        for path, why in (
            (huge, "is larger than 16 MiB, more than a saved answer here may be"),
            (pipe, "is a pipe or a device"),
            (folder, "is a folder; name a saved answer"),
            (tmp_path / "d.json", "there is no such file"),
        ):
            ended = call("compare", str(path))
            assert (ended.status, ended.out) == (2, "")
            assert why in ended.err
