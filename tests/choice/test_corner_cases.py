"""Corner cases of a real floor: what fits by a hair, what does not, and the reason given for it.

Every number that a reason must name is worked out here from the case and the catalogue by hand:
two carriers stand a plate and a gap apart, half a plate is clear of the bend, a bend of radius R is
π·R long. All cases are invented.
"""

import math
from collections.abc import Callable, Sequence
from typing import Any

import pytest

from recommender.choice.decision.decide import decide
from recommender.choice.decision.obstacle import longest_straight
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import screen
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.recommend import recommend
from recommender.results.answer import Answer, LoopPlan, OptionResult, Verdict
from tests.oracles.grid_search import cheapest

PLATE, GAP, RADIUS = 0.146, 0.012, 0.280
"""Of the carrier std-116, of the house's rules and of the bend arc-280 in the catalogue."""

SPACING = PLATE + GAP
CLEAR = PLATE / 2
BEND = math.pi * RADIUS

Thin = Callable[..., Catalogue]


@pytest.fixture(scope="module")
def thin(catalogue: Catalogue, altered: Any) -> Thin:
    """The catalogue with one carrier and a few bends and sections, to be quick."""

    def thinned(
        bends: Sequence[str] = ("arc-280",),
        sections: Sequence[float] = (0.4, 1.0),
        carrier: str = "std-116",
        **rules: float,
    ) -> Catalogue:
        straight = tuple(
            part.model_copy(update={"length": length})
            for part, length in zip(catalogue.straight, sections, strict=False)
        )
        thinner: Catalogue = altered(
            catalogue,
            carrier=(catalogue.carriers[carrier],),
            bend=tuple(catalogue.bends[id_] for id_ in bends),
            straight=straight,
            rules=catalogue.rules.model_copy(update=rules),
        )
        return thinner

    return thinned


def station(name: str, **asked: Any) -> dict[str, Any]:
    return {"name": name, "dwell": "1 s", **asked}


def enquiry(*stations: dict[str, Any], items: str = "10/min", **loop: Any) -> Case:
    return make_case(
        {
            "load": {"mass": "1 kg", "length": "100 mm", "width": "100 mm", "held": "clamped"},
            "rate": {"items": items},
            "loop": loop,
            "station": list(stations),
        },
        "corner",
    )


def only(answer: Answer) -> OptionResult:
    (option,) = answer.options
    return option


def refused(case: Case, catalogue: Catalogue, *, in_brief: bool = True) -> str:
    """The reason for which the only option is rejected; in brief without what would help."""
    answer = recommend(case, catalogue, in_brief=in_brief)
    option = only(answer)
    assert answer.status == "none" and answer.recommended is None
    assert option.verdict is Verdict.REJECTED and option.price is None
    return option.reason


def chosen(case: Case, catalogue: Catalogue) -> LoopPlan:
    """The loop of the recommended option, its stations in order and with their distances."""
    answer = recommend(case, catalogue, in_brief=True)
    option = answer.choice
    assert answer.status == "recommended" and option is not None and option.loop is not None
    assert option.verdict is Verdict.RECOMMENDED
    assert all(check.ok for check in option.checks)
    keeps(case, catalogue, option, option.loop)
    return option.loop


def keeps(case: Case, catalogue: Catalogue, option: OptionResult, loop: LoopPlan) -> None:
    """The order along the travel, every distance, and all of a batch on the straight."""
    carrier = catalogue.carriers[option.carrier]
    spacing = max(carrier.plate_length, case.load.length) + catalogue.rules.carrier_gap
    clear = 0.5 * max(carrier.plate_length, case.load.length)
    at = [place.at_m for place in loop.stations]
    assert [place.name for place in loop.stations] == [entry.name for entry in case.station]
    ways = [(here - at[k - 1]) % loop.length_m for k, here in enumerate(at)]
    # Once round and no more: the order is that of the travel.
    assert sum(ways) == pytest.approx(loop.length_m)
    for entry, place, way in zip(case.station, at, ways, strict=True):
        assert way >= max(entry.after, entry.positions * spacing) - 1e-6
        on_back = place >= 0.5 * loop.length_m
        along = place - on_back * 0.5 * loop.length_m
        assert along - (entry.positions - 1) * spacing >= clear - 1e-6
        assert along <= loop.straight_m - clear + 1e-6
        assert entry.side in ("any", "back" if on_back else "front")
        assert entry.at is None or along == pytest.approx(entry.at)


