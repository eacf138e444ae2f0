"""A case begun by questions or from a line is the one that was meant, wherever one leaves off."""

import io
import os
import pty
import select
import signal
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.faults import InputError
from recommender.guided import BACK, HELP, LEAVE, ORDER, Interview, Question, questions, words
from recommender.inputs.case import make_case, read_case
from recommender.inputs.case_text import case_toml, next_question, toml_value
from recommender.inputs.quantities import KINDS, parse
from recommender.inputs.sentence import read_sentence
from recommender.shown import is_plain
from tests.commands import call

ANSWERS = {
    "title": "Crates at the end of the line",
    "load.mass": "30 kg",
    "load.length": "400 mm",
    "load.reach": "8 in",
    "load.held": "friction",
    "load.friction": "0.45",
    "tooling.mass": "1.2 kg",
    "tooling.reach": "150 mm",
    "rate.items": "18/min",
    "rate.per_carrier": "1, 2",
    "station": "load, press, unload",
    "station.load.dwell": "1.2 s",
    "station.press.dwell": "900 ms",
    "station.unload.dwell": "1.5 s",
    "loop.max_length": "8 m",
    "site.ambient": "35 °C",
    "life.hours": "30000",
    "commercial.budget": "60000 EUR",
    "commercial.latest_delivery": "14 weeks",
}
AS_A_FILE = {
    "title": "Crates at the end of the line",
    "load": {
        "mass": "30 kg",
        "length": "400 mm",
        "reach": "8 in",
        "held": "friction",
        "friction": 0.45,
    },
    "tooling": {"mass": "1.2 kg", "reach": "150 mm"},
    "rate": {"items": "18/min", "per_carrier": [1, 2]},
    "station": [
        {"name": "load", "dwell": "1.2 s"},
        {"name": "press", "dwell": "900 ms"},
        {"name": "unload", "dwell": "1.5 s"},
    ],
    "loop": {"max_length": "8 m"},
    "site": {"ambient": "35 °C"},
    "life": {"hours": 30000},
    "commercial": {"budget": "60000 EUR", "latest_delivery": "14 weeks"},
}


def said_in(text: str) -> dict[str, Any]:
    """What a case file says; heads of tables without a key in them say nothing."""
    return {key: value for key, value in tomllib.loads(text).items() if value != {}}


class Person:
    """Answers questions from a list, and keeps the file as the command does."""

    def __init__(self, answers: Mapping[str, str], leave_after: int | None = None) -> None:
        self.answers, self.leave_after = answers, leave_after
        self.asked: list[str] = []
        self.said: list[str] = []
        self.text = ""

    def ask(self, question: Question, now: str) -> str | None:
        if self.leave_after is not None and len(self.asked) >= self.leave_after:
            return None
        self.asked.append(question.key)
        return self.answers.get(question.key, "")

    def keep(self, data: Mapping[str, Any], next_key: str | None) -> None:
        self.text = case_toml(data, words(), next_key, "again")

    def hold(self) -> str | None:
        """Begin, or go on with what was written."""
        data = tomllib.loads(self.text)
        interview = Interview(self.ask, self.said.append, self.keep)
        return interview.hold(data, next_question(self.text))[1]


