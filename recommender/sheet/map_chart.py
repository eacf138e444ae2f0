"""A map as a picture: who is cheapest where, where nothing works, and lines of equal price."""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, PathPatch
from matplotlib.path import Path
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from recommender.results.map import Map
from recommender.shown import shown
from recommender.views.map_words import cell_words, label, letters, scale_of

_HATCHES: Final = ("", "///", "\\\\", "xx", "--", "||", "++", "..")
_NONE_HATCH: Final = "///////"
_PRICES_AT: Final = (1, 2, 2.5, 5, 10)
_MOST_LINES: Final = 10
_ALONG: Final = 0.3
_CLEAR: Final = 0.09
"""How far names and prices stay from each other, along plus up, as a share of the picture."""
_ROOM_FOR_LETTER: Final = 0.004
_ROOM_FOR_WORDS: Final = 0.03
"""Share of the cells from which on a second region gets its name as well."""
_LONGEST: Final = 60
_PALE: Final = 0.24
_BY_ITSELF: Final[Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "recommender",
    "font.family": "sans-serif",
    "font.size": 8.5,
    "text.parse_math": False,
    "hatch.linewidth": 0.5,
}

Cells = NDArray[np.int64]
Point = tuple[float, float]
Edge = tuple[Point, Point]


@dataclass(frozen=True)
class Palette:
    """Colours of a map: of lines and text, of what is faint, of prices and of families."""

    ink: str
    faint: str
    paper: str
    price: str
    families: tuple[str, ...]


_LIGHT: Final = Palette(
    "#1c2733", "#5b6874", "#ffffff", "#8c2f6b", ("#2f6690", "#a4530f", "#2f6f43", "#5b6874")
)


def map_picture(found: Map, kind: str) -> bytes:
    """A map as a file by itself, the same each time.

    Parameters
    ----------
    found : Map
    kind : str
        ``.svg`` or ``.png``.
    """
    out = io.BytesIO()
    with mpl.rc_context(_BY_ITSELF):
        figure = Figure(figsize=(8.4, 5.6), layout="constrained")
        FigureCanvasSVG(figure)
        draw_map(figure, found, _LIGHT, titled=True)
        metadata = {"Date": None} if kind == ".svg" else {"Software": None}
        figure.savefig(out, format=kind.removeprefix("."), dpi=150, metadata=metadata)
    return out.getvalue()


def draw_map(figure: Figure, found: Map, palette: Palette, *, titled: bool) -> None:
    """Draw a map on an empty figure."""
    axes = figure.subplots()
    first, second = scale_of(found.first), scale_of(found.second)
    x = np.array([first.of(value) for value in found.first.values])
    y = np.array([second.of(value) for value in found.second.values])
    shape = len(x), len(y)
    ids = [option.id for option in found.options]
    which = np.array(
        [ids.index(cell.option) if cell.option else -1 for cell in found.cells], dtype=np.int64
    ).reshape(shape)
    across, up = _edges(x), _edges(y)
    looks = _looks(found, palette)
    for family, (colour, hatch) in looks.items():
        of_family = [k for k, option in enumerate(found.options) if option.family == family]
        _fill(axes, np.isin(which, of_family), across, up, colour, hatch)
    _fill(axes, which < 0, across, up, palette.faint, _NONE_HATCH, alpha=0.06)
    axes.add_collection(
        LineCollection(_borders(which, across, up), colors=palette.ink, linewidths=0.7)
    )
    taken = [_own_point(axes, found, palette)]
    for k, letter in enumerate(letters(found).values()):
        taken += _named(axes, letter, which == k, (x, y), palette)
    taken += _named(axes, "none works", which < 0, (x, y), palette, least=_ROOM_FOR_WORDS)
    _equal_prices(axes, found, (across, up), palette, [at for at in taken if at is not None])
    _unproven(axes, found, (x, y), palette)
    axes.set_xlim(across[0], across[-1])
    axes.set_ylim(up[0], up[-1])
    axes.set_xlabel(label(found.first))
    axes.set_ylabel(label(found.second))
    _legend(figure, found, looks, palette)
    if titled:
        text = f"{found.title}: what is cheapest, and where nothing works"
        axes.set_title(shown(text, 100), fontsize=10, loc="left", color=palette.ink)


