"""Checks of the linear motor: peak force, force in bends, heat in the windings."""

import numpy as np

from recommender.choice.carrier.load_cases import CaseLoads
from recommender.choice.carrier.setting import SettingContext
from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import Check, CheckText, Outcome, single
from recommender.physics.constants import Array
from recommender.physics.drive import available_force, pair_stop_heat, passing_heat, stop_heat

_FALLING_LINE = "peak force falling in a straight line from knee to no-load speed (catalogue)"


def _peak_straight(context: SettingContext) -> Outcome:
    kinds = ("speeding up", "cruising")
    loads, speed = context.straight.loads, context.settings.speed
    columns = loads.of_kind(*kinds)
    force = context.straight.rows(np.abs(loads.thrust) + loads.resistance)[:, columns]
    carrier = context.about.option.carrier
    limit = available_force(
        speed, carrier.total_peak_force, carrier.knee_speed, carrier.no_load_speed
    )
    return Outcome(
        context.about.rules.drive_margin * force,
        limit[:, None],
        tuple(Where(loads.directions[k]) for k in columns),
    )


def _peak_bend(loads: CaseLoads) -> Outcome:
    columns = loads.of_kind("turning", "entering", "leaving")
    force = (np.abs(loads.thrust) + loads.resistance)[..., columns]
    batch = loads.batch
    limit = batch.bend_force_share * available_force(
        loads.speed, batch.peak_force, batch.carrier("knee_speed"), batch.carrier("no_load_speed")
    )
    return Outcome(
        batch.rules.drive_margin * force,
        limit[..., None],
        tuple(Where(loads.directions[k]) for k in columns),
    )


def _continuous(context: SettingContext) -> Outcome:
    about = context.about
    pushed = zip(about.case.station, about.dwells, strict=True)
    heats = [_stop_heat(context, station.force[0], dwell) for station, dwell in pushed]
    heats.append(_bend_heat(context))
    labels = tuple(
        Where(station=station.name, words="stop at {station}") for station in about.case.station
    )
    return Outcome(
        np.sqrt(np.stack(heats, axis=-1)),
        np.array(about.continuous_force),
        (*labels, Where(bends=True, words="ends of the bends")),
    )


def _stop_heat(context: SettingContext, holding: float, dwell: float) -> Array:
    about, carrier = context.about, context.about.option.carrier
    acceleration, jerk = context.swift.acceleration, context.swift.jerk
    resistance, length = context.up_resistance, carrier.magnet_length
    # While the carrier cruises over the stopped magnet's windings, resistance still heats them.
    near = length + (carrier.coupling_distance or 0.0)
    slow = context.swift.speed**2 < 2.0 * context.settings.acceleration * near
    cruising = np.where(slow, _passing(context, resistance, context.swift.speed), 0.0)
    if carrier.coupling_distance is None:
        return cruising + stop_heat(
            context.mass,
            acceleration,
            resistance,
            length,
            about.takt,
            holding_force=holding,
            dwell=dwell,
            jerk=jerk,
        )
    return cruising + pair_stop_heat(
        context.mass,
        acceleration,
        resistance,
        length,
        carrier.coupling_distance,
        about.takt,
        holding_force=holding,
        dwell=dwell,
        hop=about.spacing,
        jerk=jerk,
    )


def _bend_heat(context: SettingContext) -> Array:
    """Windings at the ends of a bend see the turning and the speeding up or braking beside it.

    In the bend a force takes the current of a larger one on a straight.
    """
    turning = context.bend.strongest("turning", "entering", "leaving")
    turning = turning / context.about.bend_force_share
    speed = context.swift.bend_speed
    return _passing(context, turning, speed) + _passing(context, context.drive_force, speed)


def _passing(context: SettingContext, force: Array, speed: Array) -> Array:
    """Heat of all magnets of a carrier that pass with a share of the force each."""
    carrier = context.about.option.carrier
    count = carrier.magnets
    return passing_heat(force / count, count * carrier.magnet_length, speed, context.about.takt)


def _top_speed(context: SettingContext) -> Outcome:
    carrier = context.about.option.carrier
    return single(context.settings.speed, carrier.top_speed, Where(part=carrier.id))


def _house_acceleration(context: SettingContext) -> Outcome:
    return single(context.settings.acceleration, context.about.rules.most_acceleration)


