"""Facts that the trade takes for granted: common practice, no source.

The catalogue's own figures are inventions; what is tested is that calculations and catalogue are of
the same world.
"""

from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.load_cases import bend_loads, straight_loads
from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import OPTION_CHECKS
from recommender.choice.checks.drive import CHECKS as DRIVE_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.findings import Finding
from recommender.choice.decision.decide import decide
from recommender.choice.parts.options import Option, list_options
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import screen
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Carrier, Catalogue
from recommender.physics.constants import STANDARD_GRAVITY


def case_of(mass: str, rate: str = "10/min", **load: Any) -> Case:
    """A clamped load that bears whatever carrier and drive can do."""
    data = {
        "load": {"mass": mass, "held": "clamped", **load},
        "rate": {"items": rate},
        "limits": {"acceleration": "100 m/s^2"},
    }
    return make_case(data, "test")


def option_of(id_: str, case: Case, catalogue: Catalogue) -> Option:
    return next(option for option in list_options(case, catalogue) if option.id == id_)


def holding_bend_speed(option: Option, case: Case, catalogue: Catalogue) -> float:
    """Greatest bend speed at which every check holds that needs no loop; 0 if none does."""
    (entry,) = screen([option], case, catalogue, Grid())
    speeds = entry.context.settings.bend_speed[entry.used <= HOLDS]
    return float(speeds.max(initial=0.0))


def drive_finding(option: Option, case: Case, catalogue: Catalogue, acceleration: float) -> Finding:
    """Whether the drive has the force for an acceleration at a low speed."""
    about = OptionContext(option, case, catalogue)
    one, row = np.array([0]), np.array([[acceleration]])
    setting = SettingContext(
        about,
        Settings(
            np.array([acceleration]), np.array([acceleration / 0.05]), np.ones(1), np.ones(1) * 0.5
        ),
        LoadTable(straight_loads(about.alone, row), 0, one),
        LoadTable(bend_loads(about.alone, np.array([[0.5]])), 0, one),
    )
    check = next(check for check in DRIVE_CHECKS if check.about.id == "drive.peak_straight")
    outcome = check.evaluate(setting)
    assert outcome is not None
    return Finding(check.about, *outcome.governing(0))


def carrier_like(catalogue: Catalogue, id_: str, **values: Any) -> tuple[Catalogue, Carrier]:
    """The catalogue with one carrier changed, and that carrier."""
    changed = {c.id: c for c in catalogue.carrier}[id_].model_copy(update=values)
    carriers = tuple(changed if c.id == id_ else c for c in catalogue.carrier)
    return Catalogue.model_construct(**{**dict(catalogue), "carrier": carriers}), changed


def test_200_newtons_on_5_kilograms_are_about_four_gravities(catalogue: Catalogue) -> None:
    """A carrier of 1 kg with 4 kg on it, without resistance and margin: 40 m/s²."""
    drawn, carrier = carrier_like(
        catalogue, "std-92", mass=1.0, peak_force=200.0, drag=0.0, rolling_coefficient=1e-9
    )
    rules = drawn.rules.model_copy(update={"drive_margin": 1.0})
    drawn = Catalogue.model_construct(**{**dict(drawn), "rules": rules})
    case = case_of("4 kg")
    option = option_of(f"{carrier.id}_arc-280_x1", case, drawn)
    for gravities, possible in ((3.9, True), (4.07, True), (4.09, False), (4.3, False)):
        found = drive_finding(option, case, drawn, gravities * STANDARD_GRAVITY)
        assert found.limit == pytest.approx(200.0)
        assert found.demand == pytest.approx(5.0 * gravities * STANDARD_GRAVITY, rel=1e-4)
        assert found.ok is possible


def test_a_magnet_of_100_millimetres_gives_some_210_newtons(catalogue: Catalogue) -> None:
    """Within a quarter: 160 to 260 N for each 100 mm of magnet, whatever its length."""
    for carrier in catalogue.carrier:
        per_length = carrier.peak_force / carrier.magnet_length * 0.1
        assert 0.75 * 210.0 <= per_length <= 1.25 * 210.0, carrier.id
        assert carrier.top_speed == pytest.approx(4.0, rel=0.15)


def test_a_large_magnet_weighs_40_percent_more_and_carries_twice_as_much(
    catalogue: Catalogue,
) -> None:
    """Family beside family, variant by variant in the order of their size: within a quarter."""
    families = {
        name: sorted(
            (carrier for carrier in catalogue.carrier if carrier.family == name),
            key=lambda carrier: carrier.rated_payload,
        )
        for name in ("standard", "large-magnet")
    }
    # The neighbour of a standard carrier is the large-magnet one that weighs next to 40 % more.
    neighbours = [
        (one, min(families["large-magnet"], key=lambda c, one=one: abs(c.mass / one.mass - 1.4)))
        for one in families["standard"]
    ]
    neighbours = [
        (standard, large)
        for standard, large in neighbours
        if large.mass / standard.mass == pytest.approx(1.4, abs=0.15)
    ]
    assert len(neighbours) >= 2
    for standard, large in neighbours:
        assert large.rated_payload / standard.rated_payload == pytest.approx(2.0, rel=0.25)
    for standard, large in zip(families["standard"], families["large-magnet"], strict=False):
        assert large.mass > standard.mass and large.rated_payload > standard.rated_payload
        assert large.peak_force > standard.peak_force


