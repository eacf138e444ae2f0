"""Liquid in an open tray: the wave that speed changes and bends raise, against the freeboard.

What the speed changes and bends of one move from stop to stop raise adds up without damping. On top
comes what all earlier moves of this lap and of the laps before have left: it dies out by the
friction of the liquid at the walls, while the tray travels and stands, and meets the move in the
unluckiest phase.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import HOLDS, Check, CheckText, Outcome
from recommender.choice.loop.layout import LayoutContext
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Rules
from recommender.physics.constants import Array
from recommender.physics.slosh import wall_rise, wave_response
from recommender.physics.slosh_decay import Move, waves_of_laps
from recommender.physics.swing import acceleration_pulse
from recommender.physics.turning import entry_yaw_acceleration

Pulse = tuple[Array, Array, Array]

# The periods that a fill known to a tenth may have: a motion tuned to one of them is no safety.
_FILLS = np.array([1.0, 0.9, 0.95, 1.05, 1.1])[:, None]


def _spill(context: LayoutContext) -> Outcome | None:
    case = context.about.case
    if case.load.liquid is None or case.loop.plane == "upright":
        return None
    trip = _Trip.of(context)
    rises = trip.rises(case, context.about.rules, _FILLS[:1])
    # The other fills are looked at only where the first one stays below the rim.
    rows = np.flatnonzero(rises.max(axis=-1) <= case.load.liquid.freeboard)
    if len(rows):
        rest = trip.take(rows).rises(case, context.about.rules, _FILLS[1:])
        rises[rows] = np.maximum(rises[rows], rest)
    names = tuple(
        Where(station=name, words="the move to {station}") for name in _destinations(context)
    )
    return Outcome(rises, np.array(case.load.liquid.freeboard), names)


def calm(context: LayoutContext) -> NDArray[np.bool_] | None:
    """Whether each row stays below the rim if earlier moves leave nothing; ``None`` if all do.

    It is told quickly, and most rows spill by it.
    """
    case = context.about.case
    if case.load.liquid is None or case.loop.plane == "upright":
        return None
    trip, most = _Trip.of(context), HOLDS * case.load.liquid.freeboard
    rows = np.arange(len(context.setting.settings))
    # What spills in one move is not looked at in the others.
    for move in range(len(trip.duration)):
        rows = rows[trip.own_rise(move, case, rows) <= most]
    still = np.zeros(len(context.setting.settings), dtype=np.bool_)
    still[rows] = True
    return still


def _destinations(context: LayoutContext) -> list[str]:
    """Stations at which the moves end, in the order of the moves."""
    names = [context.about.case.station[k].name for k in context.on.order]
    return names[1:] + names[:1]


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


@dataclass(frozen=True)
class _Timed:
    """Pulses of a move along one axis, (rows, n), and when each is over, s from its start."""

    peaks: Array
    ramps: Array
    times: Array
    ends: Array

    @staticmethod
    def of(pulses: list[tuple[Pulse, Array]], rows: int) -> "_Timed":
        """From pulses with their ends."""
        if not pulses:
            return _Timed(*(np.zeros((rows, 0)),) * 4)
        columns = zip(*((*pulse, end) for pulse, end in pulses), strict=True)
        return _Timed(*(np.stack(values, axis=-1) for values in columns))

    def take(self, rows: NDArray[np.intp]) -> "_Timed":
        """Some of the rows."""
        return _Timed(self.peaks[rows], self.ramps[rows], self.times[rows], self.ends[rows])


@dataclass(frozen=True)
class _Trip:
    """The moves of a lap from stop to stop, along and across the travel.

    ``duration`` holds the time of each move, (rows,), and ``stop`` that of the stop before it,
    which is the dwell alone: waiting and settling only calm.
    """

    along: tuple[_Timed, ...]
    across: tuple[_Timed, ...]
    duration: tuple[Array, ...]
    stop: tuple[Array, ...]

    @staticmethod
    def of(context: LayoutContext) -> "_Trip":
        """The moves in the order in which a carrier makes them."""
        plan, lap, rows = context.on.plan, context.lap, len(context.setting.settings)
        stretches = [_Stretch(context, leg) for leg in plan.order]
        turning = 0.5 * context.on.bend_travel / context.setting.settings.bend_speed
        time = lap.up_time + lap.down_time + lap.cruise / lap.peak
        starts = [k for k, leg in enumerate(plan.order) if not plan.from_bend[leg]]
        moves = []
        for number, first in enumerate(starts):
            behind = starts[(number + 1) % len(starts)]
            clock = np.zeros(rows)
            along: list[tuple[Pulse, Array]] = []
            across: list[tuple[Pulse, Array]] = []
            for step in range((behind - first) % len(stretches) or len(stretches)):
                place = (first + step) % len(stretches)
                leg, stretch = plan.order[place], stretches[place]
                up, down = stretch.along
                along.append((up, clock + lap.up_time[leg]))
                clock = clock + time[leg]
                along.append((down, clock))
                if stretch.to_bend:
                    clock = clock + turning
                    along += [(pulse, clock) for pulse in stretch.yaw]
                    across.append((stretch.bend, clock))
            moves.append((_Timed.of(along, rows), _Timed.of(across, rows), clock))
        alongs, acrosses, durations = zip(*moves, strict=True)
        stations = context.about.case.station
        dwells = tuple(np.full(rows, stations[k].dwell) for k in context.on.order)
        return _Trip(alongs, acrosses, durations, dwells)

    def take(self, rows: NDArray[np.intp]) -> "_Trip":
        """Some of the rows."""
        return _Trip(
            tuple(chain.take(rows) for chain in self.along),
            tuple(chain.take(rows) for chain in self.across),
            tuple(time[rows] for time in self.duration),
            tuple(time[rows] for time in self.stop),
        )

    def rises(self, case: Case, rules: Rules, fills: Array) -> Array:
        """Rise at the corner of the tray in each move over some fills, (rows, moves), m."""
        liquid = case.load.liquid
        assert liquid is not None
        viscosity, depth = _viscosity(case, rules), liquid.depth * fills
        axes = (
            (self.along, liquid.length, case.liquid_width),
            (self.across, case.liquid_width, liquid.length),
        )
        total: Array = np.zeros(())
        for chains, length, width in axes:
            left = waves_of_laps(self._moves(chains), length, width, depth, viscosity)
            rises = [
                wall_rise((self._own(chain, length, depth) + wave).max(axis=0), length)
                for chain, wave in zip(chains, left, strict=True)
            ]
            total = total + np.stack(rises, axis=-1)
        return np.asarray(total)

    def own_rise(self, move: int, case: Case, rows: NDArray[np.intp]) -> Array:
        """Rise that a move alone raises at the usual fill, for some rows, (those rows,), m."""
        liquid = case.load.liquid
        assert liquid is not None
        axes = (self.along, liquid.length), (self.across, case.liquid_width)
        depth, total = liquid.depth * _FILLS[:1], np.zeros(len(rows))
        for chains, length in axes:
            response = self._own(chains[move].take(rows), length, depth)
            total = total + wall_rise(response[0], length)
        return total

    def _own(self, chain: _Timed, length: float, depth: Array) -> Array:
        return wave_response(chain.peaks, chain.ramps, chain.times, length, depth)

    def _moves(self, chains: tuple[_Timed, ...]) -> list[Move]:
        return [
            Move(
                chain.peaks,
                chain.ramps,
                chain.times,
                np.maximum(duration[:, None] - chain.ends, 0.0),
                duration,
                stop,
            )
            for chain, duration, stop in zip(chains, self.duration, self.stop, strict=True)
        ]


def _viscosity(case: Case, rules: Rules) -> float:
    liquid = case.load.liquid
    given = None if liquid is None else liquid.viscosity
    return rules.liquid_viscosity if given is None else given


class _Stretch:
    """One straight stretch and, if it leads into one, the bend behind it."""

    def __init__(self, context: LayoutContext, leg: int) -> None:
        lap, settings = context.lap, context.setting.settings
        limits = (settings.acceleration, settings.jerk)
        self.to_bend = bool(lap.plan.to_bend[leg])
        self.along = (
            acceleration_pulse(lap.peak[leg] - lap.start[leg], *limits),
            acceleration_pulse(lap.peak[leg] - lap.end[leg], *limits),
        )
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


CHECKS: tuple[Check[LayoutContext], ...] = (
    Check(
        CheckText(
            id="load.spill",
            title="Wave of the liquid at the wall",
            unit="length",
            source="linear sloshing of a rectangular tank (Abramson, NASA SP-106, 1966), undamped"
            " within a move; earlier moves decayed by friction at the walls (Keulegan, 1959)",
            requirements=("load.liquid.freeboard", "rate.items"),
            evidence=("load-limits", "slosh-against-pendulum", "slosh-over-laps"),
            fails="in {where} the liquid rises by {demand} at the wall, {excess} than is free",
            together="the liquid would rise by {demand}, where {limit} are free",
            quicker="the liquid would spill",
        ),
        _spill,
    ),
)
