"""What a demand is made of: shares of a moment, a force, a time or a price."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from recommender.choice.carrier.bodies import PARTS
from recommender.choice.checks.configured import run_of_supply
from recommender.choice.checks.findings import Finding
from recommender.choice.checks.moments import COMPONENT
from recommender.choice.parts.bill import bill_of_materials, price_by_item
from recommender.explain.scene import Scene
from recommender.explain.wrench_shares import (
    COMPONENTS,
    FIRST_ROUND,
    ROUND,
    SPEEDING,
    WEIGHT,
    YAW,
    LoadCase,
    governing_component,
    load_case,
    wrench_shares,
)
from recommender.physics.bend import bend_depth, bend_width
from recommender.physics.fleet import batch_wait

_SMALL: Final = 0.02
"""Shares below this part of the largest are told together."""

_REST: Final = "everything else"


@dataclass(frozen=True)
class Breakdown:
    """A quantity and the shares that add up to it, largest first; ``unit`` is SI or money.

    ``quantity`` is what the total is called in a sentence, where one speaks of it.
    """

    title: str
    unit: str
    shares: tuple[tuple[str, float], ...]
    quantity: str = ""

    @property
    def total(self) -> float:
        """Sum of the shares."""
        return sum(amount for _, amount in self.shares)


def breakdown(scene: Scene, finding: Finding) -> Breakdown | None:
    """What the demand of a check is made of, or ``None`` if it is of one piece.

    Parameters
    ----------
    scene : Scene
        The configuration that was checked.
    finding : Finding
        A check of it.

    Returns
    -------
    Breakdown or None
    """
    found, case = None, load_case(scene, finding.where.load_case)
    if finding.check in _BY_CHECK:
        found = _BY_CHECK[finding.check](scene, finding)
    elif finding.check in _BY_LOAD_CASE and case is not None:
        found = _BY_LOAD_CASE[finding.check](scene, finding, case)
    if found is None:
        return None
    shares = _merged(found.shares)
    return replace(found, shares=shares) if len(shares) > 1 else None


def _merged(shares: Iterable[tuple[str, float]]) -> tuple[tuple[str, float], ...]:
    """Equal names added up, the largest first and small ones together at the end."""
    amounts: dict[str, float] = {}
    for name, amount in shares:
        amounts[name] = amounts.get(name, 0.0) + amount
    least = _SMALL * max((abs(amount) for amount in amounts.values()), default=0.0)
    large = sorted(
        ((name, amount) for name, amount in amounts.items() if abs(amount) > least),
        key=lambda share: -share[1],
    )
    rest = sum(amount for amount in amounts.values() if abs(amount) <= least)
    return (*large, (_REST, rest)) if rest and abs(rest) > 1e-9 else tuple(large)


def _guide(scene: Scene, finding: Finding, case: LoadCase) -> Breakdown:
    """The component of the wrench that loads the rollers most, in the load case that governs."""
    return _component(case, governing_component(scene, list(wrench_shares(case).values())))


def _rated_moment(scene: Scene, finding: Finding, case: LoadCase) -> Breakdown:
    """The moment that a rating of the catalogue limits, in the load case that governs."""
    return _component(case, COMPONENT[finding.check])


def _component(case: LoadCase, component: int) -> Breakdown:
    wrenches = wrench_shares(case)
    sign = np.sign(sum(wrench[component] for wrench in wrenches.values())) or 1.0
    shares = tuple(
        (_NAMES.get(part) or _CAUSES[cause].format(part), float(sign * wrench[component]))
        for (part, cause), wrench in wrenches.items()
    )
    title = f"{COMPONENTS[component].capitalize()} on the guide, {case.direction.name}"
    return Breakdown(title, "N" if component < 3 else "N*m", shares, COMPONENTS[component])


_NAMES: Final = {
    "drive": "lever of the line of thrust",
    "magnets": "attraction of the magnets (magnetic normal force)",
    "process": "process force",
}
"""What makes a share of a wrench that is no part with a mass."""

_CAUSES: Final = {
    WEIGHT: "weight of the {}",
    SPEEDING: "inertia of the {}",
    ROUND: "centrifugal force of the {}",
    FIRST_ROUND: "centrifugal force of the {}",
    YAW: "turning of the {}",
}


def _drive_straight(scene: Scene, finding: Finding, case: LoadCase) -> Breakdown:
    """Force of the drive on a straight: masses sped up, and resistance."""
    return _drive(scene, case, list(_along(scene, case)))


def _along(scene: Scene, case: LoadCase) -> Iterator[tuple[str, float]]:
    speeding_up = case.direction.kind == "speeding up"
    rate = scene.configuration.motion.acceleration if speeding_up else 0.0
    for part, mass in zip(PARTS, scene.about.alone.part_mass[0, 0, 0], strict=True):
        yield f"speeding up the {part}", rate * float(mass)
    yield "resistance", float(case.loads.resistance[0, 0, case.column])


def _drive(scene: Scene, case: LoadCase, shares: Sequence[tuple[str, float]]) -> Breakdown:
    """A force of the drive with its margin."""
    margin, whole = scene.about.rules.drive_margin, sum(amount for _, amount in shares)
    with_margin = (*shares, (f"margin of {margin:g}", (margin - 1.0) * whole))
    return Breakdown(f"Force of the drive, {case.direction.name}", "N", with_margin)


def _drive_bend(scene: Scene, finding: Finding, case: LoadCase) -> Breakdown:
    alone, k = scene.about.alone, case.column
    thrust = abs(float(case.loads.thrust[0, 0, k]))
    alpha = abs(float(case.loads.yaw_acceleration[0, 0, k]))
    reach = alone.part_centre[0, 0, 0, :, 1]
    swings = [
        (f"swinging the {part} round", alpha * float(mass * y))
        for part, mass, y in zip(PARTS, alone.part_mass[0, 0, 0], reach, strict=True)
    ]
    others = thrust - sum(amount for _, amount in swings)
    what = "turning carrier and load" if alpha else "the weight along the bend"
    resistance = float(case.loads.resistance[0, 0, k])
    return _drive(scene, case, [*swings, (what, others), ("resistance", resistance)])


def _heat(scene: Scene, finding: Finding) -> Breakdown | None:
    """The force that heats the windings most: starting at a stop, or turning at a bend."""
    case = load_case(scene, scene.straight.loads.directions[0])
    if not finding.where.station or case is None:
        return None
    title = "Force that starts a carrier at the stop"
    return Breakdown(title, "N", tuple(_along(scene, case)))


def _payload(scene: Scene, finding: Finding) -> Breakdown:
    load, items = scene.case.load, scene.configuration.option.items
    name = "load" if items == 1 else f"{items} items"
    shares = ((name, items * load.mass), ("fixture", scene.case.fixture_mass(items)))
    return Breakdown("What the carrier bears", "kg", shares)


def _width(scene: Scene, finding: Finding) -> Breakdown:
    if scene.case.loop.plane == "upright":
        return _depth(scene, finding)
    return Breakdown("Width of the loop", "m", _across(scene, finding))


def _height(scene: Scene, finding: Finding) -> Breakdown:
    return Breakdown("Height of the loop", "m", _across(scene, finding))


def _depth(scene: Scene, finding: Finding) -> Breakdown:
    mounting = scene.configuration.option.carrier.mounting_height
    load = 2.0 * max(
        scene.case.load.cg_height, scene.case.tooling.cg_height if scene.case.tooling.mass else 0.0
    )
    shares = (
        ("guide and its frame", finding.demand - mounting - load),
        ("carrier up to its mounting face", mounting),
        ("load and fixture", load),
    )
    return Breakdown("Floor across the upright loop", "m", shares)


def _across(scene: Scene, finding: Finding) -> tuple[tuple[str, float], ...]:
    bend = scene.configuration.option.bend
    across = float(bend_width(bend.radius, bend.transition))
    return (
        ("from guide to guide", across),
        ("load and plate outside of both", finding.demand - across),
    )


def _extent(scene: Scene, finding: Finding) -> Breakdown:
    bend, straight = scene.configuration.option.bend, scene.configuration.loop.straight
    bends = 2.0 * float(bend_depth(bend.radius, bend.transition))
    shares = (
        ("straight", straight),
        ("two bends", bends),
        ("load and plate outside of both", finding.demand - straight - bends),
    )
    return Breakdown("Extent of the loop along its straights", "m", shares)


def _length(scene: Scene, finding: Finding) -> Breakdown:
    loop = scene.configuration.loop
    shares = (("two straights", 2.0 * loop.straight), ("two bends", 2.0 * loop.bend))
    return Breakdown("Length of the guide", "m", shares)


def _lap(scene: Scene, finding: Finding) -> Breakdown:
    layout, lap = scene.layout, scene.layout.lap
    bends = layout.on.bend_travel / scene.configuration.motion.bend_speed
    batches = float(batch_wait(scene.about.positions, scene.about.takt))
    shares = (
        ("speeding up", float(lap.over_lap(lap.up_time)[0])),
        ("braking", float(lap.over_lap(lap.down_time)[0])),
        ("cruising", float(lap.over_lap(lap.cruise / lap.peak)[0])),
        ("bends", bends),
        ("dwells", float(scene.about.dwells.sum())),
        ("settling", float((scene.about.occupied - scene.about.dwells).sum())),
        ("waiting for batches", batches),
    )
    return Breakdown("Time of a lap", "s", shares)


def _exchange(scene: Scene, finding: Finding) -> Breakdown:
    names = [station.name for station in scene.case.station]
    number = names.index(finding.where.station)
    station, dwell = scene.about.case.station[number], float(scene.about.dwells[number])
    shares = (
        ("dwell", dwell),
        ("settling", float(scene.about.occupied[number]) - dwell),
        ("exchange of carriers", float(scene.layout.exchange[0, number])),
    )
    return Breakdown(f"Time for which {station.name} is taken", "s", shares)


def _places(scene: Scene, finding: Finding) -> Breakdown:
    carriers = float(scene.configuration.carriers)
    shares = (("carriers", carriers), ("room to exchange them", finding.demand - carriers))
    return Breakdown("Places taken up on the loop", "places", shares)


def _mean_power(scene: Scene, finding: Finding) -> Breakdown:
    """Of the whole fleet, or of what one of several supplies serves."""
    configuration = scene.configuration
    groups = configuration.electrics.groups
    counts = {run_of_supply(group, configuration): group.count for group in groups}
    run = finding.where.sections is not None
    sections = counts[finding.where] if run else configuration.sections
    idle = sections * scene.catalogue.catalogue.section_idle_power
    moving = "moving carriers there" if run else "moving the fleet"
    shares = ((moving, finding.demand - idle), ("idle sections", idle))
    return Breakdown("Mean power", "W", shares)


def _price(scene: Scene, finding: Finding) -> Breakdown:
    lines = bill_of_materials(scene.configuration, scene.case, scene.catalogue)
    shares = tuple((item, float(price)) for item, price in price_by_item(lines).items())
    return Breakdown("Price", "money", shares)


_BY_LOAD_CASE: Final[dict[str, Callable[[Scene, Finding, LoadCase], Breakdown]]] = {
    "rating.roll_moment": _rated_moment,
    "rating.pitch_moment": _rated_moment,
    "rating.yaw_moment": _rated_moment,
    "roller.static": _guide,
    "roller.working_load": _guide,
    "drive.peak_straight": _drive_straight,
    "drive.peak_bend": _drive_bend,
}
_BY_CHECK: Final[dict[str, Callable[[Scene, Finding], Breakdown | None]]] = {
    "drive.continuous": _heat,
    "rating.payload": _payload,
    "loop.width": _width,
    "loop.height": _height,
    "loop.extent": _extent,
    "loop.length": _length,
    "fleet.lap": _lap,
    "station.exchange": _exchange,
    "fleet.places": _places,
    "supply.mean": _mean_power,
    "commercial.budget": _price,
}
