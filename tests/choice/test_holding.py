"""What holds a load: its nest by its depth, its clamp by its force, and nothing beyond its rule."""

from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.load_cases import bend_loads, straight_loads
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks import BEND_CHECKS, STRAIGHT_CHECKS
from recommender.choice.checks.entry import Outcome
from recommender.choice.decision.audit import audit
from recommender.choice.decision.decide import decide
from recommender.choice.parts.options import list_options
from recommender.explain.table import list_requirements
from recommender.filling.assumptions import method_assumptions
from recommender.filling.cautions import cautions
from recommender.inputs.case import Case, assumptions, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import STANDARD_GRAVITY


def case_of(plane: str = "flat", **load: Any) -> Case:
    data: dict[str, Any] = {
        "load": {"mass": "2 kg", "length": "100 mm", "width": "100 mm", **load},
        "rate": {"items": "20/min"},
        "loop": {"plane": plane},
    }
    return make_case(data, "test")


def straight(check: str, case: Case, catalogue: Catalogue, acceleration: float) -> Outcome | None:
    option = list_options(case, catalogue)[0]
    loads = straight_loads(OptionContext(option, case, catalogue).alone, np.array([[acceleration]]))
    (found,) = (c for c in STRAIGHT_CHECKS if c.about.id == check)
    return found.evaluate(loads)


def turning(check: str, case: Case, catalogue: Catalogue, speed: float) -> Outcome | None:
    option = list_options(case, catalogue)[0]
    loads = bend_loads(OptionContext(option, case, catalogue).alone, np.array([[speed]]))
    (found,) = (c for c in BEND_CHECKS if c.about.id == check)
    return found.evaluate(loads)


def used(outcome: Outcome | None) -> float:
    assert outcome is not None
    return float(outcome.utilisation()[0, 0])


def test_a_nest_holds_by_its_depth(catalogue: Catalogue) -> None:
    """By hand: centre 0.14 m up, half base 0.05 m, g·0.05/(1.5·0.14) = 2.335 m/s² without a nest,
    twice that in one 70 mm deep."""
    flat = case_of(held="nested", cg_height="140 mm")
    deep = case_of(held="nested", cg_height="140 mm", pocket="70 mm")
    limit = STANDARD_GRAVITY * 0.05 / (1.5 * 0.14)
    assert used(straight("load.tip", flat, catalogue, limit)) == pytest.approx(1.0)
    assert used(straight("load.tip", deep, catalogue, 2.0 * limit)) == pytest.approx(1.0)
    to_the_centre = case_of(held="nested", cg_height="140 mm", pocket="140 mm")
    assert used(straight("load.tip", to_the_centre, catalogue, 30.0)) == 0.0


def test_a_pocket_counts_for_nothing_where_nothing_is_nested(catalogue: Catalogue) -> None:
    case = case_of(held="friction", cg_height="140 mm", pocket="140 mm")
    assert used(straight("load.tip", case, catalogue, 3.0)) > 1.0


def test_the_depth_of_a_nest_is_asked_for(catalogue: Catalogue) -> None:
    assert "load.pocket" in {line.key for line in assumptions(case_of(held="nested"))}
    given = case_of(held="nested", pocket="40 mm")
    assert "load.pocket" not in {line.key for line in assumptions(given)}
    assert "load.pocket" not in {line.key for line in assumptions(case_of(held="clamped"))}


def test_a_clamp_holds_by_its_force(catalogue: Catalogue) -> None:
    """By hand: two faces, friction 0.2, 60 N on 2 kg with a safety of 1.5 hold
    2·0.2·60/(1.5·2) = 8 m/s²."""
    case = case_of(held="clamped", clamping_force="60 N")
    assert used(straight("load.clamp", case, catalogue, 8.0)) == pytest.approx(1.0)
    assert used(straight("load.clamp", case, catalogue, 4.0)) == pytest.approx(0.5)
    assert straight("load.clamp", case_of(held="clamped"), catalogue, 4.0) is None
    keys = {entry.key for entry in list_requirements(case, catalogue)}
    assert "load.clamping_force" in keys


def test_a_clamp_bears_the_weight_of_what_hangs_upside_down(catalogue: Catalogue) -> None:
    case = case_of("upright", held="clamped", clamping_force="60 N")
    outcome = straight("load.clamp", case, catalogue, 3.0)
    assert used(outcome) == pytest.approx(np.hypot(3.0, STANDARD_GRAVITY) / 8.0)
    assert used(turning("load.clamp", case, catalogue, 0.3)) > 1.0


@pytest.mark.parametrize("held", ["nested", "clamped"])
def test_a_load_bears_what_is_usual_where_nothing_is_said(catalogue: Catalogue, held: str) -> None:
    silent = case_of(held=held)
    assert used(straight("load.acceleration", silent, catalogue, 10.0)) == pytest.approx(1.0)
    assert used(turning("load.acceleration", silent, catalogue, 1.0)) > 1.0 / 0.28 / 10.0
    said = silent.model_copy(
        update={"limits": silent.limits.model_copy(update={"acceleration": 25.0})}
    )
    assert straight("load.acceleration", said, catalogue, 10.0) is None
    assert used(straight("limit.acceleration", said, catalogue, 10.0)) == pytest.approx(0.4)
    lines = {line.key: line for line in method_assumptions(silent, catalogue)}
    assert lines["rules.load_acceleration"].value == "10 m/s^2"
    assert "rules.load_acceleration" not in {
        line.key for line in method_assumptions(said, catalogue)
    }


def test_no_clamped_load_is_driven_harder_than_it_is_known_to_bear(catalogue: Catalogue) -> None:
    """A light load on a fast line, for which force and rollers would allow several g."""
    case = make_case(
        {
            "load": {"mass": "500 g", "length": "60 mm", "width": "60 mm", "held": "clamped"},
            "rate": {"items": "90/min"},
            "station": [{"name": name, "dwell": "100 ms"} for name in ("in", "out")],
        },
        "test",
    )
    decision = decide(case, catalogue)
    assert decision.chosen is not None
    chosen = decision.chosen.configuration
    assert chosen.motion.acceleration <= 10.0 * (1.0 + 1e-9)
    found = audit(chosen, case, catalogue)
    assert not found.failures
    assert "load.acceleration" in {finding.check for finding in found.findings}


def test_an_emergency_stop_that_a_clamp_does_not_hold_is_a_caution(
    worked_case: Any, catalogue: Catalogue
) -> None:
    worked = worked_case("nest")
    choice = worked.decision.chosen
    carrier = choice.configuration.option.carrier
    mass = carrier.mass + 2.0 + 0.8
    # Two faces with a friction of 0.2 on 2 kg; and half of what the stop asks for.
    for force, warned in ((300.0, False), (0.5 * carrier.total_peak_force / mass * 2 / 0.4, True)):
        load = worked.case.load.model_copy(update={"clamping_force": force})
        lines = cautions(worked.case.model_copy(update={"load": load}), catalogue, choice)
        assert any("come loose" in line for line in lines) is warned