def at(loop: LoopPlan, name: str) -> float:
    return next(place.at_m for place in loop.stations if place.name == name)


def mm(length: float) -> str:
    return f"{1000 * length:.2f}".rstrip("0").rstrip(".") + " mm"


@pytest.mark.parametrize("turned", [False, True])
def test_two_fixed_stations_closer_than_a_carrier_is_long(thin: Thin, turned: bool) -> None:
    """Whichever comes first in the list, the way from the rear one to the one before it counts."""
    names = ["load", "unload"]
    rear, ahead = reversed(names) if turned else names
    fixed = {rear: "600 mm", ahead: "700 mm"}
    reason = refused(enquiry(*(station(n, at=fixed[n], side="front") for n in names)), thin())
    assert f"{rear} and {ahead} are fixed {mm(0.1)} apart along the travel" in reason
    assert f"their carriers need {mm(SPACING)}" in reason


@pytest.mark.parametrize(("spare", "fits"), [(-0.001, False), (0.0, True), (0.001, True)])
def test_a_hair_decides_between_two_fixed_stations(thin: Thin, spare: float, fits: bool) -> None:
    apart = SPACING + spare
    stations = [
        station("load", at="600 mm", side="front"),
        station("unload", at=mm(0.6 + apart), side="front"),
    ]
    if fits:
        loop = chosen(enquiry(*stations), thin())
        assert at(loop, "unload") - at(loop, "load") == pytest.approx(apart)
    else:
        reason = refused(enquiry(*stations), thin())
        assert f"fixed {mm(apart)} apart" in reason and f"need {mm(SPACING)}" in reason


def test_a_third_station_needs_its_room_between_two_fixed_ones(thin: Thin) -> None:
    def case(apart: float) -> Case:
        return enquiry(
            station("load", at="600 mm", side="front"),
            station("check"),
            station("unload", at=mm(0.6 + apart), side="front"),
        )

    reason = refused(case(0.3), thin())
    assert "load and unload, with check between them, are fixed 300 mm apart" in reason
    assert f"their carriers need {mm(2 * SPACING)}" in reason
    chosen(case(2 * SPACING + 0.01), thin())


def test_a_distance_asked_for_between_two_fixed_stations(thin: Thin) -> None:
    stations = [
        station("load", at="300 mm", side="front"),
        station("unload", at="900 mm", side="front", after="700 mm"),
    ]
    reason = refused(enquiry(*stations), thin())
    assert "load and unload are fixed 600 mm apart along the travel and 700 mm are asked" in reason


def batch(length: str, pieces: int) -> Case:
    fill = {**station("fill", positions=pieces), "dwell": "5 s"}
    return enquiry(station("load"), fill, max_length=length)


def test_a_batch_longer_than_any_straight(thin: Thin) -> None:
    """Twelve carriers: eleven spacings between the first and the last, half a plate beyond each."""
    needs = 11 * SPACING + PLATE
    # Straights are multiples of 0.2 m without 0.2 and 0.6, and 5 m of guide have room for 1.6 m.
    most = 0.2 * math.floor((2.5 - BEND) / 0.2)
    assert most < needs < most + 0.4
    reason = refused(batch("5 m", 12), thin())
    assert f"the 12 carriers that fill takes at once need {mm(needs)} of straight" in reason
    assert f"the longest has {mm(most)}" in reason
    reason = refused(batch("5 m", 12), thin(longest_loop=5.0))
    assert f"need {mm(needs)} of straight and the longest has {mm(most)}" in reason


