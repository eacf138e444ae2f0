"""What governs a check is data: a station's name is never taken for a load case or a roller."""

from dataclasses import replace
from typing import Any

import pytest

from recommender.choice.carrier.directions import straight_directions, turning_directions
from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import single
from recommender.explain.phrases import ASKED, Failure, failure, moment
from recommender.explain.scene import Scene
from recommender.explain.wrench_shares import load_case
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

NAMES = ["bender", "front, inner roller", "stop at {part}", "speeding up on a straight", "a.force"]


def case_with(*names: str) -> Case:
    stations = [
        {"name": name, "dwell": "0.4 s", "force": ["0 N", "0 N", "-40 N"]} for name in names
    ]
    return Case.model_validate(
        {
            "load": {"mass": "4 kg", "reach": "60 mm", "held": "friction"},
            "rate": {"items": "20/min"},
            "station": stations,
        }
    )


@pytest.fixture(scope="module")
def scene(worked_case: Any, catalogue: Catalogue) -> Scene:
    """The crate's configuration with other stations and another load."""
    configuration = worked_case("crate").decision.chosen.configuration
    return Scene(configuration, case_with(*NAMES[:2]), catalogue)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_stays_a_name(name: str) -> None:
    assert Where(station=name, words="stop at {station}").text == f"stop at {name}"
    assert not Where(station=name).in_bends
    assert Where(station=name).load_case is None


def test_plain_text_is_words_and_no_more() -> None:
    _, _, where = single(2.0, 1.0, "the cabinet").governing()
    assert where == Where(words="the cabinet")
    assert where.text == "the cabinet"


def test_every_load_case_is_found_by_itself_alone(scene: Scene) -> None:
    case = case_with(*NAMES)
    named = replace(scene, case=case)
    for directions, table in (
        (straight_directions(case), named.straight),
        (turning_directions(case), named.bend),
    ):
        for column, direction in enumerate(directions):
            found = load_case(named, direction)
            assert found is not None
            assert (found.table, found.column) == (table, column)


def test_only_bends_hold_back_in_bends(scene: Scene, worked_case: Any) -> None:
    """A press called bender does not make a carrier take its bends slowly."""
    crate = worked_case("crate")
    findings = {each.check: each for each in crate.decision.chosen.findings}
    slow = replace(findings["fleet.bend_spacing"], demand=9.0, limit=3.0)
    press = next(d for d in straight_directions(scene.case) if "bender" in d.name)
    bears = replace(findings["roller.working_load"], demand=9.0, limit=3.0)
    at_press = replace(bears, where=Where(press, roller="front inner roller"))
    in_bend = replace(bears, where=Where(turning_directions(scene.case)[0], roller="rear roller"))
    assert "bends at" not in failure(Failure(slow, scene, (at_press,), "EUR"))
    assert "because it takes the bends" in failure(Failure(slow, scene, (in_bend,), "EUR"))
    assert moment(at_press.where) == "under the process force at bender"


def test_rollers_are_told_by_their_fields(scene: Scene, worked_case: Any) -> None:
    findings = {each.check: each for each in worked_case("crate").decision.chosen.findings}
    press = next(d for d in straight_directions(scene.case) if "front, inner" in d.name)
    where = Where(press, truck="rear truck", roller="front inner roller")
    told = Failure(replace(findings["roller.static"], where=where), scene, (), "EUR")
    assert ASKED["roller"](told) == "front inner roller, rear truck"
    assert failure(told).startswith("under the process force at front, inner roller, the front")
