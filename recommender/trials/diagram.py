"""Position against time: each carrier a line, as a picture."""

from io import BytesIO
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from recommender.faults import InputError
from recommender.physics.constants import Array
from recommender.results.rehearsal import Course, Courses, StationMark
from recommender.trials.rehearse import Trace

_STEPS: Final = (0.002, 0.01, 0.05, 0.25)
_MOST_POINTS: Final = 4000
FORMATS: Final = (".svg", ".png")


def figure_of(size: tuple[float, float]) -> Any:
    """An empty figure.

    Raises
    ------
    InputError
        If the library that draws is not there, with the remedy.
    """
    try:
        from matplotlib.figure import Figure  # noqa: PLC0415 - an extra
    except ModuleNotFoundError:
        raise InputError(
            "a picture needs matplotlib, which is not installed; install the package with [sheet],"
            " as in: pip install '.[sheet]'"
        ) from None
    return Figure(figsize=size, layout="constrained")


def saved(figure: Any, kind: str) -> bytes:
    """A figure as a file, the same each time: ``.svg`` or ``.png``."""
    from matplotlib import rc_context  # noqa: PLC0415 - an extra

    out = BytesIO()
    with rc_context({"svg.hashsalt": "recommender", "svg.fonttype": "none"}):
        metadata = {"Date": None} if kind == ".svg" else {"Software": None}
        figure.savefig(out, format=kind.removeprefix("."), dpi=150, metadata=metadata)
    return out.getvalue()


def diagram(trace: Trace, kind: str) -> bytes:
    """The lines of all carriers for some laps.

    Parameters
    ----------
    trace : Trace
    kind : str
        ``.svg`` or ``.png``.

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        If the library that draws is not there.
    """
    figure = figure_of((9.0, 5.0))
    axes = figure.add_subplot()
    shades = np.linspace(0.0, 0.65, trace.carriers)
    for carrier in range(trace.carriers):
        times, places = _line(trace, carrier)
        axes.plot(times, places, color=str(shades[carrier]), linewidth=1.1)
    for name, at in trace.stations:
        axes.axhline(at, color="tab:blue", linewidth=0.6, linestyle=":")
        axes.text(trace.end, at, f" {name}", va="center", ha="left", fontsize=8, color="tab:blue")
    axes.set_xlim(trace.begin, trace.end)
    axes.set_ylim(0.0, trace.length)
    axes.set_xlabel("time after the warm-up, s")
    axes.set_ylabel("place along the guide, m")
    axes.set_title(f"{trace.title}: each carrier a line", fontsize=10)
    return saved(figure, kind)


def courses(trace: Trace) -> Courses:
    """The lines of all carriers with no more points than they need, for a sheet."""
    return Courses(
        length_m=trace.length,
        seconds=trace.end - trace.begin,
        stations=tuple(StationMark(name, at) for name, at in trace.stations),
        carriers=tuple(_course(trace, carrier) for carrier in range(trace.carriers)),
    )


def _course(trace: Trace, carrier: int) -> Course:
    moves = [(t, x) for number, t, x in trace.moves if number == carrier]
    if not moves:
        return Course((), ())
    times = np.concatenate([t for t, _ in moves])
    places = np.concatenate([x for _, x in moves])
    for step in _STEPS:
        kept = _kept(times, places, step)
        if len(kept) <= _MOST_POINTS:
            break
    return Course(tuple(times[kept].round(3).tolist()), tuple(places[kept].round(4).tolist()))


def _kept(times: Array, places: Array, off: float) -> NDArray[np.intp]:
    """Points without which a line would be off by some way at some of its own, m.

    D. H. Douglas and T. K. Peucker, The Canadian Cartographer 10 (1973) 112-122, with the distance
    taken along the places.
    """
    kept, spans = {0, len(times) - 1}, [(0, len(times) - 1)]
    while spans:
        a, b = spans.pop()
        if b - a < 2:
            continue
        line = np.interp(times[a : b + 1], times[[a, b]], places[[a, b]])
        wrong = np.abs(line - places[a : b + 1])
        worst = a + int(np.argmax(wrong))
        if wrong.max() > off:
            kept.add(worst)
            spans += [(a, worst), (worst, b)]
    return np.array(sorted(kept))


def _line(trace: Trace, carrier: int) -> tuple[Array, Array]:
    """One carrier's line, broken where it comes round to the start of the loop."""
    moves = [(t, x) for number, t, x in trace.moves if number == carrier]
    if not moves:
        return np.zeros(0), np.zeros(0)
    times = np.concatenate([t for t, _ in moves])
    places = np.concatenate([x for _, x in moves])
    laps = np.floor(places / trace.length)
    turns = np.flatnonzero(np.diff(laps) > 0) + 1
    shown = places - laps * trace.length
    # To the end of the loop and on from its start, with nothing in between.
    for k in turns[::-1]:
        times = np.insert(times, k, [times[k - 1], times[k], times[k]])
        shown = np.insert(shown, k, [trace.length, np.nan, 0.0])
    return times, shown