def test_a_batch_that_fits_on_the_longest_loop_only(thin: Thin) -> None:
    """Ten carriers need 9 spacings and a plate, 1.568 m: 1.6 m will do, the longest in 5 m."""
    assert 1.4 < 9 * SPACING + PLATE < 1.6
    loop = chosen(batch("5 m", 10), thin())
    assert loop.straight_m == pytest.approx(1.6)
    assert loop.length_m + 2 * 0.2 > 5.0
    refused(batch("4.9 m", 10), thin())


def test_a_width_that_one_bend_meets(thin: Thin) -> None:
    """Between the straights of an arc lie 2·R, and half a plate of 104 mm reaches out beyond."""
    bends = {"arc-280": 0.280, "arc-480": 0.480}
    widths = {id_: 2 * radius + 0.104 for id_, radius in bends.items()}
    case = enquiry(station("load"), station("unload"), max_width="800 mm")
    answer = recommend(case, thin(bends=(*bends, "eased-420")), about=None)
    assert answer.choice is not None and answer.choice.bend == "arc-280"
    for option in answer.options:
        check = next(check for check in option.checks if check.id == "loop.width")
        assert check.limit == pytest.approx(0.8)
        assert check.demand >= widths.get(option.bend, 0.8)
        assert check.ok is (option.bend == "arc-280")
        if not check.ok:
            assert option.verdict is Verdict.REJECTED
            assert f"{1000 * check.demand:,.0f} mm of width" in option.reason
            assert f"{1000 * (check.demand - 0.8):.0f} mm more than is free" in option.reason
            assert option.bend in option.reason and option.conflict == ("loop.max_width",)


ON_A_JOINT = {"at": "1 m", "side": "front"}


def test_a_station_on_a_joint_of_every_make_up(thin: Thin, catalogue: Catalogue) -> None:
    whole_metres = thin(sections=(1.0,))
    reason = refused(
        enquiry(station("press", **ON_A_JOINT, clear_of_joints=True), station("unload")),
        whole_metres,
    )
    assert "press is fixed at 1000 mm, and every make-up of the straight has a joint" in reason
    assert f"within the {mm(CLEAR)} that it must be clear of" in reason
    loop = chosen(enquiry(station("press", **ON_A_JOINT), station("unload")), whole_metres)
    assert min(abs(joint - 1.0) for joint in loop.joints_m) < CLEAR


@pytest.mark.parametrize("clear", [True, False])
def test_another_order_of_the_sections_clears_a_station(thin: Thin, clear: bool) -> None:
    """Of 0.7 m and 1 m the long one comes first and has its joint at 1 m, unless that is too near.

    The second station needs the straight of 1.7 m, and the enquiry allows no longer one.
    """
    stations = [
        station("press", at="950 mm", side="front", clear_of_joints=clear),
        station("unload", at="1.5 m", side="front"),
    ]
    case = enquiry(*stations, max_length=f"{2 * (1.7 + BEND) + 0.01:.3f} m")
    loop = chosen(case, thin(sections=(0.7, 1.0)))
    assert loop.straight_m == pytest.approx(1.7)
    assert loop.front == (("s-400", "s-1000") if clear else ("s-1000", "s-400"))
    nearest = min(abs(joint - at(loop, "press")) for joint in loop.joints_m)
    assert nearest == pytest.approx(0.95 - 0.7 if clear else 1.0 - 0.95)
    assert (nearest >= CLEAR) is clear


def test_every_carrier_of_a_batch_is_clear_of_joints(thin: Thin) -> None:
    """At 0.87 m the first of two carriers is 170 mm behind a joint at 0.7 m, and the second 12 mm.

    With the long section first its joint is at 1 m, 130 mm before the first.
    """
    press = station("press", at="870 mm", side="front", clear_of_joints=True, positions=2)
    length = f"{2 * (1.7 + BEND) + 0.01:.3f} m"
    stations = [press, station("unload", at="1.5 m", side="front")]
    loop = chosen(enquiry(*stations, max_length=length), thin(sections=(0.7, 1.0)))
    assert loop.front == ("s-1000", "s-400")
    single = press | {"positions": 1, "at": "930 mm"}
    stations = [single, station("unload", at="1.5 m", side="front")]
    loop = chosen(enquiry(*stations, max_length=length), thin(sections=(0.7, 1.0)))
    assert loop.front == ("s-400", "s-1000")
    # A carrier behind the single one would stand 72 mm from that joint, 1 mm too near.
    both = single | {"positions": 2}
    assert 0.93 - SPACING - 0.7 < CLEAR < 0.93 - 0.7
    stations = [both, station("unload", at="1.5 m", side="front")]
    reason = refused(enquiry(*stations, max_length=length), thin(sections=(0.7, 1.0)))
    assert f"no sections in a row leave {mm(CLEAR)} to either side of press without" in reason


