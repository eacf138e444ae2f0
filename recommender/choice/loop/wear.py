"""Rolling life of a carrier's rollers: what one lap uses up, and how many hours that leaves."""

from collections.abc import Sequence

import numpy as np

from recommender.choice.carrier.setting import LoadTable, SettingContext
from recommender.choice.carrier.where import Where
from recommender.choice.loop.lap import Lap
from recommender.physics.bearing_life import (
    basic_rating_life,
    mean_load,
    reliability_factor,
    system_life,
)
from recommender.physics.constants import Array


def laps_of_each_roller(context: SettingContext, lap: Lap, bend_travel: float) -> Array:
    """Laps that each roller of a carrier lasts, (rows, rollers)."""
    straight = {
        "speeding up": lap.over_lap(lap.up_distance),
        "braking": lap.over_lap(lap.down_distance),
        "cruising": lap.over_lap(lap.cruise),
    }
    return _laps(context, [straight], bend_travel)[0]


def most_laps_of_each_roller(
    context: SettingContext, straight_travel: Array, bend_travel: float
) -> Array:
    """Laps that no roller outlasts, however a lap on straights is shared out, (rows, rollers).

    What a lap uses up of a roller is a sum over the distances under each load, so it is least where
    all of them are travelled under the kindest. ``straight_travel`` is (rows,), in metres.
    """
    kinds = ("speeding up", "braking", "cruising")
    shares = [{kind: straight_travel * (kind == only) for kind in kinds} for only in kinds]
    return np.asarray(np.max(_laps(context, shares, bend_travel), axis=0))


def _laps(
    context: SettingContext, shares: Sequence[dict[str, Array]], bend_travel: float
) -> list[Array]:
    """Laps that each roller lasts with some distances on straights under each kind of load.

    The loads of a lap are combined by the distance under each (Palmgren and Miner), and the rating
    life of ISO 281 at the reliability asked for is unrolled on the roller's circumference.
    """
    option = context.about.option
    # Each of two bends is entered once and left once.
    ends = np.full(len(context.settings), 2.0 * max(option.bend.transition, option.base))
    steady = np.maximum(bend_travel - 2.0 * ends, 0.0)
    turns = {"entering": ends, "leaving": ends, "turning": steady}
    loads = np.concatenate(
        [_loads(context.straight, shares[0]), _loads(context.bend, turns)], axis=-1
    )
    ratings, circumferences = _rollers(context)
    factor = reliability_factor(context.about.case.life.reliability)
    in_bends = _distances(context.bend, turns)
    found = []
    for share in shares:
        distances = np.concatenate([_distances(context.straight, share), in_bends], axis=-1)
        life = basic_rating_life(ratings, mean_load(loads, distances[:, None, :]))
        found.append(factor * life * circumferences / distances.sum(axis=-1)[:, None])
    return found


def carrier_life(laps: Array) -> Array:
    """Laps that all rollers of a carrier survive together, (rows,)."""
    return system_life(laps)


def _loads(table: LoadTable, distance: dict[str, Array]) -> Array:
    """Equivalent loads under some kinds of load, (rows, rollers, cases)."""
    load = table.loads.equivalent[table.option_row][:, table.loads.of_kind(*distance)]
    return table.pick(np.swapaxes(load, 1, 2))


def _distances(table: LoadTable, distance: dict[str, Array]) -> Array:
    """The distance under each load of some kinds, (rows, cases)."""
    loads = table.loads
    columns = loads.of_kind(*distance)
    return np.stack([distance[loads.kinds[k]] * loads.weight[k] for k in columns], axis=-1)


def _rollers(context: SettingContext) -> tuple[Array, Array]:
    """Dynamic rating, N, and circumference, m, of each roller, (rollers,)."""
    option = context.about.option
    loads = context.straight.loads.rollers
    kinds = [option.roller] * loads.radial.shape[-1]
    if option.lower_roller is not None:
        kinds += [option.lower_roller] * loads.lower_radial.shape[-1]
    return (
        np.array([roller.dynamic_rating for roller in kinds]),
        np.array([np.pi * roller.diameter for roller in kinds]),
    )


def roller_names(context: SettingContext) -> tuple[Where, ...]:
    """The rollers in the order of the arrays."""
    rollers = context.straight.loads.rollers
    return rollers.labels + rollers.lower_labels[: rollers.lower_radial.shape[-1]]