def _edges(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Edges of cells whose middles are given."""
    half = 0.5 * np.diff(values)
    return np.concatenate([[values[0] - half[0]], values[:-1] + half, [values[-1] + half[-1]]])


def _looks(found: Map, palette: Palette) -> dict[str, tuple[str, str]]:
    """Colour and hatch of each family, in the order of the first price."""
    families = list(dict.fromkeys(option.family for option in found.options))
    return {
        family: (palette.families[k % len(palette.families)], _HATCHES[k % len(_HATCHES)])
        for k, family in enumerate(families)
    }


def _fill(
    axes: Axes,
    inside: NDArray[np.bool_],
    across: NDArray[np.float64],
    up: NDArray[np.float64],
    colour: str,
    hatch: str,
    alpha: float = _PALE,
) -> None:
    """Fill some cells; runs of a column are one rectangle, and all together one path."""
    corners: list[tuple[float, float]] = []
    codes: list[np.uint8] = []
    for i in range(inside.shape[0]):
        for first, last in _runs(inside[i]):
            left, right, low, high = across[i], across[i + 1], up[first], up[last + 1]
            corners += [(left, low), (right, low), (right, high), (left, high), (left, low)]
            codes += [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY]
    if not corners:
        return
    path = Path(corners, codes)
    axes.add_patch(PathPatch(path, facecolor=colour, alpha=alpha, linewidth=0.0, antialiased=False))
    if hatch:
        axes.add_patch(
            PathPatch(path, fill=False, hatch=hatch, edgecolor=colour, alpha=0.45, linewidth=0.0)
        )


def _runs(inside: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and last of each run."""
    steps = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(np.int8)))
    yield from ((int(a), int(b) - 1) for a, b in zip(steps[::2], steps[1::2], strict=True))


def _borders(
    which: Cells,
    across: NDArray[np.float64],
    up: NDArray[np.float64],
    unlike: int | None = None,
) -> list[Edge]:
    """Edges between cells of different kinds; beside cells of kind ``unlike`` none is drawn."""
    upright = [
        ((across[i + 1], up[a]), (across[i + 1], up[b + 1]))
        for i in range(which.shape[0] - 1)
        for a, b in _runs(_apart(which[i], which[i + 1], unlike))
    ]
    level = [
        ((across[a], up[j + 1]), (across[b + 1], up[j + 1]))
        for j in range(which.shape[1] - 1)
        for a, b in _runs(_apart(which[:, j], which[:, j + 1], unlike))
    ]
    return [*upright, *level]


def _apart(one: Cells, other: Cells, unlike: int | None) -> NDArray[np.bool_]:
    differ = np.asarray(one != other)
    return differ if unlike is None else np.asarray(differ & (one != unlike) & (other != unlike))


