"""How often a line holds: loops in the same draws, what they share, and what ties them."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from recommender.choice.checks.entry import HOLDS
from recommender.commands.line_tried import line_tried
from recommender.commands.lines import GivenToLine
from recommender.faults import InputError
from recommender.lines.audit import audit_line
from recommender.lines.bill import BuiltLine
from recommender.lines.doubt import _conditions, doubt_line
from recommender.lines.tried import TriedLine
from recommender.lines.unsure import read_unsure_in_line
from recommender.trials.outcome import Draws, outcome_of
from tests.test_readme import run

NOTHING = GivenToLine(None, None, None, "price", True)
MANY = 2000


def tried(saved: Path) -> TriedLine:
    line = line_tried(saved, NOTHING, "doubt")
    assert line is not None
    return line


@pytest.fixture(scope="module")
def jars_line(saved: Path) -> TriedLine:
    return tried(saved)


@pytest.fixture(scope="module")
def bottles_line(saved_bottles: Path) -> TriedLine:
    return tried(saved_bottles)


def test_loops_with_inputs_of_their_own_are_independent(jars_line: TriedLine) -> None:
    """Then the chance of the line is the product of theirs, but for what 2,000 draws scatter."""
    unsure = read_unsure_in_line(["jars.load.mass=±2 %", "boxes.dwell=±20 %"], jars_line)
    found = doubt_line(jars_line, unsure, draws=MANY)
    jars, boxes = (loop.chance.held for loop in found.loops)
    assert 0.2 < jars < 0.8 and 0.2 < boxes < 0.8
    assert found.chance.held == pytest.approx(jars * boxes, abs=0.03)
    assert found.chance.low < found.chance.held < found.chance.high


def test_a_rate_is_one_rate_for_the_loop_that_it_supplies(bottles_line: TriedLine) -> None:
    """The line holds as often as its weaker loop, not as often as the product says."""
    unsure = read_unsure_in_line(["units.rate.items=±2 %"], bottles_line)
    drawn = Draws.of(unsure.inputs, MANY, 1)
    seen = unsure.seen(bottles_line, drawn)
    assert seen["boxes"].inputs[0].key == "rate.items"
    assert np.allclose(seen["boxes"].values[:, 0] * 12, seen["units"].values[:, 0])
    found = doubt_line(bottles_line, unsure, draws=MANY)
    each = [loop.chance.held for loop in found.loops]
    assert found.chance.held == pytest.approx(min(each), abs=0.01)
    assert found.chance.held > each[0] * each[1] + 0.1


def test_what_stands_above_the_loops_is_drawn_once(jars_line: TriedLine) -> None:
    texts = ["life.hours=±30 %", "site.ambient=30 °C to 45 °C", "jars.load.mass=±5 %"]
    unsure = read_unsure_in_line(texts, jars_line)
    assert [entry.key for entry in unsure.inputs] == [
        "life.hours",
        "site.ambient",
        "jars.load.mass",
    ]
    seen = unsure.seen(jars_line, Draws.of(unsure.inputs, MANY, 1))
    for k in range(2):
        assert (seen["jars"].values[:, k] == seen["boxes"].values[:, k]).all()
    assert [entry.key for entry in seen["boxes"].inputs] == ["life.hours", "site.ambient"]


def test_a_loop_of_which_nothing_is_unsure_holds_always(jars_line: TriedLine) -> None:
    unsure = read_unsure_in_line(["jars.load.mass=±2 %"], jars_line)
    found = doubt_line(jars_line, unsure, draws=MANY)
    assert found.loops[1].chance.held == 1.0
    assert found.chance.held == found.loops[0].chance.held


def test_what_loops_share_is_that_of_an_audit_of_the_line(jars_line: TriedLine) -> None:
    """Supplies and the stop of all loops, draw by draw, by the audit that knows no arrays."""
    texts = ["jars.load.mass=±10 %", "boxes.load.mass=±10 %", "boxes.tooling.mass=±20 %"]
    unsure = read_unsure_in_line(texts, jars_line)
    drawn = Draws.of(unsure.inputs, 500, 1)
    seen = unsure.seen(jars_line, drawn)
    outcomes = {
        name: outcome_of(audit, case, jars_line.catalogue, seen[name])
        for name, (audit, case) in jars_line.loops.items()
    }
    told = _conditions(jars_line, seen, outcomes)
    assert all(exact for _, exact in told.values())
    serves = {name: [0] for name in jars_line.names}
    for supply in jars_line.supplies:
        for served in supply.runs:
            serves[served.loop][served.first_section - 1] = supply.number - 1
    for draw in (0, 7, 31):
        built = BuiltLine(
            jars_line.names,
            tuple(
                seen[name].case(case, seen[name].values[draw])
                for name, (_, case) in jars_line.loops.items()
            ),
            tuple(audit.configuration for audit, _ in jars_line.loops.values()),
            tuple(supply.id for supply in jars_line.supplies),
            tuple(tuple(serves[name]) for name in jars_line.names),
            next(iter(jars_line.loops.values()))[0].configuration.electrics.controller,
        )
        audit = audit_line(built, jars_line.line, jars_line.catalogue)
        used: dict[str, float] = {}
        for condition in audit.conditions:
            share = condition.demand / condition.limit
            used[condition.id] = max(used.get(condition.id, 0.0), share)
        for name, (values, _) in told.items():
            # Powers may be from a fit, which its own margin guards.
            assert values[draw] == pytest.approx(used[name], rel=1e-3), name
            assert (values[draw] <= HOLDS) == (used[name] <= HOLDS)


def test_usual_inputs_leave_out_what_a_direct_handover_ties(jars_line: TriedLine) -> None:
    unsure = read_unsure_in_line([], jars_line)
    keys = [entry.key for entry in unsure.inputs]
    assert keys == [
        "jars.load.mass",
        "jars.station.lid.dwell",
        "boxes.load.mass",
        "boxes.load.friction",
        "boxes.station.unload.dwell",
    ]
    assert unsure.fixed == (
        "jars.station.hand over.dwell",
        "boxes.station.fill 1.dwell",
        "boxes.station.fill 2.dwell",
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("load.mass=±5 %", "an input of a line stands behind its loop (jars, boxes)"),
        ("jars.load.mas=±5 %", 'loop jars: --vary: "load.mas" is no number of this case'),
        ("jars.rate.items=±5 %", "see what another value gives with compare --vary"),
        ("jars.station.hand over.dwell=±5 %", "sets how long boxes stand in a direct handover"),
        ("boxes.station.fill 1.dwell=±5 %", "follows from the units that a box stands for"),
        ("boxes.rate.items=±5 %", "let that of the loop that supplies it be unsure"),
        ("boxes.life.hours=±5 %", "write life.hours without a loop"),
    ],
)
def test_what_cannot_be_drawn_rightly_is_refused(
    text: str, said: str, jars_line: TriedLine
) -> None:
    with pytest.raises(InputError) as refused:
        read_unsure_in_line([text], jars_line)
    assert said in str(refused.value)


def test_what_changes_a_limited_floor_is_refused(bottles_line: TriedLine) -> None:
    with pytest.raises(InputError, match="changes the floor of all loops"):
        read_unsure_in_line(["boxes.load.reach=±5 %"], bottles_line)


def test_the_command(saved: Path, tmp_path: Path) -> None:
    flags = '--draws 500 --vary "jars.load.mass=±2 %" --vary "boxes.dwell=±20 %" --quiet'
    status, out = run(f"recommender doubt {saved} {flags}")
    assert status == 0
    told = " ".join(out.split())
    assert "Doubt about Jars straight into boxes of eight, 71,549.00 EUR: 500 draws" in told
    assert "The line holds in" in told and "Loop boxes 4 x lm-176_arc-280_x1: holds in" in told
    assert "boxes.station.fill 2.dwell: taken as they stand" in told
    assert "see what harder values give with compare --vary" in told
    _, text = run(f"recommender doubt {saved} {flags} --json")
    data = json.loads(text)
    assert data["schema"] == "recommender.line-doubt/1"
    assert data == json.loads(run(f"recommender doubt {saved} {flags} --json")[1])
    target = tmp_path / "doubt.csv"
    assert run(f"recommender doubt {saved} {flags} -o {target}")[0] == 0
    with target.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["input"] for row in rows} == {entry["key"] for entry in data["inputs"]}
    assert float(rows[0]["held"]) == data["chance"]["held"]


@pytest.mark.parametrize(
    ("flags", "said"),
    [
        ("--no-reserve", "write rate.reserve = 0 in the line's file"),
        ("--save doubt.json", "leave it out, and write -o FILE.json"),
        ("-o doubt.svg", "the name must end in .csv or .json"),
    ],
)
def test_what_a_doubt_about_a_line_goes_without(
    flags: str, said: str, saved: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(f"recommender doubt {saved} {flags}")[0] == 2
    assert said in " ".join(capsys.readouterr().err.split())
