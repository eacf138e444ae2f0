"""The time to come to rest follows from stiffness, overhang and tolerance, for each option."""

from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks import OPTION_CHECKS
from recommender.choice.decision.decide import decide
from recommender.choice.parts.options import Option, list_options
from recommender.explain.table import list_requirements
from recommender.filling.assumptions import method_assumptions
from recommender.inputs.case import Case, assumptions, make_case
from recommender.inputs.catalogue import Catalogue


def case_of(station: dict[str, Any] | None = None, **load: Any) -> Case:
    stations = [{"name": name, "dwell": "1 s", **(station or {})} for name in ("in", "out")]
    body = {"mass": "8 kg", "held": "clamped", "reach": "150 mm", **load}
    return make_case({"load": body, "rate": {"items": "15/min"}, "station": stations}, "test")


def option_of(case: Case, catalogue: Catalogue, id_: str = "lm-128_arc-280_x1") -> Option:
    return next(option for option in list_options(case, catalogue) if option.id == id_)


def settling(case: Case, catalogue: Catalogue, **carrier: float) -> float:
    option = option_of(case, catalogue)
    if carrier:
        changed = option.carrier.model_copy(update=carrier)
        option = Option(
            changed, option.family, option.roller, option.lower_roller, option.bend, option.items
        )
    about = OptionContext(option, case, catalogue)
    assert about.occupied == pytest.approx(1.0 + np.array([s.settling for s in about.case.station]))
    return float(about.occupied[0] - 1.0)


def test_what_is_given_rules(catalogue: Catalogue) -> None:
    assert settling(case_of({"settling": "70 ms"}), catalogue) == pytest.approx(0.07)
    assert settling(case_of({"settling": "0 ms"}), catalogue) == 0.0
    given = {line.key for line in assumptions(case_of({"settling": "70 ms"}))}
    assert "station.tolerance" not in given
    assert "station.tolerance" in {line.key for line in assumptions(case_of())}


def test_it_is_what_a_hand_calculation_gives(catalogue: Catalogue) -> None:
    """lm-128: 1.61 kg and 8 kg at 0.15 m out and 0.192 m up on 6000 N·m/rad, hardest stop
    254 N/(1.25·9.61 kg) = 21.1 m/s² built up in 50 ms."""
    case = case_of()
    option = option_of(case, catalogue)
    own = float(np.hypot(*option.carrier.centre_of_gravity[1:]))
    lever = float(np.hypot(0.15, 0.042 + 0.15))
    inertia = 1.61 * own**2 + option.carrier.yaw_inertia + 8 * (lever**2 + 2 * 0.3**2 / 12)
    omega = np.sqrt(6000.0 / inertia)
    give = (1.61 * own + 8 * lever) * lever / 6000.0
    a = 254.0 / (1.25 * 9.61)
    left = give * min(2 * a, 4 * (a / 0.05) / omega)
    left *= 1 + np.exp(-0.03 * omega * np.sqrt(0.312 / a))
    assert settling(case, catalogue) == pytest.approx(np.log(left / 0.2e-3) / (0.03 * omega))
    assert settling(case, catalogue) == pytest.approx(0.815, abs=5e-4)


def test_stiffer_lighter_and_laxer_settle_sooner(catalogue: Catalogue) -> None:
    usual = settling(case_of(), catalogue)
    assert settling(case_of(), catalogue, stiffness=12000.0) < usual
    for changes in ({"mass": "5 kg"}, {"reach": "80 mm"}, {"cg_height": "60 mm"}):
        assert settling(case_of(**changes), catalogue) < usual
    assert settling(case_of({"tolerance": "0.1 mm"}), catalogue) > usual
    stiffest = settling(case_of(), catalogue, stiffness=1e7)
    assert stiffest == pytest.approx(catalogue.rules.least_settling)


def test_limits_of_the_enquiry_do_not_change_it(catalogue: Catalogue) -> None:
    """Loosening a limit must not make a station slower: the drive alone bounds the stop."""
    case = case_of()
    slow = case.model_copy(update={"limits": case.limits.model_copy(update={"acceleration": 1.0})})
    assert settling(slow, catalogue) == settling(case, catalogue)


def test_asking_for_less_never_makes_a_station_slower(catalogue: Catalogue) -> None:
    """A lighter, nearer or lower load, and a lighter fixture, within the ratings of carriers."""
    rng = np.random.default_rng(6)
    compared = 0
    for _ in range(60):
        mass, reach, height = rng.uniform(0.2, 60), rng.uniform(0, 0.4), rng.uniform(0.02, 0.3)
        fixture = rng.uniform(0.5, 5)
        asked = with_fixture(mass, reach, height, fixture)
        for less in (
            with_fixture(0.7 * mass, reach, height, fixture),
            with_fixture(mass, 0.7 * reach, height, fixture),
            with_fixture(mass, reach, 0.7 * height, fixture),
            with_fixture(mass, reach, height, 0.3 * fixture),
        ):
            for option in list_options(asked, catalogue)[::3]:
                if option.carrier.rated_payload < mass + fixture:
                    continue
                times = [
                    OptionContext(option, case, catalogue).occupied[0] for case in (less, asked)
                ]
                assert times[0] <= times[1] + 1e-9
                compared += 1
    assert compared > 300


def with_fixture(mass: float, reach: float, height: float, fixture: float) -> Case:
    body = {"mass": f"{mass} kg", "reach": f"{reach} m", "cg_height": f"{height} m"}
    data = {"load": body, "tooling": {"mass": f"{fixture} kg"}, "rate": {"items": "10/min"}}
    return make_case(data, "test")


def test_a_tight_tolerance_asks_for_more(catalogue: Catalogue) -> None:
    """A line that just keeps its rate with loose stops does not with tight ones."""
    loose, tight = (
        decide(case_of({"tolerance": tolerance}, reach="250 mm"), catalogue)
        for tolerance in ("5 mm", "0.01 mm")
    )
    assert loose.chosen is not None
    assert tight.chosen is None or tight.price > loose.price


def test_a_process_may_not_press_the_load_out_of_its_tolerance(catalogue: Catalogue) -> None:
    (check,) = (entry for entry in OPTION_CHECKS if entry.about.id == "station.deflection")
    pressed = {"force": ["0 N", "0 N", "-100 N"], "tolerance": "1 mm"}
    case = case_of(pressed)
    outcome = check.evaluate(OptionContext(option_of(case, catalogue), case, catalogue))
    assert outcome is not None
    # By hand 100 N · (0.15² + 0.192²) m² / 6000 N·m/rad.
    assert outcome.demand == pytest.approx(100.0 * (0.15**2 + 0.192**2) / 6000.0)
    assert float(outcome.utilisation()) == pytest.approx(0.9894, rel=1e-3)
    for other in (case_of({"force": ["0 N", "0 N", "-100 N"]}), case_of({"tolerance": "1 mm"})):
        assert check.evaluate(OptionContext(option_of(other, catalogue), other, catalogue)) is None
    keys = {entry.key for entry in list_requirements(case, catalogue)}
    assert {"station.in.tolerance", "station.out.tolerance"} <= keys


def test_what_is_taken_is_said(catalogue: Catalogue) -> None:
    said = {line.key for line in method_assumptions(case_of(), catalogue)}
    assert {"rules.carrier_damping", "rules.least_settling"} <= said
    given = {line.key for line in method_assumptions(case_of({"settling": "70 ms"}), catalogue)}
    assert not {"rules.carrier_damping", "rules.least_settling"} & given
