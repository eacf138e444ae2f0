"""Ratings and sizes of the catalogue, just within and just beyond their limits."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.load_cases import bend_loads, straight_loads, truck_angle
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks import OPTION_CHECKS
from recommender.choice.checks.moments import CHECKS as MOMENT_CHECKS
from recommender.choice.parts.options import list_options
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.physics.constants import Array

CATALOGUE = read_catalogue(shipped("catalog"))


def utilisations(option: str, catalogue: Catalogue = CATALOGUE, **tables: Any) -> dict[str, float]:
    data: dict[str, Any] = {"load": {"mass": "1 kg"}, "rate": {"items": "10/min"}}
    for table, entries in tables.items():
        data[table] = {**data.get(table, {}), **entries}
    case = make_case(data, "test")
    found = next(entry for entry in list_options(case, catalogue) if entry.id == option)
    about = OptionContext(found, case, catalogue)
    outcomes = {check.about.id: check.evaluate(about) for check in OPTION_CHECKS}
    return {id_: float(o.utilisation()) for id_, o in outcomes.items() if o is not None}


def test_payload_counts_items_and_fixture() -> None:
    rated = CATALOGUE.carriers["std-92"].rated_payload
    for extra, holds in ((-0.01, True), (0.01, False)):
        used = utilisations(
            "std-92_arc-280_x2",
            load={"mass": f"{(rated - 0.5 + extra) / 2} kg"},
            tooling={"mass": "500 g"},
            rate={"per_carrier": [2]},
        )
        assert (used["rating.payload"] <= 1) is holds


def moments(option: str, load: dict[str, Any], speed: float = 0.2) -> dict[str, Array]:
    """Moments asked for over rated, in each load case of straights and bends."""
    data = {"load": {"held": "clamped", **load}, "rate": {"items": "10/min"}}
    case = make_case(data, "test")
    found = next(entry for entry in list_options(case, CATALOGUE) if entry.id == option)
    batch = Batch((found,), case, CATALOGUE.rules)
    tables = straight_loads(batch, np.array([[1.5]])), bend_loads(batch, np.array([[speed]]))
    used: dict[str, Array] = {}
    for loads in tables:
        for check in MOMENT_CHECKS:
            outcome = check.evaluate(loads)
            assert outcome is not None
            ratios = outcome.demand[0, 0] / outcome.limit[0, 0]
            used |= {
                f"{check.about.id}, {where.load_case.name}": ratio
                for where, ratio in zip(outcome.labels, ratios, strict=True)
                if where.load_case
            }
    return used


@pytest.mark.parametrize("sign", [1, -1])
def test_roll_moment_is_that_of_the_weight_that_reaches_out(sign: int) -> None:
    """Statics: m·G·y of the load and of the carrier's own 1.61 kg, 8 mm out."""
    rated = CATALOGUE.carriers["lm-128"].rated_roll_moment
    own = 1.61 * 9.80665 * 0.008
    for mass, extra, holds in ((4.0, -1e-4, True), (4.0, 1e-4, False), (8.0, 1e-4, False)):
        reach = (sign * rated - own) / (mass * 9.80665) + sign * extra
        load = {"mass": f"{mass} kg", "reach": f"{reach} m"}
        used = moments("lm-128_arc-480_x1", load)["rating.roll_moment, cruising on a straight"]
        assert bool(used <= 1) is holds
        # What may reach out so far is half as heavy for twice the reach.
        assert used == pytest.approx(1.0, abs=2e-3)


def test_yaw_moment_of_a_stop_is_that_of_the_masses_and_the_line_of_the_drive() -> None:
    """Newton: F = m·a at the reach of each mass, less the drive's own lever."""
    carrier = CATALOGUE.carriers["bs-132"]
    used = moments("bs-132_arc-480_x1", {"mass": "10 kg", "reach": "250 mm"})
    # What the carrier drags through the air and its seals is taken to act on the drive's line.
    force = carrier.peak_force + carrier.drag
    stop = force / (carrier.mass + 10.0)
    line_y, line_z = carrier.drive_line
    yaw = stop * (carrier.mass * 0.008 + 10.0 * 0.25) - line_y * force
    pitch = stop * (carrier.mass * -0.038 + 10.0 * (0.042 + 0.15)) - line_z * force
    for name, expected in (
        ("yaw", yaw / carrier.rated_yaw_moment),
        ("pitch", pitch / carrier.rated_pitch_moment),
    ):
        found = used[f"rating.{name}_moment, emergency stop on a straight"]
        assert found == pytest.approx(expected)


def test_moments_of_every_load_case_count() -> None:
    """The stop at the end of a bend yaws harder than anything on a straight."""
    used = moments("bs-180_arc-480_x1", {"mass": "12 kg", "reach": "300 mm"}, speed=1.0)
    yaw = {name: ratio for name, ratio in used.items() if name.startswith("rating.yaw")}
    assert max(yaw, key=lambda name: yaw[name]).startswith("rating.yaw_moment, emergency stop")
    assert any("leaving the bend" in name for name in yaw)


def test_a_pair_no_longer_than_the_radius_of_its_bend() -> None:
    assert utilisations("pair-310_arc-280_x1")["pair.bend"] == pytest.approx(310 / 280)
    assert utilisations("pair-310_arc-480_x1")["pair.bend"] == pytest.approx(310 / 480)
    # With the trucks as far apart as the radius each turns by asin(1/2).
    assert math.degrees(math.asin(0.5)) == pytest.approx(30.0)
    assert "pair.bend" not in utilisations("std-92_arc-280_x1")


