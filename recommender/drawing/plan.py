"""The plan of a loop: sections, joints, feeds, stations, carriers, what they sweep, dimensions."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice, pairwise
from math import sqrt
from typing import Final

import numpy as np

from recommender import units
from recommender.drawing.line import Line, Points
from recommender.drawing.shapes import Anchor, Bow, Dimension, Drawing, Label, Place, Shape, Stroke
from recommender.results.answer import OptionResult
from recommender.results.loop import LoopPlan, StationPlace
from recommender.shown import shown

LAYERS: Final = (
    "floor",
    "swept by loads",
    "swept by plates",
    "loads",
    "plates",
    "guide",
    "section joints",
    "section numbers",
    "feeds",
    "stations",
    "station names",
    "direction of travel",
    "dimensions",
    "scale bar",
    "notes",
)
"""The layers, the lowest first."""

_LONGEST_NAME: Final = 24
_NAMES_IN_ROW: Final = 6
_SMALLEST, _LARGEST = 1.0 / 90.0, 1.0 / 42.0
"""Height of letters as a share of the loop's longer side."""
_PER_WIDTH: Final = 1.0 / 14.0
_BARS: Final = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)


def plan_of(option: OptionResult, *, notes: bool = True) -> Drawing:
    """The plan of a configuration, from what the answer holds about it and nothing else.

    A loop that lies flat is seen from above, its front straight below, as one stands before it; an
    upright one from the front, its upper run above. Carriers are drawn evenly along the guide, one
    of them at the first station.

    Parameters
    ----------
    option : OptionResult
        With a loop and carriers.
    notes : bool
        Whether the drawing itself says what its lines and numbers are, as `plan_notes` does.

    Returns
    -------
    Drawing

    Raises
    ------
    ValueError
        If the option has no loop, or the answer does not hold the shape of its bends.
    """
    if option.loop is None or not option.carriers:
        raise ValueError(f"{option.id} has no loop that could be drawn")
    return _Plan(option.loop, option.carriers, notes).drawing(option.id)


@dataclass(frozen=True)
class LoopShapes:
    """A loop as a part of a drawing of several: its shapes, its floor, and its stations.

    ``stations`` holds for each name the place beyond the station's mark, and which way it faces,
    1 for upward.
    """

    shapes: tuple[Shape, ...]
    corners: tuple[Place, Place]
    stations: Mapping[str, tuple[Place, float]]
    size: float


def loop_shapes(loop: LoopPlan, carriers: int, size: float | None = None) -> LoopShapes:
    """A loop without dimensions and notes, letters of a size or of its own, m."""
    plan = _Plan(loop, carriers, notes=False)
    plan.size = plan.size if size is None else size
    return LoopShapes(
        tuple(plan.body()), plan.floor_corners(), dict(plan.station_marks()), plan.size
    )


def plan_notes(loop: LoopPlan) -> tuple[str, ...]:
    """What the lines and numbers of a plan are."""
    unit = "Millimetres" if units.shown("m", 1.0) is None else "Inches"
    seen = "seen from above"
    if loop.plane == "upright":
        seen = "seen from the front, upper run above"
    return (
        f"{unit}; {seen}; places from the start of each straight, on the guide centre line.",
        "Numbers inside: sections; in brackets: length of a station. Diamonds: feeds.",
        "Thin dashed: what plates and loads sweep. Outer rectangle: room with loads.",
    )


