"""Checks of a finished configuration: supplies, feeds, controller, budget."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Final, TypeAlias

import numpy as np

from recommender.choice.carrier.where import Where
from recommender.choice.checks.entry import HOLDS, Check, CheckText, Outcome, single
from recommender.choice.loop.branches import feed_branches, peaks_beyond
from recommender.choice.loop.demand import LoopDemand
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.power import mean_power, peak_fleet_power
from recommender.choice.loop.ring import feed_distances, run_of
from recommender.choice.parts.configuration import Configuration, Group
from recommender.choice.parts.pricing import budget_of
from recommender.inputs.catalogue import Catalogue, Controller, Feed, Supply
from recommender.physics.constants import Array
from recommender.physics.thermal import copper_resistance, feeder_drop

BUDGET: Final = "commercial.budget"
"""Id of the check of the price, and of the requirement that it comes from."""

_Row: TypeAlias = tuple[float, float, Where | str]


@dataclass(frozen=True)
class ConfiguredContext:
    """A configuration with the physics of its only row of settings."""

    configuration: Configuration
    layout: LayoutContext
    catalogue: Catalogue
    price: Decimal

    def supplies(self) -> list[tuple[Supply, int]]:
        """Supplies with their counts."""
        known = {part.id: part for part in self.catalogue.supply}
        return [(known[id_], count) for id_, count in self.configuration.electrics.supplies]

    @property
    def controller(self) -> Controller:
        """The controller."""
        known = {part.id: part for part in self.catalogue.controller}
        return known[self.configuration.electrics.controller]

    @property
    def feed(self) -> Feed:
        """The feed."""
        known = {part.id: part for part in self.catalogue.feed}
        return known[self.configuration.electrics.feed]

    @cached_property
    def demand(self) -> LoopDemand:
        """What runs of sections draw."""
        return LoopDemand(self.layout)

    @cached_property
    def fleet_powers(self) -> tuple[Array, Array]:
        """Mean and peak power of the whole loop, (1,), W."""
        idle = self.layout.idle_power
        return mean_power(self.layout) + idle, peak_fleet_power(self.layout) + idle

    @cached_property
    def run_powers(self) -> tuple[Array, Array]:
        """Mean and peak power that each supply's run draws, (runs,), W."""
        groups, number = self.configuration.electrics.groups, self.configuration.sections
        if len(groups) == 1 and groups[0].count == number:
            return self.fleet_powers
        first = np.array([group.first % number for group in groups])
        return self.demand.of_runs(first, np.array([group.count for group in groups]))


def run_of_supply(group: Group, configuration: Configuration) -> Where:
    """A supply, and which sections it serves if it is not all of them.

    Sections are numbered from 1, along the travel from the start of the front straight.
    """
    if len(configuration.electrics.groups) == 1:
        return Where(part=group.supply)
    last = (group.first + group.count - 1) % configuration.sections + 1
    first = group.first % configuration.sections + 1
    return Where(part=group.supply, sections=(first, last))


def _power(context: ConfiguredContext, limit: str, which: int) -> Outcome:
    """The whole fleet against all supplies together, and then each run against its own.

    A whole that is too much for all of them is the plainer reason.
    """
    configuration = context.configuration
    fleet, runs = context.fleet_powers[which], context.run_powers[which]
    together = float(sum(count * getattr(part, limit) for part, count in context.supplies()))
    names = ", ".join(f"{count} {part.id}" for part, count in context.supplies())
    whole = single(fleet, together, names)
    if float(whole.utilisation()[0]) > HOLDS:
        return whole
    known = {part.id: part for part in context.catalogue.supply}
    groups = configuration.electrics.groups
    limits = np.array([getattr(known[group.supply], limit) for group in groups])
    return Outcome(
        runs[None, :], limits, tuple(run_of_supply(group, configuration) for group in groups)
    )


def _mean(context: ConfiguredContext) -> Outcome:
    return _power(context, "mean_power", 0)


def _peak(context: ConfiguredContext) -> Outcome:
    return _power(context, "peak_power", 1)


def _sections(context: ConfiguredContext) -> Outcome:
    """Sections of each supply and of the controller; each section has one supply."""
    configuration = context.configuration
    groups, number = configuration.electrics.groups, configuration.sections
    known = {part.id: part for part in context.catalogue.supply}
    served = Counter(k for group in groups for k in run_of(group.first, group.count, number))
    wrong = sum(served[k] != 1 for k in range(number))
    rows: list[_Row] = [
        *(
            (group.count, known[group.supply].max_sections, Where(part=group.supply))
            for group in groups
        ),
        (
            number,
            context.controller.max_sections,
            Where(part=context.controller.id, words="controller {part}"),
        ),
        (wrong, 0, "none or two of the supplies"),
    ]
    return _table(rows)


def _supplies(context: ConfiguredContext) -> Outcome:
    count = float(len(context.configuration.electrics.groups))
    return single(np.array([count]), float(context.catalogue.rules.most_supplies))


def _feeds(context: ConfiguredContext) -> Outcome:
    """Sections from each feed to the next; a feed in every run, and on sections that take one."""
    configuration, ring = context.configuration, context.demand.sections
    number = configuration.sections
    places = [k % number for k in configuration.electrics.feed_sections]
    feed = context.feed
    # One on a section that takes none is none.
    fed = {k for k in places if ring[k].takes_feed}
    farthest = max(feed_distances(sorted(fed), number), default=np.inf)
    rows: list[_Row] = [(farthest, feed.max_sections, Where(part=feed.id))]
    for k in sorted(set(places) - fed):
        unable = f"the {feed.id} in section {k + 1}, which takes none,"
        rows.append((np.inf, feed.max_sections, unable))
    for group in configuration.electrics.groups:
        if not fed & set(run_of(group.first, group.count, number)):
            lacking = f"the {feed.id} that {run_of_supply(group, configuration).text} lacks"
            rows.append((np.inf, feed.max_sections, lacking))
    return _table(rows)


