"""A drawing as SVG: to scale in millimetres, light and dark, with a title and a description."""

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Final

from recommender.drawing.shapes import Bow, Dimension, Drawing, Label, Place, Shape, Stroke
from recommender.shown import escaped

_NAMESPACE: Final = "http://www.w3.org/2000/svg"
_MM: Final = 1000.0
_LINE: Final = 0.12
"""Thickness of the guide as a share of the letters' height."""

STYLE: Final = """
.loop-plan { --ink: #1c2733; --faint: #5b6874; --paper: #ffffff; --load: #a4530f; --plate: #2f6690;
  --station: #2f6f43; --feed: #8c2f6b; background: var(--paper);
  font-family: system-ui, "DejaVu Sans", sans-serif; }
@media (prefers-color-scheme: dark) { .loop-plan { --ink: #e6ebf0; --faint: #a3b0bc;
  --paper: #151b21; --load: #e0a060; --plate: #7fb2dc; --station: #7fc596; --feed: #dd8fc0; } }
@media print { .loop-plan { --ink: #1c2733; --faint: #5b6874; --paper: #ffffff; --load: #a4530f;
  --plate: #2f6690; --station: #2f6f43; --feed: #8c2f6b; } }
.loop-plan path { fill: none; stroke: var(--ink); stroke-width: var(--thin); }
.loop-plan text { fill: var(--ink); stroke: none; }
.loop-plan .floor path { stroke: var(--faint); stroke-dasharray: var(--long) var(--short); }
.loop-plan .swept-by-loads path { stroke: var(--load); stroke-dasharray: var(--short); }
.loop-plan .swept-by-plates path { stroke: var(--plate); stroke-dasharray: var(--short); }
.loop-plan .loads path { stroke: var(--load); fill: var(--load); fill-opacity: 0.12; }
.loop-plan .plates path { stroke: var(--plate); fill: var(--plate); fill-opacity: 0.28; }
.loop-plan .guide path, .loop-plan .section-joints path { stroke-width: var(--thick); }
.loop-plan .section-numbers text, .loop-plan .notes text { fill: var(--faint); }
.loop-plan .feeds path { fill: var(--feed); stroke: var(--paper); }
.loop-plan .stations path { stroke: var(--station); }
.loop-plan .stations path.area { fill: var(--station); }
.loop-plan .direction-of-travel path.area { fill: var(--ink); }
.loop-plan .dimensions path { stroke: var(--faint); }
.loop-plan .dimensions path.area { fill: var(--faint); }
"""


def svg_of(drawing: Drawing, prefix: str = "plan") -> str:
    """A drawing as one SVG element, a millimetre of the loop to each of its units.

    Parameters
    ----------
    drawing : Drawing
    prefix : str
        What its ids begin with; another one for each drawing in a page.

    Returns
    -------
    str
        An image of its own, or a part of an HTML page; its style touches nothing else there.
    """
    return _Writer(drawing, prefix).text()


