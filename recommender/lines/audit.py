"""Recomputes a line from its loops' cases, without the solver and with nothing of the search.

Each loop is audited as a single one is. What holds for all of them together is added up anew from
the configurations: what each supply gives to all that it serves, what the controller commands, the
floor, the stop of all carriers at once, the weeks, the money, and the bill.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from recommender.choice.decision.audit import Audit, audit
from recommender.choice.parts.braking import fall_of, link_of, moving_mass
from recommender.choice.parts.configuration import Configuration
from recommender.choice.parts.delivery import Delivery, delivery_of
from recommender.choice.parts.pricing import Cents, cents, offered
from recommender.inputs.case import Case
from recommender.inputs.catalogue import BRAKE_RESISTORS, Catalogue
from recommender.lines.bill import BuiltLine, LinePart, bill_of, total
from recommender.lines.model import Line
from recommender.physics.constants import STANDARD_GRAVITY

_TOUCH = 1e-9


@dataclass(frozen=True)
class Condition:
    """Something that holds for all loops together, or does not; SI, money in its currency."""

    id: str
    title: str
    demand: float
    limit: float
    unit: str
    of: str = ""

    @property
    def ok(self) -> bool:
        """Whether it holds."""
        return self.demand <= self.limit * (1.0 + _TOUCH) + _TOUCH


@dataclass(frozen=True)
class SupplyLoad:
    """What one supply of the line gives, to runs in one loop or several; W."""

    id: str
    number: int
    loops: tuple[str, ...]
    mean: float
    peak: float
    sections: int


@dataclass(frozen=True)
class LineAudit:
    """A line that is built, loop by loop and as a whole."""

    built: BuiltLine
    loops: tuple[Audit, ...]
    parts: tuple[LinePart, ...]
    supplies: tuple[SupplyLoad, ...]
    conditions: tuple[Condition, ...]
    delivery: Delivery

    @cached_property
    def price(self) -> Decimal:
        """Sum of the bill."""
        return total(self.parts)

    @property
    def cents(self) -> Cents:
        """The same in cents."""
        return cents(self.price)

    @property
    def failures(self) -> tuple[str, ...]:
        """Ids of what does not hold: of a loop with its name before it."""
        own = [
            f"{name}.{finding.check}"
            for name, loop in zip(self.built.names, self.loops, strict=True)
            for finding in loop.failures
        ]
        return (*own, *(condition.id for condition in self.conditions if not condition.ok))

    @property
    def floor(self) -> tuple[float, float]:
        """Floor along the straights and across all loops without gaps, m."""
        return max(floor_of(loop)[0] for loop in self.loops), sum(
            floor_of(loop)[1] for loop in self.loops
        )


def floor_of(loop: Audit) -> tuple[float, float]:
    """Floor of one loop along its straights and across it, m."""
    facts = loop.loop
    across = facts.floor_width if facts.floor_depth is None else facts.floor_depth
    return facts.floor_extent, across


def audit_line(built: BuiltLine, line: Line, catalogue: Catalogue) -> LineAudit:
    """Recompute a line.

    Parameters
    ----------
    built : BuiltLine
        How it was found does not matter.
    line : Line
    catalogue : Catalogue
    """
    loops = tuple(
        audit(loop, case, catalogue) for loop, case in zip(built.loops, built.cases, strict=True)
    )
    parts = bill_of(built, catalogue, line.spares)
    supplies = tuple(_supplies(built, loops))
    delivery = delivery_of((part.part for part in parts), catalogue)
    conditions = (
        *_supplied(supplies, catalogue),
        *_commanded(built, catalogue),
        *_braked(built, catalogue),
        *_placed(loops, line),
        *_due(delivery, line),
        *_paid(total(parts), line, catalogue.catalogue.currency),
    )
    return LineAudit(built, loops, parts, supplies, conditions, delivery)


def _supplies(built: BuiltLine, loops: tuple[Audit, ...]) -> Iterator[SupplyLoad]:
    """What each supply gives: of every loop the powers of the runs that it serves."""
    for number, id_ in enumerate(built.supplies):
        mean = peak = 0.0
        sections = 0
        for loop, serves in zip(loops, built.serves, strict=True):
            groups = loop.configuration.electrics.groups
            rows = zip(groups, serves, loop.loop.run_powers, strict=True)
            for group, supply, powers in rows:
                if supply == number:
                    mean, peak = mean + powers[0], peak + powers[1]
                    sections += group.count
        yield SupplyLoad(id_, number, tuple(built.loops_of(number)), mean, peak, sections)


def _supplied(supplies: tuple[SupplyLoad, ...], catalogue: Catalogue) -> Iterator[Condition]:
    known = {part.id: part for part in catalogue.supply}
    for load in supplies:
        part, of = known[load.id], f"{load.id} in {' and '.join(load.loops)}"
        yield Condition("line.supply.mean", "Mean power", load.mean, part.mean_power, "W", of)
        yield Condition("line.supply.peak", "Peak power", load.peak, part.peak_power, "W", of)
        yield Condition(
            "line.supply.sections", "Sections served", load.sections, part.max_sections, "", of
        )


def _commanded(built: BuiltLine, catalogue: Catalogue) -> Iterator[Condition]:
    part = next(part for part in catalogue.controller if part.id == built.controller)
    yield Condition(
        "line.controller.carriers", "Carriers", built.carriers, part.max_carriers, "", part.id
    )
    yield Condition(
        "line.controller.sections", "Sections", built.sections, part.max_sections, "", part.id
    )


def _braked(built: BuiltLine, catalogue: Catalogue) -> Iterator[Condition]:
    """All carriers of all loops stop at once: no supply's DC link is counted for two of them."""
    resistors = {part.id: part for part in offered(catalogue, built.cases[0]).brake_resistor}
    if not resistors:
        return
    known = {part.id: part for part in catalogue.supply}
    taken = sum(link_of(known[id_]) for id_ in built.supplies)
    taken += sum(
        count * resistors[id_].pulse_energy for loop in built.loops for id_, count in loop.resistors
    )
    returned = sum(
        _stop_energy(loop, case, catalogue)
        for loop, case in zip(built.loops, built.cases, strict=True)
    )
    yield Condition(
        "line.braking.energy",
        "Braking energy of a stop of all loops",
        returned,
        taken,
        "J",
        f"{BRAKE_RESISTORS} and DC links",
    )


