"""Power that the carriers of a run draw from each supply, added up over time.

A carrier draws from the sections under its magnets: at every sample its power is shared out among
the supplies by how much of its magnets is over their sections. In a bend it draws what the answer
counts there (`recommender.choice.loop.power.bend_powers`), with the forces of bend speed at any
speed, which is safe. Samples are `GRID` apart, and a move is taken to begin at the nearest one.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.power import bend_motor_constant, motor_constant
from recommender.physics.constants import Array
from recommender.physics.drive import copper_loss
from recommender.physics.supply import electrical_power
from recommender.trials.guard import Move
from recommender.trials.path import GRID, Path
from recommender.trials.track import Track


@dataclass(frozen=True)
class Drawing:
    """What one carrier draws on one loop, and from which supply.

    ``runs`` are the beginning and end of what each supply serves, m; the end may lie in the next
    lap.
    """

    layout: LayoutContext
    track: Track
    runs: tuple[tuple[float, float], ...]

    @cached_property
    def _magnets(self) -> list[tuple[float, float]]:
        """From where to where the magnets lie, from the carrier's middle, m."""
        carrier = self.layout.about.option.carrier
        half = 0.5 * carrier.magnet_length
        if carrier.coupling_distance is None:
            return [(-half, half)]
        off = 0.5 * carrier.coupling_distance
        return [(-off - half, half - off), (off - half, off + half)]

    def shares(self, at: Array) -> Array:
        """Share of a carrier's power that each supply gives, (supplies, samples)."""
        length, found = self.track.length, np.zeros((len(self.runs), len(at)))
        if len(self.runs) == 1:
            return found + 1.0
        for low, high in self._magnets:
            for number, (start, end) in enumerate(self.runs):
                for lap in (-1.0, 0.0, 1.0, 2.0):
                    a, b = start + lap * length, end + lap * length
                    over = np.minimum(at + high, b) - np.maximum(at + low, a)
                    found[number] += np.maximum(over, 0.0) / (high - low)
        return found / len(self._magnets)

    @cached_property
    def _forces(self) -> tuple[float, float, float, float, float, float]:
        """Resistance while speed changes and at a steady one, and in bends the forces of entering,
        turning and leaving, and the resistance there, N."""
        setting, bend = self.layout.setting, self.layout.setting.bend
        return (
            float(setting.up_resistance[0]),
            float(setting.cruise_resistance[0]),
            float(bend.strongest("entering")[0]),
            float(bend.strongest("turning")[0]),
            float(bend.strongest("leaving")[0]),
            float(bend.resistance("leaving")[0]),
        )

    @cached_property
    def _constants(self) -> tuple[float, float]:
        """Motor constant of a carrier on straights and in bends, N/√W."""
        setting = self.layout.setting
        return float(motor_constant(setting)), float(bend_motor_constant(setting))

    def power(self, path: Path) -> Array:
        """Power on a way from every supply, (supplies, samples), W."""
        at, speed, acceleration = (values[:-1] for values in path.samples)
        about, (pushed, steady, *_) = self.layout.about, self._forces
        resistance = np.where(np.abs(acceleration) > 1e-9, pushed, steady)
        force = about.mass * acceleration + np.where(speed > 0.0, resistance, 0.0)
        drawn = electrical_power(
            force, speed, self._constants[0], recovered_share=about.rules.recovered
        )
        for start, end in self.track.slow:
            for lap in (-1.0, 0.0, 1.0):
                first = start + lap * self.track.length
                if at[-1] < first or at[0] > first + end - start:
                    continue
                inside = slice(*np.searchsorted(at, (first, first + end - start)))
                bent = self._in_bend(at[inside] - first, speed[inside], force[inside], end - start)
                drawn[inside] = np.maximum(drawn[inside], bent)
        # The last sample stands for what is left of a way only.
        drawn[-1] *= (path.times[-1] - path.times[-2]) / GRID
        return np.asarray(drawn * self.shares(at))

    def _in_bend(self, since: Array, speed: Array, force: Array, length: float) -> Array:
        option, (_, constant) = self.layout.about.option, self._constants
        counted = max(option.bend.transition, option.base)
        _, _, entering, turning, leaving, resistance = self._forces
        pulling = np.where(since < counted, entering, turning)
        drawn = np.where(
            since > length - counted,
            float(copper_loss(leaving, constant)) + resistance * speed,
            electrical_power(pulling, speed, constant),
        )
        own = electrical_power(force, speed, constant)
        return np.where(speed > 0.0, np.maximum(drawn, own), 0.0)


class Meter:
    """Adds up the power of all carriers of one run; ``watch`` is for its floor."""

    def __init__(self, drawing: Drawing, seconds: float) -> None:
        self.drawing = drawing
        self.sums: NDArray[np.float32] = np.zeros(
            (len(drawing.runs), int(np.ceil(seconds / GRID)) + 1), dtype=np.float32
        )
        self._kept: dict[int, tuple[Path, NDArray[np.float32]]] = {}
        self.moves = 0

    def watch(self, carrier: int, move: Move) -> None:
        """Add a move that was made."""
        del carrier
        since, _, path = move
        self.moves += 1
        kept = self._kept.get(id(path))
        if kept is None:
            kept = path, self.drawing.power(path).astype(np.float32)
            if path.kept:
                self._kept[id(path)] = kept
        first = round(since / GRID)
        last = min(first + kept[1].shape[1], self.sums.shape[1])
        if last > first:
            self.sums[:, first:last] += kept[1][:, : last - first]

    def hold(self, at: float, power: float, begin: float, end: float) -> None:
        """Add what a carrier draws that is held against a force."""
        shares = self.drawing.shares(np.array([at]))
        first, last = round(begin / GRID), min(round(end / GRID), self.sums.shape[1])
        if last > first:
            self.sums[:, first:last] += (shares * power).astype(np.float32)

    def read(self, begin: float, end: float) -> tuple[Array, Array]:
        """Mean and peak power of every supply between two instants, (supplies,), W."""
        part = self.sums[:, round(begin / GRID) : round(end / GRID)]
        return part.mean(axis=1, dtype=np.float64), np.asarray(part.max(axis=1), dtype=np.float64)
