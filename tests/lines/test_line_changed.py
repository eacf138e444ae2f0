"""What moved between two answers about lines, against the answers themselves."""

import io
import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from pydantic_core import to_json
from rich.console import Console

from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.files import read_toml, shipped
from recommender.lines.changes import line_changes_between
from recommender.lines.reading import make_line
from recommender.lines.recommend import recommend_line
from recommender.lines.result import LineAnswer, line_as_json
from recommender.lines.result_changes import LineChanges
from recommender.results.answer import Verdict
from recommender.results.changes import InputChange
from recommender.views.line_changed import show_line_changes
from tests.lines.conftest import CASES
from tests.test_readme import run

LINE = CASES / "jars.toml"


def edited() -> dict[str, Any]:
    """The jars, fewer and in heavier boxes, for longer, with one spare more of each kind."""
    data = read_toml(LINE)
    data["life"]["hours"], data["spares"]["carriers"] = 30_000, 2
    data["line"][0]["rate"]["items"] = "60/min"
    data["line"][1]["load"]["mass"] = "15 kg"
    data["handover"][0]["positions"] = 2
    return data


@pytest.fixture(scope="module")
def now() -> LineAnswer:
    catalogue = read_catalogue(shipped("catalog"))
    return recommend_line(make_line(edited(), "x"), catalogue, in_brief=True)


@pytest.fixture(scope="module")
def changes(jars: LineAnswer, now: LineAnswer) -> LineChanges:
    return line_changes_between(jars, now)


def printed(changes: LineChanges) -> str:
    out = io.StringIO()
    show_line_changes(Console(file=out, width=100, highlight=False), changes)
    return out.getvalue()


def with_first_option(answer: LineAnswer, **changed: Any) -> tuple[LineAnswer, str]:
    """The answer with its dearest option of jars as it may not be, and what that is called."""
    loop = answer.loops[0]
    one = max((o for o in loop.options if o.line_price), key=lambda o: o.line_price or 0)
    options = tuple(replace(o, **changed) if o is one else o for o in loop.options)
    loops = (replace(loop, options=options), *answer.loops[1:])
    return replace(answer, loops=loops), f"{loop.name}.{one.id}"


def test_between_an_answer_and_itself_there_are_none(jars: LineAnswer) -> None:
    none = line_changes_between(jars, jars)
    assert none.nothing
    assert "nothing changed, jars std-68_arc-280_x1 and boxes" in printed(none)


def test_inputs_are_those_that_were_made(changes: LineChanges) -> None:
    """What stands above the loops is told once, and a rate that follows is told of no loop."""
    assert set(changes.inputs) == {
        InputChange("spares.carriers", "1", "2"),
        InputChange("handover.hand over.positions", "1, 2", "2"),
        InputChange("life.hours", "20000", "30000"),
        InputChange("jars.rate.items", "72/min", "60/min"),
        InputChange("boxes.load.mass", "14 kg", "15 kg"),
    }


def test_the_choice_of_each_loop(jars: LineAnswer, now: LineAnswer, changes: LineChanges) -> None:
    assert [loop.loop for loop in changes.loops] == ["jars", "boxes"]
    for entry in changes.loops:
        before, after = jars.loop(entry.loop), now.loop(entry.loop)
        assert before and after and before.chosen and after.chosen
        assert (entry.old, entry.new) == (before.chosen.id, after.chosen.id)
        figures = {figure.figure: (figure.old, figure.new) for figure in entry.figures}
        rates = before.rate_per_min, after.rate_per_min
        assert figures["rate that is asked"] == pytest.approx(rates)
        assert figures["carriers"] == (before.chosen.carriers, after.chosen.carriers)


def test_items_of_loops_and_shared_ones_add_up(
    jars: LineAnswer, now: LineAnswer, changes: LineChanges
) -> None:
    assert jars.price and now.price and changes.difference == now.price - jars.price != 0
    differences = [entry.difference for entry in changes.items if entry.difference is not None]
    assert sum(differences) == changes.difference
    for loop in ("jars", "boxes", None):
        of_loop = sum(e.difference for e in changes.items if e.loop == loop and e.difference)
        before, after = (
            sum((part.price for part in answer.parts if part.loop == loop), Decimal(0))
            for answer in (jars, now)
        )
        assert of_loop == after - before


