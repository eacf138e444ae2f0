"""Why a check fails, in words: what, where, by how much, and what is behind it."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from recommender.choice.findings import Finding
from recommender.choice.obstacle import longest_straight, obstacle
from recommender.choice.where import Where
from recommender.explain.contributions import Breakdown, breakdown
from recommender.explain.measures import count, measure
from recommender.explain.paces import TOO_QUICK, TOO_SLOW, clash, if_quicker, pace
from recommender.explain.scene import Scene


@dataclass(frozen=True)
class Failure:
    """A failing check in its configuration, with its numbers as text.

    ``held`` are checks without which it would hold, if it does not fail by itself.
    """

    finding: Finding
    scene: Scene
    held: Sequence[Finding] = ()
    currency: str = ""

    @cached_property
    def demand(self) -> str:
        """What is asked; told apart from the limit where both read the same."""
        text = self.measure(self.finding.demand)
        return f"slightly more than {text}" if text == self.limit else text

    @cached_property
    def limit(self) -> str:
        """What is allowed."""
        return self.measure(self.finding.limit)

    @cached_property
    def excess(self) -> str:
        """By how much: ``7.2 kg more``."""
        over = self.measure(self.finding.demand - self.finding.limit)
        return "slightly more" if over.startswith(("0 ", "0.00 ")) else f"{over} more"

    def measure(self, value: float) -> str:
        """A value in the unit of the check."""
        return measure(value, self.finding.about.unit, self.currency)

    @property
    def where(self) -> str:
        """What governs, in words: a load case, a roller, a station, a part."""
        return self.finding.governed_by

    @property
    def roller(self) -> str:
        """The roller that governs, and of a pair the truck that it belongs to."""
        where = self.finding.where
        return ", ".join(part for part in (where.roller or "roller", where.truck) if part)

    @property
    def moment(self) -> str:
        """The load case that governs, as a time or place."""
        return moment(self.finding.where)

    @cached_property
    def breakdown(self) -> Breakdown | None:
        """What the demand is made of."""
        return breakdown(self.scene, self.finding)


TOO_SHORT_A_WAY: Final = (
    "between a station and a bend it is too short a way to reach the speed of the bend"
)
"""Why a lap cannot be run at all."""


def failure(told: Failure) -> str:
    """What a failing check found and why, without a capital or a stop."""
    tell = _PHRASES.get(told.finding.check, _as_the_check_says)
    return tell(told) + _clash(told)


def _as_the_check_says(told: Failure) -> str:
    fails = told.finding.about.fails
    text = fails.format(demand=told.demand, limit=told.limit, where=told.where)
    return " ".join(text.split())


def _payload(told: Failure) -> str:
    items, mass = told.scene.configuration.option.items, told.scene.case.tooling.mass
    load = "load" if items == 1 else f"{count(items)} items"
    what = f"{load} and fixture weigh" if mass else f"{load} weigh"
    if items == 1 and not mass:
        what = "the load weighs"
    return f"{what} {told.demand}, {told.excess} than the {told.limit} that {told.where} may carry"


def _moment_on_guide(told: Failure) -> str:
    axis = told.finding.check.removeprefix("rating.").removesuffix("_moment")
    carrier = told.scene.configuration.option.carrier
    text = (
        f"{told.moment} the {axis} moment on the guide is {told.demand}, {told.excess} than"
        f" {carrier.id} is rated for"
    )
    found = told.breakdown
    if found is None:
        return text
    name, amount = found.shares[0]
    return f"{text}; the {name} makes {told.measure(amount)} of it"


def _pair(told: Failure) -> str:
    return (
        f"its two trucks stand {told.demand} apart, {told.excess} than the radius of {told.where},"
        " and would turn too far under their platform"
    )


def _bend_fit(told: Failure) -> str:
    option = told.scene.configuration.option
    cut, base = option.bend.cut_for, told.measure(option.carrier.wheelbase)
    rails = "as far apart as on a straight" if cut is None else f"cut for {told.measure(cut)}"
    how = (
        f"come {told.demand} loose where their preload takes up {told.limit}"
        if told.where == "loose"
        else f"are squeezed by {told.demand} where they bear {told.limit}"
    )
    return (
        f"its wheelbase of {base} does not fit the rails of {option.bend.id}, which are {rails}:"
        f" its rollers {how}"
    )


def _width(told: Failure) -> str:
    if told.scene.case.loop.plane == "upright":
        return (
            f"{told.where} with its load and the guide behind it takes {told.demand} of floor"
            f" across the upright loop, {told.excess} than is free"
        )
    return _swept(told, "width")


def _height(told: Failure) -> str:
    return _swept(told, "height")


def _swept(told: Failure, what: str) -> str:
    beyond = 0.5 * (told.finding.demand - _across(told))
    return (
        f"with {told.where} the loop sweeps {told.demand} of {what}, {told.excess} than is free,"
        f" because load and plate reach {told.measure(beyond)} beyond the guide on either side"
    )


def _across(told: Failure) -> float:
    found = told.breakdown
    return dict(found.shares)["from guide to guide"] if found else 0.0


def _extent(told: Failure) -> str:
    beyond = 0.5 * (told.finding.demand - told.scene.configuration.loop.straight)
    return (
        f"with {told.where} even the shortest loop that takes its stations sweeps {told.demand}"
        f" along its straights, {told.excess} than is free, because the bends with load and plate"
        f" reach {told.measure(beyond)} beyond them at either end"
    )


def _holding(told: Failure) -> str:
    return "on the lower run the load hangs upside down, where nothing but a clamp holds it"


def _deflection(told: Failure) -> str:
    return (
        f"at {told.where} the process presses the load {told.demand} aside, {told.excess} than its"
        " tolerance, as the carrier is not stiff enough for its overhang"
    )


def _delivery(told: Failure) -> str:
    return (
        f"with {told.where} as its slowest part delivery takes {told.demand}, {told.excess} than is"
        " left"
    )


def _roller(told: Failure) -> str:
    allowed = "its bearing" if told.finding.check == "roller.static" else "the catalogue"
    text = (
        f"{told.moment} the {told.roller} would bear {told.demand}, {told.excess} than {allowed}"
        " allows"
    )
    return text + _mostly(told.breakdown)


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


def _mostly(found: Breakdown | None) -> str:
    """The largest share of what loads the rollers, as the reason."""
    if found is None or found.total <= 0.0:
        return ""
    name, amount = found.shares[0]
    unit = found.unit if found.unit != "N" else "force"
    said, whole = measure(amount, unit), measure(found.total, unit)
    return f", because the {name} makes {said} of {whole} of {found.quantity}"


def _slip(told: Failure) -> str:
    friction = told.scene.case.load.friction
    return (
        f"{told.moment} the load is thrown with {told.demand}, {told.excess} than a"
        f" friction of {friction:g} holds"
    )


def _tip(told: Failure) -> str:
    load = told.scene.case.load
    axis = told.finding.where.axis
    base = load.length if axis == "along" else load.width
    height, wide = measure(load.cg_height, "length"), measure(base, "length")
    nested = load.held == "nested"
    nest = f" in a nest {measure(load.pocket, 'length')} deep" if nested and load.pocket else ""
    return (
        f"{told.moment} the load is thrown with {told.demand} {axis} the travel and tips beyond"
        f" {told.limit}, because its centre of gravity is {height} high on a base of {wide}{nest}"
    )


def _clamp(told: Failure) -> str:
    force = measure(told.scene.case.load.clamping_force or 0.0, "force")
    return (
        f"{told.moment} the load is pulled with {told.demand}, {told.excess} than a clamp"
        f" of {force} holds"
    )


def _usual_acceleration(told: Failure) -> str:
    return (
        f"{told.moment} the load is accelerated with {told.demand}, {told.excess} than a"
        " load is taken to bear where the enquiry sets no limit"
    )


def _acceleration(told: Failure) -> str:
    return (
        f"{told.moment} the load is accelerated with {told.demand}, {told.excess} than the"
        " enquiry allows"
    )


def _jerk_in_bends(told: Failure) -> str:
    option = told.scene.configuration.option
    why = (
        "a plain arc takes hold of it at once"
        if not option.bend.transition
        else f"transitions of {measure(option.bend.transition, 'length')} are too short for that"
        " speed"
    )
    return (
        f"{told.where}, the load is jerked with {told.demand}, {told.excess} than the enquiry"
        f" allows, because {why}"
    )


def _spill(told: Failure) -> str:
    return (
        f"in {told.where} the liquid rises by {told.demand} at the wall, {told.excess} than is free"
    )


def _drive(told: Failure) -> str:
    text = f"{told.moment} the drive would need {told.demand}, {told.excess} than it has"
    found = told.breakdown
    if found is None:
        return text
    name, amount = found.shares[0]
    return f"{text}; {measure(amount, 'force')} of it is for {name}"


def _heat(told: Failure) -> str:
    return (
        f"the windings at the {told.where} would get as hot as with {told.demand} all the time,"
        f" {told.excess} than they bear, as a carrier comes every"
        f" {measure(told.scene.about.takt, 'duration')}"
    )


def _standing(told: Failure) -> str:
    return (
        f"a carrier that waits in an upright bend asks each of its magnets for {told.demand},"
        f" {told.excess} than {told.where} gives for any time in surroundings of"
        f" {measure(told.scene.case.site.ambient, 'temperature')}"
    )


def _length(told: Failure) -> str:
    about = told.scene.about
    allowed = 0.5 * told.finding.limit - about.bend_length
    text = (
        f"the shortest loop that takes its stations has {told.demand} of guide, {told.excess} than"
        " there may be"
    )
    longest = longest_straight(about.catalogue, max(allowed, 0.0))
    if not longest:
        bends = told.measure(2.0 * about.bend_length)
        return f"{text}, as its bends alone have {bends} and some straight must lie between them"
    return f"{text}; within {told.limit}, {obstacle(about, longest)}"


def _exchange(told: Failure) -> str:
    return (
        f"at {told.where} a carrier and its exchange take {told.demand}, where the next one is due"
        f" after {told.limit}"
    )


def _bend_spacing(told: Failure) -> str:
    return (
        f"carriers follow each other through the bends every {told.demand} only, where one is due"
        f" every {told.limit}"
    )


def _room(told: Failure) -> str:
    return (
        f"between {told.where} there is too little room: carriers can follow each other every"
        f" {told.demand} there, where one is due every {told.limit}"
    )


def _lap(told: Failure) -> str:
    if math.isinf(told.finding.demand):
        return TOO_SHORT_A_WAY
    found, most = told.breakdown, ""
    if found is not None:
        most = f", {measure(found.shares[0][1], 'duration')} of it for {found.shares[0][0]}"
    carriers = told.scene.configuration.carriers
    fleet = "one carrier has" if carriers == 1 else f"{count(carriers)} carriers have"
    return f"a lap takes {told.demand}{most}, where {fleet} {told.limit}"


def _places(told: Failure) -> str:
    carriers = told.scene.configuration.carriers
    return (
        f"the loop has {told.limit}, and {count(carriers)} carriers with the room to"
        f" exchange them take up {told.demand}"
    )


def _gaps(told: Failure) -> str:
    return f"between {told.where} there are {told.limit}, where {told.demand} are needed"


def _commanded(told: Failure) -> str:
    return f"it needs {told.demand}, and {told.where} commands {told.limit}"


def _takt(told: Failure) -> str:
    return f"its carriers come every {told.demand} only, where one is due every {told.limit}"


def _life(told: Failure) -> str:
    return f"its rollers last {told.limit}, where {told.demand} are asked, the {told.where} least"


def _mean(told: Failure) -> str:
    return f"{told.demand} are drawn on average, {told.excess} than {told.where} can give"


def _peak(told: Failure) -> str:
    return f"up to {told.demand} are drawn at an instant, {told.excess} than {told.where} can give"


def _voltage(told: Failure) -> str:
    return (
        f"{told.where}, {told.demand} are lost on the way, {told.excess} than may be: it would need"
        " more feeds or a stronger bus than the catalogue has"
    )


def _budget(told: Failure) -> str:
    return f"it costs {told.demand}, {told.excess} than may be spent"


def _clash(told: Failure) -> str:
    """What keeps a check from holding, as a reason: the checks that it clashes with."""
    slowing = [one for one in told.held if one.check not in TOO_SLOW]
    if told.finding.check in TOO_QUICK or not slowing:
        return clash(told.finding, told.held)
    limits = dict.fromkeys(
        f"{pace(told.scene.configuration.motion, one)}: beyond that {if_quicker(one)}"
        for one in slowing
    )
    others = [one for one in told.held if one.check in TOO_SLOW]
    return ", because it " + " and ".join(limits) + clash(told.finding, others)


_PHRASES: Final[dict[str, Callable[[Failure], str]]] = {
    "rating.payload": _payload,
    "rating.roll_moment": _moment_on_guide,
    "rating.pitch_moment": _moment_on_guide,
    "rating.yaw_moment": _moment_on_guide,
    "pair.bend": _pair,
    "guide.bend_fit": _bend_fit,
    "loop.width": _width,
    "loop.height": _height,
    "load.holding": _holding,
    "station.deflection": _deflection,
    "commercial.delivery": _delivery,
    "commercial.chain": _delivery,
    "roller.static": _roller,
    "roller.working_load": _roller,
    "load.slip": _slip,
    "load.tip": _tip,
    "load.clamp": _clamp,
    "load.acceleration": _usual_acceleration,
    "limit.acceleration": _acceleration,
    "limit.jerk_bend": _jerk_in_bends,
    "load.spill": _spill,
    "drive.peak_straight": _drive,
    "drive.peak_bend": _drive,
    "drive.continuous": _heat,
    "drive.standing": _standing,
    "loop.length": _length,
    "loop.extent": _extent,
    "station.exchange": _exchange,
    "fleet.bend_spacing": _bend_spacing,
    "fleet.room": _room,
    "fleet.lap": _lap,
    "fleet.places": _places,
    "fleet.gaps": _gaps,
    "fleet.takt": _takt,
    "controller.carriers": _commanded,
    "roller.life": _life,
    "supply.mean": _mean,
    "supply.peak": _peak,
    "supply.voltage": _voltage,
    "commercial.budget": _budget,
}
