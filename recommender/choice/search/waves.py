"""Settings to look at where a liquid is carried: how high its waves rise is no monotone thing.

A speed change whose ramp lasts a whole period of the liquid leaves hardly a wave, and a lap without
speed changes before its bends raises fewer of them. So settings are taken from all accelerations
and bend speeds, built up at once or in a period along the tray or across it, up to speeds that are
those of the bends or some more.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import SETTING_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.loop.takt import takt_used
from recommender.choice.search.axes import Axes, Axis
from recommender.choice.search.grid import jerk_for
from recommender.choice.search.screen import fastest
from recommender.physics.constants import Array
from recommender.physics.slosh import sloshing_period

_ACCELERATIONS: Final = 24
_BEND_SPEEDS: Final = 16
_FASTER: Final = np.array([1.0, 1.25, 1.6, 2.2, 4.0, 100.0])
"""Top speeds over the bend speed; the last is as fast as there is force for."""


class Sample(NamedTuple):
    """Settings of an option, and what they use at most of what needs no loop, (rows,)."""

    setting: SettingContext
    used: Array

    @property
    def in_time(self) -> "Sample":
        """Those that are quick enough for the takt on some loop."""
        setting, used = self
        rows = np.flatnonzero(takt_used(setting.about, setting.settings) <= HOLDS)
        return Sample(setting.take(rows), used[rows])


def sampled(axes: Axes, closeness: float = 1.0) -> Sample:
    """Settings of an option that carries a liquid in which all holds that needs no loop.

    Parameters
    ----------
    axes : Axes
        With something that holds.
    closeness : float
        How many times as many accelerations and bend speeds are looked at.
    """
    about, liquid = axes.about, axes.about.case.load.liquid
    assert liquid is not None
    sizes = np.array([liquid.length, about.case.liquid_width])
    # None is shorter than the house builds an acceleration up in.
    usual = about.rules.ramp_time
    ramps = np.unique([usual, *np.maximum(sloshing_period(sizes, liquid.depth), usual)])
    a, b, k, r = (
        grid.ravel()
        for grid in np.meshgrid(
            _spread(axes.straight, round(closeness * _ACCELERATIONS)),
            _spread(axes.bend, round(closeness * _BEND_SPEEDS)),
            np.arange(len(_FASTER)),
            np.arange(len(ramps)),
            indexing="ij",
        )
    )
    acceleration, bend_speed = axes.straight.values[a], axes.bend.values[b]
    top = fastest(axes.straight.at(a), axes.fastest)
    # Of the multiples beyond the greatest speed there is the first stands for it.
    below = np.concatenate([[0.0], _FASTER[:-1]])
    rows = np.flatnonzero((bend_speed <= top) & (below[k] * bend_speed < top))
    settings = Settings(
        acceleration,
        jerk_for(acceleration, ramps[r], about.case),
        np.minimum(_FASTER[k] * bend_speed, top),
        bend_speed,
    )
    every = SettingContext(about, settings, axes.straight.at(a), axes.bend.at(b))
    return _holding(every.take(rows), axes, a[rows], b[rows])


def _spread(axis: Axis, count: int) -> NDArray[np.intp]:
    """Nodes of an axis that hold, in about equal ratios; none if nothing holds."""
    held = np.flatnonzero(axis.used <= HOLDS)
    if not len(held):
        return held
    values = axis.values[held]
    wanted = np.geomspace(values[0], values[-1], count)
    return held[np.unique(values.searchsorted(wanted * (1.0 - 1e-9)))]


def _holding(
    setting: SettingContext, axes: Axes, a: NDArray[np.intp], b: NDArray[np.intp]
) -> Sample:
    """The settings that no check without a loop refuses, nor the waves of the bends."""
    shares = [axes.straight.used[a], axes.bend.used[b]]
    for check in SETTING_CHECKS:
        outcome = check.evaluate(setting)
        if outcome is not None:
            shares.append(outcome.utilisation())
    used = np.max(shares, axis=0)
    rows = np.flatnonzero((used <= HOLDS) & (axes.waves[b] <= HOLDS))
    return Sample(setting.take(rows), used[rows])