class _Plan:
    def __init__(self, loop: LoopPlan, carriers: int, notes: bool) -> None:
        self.loop, self.carriers, self.line, self.notes = loop, carriers, Line(loop), notes
        self.up = self.line.up
        long = max(loop.floor_extent_m, loop.floor_width_m)
        size = min(long * _LARGEST, loop.floor_width_m * _PER_WIDTH)
        self.size = max(size, long * _SMALLEST)
        self.beyond = 0.5 * (loop.floor_extent_m - loop.straight_m)
        self.outside = 0.5 * (loop.floor_width_m - loop.width_m)
        self.inside = max(-body.inner_m for body in loop.outlines)
        radius = self.line.bend.radius_m
        self.dip = radius - sqrt(max(radius**2 - 0.25 * loop.base_m**2, 0.0))

    def drawing(self, id_: str) -> Drawing:
        shapes = tuple(self._shapes())
        order = {layer: number for number, layer in enumerate(LAYERS)}
        shapes = tuple(sorted(shapes, key=lambda shape: order[shape.layer]))
        least, most = extents(shapes)
        margin = self.size
        return Drawing(
            title=f"Plan of the loop {id_}",
            description=self._description(),
            shapes=shapes,
            least=(least[0] - margin, least[1] - margin),
            most=(most[0] + margin, most[1] + margin),
            layers=LAYERS,
        )

    def _description(self) -> str:
        loop = self.loop
        seen = "from the front, its upper run above" if self.up < 0 else "from above"
        names = "; ".join(
            f"{number} {_name(entry)}, {drawn_length(self._long(entry))} long, at"
            f" {_metres(entry.along_m)} of the {self._side(entry)}"
            for number, entry in enumerate(loop.stations, start=1)
        )
        return (
            f"A loop seen {seen}: {len(loop.ring)} sections, {_metres(loop.length_m)} of guide,"
            f" {drawn_length(loop.width_m)} between the straights; with loads"
            f" {drawn_length(loop.floor_width_m)} by {drawn_length(loop.floor_extent_m)}."
            f" Carriers: {self.carriers}. Stations: {names}."
        )

    def _side(self, entry: StationPlace) -> str:
        if self.up > 0:
            return f"{entry.side} straight"
        return "upper run" if entry.side == "front" else "lower run"

    def _shapes(self) -> Iterator[Shape]:
        yield from self.body()
        yield from self._dimensions()
        yield from self._foot()

    def body(self) -> Iterator[Shape]:
        """All but dimensions, scale bar and notes."""
        yield from self._floor()
        yield from self._bodies()
        yield from self._guide()
        yield from self._sections()
        yield from self._feeds()
        yield from self._stations()
        yield from self._direction()

    def station_marks(self) -> Iterator[tuple[str, tuple[Place, float]]]:
        """For each station by its name the place beyond its mark, and whether that is upward."""
        for entry in self.loop.stations:
            out, along = self._out(entry), self._along(entry)
            place = along(entry.at_m), out(self.outside + 1.1 * self.size)
            yield entry.name, (place, out.way)

    def _floor(self) -> Iterator[Shape]:
        (x0, y0), (x1, y1) = self.floor_corners()
        yield Stroke("floor", ((x0, y0), (x1, y0), (x1, y1), (x0, y1)), closed=True)

    def floor_corners(self) -> tuple[Place, Place]:
        """The rectangle of floor, or of the wall, that the loop takes with its loads."""
        first, last = sorted((0.0, self.up * self.loop.width_m))
        return (
            (-self.beyond, first - self.outside),
            (self.loop.straight_m + self.beyond, last + self.outside),
        )

    def _bodies(self) -> Iterator[Shape]:
        spread = self.loop.length_m / self.carriers
        places = [self.loop.stations[0].at_m + k * spread for k in range(self.carriers)]
        for body in self.loop.outlines:
            layer = "plates" if body.what == "plate" else "loads"
            for edge in self.line.swept(body):
                yield Stroke(f"swept by {layer}", _places(edge), closed=True)
            for place in places:
                yield Stroke(layer, _places(self.line.rectangle(place, body)), closed=True)

    def _guide(self) -> Iterator[Shape]:
        loop, bend, up = self.loop, self.line.bend, self.up
        for y in (0.0, up * loop.width_m):
            yield Stroke("guide", ((0.0, y), (loop.straight_m, y)))
        if bend.transition_m == 0.0:
            middle = 0.5 * up * loop.width_m
            yield Bow("guide", (loop.straight_m, middle), bend.radius_m, -90.0, 90.0)
            yield Bow("guide", (0.0, middle), bend.radius_m, 90.0, 270.0)
            return
        steps = max(round(bend.length_m / 0.005), 90)
        for start in (loop.straight_m, self.line.back_start + loop.straight_m):
            # Short of the end by nothing that can be seen, so that it does not begin anew.
            along = start + np.linspace(0.0, bend.length_m * (1.0 - 1e-12), steps)
            yield Stroke("guide", _places(self.line.at(along)[0]))

    def _sections(self) -> Iterator[Shape]:
        for section in self.loop.ring:
            ends = [self.line.aside(section.from_m, side * 0.7 * self.size) for side in (-1, 1)]
            yield Stroke("section joints", tuple(ends))
            inside = self.inside + (self.dip + 0.4 * self.size) * (section.shape == "bend")
            place = self.line.aside(section.middle_m, -inside - 0.9 * self.size)
            yield Label("section numbers", place, str(section.number), self.size)

    def _feeds(self) -> Iterator[Shape]:
        half = 0.45 * self.size
        for feed in self.loop.feeds:
            x, y = self.line.aside(feed.at_m, 0.0)
            corners = ((x - half, y), (x, y - half), (x + half, y), (x, y + half))
            yield Stroke("feeds", corners, closed=True)

    def _stations(self) -> Iterator[Shape]:
        for number, entry in enumerate(self.loop.stations, start=1):
            length = self._long(entry)
            middle = entry.at_m - 0.5 * self._row(entry)
            near, far = self.outside + 0.4 * self.size, self.outside + 1.1 * self.size
            first, last = middle - 0.5 * length, middle + 0.5 * length
            out, along = self._out(entry), self._along(entry)
            corners = ((first, near), (last, near), (last, far), (first, far))
            yield Stroke("stations", tuple((along(s), out(d)) for s, d in corners), closed=True)
            for k in range(entry.positions):
                x = along(entry.at_m - k * self.loop.spacing_m)
                yield Stroke("stations", ((x, out(0.0)), (x, out(near))))
            place = (along(middle), out(far + 0.9 * self.size))
            text = self._told(number, entry) if self._named else str(number)
            yield Label("station names", place, text, self.size)

    def _row(self, entry: StationPlace) -> float:
        """From the last to the first of the carriers that stand at a station, m."""
        return (entry.positions - 1) * self.loop.spacing_m

    def _long(self, entry: StationPlace) -> float:
        """Length of a station, m; as its carriers, where the enquiry gives none."""
        return entry.length_m or self.loop.carrier_m + self._row(entry)

    def _told(self, number: int, entry: StationPlace) -> str:
        """A station by its number, its name and its length."""
        return f"{number} {_name(entry)} ({drawn_length(self._long(entry), bare=True)})"

    @cached_property
    def _named(self) -> bool:
        """Whether there is room for the names of all stations beside their numbers."""
        for side in ("front", "back"):
            row = sorted((s for s in self.loop.stations if s.side == side), key=lambda s: s.along_m)
            for first, second in pairwise(row):
                letters = 0.5 * (len(self._told(9, first)) + len(self._told(9, second))) + 2.0
                if letters * _LETTER * self.size > second.along_m - first.along_m:
                    return False
        return True

    def _out(self, entry: StationPlace) -> "_Across":
        return (
            _Across(0.0, -self.up)
            if entry.side == "front"
            else _Across(self.up * self.loop.width_m, self.up)
        )

    def _along(self, entry: StationPlace) -> "_Across":
        if entry.side == "front":
            return _Across(0.0, 1.0)
        return _Across(self.line.back_start + self.loop.straight_m, -1.0)

    def _direction(self) -> Iterator[Shape]:
        """An arrow inside each straight."""
        long, tip = 3.0 * self.size, 0.6 * self.size
        middle = 0.5 * self.loop.straight_m
        off = min(self.inside + 2.6 * self.size, 0.42 * self.loop.width_m)
        for y, way in (
            (self.up * off, 1.0),
            (self.up * (self.loop.width_m - off), -1.0),
        ):
            end = middle + way * 0.5 * long
            yield Stroke("direction of travel", ((middle - way * 0.5 * long, y), (end, y)))
            yield Stroke(
                "direction of travel",
                ((end, y), (end - way * tip, y + 0.4 * tip), (end - way * tip, y - 0.4 * tip)),
                closed=True,
            )

    def _dimensions(self) -> Iterator[Shape]:
        loop = self.loop
        (x0, y0), (x1, y1) = self.floor_corners()
        for side in ("front", "back"):
            yield from self._station_places(side)
        rows = sum(entry.side == self._below for entry in loop.stations)
        below = y0 - (4.0 + 1.8 * (rows + 1)) * self.size
        yield self._dimension((x0, y0), (x1, y0), "x", below)
        yield self._dimension((x1, y0), (x1, y1), "y", x1 + 2.2 * self.size)
        across = 0.5 * loop.straight_m + max(3.2 * self.size, 0.12 * loop.straight_m)
        straights = ((across, 0.0), (across, self.up * loop.width_m))
        yield self._dimension(*straights, "y", across)

    @property
    def _below(self) -> str:
        return "front" if self.up > 0 else "back"

    def _station_places(self, side: str) -> Iterator[Shape]:
        """How far stations stand from the start of their straight, and how long that is."""
        loop, row = self.loop, 0
        across = _Across(0.0, -self.up)
        start = 0.0
        if side == "back":
            across, start = _Across(self.up * loop.width_m, self.up), loop.straight_m
        way = 1.0 if side == "front" else -1.0
        level = self.outside + 4.0 * self.size
        stations = sorted((s for s in loop.stations if s.side == side), key=lambda s: s.along_m)
        for entry in stations:
            at = across(level + 1.8 * row * self.size)
            # From beyond the names, which its own lines would strike through.
            near = across(self.outside + 2.6 * self.size)
            ends = ((start, near), (start + way * entry.along_m, near))
            yield self._dimension(*ends, "x", at)
            row += 1
        ends = ((start, across(0.0)), (start + way * loop.straight_m, across(0.0)))
        yield self._dimension(*ends, "x", across(level + 1.8 * row * self.size))

    def _dimension(self, first: Place, second: Place, along: str, at: float) -> Dimension:
        way = "x" if along == "x" else "y"
        index = 0 if way == "x" else 1
        first, second = sorted((first, second), key=lambda place: place[index])
        text = drawn_length(abs(second[index] - first[index]), bare=True)
        return Dimension(
            "dimensions", first, second, "x" if way == "x" else "y", at, text, self.size
        )

    def _foot(self) -> Iterator[Shape]:
        """A scale bar, and what the numbers are."""
        (x0, y0), _ = self.floor_corners()
        rows = sum(entry.side == self._below for entry in self.loop.stations)
        y = y0 - (7.2 + 1.8 * (rows + 1)) * self.size
        whole = self.loop.floor_extent_m
        bar = max((b for b in self._bars() if b <= 0.3 * whole), default=0.3 * whole)
        tick = 0.35 * self.size
        yield Stroke("scale bar", ((x0, y), (x0 + bar, y)))
        for share in (0.0, 0.5, 1.0):
            x = x0 + share * bar
            yield Stroke("scale bar", ((x, y - tick), (x, y + tick)))
        yield Label("scale bar", (x0 + bar + self.size, y), drawn_length(bar), self.size, "start")
        for number, line in enumerate(self._notes()):
            place = (x0, y - (1.9 + 1.5 * number) * self.size)
            yield Label("notes", place, line, 0.85 * self.size, "start")

    def _bars(self) -> Sequence[float]:
        if units.shown("m", 1.0) is None:
            return _BARS
        return tuple(0.3048 * feet for feet in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0))

    def _notes(self) -> Iterator[str]:
        if self.notes:
            yield from plan_notes(self.loop)
        if not self._named:
            numbered = enumerate(self.loop.stations, start=1)
            names = [self._told(number, entry) for number, entry in numbered]
            yield from (f"Stations: {', '.join(some)}" for some in _batched(names))