class TestInterview:
    def test_makes_the_case_that_was_answered(self, tmp_path: Path) -> None:
        person = Person(ANSWERS)
        assert person.hold() is None
        assert person.said == []
        assert said_in(person.text) == AS_A_FILE
        path = tmp_path / "case.toml"
        path.write_text(person.text, encoding="utf-8")
        assert read_case(path) == make_case(AS_A_FILE, "x")

    @pytest.mark.parametrize("after", range(1, 28))
    def test_can_be_left_and_taken_up_at_any_point(self, after: int) -> None:
        whole, person = Person(ANSWERS), Person(ANSWERS, after)
        whole.hold()
        left_at = person.hold()
        assert left_at == whole.asked[after]
        assert next_question(person.text) == left_at
        person.leave_after = None
        assert person.hold() is None
        assert person.asked == whole.asked
        assert person.text == whole.text

    def test_asks_nothing_that_does_not_matter(self) -> None:
        nested = Person({**ANSWERS, "load.held": "nested", "tooling.mass": ""})
        nested.hold()
        assert "load.pocket" in nested.asked
        assert not {"load.friction", "load.clamping_force", "tooling.reach"} & set(nested.asked)
        assert "loop.max_height" not in nested.asked

    def test_what_is_left_open_stays_a_question_to_the_customer(self) -> None:
        person = Person({"load.mass": "3 kg", "rate.items": "18/min"})
        person.hold()
        assert make_case(tomllib.loads(person.text), "x") == make_case(
            {"load": {"mass": "3 kg"}, "rate": {"items": "18/min"}}, "x"
        )

    def test_a_wrong_answer_is_refused_and_asked_again(self) -> None:
        script = iter(["", "3", "3 s", "0 kg", HELP, "3 kg", LEAVE])
        person = Person({})
        person.ask = lambda question, now: next(script)  # type: ignore[method-assign]
        interview = Interview(person.ask, person.said.append, person.keep)
        data, left_at = interview.hold({}, "load.mass")
        assert (data, left_at) == ({"load": {"mass": "3 kg"}}, "load.length")
        assert [line.split(";")[0] for line in person.said] == [
            "This one is needed: a mass, such as 30 kg.",
            "load.mass has no unit",
            "load.mass is not a mass",
            'load.mass must be greater than 0 (read: "0 kg")',
            "needed for everything",
        ]

    def test_goes_back_and_changes_an_answer(self) -> None:
        script = iter(["First", "3 kg", BACK, BACK, "Second", "", LEAVE])
        person = Person({})
        interview = Interview(lambda question, now: next(script), person.said.append, person.keep)
        data, left_at = interview.hold({}, None)
        assert data == {"title": "Second", "load": {"mass": "3 kg"}}
        assert left_at == "load.length"

    @pytest.mark.parametrize(
        ("left_at", "goes_on"),
        [
            ("load.pocket", "load.liquid"),
            ("station.gone.dwell", "loop.plane"),
            ("no such key", "title"),
            (None, "title"),
        ],
    )
    def test_goes_on_behind_a_question_that_is_not_asked_any_more(
        self, left_at: str | None, goes_on: str
    ) -> None:
        person = Person({}, leave_after=1)
        interview = Interview(person.ask, person.said.append, person.keep)
        interview.hold({"load": {"mass": "3 kg"}}, left_at)
        assert person.asked == [goes_on]

    def test_a_tray_of_liquid_is_asked_for_at_once(self) -> None:
        person = Person({**ANSWERS, "load.width": "300 mm", "load.liquid": "380 mm, 60 mm, 45 mm"})
        person.hold()
        case = make_case(tomllib.loads(person.text), "x")
        assert case.load.liquid is not None and case.load.liquid.depth == 0.06
        script = iter(["380 mm", "900 mm, 60 mm, 45 mm", LEAVE])
        other = Person({})
        interview = Interview(lambda q, now: next(script), other.said.append, other.keep)
        interview.hold({"load": {"mass": "3 kg"}}, "load.liquid")
        assert "three lengths are asked for" in other.said[0]
        assert "more than load.length" in other.said[1]

    @settings(max_examples=60, deadline=None)
    @given(
        answers=st.dictionaries(
            st.sampled_from(ORDER),
            st.one_of(
                st.sampled_from(["3 kg", "200 mm", "5 lb", "2 m/s^2", "nested", "1, 2", "40", "a"]),
                st.text(max_size=30),
            ),
        ),
        after=st.integers(1, 30),
    )
    def test_whatever_is_typed_what_is_kept_can_be_read(
        self, answers: dict[str, str], after: int
    ) -> None:
        person = Person(answers)
        typed: dict[str, int] = {}

        def ask(question: Question, now: str) -> str | None:
            # Once what comes to mind; then what is sure, so that there is an end.
            typed[question.key] = typed.get(question.key, 0) + 1
            if len(typed) > after:
                return None
            if typed[question.key] == 1:
                return answers.get(question.key, "")
            sure = {"load.mass": "3 kg", "rate.items": "18/min"}
            return sure.get(question.key, "1 s" if question.key.startswith("station.") else "")

        interview = Interview(ask, person.said.append, person.keep)
        data, left_at = interview.hold({}, None)
        assert said_in(person.text) == data
        assert next_question(person.text) == left_at
        assert list(questions(data))