def _equal_prices(
    axes: Axes,
    found: Map,
    edges_of_cells: tuple[NDArray[np.float64], NDArray[np.float64]],
    palette: Palette,
    taken: list[Point],
) -> None:
    """Lines of equal price at round sums, along the edges of cells, since prices are steps."""
    across, up = edges_of_cells
    price = np.array([np.inf if c.price is None else float(c.price) for c in found.cells])
    works = price[np.isfinite(price)]
    if not len(works) or works.max() <= works.min():
        return
    rounds = MaxNLocator(_MOST_LINES, steps=_PRICES_AT)
    levels = rounds.tick_values(works.min(), works.max())
    table = price.reshape(len(across) - 1, len(up) - 1)
    for level in levels:
        above = np.where(np.isinf(table), -1, table >= level).astype(np.int64)
        edges = _borders(above, across, up, unlike=-1)
        if not edges:
            continue
        axes.add_collection(
            LineCollection(edges, colors=palette.price, linewidths=1.7, linestyles=(0, (3, 1.5)))
        )
        by_length = sorted(edges, key=lambda edge: -_length(edge, across, up))
        spots = [(edge, _spot(edge)) for edge in by_length]
        clear = (
            (edge, spot)
            for edge, spot in spots
            if all(_length((spot, other), across, up) > _CLEAR for other in taken)
        )
        (start, end), spot = next(clear, (((0.0, 0.0), (0.0, 0.0)), None))
        if spot is None:
            continue
        taken.append(spot)
        axes.text(
            *spot,
            f"{level:,.0f}",
            rotation=90 if start[0] == end[0] else 0,
            ha="center",
            va="center",
            fontsize=7.5,
            color=palette.price,
            bbox={"facecolor": palette.paper, "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
        )


def _spot(edge: Edge) -> Point:
    """Where a price stands on an edge: in the middle it would meet letters."""
    (x0, y0), (x1, y1) = edge
    return x0 + _ALONG * (x1 - x0), y0 + _ALONG * (y1 - y0)


def _length(edge: Edge, across: NDArray[np.float64], up: NDArray[np.float64]) -> float:
    """Length of an edge as a share of the picture."""
    (x0, y0), (x1, y1) = edge
    return float(abs(x1 - x0) / np.ptp(across) + abs(y1 - y0) / np.ptp(up))


def _named(
    axes: Axes,
    text: str,
    inside: NDArray[np.bool_],
    at: tuple[Any, Any],
    palette: Palette,
    least: float = _ROOM_FOR_LETTER,
) -> list[Point]:
    """Write a name where the cells that it is for are widest, in each region with room for it."""
    spots: list[Point] = []
    for region in sorted(_regions(inside), key=lambda one: -int(one.sum())):
        if spots and region.sum() < least * inside.size:
            break
        i, j = _middle(region)
        spots.append((float(at[0][i]), float(at[1][j])))
        axes.text(
            at[0][i],
            at[1][j],
            text,
            ha="center",
            va="center",
            fontsize=9.0,
            fontweight="bold",
            color=palette.ink,
            bbox={"facecolor": palette.paper, "edgecolor": "none", "pad": 1.2, "alpha": 0.85},
        )
    return spots


def _regions(inside: NDArray[np.bool_]) -> list[NDArray[np.bool_]]:
    """Cells that hang together by their edges, region by region."""
    left, regions = inside.copy(), list[NDArray[np.bool_]]()
    while left.any():
        region = np.zeros_like(left)
        region[np.unravel_index(int(np.argmax(left)), left.shape)] = True
        while True:
            beside = np.pad(region, 1)
            grown = left & (
                region | beside[:-2, 1:-1] | beside[2:, 1:-1] | beside[1:-1, :-2] | beside[1:-1, 2:]
            )
            if (grown == region).all():
                break
            region = grown
        regions.append(region)
        left &= ~region
    return regions


def _middle(region: NDArray[np.bool_]) -> tuple[int, int]:
    """The cell that is farthest from the edge of a region; of equal ones that in their middle."""
    depth, left = np.zeros(region.shape), region.copy()
    while left.any():
        depth += left
        beside = np.pad(left, 1)
        left = left & beside[:-2, 1:-1] & beside[2:, 1:-1] & beside[1:-1, :-2] & beside[1:-1, 2:]
    deepest = np.argwhere(depth == depth.max())
    away = np.abs(deepest - deepest.mean(axis=0)).sum(axis=1)
    i, j = deepest[int(np.argmin(away))]
    return int(i), int(j)


def _unproven(axes: Axes, found: Map, at: tuple[Any, Any], palette: Palette) -> None:
    rows = [k for k, cell in enumerate(found.cells) if not cell.proven]
    if rows:
        i, j = np.divmod(rows, len(at[1]))
        axes.plot(at[0][i], at[1][j], ".", color=palette.ink, markersize=2.0)


def _own_point(axes: Axes, found: Map, palette: Palette) -> Point | None:
    first, second = found.first, found.second
    if first.asked is None or second.asked is None:
        return None
    at = scale_of(first).of(first.asked), scale_of(second).of(second.asked)
    axes.plot(
        *at,
        marker="*",
        markersize=15,
        color=palette.paper,
        markeredgecolor=palette.ink,
        markeredgewidth=1.2,
        zorder=5,
    )
    return at


def _legend(
    figure: Figure, found: Map, looks: dict[str, tuple[str, str]], palette: Palette
) -> None:
    """Families with their options, and what else is drawn."""
    letter, entries = letters(found), list[tuple[Any, str]]()
    for family, (colour, hatch) in looks.items():
        face = Patch(facecolor=colour, alpha=_PALE, linewidth=0.0)
        lines = Patch(fill=False, hatch=hatch, edgecolor=colour, linewidth=0.8)
        entries.append(((face, lines), shown(family, _LONGEST)))
        for option in found.options:
            if option.family == family:
                least = f"{option.least:,.0f}"
                entries.append((_nothing(), f"{letter[option.id]}  {option.id}, from {least}"))
    if any(cell.option is None for cell in found.cells):
        blank = Patch(facecolor="none", hatch=_NONE_HATCH, edgecolor=palette.faint, alpha=0.4)
        entries.append((blank, "none works"))
    line = Line2D([], [], color=palette.price, linewidth=1.7, linestyle=(0, (3, 1.5)))
    entries.append((line, f"equal price, {found.currency}"))
    if any(not cell.proven for cell in found.cells):
        dot = Line2D([], [], color=palette.ink, marker=".", linestyle="")
        entries.append((dot, "not proven"))
    if found.first.asked is not None and found.second.asked is not None:
        star = Line2D(
            [],
            [],
            marker="*",
            markersize=11,
            linestyle="",
            color=palette.paper,
            markeredgecolor=palette.ink,
        )
        words = cell_words(found.asked, found.currency).split(", ")
        entries.append((star, "\n".join(["this case:", *(shown(w, _LONGEST) for w in words)])))
    handles, labels = zip(*entries, strict=True)
    figure.legend(
        handles,
        labels,
        loc="outside right upper",
        frameon=False,
        fontsize=7.5,
        labelcolor=palette.ink,
        handlelength=2.2,
        handleheight=1.3,
    )


def _nothing() -> Patch:
    return Patch(facecolor="none", edgecolor="none")
