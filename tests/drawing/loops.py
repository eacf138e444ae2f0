"""Loops for drawings, put together by hand from the geometry of their bends."""

from dataclasses import replace
from itertools import accumulate

import numpy as np

from recommender.physics.bend import bend_length, bend_width
from recommender.physics.sweep import sweep_across, sweep_beyond
from recommender.results.answer import OptionResult, Verdict
from recommender.results.loop import (
    BendShape,
    FeedPlace,
    LoopPlan,
    Outline,
    StationPlace,
    SupplyRun,
)

SECTION = 1.0


def loop(
    *,
    radius: float = 0.28,
    transition: float = 0.0,
    base: float = 0.2,
    straights: int = 1,
    load: tuple[float, float, float, float] = (-0.2, 0.2, 0.05, 0.35),
    plane: str = "flat",
    positions: int = 1,
) -> LoopPlan:
    """A loop of straights 1 m long each, with a plate of 260 mm by 140 mm and a load."""
    bend = float(bend_length(radius, transition))
    straight = straights * SECTION
    back = straight + bend
    bodies = (Outline("plate", -0.13, 0.13, -0.07, 0.07), Outline("load", *load))
    outer = np.array([body.outer_m for body in bodies])
    halves = np.array([max(-body.rear_m, body.front_m) for body in bodies])
    width = float(bend_width(radius, transition))
    across = float(sweep_across(radius, transition, outer, halves, base).max())
    beyond = float(sweep_beyond(radius, transition, outer, halves, base).max())
    joints = tuple(accumulate([SECTION] * straights, initial=0.0))
    carrier = max(load[1] - load[0], 0.26)
    return LoopPlan(
        length_m=2.0 * back,
        straight_m=straight,
        width_m=width,
        floor_width_m=width + 2.0 * across,
        floor_extent_m=straight + 2.0 * beyond,
        sections={"s-1000": 2 * straights, "arc": 2},
        front=("s-1000",) * straights,
        back=("s-1000",) * straights,
        joints_m=(*joints, *(back + joint for joint in joints)),
        stations=(
            StationPlace("load", 0.6, 0, 1, "front", 0.6, positions, None),
            StationPlace("unload", back + 0.4, 1, 1, "back", 0.4, 1, 0.3),
        ),
        feeds=(FeedPlace("feed", 1, "s-1000", 0.5 * SECTION),),
        supplies=(SupplyRun("dc", 1, 2 * straights + 6, 0.0, 2.0 * back, 1.0, 2.0, 3.0, 4.0),),
        carrier_m=carrier,
        plane=plane,
        floor_depth_m=None if plane == "flat" else 0.4,
        bend=BendShape("arc", radius, transition, bend, 3),
        outlines=bodies,
        base_m=base,
        spacing_m=carrier + 0.012,
    )


def option(plan: LoopPlan, carriers: int = 3) -> OptionResult:
    """An option with a loop and nothing else."""
    return OptionResult(
        id="kind_arc_x1",
        family="family",
        carrier="kind",
        bend="arc",
        items_per_carrier=1,
        verdict=Verdict.RECOMMENDED,
        price=None,
        currency="EUR",
        carriers=carriers,
        loop=plan,
        motion=None,
        takt_s=None,
        lap_s=None,
        rate_per_min=None,
        checks=(),
        conflict=(),
        relaxations=(),
        dearer_by=None,
        parts=(),
        reason="",
    )


def named(plan: LoopPlan, *names: str) -> LoopPlan:
    """The same loop with other names of its stations."""
    stations = zip(plan.stations, names, strict=True)
    return replace(plan, stations=tuple(replace(one, name=name) for one, name in stations))
