"""What an option may do along each axis of its settings, from the gentlest to its own limit.

What happens on straights depends on the acceleration alone, what happens in bends on the bend speed
alone. So each option has two axes, whose nodes carry all load cases. They end where the checks of
that axis end, found to a few millionths; a box of settings lies between nodes, and what it asks for
at least is the least over the nodes that it spans.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.bodies import Batch, batches
from recommender.choice.carrier.load_cases import CaseLoads, bend_loads, straight_loads
from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import BEND_CHECKS, STRAIGHT_CHECKS
from recommender.choice.checks.entry import HOLDS, Check
from recommender.choice.checks.liquid import rise_in_bends
from recommender.choice.parts.options import Option
from recommender.choice.search.grid import worst
from recommender.choice.search.screen import acceleration_range, speed_ceiling, speed_floor
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

Run = Callable[[Batch, Array], CaseLoads]

NODES = 129
"""Nodes of an axis, a power of two of steps apart, so that boxes halve along them."""

_SAMPLES = 32
_ROUNDS = 3


@dataclass(frozen=True)
class Axis:
    """One axis of one option: nodes, (nodes,), their load cases, and what these use of the checks.

    Nodes in which a check fails lie only between others that hold.
    """

    values: Array
    loads: CaseLoads
    row: int
    used: Array

    def at(self, index: NDArray[np.intp]) -> LoadTable:
        """The load cases at some nodes."""
        return LoadTable(self.loads, self.row, index)

    def between(self, first: NDArray[np.intp], last: NDArray[np.intp]) -> LoadTable:
        """The least of the load cases between some nodes."""
        return SpanTable(self.loads, self.row, first, last)

    @property
    def holds(self) -> bool:
        """Whether the checks hold in any node."""
        return bool((self.used <= HOLDS).any())


@dataclass(frozen=True)
class SpanTable(LoadTable):
    """Load cases of one option over spans of nodes: of every number the least on the span."""

    last: NDArray[np.intp]

    def pick(self, values: Array) -> Array:
        """The least along each span, (rows, ...)."""
        levels, width = [values], 1
        while 2 * width <= len(values):
            below = levels[-1]
            levels.append(np.minimum(below[: len(below) - width], below[width:]))
            width *= 2
        level = np.floor(np.log2(self.last - self.index + 1)).astype(np.intp)
        found = np.empty((len(self.index), *values.shape[1:]))
        for number in np.flatnonzero(np.bincount(level)):
            rows = np.flatnonzero(level == number)
            ahead = self.last[rows] + 1 - (1 << int(number))
            found[rows] = np.minimum(levels[number][self.index[rows]], levels[number][ahead])
        return found

    def take(self, rows: NDArray[np.intp]) -> "SpanTable":
        """The table for some of its rows."""
        return SpanTable(self.loads, self.option_row, self.index[rows], self.last[rows])


@dataclass(frozen=True)
class Axes:
    """Both axes of an option, and the highest speed that it may run."""

    about: OptionContext
    straight: Axis
    bend: Axis
    slowest: float
    fastest: float

    @property
    def hold(self) -> bool:
        """Whether there are settings at which everything holds that needs one axis alone."""
        return self.straight.holds and self.bend.holds

    @cached_property
    def waves(self) -> Array:
        """Rise that the bends alone raise at each node of the bend speed, over the freeboard.

        0 where there is no liquid.
        """
        liquid, bends = self.about.case.load.liquid, self.bend.values
        if liquid is None:
            return np.zeros(len(bends))
        every, same = np.arange(len(bends)), np.zeros(len(bends), dtype=np.intp)
        gentle = np.full(len(bends), self.straight.values[0])
        settings = Settings(gentle, gentle / self.about.rules.ramp_time, bends, bends)
        setting = SettingContext(self.about, settings, self.straight.at(same), self.bend.at(every))
        return rise_in_bends(setting) / liquid.freeboard

    def within(
        self, accelerations: tuple[float, float], bend_speeds: tuple[float, float]
    ) -> "Axes":
        """The axes cut down to a part of each, with as many nodes."""
        alone = self.about.alone
        straight = _axis_of(alone, straight_loads, STRAIGHT_CHECKS, *_one(*accelerations))
        bend = _axis_of(alone, bend_loads, BEND_CHECKS, *_one(*bend_speeds))
        return Axes(self.about, straight, bend, self.slowest, self.fastest)


def axes_of(options: Sequence[Option], case: Case, catalogue: Catalogue) -> Iterator[Axes]:
    """The axes of every option, batch by batch.

    Parameters
    ----------
    options : sequence of Option
    case : Case
    catalogue : Catalogue
    """
    for batch in batches(options, case, catalogue.rules):
        straight = _batch_axis(batch, straight_loads, STRAIGHT_CHECKS, *acceleration_range(batch))
        floor, ceiling = speed_floor(batch), speed_ceiling(batch)
        bend = _batch_axis(batch, bend_loads, BEND_CHECKS, floor, ceiling)
        for row, option in enumerate(batch.options):
            yield Axes(
                OptionContext(option, case, catalogue),
                _row_of(straight, row),
                _row_of(bend, row),
                float(floor[row, 0]),
                float(ceiling[row, 0]),
            )


def _one(least: float, greatest: float) -> tuple[Array, Array]:
    return np.array([[least]]), np.array([[greatest]])


def _row_of(axis: tuple[Array, CaseLoads, Array], row: int) -> Axis:
    values, loads, used = axis
    return Axis(values[row], loads, row, used[row])


def _axis_of(
    batch: Batch, run: Run, checks: tuple[Check[CaseLoads], ...], least: Array, greatest: Array
) -> Axis:
    return _row_of(_nodes(batch, run, checks, least, greatest), 0)


def _batch_axis(
    batch: Batch, run: Run, checks: tuple[Check[CaseLoads], ...], least: Array, greatest: Array
) -> tuple[Array, CaseLoads, Array]:
    """Nodes from the least setting to the last one that holds, (options, nodes)."""
    return _nodes(batch, run, checks, least, _last_holding(batch, run, checks, least, greatest))


def _nodes(
    batch: Batch, run: Run, checks: tuple[Check[CaseLoads], ...], least: Array, greatest: Array
) -> tuple[Array, CaseLoads, Array]:
    values = least * (greatest / least) ** np.linspace(0.0, 1.0, NODES)
    # The power leaves the ends a rounding away from where they were found to hold.
    values[:, :1], values[:, -1:] = least, greatest
    loads = run(batch, values)
    return values, loads, worst(checks, loads)


def _last_holding(
    batch: Batch, run: Run, checks: tuple[Check[CaseLoads], ...], least: Array, greatest: Array
) -> Array:
    """The greatest setting at which the checks hold, (options, 1), to some millionths of itself.

    Where they hold nowhere among the samples it is the end of the axis: there is nothing to find.
    """
    low, high = least, greatest
    for number in range(_ROUNDS + 1):
        tried = low * (high / low) ** np.linspace(0.0, 1.0, _SAMPLES)
        tried[:, :1], tried[:, -1:] = low, high
        holds = worst(checks, run(batch, tried)) <= HOLDS
        last = np.where(holds.any(axis=1), _SAMPLES - 1 - np.argmax(holds[:, ::-1], axis=1), -1)
        if number == 0:
            never = (last < 0)[:, None]
        rows = np.arange(len(tried))
        low = tried[rows, np.maximum(last, 0)][:, None]
        high = tried[rows, np.minimum(last + 1, _SAMPLES - 1)][:, None]
    return np.where(never, greatest, low)
