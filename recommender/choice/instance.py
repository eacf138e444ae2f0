"""Between the candidates and the model: whole numbers in, a configuration out."""

from collections.abc import Sequence

from recommender.choice import rounding
from recommender.choice.configuration import Configuration, Electrics, Motion
from recommender.choice.lap import Settings
from recommender.choice.layout import LoopContext
from recommender.choice.model import (
    Candidate as ModelCandidate,
)
from recommender.choice.model import (
    Choice,
    ControllerData,
    FeedData,
    Instance,
    StraightData,
    SupplyData,
)
from recommender.choice.pricing import (
    carrier_price,
    cents,
    engineering_price,
    fixed_price,
)
from recommender.choice.search import Candidate, Workshop
from recommender.inputs.catalogue import Catalogue, Part


def build_instance(candidates: Sequence[Candidate], workshop: Workshop) -> Instance:
    """Data of the model; of equal prices the candidate with most headroom has the lowest rank."""
    catalogue = workshop.catalogue
    section = engineering_price(catalogue, "section")
    by_headroom = sorted(range(len(candidates)), key=lambda k: (candidates[k].used, k))
    ranks = {k: rank for rank, k in enumerate(by_headroom)}
    idle = int(rounding.demand(catalogue.catalogue.section_idle_power, "power"))
    return Instance(
        candidates=tuple(
            _candidate(candidate, workshop, idle, ranks[k])
            for k, candidate in enumerate(candidates)
        ),
        straights=tuple(
            StraightData(
                length=int(rounding.demand(part.length, "length")),
                pair_price=(
                    2 * (cents(part.price) + section),
                    2 * (cents(part.price) + section + _rail(workshop, part.id)),
                ),
            )
            for part in catalogue.straight
        ),
        supplies=tuple(
            SupplyData(
                mean_power=int(rounding.capacity(part.mean_power, "power")),
                peak_power=int(rounding.capacity(part.peak_power, "power")),
                max_sections=part.max_sections,
                price=cents(part.price),
            )
            for part in catalogue.supply
        ),
        feeds=tuple(FeedData(part.max_sections, cents(part.price)) for part in catalogue.feed),
        controllers=tuple(
            ControllerData(part.max_carriers, part.max_sections, cents(part.price))
            for part in catalogue.controller
        ),
        most_supplies=catalogue.rules.most_supplies,
        section_idle_power=idle,
    )


def _rail(workshop: Workshop, part: str) -> int:
    rail = workshop.catalogue.lower_rails.get(part)
    return cents(rail.price) if rail else 0


def _candidate(candidate: Candidate, workshop: Workshop, idle: int, rank: int) -> ModelCandidate:
    option = candidate.on.about.option
    bend_idle = 2 * option.bend.sections * idle
    return ModelCandidate(
        length=int(rounding.demand(candidate.composition.length, "length")),
        lower_guide=option.family.lower_guide,
        carriers=candidate.carriers,
        bend_sections=2 * option.bend.sections,
        mean_power=candidate.mean_power + bend_idle,
        peak_power=candidate.peak_power + bend_idle,
        price=fixed_price(option, workshop.case, workshop.catalogue)
        + candidate.carriers * carrier_price(option, workshop.catalogue),
        rank=rank,
    )


def read_choice(
    choice: Choice, candidates: Sequence[Candidate], workshop: Workshop
) -> Configuration:
    """The configuration that the model chose."""
    candidate = candidates[choice.candidate]
    return assemble(
        candidate.on,
        candidate.setting.settings,
        choice.straights,
        candidate.carriers,
        electrics_of(
            workshop.catalogue,
            choice.supplies,
            ((workshop.catalogue.feed[choice.feed].id, choice.feeds),),
            workshop.catalogue.controller[choice.controller].id,
        ),
    )


def electrics_of(
    catalogue: Catalogue,
    supplies: Sequence[int],
    feeds: tuple[tuple[str, int], ...],
    controller: str,
) -> Electrics:
    """Electrical parts from counts of the catalogue's supplies in their order."""
    return Electrics(_counted(catalogue.supply, supplies), feeds, controller)


def assemble(
    on: LoopContext,
    settings: Settings,
    straights: Sequence[int],
    carriers: int,
    electrics: Electrics,
) -> Configuration:
    """A configuration from a loop, the first row of settings and counts of straight sections.

    The order of the sections is that of the loop; where the counts make up the same length in
    another way, the longest sections come first.
    """
    parts = on.about.catalogue.straight
    order = on.order_of_sections
    if tuple(order.count(part.id) for part in parts) != tuple(straights):
        ranked = sorted(zip(parts, straights, strict=True), key=lambda entry: -entry[0].length)
        order = tuple(part.id for part, count in ranked for _ in range(count))
    return Configuration(
        option=on.about.option,
        straights=_counted(parts, straights),
        order=order,
        loop=on.loop,
        placement=on.placement,
        motion=Motion(
            acceleration=float(settings.acceleration[0]),
            jerk=float(settings.jerk[0]),
            speed=float(settings.speed[0]),
            bend_speed=float(settings.bend_speed[0]),
        ),
        carriers=carriers,
        electrics=electrics,
    )


def _counted(parts: Sequence[Part], counts: Sequence[int]) -> tuple[tuple[str, int], ...]:
    return tuple((part.id, int(count)) for part, count in zip(parts, counts, strict=True) if count)