class _Writer:
    def __init__(self, drawing: Drawing, prefix: str) -> None:
        self.drawing, self.prefix = drawing, prefix
        self.top = drawing.most[1]
        self.left = drawing.least[0]

    def text(self) -> str:
        drawing, prefix = self.drawing, self.prefix
        wide = (drawing.most[0] - drawing.least[0]) * _MM
        high = (drawing.most[1] - drawing.least[1]) * _MM
        size = max(shape.size for shape in drawing.shapes if isinstance(shape, Label)) * _MM
        lines = (("thin", 0.08), ("thick", _LINE * 1.6), ("long", 0.9), ("short", 0.35))
        root = ET.Element(
            "svg",
            {
                "xmlns": _NAMESPACE,
                "class": "loop-plan",
                "viewBox": f"0 0 {_number(wide)} {_number(high)}",
                "role": "img",
                "aria-labelledby": f"{prefix}-title {prefix}-description",
                "style": "; ".join(f"--{name}: {_number(share * size)}px" for name, share in lines),
            },
        )
        ET.SubElement(root, "title", {"id": f"{prefix}-title"}).text = escaped(drawing.title)
        described = ET.SubElement(root, "desc", {"id": f"{prefix}-description"})
        described.text = escaped(drawing.description)
        ET.SubElement(root, "style").text = STYLE
        for layer in drawing.layers:
            name = layer.replace(" ", "-")
            group = ET.SubElement(root, "g", {"id": f"{prefix}-{name}", "class": name})
            for shape in drawing.on(layer):
                group.extend(self._elements(shape))
        ET.indent(root)
        return ET.tostring(root, encoding="unicode") + "\n"

    def _elements(self, shape: Shape) -> Iterator[ET.Element]:
        match shape:
            case Stroke():
                yield self._path(shape.places, closed=shape.closed)
            case Bow():
                radius = _number(shape.radius * _MM)
                start, end = self._place(shape.place("start")), self._place(shape.place("end"))
                large = int(shape.end - shape.start > 180.0)
                yield ET.Element("path", {"d": f"M{start}A{radius} {radius} 0 {large} 0 {end}"})
            case Label():
                yield self._label(shape)
            case Dimension():
                yield from self._dimension(shape)

    def _dimension(self, shape: Dimension) -> Iterator[ET.Element]:
        (x0, y0), (x1, y1) = shape.ends
        for place, end in ((shape.first, (x0, y0)), (shape.second, (x1, y1))):
            if place != end:
                yield self._path((place, _past(place, end, 0.4 * shape.size)))
        yield self._path(((x0, y0), (x1, y1)))
        head, flat = 0.7 * shape.size, 0.16 * shape.size
        for (x, y), way in (((x0, y0), 1.0), ((x1, y1), -1.0)):
            tip = way * head
            sides = (
                ((x + tip, y + flat), (x + tip, y - flat))
                if shape.along == "x"
                else ((x + flat, y + tip), (x - flat, y + tip))
            )
            yield self._path(((x, y), *sides), closed=True)
        middle = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
        off = 0.75 * shape.size
        if shape.along == "x":
            yield self._label(Label("", (middle[0], middle[1] + off), shape.text, shape.size))
        else:
            place = (middle[0] - off, middle[1])
            yield self._label(Label("", place, shape.text, shape.size), upright=True)

    def _label(self, label: Label, *, upright: bool = False) -> ET.Element:
        x, y = self._xy(label.place)
        attributes = {
            "x": _number(x),
            "y": _number(y),
            "font-size": _number(label.size * _MM),
            "text-anchor": label.anchor,
            "dy": "0.35em",
        }
        if upright:
            attributes["transform"] = f"rotate(-90 {_number(x)} {_number(y)})"
        element = ET.Element("text", attributes)
        element.text = escaped(label.text)
        return element

    def _path(self, places: tuple[Place, ...], *, closed: bool = False) -> ET.Element:
        data = "M" + "L".join(self._place(place) for place in places)
        return ET.Element("path", {"d": f"{data}Z", "class": "area"} if closed else {"d": data})

    def _place(self, place: Place) -> str:
        x, y = self._xy(place)
        return f"{_number(x)} {_number(y)}"

    def _xy(self, place: Place) -> Place:
        return (place[0] - self.left) * _MM, (self.top - place[1]) * _MM


def _past(place: Place, end: Place, more: float) -> Place:
    """A bit beyond the end of a line."""
    (x, y), (u, v) = place, end
    long = ((u - x) ** 2 + (v - y) ** 2) ** 0.5
    return u + (u - x) / long * more, v + (v - y) / long * more


def _number(value: float) -> str:
    """A number as short as a hundredth of a millimetre allows.

    Examples
    --------
    >>> _number(12.0), _number(0.126), _number(-0.001)
    ('12', '0.13', '0')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
