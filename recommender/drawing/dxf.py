"""A drawing as DXF: millimetres, a layer for each kind of thing, dimensions that can be edited."""

import io
from typing import Any, Final

import ezdxf
from ezdxf import units as dxf_units
from ezdxf.enums import TextEntityAlignment

from recommender.drawing.shapes import Bow, Dimension, Drawing, Label, Place, Stroke
from recommender.shown import escaped

_MM: Final = 1000.0
_GREY, _BLUE, _GREEN, _BROWN, _MAGENTA = 8, 5, 3, 30, 6
_COLOURS: Final = {
    "floor": _GREY,
    "swept by loads": _BROWN,
    "swept by plates": _BLUE,
    "loads": _BROWN,
    "plates": _BLUE,
    "feeds": _MAGENTA,
    "stations": _GREEN,
    "dimensions": _GREY,
}
_DASHED: Final = frozenset({"floor", "swept by loads", "swept by plates"})
_ALIGNED: Final = {
    "start": TextEntityAlignment.MIDDLE_LEFT,
    "middle": TextEntityAlignment.MIDDLE_CENTER,
    "end": TextEntityAlignment.MIDDLE_RIGHT,
}
_STYLE: Final = "PLAN"
_CAPITALS: Final = 0.72
"""Height of capitals, which DXF counts, as a share of the letters' size; common practice, no
source."""


def dxf_of(drawing: Drawing) -> str:
    """A drawing as the text of a DXF file, its origin at the start of the front straight.

    The same drawing always gives the same bytes: the file holds no time and no random mark.

    Parameters
    ----------
    drawing : Drawing

    Returns
    -------
    str
    """
    marked = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        document = ezdxf.new("R2010", setup=True, units=dxf_units.MM)
        _prepare(document, drawing)
        space = document.modelspace()
        for shape in drawing.shapes:
            match shape:
                case Stroke():
                    space.add_lwpolyline(
                        [_mm(place) for place in shape.places],
                        close=shape.closed,
                        dxfattribs={"layer": shape.layer},
                    )
                case Bow():
                    space.add_arc(
                        _mm(shape.centre),
                        shape.radius * _MM,
                        shape.start,
                        shape.end,
                        dxfattribs={"layer": shape.layer},
                    )
                case Label():
                    # A caret or a per cent sign would begin a code of its own.
                    text = escaped(shape.text).replace("^", "^ ").replace("%%", "% %")
                    space.add_text(
                        text, height=_CAPITALS * shape.size * _MM, dxfattribs={"layer": shape.layer}
                    ).set_placement(_mm(shape.place), align=_ALIGNED[shape.anchor])
                case Dimension():
                    _dimension(space, shape)
        out = io.StringIO()
        document.write(out)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = marked
    return out.getvalue()


def _prepare(document: Any, drawing: Drawing) -> None:
    """Layers in plain words, and a style of dimensions as large as the letters of the plan."""
    for layer in drawing.layers:
        document.layers.add(
            layer,
            color=_COLOURS.get(layer, 7),
            linetype="DASHED" if layer in _DASHED else "CONTINUOUS",
        )
    size = max(shape.size for shape in drawing.shapes if isinstance(shape, Label)) * _MM
    document.header["$LTSCALE"] = size
    style = document.dimstyles.duplicate_entry("EZDXF", _STYLE)
    for name, value in {
        "dimtxt": _CAPITALS * size,
        "dimasz": 0.7 * size,
        "dimexe": 0.4 * size,
        "dimexo": 0.0,
        "dimgap": 0.3 * size,
        "dimblk": "",
        "dimtad": 1,
        "dimscale": 1.0,
    }.items():
        style.set_dxf_attrib(name, value)


def _dimension(space: Any, shape: Dimension) -> None:
    space.add_linear_dim(
        base=_mm(shape.ends[0]),
        p1=_mm(shape.first),
        p2=_mm(shape.second),
        angle=0.0 if shape.along == "x" else 90.0,
        text=shape.text,
        dimstyle=_STYLE,
        dxfattribs={"layer": shape.layer},
    ).render()


def _mm(place: Place) -> Place:
    return place[0] * _MM, place[1] * _MM