def test_width_holds_the_swing_of_the_load() -> None:
    """Plain geometry: the corner of the load runs on a circle about the bend's centre."""
    middle = chord_from_centre("arc-480", "lm-128")
    load = {"length": "600 mm", "width": "300 mm", "reach": "100 mm"}
    corner = math.hypot(middle + 0.25, 0.3)
    for extra, holds in ((1e-4, True), (-1e-4, False)):
        width = f"{2 * corner + extra} m"
        used = utilisations("lm-128_arc-480_x1", load=load, loop={"max_width": width})
        assert (used["loop.width"] <= 1) is holds


def test_width_of_a_short_load_is_that_of_the_straights_and_the_load_outside() -> None:
    """Within the base a corner swings out nowhere: the chord cuts the bend."""
    load = {"length": "1 mm", "width": "200 mm", "reach": "150 mm"}
    used = utilisations("std-92_arc-280_x1", load=load, loop={"max_width": "2 m"})
    assert used["loop.width"] * 2.0 == pytest.approx(2 * (0.28 + 0.25))


def test_width_is_that_of_the_plate_under_a_small_load() -> None:
    carrier = CATALOGUE.carriers["std-92"]
    load = {"length": "1 mm", "width": "1 mm"}
    used = utilisations("std-92_arc-280_x1", load=load, loop={"max_width": "2 m"})
    outer = chord_from_centre("arc-280", "std-92") + carrier.plate_width / 2
    corner = math.hypot(outer, carrier.plate_length / 2)
    assert used["loop.width"] * 2.0 == pytest.approx(2 * corner)


@pytest.mark.parametrize("offset", ["80 mm", "-80 mm"])
def test_a_load_ahead_or_behind_is_longer_to_one_side(offset: str) -> None:
    load = {"length": "600 mm", "width": "300 mm", "reach": "100 mm", "offset": offset}
    used = utilisations("lm-128_arc-480_x1", load=load, loop={"max_width": "2 m"})
    corner = math.hypot(chord_from_centre("arc-480", "lm-128") + 0.25, 0.38)
    assert used["loop.width"] * 2.0 == pytest.approx(2 * corner)


def chord_from_centre(bend: str, carrier: str) -> float:
    """How far from the bend's centre the middle between the axles runs, by Pythagoras."""
    base = CATALOGUE.carriers[carrier].wheelbase
    return math.sqrt(CATALOGUE.bends[bend].radius ** 2 - (base / 2) ** 2)


@pytest.mark.parametrize("held, allowed", [("friction", 0.0), ("nested", 0.0), ("clamped", np.inf)])
def test_only_a_clamp_holds_upside_down(held: str, allowed: float) -> None:
    used = utilisations("std-92_arc-280_x1", load={"held": held}, loop={"plane": "upright"})
    assert used["load.holding"] == (np.inf if allowed == 0.0 else 0.0)
    assert "load.holding" not in utilisations("std-92_arc-280_x1", load={"held": held})


def test_delivery_waits_for_the_slowest_part() -> None:
    """The bend takes eight weeks, the carrier five and its other parts no more than six; assembly
    and testing take three weeks more, transport and start-up two: 13 in a chain."""
    option = "std-92_arc-280_x1"
    late = utilisations(option, commercial={"latest_delivery": "12.9 weeks"})
    in_time = utilisations(option, commercial={"latest_delivery": "13 weeks"})
    assert late["commercial.delivery"] > 1 >= in_time["commercial.delivery"]


def test_rollers_are_squeezed_from_both_sides() -> None:
    """A gauge that tightens by t presses a roller on either side by t/2, and so by k·t/2 more."""
    case = make_case({"load": {"mass": "1 kg"}, "rate": {"items": "10/min"}}, "test")
    (check,) = (check for check in OPTION_CHECKS if check.about.id == "guide.bend_fit")
    seen = set()
    for option in list_options(case, CATALOGUE):
        carrier, roller = option.carrier, option.roller
        outcome = check.evaluate(OptionContext(option, case, CATALOGUE))
        assert (outcome is None) == carrier.swivelling
        if outcome is None:
            continue
        tight, loose = outcome.demand.tolist()
        used = 0.0
        if tight > 0.0:
            pressed = roller.radial_stiffness * 0.5 * tight
            used = pressed / (roller.working_load - carrier.preload)
        if loose > 0.0:
            # What tightens one place may loosen another; what is used up is the preload.
            used = max(used, roller.radial_stiffness * 0.5 * loose / carrier.preload)
        assert float(outcome.utilisation()) == pytest.approx(used)
        seen.add((tight > 0.0, loose > 0.0))
    assert {True} == {any(each) for each in seen} and len(seen) > 1


@pytest.mark.parametrize("share", [0.3, 1.2, 1.89, 1.95, 2.0, 2.5, 40.0])
def test_a_pair_too_long_for_its_bend_is_computed_all_the_same(share: float) -> None:
    """Trucks stand on the circle, so that the chord between them turns by asin(d/2R) at most.

    A pair is refused by a check of its own; what it bears in the bend must be no fault before.
    """
    case = make_case({"load": {"mass": "1 kg"}, "rate": {"items": "10/min"}}, "test")
    options = list_options(case, CATALOGUE)
    option = next(each for each in options if each.carrier.coupling_distance)
    radius = option.bend.radius
    carrier = option.carrier.model_copy(update={"coupling_distance": share * radius})
    batch = Batch((replace(option, carrier=carrier),), case, CATALOGUE.rules)
    loads = bend_loads(batch, np.array([[0.2]]))
    assert np.isfinite(loads.rollers.radial).all()
    angle = float(truck_angle(batch)[0, 0])
    if share < 1.9:
        assert np.sin(angle) == pytest.approx(0.5 * share)
    assert 0.0 < angle < 0.5 * math.pi
