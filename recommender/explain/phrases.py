"""Why a check fails, in words: what, where, by how much, and what is behind it.

A check says so itself; here is filled in what its words ask for, and what would happen at another
pace.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from string import Formatter
from typing import Final

from recommender.choice.carrier.where import Where
from recommender.choice.checks.findings import Finding
from recommender.choice.decision.obstacle import longest_straight, obstacle
from recommender.choice.parts.configuration import Configuration, Motion
from recommender.explain.contributions import Breakdown, breakdown
from recommender.explain.measures import count, listed, lowered, measure
from recommender.explain.scene import Scene
from recommender.inputs.case_tables import Load

TOO_SHORT_A_WAY: Final = (
    "between a station and a bend it is too short a way to reach the speed of the bend"
)
"""Why a lap cannot be run at all."""

_BEFORE_LOAD_CASES: Final = {
    "speeding up": "while ",
    "braking": "while ",
    "cruising": "while ",
    "process": "under the ",
    "turning": "",
}


def moment(where: Where) -> str:
    """A load case as the time or place at which something happens."""
    case = where.load_case
    if case is None:
        return where.text
    before = "in an " if "emergency" in case.kind else _BEFORE_LOAD_CASES.get(case.kind, "when ")
    text = before + case.name
    return f"{text}," if "," in text else text


@dataclass(frozen=True)
class Failure:
    """A failing check in its configuration.

    ``held`` are checks without which it would hold, if it does not fail by itself.
    """

    finding: Finding
    scene: Scene
    held: Sequence[Finding] = ()
    currency: str = ""

    @property
    def built(self) -> Configuration:
        """The configuration that fails."""
        return self.scene.configuration

    @property
    def load(self) -> Load:
        """The load that is asked for."""
        return self.scene.case.load

    @cached_property
    def breakdown(self) -> Breakdown | None:
        """What the demand is made of."""
        return breakdown(self.scene, self.finding)

    def measure(self, value: float) -> str:
        """A value in the unit of the check."""
        return measure(value, self.finding.about.unit, self.currency)


def failure(told: Failure) -> str:
    """What a failing check found and why, without a capital or a stop."""
    template = told.finding.about.fails
    asked = {name for _, name, _, _ in Formatter().parse(template) if name}
    text = template.format(**{name: ASKED[name](told) for name in asked})
    return (text if told.finding.governed_by else " ".join(text.split())) + _clash(told)


def _demand(told: Failure) -> str:
    """What is asked; told apart from the limit where both read the same."""
    text, limit = (told.measure(value) for value in (told.finding.demand, told.finding.limit))
    return f"slightly more than {text}" if text == limit else text


def _limit(told: Failure) -> str:
    return told.measure(told.finding.limit)


def _excess(told: Failure) -> str:
    """By how much: ``7.2 kg more``."""
    over = told.measure(told.finding.demand - told.finding.limit)
    return "slightly more" if over.startswith(("0 ", "0.00 ")) else f"{over} more"


def _roller(told: Failure) -> str:
    """The roller that governs, and of a pair the truck that it belongs to."""
    where = told.finding.where
    return ", ".join(part for part in (where.roller or "roller", where.truck) if part)


def _made_by(told: Failure) -> str:
    """What makes most of it."""
    if told.breakdown is None:
        return ""
    name, amount = told.breakdown.shares[0]
    return f"; the {name} makes {told.measure(amount)} of it"


def _most_of_it(told: Failure) -> str:
    """What most of a force is for."""
    if told.breakdown is None:
        return ""
    name, amount = told.breakdown.shares[0]
    return f"; {measure(amount, 'force')} of it is for {name}"


def _mostly(told: Failure) -> str:
    """The largest share of what loads the rollers, as the reason."""
    found = told.breakdown
    if found is None or found.total <= 0.0:
        return ""
    name, amount = found.shares[0]
    unit = "force" if found.unit == "N" else found.unit
    said, whole = measure(amount, unit), measure(found.total, unit)
    return f", because the {name} makes {said} of {whole} of {found.quantity}"


def _base(told: Failure) -> str:
    """What the load stands on, along the axis that governs."""
    load = told.load
    wide = measure(load.length if told.finding.where.axis == "along" else load.width, "length")
    nested = load.held == "nested" and load.pocket
    return f"{wide} in a nest {measure(load.pocket or 0.0, 'length')} deep" if nested else wide


def _what_weighs(told: Failure) -> str:
    items, mass = told.built.option.items, told.scene.case.tooling.mass
    if items == 1 and not mass:
        return "the load weighs"
    load = "load" if items == 1 else f"{count(items)} items"
    return f"{load} and fixture weigh" if mass else f"{load} weigh"


def _rails(told: Failure) -> str:
    """What the rails of the bend are cut for."""
    cut = told.built.option.bend.cut_for
    return "as far apart as on a straight" if cut is None else f"cut for {told.measure(cut)}"


def _play(told: Failure) -> str:
    """How rollers stand between rails that they do not fit."""
    if told.finding.governed_by == "loose":
        return f"come {_demand(told)} loose where their preload takes up {_limit(told)}"
    return f"are squeezed by {_demand(told)} where they bear {_limit(told)}"


def _bend_is_abrupt(told: Failure) -> str:
    """Why a bend jerks the load."""
    transition = told.built.option.bend.transition
    if not transition:
        return "a plain arc takes hold of it at once"
    return f"transitions of {measure(transition, 'length')} are too short for that speed"


def _sweeps_width(told: Failure) -> str:
    """What takes the width: of an upright loop the carrier with its load."""
    where, demand, excess = told.finding.governed_by, _demand(told), _excess(told)
    if told.scene.case.loop.plane == "upright":
        return (
            f"{where} with its load and the guide behind it takes {demand} of floor"
            f" across the upright loop, {excess} than is free"
        )
    return (
        f"with {where} the loop sweeps {demand} of width, {excess} than is free,"
        f" because load and plate reach {_beyond_guide(told)} beyond the guide on either side"
    )


def _beyond_guide(told: Failure) -> str:
    """How far loads reach beyond the guide on either side."""
    shares = dict(told.breakdown.shares) if told.breakdown else {}
    return told.measure(0.5 * (told.finding.demand - shares.get("from guide to guide", 0.0)))


def _beyond_straights(told: Failure) -> str:
    """How far bends with their loads reach beyond the straights."""
    return told.measure(0.5 * (told.finding.demand - told.built.loop.straight))


def _within_the_limit(told: Failure) -> str:
    """What stands in the way of a loop that is no longer than it may be."""
    about = told.scene.about
    allowed = 0.5 * told.finding.limit - about.bend_length
    longest = longest_straight(about.catalogue, max(allowed, 0.0))
    if longest:
        return f"; within {_limit(told)}, {obstacle(about, longest)}"
    bends = told.measure(2.0 * about.bend_length)
    return f", as its bends alone have {bends} and some straight must lie between them"


def _lap(told: Failure) -> str:
    """What a lap takes, and most of it, against what the fleet has for it."""
    if math.isinf(told.finding.demand):
        return TOO_SHORT_A_WAY
    most = ""
    if told.breakdown is not None:
        name, amount = told.breakdown.shares[0]
        most = f", {measure(amount, 'duration')} of it for {name}"
    carriers = told.built.carriers
    fleet = "one carrier has" if carriers == 1 else f"{count(carriers)} carriers have"
    return f"a lap takes {_demand(told)}{most}, where {fleet} {_limit(told)}"


ASKED: Final[Mapping[str, Callable[[Failure], str]]] = {
    "demand": _demand,
    "limit": _limit,
    "excess": _excess,
    "where": lambda told: told.finding.governed_by,
    "moment": lambda told: moment(told.finding.where),
    "axis": lambda told: told.finding.where.axis,
    "roller": _roller,
    "made_by": _made_by,
    "most_of_it": _most_of_it,
    "mostly": _mostly,
    "carrier": lambda told: told.built.option.carrier.id,
    "carriers": lambda told: count(told.built.carriers),
    "bend": lambda told: told.built.option.bend.id,
    "takt": lambda told: measure(told.scene.about.takt, "duration"),
    "ambient": lambda told: measure(told.scene.case.site.ambient, "temperature"),
    "friction": lambda told: f"{told.load.friction:g}",
    "clamp": lambda told: measure(told.load.clamping_force or 0.0, "force"),
    "height": lambda told: measure(told.load.cg_height, "length"),
    "base": _base,
    "what": _what_weighs,
    "wheelbase": lambda told: told.measure(told.built.option.carrier.wheelbase),
    "rails": _rails,
    "play": _play,
    "bend_is_abrupt": _bend_is_abrupt,
    "sweeps_width": _sweeps_width,
    "beyond_guide": _beyond_guide,
    "beyond_straights": _beyond_straights,
    "within_the_limit": _within_the_limit,
    "lap": _lap,
}
"""What the words of a check may ask for."""


def _clash(told: Failure) -> str:
    """What keeps a check from holding, as a reason: the checks that it clashes with."""
    slowing = [one for one in told.held if not one.about.slower]
    if told.finding.about.quicker or not slowing:
        return clash(told.finding, told.held)
    limits = dict.fromkeys(
        f"{_pace(told.built.motion, one)}: beyond that {_if_quicker(one)}" for one in slowing
    )
    others = [one for one in told.held if one.about.slower]
    return ", because it " + " and ".join(limits) + clash(told.finding, others)


def clash(finding: Finding, held: Sequence[Finding]) -> str:
    """What would happen at another pace, whatever the pace is; empty if nothing is in the way."""
    if not held:
        return ""
    if finding.about.quicker:
        return f"; slower, {listed(list(dict.fromkeys(map(_if_slower, held))))}"
    quicker = dict.fromkeys(_if_quicker(one) for one in held if not one.about.slower)
    there = dict.fromkeys(_if_slower(one) for one in held if one.about.slower)
    text = f"; quicker, {listed(list(quicker))}" if quicker else ""
    return text + (f"; where that holds, {listed(list(there))}" if there else "")


_OF_ACCELERATION: Final = frozenset({"limit.jerk", "drive.continuous", "house.acceleration"})
"""Checks of how it speeds up that have no load case."""


def _pace(motion: Motion, held: Finding) -> str:
    """How quickly it moves, as far as a check has a say in it."""
    if held.where.in_bends:
        return f"takes the bends at {measure(motion.bend_speed, 'speed')} only"
    if held.check in ("limit.speed", "rating.speed"):
        return f"runs {measure(motion.speed, 'speed')} only"
    if held.where.load_case is None and held.check not in _OF_ACCELERATION:
        return "moves no quicker"
    return f"speeds up with {measure(motion.acceleration, 'acceleration')} only"


def _if_quicker(held: Finding) -> str:
    return held.about.quicker or _too_little_left(held)


def _if_slower(held: Finding) -> str:
    text = held.about.slower
    return text.format(where=held.where.text) if text else _too_little_left(held)


def _too_little_left(held: Finding) -> str:
    return f"there would be too little left for the {lowered(held.about.title)}"
