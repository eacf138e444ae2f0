"""The loop and the motion of a configuration, as the answer shows them."""

from collections.abc import Iterator, Sequence
from itertools import accumulate

from recommender.choice.decision.audit import Audit
from recommender.choice.loop.ring import Section, ring_of
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.placement import Loop
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS, write
from recommender.physics.bend import bend_width
from recommender.results.answer import MotionPlan
from recommender.results.loop import (
    BendShape,
    FeedPlace,
    LoopPlan,
    Outline,
    StationPlace,
    SupplyRun,
)


def loop_plan(audit: Audit, stations: Sequence[str], catalogue: Catalogue) -> LoopPlan:
    """Where everything stands on the loop of a configuration.

    Parameters
    ----------
    audit : Audit
    stations : sequence of str
        Names of the stations in the order of the case.
    catalogue : Catalogue
    """
    configuration, facts = audit.configuration, audit.loop
    loop, option, bend = configuration.loop, configuration.option, configuration.option.bend
    front, back = configuration.front, configuration.back
    ring = ring_of(option, loop, front, back, catalogue)
    places = zip(
        stations,
        configuration.placement.at,
        facts.waiting,
        facts.waiting_room,
        zip(facts.positions, facts.station_lengths, strict=True),
        strict=True,
    )
    return LoopPlan(
        length_m=loop.length,
        straight_m=loop.straight,
        width_m=float(bend_width(bend.radius, bend.transition)),
        floor_width_m=facts.floor_width,
        floor_extent_m=facts.floor_extent,
        sections={**dict(configuration.straights), bend.id: 2},
        front=front,
        back=back,
        joints_m=(*_joints(front, 0.0, catalogue), *_joints(back, loop.back_start, catalogue)),
        stations=tuple(_station(*place, loop) for place in places),
        feeds=tuple(_feeds(audit, ring)),
        supplies=tuple(_supplies(audit, ring, catalogue)),
        carrier_m=facts.carrier_length,
        plane="flat" if facts.floor_depth is None else "upright",
        floor_depth_m=facts.floor_depth,
        bend=BendShape(bend.id, bend.radius, bend.transition, loop.bend, bend.sections),
        outlines=tuple(Outline(*body) for body in facts.bodies),
        base_m=option.base,
        spacing_m=facts.spacing,
    )


def _station(
    name: str, at: float, waiting: int, room: int, size: tuple[int, float | None], loop: Loop
) -> StationPlace:
    back = at >= loop.back_start
    along = at - loop.back_start if back else at
    return StationPlace(name, at, waiting, room, "back" if back else "front", along, *size)


def _joints(sections: Sequence[str], start: float, catalogue: Catalogue) -> Iterator[float]:
    """Where the sections of one straight begin and end along the guide, m."""
    lengths = (catalogue.straights[id_].length for id_ in sections)
    return accumulate(lengths, initial=start)


def _feeds(audit: Audit, ring: Sequence[Section]) -> Iterator[FeedPlace]:
    electrics = audit.configuration.electrics
    for number in sorted(electrics.feed_sections):
        yield FeedPlace(electrics.feed, number + 1, ring[number].id, ring[number].middle)


def _supplies(audit: Audit, ring: Sequence[Section], catalogue: Catalogue) -> Iterator[SupplyRun]:
    known = {part.id: part for part in catalogue.supply}
    groups = audit.configuration.electrics.groups
    for group, (mean, peak) in zip(groups, audit.loop.run_powers, strict=True):
        supply, last = known[group.supply], (group.first + group.count - 1) % len(ring)
        yield SupplyRun(
            id=group.supply,
            first_section=group.first + 1,
            sections=group.count,
            from_m=ring[group.first].start,
            to_m=ring[last].end,
            mean_w=mean,
            mean_limit_w=supply.mean_power,
            peak_w=peak,
            peak_limit_w=supply.peak_power,
        )


def motion_plan(motion: Motion) -> MotionPlan:
    """A motion as quantity text."""
    return MotionPlan(
        acceleration=write(motion.acceleration, KINDS["acceleration"], 2),
        jerk=write(motion.jerk, KINDS["jerk"], 1),
        speed=write(motion.speed, KINDS["speed"], 2),
        bend_speed=write(motion.bend_speed, KINDS["speed"], 2),
    )
