"""Power of runs of sections, against the whole loop and against carriers followed in time."""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.loop.built import layout_of as built_layout
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.demand import LoopDemand
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.power import mean_power, motor_constant, peak_fleet_power
from recommender.physics.constants import Array
from recommender.physics.profile import leg_segments

STEP = 2e-3


def layout_of(worked: Any, *, together: bool = False, recovered: float = 0.0) -> LayoutContext:
    """The layout of what is recommended, with other rules where the demand looks at them."""
    built, case, catalogue = worked.decision.chosen.configuration, worked.case, worked.catalogue
    if together:
        loop = case.loop.model_copy(update={"restart": "together"})
        case = case.model_copy(update={"loop": loop})
    rules = catalogue.rules.model_copy(update={"recovered": recovered})
    catalogue = catalogue.model_copy(update={"rules": rules})
    about = OptionContext(built.option, case, catalogue)
    return built_layout(built, setting_of(about, built.motion))


NAMES = ["crate", "nest", "batch", "assembly", "cantilever", "upright"]


@pytest.mark.parametrize("recovered", [0.0, 0.6])
@pytest.mark.parametrize("together", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_runs_never_come_to_less_than_the_whole_loop(
    name: str, together: bool, recovered: float, worked_case: Callable[[str], Any]
) -> None:
    layout = layout_of(worked_case(name), together=together, recovered=recovered)
    demand, rng = LoopDemand(layout), np.random.default_rng(7)
    size = len(demand.sections)
    idle = size * layout.about.catalogue.catalogue.section_idle_power
    mean, peak = demand.of(0, size)
    assert mean == pytest.approx(float(mean_power(layout)[0]) + idle, rel=1e-12)
    assert peak == pytest.approx(float(peak_fleet_power(layout)[0]) + idle, rel=1e-12)
    whole = [steps[0] for steps in demand.whole_steps(np.array([0]), np.array([size]))]
    for _ in range(60):
        starts = np.sort(rng.choice(size, rng.integers(2, min(6, size) + 1), replace=False))
        counts = np.diff(np.append(starts, starts[0] + size))
        assert np.all(np.sum(demand.of_runs(starts, counts), axis=1) >= np.array([mean, peak]))
        assert np.all(np.sum(demand.whole_steps(starts, counts), axis=1) >= whole)


@pytest.mark.parametrize("name", ["crate", "nest", "upright"])
def test_longer_runs_draw_no_less(name: str, worked_case: Callable[[str], Any]) -> None:
    """Where nothing is returned, all that is in a run is in a longer one."""
    demand = LoopDemand(layout_of(worked_case(name)))
    size = len(demand.sections)
    for first in range(size):
        counts = np.arange(1, size)
        mean, peak = demand.of_runs(np.full(size - 1, first), counts)
        assert np.all(np.diff(mean) > 0.0) and np.all(np.diff(peak) >= 0.0)


def followed(layout: LayoutContext) -> tuple[Array, Array]:
    """Place and power of one carrier at each step of an unhindered lap.

    Sampled from the jerk-limited profile of each leg; force from mass, acceleration and resistance,
    in bends from resistance alone.
    """
    on, about, setting = layout.on, layout.about, layout.setting
    limits = [float(getattr(setting.settings, n)[0]) for n in ("speed", "acceleration", "jerk")]
    bend_speed, constant = float(setting.settings.bend_speed[0]), motor_constant(setting)
    resistance = float(setting.cruise_resistance[0])
    places, powers = [], []

    def add(place: Array, speed: Array, acceleration: Array) -> None:
        force = about.mass * acceleration + resistance
        places.append(place)
        powers.append(np.maximum(force * speed, 0.0) + (force / constant) ** 2)

    for start in (0.0, on.loop.back_start):
        end = start + on.loop.straight
        stops = sorted(
            (at, station.occupied_with(about.option.items))
            for at, station in zip(on.placement.at, about.case.station, strict=True)
            if start <= at <= end
        )
        marks = [(start + on.overhang, 0.0), *stops, (end - on.overhang, 0.0)]
        for number, ((a, _), (b, stands)) in enumerate(pairwise(marks)):
            ends = (bend_speed * (number == 0), bend_speed * (number == len(marks) - 2))
            leg = leg_segments(b - a, *ends, *limits)
            way, speed, acceleration = leg.sample(np.arange(0.0, leg.duration, STEP))
            add(a + way, speed, acceleration)
            still = np.zeros(round(stands / STEP))
            places.append(still + b)
            powers.append(still)
        travel = on.loop.bend + 2.0 * on.overhang
        time = np.arange(0.0, travel / bend_speed, STEP)
        add(end - on.overhang + bend_speed * time, 0.0 * time + bend_speed, 0.0 * time)
    return np.concatenate(places) % on.loop.length, np.concatenate(powers)


def over_run(place: Array, start: float, end: float, layout: LayoutContext) -> Array:
    """Share of a carrier's magnets over a run at each step, by their ends in metres."""
    carrier, length = layout.about.option.carrier, layout.on.loop.length
    coupling = carrier.coupling_distance or 0.0
    share = np.zeros_like(place)
    middles = [-0.5 * coupling, 0.5 * coupling] if carrier.magnets == 2 else [0.0]
    for middle in middles:
        front = place + middle + 0.5 * carrier.magnet_length
        rear = front - carrier.magnet_length
        for turn in (-1, 0, 1, 2):
            common = np.minimum(front + turn * length, end) - np.maximum(
                rear + turn * length, start
            )
            share += np.maximum(common, 0.0) / carrier.magnet_length / len(middles)
    return share


@pytest.mark.parametrize("name", ["crate", "nest", "assembly", "cantilever"])
def test_runs_are_not_given_less_than_carriers_draw_in_time(
    name: str, worked_case: Callable[[str], Any]
) -> None:
    layout = layout_of(worked_case(name))
    demand, takt = LoopDemand(layout), layout.about.takt
    size = len(demand.sections)
    place, power = followed(layout)
    lap = len(place) * STEP
    assert lap == pytest.approx(float(layout.lap_time[0]), rel=2e-2)
    ratios = []
    for first in range(size):
        for count in (1, 2, size // 2, size - 1):
            start, end = (float(x[0]) for x in demand._runs(np.array([first]), np.array([count])))
            drawn = power * over_run(place, start, end, layout)
            idle = count * layout.about.catalogue.catalogue.section_idle_power
            mean, peak = (value - idle for value in demand.of(first, count))
            # One carrier comes in every takt, so those on the loop are a takt apart in time.
            shifts = np.arange(0.0, lap, takt)
            instants = np.arange(0.0, takt, 4 * STEP)[:, None]
            rows = ((instants + shifts) / STEP).astype(int)
            together = np.where(rows < len(drawn), drawn[np.minimum(rows, len(drawn) - 1)], 0.0)
            assert mean >= drawn.sum() * STEP / takt * (1 - 1e-3)
            assert peak >= together.sum(axis=1).max() * (1 - 1e-3)
            ratios.append((count, mean / max(drawn.sum() * STEP / takt, 1.0)))
    # Queues and the forces at the ends of bends are not followed, so the whole loop's mean lies
    # above as well; dividing it must not add much to that.
    idle = size * layout.about.catalogue.catalogue.section_idle_power
    whole = (demand.of(0, size)[0] - idle) / (power.sum() * STEP / takt)
    half = [ratio / whole for count, ratio in ratios if count == size // 2]
    assert np.median(half) < 2.0