class _Across:
    """From a distance off a line to the coordinate in the drawing."""

    def __init__(self, start: float, way: float) -> None:
        self.start, self.way = start, way

    def __call__(self, distance: float) -> float:
        return self.start + self.way * distance


def _batched(names: Iterable[str]) -> Iterator[list[str]]:
    """Names, so many to a row."""
    left = iter(names)
    while row := list(islice(left, _NAMES_IN_ROW)):
        yield row


def _name(entry: StationPlace) -> str:
    return shown(entry.name, _LONGEST_NAME)


def _places(points: Points) -> tuple[Place, ...]:
    return tuple((float(x), float(y)) for x, y in points)


def drawn_length(metres: float, *, bare: bool = False) -> str:
    """A length as a drawing has it: whole millimetres, or tenths of an inch.

    Examples
    --------
    >>> drawn_length(1.2853), drawn_length(0.56, bare=True)
    ('1,285 mm', '560')
    """
    if units.shown("m", 1.0) is None:
        return f"{1000.0 * metres:,.0f}" if bare else f"{1000.0 * metres:,.0f} mm"
    return f"{metres / 0.0254:,.1f}" if bare else f"{metres / 0.0254:,.1f} in"


def _metres(metres: float) -> str:
    other = units.shown("m", 10.0)
    return f"{metres:.2f} m" if other is None else f"{metres * other.per_si:.2f} {other.unit}"


