"""Liquid in an open tray: the wave that speed changes and bends raise, against the freeboard.

A carrier that stops is taken to find its liquid calm again when it starts; what the speed changes
and bends of one move from stop to stop raise adds up without damping.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.entry import Check, CheckText, Outcome
from recommender.choice.layout import LayoutContext
from recommender.choice.setting import SettingContext
from recommender.choice.where import Where
from recommender.inputs.case import Case
from recommender.physics.constants import Array
from recommender.physics.motion import leg_peak_speed
from recommender.physics.slosh import wall_rise, wave_response
from recommender.physics.swing import acceleration_pulse
from recommender.physics.turning import entry_yaw_acceleration

Pulse = tuple[Array, Array, Array]

# The periods that a fill known to a tenth may have: a motion tuned to one of them is no safety.
_FILLS = np.array([1.0, 0.9, 0.95, 1.05, 1.1])[:, None]


def _spill(context: LayoutContext) -> Outcome | None:
    case = context.about.case
    if case.load.liquid is None or case.loop.plane == "upright":
        return None
    moves = list(_moves(context))
    rises = np.stack([_move_rise(case, *move, _FILLS[:1]) for move in moves], axis=-1)
    # The other fills are looked at only where the first one stays below the rim.
    rows = np.flatnonzero(rises.max(axis=-1) <= case.load.liquid.freeboard)
    if len(rows):
        for number, (along, across) in enumerate(moves):
            part = (_rows(along, rows), _rows(across, rows))
            rest = _move_rise(case, *part, _FILLS[1:])
            rises[rows, number] = np.maximum(rises[rows, number], rest)
    names = tuple(
        Where(station=name, words="the move to {station}") for name in _destinations(context)
    )
    return Outcome(rises, np.array(case.load.liquid.freeboard), names)


def _destinations(context: LayoutContext) -> list[str]:
    """Stations at which the moves end, in the order of the moves."""
    names = [context.about.case.station[k].name for k in context.on.order]
    return names[1:] + names[:1]


def _rows(pulses: list[Pulse], rows: NDArray[np.intp]) -> list[Pulse]:
    return [(peak[rows], ramp[rows], time[rows]) for peak, ramp, time in pulses]


def _move_rise(case: Case, along: list[Pulse], across: list[Pulse], fills: Array) -> Array:
    """Rise at the corner of the tray in one move, along and across the travel, (rows,), m."""
    liquid = case.load.liquid
    assert liquid is not None
    rise = _rise(along, liquid.length, liquid.depth * fills)
    if across:
        rise = rise + _rise(across, case.liquid_width, liquid.depth * fills)
    return rise


def _rise(pulses: list[Pulse], length: float, depth: Array) -> Array:
    """Largest rise over some depths, (rows,), m."""
    peaks, ramps, times = (np.stack(parts, axis=-1) for parts in zip(*pulses, strict=True))
    response = wave_response(peaks, ramps, times, length, depth)
    return wall_rise(response.max(axis=0), length)


def _moves(context: LayoutContext) -> Iterator[tuple[list[Pulse], list[Pulse]]]:
    """Each move from stop to stop as its pulses along and across the travel."""
    plan = context.on.plan
    stretches = [_Stretch(context, leg) for leg in plan.order]
    starts = [k for k, leg in enumerate(plan.order) if not plan.from_bend[leg]]
    count = len(stretches)
    for number, first in enumerate(starts):
        behind = starts[(number + 1) % len(starts)]
        along: list[Pulse] = []
        across: list[Pulse] = []
        for step in range((behind - first) % count or count):
            stretch = stretches[(first + step) % count]
            along += stretch.along
            if stretch.to_bend:
                along += stretch.yaw
                across.append(stretch.bend)
        yield along, across


class _Stretch:
    """One straight stretch and, if it leads into one, the bend behind it."""

    def __init__(self, context: LayoutContext, leg: int) -> None:
        lap, settings = context.lap, context.setting.settings
        limits = (settings.acceleration, settings.jerk)
        self.to_bend = bool(lap.plan.to_bend[leg])
        self.along = [
            acceleration_pulse(lap.peak[leg] - lap.start[leg], *limits),
            acceleration_pulse(lap.peak[leg] - lap.end[leg], *limits),
        ]
        self.bend, yaw = _bend_pulses(context.setting)
        self.yaw = [yaw, yaw]


def _bend_pulses(setting: SettingContext) -> tuple[Pulse, Pulse]:
    """Pulse across the travel in a bend, and the one along it at either end of the bend."""
    about, speed = setting.about, setting.settings.bend_speed
    bend, reach = about.option.bend, about.case.load.reach
    ramp = max(bend.transition, about.option.base) / speed
    centripetal = speed**2 * max(bend.radius + reach, 0.0) / bend.radius**2
    stay = np.maximum(about.bend_length / speed, ramp)
    # Off the guide line the liquid is also sped up along the travel while the carrier yaws.
    yaw = entry_yaw_acceleration(speed, bend.radius, bend.transition, about.option.base)
    return (centripetal, ramp, stay), (np.abs(yaw * reach), np.zeros_like(speed), ramp)


def rise_in_bends(setting: SettingContext) -> Array:
    """Rise that a bend alone raises, wherever the stations stand, (rows,), m.

    Every move round a bend has at least its pulses, and others only add to them.
    """
    case, settings = setting.about.case, setting.settings
    if case.load.liquid is None or case.loop.plane == "upright":
        return np.zeros(len(settings))
    # It hangs on the bend speed alone, of which there are few.
    _, first, rows = np.unique(settings.bend_speed, return_index=True, return_inverse=True)
    bend, yaw = _bend_pulses(setting.take(first))
    return np.asarray(_move_rise(case, [yaw, yaw], [bend], _FILLS)[rows])


def least_rise(setting: SettingContext, distances: Array) -> Array:
    """Rise that no place of a station behind a bend avoids, (rows,), m; 0 where nothing sloshes.

    Every lap has a move that ends at the first station behind a bend. Its bend, and the straight
    stretch from there, raise so much at least; what lies before adds to it.

    Parameters
    ----------
    setting : SettingContext
    distances : ndarray (places,), m
        Lengths that the stretch may have.
    """
    case, settings = setting.about.case, setting.settings
    if case.load.liquid is None or case.loop.plane == "upright":
        return np.zeros(len(settings))
    bend, yaw = _bend_pulses(setting)
    limits = (settings.acceleration, settings.jerk)
    least = np.full(len(settings), np.inf)
    for distance in distances:
        peak = leg_peak_speed(distance, settings.bend_speed, 0.0, settings.speed, *limits)
        runs = np.flatnonzero(~np.isnan(peak))
        if len(runs):
            pulses = [
                acceleration_pulse((peak - settings.bend_speed)[runs], *_some(limits, runs)),
                acceleration_pulse(peak[runs], *_some(limits, runs)),
            ]
            along = [*_rows([yaw, yaw], runs), *pulses]
            rise = _move_rise(case, along, _rows([bend], runs), _FILLS[:1])
            least[runs] = np.minimum(least[runs], rise)
    return least


def _some(limits: tuple[Array, Array], rows: NDArray[np.intp]) -> tuple[Array, Array]:
    return limits[0][rows], limits[1][rows]


CHECKS: tuple[Check[LayoutContext], ...] = (
    Check(
        CheckText(
            id="load.spill",
            title="Wave of the liquid at the wall",
            unit="length",
            source="linear sloshing of a rectangular tank, undamped (Abramson, NASA SP-106, 1966)",
            requirements=("load.liquid.freeboard", "rate.items"),
            evidence=("load-limits", "slosh-against-pendulum"),
            fails="the liquid rises by {demand} at the wall in {where} where {limit} are free",
        ),
        _spill,
    ),
)
