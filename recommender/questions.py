"""What an enquiry left open, as questions to the customer with the value that was taken.

An assumption belongs to one of three groups: what the customer can answer, rules of the house that
stand in its catalogue, and what the method itself takes for granted.
"""

from enum import StrEnum
from typing import Final

from recommender.assumptions import method_assumptions
from recommender.inputs.case import Assumption, Case, assumptions
from recommender.inputs.catalogue import Catalogue
from recommender.result import AssumptionLine


class Group(StrEnum):
    """Who answers for an assumption."""

    CUSTOMER = "customer"
    HOUSE = "house"
    METHOD = "method"


_QUESTIONS: Final = {
    "load.length": "How long is the load along the travel?",
    "load.width": "How wide is the load across the travel?",
    "load.reach": "How far outward of the guide is the load's centre of gravity (overhang)?",
    "load.offset": "How far ahead of the carrier's middle is the load's centre?",
    "load.cg_height": "How high above the mounting face is the load's centre of gravity?",
    "load.held": "What holds the load: friction, a nest, a clamp?",
    "load.friction": "Which coefficient of friction is sure between load and carrier?",
    "load.liquid.width": "How wide is the liquid across the travel?",
    "tooling.mass": "How heavy is the fixture that stays on the carrier?",
    "tooling.reach": "How far outward is the fixture's centre of gravity?",
    "tooling.cg_height": "How high is the fixture's centre of gravity?",
    "rate.per_carrier": "How many items may share a carrier?",
    "loop.plane": "Does the loop lie flat or stand upright?",
    "loop.max_length": "How long may the guide be?",
    "loop.max_width": "How wide may the loop be, with loads?",
    "loop.max_extent": "How long may the loop be along its straights, with loads?",
    "loop.restart": "May the carriers start one after another after a stop?",
    "station": "Which stations are there, and how long is the dwell at each?",
    "station.settling": "How long may a carrier settle before the dwell begins{at}?",
    "station.dwell_variation": "By which share of its mean does the dwell vary{at}?",
    "station.positions": "How many carriers are served at once{at}?",
    "station.force": "Which process force (along, outward, up) acts on the load{at}?",
    "limits.acceleration": "Which acceleration may the load bear at most?",
    "limits.jerk": "Which jerk may the load bear at most?",
    "limits.speed": "Is there a limit of speed?",
    "life.hours": "How many hours must the rollers last?",
    "life.reliability": "With which reliability, in per cent, must they last?",
}


def question(line: Assumption) -> str:
    """What to ask the customer about an assumption.

    Examples
    --------
    >>> question(Assumption("station.unload.positions", "1", "one carrier is served at a time"))
    'How many carriers are served at once at unload?'
    >>> question(Assumption("load.colour", "grey", "most loads are grey"))
    'load.colour is taken as grey (most loads are grey): is that right?'
    """
    table, _, field = line.key.partition(".")
    station, _, last = field.rpartition(".")
    key, at = line.key, ""
    if table == "station" and station:
        key, at = f"station.{last}", f" at {station}"
    known = _QUESTIONS.get(key)
    if known is None:
        return f"{line.key} is taken as {line.value} ({line.why}): is that right?"
    return known.replace("{at}", at)


def asked_of_customer(case: Case) -> tuple[AssumptionLine, ...]:
    """What the case leaves open, each with its question."""
    return tuple(_line(entry, Group.CUSTOMER) for entry in assumptions(case))


def all_assumptions(case: Case, catalogue: Catalogue) -> tuple[AssumptionLine, ...]:
    """Everything that was taken for granted, group by group."""
    rest = method_assumptions(case, catalogue)
    house = [_line(entry, Group.HOUSE) for entry in rest if _of_house(entry)]
    method = [_line(entry, Group.METHOD) for entry in rest if not _of_house(entry)]
    return (*asked_of_customer(case), *house, *method)


def _of_house(entry: Assumption) -> bool:
    return entry.key.startswith("rules.")


def _line(entry: Assumption, group: Group) -> AssumptionLine:
    asked = question(entry) if group is Group.CUSTOMER else ""
    return AssumptionLine(entry.key, entry.value, entry.why, str(group), asked)
