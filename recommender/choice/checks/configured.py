"""Checks of a finished configuration: supplies, controller, budget."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from recommender.choice.checks.entry import Check, CheckText, Outcome, single
from recommender.choice.configuration import Configuration
from recommender.choice.layout import LayoutContext
from recommender.choice.power import mean_power, peak_fleet_power
from recommender.inputs.catalogue import Catalogue, Controller, Supply


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


def _names(context: ConfiguredContext) -> str:
    return ", ".join(f"{count} {part.id}" for part, count in context.supplies())


def _mean(context: ConfiguredContext) -> Outcome:
    limit = sum(count * part.mean_power for part, count in context.supplies())
    layout = context.layout
    return single(mean_power(layout) + layout.idle_power, limit, _names(context))


def _peak(context: ConfiguredContext) -> Outcome:
    limit = sum(count * part.peak_power for part, count in context.supplies())
    layout = context.layout
    return single(peak_fleet_power(layout) + layout.idle_power, limit, _names(context))


def _sections(context: ConfiguredContext) -> Outcome:
    """Sections against what supplies, feeds and controller reach; supplies against the cabinet."""
    supplies = context.supplies()
    reach = {feed.id: feed.max_sections for feed in context.catalogue.feed}
    fed = sum(count * reach[id_] for id_, count in context.configuration.electrics.feeds)
    sections = float(context.configuration.sections)
    served = sum(count * part.max_sections for part, count in supplies)
    limits = (
        served,
        context.controller.max_sections,
        fed,
        context.catalogue.rules.most_supplies,
    )
    return Outcome(
        np.array([[sections, sections, sections, float(sum(count for _, count in supplies))]]),
        np.array(limits, dtype=np.float64),
        (
            "the supplies",
            f"controller {context.controller.id}",
            "the feeds",
            "the cabinet of supplies",
        ),
    )


def _carriers(context: ConfiguredContext) -> Outcome:
    controller = context.controller
    carriers = np.array([float(context.configuration.carriers)])
    return single(carriers, float(controller.max_carriers), controller.id)


def _budget(context: ConfiguredContext) -> Outcome | None:
    budget = context.layout.about.case.commercial.budget
    if budget is None:
        return None
    return single(np.array([float(context.price)]), float(budget.split()[0]))


CHECKS: tuple[Check[ConfiguredContext], ...] = (
    Check(
        CheckText(
            id="supply.mean",
            title="Mean power of the supplies",
            unit="power",
            source="energy of a lap over a takt; copper loss (F/K_m)²; idle power of the catalogue",
            requirements=("rate.items", "load.mass"),
            evidence=("drive", "supply-against-time-domain"),
            fails="the fleet draws {demand} on average where {where} give {limit}",
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
            fails="the fleet draws up to {demand} at an instant where {where} give {limit}",
        ),
        _peak,
    ),
    Check(
        CheckText(
            id="supply.sections",
            title="Sections that supplies and controller serve",
            unit="1",
            source="catalogue",
            requirements=("loop.max_length",),
            evidence=("choice-against-milp", "choice-against-enumeration"),
            fails="the loop has {demand} sections where {where} can serve {limit}",
        ),
        _sections,
    ),
    Check(
        CheckText(
            id="controller.carriers",
            title="Carriers that the controller commands",
            unit="1",
            source="catalogue",
            requirements=("rate.items",),
            evidence=("choice-against-milp", "choice-against-enumeration"),
            fails="{demand} carriers are needed where {where} commands {limit}",
        ),
        _carriers,
    ),
    Check(
        CheckText(
            id="commercial.budget",
            title="Price against the budget",
            unit="money",
            source="budget of the enquiry",
            requirements=("commercial.budget",),
            evidence=("choice-against-enumeration",),
            fails="it costs {demand} where {limit} may be spent",
        ),
        _budget,
    ),
)
