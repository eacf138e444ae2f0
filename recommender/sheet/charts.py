"""Charts of a calculation as SVG, in colours that the page sets for light and dark."""

import io
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Any, Final

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from recommender import units
from recommender.results.answer import OptionResult
from recommender.results.calculation import Calculation, LapCurve, RollerCurve
from recommender.results.doubt import Doubt
from recommender.results.loop import LoopPlan
from recommender.results.map import Map
from recommender.results.rehearsal import Course, Courses
from recommender.sheet.content import by_use
from recommender.sheet.map_chart import Palette, draw_map
from recommender.shown import escaped, shown
from recommender.views.numbers import place, quantity, raised, share

_SVG: Final = "{http://www.w3.org/2000/svg}"
_LINK: Final = "{http://www.w3.org/1999/xlink}href"
# Stand-ins that nothing else writes; the page puts its own colours in their place.
_INK, _FAINT, _LOAD, _PLATE, _STATION, _FEED, _PAPER = (f"#0{k}0{k}0{k}" for k in range(1, 8))
_COLOURS: Final = {
    _INK: "var(--ink)",
    _FAINT: "var(--faint)",
    _LOAD: "var(--load)",
    _PLATE: "var(--plate)",
    _STATION: "var(--station)",
    _FEED: "var(--feed)",
    _PAPER: "var(--paper)",
}
_LINES: Final = (
    (_PLATE, "-"),
    (_LOAD, "-"),
    (_STATION, "-"),
    (_FEED, "-"),
    (_INK, "--"),
    (_PLATE, ":"),
)
_STYLE: Final[Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "recommender",
    "font.family": "sans-serif",
    "font.size": 8.0,
    "axes.edgecolor": _FAINT,
    "axes.labelcolor": _INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.6,
    "xtick.color": _INK,
    "ytick.color": _INK,
    "text.color": _INK,
    "text.parse_math": False,
    "legend.frameon": False,
    "lines.linewidth": 1.1,
}
_WIDTH: Final = 6.9
_LONGEST: Final = 46
_MOST_LINES: Final = 6


def lap_chart(lap: LapCurve, loop: LoopPlan, prefix: str) -> str:
    """Speed, acceleration and force of the drive along one lap."""
    rows = (
        ("speed", lap.speed_m_s, "m/s", _PLATE),
        ("acceleration", lap.acceleration_m_s2, "m/s^2", _STATION),
        ("force of the drive", lap.force_n, "N", _LOAD),
    )
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDTH, 4.2), layout="constrained")
        FigureCanvasSVG(figure)
        grid = figure.subplots(3, 1, sharex=True)
        for axes, (name, values, unit, colour) in zip(grid, rows, strict=True):
            factor, written = _in_units(unit, max(map(abs, values)))
            axes.plot(lap.time_s, [factor * value for value in values], color=colour)
            axes.axhline(0.0, color=_FAINT, linewidth=0.5)
            axes.set_ylabel(f"{name}\n{written}")
            axes.margins(x=0.0)
            _bends_in_time(axes, lap, loop)
        grid[-1].set_xlabel("time from the start of the front straight, s; shaded: in a bend")
        top = grid[0].get_ylim()[1]
        for number, time in _stops(lap, loop):
            grid[0].text(time, 0.04 * top, str(number), ha="center", va="bottom", color=_FEED)
        top_speed, force = max(lap.speed_m_s), max(map(abs, lap.force_n))
        label = (
            f"Speed, acceleration and force of the drive over one lap of {lap.time_s[-1]:.2f} s:"
            f" at most {raised(quantity(top_speed, 'm/s'))} and {quantity(force, 'N')}; the numbers"
            " are stations where the carrier stands."
        )
        return _embedded(figure, prefix, label)


def _in_units(unit: str, largest: float) -> tuple[float, str]:
    """By what to multiply SI values, and the unit that they are in then."""
    other = units.shown(unit, largest)
    return (1.0, raised(unit)) if other is None else (other.per_si, raised(other.unit))


