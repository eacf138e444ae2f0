"""What would happen if it moved quicker or slower: why a check cannot hold at another pace."""

from collections.abc import Sequence
from typing import Final

from recommender.choice.configuration import Motion
from recommender.choice.findings import Finding
from recommender.explain.measures import listed, measure

TOO_QUICK: Final = {
    "load.slip": "the load would slip",
    "load.tip": "the load would tip",
    "load.clamp": "the load would slip in its clamp",
    "load.acceleration": "the load might not bear it",
    "limit.acceleration": "the enquiry's limit of acceleration would be passed",
    "limit.jerk_bend": "the enquiry's limit of jerk would be passed",
    "roller.working_load": "its rollers would be overloaded",
    "roller.static": "its rollers would be overloaded",
    "rating.roll_moment": "the roll moment on its guide would be too large",
    "rating.pitch_moment": "the pitch moment on its guide would be too large",
    "rating.yaw_moment": "the yaw moment on its guide would be too large",
    "load.spill": "the liquid would spill",
    "limit.jerk": "the enquiry's limit of jerk would be passed",
    "limit.speed": "the enquiry's limit of speed would be passed",
    "roller.life": "its rollers would not last",
    "drive.peak_straight": "its drive has no more force",
    "drive.peak_bend": "its drive has no more force in the bends",
    "drive.continuous": "its windings would get too hot",
    "house.acceleration": "the house's limit of acceleration would be passed",
    "rating.speed": "its rated speed would be passed",
}
"""What would happen if the motion were quicker."""

TOO_SLOW: Final = {
    "station.exchange": "carriers would not be exchanged in time at {where}",
    "fleet.bend_spacing": "carriers would not follow each other in time through the bends",
    "fleet.room": "carriers would not follow each other in time between {where}",
    "fleet.lap": "a lap would take too long",
    "fleet.places": "the loop would be too full of carriers",
    "fleet.takt": "its carriers would come too seldom",
}
"""What would happen if it were slower."""


def clash(finding: Finding, held: Sequence[Finding]) -> str:
    """What would happen at another pace, whatever the pace is; empty if nothing is in the way."""
    if not held:
        return ""
    if finding.check in TOO_QUICK:
        return f"; slower, {listed(list(dict.fromkeys(map(if_slower, held))))}"
    quicker = dict.fromkeys(if_quicker(one) for one in held if one.check not in TOO_SLOW)
    there = dict.fromkeys(if_slower(one) for one in held if one.check in TOO_SLOW)
    text = f"; quicker, {listed(list(quicker))}" if quicker else ""
    return text + (f"; where that holds, {listed(list(there))}" if there else "")


_OF_ACCELERATION: Final = frozenset({"limit.jerk", "drive.continuous", "house.acceleration"})
"""Checks of how it speeds up that have no load case."""


def pace(motion: Motion, held: Finding) -> str:
    """How quickly it moves, as far as a check has a say in it."""
    if held.where.in_bends:
        return f"takes the bends at {measure(motion.bend_speed, 'speed')} only"
    if held.check in ("limit.speed", "rating.speed"):
        return f"runs {measure(motion.speed, 'speed')} only"
    if held.where.load_case is None and held.check not in _OF_ACCELERATION:
        return "moves no quicker"
    return f"speeds up with {measure(motion.acceleration, 'acceleration')} only"


def if_quicker(held: Finding) -> str:
    return TOO_QUICK.get(held.check) or _fails(held)


def if_slower(held: Finding) -> str:
    text = TOO_SLOW.get(held.check)
    return text.format(where=held.where.text) if text else _fails(held)


def _fails(held: Finding) -> str:
    title = held.about.title
    return f"there would be too little left for the {title[:1].lower()}{title[1:]}"
