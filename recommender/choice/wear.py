"""Rolling life of a carrier's rollers: what one lap uses up, and how many hours that leaves."""

import numpy as np

from recommender.choice.lap import Lap
from recommender.choice.setting import LoadTable, SettingContext
from recommender.physics.bearing_life import reliability_factor, system_life
from recommender.physics.bearings import dynamic_equivalent_load
from recommender.physics.constants import Array

_REVOLUTIONS = 1e6
_EXPONENT = 3.0


def laps_of_each_roller(context: SettingContext, lap: Lap, bend_travel: float) -> Array:
    """Laps that each roller of a carrier lasts, (rows, rollers).

    Damage adds up along the lap (Palmgren and Miner): sum of distance times the cube of the
    equivalent load, over a1·C³·10⁶ revolutions of pi·D (ISO 281).
    """
    about = context.about
    option = about.option
    end = max(option.bend.transition, option.base)
    # Each of two bends is entered once and left once.
    ends = 2.0 * end * np.ones(len(context.settings))
    damage = _damage(context.straight, "speeding up", lap.over_lap(lap.up_distance))
    damage = damage + _damage(context.straight, "braking", lap.over_lap(lap.down_distance))
    damage = damage + _damage(context.straight, "cruising", lap.over_lap(lap.cruise))
    damage = damage + _damage(context.bend, "entering", ends)
    damage = damage + _damage(context.bend, "leaving", ends)
    steady = np.maximum(bend_travel - 2.0 * ends, 0.0)
    damage = damage + _damage(context.bend, "turning", steady)
    return np.asarray(_capacity(context) / damage)


def carrier_life(laps: Array) -> Array:
    """Laps that all rollers of a carrier survive together, (rows,)."""
    return system_life(laps)


def _damage(table: LoadTable, kind: str, distance: Array) -> Array:
    """Distance times load cubed of each roller, (rows, rollers), N³·m."""
    loads = table.loads
    columns = loads.of_kind(kind)
    rollers = loads.rollers
    angle = loads.batch.options[table.option_row].roller.contact_angle
    row = table.option_row
    upper = dynamic_equivalent_load(
        rollers.radial[row][:, columns], rollers.axial[row][:, columns], angle
    )
    load = np.concatenate([upper, rollers.lower_radial[row][:, columns]], axis=-1)
    cubed = (loads.weight[columns][:, None] * load**_EXPONENT).sum(axis=1)
    return np.asarray(cubed[table.index] * distance[:, None])


def _capacity(context: SettingContext) -> Array:
    """Damage that each roller bears at the reliability asked for, (rollers,), N³·m."""
    option = context.about.option
    rollers = context.straight.loads.rollers
    kinds = [option.roller] * rollers.radial.shape[-1]
    if option.lower_roller is not None:
        kinds += [option.lower_roller] * rollers.lower_radial.shape[-1]
    factor = float(reliability_factor(context.about.case.life.reliability))
    return np.array(
        [
            factor * roller.dynamic_rating**_EXPONENT * _REVOLUTIONS * np.pi * roller.diameter
            for roller in kinds
        ]
    )


def roller_names(context: SettingContext) -> tuple[str, ...]:
    """Names of the rollers in the order of the arrays."""
    rollers = context.straight.loads.rollers
    return rollers.labels + rollers.lower_labels[: rollers.lower_radial.shape[-1]]