def _voltage(context: ConfiguredContext) -> Outcome | None:
    """Voltage lost from each feed to the sections farthest from it, everything drawn at its peak.

    The current is that at the lowest voltage that is allowed, so that it is never less where the
    check holds; the bus is as warm as the windings beside it may be.
    """
    catalogue = context.catalogue
    if catalogue.catalogue.bus_resistance is None:
        return None
    per_metre = copper_resistance(catalogue.catalogue.bus_resistance, catalogue.rules.winding_limit)
    known = {part.id: part.voltage for part in catalogue.supply}
    rules = catalogue.rules
    rows: list[_Row] = []
    branches = list(feed_branches(context.configuration, context.demand.sections))
    for branch, powers in zip(branches, peaks_beyond(branches, context.demand), strict=True):
        voltage = known[branch.supply]
        if voltage is not None:
            # Voltage and ohms of a metre are factors of the whole, as they are the same all along.
            lowest = voltage * (1.0 - rules.voltage_drop)
            lost = float(feeder_drop(powers, branch.lengths) * per_metre / lowest)
            rows.append((lost, rules.voltage_drop * voltage, branch.name))
    return _table(rows) if rows else None


PRICE: Final = CheckText(
    id=BUDGET,
    title="Price against the budget",
    unit="money",
    source="budget of the enquiry",
    requirements=(BUDGET,),
    evidence=("choice-against-enumeration",),
    fails="it costs {demand}, {excess} than may be spent",
    together="would cost {demand}, where {limit} may be spent",
)


def _table(rows: Sequence[_Row]) -> Outcome:
    demands, limits, labels = zip(*rows, strict=True)
    return Outcome(
        np.array([demands], dtype=np.float64), np.array(limits, dtype=np.float64), tuple(labels)
    )


def _carriers(context: ConfiguredContext) -> Outcome:
    controller = context.controller
    carriers = np.array([float(context.configuration.carriers)])
    return single(carriers, float(controller.max_carriers), Where(part=controller.id))


def _budget(context: ConfiguredContext) -> Outcome | None:
    budget = budget_of(context.layout.about.case)
    if budget is None:
        return None
    return single(np.array([float(context.price)]), budget / 100)


CHECKS: tuple[Check[ConfiguredContext], ...] = (
    Check(
        CheckText(
            id="supply.mean",
            title="Mean power of the supplies",
            unit="power",
            source="energy of a lap over a takt; copper loss (F/K_m)²; idle power of the catalogue",
            requirements=("rate.items", "load.mass"),
            evidence=("drive", "supply-against-time-domain"),
            fails="{demand} are drawn on average, {excess} than {where} can give",
            together="{demand} would be drawn on average, where {limit} can be given",
        ),
        _mean,
    ),
    Check(
        CheckText(
            id="supply.peak",
            title="Peak power of the supplies",
            unit="power",
            source="strongest phases of the lap with as many carriers as they can hold at once",
            requirements=("rate.items", "load.mass", "loop.restart"),
            evidence=("drive", "supply-against-time-domain"),
            fails="up to {demand} are drawn at an instant, {excess} than {where} can give",
            together="up to {demand} would be drawn at an instant, where {limit} can be given",
        ),
        _peak,
    ),
    Check(
        CheckText(
            id="supply.sections",
            title="Sections that supplies and controller serve",
            unit="sections",
            source="catalogue",
            requirements=("loop.max_length",),
            evidence=("choice-against-model", "choice-against-enumeration"),
            fails="{demand} are to be served where {where} can serve {limit}",
        ),
        _sections,
    ),
    Check(
        CheckText(
            id="supply.number",
            title="Supplies that the cabinet takes",
            unit="supplies",
            source="rule of the house",
            requirements=("loop.max_length",),
            evidence=("choice-against-model", "choice-against-enumeration"),
            fails="{demand} are needed where the cabinet takes {limit}",
        ),
        _supplies,
    ),
    Check(
        CheckText(
            id="supply.feeds",
            title="Sections from one feed to the next",
            unit="sections",
            source="catalogue; counted round the loop",
            requirements=("loop.max_length",),
            evidence=("feeding-against-enumeration", "feeding-against-milp"),
            fails="from {where} to the next one there are {demand} where {limit} may be",
        ),
        _feeds,
    ),
    Check(
        CheckText(
            id="controller.carriers",
            title="Carriers that the controller commands",
            unit="carriers",
            source="catalogue",
            requirements=("rate.items",),
            evidence=("choice-against-model", "choice-against-enumeration"),
            fails="it needs {demand}, and {where} commands {limit}",
            together="{demand} would be needed, where a controller commands {limit}",
        ),
        _carriers,
    ),
    Check(PRICE, _budget),
    Check(
        CheckText(
            id="supply.voltage",
            title="Voltage lost from feed to farthest section",
            unit="voltage",
            source="Ohm's law on the bus of the sections; 5 % by IEC 60204-1, 12.5, as a rule",
            requirements=("rate.items", "load.mass", "loop.max_length"),
            evidence=("thermal", "bus-against-network"),
            fails=(
                "{where}, {demand} are lost on the way, {excess} than may be: it would need more"
                " feeds or a stronger bus than the catalogue has"
            ),
            together=(
                "{demand} would be lost from a feed to the farthest section, where {limit} may be"
            ),
        ),
        _voltage,
    ),
)
