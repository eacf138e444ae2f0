"""Between the candidates and the model in whole numbers, and putting a configuration together."""

from collections.abc import Sequence

from recommender.choice import rounding
from recommender.choice.braking import fleet_price, resistors_for
from recommender.choice.configuration import Configuration, Electrics, Motion
from recommender.choice.lap import Settings
from recommender.choice.layout import LoopContext
from recommender.choice.model import (
    Candidate as ModelCandidate,
)
from recommender.choice.model import (
    ControllerData,
    FeedData,
    Instance,
    StraightData,
    SupplyData,
)
from recommender.choice.pricing import (
    cents,
    feed_price,
    fixed_price,
    lines_price,
    metre_price,
    offered,
    supply_price,
)
from recommender.choice.search import Candidate
from recommender.choice.workshop import Workshop
from recommender.inputs.catalogue import Catalogue


def build_instance(candidates: Sequence[Candidate], workshop: Workshop) -> Instance:
    """Data of the model; of equal prices the candidate with most headroom has the lowest rank."""
    catalogue = workshop.catalogue
    section = lines_price(catalogue, "section")
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
                price=(
                    cents(part.price) + section,
                    cents(part.price) + section + _rail(workshop, part.id),
                ),
            )
            for part in catalogue.straight
        ),
        supplies=supply_data(catalogue),
        feeds=feed_data(catalogue),
        controllers=tuple(
            ControllerData(part.max_carriers, part.max_sections, cents(part.price))
            for part in catalogue.controller
        ),
        most_supplies=catalogue.rules.most_supplies,
        section_idle_power=idle,
    )


def supply_data(catalogue: Catalogue) -> tuple[SupplyData, ...]:
    """The catalogue's supplies for a model."""
    return tuple(
        SupplyData(
            mean_power=int(rounding.capacity(part.mean_power, "power")),
            peak_power=int(rounding.capacity(part.peak_power, "power")),
            max_sections=part.max_sections,
            price=supply_price(part, catalogue),
        )
        for part in catalogue.supply
    )


def feed_data(catalogue: Catalogue) -> tuple[FeedData, ...]:
    """The catalogue's feeds for a model."""
    return tuple(
        FeedData(part.max_sections, feed_price(part, catalogue)) for part in catalogue.feed
    )


def _rail(workshop: Workshop, part: str) -> int:
    rail = workshop.catalogue.lower_rails.get(part)
    return cents(rail.price) if rail else 0


def _candidate(candidate: Candidate, workshop: Workshop, idle: int, rank: int) -> ModelCandidate:
    option, build = candidate.on.about.option, candidate.build
    sections, length = 2 * option.bend.sections, build.length
    case, catalogue = workshop.case, workshop.catalogue
    price = fixed_price(option, case, catalogue)
    price += int(metre_price(option, build.length, catalogue))
    price += int(fleet_price(option, case, catalogue, build.length, candidate.carriers))
    if workshop.case.minds_joints:
        # Which sections they are is not a matter of price alone.
        sections, length = sections + build.pieces, 0.0
        price += build.price[option.family.lower_guide]
    return ModelCandidate(
        length=int(rounding.demand(length, "length")),
        lower_guide=option.family.lower_guide,
        carriers=candidate.carriers,
        fixed_sections=sections,
        mean_power=candidate.mean_power + sections * idle,
        peak_power=candidate.peak_power + sections * idle,
        price=price,
        rank=rank,
    )


def assemble(
    on: LoopContext, settings: Settings, carriers: int, electrics: Electrics
) -> Configuration:
    """A configuration from a loop, the first row of settings and the electrical parts."""
    about = on.about
    catalogue = offered(about.catalogue, about.case)
    kind, pieces = resistors_for(about.option, about.case, catalogue, on.loop.straight, carriers)
    return Configuration(
        option=about.option,
        front=on.front,
        back=on.back,
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
        resistors=((catalogue.brake_resistor[int(kind)].id, int(pieces)),) if pieces else (),
    )
