"""The plan of a line: its loops side by side to one scale, and the handovers between them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from recommender.drawing.plan import LAYERS, LoopShapes, drawn_length, extents, loop_shapes
from recommender.drawing.shapes import Anchor, Bow, Dimension, Drawing, Label, Place, Shape, Stroke
from recommender.lines.result import HandoverResult, LineAnswer
from recommender.results.loop import LoopPlan
from recommender.shown import shown

LINE_LAYERS: Final = (*LAYERS[:-3], "loop names", "handovers", *LAYERS[-3:])
"""The layers, the lowest first."""

_LONGEST_NAME: Final = 24
_BEYOND_NAMES: Final = 1.8
"""Height of a station's name beyond its mark, as a multiple of its letters."""
_BARS: Final = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)
_ANCHORS: Final[dict[Anchor, Anchor]] = {"start": "end", "end": "start", "middle": "middle"}


@dataclass(frozen=True)
class _Placed:
    """A loop on the floor of the line: turned half round or not, and moved."""

    name: str
    plan: LoopPlan
    drawn: LoopShapes
    turned: bool
    by: Place

    def at(self, place: Place) -> Place:
        """A place of the loop's own drawing on the line's."""
        x, y = place
        if self.turned:
            (x0, y0), (x1, y1) = self.drawn.corners
            x, y = x0 + x1 - x, y0 + y1 - y
        return x + self.by[0], y + self.by[1]

    def station(self, name: str) -> Place | None:
        """The place beyond the mark of a station, or of the first place of a handover there."""
        found = self.places(name)
        return found[0][0] if found else None

    def places(self, name: str) -> list[tuple[Place, float]]:
        """The places beyond the marks of a station, or of all its places, and where they face."""
        known = self.drawn.stations
        names = [name] if name in known else [n for n in known if _is_place(n, name)]
        way = -1.0 if self.turned else 1.0
        return [(self.at(known[n][0]), way * known[n][1]) for n in names]

    def shapes(self) -> Iterator[Shape]:
        for shape in self.drawn.shapes:
            yield self._moved(shape)

    def _moved(self, shape: Shape) -> Shape:
        match shape:
            case Stroke():
                return replace(shape, places=tuple(map(self.at, shape.places)))
            case Bow():
                half = 180.0 if self.turned else 0.0
                return Bow(
                    shape.layer,
                    self.at(shape.centre),
                    shape.radius,
                    shape.start + half,
                    shape.end + half,
                )
            case Label():
                anchor = _ANCHORS[shape.anchor] if self.turned else shape.anchor
                return Label(shape.layer, self.at(shape.place), shape.text, shape.size, anchor)
            case Dimension():
                return shape

    @property
    def long(self) -> float:
        """Extent of its floor along the straights."""
        (x0, _), (x1, _) = self.drawn.corners
        return x1 - x0

    @property
    def corners(self) -> tuple[Place, Place]:
        """Lower left and upper right corner of its floor."""
        (x0, y0), (x1, y1) = (self.at(corner) for corner in self.drawn.corners)
        return (min(x0, x1), min(y0, y1)), (max(x0, x1), max(y0, y1))


def line_plan_of(answer: LineAnswer) -> Drawing:
    """The plan of a recommended line, from what the answer holds about it and nothing else.

    The loops stand side by side in the order of the enquiry, the first one below, the gap that is
    asked for between them, each turned so that its handovers face each other where they can, and
    moved along so far as the longest leaves room to bring them close.

    Raises
    ------
    ValueError
        If the answer recommends no line.
    """
    loops = [
        (loop.name, loop.chosen.loop, loop.chosen.carriers)
        for loop in answer.loops
        if loop.chosen is not None and loop.chosen.loop is not None and loop.chosen.carriers
    ]
    if answer.floor is None or len(loops) < len(answer.loops):
        raise ValueError("the answer recommends no line that could be drawn")
    size = max(loop_shapes(plan, carriers).size for _, plan, carriers in loops)
    placed = _side_by_side(
        [(name, plan, loop_shapes(plan, carriers, size)) for name, plan, carriers in loops],
        answer.handovers,
        answer.floor.gap_m,
    )
    shapes = [shape for loop in placed for shape in loop.shapes()]
    shapes += _names(placed, size)
    shapes += _handovers(placed, answer.handovers, answer.floor.gap_m, size)
    shapes += _dimensions(placed, size)
    shapes += _foot(placed, answer, size, extents(shapes)[0][1])
    order = {layer: number for number, layer in enumerate(LINE_LAYERS)}
    shapes.sort(key=lambda shape: order[shape.layer])
    least, most = extents(shapes)
    return Drawing(
        title=f"Plan of the line {shown(answer.title)}",
        description=_description(placed, answer),
        shapes=tuple(shapes),
        least=(least[0] - size, least[1] - size),
        most=(most[0] + size, most[1] + size),
        layers=LINE_LAYERS,
    )