def test_a_section_that_no_carrier_fits_on_between_its_joints(thin: Thin) -> None:
    press = station("press", clear_of_joints=True)
    case = enquiry(press, station("unload"), max_length="3 m")
    reason = refused(case, thin(sections=(0.1, 0.14), longest_loop=3.0))
    assert f"press must have no joint within {mm(CLEAR)} to either side" in reason
    assert "the longest section has 140 mm" in reason


def test_distances_too_long_for_one_straight_are_kept_through_the_bends(thin: Thin) -> None:
    """Each of 1.85 m: within 6 m of guide no straight has room for it between two stations."""
    longest = 0.2 * math.floor((3.0 - BEND) / 0.2)
    case = enquiry(
        *(station(name, after="1.85 m") for name in ("load", "press", "unload")), max_length="6 m"
    )
    assert longest - PLATE < 1.855 and 2 * (longest + BEND) > 3 * 1.85
    loop = chosen(case, thin())
    half = 0.5 * loop.length_m
    sides = {place.name: place.at_m >= half for place in loop.stations}
    assert len(set(sides.values())) == 2


def test_distances_longer_than_the_longest_loop(thin: Thin) -> None:
    case = enquiry(station("load", after="13 m"), station("unload", after="13 m"))
    reason = refused(case, thin())
    # Of 24 m two bends leave 11.12 m a side, and sections make 11 m of them.
    assert "add up to 26 m" in reason
    assert f"the longest loop has {2 * (11 + BEND):.3f} m" in reason


def test_a_station_fixed_too_near_to_the_bend(thin: Thin) -> None:
    stations = [station("load", at="60 mm", side="front"), station("unload")]
    reason = refused(enquiry(*stations), thin(), in_brief=False)
    assert "load is fixed 60 mm from the bend" in reason
    assert f"half a carrier with its load needs {mm(CLEAR)}" in reason
    assert "Would work without the place of load." in reason
    stations[0]["at"] = mm(CLEAR)
    assert at(chosen(enquiry(*stations), thin()), "load") == pytest.approx(CLEAR)


def test_a_batch_fixed_too_near_to_the_bend(thin: Thin) -> None:
    needs = CLEAR + 2 * SPACING
    fill = station("fill", at="300 mm", side="front", positions=3)
    reason = refused(enquiry(fill, station("unload")), thin())
    assert f"fill is fixed 300 mm from the bend, and its 3 carriers need {mm(needs)}" in reason
    chosen(enquiry({**fill, "at": mm(needs)}, station("unload")), thin())


def test_a_station_fixed_beyond_the_longest_straight(thin: Thin) -> None:
    far = [station("load", at="15 m", side="front"), station("unload")]
    reason = refused(enquiry(*far), thin())
    assert "load is fixed at 15 m and the longest straight of 11 m" in reason
    assert f"room for a carrier up to {11 - CLEAR:.3f} m" in reason


def test_a_station_fixed_beyond_what_the_enquiry_allows(thin: Thin) -> None:
    """5 m and half a plate need a straight of 5.2 m, and 8 m of guide have room for 3 m."""
    shortest, most = 2 * (5.2 + BEND), 0.2 * math.floor((4.0 - BEND) / 0.2)
    far = [station("load", at="5 m", side="front"), station("unload")]
    reason = refused(enquiry(*far, max_length="8 m"), thin(), in_brief=False)
    assert f"has {shortest:.2f} m of guide, {shortest - 8:.2f} m more than there may be" in reason
    assert f"load is fixed at 5 m and the longest straight of {most:.0f} m" in reason
    assert f"up to {most - CLEAR:.3f} m" in reason
    assert f"{shortest:.1f} m of guide or more" in reason


