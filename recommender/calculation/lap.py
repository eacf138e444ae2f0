"""One lap of a carrier in time, with the force of its drive and the loads of its rollers."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np

from recommender.choice.carrier.load_cases import CaseLoads, straight_loads
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.wear import roller_names
from recommender.physics.bearings import static_equivalent_load
from recommender.physics.constants import Array
from recommender.physics.profile import leg_segments
from recommender.results.calculation import LapCurve, RollerCurve

_PER_PHASE: Final = 6
_DIGITS: Final = 5
_STILL: Final = 1e-9


@dataclass(frozen=True)
class Piece:
    """A piece of a lap: what the carrier does there, sampled; times from its own start, s.

    ``kind`` is ``straight``, ``standing`` or that of a load case in bends. ``half`` is 0 from the
    front straight to the end of the first bend, and 1 after it; ``share`` says how far round a bend
    the carrier is, ``station`` where it stands.
    """

    kind: str
    half: int
    time: Array
    way: Array
    speed: Array
    acceleration: Array
    share: Array
    station: str = ""


@dataclass(frozen=True)
class Lap:
    """Pieces of a lap one after the other, and what it was worked out from."""

    layout: LayoutContext
    pieces: tuple[Piece, ...]

    def told(self) -> LapCurve:
        """The lap as an answer holds it."""
        starts = np.cumsum([0.0, *(piece.time[-1] for piece in self.pieces)])
        ways = np.cumsum([self.layout.on.overhang, *(piece.way[-1] for piece in self.pieces)])
        times = [start + piece.time for start, piece in zip(starts, self.pieces, strict=False)]
        places = [start + piece.way for start, piece in zip(ways, self.pieces, strict=False)]
        forces = [self._force(piece) for piece in self.pieces]
        return LapCurve(
            time_s=rounded(np.concatenate(times)),
            at_m=rounded(np.concatenate(places)),
            speed_m_s=rounded(np.concatenate([piece.speed for piece in self.pieces])),
            acceleration_m_s2=rounded(
                np.concatenate([piece.acceleration for piece in self.pieces])
            ),
            force_n=rounded(np.concatenate(forces)),
        )

    @property
    def _bend(self) -> CaseLoads:
        return self.layout.setting.bend.alone()

    def _columns(self, loads: CaseLoads, piece: Piece) -> list[list[int]]:
        """The load cases of each sample of a piece; the worst of them counts."""
        if piece.kind in ("straight", "standing"):
            process = [
                k
                for k in loads.of_kind("process")
                if loads.directions[k].station == piece.station and piece.station
            ]
            if process:
                return [[process[min(piece.half, len(process) - 1)]]] * len(piece.time)
            kinds = np.where(
                piece.acceleration > _STILL,
                "speeding up",
                np.where(
                    (piece.acceleration < -_STILL) | (piece.kind == "standing"),
                    "braking",
                    "cruising",
                ),
            )
            return [[self._run(loads, str(kind), piece.half)] for kind in kinds]
        columns = loads.of_kind(piece.kind)
        if piece.kind == "turning":
            return [[self._round(columns, piece.half, share)] for share in piece.share]
        half = len(columns) // 2 if len(columns) > 2 else 0
        ends = columns[piece.half * half : piece.half * half + half] if half else columns
        return [ends] * len(piece.time)

    @staticmethod
    def _run(loads: CaseLoads, kind: str, half: int) -> int:
        """A load case on the upper or the lower run of an upright loop, or the only one."""
        columns = loads.of_kind(kind)
        return columns[min(half, len(columns) - 1)]

    @staticmethod
    def _round(columns: list[int], half: int, share: float) -> int:
        """The nearest of the places of a bend that are looked at."""
        each = len(columns) // 2 if len(columns) > 1 else 1
        if each == 1:
            return columns[0]
        return columns[half * each + round(share * (each - 1))]

    def _loads(self, piece: Piece) -> tuple[CaseLoads, list[int]]:
        """The load cases of a piece and the row of settings of each of its samples."""
        if piece.kind not in ("straight", "standing"):
            return self._bend, [0] * len(piece.time)
        rates = np.abs(piece.acceleration)
        loads = straight_loads(self.layout.about.alone, rates[None, :])
        return loads, list(range(len(rates)))

    def _force(self, piece: Piece) -> Array:
        """Force of the drive, N; it holds the carrier back where it is negative."""
        loads, rows = self._loads(piece)
        thrust, resistance = loads.thrust[0], loads.resistance[0]
        found = []
        for row, columns in zip(rows, self._columns(loads, piece), strict=True):
            moving = 0.0 if piece.kind == "standing" else 1.0
            sums = [thrust[row, k] + moving * resistance[row, k] for k in columns]
            found.append(max(sums, key=abs))
        return np.array(found)

    @cached_property
    def roller_loads(self) -> Array:
        """Static equivalent load of each roller at each sample, (samples, rollers), N."""
        found = []
        for piece in self.pieces:
            loads, rows = self._loads(piece)
            angle = self.layout.about.option.roller.contact_angle
            upper = static_equivalent_load(loads.rollers.radial, loads.rollers.axial, angle)
            both = np.concatenate([upper, loads.rollers.lower_radial], axis=-1)[0]
            chosen = zip(rows, self._columns(loads, piece), strict=True)
            found += [both[row, columns].max(axis=0) for row, columns in chosen]
        return np.array(found)


def rounded(values: Array) -> tuple[float, ...]:
    """Values with as many digits as a chart shows.

    Examples
    --------
    >>> rounded(np.array([1.23456789, -0.0, 98765.4321]))
    (1.2346, 0.0, 98765.0)
    """
    return tuple(float(f"{value:.{_DIGITS}g}") + 0.0 for value in values)


def lap_curve(layout: LayoutContext) -> Lap:
    """A lap of a configuration of one row of settings, from the start of the front straight on."""
    return Lap(layout, tuple(_pieces(layout)))


def _pieces(layout: LayoutContext) -> Iterator[Piece]:
    on, settings, plan = layout.on, layout.setting.settings, layout.on.plan
    limits = (float(settings.speed[0]), float(settings.acceleration[0]), float(settings.jerk[0]))
    bend_speed, half, stop = float(settings.bend_speed[0]), 0, 0
    for leg in plan.order:
        start, end = bend_speed * plan.from_bend[leg], bend_speed * plan.to_bend[leg]
        yield _leg(float(plan.distance[leg]), float(start), float(end), limits, half)
        if plan.to_bend[leg]:
            yield from _bend(layout, bend_speed, half)
            half += 1
        else:
            yield from _stand(layout, on.order[stop], half)
            stop += 1


def _leg(
    distance: float, start: float, end: float, limits: tuple[float, float, float], half: int
) -> Piece:
    profile = leg_segments(distance, start, end, *limits)
    ends = np.concatenate(([0.0], np.cumsum(profile.durations)))
    times = [np.linspace(a, b, _PER_PHASE) for a, b in pairwise(ends) if b > a]
    # Rounding must not lead beyond the end.
    time = np.minimum(np.unique(np.concatenate(times)), ends[-1])
    way, speed, acceleration = profile.sample(time)
    return Piece("straight", half, time, way, speed, acceleration, np.zeros_like(time))


def _stand(layout: LayoutContext, station: int, half: int) -> Iterator[Piece]:
    about = layout.about
    dwell = float(about.dwells[station])
    settling = float(about.occupied[station]) - dwell
    for seconds, name in ((settling, ""), (dwell, about.case.station[station].name)):
        if seconds > 0.0:
            still = np.zeros(2)
            time = np.array([0.0, seconds])
            yield Piece("standing", half, time, still, still, still, still, name)


def _bend(layout: LayoutContext, speed: float, half: int) -> Iterator[Piece]:
    """Entering, turning and leaving, at a steady speed.

    From where the front point enters until the rear one is as deep in, the load cases of entering
    hold, and likewise at the other end.
    """
    option = layout.about.option
    whole = layout.on.loop.bend + 2.0 * layout.on.overhang
    end = min(max(option.bend.transition, option.base), 0.5 * whole)
    steady = whole - 2.0 * end
    for kind, length, before in (
        ("entering", end, 0.0),
        ("turning", steady, end),
        ("leaving", end, end + steady),
    ):
        if length <= _STILL:
            continue
        way = np.linspace(0.0, length, 2 if kind != "turning" else 13)
        share = np.clip((before + way - layout.on.overhang) / layout.on.loop.bend, 0.0, 1.0)
        still = np.zeros_like(way)
        yield Piece(kind, half, way / speed, way, np.full_like(way, speed), still, share)


def roller_curves(lap: Lap) -> tuple[RollerCurve, ...]:
    """The load of each roller round a lap."""
    option = lap.layout.about.option
    uppers = lap.layout.setting.straight.loads.rollers.radial.shape[-1]
    names = roller_names(lap.layout.setting)
    curves = []
    for k, where in enumerate(names):
        roller = option.roller if k < uppers or option.lower_roller is None else option.lower_roller
        curves.append(RollerCurve(where.text, rounded(lap.roller_loads[:, k]), roller.working_load))
    return tuple(curves)
