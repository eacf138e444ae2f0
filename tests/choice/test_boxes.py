"""What is claimed of a box of settings, against settings drawn at random from it.

A bound that is too high would call a price proven that is not. So bounds are compared with the
configurations that random settings come to, corners favoured, on random enquiries; and what a
decision calls proven with a search that knows nothing of boxes.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.load_cases import bend_loads, straight_loads
from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import BEND_CHECKS, SETTING_CHECKS, STRAIGHT_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision.audit import audit
from recommender.choice.decision.decide import decide
from recommender.choice.decision.explore import everything
from recommender.choice.decision.gentlest import Fixed, holding_rows, table_of
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.layout import LayoutContext, placed_on
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import GAP
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.axes import Axes, axes_of
from recommender.choice.search.bound import bounded
from recommender.choice.search.box import Boxes
from recommender.choice.search.candidates import Candidate, candidates_on, passes_alone
from recommender.choice.search.grid import jerk_for, worst
from recommender.choice.search.price_bound import BuildPrices, PricedBuild
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array
from tests.random_enquiries import random_enquiry

ENQUIRIES = 12
BOXES = 8
POINTS = 160
SEARCHED = 10


def workshop_of(case: Case, catalogue: Catalogue) -> PriceBook:
    return PriceBook(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)


def random_box(whole: Boxes, rng: np.random.Generator) -> Boxes:
    """A part of all that an option may do, of any size."""
    axes, last = whole.axes, len(whole.axes.straight.values) - 1

    def span() -> tuple[Array, Array]:
        width = int(2 ** rng.integers(0, 8))
        first = int(rng.integers(0, last - width + 1))
        return np.array([first]), np.array([first + width])

    speeds = np.exp(np.sort(rng.uniform(np.log(axes.slowest), np.log(axes.fastest), 2)))
    (gentle, sharp), (slow_bend, quick_bend) = span(), span()
    return replace(
        whole,
        gentle=gentle,
        sharp=sharp,
        slow_bend=slow_bend,
        quick_bend=quick_bend,
        slow=speeds[:1],
        quick=speeds[1:],
    )


def random_settings(
    about: OptionContext,
    least: tuple[float, float, float],
    most: tuple[float, float, float],
    rng: np.random.Generator,
) -> tuple[SettingContext, Array] | None:
    """Settings between some limits in which all holds that needs no loop, and what they use.

    ``None`` if none was drawn with its bend speed below its top speed.
    """
    share = rng.beta(0.5, 0.5, (3, POINTS))
    acceleration, speed, bend_speed = (
        low * (high / low) ** part for low, high, part in zip(least, most, share, strict=True)
    )
    rows = np.flatnonzero(bend_speed <= speed)
    if not len(rows):
        return None
    acceleration, speed, bend_speed = acceleration[rows], speed[rows], bend_speed[rows]
    straight = straight_loads(about.alone, acceleration[None])
    bend = bend_loads(about.alone, bend_speed[None])
    every = np.arange(len(acceleration))
    jerk = jerk_for(acceleration, about.rules.ramp_time, about.case)
    setting = SettingContext(
        about,
        Settings(acceleration, jerk, speed, bend_speed),
        LoadTable(straight, 0, every),
        LoadTable(bend, 0, every),
    )
    used = np.maximum(worst(STRAIGHT_CHECKS, straight)[0], worst(BEND_CHECKS, bend)[0])
    for check in SETTING_CHECKS:
        outcome = check.evaluate(setting)
        if outcome is not None:
            used = np.maximum(used, outcome.utilisation())
    holds = np.flatnonzero(used <= HOLDS)
    return setting.take(holds), used[holds]


def some_builds(
    axes: Axes, whole: Boxes, price_book: PriceBook, rng: np.random.Generator, count: int
) -> list[PricedBuild]:
    prices = BuildPrices.of(axes.about, price_book)
    most = whole.quickest
    limits = (most.acceleration, most.speed, most.bend_speed)
    rough = prices.rough_bound(*(float(limit[0]) for limit in limits))
    rows = [int(row) for row in np.argsort(rough)[:10] if rough[row] < NEVER]
    chosen = rng.permutation(rows)[:count]
    return [prices.priced(int(row), int(rough[row])) for row in chosen]


def candidates(
    priced: PricedBuild, drawn: tuple[SettingContext, Array] | None, price_book: PriceBook
) -> list[Candidate]:
    if drawn is None or not len(drawn[1]):
        return []
    setting, used = drawn
    return [
        candidate
        for on in placed_on(setting.about, priced.build)
        for candidate in candidates_on(priced, on, setting, used, price_book)
    ]


def options_of(
    case: Case, catalogue: Catalogue, rng: np.random.Generator, count: int
) -> Iterator[tuple[Axes, Boxes]]:
    """Some options that may work, with all that they may do."""
    able = [
        option
        for option in list_options(case, catalogue)
        if passes_alone(OptionContext(option, case, catalogue))
    ]
    chosen = [able[k] for k in rng.permutation(len(able))[:count]]
    for axes in axes_of(chosen, case, catalogue):
        whole = everything(axes) if axes.hold else None
        if whole:
            yield axes, whole


@pytest.mark.parametrize("seed", range(ENQUIRIES))
def test_no_setting_of_a_box_undercuts_its_bound(seed: int, catalogue: Catalogue) -> None:
    rng = np.random.default_rng([17, seed])
    case = random_enquiry(rng)
    price_book, compared = workshop_of(case, catalogue), 0
    for axes, whole in options_of(case, catalogue, rng, 5):
        for priced in some_builds(axes, whole, price_book, rng, 2):
            for _ in range(BOXES):
                box = random_box(whole, rng)
                least, most = box.gentlest, box.quickest
                corners = [
                    tuple(float(values[0]) for values in (s.acceleration, s.speed, bend[:1]))
                    for s, bend in (
                        (least, axes.bend.values[box.slow_bend]),
                        (most, axes.bend.values[box.quick_bend]),
                    )
                ]
                drawn = random_settings(axes.about, corners[0], corners[1], rng)
                bound = bounded(priced, box, price_book)
                for found in candidates(priced, drawn, price_book):
                    compared += 1
                    assert len(bound.price), "something holds in a box that was dropped"
                    assert found.price >= bound.price[0]
                    assert found.carriers >= bound.carriers[0]
    assert compared or seed


def thin(catalogue: Catalogue, altered: Any, rng: np.random.Generator) -> Catalogue:
    """Some of the carriers on one or two bends."""
    carriers = [catalogue.carrier[k] for k in sorted(rng.permutation(len(catalogue.carrier))[:4])]
    bends = [catalogue.bend[k] for k in sorted(rng.permutation(len(catalogue.bend))[:2])]
    return altered(catalogue, carrier=tuple(carriers), bend=tuple(bends))  # type: ignore[no-any-return]


@pytest.mark.parametrize("seed", range(SEARCHED))
def test_a_search_without_boxes_finds_nothing_cheaper(
    seed: int, catalogue: Catalogue, altered: Any
) -> None:
    rng = np.random.default_rng([23, seed])
    case, some = random_enquiry(rng), thin(catalogue, altered, rng)
    decision = decide(case, some)
    price_book = workshop_of(case, some)
    for axes, whole in options_of(case, some, rng, 8):
        most = whole.quickest
        ends = tuple(float(v[0]) for v in (most.acceleration, most.speed, most.bend_speed))
        start = tuple(0.5 * end for end in ends)
        for priced in some_builds(axes, whole, price_book, rng, 6):
            drawn = random_settings(axes.about, start, ends, rng)
            for found in candidates(priced, drawn, price_book):
                assert found.price >= decision.bound
                if decision.optimal:
                    assert found.price >= (1.0 - GAP) * decision.price


def enquiry(mass: str, side: str, height: str, reach: str, rate: str, dwell: str) -> Case:
    return Case.model_validate(
        {
            "load": {
                "mass": mass,
                "length": side,
                "width": side,
                "cg_height": height,
                "reach": reach,
                "held": "clamped",
            },
            "rate": {"items": rate, "reserve": 0.0},
            "limits": {"acceleration": "40 m/s^2"},
            "station": [
                {"name": name, "dwell": dwell, "settling": "100 ms"} for name in ("load", "unload")
            ],
        }
    )


def test_a_bend_at_top_speed_saves_a_carrier(catalogue: Catalogue) -> None:
    """Between the points of a grid this was missed, and a fourth carrier called for."""
    case = enquiry("64 kg", "340 mm", "136 mm", "0 mm", "40/min", "450 ms")
    apart = case.station[1].model_copy(update={"after": 1.0})
    case = case.model_copy(update={"station": (case.station[0], apart)})
    decision = decide(case, catalogue)
    assert decision.chosen is not None
    assert decision.chosen.configuration.carriers <= 3
    assert decision.bound >= 0.99 * decision.price


def test_a_load_that_reaches_out_costs_no_less(catalogue: Catalogue) -> None:
    prices = []
    for reach in ("0 mm", "50 mm"):
        decision = decide(enquiry("8 kg", "180 mm", "72 mm", reach, "12/min", "1.5 s"), catalogue)
        assert decision.optimal
        prices.append(decision.price)
    assert prices[0] <= prices[1] * (1.0 + GAP)


def test_the_motion_of_the_choice_is_the_gentlest_at_its_price(worked: Any) -> None:
    chosen = worked.decision.chosen
    if chosen is None or worked.case.load.liquid is not None:
        pytest.skip("nothing moves, or waves ask for a motion of their own")
    built, motion = chosen.configuration, chosen.configuration.motion
    about = OptionContext(built.option, worked.case, worked.catalogue)
    on = layout_of(built, setting_of(about, motion)).on
    fixed = Fixed.of(on, built, worked.catalogue)
    axes = next(axes_of((built.option,), worked.case, worked.catalogue))
    # Motions are round numbers, of three digits for each of four values.
    least = float(axes.straight.values[0])
    acceleration = least + np.linspace(0.0, 0.985, 60) * (motion.acceleration - least)
    bends = np.linspace(float(axes.bend.values[0]), float(axes.bend.values[-1]), 24)
    speeds = np.linspace(axes.slowest, axes.fastest, 24)
    jerk = jerk_for(acceleration, motion.acceleration / motion.jerk, worked.case)
    setting = table_of(about, acceleration, jerk, bends, speeds)
    gentler = setting.settings.acceleration[holding_rows(fixed, setting)]
    assert not len(gentler), f"{gentler.min()} m/s² would do instead of {motion.acceleration}"


def test_the_motion_is_printed_as_it_was_audited(worked: Any) -> None:
    for looked in worked.decision.looked:
        if looked.feasible and looked.audit is not None:
            motion = looked.audit.configuration.motion
            again = audit(looked.audit.configuration, worked.case, worked.catalogue)
            assert not again.failures
            for value in (motion.acceleration, motion.speed, motion.bend_speed):
                assert value == pytest.approx(float(f"{value:.6g}"), rel=1e-12)


def test_the_top_speed_is_reached(worked: Any) -> None:
    chosen = worked.decision.chosen
    if chosen is None:
        pytest.skip("nothing moves")
    built = chosen.configuration
    about = OptionContext(built.option, worked.case, worked.catalogue)
    setting = setting_of(about, built.motion)
    layout = LayoutContext(layout_of(built, setting).on, setting, built.carriers)
    assert layout.lap.peak.max() >= 0.97 * built.motion.speed


def test_the_house_sets_a_ceiling(catalogue: Catalogue) -> None:
    light = enquiry("0.4 kg", "60 mm", "20 mm", "0 mm", "38/min", "200 ms")
    decision = decide(light, catalogue)
    for looked in decision.looked:
        if looked.audit is not None and looked.feasible:
            motion = looked.audit.configuration.motion
            assert motion.acceleration <= catalogue.rules.most_acceleration
