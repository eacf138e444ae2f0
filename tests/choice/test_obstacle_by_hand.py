"""Which stations an obstacle names, where more than one could be blamed."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.decision.beforehand import cannot_work
from recommender.choice.decision.obstacle import _clear_somewhere, obstacle
from recommender.choice.parts.options import list_options
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.bend import bend_depth, bend_length, bend_width


def enquiry(*stations: dict[str, Any], **loop: Any) -> Case:
    return make_case(
        {
            "load": {"mass": "2 kg", "length": "100 mm", "width": "100 mm", "held": "clamped"},
            "rate": {"items": "6/min"},
            "loop": loop,
            "station": [{"dwell": "1 s", **station} for station in stations],
        },
        "by hand",
    )


def shortest(case: Case, catalogue: Catalogue) -> OptionContext:
    """The option whose carriers take least room."""
    options = list_options(case, catalogue)
    abouts = [OptionContext(option, case, catalogue) for option in options]
    return min(abouts, key=lambda about: (about.spacing, about.bend_clearance))


def test_two_stations_exactly_as_far_apart_as_asked_are_not_to_blame(catalogue: Catalogue) -> None:
    """From a to b half a metre is asked for and kept; from b to c less than half of it is."""
    case = enquiry(
        {"name": "a", "side": "front", "at": "250 mm"},
        {"name": "b", "side": "front", "at": "750 mm", "after": "500 mm"},
        {"name": "c", "side": "front", "at": "875 mm", "after": "500 mm"},
    )
    about = shortest(case, catalogue)
    assert about.spacing < 0.5
    assert obstacle(about, 3.0).startswith("b and c are fixed 125 mm apart")


def test_a_joint_matters_only_where_a_station_must_be_clear_of_it(catalogue: Catalogue) -> None:
    """Sections of 0.4 m and 1 m leave a joint or an end by 1.2 m in all straights to 1.35 m."""
    assert {part.length for part in catalogue.straight} == {0.4, 1.0}
    others = [
        {"name": "b", "side": "front", "at": "500 mm"},
        {"name": "c", "side": "front", "at": "600 mm"},
    ]
    for clear in (False, True):
        last = {"name": "a", "side": "front", "at": "1.2 m", "clear_of_joints": clear}
        about = shortest(enquiry(*others, last), catalogue)
        assert not _clear_somewhere(about, 1.2, 1.35)
        told = obstacle(about, 1.35)
        assert told.startswith("a is fixed at" if clear else "b and c are fixed 100 mm apart")


@pytest.mark.parametrize("longest", ["6 m", "7.3 m"])
def test_a_place_at_the_end_of_the_longest_straight_is_on_it(
    longest: str, catalogue: Catalogue
) -> None:
    turned = min(float(bend_length(bend.radius, bend.transition)) for bend in catalogue.bend)
    straight = 0.5 * float(longest.removesuffix(" m")) - turned

    def told(at: float) -> str:
        case = enquiry({"name": "a", "side": "front", "at": f"{at!r} m"}, max_length=longest)
        assert case.station[0].at == at
        return " ".join(cannot_work(case, catalogue))

    assert "station.a.at" not in told(straight)
    assert "station.a.at" in told(straight + 1e-6)


def test_the_order_of_the_travel_is_to_blame_where_nothing_else_is(catalogue: Catalogue) -> None:
    """Four changes of sides; and three places on the front that no turn of them leads through."""
    sides = ("front", "back", "front", "back")
    crossing = enquiry(*({"name": f"s{k}", "side": side} for k, side in enumerate(sides)))
    told = obstacle(shortest(crossing, catalogue), 3.0)
    assert "change sides 4 times" in told and "s0 (front), s1 (back), s2 (front)" in told
    places = ("500 mm", "2 m", "1.2 m")
    row = ({"name": f"s{k}", "side": "front", "at": at} for k, at in enumerate(places))
    free = {"name": "free"}
    told = obstacle(shortest(enquiry(*row, free), catalogue), 3.0)
    assert told.startswith("on the front they would be met as s0 at 500 mm, then s1 at 2")


@pytest.mark.parametrize("plane", ["flat", "upright"], ids=["lying", "standing"])
def test_room_is_too_little_for_bends_exactly_where_they_take_more(
    plane: str, catalogue: Catalogue
) -> None:
    """Beside the sizes of the bends themselves, from where none fits to where all do."""
    bends = [(bend.radius, bend.transition) for bend in catalogue.bend]
    across = "max_height" if plane == "upright" else "max_width"
    least = {
        "max_length": 2.0 * min(float(bend_length(*bend)) for bend in bends),
        "max_extent": 2.0 * min(float(bend_depth(*bend)) for bend in bends),
        across: min(float(bend_width(*bend)) for bend in bends),
    }
    for key, needed in least.items():
        for share in (0.2, 0.999, 1.0, 1.001, 1.5, 2.0, 3.0, 3.2, 5.0):
            room = f"{share * needed!r} m"
            case = enquiry({"name": "a"}, plane=plane, **{key: room})
            told = any(fault.startswith(f"loop.{key}") for fault in cannot_work(case, catalogue))
            assert told == (getattr(case.loop, key) < needed), (key, share)


def test_a_bend_is_no_wider_than_long_and_reaches_out_half_of_that_at_most() -> None:
    """A chord is no longer than its curve: random bends, with transitions from none to the most."""
    random = np.random.default_rng(5)
    radius = random.uniform(0.05, 5.0, 400)
    transition = random.uniform(0.0, 1.0, 400).round(1) * np.pi * radius
    length = bend_length(radius, transition)
    assert np.all(bend_width(radius, transition) <= length)
    assert np.all(2.0 * bend_depth(radius, transition) <= length)


@pytest.mark.parametrize(
    ("at", "longest", "somewhere"),
    [
        (0.3, 1.4, True),  # 0.15 to 0.45 m on a section of a metre from the start
        (0.95, 1.2, True),  # 0.80 to 1.10 m on the last of three sections of 0.4 m
        (1.2, 1.4, True),  # 1.05 to 1.35 m on a metre behind 0.4 m, which ends where guide does
        (1.2, 1.39, False),  # where there is no such straight
        (1.3, 1.4, False),  # 1.15 to 1.45 m is beyond it
        (0.1, 1.4, False),  # from before the start
    ],
)
def test_a_place_is_clear_where_some_section_spans_it(
    at: float, longest: float, somewhere: bool
) -> None:
    sections = [SimpleNamespace(length=0.4), SimpleNamespace(length=1.0)]
    about: Any = SimpleNamespace(bend_clearance=0.15, catalogue=SimpleNamespace(straight=sections))
    assert _clear_somewhere(about, at, longest) == somewhere
