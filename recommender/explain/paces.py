"""What would happen if it moved quicker or slower: why a check cannot hold at another pace."""

from collections.abc import Sequence
from typing import Final

from recommender.choice.checks.findings import Finding
from recommender.choice.parts.configuration import Motion
from recommender.explain.measures import listed, measure


def clash(finding: Finding, held: Sequence[Finding]) -> str:
    """What would happen at another pace, whatever the pace is; empty if nothing is in the way."""
    if not held:
        return ""
    if finding.about.quicker:
        return f"; slower, {listed(list(dict.fromkeys(map(if_slower, held))))}"
    quicker = dict.fromkeys(if_quicker(one) for one in held if not one.about.slower)
    there = dict.fromkeys(if_slower(one) for one in held if one.about.slower)
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
    return held.about.quicker or _fails(held)


def if_slower(held: Finding) -> str:
    text = held.about.slower
    return text.format(where=held.where.text) if text else _fails(held)


def _fails(held: Finding) -> str:
    title = held.about.title
    return f"there would be too little left for the {title[:1].lower()}{title[1:]}"
