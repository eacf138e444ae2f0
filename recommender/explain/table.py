"""The table of requirements: what each is called, how far it gives, what giving it up means.

A new requirement is one entry.
"""

from collections.abc import Callable, Iterator
from itertools import groupby
from typing import Final

from recommender.explain import asked
from recommender.explain.asked import Asked, Entry
from recommender.explain.requirements import Requirement, station_of, table_key
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

_NEARLY_NOTHING: Final = 1e-3
"""Lax end of a number that must stay above zero, as a share of what is asked."""


def _to(share: float) -> Callable[[Asked], float]:
    """A share of what is asked."""
    return lambda of: float(share * of.value)


def _limit(lax: float) -> Callable[[Asked], float]:
    """A number that is beyond whatever may be asked."""
    return lambda of: lax


def _longest(of: Asked) -> float | None:
    """The longest loop of the catalogue, if less is asked."""
    longest = of.catalogue.rules.longest_loop
    return longest if of.value < longest else None


def _said_tolerance(of: Asked) -> float | None:
    """Far more than the tolerance of a station, if the case says one."""
    said = of.station is not None and "tolerance" in of.station.model_fields_set
    return float(100.0 * of.value) if said else None


TABLE: Final[dict[str, Entry]] = {
    "load.mass": Entry(
        "the load's mass", "the load at {to} or lighter", "mass", _to(_NEARLY_NOTHING)
    ),
    "load.reach": Entry(
        "the load's reach", "the load reaching out {to} or less", "length", asked=asked.reach
    ),
    "load.offset": Entry(
        "the load's offset along the travel",
        "the load {to} or less off the middle of the carrier",
        "length",
        _to(0.0),
    ),
    "load.cg_height": Entry(
        "the height of the load's centre of gravity",
        "the load's centre of gravity {to} high or lower",
        "length",
        _to(0.0),
    ),
    "load.friction": Entry("the friction that holds the load", "a friction of {to} or more"),
    "load.pocket": Entry("the depth of the nest", "a nest {to} deep or more", "length"),
    "load.held": Entry("the way the load is held", "the load {to}", asked=asked.held),
    "load.clamping_force": Entry(
        "the force of the clamp",
        "a clamp that presses with {to} or more",
        "force",
        lambda of: 100.0 * of.value if of.case.load.held == "clamped" else None,
        absent=True,
    ),
    "load.liquid.freeboard": Entry(
        "the liquid's freeboard", "a freeboard of {to} or more", "length", asked=asked.freeboard
    ),
    "tooling.mass": Entry("the fixture's mass", "the fixture at {to} or lighter", "mass", _to(0.0)),
    "rate.items": Entry("the rate", "{to} or fewer", "rate", _to(_NEARLY_NOTHING)),
    "rate.per_carrier": Entry(
        "the number of items on a carrier", "{to} items on a carrier", asked=asked.items
    ),
    "loop.max_length": Entry("the length of the loop", "{to} of guide or more", "length", _longest),
    "loop.max_width": Entry(
        "the width of the loop", "{to} of free width or more", "length", _limit(100.0), absent=True
    ),
    "loop.max_height": Entry(
        "the height of the loop",
        "{to} of free height or more",
        "length",
        lambda of: 100.0 if of.case.loop.plane == "upright" else None,
        absent=True,
    ),
    "loop.max_extent": Entry(
        "the extent of the loop along its straights",
        "{to} of free floor along the straights or more",
        "length",
        lambda of: max(200.0, 2.0 * of.catalogue.rules.longest_loop),
        absent=True,
    ),
    "loop.plane": Entry(
        "the plane of the loop", "the loop lying {to}", asked=asked.only("upright", "flat", "flat")
    ),
    "loop.restart": Entry(
        "the restart of all carriers together",
        "the carriers restarted {to}",
        asked=asked.only("together", "staggered", "one after another"),
    ),
    "station.dwell": Entry(
        "the dwell at {station}", "a dwell of {to} or less at {station}", "duration", _to(0.0)
    ),
    "station.after": Entry(
        "the distance before {station}",
        "station {station} {to} or less behind the one before it",
        "length",
        _to(0.0),
    ),
    "station.dwell_variation": Entry(
        "the varying dwell at {station}",
        "dwells at {station} that vary by {to} or less",
        lax=_to(0.0),
    ),
    "station.tolerance": Entry(
        "the tolerance at {station}",
        "a tolerance of {to} or more at {station}",
        "length",
        _said_tolerance,
    ),
    "station.force": Entry(
        "the process force at {station}",
        "a process force of {to} or less at {station}",
        "force",
        asked=asked.force,
    ),
    "station.at": Entry("the place of {station}", "", "length", asked=asked.at),
    "station.side": Entry(
        "the side on which {station} stands", "station {station} on {to}", asked=asked.side
    ),
    "station.length": Entry(
        "the length of {station}",
        "station {station} {to} long or shorter",
        "length",
        _to(_NEARLY_NOTHING),
        absent=True,
    ),
    "station.positions": Entry(
        "the number of carriers that {station} takes at once",
        "{to} at a time at {station}",
        asked=asked.positions,
    ),
    "station.clear_of_joints": Entry(
        "the joints kept clear of {station}",
        "station {station} {to}",
        asked=asked.clear_of_joints,
    ),
    "limits.acceleration": Entry(
        "the limit of acceleration",
        "{to} of acceleration allowed or more",
        "acceleration",
        asked=asked.acceleration,
    ),
    "limits.jerk": Entry(
        "the limit of jerk", "{to} of jerk allowed or more", "jerk", _limit(1e5), absent=True
    ),
    "limits.speed": Entry(
        "the limit of speed", "{to} of speed allowed or more", "speed", _limit(20.0), absent=True
    ),
    "site.ambient": Entry(
        "the ambient temperature", "surroundings of {to} or less", asked=asked.ambient
    ),
    "life.hours": Entry("the life", "a life of {to} or less", "h", _to(_NEARLY_NOTHING)),
    "life.reliability": Entry(
        "the reliability", "a reliability of {to} % or less", asked=asked.reliability
    ),
    "commercial.budget": Entry("the budget", "a budget of {to} or more", asked=asked.budget),
    "commercial.latest_delivery": Entry(
        "the delivery", "{to} to deliver or more", "lead time", _limit(520.0), absent=True
    ),
}
"""Every requirement that there is, in the order of the case file."""


def list_requirements(case: Case, catalogue: Catalogue) -> tuple[Requirement, ...]:
    """Every requirement of a case that could be given up, in the order of the case file."""
    found = (of.requirement for of in _keys(case, catalogue))
    return tuple(requirement for requirement in found if requirement is not None)


def _keys(case: Case, catalogue: Catalogue) -> Iterator[Asked]:
    for of_stations, group in groupby(TABLE, lambda key: key.startswith("station.")):
        keys = [key for key in group if key != "load.liquid.freeboard" or case.load.liquid]
        if not of_stations:
            yield from (Asked(key, case, catalogue, TABLE) for key in keys)
            continue
        for station in case.station:
            for key in keys:
                named = f"station.{station.name}.{key.removeprefix('station.')}"
                yield Asked(named, case, catalogue, TABLE, station)


def requirement_name(key: str) -> str:
    """What a requirement is called in a sentence.

    Examples
    --------
    >>> requirement_name("rate.items"), requirement_name("station.unload.dwell")
    ('the rate', 'the dwell at unload')
    """
    return TABLE[table_key(key)].name.format(station=station_of(key))