def test_stations_keep_their_order_along_the_travel(thin: Thin) -> None:
    """The first of the list may stand anywhere; only the order round the loop is asked for."""
    names = ["load", "press", "check", "unload"]
    sides = ["back", "back", "front", "any"]
    fixed = {"press": "300 mm", "check": "800 mm"}
    case = enquiry(
        *(
            station(name, side=side, **({"at": fixed[name]} if name in fixed else {}))
            for name, side in zip(names, sides, strict=True)
        )
    )
    loop = chosen(case, thin())
    along = sorted(loop.stations, key=lambda place: place.at_m)
    first = [place.name for place in along].index("load")
    assert [place.name for place in (*along[first:], *along[:first])] == names


def test_fixed_places_against_the_order_of_the_travel(thin: Thin) -> None:
    places = {"load": "300 mm", "press": "1.5 m", "unload": "900 mm"}
    reason = refused(enquiry(*(station(n, at=p, side="front") for n, p in places.items())), thin())
    assert "on the front they would be met as load at 300 mm, then press at 1500 mm" in reason
    assert "then unload at 900 mm, and the travel leads the other way" in reason


def test_sides_in_an_order_that_no_loop_has(thin: Thin) -> None:
    sides = {"load": "front", "press": "back", "check": "front", "unload": "back"}
    reason = refused(enquiry(*(station(n, side=side) for n, side in sides.items())), thin())
    row = "load (front), press (back), check (front), unload (back)"
    assert f"in the order of the travel, {row} change sides 4 times" in reason


def test_a_loop_shorter_than_its_bends(thin: Thin) -> None:
    reason = refused(enquiry(station("load"), station("unload"), max_length="1.5 m"), thin())
    assert f"its bends alone have {1000 * 2 * BEND:,.0f} mm" in reason


def test_the_longest_straight_is_one_that_sections_make(thin: Thin) -> None:
    """Tried by every number of pieces of each."""
    for sections, most in (((0.4, 1.0), 2.99), ((0.3, 0.7), 1.15), ((0.35, 0.8), 3.9)):
        catalogue = thin(sections=sections)
        for pieces in range(1, 9):
            expected = max(
                a * sections[0] + b * sections[1]
                for a in range(pieces + 1)
                for b in range(pieces + 1 - a)
                if a * sections[0] + b * sections[1] <= most + 1e-9
            )
            assert longest_straight(catalogue, most, pieces) == pytest.approx(expected)


def test_places_that_were_not_tried_first_are_found(thin: Thin) -> None:
    """At an exchange as slow as this the few places far enough from the bends decide."""
    catalogue = thin(sections=(0.4, 0.5), carrier="bs-228")
    table = {
        "load": {"mass": "1.1 kg", "length": "60 mm", "width": "80 mm", "held": "clamped"},
        "limits": {"acceleration": "0.82 m/s^2"},
        "loop": {"max_length": "4.136 m"},
        "rate": {"items": "19.48/min", "reserve": 0.0},
        "station": [
            {"name": "load", "dwell": "1.5 s", "settling": "100 ms", "after": "1.49 m"},
            {"name": "unload", "dwell": "300 ms", "settling": "100 ms", "side": "front"},
        ],
    }
    case = make_case(table, "tight")
    (option,) = list_options(case, catalogue)
    (entry,) = screen([option], case, catalogue, Grid())
    assert len(entry.holding)
    assert not cheapest(entry, PriceBook(case, catalogue, 4.136))
    decision = decide(case, catalogue)
    assert decision.chosen is not None and not decision.chosen.failures
    assert decision.chosen.takt <= 60 / 19.48 * (1 + 1e-9)
    chosen(case, catalogue)