def _of_length() -> tuple[float, str]:
    """By what to multiply metres along the guide, and the unit that they are in then."""
    return (1.0, "m") if units.shown("m", 10.0) is None else (1.0 / 0.3048, "ft")


def _bends(loop: LoopPlan) -> tuple[tuple[float, float], ...]:
    """From where to where the bends go along the guide, m."""
    second = 0.5 * loop.length_m
    return (loop.straight_m, second), (second + loop.straight_m, loop.length_m)


def _bends_in_time(axes: Axes, lap: LapCurve, loop: LoopPlan) -> None:
    for first, last in _bends(loop):
        inside = [t for t, at in zip(lap.time_s, lap.at_m, strict=True) if first <= at <= last]
        if inside:
            axes.axvspan(inside[0], inside[-1], color=_FAINT, alpha=0.12, linewidth=0.0)


def _stops(lap: LapCurve, loop: LoopPlan) -> Iterator[tuple[int, float]]:
    """Number of each station, and the middle of the time that a carrier stands there."""
    for number, station in enumerate(loop.stations, start=1):
        there = [
            time
            for time, at, speed in zip(lap.time_s, lap.at_m, lap.speed_m_s, strict=True)
            if speed == 0.0 and abs(at - station.at_m) < 2e-3 * max(1.0, station.at_m)
        ]
        if there:
            yield number, 0.5 * (there[0] + there[-1])


def roller_chart(
    rollers: tuple[RollerCurve, ...], lap: LapCurve, loop: LoopPlan, prefix: str
) -> str:
    """Load of the rollers round the loop."""
    lines = _most_loaded(rollers)
    largest = max(max(values) for _, values in lines)
    force, written = _in_units("N", largest)
    metre, length = _of_length()
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDTH, 3.0), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots()
        places = [metre * at for at in lap.at_m]
        for (name, values), (colour, line) in zip(lines, _LINES, strict=False):
            axes.plot(places, [force * v for v in values], color=colour, linestyle=line, label=name)
        for first, last in _bends(loop):
            axes.axvspan(metre * first, metre * last, color=_FAINT, alpha=0.12, linewidth=0.0)
        axes.set_ylim(bottom=0.0)
        axes.margins(x=0.0)
        axes.set_ylabel(f"static equivalent load\n{written}")
        axes.set_xlabel(f"place along the guide, {length}; shaded: a bend")
        figure.legend(loc="outside upper center", ncols=3, fontsize=7.0)
        name, values = max(lines, key=lambda entry: max(entry[1]))
        limit = next(
            roller.working_load_n for roller in rollers if max(roller.load_n) == max(values)
        )
        label = (
            f"Load of the rollers round the loop while it runs as planned: at most"
            f" {quantity(max(values), 'N')}, {name}, of {quantity(limit, 'N')} that the catalogue"
            " allows; emergency stops, which load them more, are in the checks."
        )
        return _embedded(figure, prefix, label)


def _most_loaded(rollers: tuple[RollerCurve, ...]) -> list[tuple[str, tuple[float, ...]]]:
    """Each roller; where there are too many lines, the most loaded one of each truck and guide."""
    if len(rollers) <= _MOST_LINES:
        return [(roller.roller, roller.load_n) for roller in rollers]
    groups: dict[str, list[tuple[float, ...]]] = {}
    for roller in rollers:
        truck = roller.roller.partition(",")[0]
        level = "lower rollers" if "lower" in roller.roller else "upper rollers"
        groups.setdefault(f"{truck}, {level}", []).append(roller.load_n)
    return [
        (name, tuple(max(values) for values in zip(*members, strict=True)))
        for name, members in groups.items()
    ]


