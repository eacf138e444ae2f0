"""Ratings and sizes of the catalogue, just within and just beyond their limits."""

import math
from typing import Any

import numpy as np
import pytest

from recommender.choice.checks import OPTION_CHECKS
from recommender.choice.options import list_options
from recommender.choice.setting import OptionContext
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped

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


@pytest.mark.parametrize("sign", [1, -1])
def test_reach_counts_either_way(sign: int) -> None:
    rated = CATALOGUE.carriers["lm-128"].rated_reach
    for extra, holds in ((-1e-4, True), (1e-4, False)):
        used = utilisations("lm-128_arc-280_x1", load={"reach": f"{sign * (rated + extra)} m"})
        assert (used["rating.reach"] <= 1) is holds


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
