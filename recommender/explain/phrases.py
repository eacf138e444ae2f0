"""Why a check fails, in words: what, where, by how much, and what is behind it.

A check says so itself; here is filled in what its words ask for.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from recommender.choice.carrier.where import Where
from recommender.choice.checks.findings import Finding
from recommender.choice.decision.obstacle import longest_straight, obstacle
from recommender.explain.contributions import Breakdown, breakdown
from recommender.explain.measures import count, measure
from recommender.explain.paces import clash, if_quicker, pace
from recommender.explain.scene import Scene

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
    """A failing check in its configuration, with its numbers as text.

    ``held`` are checks without which it would hold, if it does not fail by itself. The properties
    are what the words of a check may ask for.
    """

    finding: Finding
    scene: Scene
    held: Sequence[Finding] = ()
    currency: str = ""

    @cached_property
    def demand(self) -> str:
        """What is asked; told apart from the limit where both read the same."""
        text = self._measure(self.finding.demand)
        return f"slightly more than {text}" if text == self.limit else text

    @cached_property
    def limit(self) -> str:
        """What is allowed."""
        return self._measure(self.finding.limit)

    @cached_property
    def excess(self) -> str:
        """By how much: ``7.2 kg more``."""
        over = self._measure(self.finding.demand - self.finding.limit)
        return "slightly more" if over.startswith(("0 ", "0.00 ")) else f"{over} more"

    @property
    def where(self) -> str:
        """What governs, in words: a load case, a roller, a station, a part."""
        return self.finding.governed_by

    @property
    def moment(self) -> str:
        """The load case that governs, as a time or place."""
        return moment(self.finding.where)

    @property
    def axis(self) -> str:
        """The axis that governs."""
        return self.finding.where.axis

    @property
    def roller(self) -> str:
        """The roller that governs, and of a pair the truck that it belongs to."""
        where = self.finding.where
        return ", ".join(part for part in (where.roller or "roller", where.truck) if part)

    @property
    def made_by(self) -> str:
        """What makes most of it."""
        found = self._breakdown
        if found is None:
            return ""
        name, amount = found.shares[0]
        return f"; the {name} makes {self._measure(amount)} of it"

    @property
    def most_of_it(self) -> str:
        """What most of a force is for."""
        found = self._breakdown
        if found is None:
            return ""
        name, amount = found.shares[0]
        return f"; {measure(amount, 'force')} of it is for {name}"

    @property
    def mostly(self) -> str:
        """The largest share of what loads the rollers, as the reason."""
        found = self._breakdown
        if found is None or found.total <= 0.0:
            return ""
        name, amount = found.shares[0]
        unit = found.unit if found.unit != "N" else "force"
        said, whole = measure(amount, unit), measure(found.total, unit)
        return f", because the {name} makes {said} of {whole} of {found.quantity}"

    @property
    def carrier(self) -> str:
        """Id of the carrier."""
        return self.scene.configuration.option.carrier.id

    @property
    def carriers(self) -> str:
        """How many carriers there are."""
        return count(self.scene.configuration.carriers)

    @property
    def bend(self) -> str:
        """Id of the bend."""
        return self.scene.configuration.option.bend.id

    @property
    def takt(self) -> str:
        """Time between two carriers."""
        return measure(self.scene.about.takt, "duration")

    @property
    def ambient(self) -> str:
        """Temperature of the surroundings."""
        return measure(self.scene.case.site.ambient, "temperature")

    @property
    def friction(self) -> str:
        """Coefficient of friction."""
        return f"{self.scene.case.load.friction:g}"

    @property
    def clamp(self) -> str:
        """Force of the clamp."""
        return measure(self.scene.case.load.clamping_force or 0.0, "force")

    @property
    def height(self) -> str:
        """How high the load's centre of gravity is."""
        return measure(self.scene.case.load.cg_height, "length")

    @property
    def base(self) -> str:
        """What the load stands on, along the axis that governs."""
        load = self.scene.case.load
        wide = measure(load.length if self.axis == "along" else load.width, "length")
        nested = load.held == "nested" and load.pocket
        return f"{wide} in a nest {measure(load.pocket or 0.0, 'length')} deep" if nested else wide

    @property
    def what(self) -> str:
        """What weighs on the carrier."""
        items, mass = self.scene.configuration.option.items, self.scene.case.tooling.mass
        if items == 1 and not mass:
            return "the load weighs"
        load = "load" if items == 1 else f"{count(items)} items"
        return f"{load} and fixture weigh" if mass else f"{load} weigh"

    @property
    def wheelbase(self) -> str:
        """Wheelbase of the carrier."""
        return self._measure(self.scene.configuration.option.carrier.wheelbase)

    @property
    def rails(self) -> str:
        """What the rails of the bend are cut for."""
        cut = self.scene.configuration.option.bend.cut_for
        return "as far apart as on a straight" if cut is None else f"cut for {self._measure(cut)}"

    @property
    def play(self) -> str:
        """How rollers stand between rails that they do not fit."""
        if self.where == "loose":
            return f"come {self.demand} loose where their preload takes up {self.limit}"
        return f"are squeezed by {self.demand} where they bear {self.limit}"

    @property
    def bend_is_abrupt(self) -> str:
        """Why a bend jerks the load."""
        transition = self.scene.configuration.option.bend.transition
        if not transition:
            return "a plain arc takes hold of it at once"
        return f"transitions of {measure(transition, 'length')} are too short for that speed"

    @property
    def sweeps_width(self) -> str:
        """What takes the width: of an upright loop the carrier with its load."""
        if self.scene.case.loop.plane == "upright":
            return (
                f"{self.where} with its load and the guide behind it takes {self.demand} of floor"
                f" across the upright loop, {self.excess} than is free"
            )
        return (
            f"with {self.where} the loop sweeps {self.demand} of width, {self.excess} than is free,"
            f" because load and plate reach {self.beyond_guide} beyond the guide on either side"
        )

    @property
    def beyond_guide(self) -> str:
        """How far loads reach beyond the guide on either side."""
        shares = dict(self._breakdown.shares) if self._breakdown else {}
        across = shares.get("from guide to guide", 0.0)
        return self._measure(0.5 * (self.finding.demand - across))

    @property
    def beyond_straights(self) -> str:
        """How far bends with their loads reach beyond the straights."""
        straight = self.scene.configuration.loop.straight
        return self._measure(0.5 * (self.finding.demand - straight))

    @property
    def within_the_limit(self) -> str:
        """What stands in the way of a loop that is no longer than it may be."""
        about = self.scene.about
        allowed = 0.5 * self.finding.limit - about.bend_length
        longest = longest_straight(about.catalogue, max(allowed, 0.0))
        if longest:
            return f"; within {self.limit}, {obstacle(about, longest)}"
        bends = self._measure(2.0 * about.bend_length)
        return f", as its bends alone have {bends} and some straight must lie between them"

    @property
    def lap(self) -> str:
        """What a lap takes, and most of it, against what the fleet has for it."""
        if math.isinf(self.finding.demand):
            return TOO_SHORT_A_WAY
        found, most = self._breakdown, ""
        if found is not None:
            most = f", {measure(found.shares[0][1], 'duration')} of it for {found.shares[0][0]}"
        one = self.scene.configuration.carriers == 1
        fleet = "one carrier has" if one else f"{self.carriers} carriers have"
        return f"a lap takes {self.demand}{most}, where {fleet} {self.limit}"

    @cached_property
    def _breakdown(self) -> Breakdown | None:
        """What the demand is made of."""
        return breakdown(self.scene, self.finding)

    def _measure(self, value: float) -> str:
        """A value in the unit of the check."""
        return measure(value, self.finding.about.unit, self.currency)


class _Asked(Mapping[str, str]):
    """The properties of a failure by their names, each worked out when it is asked for."""

    def __init__(self, told: Failure) -> None:
        self.told = told

    def __getitem__(self, name: str) -> str:
        return str(getattr(self.told, name))

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 0


def failure(told: Failure) -> str:
    """What a failing check found and why, without a capital or a stop."""
    text = told.finding.about.fails.format_map(_Asked(told))
    return (text if told.where else " ".join(text.split())) + _clash(told)


def _clash(told: Failure) -> str:
    """What keeps a check from holding, as a reason: the checks that it clashes with."""
    slowing = [one for one in told.held if not one.about.slower]
    if told.finding.about.quicker or not slowing:
        return clash(told.finding, told.held)
    limits = dict.fromkeys(
        f"{pace(told.scene.configuration.motion, one)}: beyond that {if_quicker(one)}"
        for one in slowing
    )
    others = [one for one in told.held if one.about.slower]
    return ", because it " + " and ".join(limits) + clash(told.finding, others)
