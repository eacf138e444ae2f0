"""Where on the guide a carrier draws power in a bend, against its two guided points followed."""

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.demand import LoopDemand
from recommender.choice.loop.layout import LayoutContext, placed_on
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.options import Option, list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

STEP = 1e-4
CASE = make_case({"load": {"mass": "3 kg"}, "rate": {"items": "6/min"}}, "test")


def layouts(catalogue: Catalogue) -> list[tuple[str, LayoutContext]]:
    """One option of each family on each bend, on a loop with straights of two metres or so."""
    options: dict[tuple[str, str], Option] = {}
    for option in list_options(CASE, catalogue):
        options.setdefault((option.family.id, option.bend.id), option)
    price_book = PriceBook(CASE, catalogue, catalogue.rules.longest_loop)
    found = []
    for option in options.values():
        about = OptionContext(option, CASE, catalogue)
        build = min(price_book.builds(), key=lambda each: abs(each.length - 2.0))
        for on in placed_on(about, build)[:1]:
            setting = setting_of(about, Motion(1.0, 20.0, 0.6, 0.3))
            found.append((option.id, LayoutContext(on, setting)))
    return found


def turning(layout: LayoutContext, entry: float) -> tuple[Array, Array]:
    """Places of a carrier's middle while it comes into a bend and while it goes out.

    From when its front point meets a transition until its rear one has passed it; where there is
    none, both pass the place at which the curvature jumps.
    """
    on, option = layout.on, layout.about.option
    base, transition = option.base, option.bend.transition
    leaves = entry + on.loop.bend
    middle = np.arange(entry - base, leaves + base, STEP)
    points = middle + 0.5 * base, middle - 0.5 * base

    def on_transition(begin: float, end: float) -> Array:
        return np.asarray(middle[(points[0] >= begin) & (points[1] <= end)])

    return on_transition(entry, entry + transition), on_transition(leaves - transition, leaves)


def test_a_bend_is_entered_and_left_over_the_base_and_its_transition(catalogue: Catalogue) -> None:
    looked = 0
    for name, layout in layouts(catalogue):
        rows = np.array(LoopDemand(layout)._bend_draws())
        on = layout.on
        for entry in (on.loop.straight, on.loop.length - on.loop.bend):
            coming, going = turning(layout, entry)
            mine = rows[(rows[:, 0] >= entry - 1.0) & (rows[:, 1] <= entry + on.loop.bend + 1.0)]
            full = mine[mine[:, 4] == 0.0]
            first, last = full[np.argmin(full[:, 0])], full[np.argmax(full[:, 1])]
            # The stretch over which entering counts in full holds all of it, and hardly more.
            assert first[:2] == pytest.approx([coming[0], coming[-1]], abs=2 * STEP), name
            assert last[:2] == pytest.approx([going[0], going[-1]], abs=2 * STEP), name
            looked += 1
    assert looked >= 12


def test_what_a_bend_draws_is_there_and_not_elsewhere(catalogue: Catalogue) -> None:
    """A run of sections within the stretch of entering is given all of it, one beyond it none."""
    for name, layout in layouts(catalogue):
        demand = LoopDemand(layout)
        rows = np.array(demand._bend_draws())
        start, end, energy, _, evenly = rows[0]
        assert evenly == 0.0
        reach = demand._reach
        a, b = np.array([start - reach]), np.array([end + reach])
        common, within = demand._overlap(a, b, rows[:1, 0], rows[:1, 1])
        assert within[0, 0], name
        assert common[0, 0] == pytest.approx(end - start, abs=1e-6)
        # From just inside the stretch on not all of it is certain, beyond its end nothing is left.
        for shift, left in ((0.01, True), (end - start + 2.0 * reach + 0.01, False)):
            common, within = demand._overlap(a + shift, b + shift, rows[:1, 0], rows[:1, 1])
            assert not within[0, 0], name
            assert bool(common[0, 0] >= 0.0) is left, name
        assert energy > 0.0


def test_what_runs_and_stretches_have_in_common(catalogue: Catalogue) -> None:
    """Against a carrier's magnets at every millimetre or so; runs and stretches across the seam."""
    rng, wrapped = np.random.default_rng(5), 0
    for name, layout in layouts(catalogue)[::2]:
        demand = LoopDemand(layout)
        length, reach = layout.on.loop.length, demand._reach
        for _ in range(40):
            start, size = rng.uniform(0.0, length), rng.uniform(0.1, 0.98) * length
            first = rng.uniform(-0.5, 1.5) * length
            way = rng.uniform(0.0, 0.9) * length
            common, within = demand._overlap(
                *(np.array([place]) for place in (start, start + size, first, first + way))
            )
            middle = np.linspace(first, first + way, 4001)
            # The magnets are over the run from where the front one meets it until the rear one has
            # left it, once round or further on.
            beyond = (middle - reach - start) % length
            over = (beyond < size) | (beyond + 2.0 * reach >= length)
            inside = beyond + 2.0 * reach <= size
            step = way / 4000
            if not over.any():
                assert common[0, 0] < 2 * step
            elif size + 2.0 * reach <= length:
                assert common[0, 0] == pytest.approx(over.mean() * way, abs=4 * step + 1e-6), name
                wrapped += bool(not over.all() and over[0] and over[-1])
            else:
                # A run that ends where it began counts twice what is over both of its ends.
                assert common[0, 0] >= over.mean() * way - 4 * step, name
            assert bool(within[0, 0]) is bool(inside.all()), name
    assert wrapped > 10
