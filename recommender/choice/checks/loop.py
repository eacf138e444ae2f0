"""Checks of an option on a loop: size, stations, fleet, life, liquid, power."""

import numpy as np

from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import Check, CheckText, Outcome, single
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.wear import roller_names
from recommender.physics.fleet import (
    batch_wait,
    gap_utilisation,
    places_utilisation,
    room_utilisation,
)

_MICROMETRE = 1e-6


def _length(context: LayoutContext) -> Outcome:
    limit = context.about.case.loop.max_length or context.about.rules.longest_loop
    return single(np.full(len(context.setting.settings), context.on.loop.length), limit)


def _extent(context: LayoutContext) -> Outcome | None:
    limit = context.about.case.loop.max_extent
    if limit is None:
        return None
    extent = np.full(len(context.setting.settings), context.on.floor_extent)
    return single(extent, limit, Where(part=context.about.option.bend.id))


def _stations(context: LayoutContext) -> Outcome:
    """Distances that each station must keep against those that it keeps."""
    on, about = context.on, context.about
    before = [on.placement.gaps[k - 1] for k in range(len(about.case.station))]
    demand, limit, labels = [], [], []
    kept = zip(about.case.station, on.clearances, before, about.stations_apart, strict=True)
    for k, (station, room, gap, apart) in enumerate(kept):
        demand.append(about.bend_clearance)
        limit.append(room)
        joints = " and joints" if station.clear_of_joints else ""
        labels.append(Where(station=station.name, words=f"{{station}} from bends{joints}"))
        if station.length:
            demand.append(station.length)
            limit.append(on.room_for_length[k])
            labels.append(Where(station=station.name, words="{station} on its straight"))
        if apart > 0.0:
            demand.append(float(apart))
            limit.append(gap)
            labels.append(Where(station=station.name, words="{station} from the station before"))
    rows = np.ones((len(context.setting.settings), 1))
    # A micrometre of rounding in the places is no lack of room.
    return Outcome(rows * demand, np.array(limit) + _MICROMETRE, tuple(labels))


def _exchange(context: LayoutContext) -> Outcome:
    about = context.about
    return Outcome(
        context.about.occupied + context.exchange,
        about.takt * context.about.positions,
        tuple(Where(station=station.name) for station in about.case.station),
    )


def _fleet(context: LayoutContext) -> Outcome:
    """Lap and forming of batches against the time that the fleet has for a lap."""
    about = context.about
    waits = float(batch_wait(about.positions, about.takt))
    return single(context.lap_time + waits, context.carriers * about.takt)


def _places(context: LayoutContext) -> Outcome:
    finite = np.isfinite(context.carriers)
    used = places_utilisation(
        np.where(finite, context.carriers, 1.0),
        context.about.occupied + context.exchange,
        context.about.takt,
        context.on.places,
        lag=context.about.rules.start_lag,
    )
    return single(np.where(finite, used, np.inf) * context.on.places, context.on.places)


def _gaps(context: LayoutContext) -> Outcome:
    """Spacings that a batch takes up against the room between its station and the one before."""
    order = context.on.order
    used = gap_utilisation(context.on.gaps[order], context.about.positions[order])
    following = np.roll(context.about.positions[order], -1)
    rows = np.ones((len(context.setting.settings), 1))
    return Outcome(rows * following, following / used, _between(context))


def _room(context: LayoutContext) -> Outcome:
    order = context.on.order
    legs = context.station_legs[:, order]
    finite = np.isfinite(legs)
    used = room_utilisation(
        np.where(finite, legs, 0.0),
        context.about.occupied[order],
        context.exchange[:, order],
        context.on.gaps[order],
        context.about.positions[order],
        context.about.takt,
        lag=context.about.rules.start_lag,
    )
    takt = context.about.takt
    return Outcome(np.where(finite, used, np.inf) * takt, np.array(takt), _between(context))


def _between(context: LayoutContext) -> tuple[Where, ...]:
    names = [context.about.case.station[k].name for k in context.on.order]
    return tuple(
        Where(station=name, following=following)
        for name, following in zip(names, [*names[1:], names[0]], strict=True)
    )


def _bend_spacing(context: LayoutContext) -> Outcome:
    about = context.about
    return single(about.least_bend_spacing / context.setting.settings.bend_speed, about.takt)


def _life(context: LayoutContext) -> Outcome:
    """Hours asked for against those that all rollers of a carrier reach together."""
    about = context.about
    lap = context.carriers * about.takt
    hours = context.life_laps * np.where(np.isfinite(lap), lap, 0.0) / 3600.0
    weakest = roller_names(context.setting)[int(np.argmin(context.roller_laps[0]))]
    return single(np.full_like(hours, about.case.life.hours), hours, weakest)