def test_a_cantilever_slows_one_truck_in_the_bend_and_a_pair_not(catalogue: Catalogue) -> None:
    """The same load far out on the same bend: the second truck takes the twist.

    One truck takes the bend slower with the load far out than with it above the guide; the pair is
    held back by neither, or by far less.
    """
    out, above = (case_of("12 kg", reach=reach, cg_height="60 mm") for reach in ("340 mm", "0 mm"))
    single, pair = "bs-180_arc-480_x1", "pair-310_arc-480_x1"
    speeds = {
        (id_, name): holding_bend_speed(option_of(id_, case, catalogue), case, catalogue)
        for id_ in (single, pair)
        for name, case in (("out", out), ("above", above))
    }
    assert min(speeds.values()) > 0
    assert speeds[single, "out"] < 0.7 * speeds[single, "above"]
    assert speeds[pair, "out"] > 1.3 * speeds[single, "out"]
    ratios = [speeds[id_, "out"] / speeds[id_, "above"] for id_ in (single, pair)]
    assert ratios[1] > 1.2 * ratios[0]


def test_a_bend_speed_that_a_pair_holds_is_too_fast_for_one_truck(
    catalogue: Catalogue,
) -> None:
    """At the speed that a pair still holds, the single truck fails a check of the bend."""
    case = case_of("12 kg", reach="340 mm", cg_height="60 mm")
    pair = option_of("pair-310_arc-480_x1", case, catalogue)
    single = option_of("bs-180_arc-480_x1", case, catalogue)
    speed = holding_bend_speed(pair, case, catalogue)
    (entry,) = screen([single], case, catalogue, Grid())
    fast = entry.context.settings.bend_speed >= 0.98 * speed
    assert not (entry.used[fast] <= HOLDS).any()


def test_a_pair_carries_up_to_about_90_kilograms(catalogue: Catalogue) -> None:
    pairs = [c for c in catalogue.carrier if c.coupling_distance is not None]
    most = max(carrier.rated_payload for carrier in pairs)
    assert most == pytest.approx(90.0, rel=0.1)
    works = decide(case_of(f"{most - 1} kg", "3/min", reach="80 mm"), catalogue)
    assert works.chosen is not None
    assert works.chosen.configuration.option.family.trucks == 2
    assert decide(case_of(f"{most + 5} kg", "3/min", reach="80 mm"), catalogue).chosen is None


def test_crates_are_not_moved_with_a_light_carriers_acceleration(catalogue: Catalogue) -> None:
    """25 kg held by friction: what the load bears is a fraction of what a light carrier does."""
    data = {
        "load": {"mass": "25 kg", "held": "friction", "friction": 0.4, "cg_height": "150 mm"},
        "rate": {"items": "10/min"},
    }
    chosen = decide(make_case(data, "test"), catalogue).chosen
    assert chosen is not None
    assert chosen.configuration.motion.acceleration < 0.4 * STANDARD_GRAVITY
    light = catalogue.carriers["std-68"]
    assert light.peak_force / (light.mass + 2.0) > 4.0 * STANDARD_GRAVITY


def test_a_pair_cannot_move_20_kilograms_with_four_gravities(catalogue: Catalogue) -> None:
    """785 N for the load alone, where two magnets of 210 N give 420 N."""
    drawn, carrier = carrier_like(catalogue, "pair-310", peak_force=210.0, continuous_force=80.0)
    assert carrier.total_peak_force == 420.0
    case = case_of("20 kg")
    option = option_of("pair-310_arc-480_x1", case, drawn)
    # It is the force that refuses it and nothing that the option fails anyway.
    about = OptionContext(option, case, drawn)
    outcomes = (check.evaluate(about) for check in OPTION_CHECKS)
    assert all(o is None or float(o.utilisation()) <= HOLDS for o in outcomes)
    found = drive_finding(option, case, drawn, 4.0 * STANDARD_GRAVITY)
    load_alone = 20.0 * 4.0 * STANDARD_GRAVITY
    assert load_alone == pytest.approx(785.0, abs=0.5)
    assert found.demand >= load_alone + carrier.mass * 4.0 * STANDARD_GRAVITY
    assert found.limit == pytest.approx(420.0)
    assert not found.ok
    # The sentence that says so names the force wanted and by how much it is too much.
    assert "{demand}" in found.about.fails and "{excess}" in found.about.fails
    # The tool never looks for it there either: no setting that holds comes near.
    (entry,) = screen([option], case, drawn, Grid())
    held = entry.context.settings.acceleration[entry.used <= HOLDS]
    assert held.max() * (20.0 + carrier.mass) <= 420.0
    assert held.max() < 2.0 * STANDARD_GRAVITY