def use_chart(choice: OptionResult, prefix: str) -> str:
    """How much of its limit each check uses."""
    checks = by_use(choice.checks)
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDTH, 0.4 + 0.175 * len(checks)), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots()
        used = [min(check.utilisation, 1.5) for check in checks]
        rows = range(len(checks))
        axes.barh(rows, used, height=0.62, color=[_PLATE if c.ok else _LOAD for c in checks])
        axes.axvline(1.0, color=_INK, linewidth=0.8)
        for row, check in zip(rows, checks, strict=True):
            axes.text(used[row] + 0.01, row, share(check.utilisation), va="center", fontsize=7.0)
        axes.set_yticks(rows, [shown(check.title, _LONGEST) for check in checks], fontsize=7.0)
        axes.invert_yaxis()
        axes.margins(y=0.01)
        axes.set_xlim(0.0, max(1.1, *used))
        axes.set_xticks([0.0, 0.25, 0.5, 0.75, 1.0], ["0", "25 %", "50 %", "75 %", "100 %"])
        first = checks[0]
        label = (
            f"Use of each of {len(checks)} checks, demand over limit; the most, {first.title}, uses"
            f" {share(first.utilisation)}."
        )
        return _embedded(figure, prefix, label)


def power_chart(loop: LoopPlan, prefix: str) -> str:
    """Mean and peak power of each supply against what it gives."""
    rows = []
    for run in loop.supplies:
        last = (run.first_section + run.sections - 2) % len(loop.ring) + 1
        where = f"{run.id}, sections {run.first_section} to {last}"
        rows.append((f"{where}: mean", run.mean_w, run.mean_limit_w, _PLATE))
        rows.append((f"{where}: peak", run.peak_w, run.peak_limit_w, _LOAD))
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDTH, 0.6 + 0.26 * len(rows)), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots()
        for row, (_, drawn, limit, colour) in enumerate(rows):
            axes.barh(row, limit, height=0.7, color=_FAINT, alpha=0.2)
            axes.barh(row, drawn, height=0.5, color=colour)
            text = f" {quantity(drawn, 'W')} of {quantity(limit, 'W')}"
            axes.text(limit, row, text, va="center", fontsize=7.0)
        axes.set_yticks(range(len(rows)), [shown(row[0], _LONGEST) for row in rows], fontsize=7.0)
        axes.invert_yaxis()
        axes.set_xlim(0.0, 1.25 * max(row[2] for row in rows))
        axes.set_xlabel("power, W; pale: what the supply gives")
        most = max(loop.supplies, key=lambda run: run.mean_w / run.mean_limit_w)
        label = (
            f"Mean and peak power of {len(loop.supplies)} supplies; the one that is used most gives"
            f" {quantity(most.mean_w, 'W')} of {quantity(most.mean_limit_w, 'W')} on average."
        )
        return _embedded(figure, prefix, label)


def course_chart(found: Courses, prefix: str) -> str:
    """Position against time, each carrier a line."""
    metre, length = _of_length()
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDTH, 3.8), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots()
        for number, line in enumerate(found.carriers):
            colour = (_PLATE, _LOAD, _STATION, _FEED)[number % 4]
            times, places = _broken(line, found.length_m)
            axes.plot(times, [metre * at for at in places], color=colour, linewidth=0.9)
        for station in found.stations:
            axes.axhline(metre * station.at_m, color=_FAINT, linewidth=0.5, linestyle=":")
            name = shown(station.name, _LONGEST)
            axes.text(found.seconds, metre * station.at_m, f" {name}", va="center", fontsize=7.0)
        axes.set_xlim(0.0, found.seconds)
        axes.set_ylim(0.0, metre * found.length_m)
        axes.set_xlabel("time after the warm-up, s")
        axes.set_ylabel(f"place along the guide, {length}")
        label = (
            f"Position against time of {len(found.carriers)} carriers for {found.seconds:.0f} s of"
            f" the rehearsal, on {place(found.length_m)} of guide; each is a line, and level where"
            " it stands."
        )
        return _embedded(figure, prefix, label)