# These do not depend on the motion, so a configuration may well use them up.
GEOMETRY_CHECKS: tuple[Check[LayoutContext], ...] = (
    Check(
        CheckText(
            id="loop.length",
            title="Length of the guide",
            unit="length",
            source="arithmetic: two straights and two bends",
            requirements=("loop.max_length",),
            evidence=("loop", "bend-against-fresnel"),
            fails=(
                "the shortest loop that takes its stations has {demand} of guide, {excess} than"
                " there may be{within_the_limit}"
            ),
            together="the shortest loop has {demand} of guide, where {limit} may be",
        ),
        _length,
    ),
    Check(
        CheckText(
            id="loop.extent",
            title="Extent of the loop along its straights",
            unit="length",
            source="geometry of the bend and of the rectangles that swing round it",
            requirements=("loop.max_extent", "load.reach", "load.offset"),
            evidence=("loop", "bend-against-fresnel", "sweep-against-tracing"),
            fails=(
                "with {where} even the shortest loop that takes its stations sweeps {demand}"
                " along its straights, {excess} than is free, because the bends with load and"
                " plate reach {beyond_straights} beyond them at either end"
            ),
            together="the loop would sweep {demand} along its straights, where {limit} are free",
        ),
        _extent,
    ),
    Check(
        CheckText(
            id="loop.stations",
            title="Stations clear of bends, joints, each other",
            unit="length",
            source="geometry: all of a standing carrier is on the straight",
            requirements=(
                "station.after",
                "station.length",
                "station.at",
                "station.side",
                "station.positions",
                "loop.max_length",
                "loop.max_extent",
                "load.length",
                "load.offset",
            ),
            evidence=("ratings-against-catalogue", "layout-against-milp"),
            fails="{where} must stand {demand} clear and stands {limit}",
        ),
        _stations,
    ),
    Check(
        CheckText(
            id="fleet.gaps",
            title="Places between neighbouring stations",
            unit="places",
            source="geometry: a batch must not stand on the station before its own",
            requirements=(
                "station.after",
                "station.positions",
                "loop.max_length",
                "loop.max_extent",
            ),
            evidence=("fleet", "rate-against-events", "layout-against-milp"),
            fails="between {where} there are {limit}, where {demand} are needed",
            together="between two stations there are {limit}, where {demand} are needed",
        ),
        _gaps,
    ),
)

# None of these looks at the number of carriers.
FLEET_CHECKS: tuple[Check[LayoutContext], ...] = (
    Check(
        CheckText(
            id="station.exchange",
            title="Block time of a station: dwell and exchange",
            unit="duration",
            source="motion from rest to rest over the carriers' spacing (double-S profile)",
            requirements=("rate.items", "station.dwell", "station.positions"),
            evidence=("motion", "fleet", "rate-against-events"),
            fails=(
                "at {where} a carrier and its exchange take {demand}, where the next one is due"
                " after {limit}"
            ),
            slower="carriers would not be exchanged in time at {where}",
        ),
        _exchange,
    ),
    Check(
        CheckText(
            id="fleet.bend_spacing",
            title="Time between carriers in the bends",
            unit="duration",
            source="spacing in the bend over bend speed",
            requirements=("rate.items", "load.reach"),
            evidence=("bend-against-fresnel", "rate-against-events"),
            fails=(
                "carriers follow each other through the bends every {demand} only, where one is"
                " due every {limit}"
            ),
            together=(
                "carriers follow each other through the bends every {demand}, where one is due"
                " every {limit}"
            ),
            slower="carriers would not follow each other in time through the bends",
        ),
        _bend_spacing,
    ),
    Check(
        CheckText(
            id="fleet.room",
            title="Time that places between stations are held",
            unit="duration",
            source="sufficient condition for the takt; safe against an event simulation",
            requirements=("rate.items", "station.dwell", "loop.max_length", "loop.max_extent"),
            evidence=("rate-against-events",),
            fails=(
                "between {where} there is too little room: carriers can follow each other every"
                " {demand} there, where one is due every {limit}"
            ),
            together=(
                "between two stations carriers follow each other every {demand}, where one is due"
                " every {limit}"
            ),
            slower="carriers would not follow each other in time between {where}",
        ),
        _room,
    ),
)

LAP_CHECKS: tuple[Check[LayoutContext], ...] = (
    Check(
        CheckText(
            id="fleet.lap",
            title="Lap against the time that the fleet has",
            unit="duration",
            source="Little's law: N carriers, one in every takt",
            requirements=("rate.items", "loop.max_length", "loop.max_extent"),
            evidence=("fleet", "legs-against-ruckig", "rate-against-events", "layout-against-milp"),
            fails="{lap}",
            together="a lap would take {demand}, where the fleet has {limit}",
            slower="a lap would take too long",
        ),
        _fleet,
    ),
    Check(
        CheckText(
            id="fleet.places",
            title="Room for the carriers and for exchanging them",
            unit="places",
            source="holes that a closed loop needs to move; safe against an event simulation",
            requirements=("rate.items", "loop.max_length", "loop.max_extent", "load.length"),
            evidence=("fleet", "rate-against-events", "layout-against-milp"),
            fails=(
                "the loop has {limit}, and {carriers} carriers with the room to exchange them"
                " take up {demand}"
            ),
            together=(
                "carriers and the room to exchange them would take up {demand}, where the loop"
                " has {limit}"
            ),
            slower="the loop would be too full of carriers",
        ),
        _places,
    ),
)

CHECKS: tuple[Check[LayoutContext], ...] = (
    *LAP_CHECKS,
    Check(
        CheckText(
            id="roller.life",
            title="Life of all rollers of a carrier together",
            unit="h",
            source="ISO 281:2007 with a1; system life with exponent 10/9",
            requirements=("life.hours", "life.reliability", "load.mass", "load.reach"),
            evidence=("bearing-life", "bearings", "rollers-against-springs"),
            fails="its rollers last {limit}, where {demand} are asked, the {where} least",
            together="the rollers would last {limit}, where {demand} are asked",
            quicker="its rollers would not last",
        ),
        _life,
    ),
)
