"""The exact takt of one configuration, and what any takes."""

from typing import Any

import numpy as np

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.loop.layout import LayoutContext
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_time
from recommender.physics.takt import Waits, exact_takt, loop_waits


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


def loop_takt(layout: LayoutContext, carriers: int, row: int = 0) -> float:
    """Mean time between carriers that a configuration keeps at one row of its settings, s.

    Infinite if one of its legs cannot be run.
    """
    asked = _asked(layout, row)
    return np.inf if asked is None else exact_takt(carriers=carriers, **asked)


def waits_of(layout: LayoutContext, carriers: int) -> Waits | None:
    """What carriers wait for on a loop at its only row of settings; ``None`` if it cannot run."""
    asked = _asked(layout, 0)
    return None if asked is None else loop_waits(carriers=carriers, **asked)


def _asked(layout: LayoutContext, row: int) -> dict[str, Any] | None:
    """Times and room of a loop; ``None`` if one of its legs cannot be run."""
    on, order = layout.on, layout.on.order
    legs = layout.station_legs[row][order]
    if not np.all(np.isfinite(legs)):
        # A leg too short for the speeds at its ends cannot be run at all.
        return None
    return {
        "legs": legs,
        "dwells": on.about.occupied[order],
        "exchange": layout.exchange[row][order],
        "gaps": on.gaps[order],
        "positions": on.about.positions[order],
        "lag": on.about.rules.start_lag,
        "headway": on.about.bend_spacing / float(layout.setting.settings.bend_speed[row]),
    }