def _broken(line: Course, length: float) -> tuple[list[float], list[float]]:
    """A carrier's line, broken where it comes round to the start of the loop."""
    times, places, lap = list[float](), list[float](), 0
    last_time = last_place = 0.0
    for number, (time, at) in enumerate(zip(line.time_s, line.place_m, strict=True)):
        if number == 0:
            lap = int(at // length)
        elif at >= (lap + 1) * length:
            way = ((lap + 1) * length - last_place) / max(at - last_place, 1e-9)
            turn = last_time + way * (time - last_time)
            lap = int(at // length)
            times += [turn, turn, turn]
            places += [length, float("nan"), 0.0]
        last_time, last_place = time, at
        times.append(time)
        places.append(at - lap * length)
    return times, places


def share_chart(found: Doubt, prefix: str) -> str:
    """How much of the variance each input explains alone."""
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDTH, 0.6 + 0.26 * len(found.inputs)), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots()
        rows = range(len(found.inputs))
        axes.barh(rows, [100.0 * entry.share for entry in found.inputs], height=0.6, color=_PLATE)
        for row, entry in zip(rows, found.inputs, strict=True):
            text = f" {100.0 * entry.share:.1f} %"
            axes.text(100.0 * entry.share, row, text, va="center", fontsize=7.0)
        names = [shown(f"{entry.key}, {entry.taken}", _LONGEST) for entry in found.inputs]
        axes.set_yticks(rows, names, fontsize=7.0)
        axes.invert_yaxis()
        axes.set_xlim(0.0, max(1.0, 118.0 * max(entry.share for entry in found.inputs)))
        axes.set_xlabel(f"share of the variance of {found.measured}, %")
        first = found.inputs[0]
        label = (
            f"How much each of {len(found.inputs)} inputs alone explains of {found.measured}; the"
            f" most, {first.key}, {100.0 * first.share:.1f} %."
        )
        return _embedded(figure, prefix, label)


def map_chart(found: Map, prefix: str) -> str:
    """What is cheapest over two inputs."""
    palette = Palette(_INK, _FAINT, _PAPER, _FEED, (_PLATE, _LOAD, _STATION, _FAINT))
    with mpl.rc_context({**_STYLE, "hatch.linewidth": 0.5}):
        figure = Figure(figsize=(_WIDTH, 4.6), layout="constrained")
        FigureCanvasSVG(figure)
        draw_map(figure, found, palette, titled=False)
        none = sum(cell.option is None for cell in found.cells)
        label = (
            f"What is cheapest by {found.first.key} and {found.second.key}:"
            f" {len(found.options)} options, and nothing works in"
            f" {share(none / len(found.cells))} of the map."
        )
        return _embedded(figure, prefix, label)


def charts(choice: OptionResult, calculation: Calculation | None) -> list[tuple[str, str]]:
    """Titles and SVG of all charts; those of a lap only where it was worked out."""
    loop = choice.loop
    assert loop is not None
    found = []
    if calculation is not None:
        lap = calculation.lap
        found += [
            ("One lap", lap_chart(lap, loop, "lap")),
            ("Load of the rollers", roller_chart(calculation.rollers, lap, loop, "rollers")),
        ]
    return [
        *found,
        ("Use of the checks", use_chart(choice, "use")),
        ("Power of the supplies", power_chart(loop, "power")),
    ]


def _embedded(figure: Figure, prefix: str, label: str) -> str:
    """A figure as an SVG element of a page: its ids its own, its colours the page's."""
    out = io.BytesIO()
    figure.savefig(out, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    root = ET.fromstring(out.getvalue())
    for parent in root.iter():
        for child in list(parent):
            if child.tag in (f"{_SVG}metadata", f"{_SVG}style"):
                parent.remove(child)
    for element in root.iter():
        element.tag = element.tag.removeprefix(_SVG)
        if (link := element.attrib.pop(_LINK, None)) is not None:
            element.set("href", f"#{prefix}-{link[1:]}")
        for name, value in list(element.attrib.items()):
            if name == "id":
                element.set(name, f"{prefix}-{value}")
            element.set(name, _own(element.attrib[name], prefix))
    # The size is the page's to choose.
    for name in ("width", "height", "version"):
        root.attrib.pop(name, None)
    root.set("xmlns", "http://www.w3.org/2000/svg")
    root.set("role", "img")
    root.set("class", "chart")
    root.set("aria-label", escaped(label))
    return ET.tostring(root, encoding="unicode")


def _own(value: str, prefix: str) -> str:
    for colour, name in _COLOURS.items():
        value = value.replace(colour, name)
    return value.replace("url(#", f"url(#{prefix}-")