_WIDTHS: Final[dict[Anchor, tuple[float, float]]] = {
    "start": (0.0, 1.0),
    "middle": (-0.5, 0.5),
    "end": (-1.0, 0.0),
}
_LETTER: Final = 0.56
"""Width of a letter as a share of its height, on average."""


def extents(shapes: Sequence[Shape]) -> tuple[Place, Place]:
    """Room that shapes take, the width of texts by their number of letters."""
    xs: list[float] = []
    ys: list[float] = []
    for shape in shapes:
        for x, y in _corners(shape):
            xs.append(x)
            ys.append(y)
    return (min(xs), min(ys)), (max(xs), max(ys))


def _corners(shape: Shape) -> Iterator[Place]:
    match shape:
        case Stroke():
            yield from shape.places
        case Bow():
            (x, y), r = shape.centre, shape.radius
            yield from ((x - r, y - r), (x + r, y + r))
        case Label():
            wide = len(shape.text) * _LETTER * shape.size
            x, y = shape.place
            for share in _WIDTHS[shape.anchor]:
                yield from ((x + share * wide, y - 0.6 * shape.size), (x, y + 0.6 * shape.size))
        case Dimension():
            for x, y in shape.ends:
                yield from ((x - shape.size, y - shape.size), (x + shape.size, y + shape.size))
