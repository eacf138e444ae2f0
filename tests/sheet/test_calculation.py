"""The calculation of an answer: formulas that come to their checks, a lap that adds up."""

import re
from collections.abc import Callable
from dataclasses import replace
from math import sqrt
from typing import Any

import numpy as np
import pytest

from recommender.calculation import calculation_of
from recommender.calculation.workings import FORMULAS
from recommender.choice.checks import (
    BEND_CHECKS,
    CONFIGURED_CHECKS,
    FLEET_CHECKS,
    GEOMETRY_CHECKS,
    LAYOUT_CHECKS,
    OPTION_CHECKS,
    SETTING_CHECKS,
    STRAIGHT_CHECKS,
)
from recommender.choice.checks.findings import TAKT
from recommender.results.answer import Answer
from recommender.results.calculation import Calculation

ALL = (
    BEND_CHECKS,
    CONFIGURED_CHECKS,
    FLEET_CHECKS,
    GEOMETRY_CHECKS,
    LAYOUT_CHECKS,
    OPTION_CHECKS,
    SETTING_CHECKS,
    STRAIGHT_CHECKS,
)


@pytest.fixture(scope="module", params=["crate", "upright", "assembly"])
def answer(request: pytest.FixtureRequest, worked_case: Callable[[str], Any]) -> Answer:
    """Loads on friction, an upright loop with a process force, a coupled pair."""
    worked = worked_case(request.param)
    calculation = calculation_of(worked.decision.chosen, worked.case, worked.catalogue)
    return replace(worked.answer, calculation=calculation)


@pytest.fixture
def calculation(answer: Answer) -> Calculation:
    assert answer.calculation is not None
    return answer.calculation


def reckoned(text: str) -> float:
    """What a printed formula comes to, by Python's own arithmetic."""
    plain = text.replace("·", "*").replace("−", "-").replace("²", "**2").replace("√", "sqrt")
    assert re.fullmatch(r"[-+*/()0-9. ]|[-+*/()0-9. sqrt]+", plain), text
    return float(eval(plain, {"__builtins__": {}, "sqrt": sqrt}))


def test_every_check_has_a_formula() -> None:
    known = {check.about.id for checks in ALL for check in checks} | {TAKT.id}
    assert known == set(FORMULAS)


def test_numbers_come_to_what_the_checks_found(answer: Answer, calculation: Calculation) -> None:
    choice = answer.choice
    assert choice is not None
    assert [working.check for working in calculation.workings] == [c.id for c in choice.checks]
    filled = 0
    for working, check in zip(calculation.workings, choice.checks, strict=True):
        for formula, value in ((working.demand, check.demand), (working.limit, check.limit)):
            assert formula.words, check.id
            if formula.numbers:
                filled += 1
                # Each number is printed to five digits.
                assert reckoned(formula.numbers) == pytest.approx(value, rel=1e-3, abs=1e-9), check
    assert filled > len(choice.checks)


def test_words_and_numbers_are_the_same_formula(calculation: Calculation) -> None:
    for working in calculation.workings:
        for formula in (working.demand, working.limit):
            if " " in formula.numbers:
                signs = [re.sub(r"[^+·/]", "", text) for text in (formula.words, formula.numbers)]
                assert signs[0] == signs[1], formula


def test_the_lap_is_that_of_the_answer(answer: Answer, calculation: Calculation) -> None:
    choice, lap = answer.choice, calculation.lap
    assert choice is not None and choice.loop is not None and choice.lap_times is not None
    assert lap.time_s[-1] == pytest.approx(choice.lap_times.unhindered_s, rel=1e-4)
    assert lap.at_m[-1] - lap.at_m[0] == pytest.approx(choice.loop.length_m, rel=1e-3)
    assert all(np.diff(lap.time_s) >= 0.0)
    assert all(np.diff(lap.at_m) >= -1e-4)
    # The speed is the slope of the way, whichever formula made it.
    time, way, speed = (np.array(values) for values in (lap.time_s, lap.at_m, lap.speed_m_s))
    travelled = np.sum(0.5 * (speed[1:] + speed[:-1]) * np.diff(time))
    assert travelled == pytest.approx(way[-1] - way[0], rel=5e-3)


def test_carriers_stand_at_their_stations(answer: Answer, calculation: Calculation) -> None:
    choice, lap = answer.choice, calculation.lap
    assert choice is not None and choice.loop is not None
    standing = {
        round(at, 2) for at, speed in zip(lap.at_m, lap.speed_m_s, strict=True) if speed == 0.0
    }
    assert standing == {round(station.at_m, 2) for station in choice.loop.stations}


def test_limits_of_the_motion_are_reached_and_kept(
    answer: Answer, calculation: Calculation
) -> None:
    choice, lap = answer.choice, calculation.lap
    assert choice is not None and choice.motion is not None
    checks = {check.id: check for check in choice.checks}
    assert max(lap.speed_m_s) <= checks["rating.speed"].demand * 1.0001
    most = checks["house.acceleration"].demand
    assert max(map(abs, lap.acceleration_m_s2)) == pytest.approx(most, rel=1e-3)


def test_forces_and_loads_stay_within_their_checks(
    answer: Answer, calculation: Calculation
) -> None:
    choice, lap = answer.choice, calculation.lap
    assert choice is not None
    checks = {check.id: check for check in choice.checks}
    margin = 1.25
    forces = [checks[f"drive.peak_{where}"].demand / margin for where in ("straight", "bend")]
    assert max(map(abs, lap.force_n)) <= 1.0001 * max(forces)
    # Emergency stops are in the check and in no lap.
    most = max(max(roller.load_n) for roller in calculation.rollers)
    assert 0.2 * checks["roller.static"].demand < most <= 1.0001 * checks["roller.static"].demand
    assert all(len(roller.load_n) == len(lap.time_s) for roller in calculation.rollers)


def test_an_answer_goes_without_unless_it_is_asked_for(worked_case: Callable[[str], Any]) -> None:
    assert worked_case("crate").answer.calculation is None