def _side_by_side(
    loops: Sequence[tuple[str, LoopPlan, LoopShapes]],
    handovers: Sequence[HandoverResult],
    gap: float,
) -> list[_Placed]:
    order = {name: number for number, (name, _, _) in enumerate(loops)}
    placed: dict[str, _Placed] = {}
    level = 0.0
    for name, plan, drawn in loops:
        (x0, y0), (_, y1) = drawn.corners
        turned = _turned(name, drawn, handovers, order)
        placed[name] = _Placed(name, plan, drawn, turned, (-x0, level - y0))
        level += y1 - y0 + gap
    longest = max(loop.long for loop in placed.values())
    for loop in sorted(placed.values(), key=lambda loop: -loop.long):
        aside = _closest(loop, placed, handovers, longest - loop.long)
        placed[loop.name] = replace(loop, by=(loop.by[0] + aside, loop.by[1]))
    return list(placed.values())


def _turned(
    name: str,
    drawn: LoopShapes,
    handovers: Sequence[HandoverResult],
    order: Mapping[str, int],
) -> bool:
    """Whether a loop is turned half round, so that more of its handovers face the other loop."""
    facing = 0.0
    for end, other in _ends_of(name, handovers):
        mark = drawn.stations.get(end) or drawn.stations.get(f"{end} 1")
        if mark is not None and other in order:
            facing += mark[1] * (1.0 if order[other] > order[name] else -1.0)
    return facing < 0.0


def _closest(
    loop: _Placed,
    placed: Mapping[str, _Placed],
    handovers: Sequence[HandoverResult],
    slack: float,
) -> float:
    """How far a loop is moved along to bring its first handover close to the other end."""
    for end, other, far in _meeting(loop.name, handovers):
        here, there = loop.station(end), placed[other].station(far)
        if here is not None and there is not None:
            return min(max(there[0] - here[0], 0.0), slack)
    return 0.0


def _meeting(name: str, handovers: Sequence[HandoverResult]) -> Iterator[tuple[str, str, str]]:
    """Own station, other loop and its station of each handover of a loop."""
    for handover in handovers:
        ends = [handover.giver.partition("."), handover.taker.partition(".")]
        for (loop, _, own), (other, _, far) in (ends, ends[::-1]):
            if loop == name:
                yield own, other, far


def _ends_of(name: str, handovers: Sequence[HandoverResult]) -> Iterator[tuple[str, str]]:
    return ((own, other) for own, other, _ in _meeting(name, handovers))


def _is_place(name: str, station: str) -> bool:
    """Whether a name is that of one of several places of a handover at a station."""
    return name.startswith(f"{station} ") and name[len(station) + 1 :].isdecimal()


def _names(placed: Sequence[_Placed], size: float) -> Iterator[Shape]:
    """Each loop's name in a corner of its floor, which its bends leave free."""
    for loop in placed:
        (x0, _), (_, y1) = loop.corners
        place = x0 + 0.6 * size, y1 - 1.2 * size
        yield Label("loop names", place, shown(loop.name, _LONGEST_NAME), 1.4 * size, "start")


def _handovers(
    placed: Sequence[_Placed], handovers: Sequence[HandoverResult], gap: float, size: float
) -> Iterator[Shape]:
    """Arrows from station to station, or to each place, and how many become one."""
    known = {loop.name: loop for loop in placed}
    # Beyond the stations' names, where the gap leaves room for that.
    beyond = _BEYOND_NAMES * size if gap > 3.0 * _BEYOND_NAMES * size else 0.0
    for handover in handovers:
        giver, _, gives_at = handover.giver.partition(".")
        taker, _, takes_at = handover.taker.partition(".")
        starts, ends = known[giver].places(gives_at), known[taker].places(takes_at)
        if not starts or not ends:
            continue
        (x0, y0), way = starts[0]
        start = x0, y0 + way * beyond
        for (x1, y1), way in ends:
            end = x1, y1 + way * beyond
            yield Stroke("handovers", (start, end))
            yield Stroke("handovers", _head(start, end, 0.6 * size), closed=True)
        x1 = max(x for (x, _), _ in ends)
        # Beside an arrow straight across; below the middle of one that slants.
        share = 0.5 if abs(x1 - x0) < size else 0.1
        place = 0.5 * (x0 + x1) + size, start[1] + share * (end[1] - start[1])
        yield Label("handovers", place, told(handover), size, "start")


