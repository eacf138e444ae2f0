"""Energy of single stretches as the bound of the least energy has it, by sampling their motion."""

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.power import lap_energy, lap_peak_power, mean_power, motor_constant
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.bound import least_powers
from recommender.choice.search.energy_bound import _stretch, least_mean_power
from recommender.choice.search.grid import Grid
from recommender.choice.search.lap_bound import LapBound
from recommender.choice.search.screen import screen
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array
from recommender.physics.profile import leg_segments
from tests.choice.test_bounds import every_loop
from tests.choice.test_screen_by_hand import screened


def drawn(context: SettingContext, way: float, from_bend: bool, to_bend: bool) -> float:
    """What the motor draws along one stretch, J: work where it pulls, and copper loss.

    Where it brakes it gives back the share that the supplies take.
    """
    settings = context.settings
    speed, acceleration, jerk, bend = (
        float(getattr(settings, name)[0])
        for name in ("speed", "acceleration", "jerk", "bend_speed")
    )
    leg = leg_segments(way, bend * from_bend, bend * to_bend, speed, acceleration, jerk)
    ends = np.cumsum(leg.durations)
    times = np.linspace(0.0, leg.duration, 20_001)
    _, v, a = leg.sample(times)
    cruising = (times > ends[2]) & (times < ends[3])
    resistance = np.where(cruising, context.cruise_resistance[0], context.up_resistance[0])
    force = context.about.mass * a + resistance
    share = np.where(force > 0.0, 1.0, context.about.rules.recovered)
    power = share * force * v + np.square(force / motor_constant(context))
    return float(np.trapezoid(power, times))


@pytest.mark.parametrize("recovered", [0.0, 0.6])
@pytest.mark.parametrize("seed", [0, 3])
def test_a_single_setting_draws_what_its_motion_does(
    seed: int, recovered: float, catalogue: Catalogue, altered: Callable[..., Catalogue]
) -> None:
    """Where a box is one setting its bound is the energy itself."""
    rules = catalogue.rules.model_copy(update={"recovered": recovered})
    catalogue = altered(catalogue, rules=rules)
    rng, cruised = np.random.default_rng([51, seed]), 0
    for entry in screened(catalogue, seed):
        for row in rng.integers(0, len(entry.context.settings), 3):
            context = entry.context.take(np.array([row]))
            settings = context.settings
            top = float(settings.speed[0])
            ramp = top / float(settings.acceleration[0]) + float(
                settings.acceleration[0] / settings.jerk[0]
            )
            for from_bend, to_bend in ((True, False), (False, True), (True, True), (False, False)):
                way = float(rng.uniform(0.6, 3.0)) * top * ramp
                found = _stretch(context, np.array([[way]]), (from_bend,), (to_bend,))
                assert found.shape == (1, 1)
                expected = drawn(context, way, from_bend, to_bend)
                assert found[0, 0] == pytest.approx(expected, rel=1e-3)
                cruised += way > top * ramp
    assert cruised > 5


SIDES = [("front",), ("front", "back"), ("front", "front")]


def at_every_place(
    sides: tuple[str, ...], catalogue: Catalogue
) -> Iterator[tuple[SettingContext, LapBound, list[LayoutContext]]]:
    """One carrier on a loop with stations at every tenth of a metre, some settings of an option."""
    case = make_case(
        {
            "load": {"mass": "4 kg", "length": "100 mm", "width": "100 mm", "held": "clamped"},
            "rate": {"items": "30/min"},
            "station": [
                {"name": f"s{k}", "dwell": "300 ms", "side": side} for k, side in enumerate(sides)
            ],
        },
        "some",
    )
    options = list_options(case, catalogue)[::30]
    grid = Grid(accelerations=3, speeds=3, bend_speeds=3, ramp_times=1, search=8)
    builds = PriceBook(case, catalogue, 9.0).builds()
    for entry in screen(options, case, catalogue, grid):
        about, context = entry.context.about, entry.context
        build = next(each for each in builds if each.length >= 1.0)
        bound = LapBound(about, build.length, context.settings, closely=True)
        asked = np.roll(about.distances_asked, -1) - 1e-9
        loops = [on for on in every_loop(about, build) if (on.placement.gaps >= asked).all()]
        yield context, bound, [LayoutContext(on, context, 1) for on in loops]


def least_of(values: list[Array], layouts: list[LayoutContext]) -> Array:
    """The least of each row over the places at which it can be run."""
    runs = [np.isfinite(layout.lap_time) for layout in layouts]
    kept = [np.where(able, value, np.inf) for able, value in zip(runs, values, strict=True)]
    return np.asarray(np.min(kept, axis=0))


@pytest.mark.parametrize("sides", SIDES)
def test_no_place_takes_less_power_than_the_shortest_stretches(
    sides: tuple[str, ...], catalogue: Catalogue
) -> None:
    """A carrier does not stop on a straight without stations, which is most of what is saved."""
    near: list[float] = []
    for context, bound, layouts in at_every_place(sides, catalogue):
        ones = np.ones(len(context.settings))
        mean, peak = least_powers(context, ones, bound)
        energies = [lap_energy(context, each.lap, each.on.bend_travel) for each in layouts]
        least = least_of(energies, layouts) / context.about.takt
        most = least_of([lap_peak_power(context, each.lap, ones) for each in layouts], layouts)
        known = np.isfinite(least)
        assert (mean[known] <= least[known] * (1.0 + 1e-9)).all()
        assert (peak[known] <= most[known] * (1.0 + 1e-9)).all()
        near += (mean[known] / least[known]).tolist()
    assert len(near) > 20
    assert np.median(near) > 0.7


@pytest.mark.parametrize("sides", SIDES)
def test_no_place_takes_less_power_than_what_is_called_least(
    sides: tuple[str, ...], catalogue: Catalogue
) -> None:
    near: list[float] = []
    for context, bound, layouts in at_every_place(sides, catalogue):
        ones = np.ones(len(context.settings))
        closely = least_mean_power(context, ones, bound)
        least = least_of([mean_power(each) for each in layouts], layouts)
        known = np.isfinite(least)
        near += (closely[known] / least[known]).tolist()
    assert len(near) > 20
    assert np.median(near) > 0.97
    assert max(near) <= 1.0 + 1e-9, max(near)