class TestText:
    @given(
        value=st.one_of(
            st.text(max_size=60), st.integers(-(10**9), 10**9), st.booleans(), st.floats(-1e9, 1e9)
        )
    )
    def test_is_read_back(self, value: Any) -> None:
        text = toml_value(value)
        assert tomllib.loads(f"x = {text}")["x"] == value

    def test_every_commented_line_may_be_written(self) -> None:
        """What stands behind a # is a value of its key, each by itself."""
        lines = case_toml({}, words(), None, "").splitlines()
        table, count = "", 0
        for line in lines:
            if line.startswith("["):
                table = line.split("]")[0].strip("[")
            key, equals, _ = line.removeprefix("# ").partition(" = ")
            if not line.startswith("# ") or not equals or key in ("name", "dwell"):
                continue
            data = tomllib.loads(f"[{table}]\n{line.removeprefix('# ')}")
            whole = {"load": {"mass": "1 kg"}, "rate": {"items": "1/min"}}
            whole[table] = whole.get(table, {}) | data[table]
            make_case(whole, line)
            count += 1
        assert count > 25


class TestLine:
    @pytest.mark.parametrize(
        ("line", "data", "unread"),
        [
            (
                "30 kg crate, 18/min, reach 200 mm",
                {
                    "load": {"mass": "30 kg", "reach": "200 mm"},
                    "title": "Crate",
                    "rate": {"items": "18/min"},
                },
                [],
            ),
            (
                "66 lb, 900 parts/h, overhang 8 in; nested",
                {
                    "load": {"mass": "66 lb", "reach": "8 in", "held": "nested"},
                    "rate": {"items": "900 parts/h"},
                },
                [],
            ),
            (
                "3 kg, 20 a minute, 400 x 300 mm, centre of gravity 140 mm, friction 0.45",
                {
                    "load": {
                        "mass": "3 kg",
                        "length": "400 mm",
                        "width": "300 mm",
                        "cg_height": "140 mm",
                        "friction": 0.45,
                    },
                    "rate": {"items": "20 a minute"},
                },
                [],
            ),
            (
                "3 kg, 20/min, fixture 1.2 kg reach 150 mm, 3 stations dwell 1.2 s",
                {
                    "load": {"mass": "3 kg"},
                    "rate": {"items": "20/min"},
                    "tooling": {"mass": "1.2 kg", "reach": "150 mm"},
                    "station": [{"name": f"station {n}", "dwell": "1.2 s"} for n in (1, 2, 3)],
                },
                [],
            ),
            (
                "3 kg, 20/min, loop 8 m long, 20000 h, budget 60000 EUR, 14 weeks, 2.5 m/s^2,"
                " 1 or 2 per carrier",
                {
                    "load": {"mass": "3 kg"},
                    "rate": {"items": "20/min", "per_carrier": [1, 2]},
                    "loop": {"max_length": "8 m"},
                    "life": {"hours": 20000},
                    "commercial": {"budget": "60000 EUR", "latest_delivery": "14 weeks"},
                    "limits": {"acceleration": "2.5 m/s^2"},
                },
                [],
            ),
            (
                "3 kg, 20/min, 280 mm high, settling 100 ms, 150 N, blue",
                {"load": {"mass": "3 kg"}, "rate": {"items": "20/min"}},
                ["280 mm high", "100 ms settling", "150 N", "blue"],
            ),
            (
                "3 kg, 5 kg, 20/min",
                {"load": {"mass": "3 kg"}, "rate": {"items": "20/min"}},
                ["5 kg"],
            ),
            (
                "3 kg, 20/min, reach 200 mm fixture 2 kg",
                {
                    "load": {"mass": "3 kg"},
                    "rate": {"items": "20/min"},
                    "tooling": {"mass": "2 kg"},
                },
                ["200 mm", "reach"],
            ),
            (
                "3 kg, 20/min, 400 mm 200 mm reach",
                {"load": {"mass": "3 kg", "reach": "200 mm"}, "rate": {"items": "20/min"}},
                ["400 mm"],
            ),
            (
                "load 3 kg length 400 mm width 300 mm, 20/min",
                {
                    "load": {"mass": "3 kg", "length": "400 mm", "width": "300 mm"},
                    "rate": {"items": "20/min"},
                },
                [],
            ),
            (
                "3 kg box 400 mm long 300 mm wide, 20/min",
                {
                    "load": {"mass": "3 kg", "length": "400 mm", "width": "300 mm"},
                    "title": "Box",
                    "rate": {"items": "20/min"},
                },
                [],
            ),
            (
                "3 kg, 20/min, long reach 200 mm, 30 kg 2 kg fixture",
                {"load": {"mass": "3 kg"}, "rate": {"items": "20/min"}},
                ["200 mm long reach", "30 kg", "2 kg", "fixture"],
            ),
            ("7,5 kg, 20/min", {"rate": {"items": "20/min"}}, ["7,5 kg"]),
            ("7,500 kg", {}, ["7,500 kg"]),
        ],
        ids=lambda value: value if isinstance(value, str) else "",
    )
    def test_is_read_as_far_as_it_is_sure(
        self, line: str, data: dict[str, Any], unread: list[str]
    ) -> None:
        found = read_sentence(line)
        assert found.data == data
        assert [text for text, _ in found.unread] == unread

    @settings(max_examples=80, deadline=None)
    @given(
        mass=st.decimals("0.01", 900, places=2),
        rate=st.integers(1, 200),
        reach=st.integers(1, 900),
        order=st.permutations([0, 1, 2]),
    )
    def test_gives_the_numbers_that_stand_there(
        self, mass: Any, rate: int, reach: int, order: list[int]
    ) -> None:
        said = [f"{mass} kg", f"{rate} items/min", f"reach {reach} mm"]
        case = make_case(read_sentence(", ".join(said[n] for n in order)).data, "x")
        assert case.load.mass == parse(f"{mass} kg", KINDS["mass"])
        assert case.rate.items == parse(f"{rate}/min", KINDS["rate"])
        assert case.load.reach == parse(f"{reach} mm", KINDS["length"])

    @settings(max_examples=120, deadline=None)
    @given(st.text(alphabet="0123456789., -+/x°kgmNs hinbcrates per withand\n\x1b", max_size=120))
    def test_whatever_stands_there_ends(self, text: str) -> None:
        status, out, err = call("case", "new", "--from", text)
        assert status in (0, 2)
        assert is_plain((out + err).replace("\n", ""))
        if status == 0:
            make_case(tomllib.loads(out), "x")


