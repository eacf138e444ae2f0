"""Power that a fleet draws: mean over a lap, and peak at any instant."""

import numpy as np

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.loop.lap import Lap
from recommender.choice.loop.layout import LayoutContext
from recommender.physics.constants import Array
from recommender.physics.drive import copper_loss
from recommender.physics.fleet_supply import fleet_peak_power, queue_hops
from recommender.physics.motion import leg_peak_speed
from recommender.physics.supply import (
    electrical_power,
    peak_power,
    speed_change_energy,
)


def motor_constant(context: SettingContext) -> float:
    """Motor constant of all magnets of a carrier together, N/√W.

    Magnets share the force evenly, so n of them lose (F/n)²/K² each and F²/(n·K²) together.
    """
    carrier = context.about.option.carrier
    return float(carrier.motor_constant * np.sqrt(carrier.magnets))


def bend_motor_constant(context: SettingContext) -> float:
    """Motor constant in bends, where a flat magnet gives less force for a current, N/√W."""
    return motor_constant(context) * context.about.bend_force_share


def mean_power(layout: LayoutContext) -> Array:
    """Mean power of the whole fleet without idle power, (rows,), W.

    One carrier finishes a lap in every takt, so the fleet draws the energy of one lap in a takt.
    """
    energy = lap_energy(layout.setting, layout.lap, layout.on.bend_travel)
    return np.asarray((energy + queue_energy(layout)) / layout.about.takt)


def lap_energy(context: SettingContext, lap: Lap, bend_travel: float) -> Array:
    """Energy that a carrier draws in an unhindered lap, (rows,), J."""
    energy = _legs_energy(context, lap) + _steady_energy(context, lap, bend_travel)
    for held in holding_energies(context):
        energy = energy + held
    return energy


def holding_energies(context: SettingContext) -> list[Array]:
    """Energy with which a carrier holds against the process at each station, J."""
    about, constant = context.about, motor_constant(context)
    return [
        copper_loss(station.force[0], constant) * dwell
        for station, dwell in zip(about.case.station, about.dwells, strict=True)
    ]


def change_energy(
    context: SettingContext, start: Array, end: Array, *, recovered: bool = True
) -> Array:
    """Energy of a change of speed, less what the supplies take back of it, J."""
    swift, rules = context.swift, context.about.rules
    return speed_change_energy(
        context.mass,
        start,
        end,
        swift.acceleration,
        swift.jerk,
        context.up_resistance,
        motor_constant(context),
        recovered_share=rules.recovered if recovered else 0.0,
    )


def _legs_energy(context: SettingContext, lap: Lap) -> Array:
    up = change_energy(context, lap.start, lap.peak)
    down = change_energy(context, lap.peak, lap.end)
    return lap.over_lap(up + down)


def _steady_energy(context: SettingContext, lap: Lap, bend_travel: float) -> Array:
    """Cruising on straights and in bends, and the drive's work at their ends, (rows,), J."""
    cruise = context.cruise_resistance
    straight = lap.over_lap(lap.cruise_time) * copper_loss(cruise, motor_constant(context))
    straight = straight + cruise * lap.over_lap(lap.cruise)
    return np.asarray(straight + bends_energy(context, bend_travel))


def bends_energy(context: SettingContext, bend_travel: float) -> Array:
    """Energy of a carrier in both bends of a lap, (rows,), J."""
    option, speed = context.about.option, context.swift.bend_speed
    # Each of two bends is entered and left once; the greatest force there counts all the way.
    end = 2.0 * max(option.bend.transition, option.base)
    entering, turning, leaving = bend_powers(context)
    steady = max(bend_travel - 2.0 * end, 0.0)
    return np.asarray((end * (entering + leaving) + steady * turning) / speed)


