"""The exact takt of one configuration, from its legs timed one by one, and what any takes."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_time
from recommender.physics.motion import leg_time
from recommender.physics.takt import Waits, exact_takt, loop_waits


@dataclass(frozen=True)
class _Stretch:
    """Straight guide covered in one go, and whether a bend adjoins its ends."""

    distance: float
    from_bend: bool
    to_bend: bool


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


def loop_takt(layout: LayoutContext, carriers: int) -> float:
    """Mean time between carriers that a configuration of one row of settings keeps, s.

    Infinite if one of its legs cannot be run.
    """
    asked = _asked(layout)
    return np.inf if asked is None else exact_takt(carriers=carriers, **asked)


def waits_of(layout: LayoutContext, carriers: int) -> Waits | None:
    """What carriers wait for on a loop at its only row of settings; ``None`` if it cannot run."""
    asked = _asked(layout)
    return None if asked is None else loop_waits(carriers=carriers, **asked)


def _asked(layout: LayoutContext) -> dict[str, Any] | None:
    """Times and room of a loop; ``None`` if one of its legs cannot be run."""
    on, order = layout.on, layout.on.order
    settings = layout.setting.settings
    bend_speed = float(settings.bend_speed[0])
    bend_time = (on.loop.bend + 2.0 * on.overhang) / bend_speed
    legs = []
    for station in order:
        stretches = _between(on, station)
        moving = sum(_time(layout, stretch) for stretch in stretches)
        waiting = float(layout.turn_waits[0][station]) if on.about.case.takes_turns else 0.0
        legs.append(moving + bend_time * sum(stretch.to_bend for stretch in stretches) + waiting)
    if not np.all(np.isfinite(legs)):
        # A leg too short for the speeds at its ends cannot be run at all.
        return None
    return {
        "legs": legs,
        "dwells": on.about.occupied[order],
        "exchange": layout.exchange[0][order],
        "gaps": on.gaps[order],
        "positions": on.about.positions[order],
        "lag": on.about.rules.start_lag,
        "headway": on.about.bend_spacing / bend_speed,
    }


def _time(layout: LayoutContext, stretch: _Stretch) -> float:
    settings = layout.setting.settings
    bend = float(settings.bend_speed[0])
    return float(
        leg_time(
            stretch.distance,
            bend if stretch.from_bend else 0.0,
            bend if stretch.to_bend else 0.0,
            float(settings.speed[0]),
            float(settings.acceleration[0]),
            float(settings.jerk[0]),
        )
    )


def _between(on: LoopContext, station: int) -> list[_Stretch]:
    """Straight stretches from one station to the next, bends lying between them."""
    at, gap = on.placement.at[station], on.placement.gaps[station]
    here = on.loop.back_start if at >= on.loop.back_start else 0.0
    half = on.loop.straight + on.loop.bend
    stretches, travelled, from_bend = [], 0.0, False
    position = at - here
    while True:
        left = gap - travelled
        to_end = on.loop.straight - position
        trim = on.overhang if from_bend else 0.0
        if left <= to_end + 1e-9:
            stretches.append(_Stretch(left - trim, from_bend, to_bend=False))
            return stretches
        stretches.append(_Stretch(to_end - trim - on.overhang, from_bend, to_bend=True))
        travelled += half - position
        position, from_bend = 0.0, True
