"""What an enquiry left open, as questions to the customer with the value that was taken.

An assumption belongs to one of three groups: what the customer can answer, rules of the house that
stand in its catalogue, and what the method itself takes for granted.
"""

from enum import StrEnum
from typing import Final

from recommender.inputs.case import Assumption, Case, assumptions
from recommender.inputs.catalogue import Catalogue
from recommender.results.assumption import AssumptionLine


class Group(StrEnum):
    """Who answers for an assumption."""

    CUSTOMER = "customer"
    HOUSE = "house"
    METHOD = "method"


_QUESTIONS: Final = {
    "load.length": "How long is the load along the travel?",
    "load.width": "How wide is the load across the travel?",
    "load.reach": "How far outward of the guide is the load's centre of gravity (overhang)?",
    "load.offset": "How far ahead of the carrier's middle is the load's centre of gravity?",
    "load.cg_height": "How high above the mounting face is the load's centre of gravity?",
    "load.held": "What holds the load: friction, a nest, a clamp?",
    "load.friction": "Which coefficient of friction is sure between load and carrier?",
    "load.pocket": "How deep is the nest that holds the load?",
    "load.clamping_force": "With which force does the clamp hold one item?",
    "load.liquid.width": "How wide is the liquid across the travel?",
    "load.liquid.viscosity": "Which kinematic viscosity has the liquid, where it is warmest?",
    "tooling.mass": "How heavy is the fixture that stays on the carrier?",
    "tooling.reach": "How far outward is the fixture's centre of gravity?",
    "tooling.cg_height": "How high is the fixture's centre of gravity?",
    "rate.per_carrier": "How many items may share a carrier?",
    "loop.plane": "Does the loop lie flat or stand upright?",
    "loop.max_length": "How long may the guide be?",
    "loop.max_width": "How wide may the loop be, with loads?",
    "loop.max_height": "How high may the loop be, with loads?",
    "loop.max_extent": "How long may the loop be along its straights, with loads?",
    "loop.restart": "May the carriers start one after another after a stop?",
    "station": "Which stations are there, and how long is the dwell at each?",
    "station.side": "On which run do the stations stand, upper or lower?",
    "station.tolerance": "How far off may the load be at rest{at}, to either side?",
    "station.dwell_variation": "By which share of its mean does the dwell vary{at}?",
    "station.length": "How long is the station itself{at}, along the travel?",
    "station.positions": "How many carriers are served at once{at}?",
    "station.force": "Which process force (along, outward, up) acts on the load{at}?",
    "limits.acceleration": "Which acceleration may the load bear at most?",
    "limits.jerk": "Which jerk may the load bear at most?",
    "limits.speed": "Is there a limit of speed?",
    "site.ambient": "How warm does it get round the loop?",
    "life.hours": "How many hours must the rollers last?",
    "life.years": "In how many years are those hours run, for the energy of a year?",
    "life.reliability": "With which reliability, in per cent, must the rollers last?",
}

_OTHERWISE: Final = {
    ("loop.max_width", "upright"): "Is the width that is given the floor across the upright loop?",
    ("loop.max_height", "flat"): "Is the loop to stand upright, as a height is given for it?",
    ("station.side", "upright"): "On which run is the station{at}, upper or lower?",
    ("station.side", "flat"): "On which side of the loop is the station{at}, front or back?",
}
"""Questions where a value is there, but is read for the plane of the loop."""

_NOT_GIVEN: Final = "not given"
_TAKEN: Final = {
    "load.pocket": "none, so that it tips over its base",
    "load.clamping_force": "enough for what the load bears",
    "load.liquid.width": "as wide as the load",
    "load.liquid.viscosity": "as the house takes it",
    "tooling.reach": "as far as the load's",
    "loop.max_length": "no limit",
    "loop.max_width": "no limit",
    "loop.max_height": "no limit",
    "loop.max_extent": "no limit",
    "station.length": "as its carriers",
    "limits.acceleration": "what its hold or the house allows",
    "limits.jerk": "no limit",
    "limits.speed": "no limit",
}
"""What is taken for a value that is not given."""

