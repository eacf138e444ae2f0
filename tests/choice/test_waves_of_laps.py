"""A tray goes round and round: its liquid is never calm when a move begins."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks import LAYOUT_CHECKS
from recommender.choice.checks.liquid import _bend_pulses, _Trip, rise_in_bends
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.layout import LayoutContext, on_loop
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.filling.assumptions import method_assumptions
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import shipped
from recommender.physics.profile import leg_segments

OPTION = "lm-176_arc-280_x1"
# Quick enough for three carriers, and calm enough if every move began with a calm liquid.
QUICK = (1.0145, 1.2210, 0.29527, 0.28631)


def tray(viscosity: float | None = None) -> Case:
    case = read_case(shipped("cases") / "tray.toml")
    liquid = case.load.liquid
    assert liquid is not None
    liquid = liquid.model_copy(update={"viscosity": viscosity})
    load = case.load.model_copy(update={"liquid": liquid})
    return case.model_copy(update={"load": load})


def layout(case: Case, catalogue: Catalogue, motion: tuple[float, ...]) -> LayoutContext:
    """Straights of a metre."""
    option = next(each for each in list_options(case, catalogue) if each.id == OPTION)
    about = OptionContext(option, case, catalogue)
    setting = setting_of(about, Motion(*motion))
    builds = PriceBook(case, catalogue, 9.0).builds()
    build = next(each for each in builds if each.length == pytest.approx(1.0))
    on = on_loop(about, build)
    assert on is not None
    return LayoutContext(on, setting)


def rise(case: Case, catalogue: Catalogue, motion: tuple[float, ...]) -> float:
    """Highest rise of any move."""
    context = layout(case, catalogue, motion)
    (check,) = (each for each in LAYOUT_CHECKS if each.about.id == "load.spill")
    outcome = check.evaluate(context)
    assert outcome is not None
    found = float(outcome.demand.max())
    assert found >= rise_in_bends(context.setting)[0]
    return found


def test_a_motion_that_only_a_calm_start_allows_is_refused(catalogue: Catalogue) -> None:
    """From a calm start it rises by 42 mm of the 45 mm that are free; after laps it spills."""
    assert rise(tray(), catalogue, QUICK) > 0.045


def test_a_thinner_liquid_remembers_longer(catalogue: Catalogue) -> None:
    rises = [rise(tray(nu), catalogue, QUICK) for nu in (1e-4, 1e-5, 1e-6, 3e-7)]
    assert sorted(rises) == rises
    assert rises[2] == pytest.approx(rise(tray(), catalogue, QUICK))


def test_damping_and_viscosity_are_said(catalogue: Catalogue) -> None:
    lines = {line.key: line.value for line in method_assumptions(tray(), catalogue)}
    assert lines["rules.liquid_viscosity"] == "1 mm^2/s"
    # By hand for a tray of 0.3 m by 0.22 m filled 60 mm deep.
    assert lines["liquid.damping"] == "0.30 % of critical"
    given = {line.key for line in method_assumptions(tray(5e-6), catalogue)}
    assert "rules.liquid_viscosity" not in given
    assert "liquid.damping" in given


def test_waves_decay_from_when_their_pulses_end(catalogue: Catalogue) -> None:
    """Moves from stop to stop written out leg by leg, each timed as its profile of constant jerk.

    A station stands on either straight and one more on the front, so that two moves pass a bend.
    """
    context = layout(tray(), catalogue, QUICK)
    acceleration, jerk, speed, bend_speed = (
        float(getattr(context.setting.settings, name)[0])
        for name in ("acceleration", "jerk", "speed", "bend_speed")
    )
    loop, base = context.on.loop, context.about.option.base
    turning = (loop.bend + base) / bend_speed
    marks = [(at, "stop") for at in context.on.placement.at]
    for straight in (0.0, loop.back_start):
        marks.append((straight + 0.5 * base, "out of a bend"))
        marks.append((straight + loop.straight - 0.5 * base, "into a bend"))
    marks.sort()
    first = next(k for k, (_, kind) in enumerate(marks) if kind == "stop")
    moves: list[tuple[float, list[float], list[float]]] = []
    for (a, leaves), (b, reaches) in pairwise(marks[first:] + marks[: first + 1]):
        clock, along, across = (0.0, [], []) if leaves == "stop" else moves.pop()
        if leaves == "into a bend":
            clock += turning
            along, across = [*along, clock, clock], [*across, clock]
        else:
            ends = (0.0 if kind == "stop" else bend_speed for kind in (leaves, reaches))
            leg = leg_segments((b - a) % loop.length, *ends, speed, acceleration, jerk)
            along = [*along, clock + leg.durations[:3].sum(), clock + leg.duration]
            clock += leg.duration
        moves.append((clock, along, across))
    assert len(moves) == 3 and sum(bool(across) for _, _, across in moves) == 2
    trip = _Trip.of(context)
    for move, along, across, duration in zip(
        moves, trip.along, trip.across, trip.duration, strict=True
    ):
        assert duration == pytest.approx([move[0]], rel=1e-6)
        assert along.ends[0] == pytest.approx(move[1], rel=1e-6)
        assert across.ends[0] == pytest.approx(move[2], rel=1e-6)


@pytest.mark.parametrize("reach", ["130 mm", "-90 mm", "-300 mm"])
def test_a_bend_pulls_at_the_liquid_by_how_far_it_is_from_its_middle(
    reach: str, catalogue: Catalogue
) -> None:
    """Turning at v/R, at R + y from the middle: (v/R)²·(R + y), and nothing at the middle itself.

    At either end the whole base has to pass the joint before the carrier turns steadily.
    """
    case = tray()
    load = case.load.model_copy(update={"reach": float(reach.removesuffix(" mm")) / 1000.0})
    context = layout(tray(), catalogue, QUICK).setting
    about = OptionContext(
        context.about.option, case.model_copy(update={"load": load}), context.about.catalogue
    )
    (across, ramp, stay), (along, no_ramp, lasts) = _bend_pulses(replace(context, about=about))
    bend, base, speed = about.option.bend, about.option.base, QUICK[3]
    turning = speed / bend.radius
    assert across == pytest.approx(turning**2 * max(bend.radius + load.reach, 0.0))
    assert ramp == lasts == pytest.approx(max(bend.transition, base) / speed)
    assert stay == pytest.approx((np.pi * bend.radius + bend.transition) / speed)
    assert no_ramp == 0.0
    # What turns from nothing to v/R while the base passes speeds up at least so much on average.
    assert along >= turning / float(lasts[0]) * abs(load.reach) * (1.0 - 1e-9)
