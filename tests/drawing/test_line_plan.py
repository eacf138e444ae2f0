"""The plan of a line against what the answer says: floors, gaps, one scale, handovers."""

import io
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise
from math import dist
from types import SimpleNamespace
from typing import Any

import ezdxf
import pytest

from recommender.drawing.dxf import dxf_of
from recommender.drawing.line_plan import LINE_LAYERS, line_plan_of
from recommender.drawing.plan import plan_of
from recommender.drawing.png import png_of
from recommender.drawing.shapes import Dimension, Drawing, Label, Stroke
from recommender.drawing.svg import svg_of
from recommender.lines.result import HandoverResult
from tests.drawing import loops as LOOPS  # noqa: N812 - a module of shapes

GAP = 0.6


def answer(*, positions: int = 1, swap: bool = False, gap: float = GAP) -> Any:
    """An answer that holds no more than a plan is drawn from: a short loop and a long one."""
    short, long = LOOPS.loop(), LOOPS.loop(straights=3)
    stations = long.stations
    if positions == 2:
        first = replace(stations[0], name="load 1")
        second = replace(stations[0], name="load 2", at_m=1.8, along_m=1.8)
        stations = (first, second, *stations[1:])
    long = replace(long, stations=stations)
    loops = [("units", short), ("boxes", long)]
    handover = HandoverResult(
        "unload", "units.unload", "boxes.load", 12, "direct", 1.0, 120.0, 10.0, positions
    )
    return SimpleNamespace(
        title="A line",
        floor=SimpleNamespace(gap_m=gap),
        loops=[
            SimpleNamespace(name=name, chosen=SimpleNamespace(loop=plan, carriers=3))
            for name, plan in (loops[::-1] if swap else loops)
        ],
        handovers=[handover],
    )


def on(drawing: Drawing, layer: str) -> list[Any]:
    return [shape for shape in drawing.shapes if shape.layer == layer]


def boxes_of(drawing: Drawing) -> list[tuple[float, float, float, float]]:
    """Left, low, right and high of each loop's floor, the lowest first."""
    found = []
    for stroke in on(drawing, "floor"):
        xs, ys = zip(*stroke.places, strict=True)
        found.append((min(xs), min(ys), max(xs), max(ys)))
    return sorted(found, key=lambda box: box[1])


@pytest.mark.parametrize("swap", [False, True])
def test_floors_lie_side_by_side_with_the_gap_between(swap: bool) -> None:
    asked = answer(swap=swap)
    drawing = line_plan_of(asked)
    first, second = boxes_of(drawing)
    assert second[1] - first[3] == pytest.approx(GAP)
    for box, loop in zip((first, second), asked.loops, strict=True):
        plan = loop.chosen.loop
        assert box[2] - box[0] == pytest.approx(plan.floor_extent_m)
        assert box[3] - box[1] == pytest.approx(plan.floor_width_m)
    # Neither sticks out beyond the longer one.
    longest = max(loop.chosen.loop.floor_extent_m for loop in asked.loops)
    left, right = min(first[0], second[0]), max(first[2], second[2])
    assert right - left == pytest.approx(longest)


def test_dimensions_are_what_they_say() -> None:
    drawing = line_plan_of(answer())
    dimensions = on(drawing, "dimensions")
    assert len(dimensions) == 5
    for entry in dimensions:
        assert isinstance(entry, Dimension)
        index = 0 if entry.along == "x" else 1
        long = abs(entry.second[index] - entry.first[index])
        assert float(entry.text.replace(",", "")) == pytest.approx(1000.0 * long, abs=0.51)


def lengths(shapes: list[Any]) -> list[float]:
    """How long each stroke is, once round if it is closed."""
    found = []
    for shape in shapes:
        places = [*shape.places, *(shape.places[:1] if shape.closed else ())]
        found.append(sum(dist(a, b) for a, b in pairwise(places)))
    return sorted(found)


@pytest.mark.parametrize("layer", ["plates", "loads", "section joints", "feeds", "swept by loads"])
def test_each_loop_is_drawn_as_on_its_own_plan(layer: str) -> None:
    """Turned half round or not: the same strokes, to the same scale."""
    asked = answer()
    own = [plan_of(LOOPS.option(loop.chosen.loop)) for loop in asked.loops]
    expected = sorted(length for drawing in own for length in lengths(on(drawing, layer)))
    found = lengths(on(line_plan_of(asked), layer))
    if layer in ("section joints", "feeds"):
        # Marks are as large as the letters, which are the same on the whole sheet.
        assert len(found) == len(expected)
    else:
        assert found == pytest.approx(expected, rel=1e-12)


def test_the_handover_leads_from_station_to_station() -> None:
    drawing = line_plan_of(answer())
    line, head = on(drawing, "handovers")[:2]
    (x0, y0), (x1, y1) = line.places
    first, second = boxes_of(drawing)
    assert first[3] < y0 < y1 < second[1]
    assert x0 == pytest.approx(x1)
    assert head.closed and head.places[0] == (x1, y1)
    (label,) = [shape for shape in on(drawing, "handovers") if isinstance(shape, Label)]
    assert label.text == "unload: 12 to 1, direct"


def test_a_handover_leads_to_each_of_its_places() -> None:
    drawing = line_plan_of(answer(positions=2))
    arrows = [s for s in on(drawing, "handovers") if isinstance(s, Stroke) and not s.closed]
    assert len(arrows) == 2
    assert arrows[0].places[0] == arrows[1].places[0]
    assert arrows[0].places[1] != arrows[1].places[1]
    assert any("2 places in turn" in s.text for s in drawing.shapes if isinstance(s, Label))


@pytest.mark.parametrize("gap", [0.05, 0.6, 3.0])
def test_all_lies_within_the_sheet(gap: float) -> None:
    drawing = line_plan_of(answer(gap=gap))
    (x0, y0), (x1, y1) = drawing.least, drawing.most
    for shape in drawing.shapes:
        if isinstance(shape, Stroke):
            assert all(x0 <= x <= x1 and y0 <= y <= y1 for x, y in shape.places)


def test_writers_write_it() -> None:
    drawing = line_plan_of(answer())
    root = ET.fromstring(svg_of(drawing))
    groups = {group.get("class") for group in root.iter() if group.get("class")}
    assert {"handovers", "loop-names"} <= groups
    document = ezdxf.read(io.StringIO(dxf_of(drawing)))
    assert set(LINE_LAYERS) <= {layer.dxf.name for layer in document.layers}
    assert png_of(drawing).startswith(b"\x89PNG")


def test_without_a_line_there_is_no_plan() -> None:
    asked = answer()
    asked.floor = None
    with pytest.raises(ValueError, match="recommends no line"):
        line_plan_of(asked)