def told(handover: HandoverResult) -> str:
    """A handover in a few words."""
    how = "into a buffer" if handover.between == "buffer" else "direct"
    turns = f", {handover.places} places in turn" if (handover.places or 1) > 1 else ""
    return f"{shown(handover.name, _LONGEST_NAME)}: {handover.items} to 1, {how}{turns}"


def _head(start: Place, end: Place, size: float) -> tuple[Place, Place, Place]:
    along = end[0] - start[0], end[1] - start[1]
    long = (along[0] ** 2 + along[1] ** 2) ** 0.5 or 1.0
    x, y = along[0] / long, along[1] / long
    back = end[0] - size * x, end[1] - size * y
    return (
        end,
        (back[0] - 0.4 * size * y, back[1] + 0.4 * size * x),
        (back[0] + 0.4 * size * y, back[1] - 0.4 * size * x),
    )


def _dimensions(placed: Sequence[_Placed], size: float) -> Iterator[Shape]:
    """Floor along and across, that of each loop, and the gaps."""
    (left, low), (right, high) = _floor(placed)
    yield _dimension((left, low), (right, low), "x", low - 4.6 * size, size)
    levels = [(loop.corners[0][1], loop.corners[1][1]) for loop in placed]
    for first, last in levels:
        yield _dimension((right, first), (right, last), "y", right + 2.2 * size, size)
    for (_, end), (start, _) in pairwise(levels):
        yield _dimension((right, end), (right, start), "y", right + 2.2 * size, size)
    yield _dimension((right, low), (right, high), "y", right + 5.2 * size, size)


def _dimension(first: Place, second: Place, along: str, at: float, size: float) -> Dimension:
    index = 0 if along == "x" else 1
    text = drawn_length(abs(second[index] - first[index]), bare=True)
    return Dimension("dimensions", first, second, "x" if along == "x" else "y", at, text, size)


def _floor(placed: Sequence[_Placed]) -> tuple[Place, Place]:
    corners = [loop.corners for loop in placed]
    return (
        (min(c[0][0] for c in corners), min(c[0][1] for c in corners)),
        (max(c[1][0] for c in corners), max(c[1][1] for c in corners)),
    )


def _foot(
    placed: Sequence[_Placed], answer: LineAnswer, size: float, lowest: float
) -> Iterator[Shape]:
    """A scale bar, and what the drawing shows."""
    (left, _), (right, _) = _floor(placed)
    y = lowest - 3.2 * size
    bar = max((b for b in _BARS if b <= 0.3 * (right - left)), default=0.3 * (right - left))
    yield Stroke("scale bar", ((left, y), (left + bar, y)))
    for share in (0.0, 0.5, 1.0):
        x = left + share * bar
        yield Stroke("scale bar", ((x, y - 0.35 * size), (x, y + 0.35 * size)))
    yield Label("scale bar", (left + bar + size, y), drawn_length(bar), size, "start")
    for number, line in enumerate(_notes(placed)):
        place = (left, y - (1.9 + 1.5 * number) * size)
        yield Label("notes", place, line, 0.85 * size, "start")


def _notes(placed: Sequence[_Placed]) -> Iterator[str]:
    flat = {loop.plan.plane for loop in placed} == {"flat"}
    seen = "seen from above" if flat else "upright loops seen from the front"
    yield f"{seen[:1].upper()}{seen[1:]}, all loops to one scale; dashed: floor with loads."
    yield "Arrows between loops: handovers. Stations and sections as on the plan of each loop."


def _description(placed: Sequence[_Placed], answer: LineAnswer) -> str:
    (left, low), (right, high) = _floor(placed)
    loops = "; ".join(
        f"{shown(loop.name, _LONGEST_NAME)} with {len(loop.plan.ring)} sections" for loop in placed
    )
    ways = "; ".join(
        f"from {shown(h.giver, 2 * _LONGEST_NAME)} to {shown(h.taker, 2 * _LONGEST_NAME)},"
        f" {h.items} to 1"
        for h in answer.handovers
    )
    return (
        f"Loops side by side, the first below: {loops}; together {drawn_length(right - left)} by"
        f" {drawn_length(high - low)} of floor with loads. Handovers: {ways}."
    )
