"""Plans: what they show against the answer, and files read back by those who read such files."""

import importlib.util
import io
import pathlib
import re
import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import pairwise
from types import ModuleType
from typing import Any

import ezdxf
import matplotlib.image
import numpy as np
import pytest
from ezdxf import bbox
from matplotlib.path import Path
from numpy.typing import NDArray

from recommender.drawing.dxf import dxf_of
from recommender.drawing.line import Line
from recommender.drawing.plan import LAYERS, plan_of
from recommender.drawing.png import png_of
from recommender.drawing.shapes import Dimension, Drawing, Label, Stroke
from recommender.drawing.svg import svg_of
from recommender.units import written_in

SVG = "{http://www.w3.org/2000/svg}"


def _loops() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "loops", pathlib.Path(__file__).with_name("loops.py")
    )
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


LOOPS = _loops()
SHAPES: list[dict[str, Any]] = [
    {},
    {"base": 0.0},
    {"straights": 3, "positions": 2},
    {"plane": "upright", "load": (-0.06, 0.06, 0.03, 0.11)},
    {"radius": 0.48, "base": 0.39, "load": (-0.25, 0.25, -0.05, 0.3)},
    {"load": (-0.15, 0.25, 0.05, 0.35)},
]


def drawn(**shape: Any) -> Drawing:
    return _drawn(tuple(shape.items()))


@cache
def _drawn(shape: tuple[tuple[str, Any], ...]) -> Drawing:
    return plan_of(LOOPS.option(LOOPS.loop(**dict(shape))))