_USUAL: Final = {
    "load.offset": "the load centred along the travel",
    "loop.plane": "a loop that lies {value}",
    "loop.restart": "a {value} restart",
    "station.dwell_variation": "dwells that do not vary",
    "station.positions": "carriers served one by one",
    "station.force": "no process force",
    "limits.jerk": "no limit of jerk",
    "limits.speed": "no limit of speed",
    "life.years": "running hours spread over {value} years",
}
"""What is so usual that it is told in one line with others, and asked in full on request."""


def question(line: Assumption) -> str:
    """What to ask the customer about an assumption.

    Examples
    --------
    >>> question(Assumption("station.unload.positions", "1", "one carrier is served at a time"))
    'How many carriers are served at once at unload?'
    >>> question(Assumption("load.colour", "grey", "most loads are grey"))
    'load.colour is taken as grey (most loads are grey): is that right?'
    """
    key, station = _known_key(line.key)
    at = f" at {station}" if station else ""
    known = _OTHERWISE.get((key, _read_for(line))) or _QUESTIONS.get(key)
    if known is None:
        return f"{line.key} is taken as {line.value} ({line.why}): is that right?"
    return known.replace("{at}", at)


def text_of(key: str) -> str:
    """What is asked about a key of a case; empty where nothing is.

    Examples
    --------
    >>> text_of("load.held")
    'What holds the load: friction, a nest, a clamp?'
    """
    return _QUESTIONS.get(key, "").replace("{at}", "")


def _known_key(key: str) -> tuple[str, str]:
    """The key without the name of a station, and that name."""
    table, _, field = key.partition(".")
    station, _, last = field.rpartition(".")
    return (f"station.{last}", station) if table == "station" and station else (key, "")


def _read_for(line: Assumption) -> str:
    """The plane of the loop for which a value is read that the case gives; empty for a default."""
    key, station = _known_key(line.key)
    if key == "loop.max_width" and line.value != _NOT_GIVEN:
        return "upright"
    if key == "loop.max_height" and line.value != _NOT_GIVEN:
        return "flat"
    if key == "station.side" and station:
        return "flat" if line.value == "any" else "upright"
    return ""


def asked_of_customer(case: Case) -> tuple[AssumptionLine, ...]:
    """What the case leaves open, each with its question."""
    return tuple(_line(entry, Group.CUSTOMER) for entry in assumptions(case))


def all_assumptions(case: Case, catalogue: Catalogue) -> tuple[AssumptionLine, ...]:
    """Everything that was taken for granted, group by group."""
    # Its physics needs arrays, which take longer to load than a case takes to be checked.
    from recommender.filling.assumptions import method_assumptions  # noqa: PLC0415 - as just said

    rest = method_assumptions(case, catalogue)
    house = [_line(entry, Group.HOUSE) for entry in rest if _of_house(entry)]
    method = [_line(entry, Group.METHOD) for entry in rest if not _of_house(entry)]
    return (*asked_of_customer(case), *house, *method)


def _of_house(entry: Assumption) -> bool:
    return entry.key.startswith("rules.")


def _line(entry: Assumption, group: Group) -> AssumptionLine:
    if group is not Group.CUSTOMER:
        return AssumptionLine(entry.key, entry.value, entry.why, str(group))
    key, station = _known_key(entry.key)
    value = _TAKEN.get(key, entry.value) if entry.value == _NOT_GIVEN else entry.value
    if key == "life.hours":
        value = f"{float(value):,.0f} h"
    brief = "" if _read_for(entry) else _USUAL.get(key, "").replace("{value}", value)
    if brief and station:
        brief += f" at {station}"
    return AssumptionLine(entry.key, value, entry.why, str(group), question(entry), brief)
