"""A drawing as a PNG picture."""

import io
from collections.abc import Iterator
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from recommender.drawing.shapes import Bow, Dimension, Drawing, Label, Place, Shape, Stroke
from recommender.shown import escaped

_INCHES: Final = 12.0
_DOTS: Final = 150
_POINTS: Final = 72.0
_INK, _FAINT, _LOAD, _PLATE = "#1c2733", "#5b6874", "#a4530f", "#2f6690"
_STATION, _FEED = "#2f6f43", "#8c2f6b"
_LOOKS: Final[dict[str, tuple[str, str, float]]] = {
    "floor": (_FAINT, "--", 0.0),
    "swept by loads": (_LOAD, ":", 0.0),
    "swept by plates": (_PLATE, ":", 0.0),
    "loads": (_LOAD, "-", 0.12),
    "plates": (_PLATE, "-", 0.28),
    "feeds": (_FEED, "-", 1.0),
    "stations": (_STATION, "-", 1.0),
    "direction of travel": (_INK, "-", 1.0),
    "dimensions": (_FAINT, "-", 1.0),
}
_THICK: Final = frozenset({"guide", "section joints"})


def png_of(drawing: Drawing) -> bytes:
    """A drawing as a PNG picture, 1800 dots along its longer side.

    Parameters
    ----------
    drawing : Drawing

    Returns
    -------
    bytes
    """
    (left, bottom), (right, top) = drawing.least, drawing.most
    scale = _INCHES / max(right - left, top - bottom)
    figure = Figure(figsize=((right - left) * scale, (top - bottom) * scale), dpi=_DOTS)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(left, right)
    axes.set_ylim(bottom, top)
    axes.set_aspect("equal")
    for shape in drawing.shapes:
        for part in _parts(shape):
            _draw(axes, part, scale * _POINTS)
    out = io.BytesIO()
    figure.savefig(out, format="png", facecolor="white", metadata={"Software": None})
    return out.getvalue()


def _parts(shape: Shape) -> Iterator[Stroke | Label]:
    """A shape as lines and texts."""
    match shape:
        case Bow():
            angles = np.radians(np.linspace(shape.start, shape.end, 181))
            x, y = shape.centre
            places = zip(
                (x + shape.radius * np.cos(angles)).tolist(),
                (y + shape.radius * np.sin(angles)).tolist(),
                strict=True,
            )
            yield Stroke(shape.layer, tuple(places))
        case Dimension():
            yield from _dimension(shape)
        case _:
            yield shape


def _dimension(shape: Dimension) -> Iterator[Stroke | Label]:
    (x0, y0), (x1, y1) = shape.ends
    yield Stroke(shape.layer, (shape.first, (x0, y0), (x1, y1), shape.second))
    head, flat = 0.7 * shape.size, 0.16 * shape.size
    for (x, y), way in (((x0, y0), 1.0), ((x1, y1), -1.0)):
        sides: tuple[Place, Place]
        if shape.along == "x":
            sides = ((x + way * head, y + flat), (x + way * head, y - flat))
        else:
            sides = ((x + flat, y + way * head), (x - flat, y + way * head))
        yield Stroke(shape.layer, ((x, y), *sides), closed=True)
    middle, off = (0.5 * (x0 + x1), 0.5 * (y0 + y1)), 0.75 * shape.size
    place = (middle[0], middle[1] + off) if shape.along == "x" else (middle[0] - off, middle[1])
    yield Label(f"{shape.layer} {shape.along}", place, shape.text, shape.size)


def _draw(axes: Axes, part: Stroke | Label, points: float) -> None:
    if isinstance(part, Label):
        # Text of users is text: no mathematics between dollar signs.
        axes.text(
            *part.place,
            escaped(part.text),
            fontsize=part.size * points,
            color=_INK,
            ha={"start": "left", "middle": "center", "end": "right"}[part.anchor],
            va="center",
            rotation=90.0 if part.layer.endswith(" y") else 0.0,
            parse_math=False,
        )
        return
    colour, line, filled = _LOOKS.get(part.layer, (_INK, "-", 0.0))
    width = 1.8 if part.layer in _THICK else 0.8
    if part.closed and filled:
        axes.add_patch(Polygon(part.places, closed=True, facecolor=colour, alpha=filled))
    places = (*part.places, part.places[0]) if part.closed else part.places
    axes.plot(*zip(*places, strict=True), color=colour, linestyle=line, linewidth=width)