def filled(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points all over a rectangle, (points, 2)."""
    share = np.linspace(0.0, 1.0, 7)[:, None]
    first = corners[0] + share * (corners[1] - corners[0])
    across = corners[3] - corners[0]
    return np.concatenate([first + part * across for part in share.ravel()])


def beyond(points: NDArray[np.float64], polygon: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far points lie outside a polygon, negative inside."""
    start, way = polygon, np.roll(polygon, -1, axis=0) - polygon
    length = np.maximum((way**2).sum(axis=-1), 1e-18)
    share = ((points[:, None] - start) * way).sum(axis=-1) / length
    nearest = start + np.clip(share, 0.0, 1.0)[..., None] * way
    distance = np.linalg.norm(points[:, None] - nearest, axis=-1).min(axis=-1)
    return np.where(Path(polygon).contains_points(points), -distance, distance)


def extents(drawing: Drawing, *layers: str) -> NDArray[np.float64]:
    places = [
        np.array(shape.places)
        for layer in layers
        for shape in drawing.on(layer)
        if isinstance(shape, Stroke)
    ]
    return np.ptp(np.concatenate(places), axis=0)


class TestWhatIsSwept:
    @pytest.mark.parametrize("shape", SHAPES[:5])
    def test_it_takes_the_room_of_the_answer(self, shape: dict[str, Any]) -> None:
        loop = LOOPS.loop(**shape)
        room = loop.floor_extent_m, loop.floor_width_m
        drawing = drawn(**shape)
        np.testing.assert_allclose(extents(drawing, "floor"), room, atol=1e-9)
        swept = extents(drawing, "swept by loads", "swept by plates")
        # On plain arcs the answer's room is exact; a fiftieth of a millimetre is drawing.
        np.testing.assert_allclose(swept, room, atol=2e-5)

    @pytest.mark.parametrize("shape", [{"radius": 0.42, "transition": 0.2}, SHAPES[5]])
    def test_it_keeps_within_the_room_where_that_is_a_bound(self, shape: dict[str, Any]) -> None:
        loop, swept = LOOPS.loop(**shape), extents(drawn(**shape), "swept by loads")
        room = np.array([loop.floor_extent_m, loop.floor_width_m])
        assert (swept <= room + 1e-6).all()
        assert (swept > 0.97 * room).all()

    @pytest.mark.parametrize("shape", [*SHAPES, {"radius": 0.42, "transition": 0.2}])
    def test_no_carrier_is_ever_outside_of_it(self, shape: dict[str, Any]) -> None:
        loop = LOOPS.loop(**shape)
        line = Line(loop)
        for body in loop.outlines:
            outer, inner = line.swept(body)
            for place in np.linspace(0.0, loop.length_m, 61):
                points = filled(line.rectangle(place, body))
                assert (beyond(points, outer) < 1e-4).all()
                # In the middle of the ring there is no body either.
                assert (beyond(points, inner) > -1e-4).all()

    def test_a_carrier_stands_with_both_guided_points_on_the_line(self) -> None:
        loop = LOOPS.loop(radius=0.42, transition=0.2, base=0.3)
        line = Line(loop)
        poses = line.poses(np.linspace(0.0, loop.length_m, 61))
        track = line.at(np.linspace(0.0, loop.length_m, 40001))[0]
        for sign in (-0.5, 0.5):
            for point in poses.middle + sign * loop.base_m * poses.travel:
                assert np.linalg.norm(track - point, axis=-1).min() < 1e-4


class TestWhatIsDrawn:
    @pytest.mark.parametrize("shape", SHAPES)
    def test_everything_of_the_answer_is_there(self, shape: dict[str, Any]) -> None:
        loop, drawing = LOOPS.loop(**shape), drawn(**shape)
        count = Counter(shape.layer for shape in drawing.shapes)
        assert set(count) == set(LAYERS)
        assert count["section joints"] == count["section numbers"] == len(loop.ring)
        assert count["feeds"] == len(loop.feeds)
        assert count["plates"] == count["loads"] == 3
        assert count["station names"] == len(loop.stations)
        assert sum(s.closed for s in drawing.on("stations")) == len(loop.stations)
        numbers = [s.text for s in drawing.on("section numbers") if isinstance(s, Label)]
        assert numbers == [str(k + 1) for k in range(len(loop.ring))]

    def test_sections_follow_each_other_round_the_loop(self) -> None:
        loop = LOOPS.loop(straights=2)
        ring = loop.ring
        assert [section.number for section in ring] == list(range(1, 11))
        assert [section.shape for section in ring].count("bend") == 6
        assert ring[0].from_m == 0.0
        assert ring[-1].to_m == pytest.approx(loop.length_m)
        for first, second in pairwise(ring):
            assert first.to_m == pytest.approx(second.from_m)

    @pytest.mark.parametrize("shape", SHAPES)
    def test_dimensions_are_those_of_the_answer(self, shape: dict[str, Any]) -> None:
        loop, drawing = LOOPS.loop(**shape), drawn(**shape)
        found = Counter(s.text for s in drawing.on("dimensions") if isinstance(s, Dimension))
        lengths = [
            loop.straight_m,
            loop.straight_m,
            loop.width_m,
            loop.floor_width_m,
            loop.floor_extent_m,
            *(station.along_m for station in loop.stations),
        ]
        assert found == Counter(f"{1000.0 * length:,.0f}" for length in lengths)
        for one in drawing.on("dimensions"):
            assert isinstance(one, Dimension)
            index = 0 if one.along == "x" else 1
            measured = abs(one.second[index] - one.first[index])
            assert one.text == f"{1000.0 * measured:,.0f}"

    def test_an_upright_loop_has_its_upper_run_above(self) -> None:
        for plane, above in (("flat", 1.0), ("upright", -1.0)):
            (front, back, *_) = drawn(plane=plane).on("guide")
            assert isinstance(front, Stroke) and isinstance(back, Stroke)
            assert np.sign(back.places[0][1] - front.places[0][1]) == above

    def test_travel_goes_along_the_front_and_comes_back(self) -> None:
        line = Line(LOOPS.loop())
        way = np.diff(line.at(np.array([0.1, 0.2]))[0], axis=0)[0]
        assert way == pytest.approx((0.1, 0.0))
        back = line.back_start
        way = np.diff(line.at(np.array([back + 0.1, back + 0.2]))[0], axis=0)[0]
        assert way == pytest.approx((-0.1, 0.0))

    def test_a_station_lies_round_all_of_its_carriers(self) -> None:
        loop = LOOPS.loop(straights=3, positions=2)
        first, second = (s for s in drawn(straights=3, positions=2).on("stations") if s.closed)
        xs = [x for x, _ in first.places]
        middle = 0.6 - 0.5 * loop.spacing_m
        assert (min(xs) + max(xs)) / 2 == pytest.approx(middle)
        assert max(xs) - min(xs) == pytest.approx(loop.carrier_m + loop.spacing_m)
        xs = [x for x, _ in second.places]
        # On the back straight the travel goes to the left; 0.3 m is its own length.
        assert (min(xs) + max(xs)) / 2 == pytest.approx(loop.straight_m - 0.4)
        assert max(xs) - min(xs) == pytest.approx(0.3)
        texts = [s.text for s in drawn(straights=3, positions=2).on("station names")]
        long = 1000.0 * (loop.carrier_m + loop.spacing_m)
        assert texts == [f"1 load ({long:,.0f})", "2 unload (300)"]

    def test_inches_are_written_where_the_enquiry_is_in_inches(self) -> None:
        with written_in("us"):
            drawing = plan_of(LOOPS.option(LOOPS.loop()))
        texts = [s.text for s in drawing.on("dimensions") if isinstance(s, Dimension)]
        assert f"{LOOPS.loop().width_m / 0.0254:,.1f}" in texts

    def test_names_that_do_not_fit_are_told_below(self) -> None:
        stations = LOOPS.loop().stations
        crowded = replace(
            LOOPS.loop(),
            stations=tuple(
                replace(stations[0], name=f"press the bearing {k}", at_m=0.1 * k, along_m=0.1 * k)
                for k in range(1, 9)
            ),
        )
        drawing = plan_of(LOOPS.option(crowded))
        assert [s.text for s in drawing.on("station names") if isinstance(s, Label)] == [
            str(k) for k in range(1, 9)
        ]
        notes = " ".join(s.text for s in drawing.on("notes") if isinstance(s, Label))
        assert all(f"{k} press the bearing {k}" in notes for k in range(1, 9))

    def test_what_has_no_loop_is_refused(self) -> None:
        with pytest.raises(ValueError, match="no loop"):
            plan_of(replace(LOOPS.option(LOOPS.loop()), loop=None))
        with pytest.raises(ValueError, match="shape of its bends"):
            plan_of(LOOPS.option(replace(LOOPS.loop(), bend=None)))


class TestDxf:
    @pytest.mark.parametrize("shape", [*SHAPES, {"radius": 0.42, "transition": 0.2}])
    def test_it_reads_back_with_layers_entities_and_extents(self, shape: dict[str, Any]) -> None:
        loop, drawing = LOOPS.loop(**shape), drawn(**shape)
        document = ezdxf.read(io.StringIO(dxf_of(drawing)))
        assert not document.audit().has_errors
        assert document.units == ezdxf.units.MM
        assert set(LAYERS) <= {layer.dxf.name for layer in document.layers}
        space = document.modelspace()
        kinds = Counter((entity.dxftype(), entity.dxf.layer) for entity in space)
        assert kinds["DIMENSION", "dimensions"] == 5 + len(loop.stations)
        assert kinds["TEXT", "section numbers"] == len(loop.ring)
        assert kinds["LWPOLYLINE", "plates"] == kinds["LWPOLYLINE", "loads"] == 3
        arcs = kinds["ARC", "guide"]
        assert arcs == (0 if loop.bend.transition_m else 2)
        box = bbox.extents(space.query('*[layer=="floor"]'))
        room = 1000.0 * loop.floor_extent_m, 1000.0 * loop.floor_width_m
        assert (box.size.x, box.size.y) == pytest.approx(room, abs=1e-6)
        guide = bbox.extents(space.query('*[layer=="guide"]'))
        assert guide.size.y == pytest.approx(1000.0 * loop.width_m, abs=1e-3)
        # It begins where the front straight does.
        start = min(space.query('LWPOLYLINE[layer=="guide"]').first.get_points("xy"))
        assert start == pytest.approx((0.0, 0.0))

    def test_dimensions_measure_what_they_say(self) -> None:
        document = ezdxf.read(io.StringIO(dxf_of(drawn())))
        for one in document.modelspace().query("DIMENSION"):
            assert f"{one.get_measurement():,.0f}" == one.dxf.text

    def test_the_same_plan_gives_the_same_bytes(self) -> None:
        assert dxf_of(drawn()) == dxf_of(drawn())
        assert ezdxf.options.write_fixed_meta_data_for_testing is False

    def test_codes_in_names_are_text(self) -> None:
        plan = LOOPS.named(LOOPS.loop(), "100 %%u ^J \\P", "x")
        document = ezdxf.read(io.StringIO(dxf_of(plan_of(LOOPS.option(plan)))))
        texts = [e.plain_text() for e in document.modelspace().query("TEXT")]
        assert any("100 % %u ^J \\P" in text for text in texts)


class TestSvg:
    @pytest.mark.parametrize("shape", SHAPES)
    def test_it_parses_and_ids_are_unique(self, shape: dict[str, Any]) -> None:
        root = ET.fromstring(svg_of(drawn(**shape), "one"))
        ids = [element.get("id") for element in root.iter() if element.get("id")]
        assert len(ids) == len(set(ids)) > len(LAYERS)
        assert all(id_ is not None and id_.startswith("one-") for id_ in ids)
        assert root.get("role") == "img"
        labels = (root.get("aria-labelledby") or "").split()
        assert len(labels) == 2 and set(labels) <= set(ids)
        assert (root.findtext(f"{SVG}title") or "").startswith("Plan of the loop")
        assert "Stations: 1 load, " in (root.findtext(f"{SVG}desc") or "")

    def test_it_is_to_scale(self) -> None:
        loop = LOOPS.loop()
        root = ET.fromstring(svg_of(drawn()))
        floor = root.find(f"{SVG}g[@class='floor']/{SVG}path")
        assert floor is not None
        numbers = [float(n) for n in re.findall(r"[-0-9.]+", floor.get("d") or "")]
        assert np.ptp(numbers[::2]) == pytest.approx(1000.0 * loop.floor_extent_m, abs=0.02)
        assert np.ptp(numbers[1::2]) == pytest.approx(1000.0 * loop.floor_width_m, abs=0.02)

    def test_names_are_text(self) -> None:
        plan = LOOPS.named(LOOPS.loop(), "<script>x</script>", "a & b")
        text = svg_of(plan_of(LOOPS.option(plan)))
        root = ET.fromstring(text)
        assert not root.findall(f".//{SVG}script")
        assert "1 <script>x</script> (400)" in [element.text for element in root.iter(f"{SVG}text")]

    def test_it_asks_nothing_of_a_network(self) -> None:
        text = svg_of(drawn())
        assert re.findall(r"https?://[^\"]+", text) == ["http://www.w3.org/2000/svg"]


class TestPng:
    def test_it_is_a_picture_of_the_plan(self) -> None:
        data = png_of(drawn())
        picture = matplotlib.image.imread(io.BytesIO(data), format="png")
        high, wide = picture.shape[:2]
        drawing = drawn()
        ratio = (drawing.most[0] - drawing.least[0]) / (drawing.most[1] - drawing.least[1])
        assert wide / high == pytest.approx(ratio, rel=5e-3)
        assert max(wide, high) == 1800
        assert 0.02 < (picture[..., :3].min(axis=-1) < 0.9).mean() < 0.5

    def test_the_same_plan_gives_the_same_bytes(self) -> None:
        assert png_of(drawn()) == png_of(drawn())

    def test_dollars_in_names_are_text(self) -> None:
        plan = LOOPS.named(LOOPS.loop(), "$x^2 {", "$")
        assert png_of(plan_of(LOOPS.option(plan))).startswith(b"\x89PNG")
