"""Lines that run: tied loops keep step, loops behind a buffer do not know of each other."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from recommender.commands.line_tried import line_tried
from recommender.commands.lines import GivenToLine
from recommender.faults import InputError
from recommender.lines.reading import read_line
from recommender.lines.rehearse import TriedLine, chances_of, groups_of, rehearse_line
from recommender.lines.result import LineAnswer
from recommender.lines.result_rehearsal import LineRehearsal
from recommender.saved_line import line_of
from tests.lines.conftest import CASES
from tests.test_readme import run

NOTHING = GivenToLine(None, None, None, "price", True)


def tried(saved: Path) -> TriedLine:
    line = line_tried(saved, NOTHING, "rehearse")
    assert line is not None
    return line


@pytest.fixture(scope="module")
def jars_line(saved: Path) -> TriedLine:
    return tried(saved)


@pytest.fixture(scope="module")
def bottles_line(saved_bottles: Path) -> TriedLine:
    return tried(saved_bottles)


def let_run(line: TriedLine, *vary: str, stops: tuple[str, ...] = (), **how: Any) -> LineRehearsal:
    chances = chances_of(line, vary, stops)
    return rehearse_line(line, chances, **{"hours": 0.5, "replications": 2, **how})[0]


def rates(found: LineRehearsal) -> dict[str, float]:
    return {entry.loop: entry.run.rate_per_min for entry in found.loops}


def test_a_saved_line_is_the_line_of_its_file(jars: LineAnswer, bottles: LineAnswer) -> None:
    for name, answer in (("jars", jars), ("bottles", bottles)):
        again, asked = line_of(answer), read_line(CASES / f"{name}.toml")
        assert again == asked
        assert [loop.own for loop in again.loops] == [loop.own for loop in asked.loops]


def test_configurations_are_those_of_the_answer(jars: LineAnswer, jars_line: TriedLine) -> None:
    """Also where places fill in turn, which no case says."""
    for loop in jars.loops:
        audit = jars_line.loops[loop.name][0]
        assert loop.chosen is not None
        assert audit.configuration.option.id == loop.chosen.id
        assert audit.configuration.carriers == loop.chosen.carriers
        assert not audit.failures
    assert jars_line.loops["boxes"][1].station[0].due is not None
    assert jars_line.places == {"boxes.fill 1", "boxes.fill 2"}


def test_tied_loops_keep_the_rhythm_that_the_formula_says(jars_line: TriedLine) -> None:
    """No dwell of a box is told to the run: 72 a minute with 5 % of reserve, 8 to a box."""
    found = let_run(jars_line)
    assert found.verdict == "holds" and found.replications == 1
    assert rates(found)["jars"] == pytest.approx(75.6, rel=2e-3)
    assert rates(found)["boxes"] == pytest.approx(75.6 / 8, rel=2e-3)
    for entry in found.loops:
        assert entry.run.rate_per_min == pytest.approx(entry.run.formula_per_min, rel=5e-3)
        assert not entry.run.supplies


def test_what_holds_up_boxes_holds_up_their_units(jars_line: TriedLine) -> None:
    free = let_run(jars_line, "jars.lid 5 %")
    held = let_run(jars_line, "jars.lid 5 %", stops=("boxes.unload 3 min, 1 min",))
    assert rates(held)["boxes"] < 0.95 * rates(free)["boxes"]
    for found in (free, held):
        assert rates(found)["jars"] == pytest.approx(8 * rates(found)["boxes"], rel=0.02)
    assert free.verdict == "holds" != held.verdict
    waits = {run.name: run.gathering_s for e in held.loops for run in e.run.stations}
    assert waits["hand over"] > 0.05 > waits["lid"]


def test_a_buffer_parts_loops(bottles_line: TriedLine) -> None:
    alone = let_run(bottles_line, "units.close 10 %")
    stopped = let_run(bottles_line, "units.close 10 %", stops=("boxes.unload 2 min, 2 min",))
    assert rates(alone)["units"] == rates(stopped)["units"]
    assert rates(stopped)["boxes"] < 0.9 * rates(alone)["boxes"]
    assert "neither empty nor full" in alone.handovers[0]
    # Lots of their own: the same seed, and yet not the same lots.
    assert groups_of(bottles_line) == [["units"], ["boxes"]]


def test_loops_that_several_handovers_tie_run_together(jars_line: TriedLine) -> None:
    direct = jars_line.handovers[0]
    audit = jars_line.loops["jars"]
    more = replace(
        jars_line,
        loops={**jars_line.loops, "a": audit, "b": audit},
        handovers=(
            direct,
            replace(direct, giver="b.x", taker="jars.lid"),
            replace(direct, giver="a.x", taker="b.x", between="buffer"),
        ),
    )
    assert groups_of(more) == [["jars", "boxes", "b"], ["a"]]


def test_supplies_add_up_what_all_loops_draw(jars: LineAnswer, jars_line: TriedLine) -> None:
    found = let_run(jars_line)
    assert jars.shared is not None
    assert [use.id for use in found.supplies] == [supply.id for supply in jars.shared.supplies]
    (use,), (supply,) = found.supplies, jars.shared.supplies
    assert use.loops == ("jars", "boxes")
    assert (use.mean_counted_w, use.peak_counted_w) == (supply.mean_w, supply.peak_w)
    assert 0.8 * use.mean_counted_w < use.mean_w < 1.02 * use.mean_counted_w
    assert use.peak_w <= use.peak_counted_w


def test_same_seed_same_result(jars_line: TriedLine) -> None:
    how: dict[str, Any] = {"hours": 0.1, "replications": 2}
    assert let_run(jars_line, "10 %", **how) == let_run(jars_line, "10 %", **how)
    assert let_run(jars_line, "10 %", **how) != let_run(jars_line, "10 %", seed=2, **how)


def test_all_dwells_are_those_that_do_not_follow(jars_line: TriedLine) -> None:
    chances = chances_of(jars_line, ["10 %"], [])
    assert set(chances["jars"].spreads) == {"lid", "hand over"}
    assert set(chances["boxes"].spreads) == {"unload"}


@pytest.mark.parametrize(
    ("vary", "said"),
    [
        ("boxes.fill 1 10 %", "follows from its units; let the dwell vary where they are handed"),
        ("lid 10 %", "there is no station 'lid'; the nearest is jars.lid"),
        ("jars.lid 900 %", "must be a share of the dwell"),
    ],
)
def test_what_cannot_vary_is_refused(vary: str, said: str, jars_line: TriedLine) -> None:
    with pytest.raises(InputError) as refused:
        chances_of(jars_line, [vary], [])
    assert said in str(refused.value)


def test_the_command(saved: Path, tmp_path: Path) -> None:
    flags = '--hours 0.1 --runs 2 --vary "5 %" --quiet'
    picture = tmp_path / "run.svg"
    status, out = run(f"recommender rehearse {saved} {flags} --diagram {picture}")
    assert status == 0
    heads = [
        "Rehearsal of Jars",
        "The line",
        "Handovers",
        "Supplies, all",
        "Loop jars",
        "Loop boxes",
    ]
    places = [out.index(head) for head in heads]
    assert places == sorted(places)
    assert max(map(len, out.splitlines())) <= 80
    assert sorted(p.name for p in tmp_path.iterdir()) == ["run-boxes.svg", "run-jars.svg"]
    _, told = run(f"recommender rehearse {saved} {flags} --json")
    data = json.loads(told)
    assert data["schema"] == "recommender.line-rehearsal/1"
    assert [entry["loop"] for entry in data["loops"]] == ["jars", "boxes"]
    assert data["loops"][0]["run"]["seed"] == 1


def test_a_file_is_tried_like_its_answer(saved_bottles: Path) -> None:
    flags = '--hours 0.05 --runs 2 --vary "5 %" --quiet --json'
    _, of_file = run(f"recommender rehearse {CASES / 'bottles.toml'} {flags}")
    _, of_answer = run(f"recommender rehearse {saved_bottles} {flags}")
    for one, other in zip(*(json.loads(out)["loops"] for out in (of_file, of_answer)), strict=True):
        # A saved motion is told in rounded figures, which its checks make up for but to 1e-6.
        assert one["run"]["rate_per_min"] == pytest.approx(other["run"]["rate_per_min"], rel=1e-4)
        assert one["run"]["option"] == other["run"]["option"]
        assert one["run"]["carriers"] == other["run"]["carriers"]


def test_nothing_is_kept_for_a_sheet(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(f"recommender rehearse {saved} --save run.json")[0] == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "whose sheet shows no rehearsal" in said and "keep what --json prints" in said