def test_verdicts_that_flipped(jars: LineAnswer, now: LineAnswer, changes: LineChanges) -> None:
    told = {entry.option: entry for entry in changes.verdicts}
    works = {Verdict.RECOMMENDED, Verdict.DEARER}
    flipped = set()
    for loop in now.loops:
        earlier = jars.loop(loop.name)
        assert earlier is not None
        before = {option.id: option for option in earlier.options}
        for option in loop.options:
            if (option.verdict in works) != (before[option.id].verdict in works):
                flipped.add(f"{loop.name}.{option.id}")
    assert flipped and flipped <= told.keys()
    entry = told["jars.pair-230_arc-280_x1"]
    assert (entry.old, entry.new) == ("does not work", "works, dearer")
    option = next(o for o in now.loops[0].options if o.id == "pair-230_arc-280_x1")
    assert f"The line with it costs {option.dearer:,.2f} EUR more. Before: " in entry.why


def test_an_option_of_which_no_line_is_known_is_not_called_dearer(jars: LineAnswer) -> None:
    other, id_ = with_first_option(jars, line_price=None, dearer=None)
    (entry,) = line_changes_between(jars, other).verdicts
    assert (entry.option, entry.new) == (id_, "works by itself")
    assert entry.why == "No line with it was found."


def test_an_option_that_is_gone_says_so(jars: LineAnswer) -> None:
    loop = jars.loops[0]
    fewer = replace(loop, options=loop.options[1:])
    other = replace(jars, loops=(fewer, *jars.loops[1:]))
    (entry,) = line_changes_between(jars, other).verdicts
    assert entry.new == "" and entry.why.startswith("It is no option any more")


def test_a_line_without_a_choice(jars: LineAnswer) -> None:
    loops = tuple(replace(loop, chosen=None) for loop in jars.loops)
    none = replace(
        jars, status="none", price=None, proof=None, shared=None, parts=(), loops=loops, floor=None
    )
    changes = line_changes_between(jars, none)
    assert changes.difference is None
    assert [(loop.old, loop.new) for loop in changes.loops] == [
        ("std-68_arc-280_x1", None),
        ("lm-176_arc-280_x1", None),
    ]
    text = printed(changes)
    assert "no line that works in place of jars std-68_arc-280_x1" in text
    assert {entry.new for entry in changes.verdicts} == {"works by itself"}


def test_a_loop_that_is_new_is_told(jars: LineAnswer) -> None:
    line = {**jars.line, "cases": {"jars": jars.line["cases"]["jars"]}, "handover": []}
    fewer = replace(jars, loops=jars.loops[:1], line=line, handovers=())
    changes = line_changes_between(fewer, jars)
    assert InputChange("line", "jars", "jars, boxes") in changes.inputs
    assert InputChange("handover", "none", "hand over") in changes.inputs
    assert [(loop.loop, loop.old) for loop in changes.loops] == [("boxes", None)]


def test_two_saved_answers(saved: Path, now: LineAnswer, tmp_path: Path) -> None:
    other = tmp_path / "now.json"
    other.write_text(line_as_json(now), encoding="utf-8")
    status, out = run(f"recommender changed {saved} {other}")
    assert status == 0
    heads = ["What is asked", "The line", "Loop jars: still", "Loop boxes: still", "Price by item"]
    places = [out.index(head) for head in heads]
    assert places == sorted(places)
    _, told = run(f"recommender changed {saved} {other} --json")
    data = json.loads(told)
    assert data["schema"] == "recommender.line-changed/1"
    assert Decimal(data["new"]["price"]) == now.price
    status, out = run(f"recommender changed {saved} {saved}")
    assert status == 0 and "nothing changed" in out


def test_a_line_and_a_case_are_refused(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    crate = shipped("cases") / "crate.toml"
    for pair in (f"{saved} {crate}", f"{crate} {LINE}"):
        assert run(f"recommender changed {pair}")[0] == 2
        said = " ".join(capsys.readouterr().err.split())
        assert "crate.toml: holds one loop, and" in said
        assert "so name two cases or two lines" in said


def test_two_saved_answers_take_no_catalogue(
    saved: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(f"recommender changed {saved} {saved} --catalogue x")[0] == 2
    assert "two saved answers go without --catalogue" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda line: line.pop("cases"), "line.cases does not hold the case of each loop"),
        (lambda line: line["cases"]["jars"].update(load={}), "mass is missing"),
        (lambda line: line["cases"].pop("boxes"), "does not hold the case of each loop"),
    ],
)
def test_a_saved_line_holds_the_cases_of_its_loops(
    change: Any, said: str, saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = json.loads(saved.read_text(encoding="utf-8"))
    change(data["line"])
    path = tmp_path / "damaged.json"
    path.write_bytes(to_json(data))
    assert run(f"recommender changed {path} {path}")[0] == 2
    assert said in capsys.readouterr().err
