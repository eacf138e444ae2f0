"""A search on a fine grid of motion settings, which the decision knows nothing of, for comparison.

The decision bounds ranges of settings and looks at some of them; explanations look at a grid. Of
neither may the other find anything that it says cannot be.
"""

from typing import Any

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.parts.goals import GAP
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.candidates import passes_alone
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import Screened, screen
from tests.oracles.grid_search import cheapest


def test_a_fine_grid_finds_nothing_below_the_bound(worked: Any) -> None:
    case, decision, catalogue = worked.case, worked.decision, worked.catalogue
    kept = {carrier.id for carrier in worked.thinned.carrier}, {b.id for b in worked.thinned.bend}
    options = [
        looked.option
        for looked in decision.looked
        if looked.option.carrier.id in kept[0] and looked.option.bend.id in kept[1]
        if passes_alone(OptionContext(looked.option, case, catalogue))
    ]
    assert options or decision.chosen is None
    price_book = PriceBook(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    most = decision.price if decision.chosen else None
    # Waves are dear to compute: there the usual grid, which has slower settings besides.
    grid = Grid() if case.load.liquid else Grid().doubled()
    found = [
        candidate
        for entry in screen(options, case, catalogue, grid)
        for candidate in cheapest(entry, price_book, most)
    ]
    if decision.chosen is None:
        assert not found
    for candidate in found:
        assert candidate.price >= decision.bound
        if decision.optimal:
            assert candidate.price >= (1.0 - GAP) * decision.price


def test_doubled_means_twice_the_steps_on_every_axis() -> None:
    grid, doubled = Grid(), Grid().doubled()
    for axis in ("accelerations", "speeds", "bend_speeds", "ramp_times"):
        assert getattr(doubled, axis) == 2 * getattr(grid, axis)


def test_a_doubled_grid_holds_every_setting_of_the_single_one(worked: Any) -> None:
    """So that it can find a lower price only, never a higher one."""
    every = 20 if worked.case.load.liquid else 5
    options = [looked.option for looked in worked.decision.looked][::every]
    for coarse, fine in zip(
        *(
            screen(options, worked.case, worked.catalogue, grid)
            for grid in (Grid(), Grid().doubled())
        ),
        strict=True,
    ):
        single, double = settings_of(coarse), settings_of(fine)
        assert len(double) > len(single)
        assert single <= double


def settings_of(entry: Screened) -> set[tuple[float, ...]]:
    """Rows of settings to nine digits."""
    settings = entry.context.settings
    columns = (settings.acceleration, settings.jerk, settings.speed, settings.bend_speed)
    return {tuple(float(f"{x:.9g}") for x in row) for row in zip(*columns, strict=True)}
