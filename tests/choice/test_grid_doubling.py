"""Twice as fine a grid of motion settings must not find another price."""

from typing import Any

import pytest

from recommender.choice.decide import decide
from recommender.choice.grid import Grid
from recommender.choice.screen import Screened, screen

HALF_A_PERCENT = 0.005


def test_doubling_the_grid_moves_no_price(worked: Any) -> None:
    # What costs much more, and waves on it, need not be looked at so finely.
    liquid = worked.case.load.liquid is not None
    catalogue = worked.thinned if liquid else worked.catalogue
    coarse, fine = worked.decision, decide(worked.case, catalogue, Grid().doubled())
    assert (coarse.chosen is None) == (fine.chosen is None)
    assert fine.price == pytest.approx(coarse.price, rel=HALF_A_PERCENT)


def test_doubled_means_twice_the_steps_on_every_axis() -> None:
    grid, doubled = Grid(), Grid().doubled()
    for axis in ("accelerations", "speeds", "bend_speeds", "ramp_times"):
        assert getattr(doubled, axis) == 2 * getattr(grid, axis)


def test_a_doubled_grid_holds_every_setting_of_the_single_one(worked: Any) -> None:
    """So that it can find a lower price only, never a higher one."""
    options = [looked.option for looked in worked.decision.looked][::5]
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
