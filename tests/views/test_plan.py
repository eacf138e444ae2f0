"""The plan in characters shows what the answer holds, where it is, within 80 columns."""

from dataclasses import replace
from typing import Any

import pytest

from recommender.results.loop import LoopPlan, SupplyRun
from recommender.views.loop import loop_facts
from recommender.views.plan import loop_drawing, shortened


def plan_of(worked: Any) -> LoopPlan | None:
    choice = worked.answer.choice
    return choice.loop if choice else None


def test_is_narrow_and_shows_each_thing_once(worked: Any) -> None:
    loop = plan_of(worked)
    if loop is None:
        return
    picture, legend = loop_drawing(loop, worked.answer.choice.carriers).rsplit("\n\n", 1)
    lines = picture.splitlines()
    assert max(map(len, lines)) <= 80
    assert picture.count("△") + picture.count("▽") == len(loop.stations)
    assert picture.count("◆") == len(loop.feeds)
    # The last joint of a side ends it, and all joints lie apart.
    assert picture.count("┼") == len(loop.joints_m)
    assert picture.count("→") == picture.count("←") == 1
    signs = "■ carrier   ┼ joint   ◆ feed   △ station   "
    named = [f"{k} {shortened(place.name)}" for k, place in enumerate(loop.stations, start=1)]
    assert " ".join(legend.split()) == " ".join([*signs.split(), *named])
    numbers = [line for line in lines if line.split() and set(line.split()) <= set("123456789")]
    assert sorted("".join(numbers).split()) == [str(k + 1) for k in range(len(named))]


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_is_as_wide_as_there_is_room(worked_case: Any, columns: int) -> None:
    loop = plan_of(worked_case("crate"))
    drawing = loop_drawing(loop, 3, columns=columns)
    widest = max(map(len, drawing.splitlines()))
    assert min(columns, 80) - 8 <= widest <= columns


def test_long_names_are_cut_in_the_legend_alone(worked_case: Any) -> None:
    loop = plan_of(worked_case("crate"))
    name = "press both bearings into the housing"
    renamed = replace(loop, stations=(replace(loop.stations[0], name=name), *loop.stations[1:]))
    assert "1 press both bearings int…" in loop_drawing(renamed, 3)
    assert name in dict(loop_facts(renamed))["Stations"]


def test_carriers_are_as_long_as_they_are(worked_case: Any) -> None:
    """A carrier of a quarter of the straight covers a quarter of its columns."""
    loop = replace(plan_of(worked_case("crate")), carrier_m=0.25, joints_m=(0.0, 1.0))
    loop = replace(loop, stations=(replace(loop.stations[0], at_m=0.5),))
    picture = loop_drawing(loop, 1)
    front = next(line for line in picture.splitlines() if "■" in line)
    columns = front.rindex("┼") - front.index("┼")
    assert front.count("■") == pytest.approx(0.25 * columns, abs=1.0)
    middle = front.index("■") + 0.5 * front.count("■")
    assert middle == pytest.approx(front.index("┼") + 0.5 * columns, abs=1.0)


def test_several_supplies_are_told_apart(worked_case: Any) -> None:
    loop = plan_of(worked_case("crate"))
    # Eight sections: straight 1, bend 2 to 4, straight 5, bend 6 to 8.
    back = loop.joints_m[2]
    runs = (
        SupplyRun("dc-500", 2, 3, 1.0, back, 40.0, 500.0, 300.0, 1500.0),
        SupplyRun("dc-500", 5, 5, back, 1.0, 60.0, 500.0, 400.0, 1500.0),
    )
    shared = replace(loop, supplies=runs)
    picture = loop_drawing(shared, 3)
    assert picture.count("╋") == 3
    assert "╋ between two supplies" in picture
    told = dict(loop_facts(shared))["Supplies"].splitlines()
    assert told[0] == "dc-500 on sections 2 to 4: 40.0 W of 500 W, peak 300 W of 1,500 W"
    assert told[1].startswith("dc-500 on sections 5 to 1: ")
