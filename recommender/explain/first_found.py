"""Whether any setting works on a loop: the first one found is enough, whatever it costs."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import (
    FLEET_CHECKS,
    GEOMETRY_CHECKS,
    LAYOUT_CHECKS,
    SETTING_CHECKS,
)
from recommender.choice.checks.entry import HOLDS
from recommender.choice.loop.layout import LayoutContext, LoopContext, placed_on
from recommender.choice.parts import rounding
from recommender.choice.parts.builds import Build
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.candidates import whole_powers
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_time


def setting_used(context: SettingContext) -> Array:
    """What each setting uses of the checks that need no loop but those of load cases, (rows,)."""
    shares = [takt_used(context.about, context.settings)]
    for check in SETTING_CHECKS:
        outcome = check.evaluate(context)
        if outcome is not None:
            shares.append(outcome.utilisation())
    return np.asarray(np.max(shares, axis=0))


def takt_used(about: OptionContext, settings: Settings) -> Array:
    """Share of the takt that stations and bends take up even on an endless loop, (rows,).

    A station's exchange is never quicker than on a straight far from any bend.
    """
    exchange = exchange_time(
        about.spacing,
        about.positions,
        settings.speed[:, None],
        settings.acceleration[:, None],
        settings.jerk[:, None],
        lag=about.rules.start_lag,
    )
    at_stations = ((about.occupied + exchange) / about.positions).max(axis=-1)
    in_bends = about.bend_spacing / settings.bend_speed
    return np.asarray(np.maximum(at_stations, in_bends) / about.takt)


def first_found(
    setting: SettingContext, price_book: PriceBook, builds: Iterable[Build]
) -> Build | None:
    """The first of some ways to build the straights on which some setting works.

    Parameters
    ----------
    setting : SettingContext
        Settings in which every check of load cases holds.
    price_book : PriceBook
        The case, and supplies and controllers by number of sections.
    builds : iterable of Build
    """
    setting = _holding(setting)
    if not len(setting.settings):
        return None
    about = setting.about
    for build in builds:
        whole = 2.0 * (build.length + about.bend_length)
        if whole > price_book.longest + 1e-9 or build.length > about.longest_straight + 1e-9:
            continue
        if any(len(_serving(on, setting, price_book)) > 0 for on in placed_on(about, build)):
            return build
    return None


def _holding(setting: SettingContext) -> SettingContext:
    """The settings in which the checks hold that need no loop, the quickest to ask first."""
    setting = setting.take(np.flatnonzero(takt_used(setting.about, setting.settings) <= HOLDS))
    for check in SETTING_CHECKS:
        outcome = check.evaluate(setting) if len(setting.settings) else None
        if outcome is not None:
            setting = setting.take(np.flatnonzero(outcome.utilisation() <= HOLDS))
    return setting


def _serving(on: LoopContext, setting: SettingContext, price_book: PriceBook) -> NDArray[np.intp]:
    """Rows that work on one loop."""
    layout = LayoutContext(on, setting)
    rows = np.arange(len(setting.settings))
    for check in (*GEOMETRY_CHECKS, *FLEET_CHECKS, *LAYOUT_CHECKS):
        outcome = check.evaluate(layout)
        if outcome is None:
            continue
        holds = np.flatnonzero(outcome.utilisation() <= HOLDS)
        if len(holds) < len(rows):
            rows, layout = rows[holds], layout.take(holds)
        if not len(rows):
            return rows
    return rows[_supplied(layout, price_book)]


def _supplied(layout: LayoutContext, price_book: PriceBook) -> NDArray[np.bool_]:
    """Whether supplies and a controller for each row can be had."""
    electrical, sections = price_book.electrical, layout.sections
    if sections > electrical.most_sections:
        return np.zeros(len(layout.setting.settings), dtype=np.bool_)
    mean, peak = whole_powers(layout)
    idle = rounding.demand(layout.idle_power, "power")
    carriers = layout.carriers.astype(np.int64)
    fed = electrical.choice(sections).cheapest(mean + idle, peak + idle) >= 0
    return np.asarray(fed & (electrical.controller_price(sections, carriers) < NEVER))