class TestCommand:
    LINE = "30 kg crate, 18/min, reach 200 mm, blue"

    def test_from_a_line_writes_a_case(self, tmp_path: Path) -> None:
        path = tmp_path / "crate.toml"
        status, out, err = call("case", "new", str(path), "--from", self.LINE)
        assert (status, out) == (0, "")
        assert err.splitlines()[-2:] == ["not read: blue (not understood)", f"wrote {path}"]
        assert read_case(path).load.reach == 0.2
        assert call("case", "check", str(path))[0] == 0
        again = call("case", "new", str(path), "--from", self.LINE)
        assert (again[0], again[1]) == (2, "")
        assert "is there already; add --force" in again[2]
        assert call("case", "new", str(path), "--from", self.LINE, "--force")[0] == 0

    def test_from_a_line_prints_it_without_a_file(self) -> None:
        status, out, _ = call("case", "new", "--from", self.LINE)
        assert status == 0
        assert tomllib.loads(out)["load"] == {"mass": "30 kg", "reach": "200 mm"}

    @pytest.mark.parametrize(
        ("given_words", "why"),
        [
            ((), "name the case file to write"),
            (("x.toml",), "asks questions, and nobody is there to answer them"),
            (("x.json", "--from", LINE), "must end in .toml"),
            (("no/x.toml", "--from", LINE), "there is no folder"),
            (("folder.toml", "--from", LINE), "is a folder"),
            (("--from", "30 kg"), "found no rate.items; write a rate, such as 18/min"),
            (("--from", ""), "found no load.mass"),
            (("--from", "7,5 kg, 18/min"), "a number has a comma; write it with a point"),
            (("--from", "0 kg, 18/min"), "load.mass must be greater than 0"),
        ],
    )
    def test_refuses_what_it_cannot_do(
        self,
        tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch,
        given_words: tuple[str, ...],
        why: str,
    ) -> None:
        (tmp_path / "folder.toml").mkdir()
        monkeypatch.chdir(tmp_path)
        monkeypatch.setattr(sys, "stdin", io.StringIO("30 kg\n"))
        status, out, err = call("case", "new", *given_words)
        assert (status, out) == (2, "")
        assert why in err
        assert [path.name for path in tmp_path.iterdir()] == ["folder.toml"]


