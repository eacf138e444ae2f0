"""The settings that are looked at where a liquid is carried, and prices against random motions.

Waves are no monotone thing, so nothing is proven there: the price is held against motions drawn at
random, far more of them than the search looks at. Trays and rates are drawn, and invented.
"""

from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision.decide import decide
from recommender.choice.loop.layout import placed_on
from recommender.choice.loop.takt import takt_used
from recommender.choice.parts.options import Option, list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.axes import Axes, axes_of
from recommender.choice.search.candidates import candidates_on
from recommender.choice.search.grid import jerk_for
from recommender.choice.search.price_bound import BuildPrices
from recommender.choice.search.screen import fastest
from recommender.choice.search.waves import sampled
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.physics.slosh import sloshing_period

DRAWN = 20_000
"""Motions at random on each loop that would be cheaper."""

NEARLY = 0.95
"""Share of the price below which none of them may work."""


def random_tray(seed: int) -> Case:
    rng = np.random.default_rng(seed)
    length, width = rng.choice([200, 300, 400]), rng.choice([120, 160, 220])
    load = {
        "mass": f"{rng.choice([4, 8, 12])} kg",
        "length": f"{length + 20} mm",
        "width": f"{width + 20} mm",
        "reach": f"{rng.choice([0, 60])} mm",
        "cg_height": "70 mm",
        "held": "nested",
        "liquid": {
            "length": f"{length} mm",
            "width": f"{width} mm",
            "depth": f"{rng.choice([30, 60])} mm",
            "freeboard": f"{rng.choice([20, 30, 45])} mm",
        },
    }
    stations = [
        {"name": f"s{k}", "dwell": f"{rng.choice([0.5, 1.0, 1.5])} s"}
        for k in range(int(rng.integers(2, 4)))
    ]
    rate = {"items": f"{rng.choice([5, 9, 14])}/min"}
    return Case.model_validate({"load": load, "rate": rate, "station": stations})


def axes(option: Option, case: Case, catalogue: Catalogue) -> Axes:
    (found,) = axes_of([option], case, catalogue)
    return found


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return read_catalogue(shipped("catalog"))


def test_every_sampled_setting_holds_and_ramps_last_whole_periods(catalogue: Catalogue) -> None:
    case = random_tray(3)
    for option in list_options(case, catalogue)[:4]:
        along = axes(option, case, catalogue)
        setting, used = sampled(along)
        assert len(used) > 500
        assert used.max() <= HOLDS
        settings = setting.settings
        assert (settings.bend_speed <= settings.speed * (1.0 + 1e-12)).all()
        top = fastest(setting.straight, along.fastest)
        assert (settings.speed <= top * (1.0 + 1e-12)).all()
        liquid = case.load.liquid
        assert liquid is not None
        period = float(sloshing_period(liquid.length, liquid.depth))
        ramps = settings.acceleration / settings.jerk
        assert np.isclose(ramps, period).any()
        rows = np.stack([settings.acceleration, ramps, settings.speed, settings.bend_speed], axis=1)
        assert len(np.unique(rows.round(12), axis=0)) == len(rows)


def test_what_is_in_time_keeps_the_takt_and_the_rest_cannot(catalogue: Catalogue) -> None:
    case = random_tray(5)
    option = list_options(case, catalogue)[0]
    sample = sampled(axes(option, case, catalogue))
    used = takt_used(sample.setting.about, sample.setting.settings)
    assert len(sample.in_time.used) == int((used <= HOLDS).sum()) > 0


def random_setting(along: Axes, rng: np.random.Generator) -> tuple[SettingContext, Any]:
    """Motions of an option drawn evenly on logarithms, ramps up to the longest period."""
    liquid, about = along.about.case.load.liquid, along.about
    assert liquid is not None
    held = [np.flatnonzero(axis.used <= HOLDS) for axis in (along.straight, along.bend)]
    a, b = (rng.choice(nodes, DRAWN) for nodes in held)
    calm = along.waves[b] <= HOLDS
    a, b = a[calm], b[calm]
    acceleration, bend_speed = along.straight.values[a], along.bend.values[b]
    top = fastest(along.straight.at(a), along.fastest)
    speed = bend_speed * np.maximum(top / bend_speed, 1.0) ** rng.uniform(0.0, 1.0, len(a))
    period = float(sloshing_period(liquid.length, liquid.depth))
    ramp = about.rules.ramp_time * (period / about.rules.ramp_time) ** rng.uniform(0, 1, len(a))
    runs = bend_speed <= top
    jerk = jerk_for(acceleration, ramp, about.case)
    settings = Settings(acceleration, jerk, speed, bend_speed)
    every = SettingContext(about, settings, along.straight.at(a), along.bend.at(b))
    return every.take(np.flatnonzero(runs)), np.zeros(int(runs.sum()))


@pytest.mark.parametrize("seed", range(6))
def test_random_motions_are_hardly_cheaper(catalogue: Catalogue, seed: int) -> None:
    case, rng = random_tray(seed), np.random.default_rng(seed)
    decision = decide(case, catalogue, nearest=0)
    if decision.chosen is None:
        pytest.skip("nothing was found")
    limit = int(NEARLY * 100 * float(decision.chosen.price))
    book = PriceBook(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    option = decision.chosen.configuration.option
    along = axes(option, case, catalogue)
    prices = BuildPrices.of(along.about, book)
    setting, used = random_setting(along, rng)
    rough = prices.rough_bound(
        float(along.straight.values[-1]), along.fastest, float(along.bend.values[-1])
    )
    for row in np.flatnonzero(rough < limit):
        priced = prices.priced(int(row), int(rough[row]))
        for on in placed_on(along.about, priced.build):
            cheaper = [each.price for each in candidates_on(priced, on, setting, used, book, limit)]
            assert min(cheaper, default=limit) >= limit, (priced.build, cheaper)
