"""Load cases: their shares of the way, and where gravity points round an upright loop."""

import math
from collections import defaultdict

import pytest

from recommender.choice.carrier.directions import straight_directions, turning_directions
from recommender.choice.supplies.data import FeedData, SupplyData
from recommender.choice.supplies.feed import _several_by_share
from recommender.inputs.case import Case, make_case
from recommender.physics.constants import STANDARD_GRAVITY


def case_of(plane: str) -> Case:
    return make_case(
        {
            "load": {"mass": "3 kg", "held": "clamped"},
            "rate": {"items": "6/min"},
            "loop": {"plane": plane},
        },
        "test",
    )


@pytest.mark.parametrize("plane", ["flat", "upright"], ids=["lying", "standing"])
def test_shares_of_the_way_add_up_for_each_kind(plane: str) -> None:
    """A carrier passes each bend once a lap; an emergency stop has no share of the way."""
    shares: dict[str, float] = defaultdict(float)
    case = case_of(plane)
    for direction in (*straight_directions(case), *turning_directions(case)):
        shares[direction.kind] += direction.weight
    for kind in ("speeding up", "braking", "cruising", "turning", "entering", "leaving"):
        assert shares[kind] == pytest.approx(1.0), kind
    assert all(shares[f"emergency {kind}"] == 0.0 for kind in ("turning", "entering", "leaving"))


def test_the_two_looks_at_the_end_of_a_bend_share_alike() -> None:
    for plane, each in (("flat", 0.5), ("upright", 0.25)):
        for direction in turning_directions(case_of(plane)):
            if direction.kind in ("entering", "leaving"):
                assert direction.weight == each
            if direction.kind.startswith("emergency"):
                assert direction.weight == 0.0


def test_gravity_turns_once_round_an_upright_loop() -> None:
    """Inward on the upper run, outward on the lower one, along the travel half way round a bend."""
    case = case_of("upright")
    every = (*straight_directions(case), *turning_directions(case))
    gravity = {one.name: one.gravity for one in every}
    g = STANDARD_GRAVITY
    for name, expected in (
        ("cruising on the upper run", (0.0, -g, 0.0)),
        ("cruising on the lower run", (0.0, g, 0.0)),
        ("in the downward bend, 0° round", (0.0, -g, 0.0)),
        ("in the downward bend, 90° round", (g, 0.0, 0.0)),
        ("in the downward bend, 180° round", (0.0, g, 0.0)),
        ("in the upward bend, 90° round", (-g, 0.0, 0.0)),
        ("in the upward bend, 180° round", (0.0, -g, 0.0)),
    ):
        assert gravity[name] == pytest.approx(expected, abs=1e-9), name
    for vector in gravity.values():
        assert math.hypot(*vector) == pytest.approx(g)


def test_several_supplies_cost_no_less_than_the_dearest_of_their_shares() -> None:
    """Of 900 W mean and 1,000 W peak, two sizes: the share of the peak is dear."""
    small = SupplyData(mean_power=500, peak_power=300, max_sections=20, price=1000)
    large = SupplyData(mean_power=900, peak_power=500, max_sections=20, price=1600)
    feeds, least = [FeedData(max_sections=10, price=50)], [1]
    # Of the peak 1,000 at 3.2 for a watt make 3,200; of the mean less, and two small ones 2,000.
    bound = _several_by_share((small, large), feeds, least, 4, (900, 1000, 12))
    assert bound == 3200 + 2 * 50
    # Where no power decides, there are two at least.
    assert _several_by_share((small, large), feeds, least, 4, (10, 10, 2)) == 2 * 1000 + 2 * 50
    assert _several_by_share((small, large), feeds, least, 1, (10, 10, 2)) is None
    assert _several_by_share((small, large), feeds, least, 2, (2000, 10, 2)) is None