def _stop_energy(loop: Configuration, case: Case, catalogue: Catalogue) -> float:
    mass = moving_mass(loop.option, case)
    fall = STANDARD_GRAVITY * fall_of(loop.option, case)
    each = mass * (0.5 * loop.motion.speed**2 + fall)
    return loop.carriers * each * (1.0 - catalogue.rules.recovered)


def _placed(loops: tuple[Audit, ...], line: Line) -> Iterator[Condition]:
    floors, room = [floor_of(loop) for loop in loops], line.floor
    if room.length is not None:
        longest = max(along for along, _ in floors)
        yield Condition("line.floor.length", "Floor along the loops", longest, room.length, "m")
    if room.width is not None:
        across = sum(across for _, across in floors) + (len(floors) - 1) * room.gap
        yield Condition("line.floor.width", "Floor across all loops", across, room.width, "m")


def _due(delivery: Delivery, line: Line) -> Iterator[Condition]:
    latest = line.commercial.latest_delivery
    if latest is not None:
        yield Condition(
            "line.delivery", "Delivery", delivery.weeks, latest, "weeks", delivery.slowest
        )


def _paid(price: Decimal, line: Line, currency: str) -> Iterator[Condition]:
    budget = line.commercial.budget
    if budget is not None:
        yield Condition(
            "line.budget", "Price", float(price), float(Decimal(budget.split()[0])), currency
        )
