"""Rolling life of a carrier's rollers: what one lap uses up, and how many hours that leaves."""

import numpy as np

from recommender.choice.lap import Lap
from recommender.choice.setting import LoadTable, SettingContext
from recommender.choice.where import Where
from recommender.physics.bearing_life import (
    basic_rating_life,
    mean_load,
    reliability_factor,
    system_life,
)
from recommender.physics.bearings import dynamic_equivalent_load
from recommender.physics.constants import Array


def laps_of_each_roller(context: SettingContext, lap: Lap, bend_travel: float) -> Array:
    """Laps that each roller of a carrier lasts, (rows, rollers)."""
    straight = {
        "speeding up": lap.over_lap(lap.up_distance),
        "braking": lap.over_lap(lap.down_distance),
        "cruising": lap.over_lap(lap.cruise),
    }
    return _laps(context, straight, bend_travel)


def most_laps_of_each_roller(
    context: SettingContext, straight_travel: Array, bend_travel: float
) -> Array:
    """Laps that no roller outlasts, however a lap on straights is shared out, (rows, rollers).

    What a lap uses up of a roller is a sum over the distances under each load, so it is least where
    all of them are travelled under the kindest. ``straight_travel`` is (rows,), in metres.
    """
    kinds = ("speeding up", "braking", "cruising")
    shares = [{kind: straight_travel * (kind == only) for kind in kinds} for only in kinds]
    return np.asarray(np.max([_laps(context, share, bend_travel) for share in shares], axis=0))


def _laps(context: SettingContext, straight: dict[str, Array], bend_travel: float) -> Array:
    """Laps that each roller lasts with a distance on straights under each kind of load.

    The loads of a lap are combined by the distance under each (Palmgren and Miner), and the rating
    life of ISO 281 at the reliability asked for is unrolled on the roller's circumference.
    """
    option = context.about.option
    # Each of two bends is entered once and left once.
    ends = np.full(len(context.settings), 2.0 * max(option.bend.transition, option.base))
    steady = np.maximum(bend_travel - 2.0 * ends, 0.0)
    bend = {"entering": ends, "leaving": ends, "turning": steady}
    parts = [_loads(context.straight, straight), _loads(context.bend, bend)]
    loads = np.concatenate([part[0] for part in parts], axis=-1)
    distances = np.concatenate([part[1] for part in parts], axis=-1)
    ratings, circumferences = _rollers(context)
    life = basic_rating_life(ratings, mean_load(loads, distances[:, None, :]))
    factor = reliability_factor(context.about.case.life.reliability)
    return np.asarray(factor * life * circumferences / distances.sum(axis=-1)[:, None])


def carrier_life(laps: Array) -> Array:
    """Laps that all rollers of a carrier survive together, (rows,)."""
    return system_life(laps)


def _loads(table: LoadTable, distance: dict[str, Array]) -> tuple[Array, Array]:
    """Equivalent loads, (rows, rollers, cases), and the distance under each, (rows, cases)."""
    loads, row = table.loads, table.option_row
    columns = loads.of_kind(*distance)
    angle = loads.batch.options[row].roller.contact_angle
    upper = dynamic_equivalent_load(
        loads.rollers.radial[row][:, columns], loads.rollers.axial[row][:, columns], angle
    )
    load = np.concatenate([upper, loads.rollers.lower_radial[row][:, columns]], axis=-1)
    travelled = np.stack([distance[loads.kinds[k]] * loads.weight[k] for k in columns], axis=-1)
    return table.pick(np.swapaxes(load, 1, 2)), travelled


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