def bend_powers(context: SettingContext) -> tuple[Array, Array, Array]:
    """Power of a carrier that enters a bend, turns in it and leaves it, (rows,), W."""
    constant, speed = bend_motor_constant(context), context.settings.bend_speed
    entering = electrical_power(context.bend.strongest("entering"), speed, constant)
    turning = electrical_power(context.bend.strongest("turning"), speed, constant)
    # On leaving the drive brakes: that costs copper, and resistance is still to be overcome.
    leaving = copper_loss(context.bend.strongest("leaving"), constant)
    leaving = leaving + context.bend.resistance("leaving") * speed
    return entering, turning, leaving


def hop_speed(context: SettingContext) -> Array:
    """Speed that a carrier reaches as it moves up in a queue, by a batch at most, (rows,), m/s."""
    settings, about = context.settings, context.about
    return leg_peak_speed(
        about.positions.max() * about.spacing,
        0.0,
        0.0,
        settings.speed,
        settings.acceleration,
        settings.jerk,
    )


def hop_energy(context: SettingContext, *, recovered: bool = True) -> Array:
    """Energy of one move up in a queue, (rows,), J."""
    hop = hop_speed(context)
    still = np.zeros_like(hop)
    braking = change_energy(context, hop, still, recovered=recovered)
    return change_energy(context, still, hop) + braking


def queue_energy(layout: LayoutContext) -> Array:
    """Extra starts and stops of carriers that move up in queues, (rows,), J."""
    positions, takt = layout.about.positions, layout.about.takt
    possible = np.isfinite(layout.carriers) & np.isfinite(layout.lap_time)
    hops = queue_hops(
        np.where(possible, layout.carriers, 1.0),
        np.where(possible, layout.lap_time, takt),
        takt,
        (layout.about.occupied + layout.exchange).max(axis=-1),
        (layout.exchange / positions).max(axis=-1),
        queues=1 if positions.max() == 1.0 else len(positions),
    )
    # Where exchanging takes the whole takt the station's own check fails; no queue is stable.
    return np.asarray(np.where(np.isfinite(hops), hops, 0.0) * hop_energy(layout.setting))


def peak_fleet_power(layout: LayoutContext) -> Array:
    """Peak power of the fleet at any instant without idle power, (rows,), W.

    While it runs, or when all carriers set off at once after a stop, if the case asks for that.
    """
    carriers = np.where(np.isfinite(layout.carriers), layout.carriers, 1.0)
    return lap_peak_power(layout.setting, layout.lap, carriers)


def lap_peak_power(context: SettingContext, lap: Lap, carriers: Array) -> Array:
    """Peak power of some carriers on a lap without idle power, (rows,), W."""
    settings, swift, about = context.settings, context.swift, context.about
    constant = motor_constant(context)
    motion = (swift.acceleration, swift.jerk, context.up_resistance, constant)
    # Equal legs are phases of their own.
    repeat = np.repeat(np.arange(len(lap.plan.times)), lap.plan.times.astype(int))
    running = fleet_peak_power(
        peak_power(context.mass[None, :], lap.peak, *motion, start=lap.start)[repeat].T,
        lap.up_time[repeat].T,
        lap.plan.together[repeat],
        carriers,
        about.takt,
        rest_power(context),
    )
    if about.case.loop.restart == "together":
        whole = peak_power(context.mass, settings.speed, *motion)
        return np.maximum(running, carriers * whole)
    return running


def rest_power(context: SettingContext) -> Array:
    """Greatest power of a carrier outside its planned speed changes, (rows,), W."""
    about, settings, constant = context.about, context.settings, motor_constant(context)
    motion = (context.swift.acceleration, context.swift.jerk, context.up_resistance, constant)
    hop = peak_power(context.mass, hop_speed(context), *motion)
    turning = context.bend.strongest("turning", "entering", "leaving")
    bend = electrical_power(turning, settings.bend_speed, bend_motor_constant(context))
    cruise = electrical_power(context.cruise_resistance, settings.speed, constant)
    braking = copper_loss(context.drive_force, constant)
    holding = max(float(copper_loss(station.force[0], constant)) for station in about.case.station)
    powers = [hop, bend, cruise, braking, np.full_like(hop, holding)]
    return np.asarray(np.max(powers, axis=0))