class Terminal:
    """The command on a terminal of its own, as a person has it."""

    def __init__(self, path: Path) -> None:
        self.screen, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "recommender", "case", "new", str(path)],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
        )
        os.close(theirs)

    def until(self, text: str) -> str:
        """What is shown until some text comes."""
        shown, end = b"", time.monotonic() + 60.0
        while text.encode() not in shown:
            ready, _, _ = select.select([self.screen], [], [], max(end - time.monotonic(), 0.0))
            assert ready, f"{text!r} did not come: {shown!r}"
            shown += os.read(self.screen, 4096)
        return shown.decode(errors="replace")

    def type(self, text: str) -> None:
        os.write(self.screen, text.encode())

    def end(self) -> int:
        status = self.process.wait(60)
        os.close(self.screen)
        return status


@pytest.fixture
def path(tmp_path: Path) -> Iterator[Path]:
    yield tmp_path / "crate.toml"
    assert [entry.name for entry in tmp_path.iterdir()] in ([], ["crate.toml"])


class TestTerminal:
    def test_end_of_input_in_the_middle_keeps_what_was_said(self, path: Path) -> None:
        terminal = Terminal(path)
        terminal.until("called?")
        terminal.type("Crates\n")
        terminal.until("How heavy")
        terminal.type("30 kg\n")
        terminal.until("How long")
        terminal.type("\x04")
        terminal.until("To go on: recommender case new")
        assert terminal.end() == 0
        text = path.read_text(encoding="utf-8")
        assert next_question(text) == "load.length"
        assert said_in(text) == {"title": "Crates", "load": {"mass": "30 kg"}}
        # What is changed by hand in the meantime stays.
        path.write_text(text.replace("30 kg", "31 kg"), encoding="utf-8")
        again = Terminal(path)
        again.until("How long")
        again.type("400 mm\n")
        again.until("How wide")
        again.type(".\n")
        assert again.end() == 0
        assert tomllib.loads(path.read_text(encoding="utf-8"))["load"] == {
            "mass": "31 kg",
            "length": "400 mm",
        }

    def test_an_interrupt_keeps_what_was_said(self, path: Path) -> None:
        terminal = Terminal(path)
        terminal.until("called?")
        terminal.type("Crates\n")
        terminal.until("How heavy")
        terminal.process.send_signal(signal.SIGINT)
        assert terminal.end() == 130
        assert said_in(path.read_text(encoding="utf-8")) == {"title": "Crates"}

    def test_a_file_that_is_finished_or_no_case_is_left_alone(self, path: Path) -> None:
        for text, why in (
            ('load.mass = "3 kg"\n', "no question of it is left"),
            ("# Next question: load.mass\nload = 3\n", "add --force to begin anew"),
            ('# Next question: load.mass\nload.mass = "3 s"\n', "is not a mass"),
            ("# Next question: load.mass\n[[station]]\n", "add --force to begin anew"),
            ("# Next question: load.mass\nx = \n", "is not valid TOML"),
        ):
            path.write_text(text, encoding="utf-8")
            terminal = Terminal(path)
            terminal.until(why)
            assert terminal.end() == 2
            assert path.read_text(encoding="utf-8") == text


def test_a_case_of_the_line_is_refused_like_any_other() -> None:
    with pytest.raises(InputError, match=r"load\.mass must be greater than 0"):
        make_case(read_sentence("0 kg, 18/min").data, "x")