def _speed_limit(context: SettingContext) -> Outcome | None:
    limit = context.about.case.limits.speed
    return None if limit is None else single(context.settings.speed, limit)


def _jerk_limit(context: SettingContext) -> Outcome | None:
    limit = context.about.case.limits.jerk
    return None if limit is None else single(context.settings.jerk, limit)


BEND_CHECKS: tuple[Check[CaseLoads], ...] = (
    Check(
        CheckText(
            id="drive.peak_bend",
            title="Drive force in and at the ends of the bends",
            unit="force",
            source="energy balance of a body guided at two points; flat magnet on curved windings; "
            + _FALLING_LINE,
            requirements=("load.mass", "load.reach", "rate.items"),
            evidence=(
                "loads",
                "bend-entry-against-integration",
                "bend-ends-against-driving",
                "bend-motor-against-integration",
            ),
            fails="{moment} the drive would need {demand}, {excess} than it has{most_of_it}",
            together="{moment} the drive would need {demand}, and has {limit}",
            quicker="its drive has no more force in the bends",
        ),
        _peak_bend,
    ),
)

CHECKS: tuple[Check[SettingContext], ...] = (
    Check(
        CheckText(
            id="drive.peak_straight",
            title="Drive force on straights at top speed",
            unit="force",
            source="Newton's second law; " + _FALLING_LINE,
            requirements=("load.mass", "rate.items"),
            evidence=("loads", "drive"),
            fails="{moment} the drive would need {demand}, {excess} than it has{most_of_it}",
            together="{moment} the drive would need {demand}, and has {limit}",
            quicker="its drive has no more force",
        ),
        _peak_straight,
    ),
    Check(
        CheckText(
            id="drive.continuous",
            title="Continuous force of one magnet (winding heat)",
            unit="force",
            source="RMS force over a takt; mechanics of a magnet passing a standing winding; rise"
            " of the winding over the ambient temperature",
            requirements=("load.mass", "rate.items", "station.dwell", "site.ambient"),
            evidence=("drive", "heat-against-time-domain", "thermal"),
            fails=(
                "the windings at the {where} would get as hot as with {demand} all the time,"
                " {excess} than they bear, as a carrier comes every {takt}"
            ),
            together=(
                "the windings would get as hot as with {demand} all the time, where they bear"
                " {limit}"
            ),
            quicker="its windings would get too hot",
        ),
        _continuous,
    ),
    Check(
        CheckText(
            id="rating.speed",
            title="Top speed that the carrier is rated for",
            unit="speed",
            source="rating of the catalogue",
            requirements=("rate.items",),
            evidence=("ratings-against-catalogue",),
            fails="the carrier runs {demand} and {where} is rated for {limit}",
            together="would run {demand}, where {limit} are rated",
            quicker="its rated speed would be passed",
        ),
        _top_speed,
    ),
    Check(
        CheckText(
            id="house.acceleration",
            title="Acceleration that the house builds for",
            unit="acceleration",
            source="rule of the catalogue; about 4 g0 is usual: common practice, no source",
            requirements=("rate.items",),
            evidence=("ratings-against-catalogue",),
            fails="the carrier speeds up with {demand} where the house builds for {limit}",
            together="would speed up with {demand}, where the house builds for {limit}",
            quicker="the house's limit of acceleration would be passed",
        ),
        _house_acceleration,
    ),
    Check(
        CheckText(
            id="limit.speed",
            title="Speed that the enquiry allows",
            unit="speed",
            source="limit of the enquiry",
            requirements=("limits.speed",),
            evidence=("motion", "ratings-against-catalogue"),
            fails="the carrier runs {demand} where {limit} is allowed",
            together="would run {demand}, where the enquiry allows {limit}",
            quicker="the enquiry's limit of speed would be passed",
        ),
        _speed_limit,
    ),
    Check(
        CheckText(
            id="limit.jerk",
            title="Jerk that the enquiry allows",
            unit="jerk",
            source="limit of the enquiry",
            requirements=("limits.jerk",),
            evidence=("motion", "legs-against-ruckig"),
            fails="the motion jerks with {demand} where {limit} is allowed",
            together="the motion would jerk with {demand}, where the enquiry allows {limit}",
            quicker="the enquiry's limit of jerk would be passed",
        ),
        _jerk_limit,
    ),
)
