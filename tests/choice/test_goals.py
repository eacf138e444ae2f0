"""What has least of something else than the price, against searches that know nothing of boxes.

Floor, weeks and energy of what is compared are worked out here from drawings, bills and powers, and
not by the code that orders configurations.
"""

import math
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from recommender.choice.decision.decide import choose, decide
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.finish import finish
from recommender.choice.loop.layout import LayoutContext, placed_on
from recommender.choice.loop.power import mean_power
from recommender.choice.parts.builds import builds
from recommender.choice.parts.goals import (
    GAP,
    PRICE_ROOM,
    Goal,
    measure_of,
    price_of,
    rank,
    worth_finding,
)
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import cents
from recommender.choice.search.bound import bounded
from recommender.choice.search.candidates import Candidate
from recommender.choice.search.energy_bound import longest_lap
from recommender.choice.search.lap_bound import LapBound
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from tests.choice.test_boxes import (
    candidates,
    options_of,
    random_box,
    random_settings,
    some_builds,
    thin,
)
from tests.conftest import without_memory
from tests.random_enquiries import random_enquiry

OTHERS = (Goal.FLOOR, Goal.DELIVERY, Goal.ENERGY)
SEARCHED = 4
BOUNDED = 8
STEP = {Goal.FLOOR: 1e4, Goal.ENERGY: 1e3}


def workshop_of(case: Case, catalogue: Catalogue, goal: Goal) -> PriceBook:
    longest = case.loop.max_length or catalogue.rules.longest_loop
    return PriceBook(case, catalogue, longest, goal)


def floor_of(found: Candidate) -> float:
    """Rectangle round a loop whose loads swing in plain arcs, m²; from a drawing."""
    about, bend = found.on.about, found.on.about.option.bend
    assert not bend.transition
    outer, half = about.outlines
    base = 0.5 * about.option.base
    middle = math.sqrt(bend.radius**2 - base**2)
    reach = [math.hypot(middle + y, x) for y, x in zip(outer, half, strict=True)]
    # On a straight the corner is out by its own y; in the bend it runs on a circle.
    across = 2.0 * max(*reach, *(bend.radius + y for y in outer))
    return float(across * (found.build.length + 2.0 * max(reach)))


def energy_of(found: Candidate) -> float:
    """Mean power with idle sections, W."""
    layout = LayoutContext(found.on, found.setting, found.carriers)
    sections = found.build.pieces + 2 * found.on.about.option.bend.sections
    idle = found.on.about.catalogue.catalogue.section_idle_power
    return float(mean_power(layout)[0]) + sections * idle


class TestRanks:
    def test_the_measure_comes_before_any_price(self) -> None:
        assert rank(13, 99_999_999_99) < rank(14, 1)
        assert rank(13, 5) < rank(13, 6)
        assert rank(0, 123) == 123
        some = int(rank(1300, 5_025_700))
        assert (measure_of(some), price_of(some)) == (1300, 5_025_700)

    def test_no_price_spills_over_into_the_measure(self) -> None:
        assert measure_of(int(rank(7, 3 * PRICE_ROOM))) == 7

    def test_what_is_worth_finding_is_within_the_gap(self) -> None:
        some = int(rank(100_000, 5))
        assert worth_finding(Goal.FLOOR, some) == some
        assert (1.0 - GAP) * 100_000 < measure_of(worth_finding(Goal.ENERGY, some)) < 100_000


@pytest.mark.parametrize("goal", OTHERS)
@pytest.mark.parametrize("seed", range(BOUNDED))
def test_no_setting_of_a_box_ranks_below_its_bound(
    seed: int, goal: Goal, catalogue: Catalogue
) -> None:
    rng = np.random.default_rng([31, seed])
    case = random_enquiry(rng)
    price_book, compared = workshop_of(case, catalogue, goal), 0
    for axes, whole in options_of(case, catalogue, rng, 4):
        for priced in some_builds(axes, whole, price_book, rng, 2):
            for _ in range(5):
                box = random_box(whole, rng)
                least, most = box.gentlest, box.quickest
                ends = [
                    tuple(float(values[0]) for values in (s.acceleration, s.speed, bend[:1]))
                    for s, bend in (
                        (least, axes.bend.values[box.slow_bend]),
                        (most, axes.bend.values[box.quick_bend]),
                    )
                ]
                drawn = random_settings(axes.about, ends[0], ends[1], rng)
                bound = bounded(priced, box, price_book)
                for found in candidates(priced, drawn, price_book):
                    compared += 1
                    assert len(bound.rank), "something holds in a box that was dropped"
                    assert found.rank >= bound.rank[0]
                    if goal is Goal.ENERGY:
                        assert energy_of(found) * 1e3 >= measure_of(int(bound.rank[0])) - 2
    assert compared or seed


@pytest.mark.parametrize("seed", range(6))
def test_no_lap_is_longer_than_its_bound(seed: int, catalogue: Catalogue) -> None:
    rng = np.random.default_rng([37, seed])
    case = random_enquiry(rng)
    price_book, compared = workshop_of(case, catalogue, Goal.ENERGY), 0
    for axes, whole in options_of(case, catalogue, rng, 4):
        ends = (whole.gentlest, whole.quickest)
        least, most = (
            tuple(float(v[0]) for v in (s.acceleration, s.speed, s.bend_speed)) for s in ends
        )
        drawn = random_settings(axes.about, least, most, rng)
        if drawn is None or not len(drawn[1]):
            continue
        setting = drawn[0]
        for priced in some_builds(axes, whole, price_book, rng, 4):
            bound = LapBound(axes.about, priced.build.length, setting.settings)
            for on in placed_on(axes.about, priced.build):
                laps = LayoutContext(on, setting).lap_time
                runs = np.isfinite(laps)
                compared += int(runs.sum())
                assert (laps <= longest_lap(setting, bound) + 1e-9)[runs].all()
    assert compared or seed


def nothing_less(decision: Decision, found: Candidate, price_book: PriceBook) -> None:
    """What a search without boxes finds has no less than is claimed."""
    least = decision.least
    assert least is not None
    measure = measure_of(found.rank)
    assert measure >= least.bound
    if least.goal in STEP:
        floor = least.goal is Goal.FLOOR
        own = (floor_of(found) if floor else energy_of(found)) * STEP[least.goal]
        # Where a bend begins a corner swings out a little further than in the bend.
        assert own - 2.0 <= measure <= own * (1.005 if floor else 1.0) + 2.0
    if least.optimal:
        share = 0.0 if least.goal.discrete else GAP
        assert measure >= (1.0 - share) * least.value
        if least.goal.discrete and measure == least.value and decision.bound:
            assert found.price >= decision.bound


@pytest.mark.parametrize("goal", OTHERS)
@pytest.mark.parametrize("seed", range(SEARCHED))
def test_a_search_without_boxes_finds_nothing_less(
    seed: int, goal: Goal, catalogue: Catalogue, altered: Any
) -> None:
    rng = np.random.default_rng([41, seed])
    plain = tuple(bend for bend in catalogue.bend if not bend.transition)
    case, some = random_enquiry(rng), thin(altered(catalogue, bend=plain), altered, rng)
    decision = decide(case, some, goal=goal)
    price_book = workshop_of(case, some, goal)
    if decision.chosen is None:
        return
    assert decision.price == cents(decision.chosen.price) or goal is Goal.ENERGY
    for axes, whole in options_of(case, some, rng, 8):
        least, most = (
            tuple(float(v[0]) for v in (s.acceleration, s.speed, s.bend_speed))
            for s in (whole.gentlest, whole.quickest)
        )
        # A least energy asks for slow motion, a least floor for quick.
        slow = tuple(0.5 * end for end in most) if goal.discrete else least
        for priced in some_builds(axes, whole, price_book, rng, 6):
            drawn = random_settings(axes.about, slow, most, rng)
            for found in candidates(priced, drawn, price_book):
                nothing_less(decision, found, price_book)


def small_case(**more: Any) -> Case:
    return make_case(
        {
            "load": {
                "mass": "2 kg",
                "length": "100 mm",
                "width": "120 mm",
                "cg_height": "40 mm",
                "held": "clamped",
            },
            "rate": {"items": "20/min"},
            "loop": {"max_length": "4 m"},
            "station": [
                {"name": name, "dwell": "0.8 s", "settling": "100 ms"} for name in ("in", "out")
            ],
            **more,
        },
        "test",
    )


@pytest.fixture(scope="module")
def two(catalogue: Catalogue) -> Catalogue:
    """Two carriers on a plain bend."""
    kept = {"carrier": ("std-68", "std-92"), "bend": ("arc-280",)}
    tables = {
        kind: tuple(part for part in getattr(catalogue, kind) if part.id in ids)
        for kind, ids in kept.items()
    }
    return without_memory(catalogue, **tables)


class TestTheSmallest:
    def test_every_smaller_loop_fails(self, two: Catalogue) -> None:
        """Settings drawn on every build of every option; at this rate one that is smaller fails."""
        station = {"dwell": "0.8 s", "settling": "100 ms", "side": "front"}
        case = small_case(
            rate={"items": "48/min"},
            loop={"max_length": "5 m"},
            station=[{"name": "in", **station}, {"name": "out", **station, "after": "600 mm"}],
        )
        decision = decide(case, two, goal=Goal.FLOOR)
        assert decision.least is not None and decision.least.optimal
        rng = np.random.default_rng(5)
        price_book = workshop_of(case, two, Goal.FLOOR)
        smaller = 0
        for axes, whole in options_of(case, two, rng, 8):
            ends = (whole.gentlest, whole.quickest)
            least, most = (
                tuple(float(v[0]) for v in (s.acceleration, s.speed, s.bend_speed)) for s in ends
            )
            for priced in some_builds(axes, whole, price_book, rng, 10):
                drawn = random_settings(axes.about, least, most, rng)
                found = candidates(priced, drawn, price_book)
                smaller += priced.measure < decision.least.value
                assert all(measure_of(c.rank) >= decision.least.value for c in found)
        assert smaller

    def test_an_upright_loop_is_as_wide_as_it_is_deep(self, worked_case: Any) -> None:
        worked = worked_case("upright")
        found = choose(worked.case, worked.catalogue, [Goal.FLOOR])[0]
        assert found.chosen is not None and found.least is not None
        loop = found.chosen.loop
        assert loop.floor_depth is not None and loop.floor_depth < loop.floor_width
        area = loop.floor_depth * loop.floor_extent
        assert found.least.value == pytest.approx(area * 1e4, abs=1.0)


class TestTheSoonest:
    def test_a_dearer_supply_that_is_there_sooner(self, two: Catalogue) -> None:
        """All other parts are there after 8 weeks at most; one supply is quick and dear."""
        case = small_case()
        usual = decide(case, two)
        assert usual.chosen is not None
        bought = {group.supply for group in usual.chosen.configuration.electrics.groups}
        late = tuple(
            part.model_copy(update={"lead_time": 20.0 if part.id in bought else 3.0})
            for part in two.supply
        )
        slow = without_memory(two, supply=late)
        found = decide(case, slow, goal=Goal.DELIVERY)
        assert found.chosen is not None and found.least is not None and found.least.optimal
        used = {group.supply for group in found.chosen.configuration.electrics.groups}
        assert not used & bought
        assert found.least.value < 2000
        assert found.least.cheapest is not None
        assert found.chosen.price >= found.least.cheapest.price
        assert max(line.lead_time for line in found.chosen.parts) * 100 == found.least.value

    def test_sooner_sections_of_the_same_length(self, two: Catalogue) -> None:
        case = small_case()
        usual = decide(case, two)
        assert usual.chosen is not None
        used = dict(usual.chosen.configuration.straights)
        twins = []
        for part in two.straight:
            late = part.id in used
            twins.append(part.model_copy(update={"lead_time": 30.0}) if late else part)
            if late:
                dear = {"id": f"{part.id}-q", "price": part.price + Decimal(500), "lead_time": 4.0}
                twins.append(part.model_copy(update=dear))
        slow = without_memory(two, straight=tuple(twins))
        found = decide(case, slow, goal=Goal.DELIVERY)
        assert found.chosen is not None
        assert max(line.lead_time for line in found.chosen.parts) < 30.0
        cheap = decide(case, slow)
        assert cheap.chosen is not None
        assert max(line.lead_time for line in cheap.chosen.parts) == 30.0


class TestTheMostEconomical:
    def test_needs_no_more_than_the_cheapest(self, two: Catalogue) -> None:
        found = decide(small_case(), two, goal=Goal.ENERGY)
        assert found.chosen is not None and found.least is not None
        cheapest = found.least.cheapest
        assert cheapest is not None
        usual = decide(small_case(), two).chosen
        assert usual is not None and usual.loop.mean_power == cheapest.loop.mean_power
        assert found.chosen.loop.mean_power <= cheapest.loop.mean_power
        assert found.chosen.price >= cheapest.price
        assert found.least.bound <= found.least.value

    def test_keeps_within_the_budget(self, two: Catalogue) -> None:
        free = decide(small_case(), two, goal=Goal.ENERGY)
        assert free.chosen is not None and free.least is not None
        cheapest = free.least.cheapest
        assert cheapest is not None and cheapest.price < free.chosen.price
        budget = {"commercial": {"budget": f"{cheapest.price + 1} EUR"}}
        held = decide(small_case(**budget), two, goal=Goal.ENERGY)
        assert held.chosen is not None and held.least is not None
        assert held.chosen.price <= cheapest.price + 1
        assert held.least.value >= free.least.bound


def test_a_settled_candidate_has_the_measure_that_ranked_it(two: Catalogue) -> None:
    rng = np.random.default_rng(11)
    case = small_case()
    for goal in OTHERS:
        price_book, settled = workshop_of(case, two, goal), 0
        for axes, whole in options_of(case, two, rng, 2):
            most = whole.quickest
            ends = tuple(float(v[0]) for v in (most.acceleration, most.speed, most.bend_speed))
            drawn = random_settings(axes.about, tuple(0.6 * end for end in ends), ends, rng)
            for priced in some_builds(axes, whole, price_book, rng, 3):
                for found in candidates(priced, drawn, price_book)[:2]:
                    built = finish(found, price_book)
                    if built is not None:
                        settled += 1
                        if goal is not Goal.ENERGY:
                            assert measure_of(built.rank) == measure_of(found.rank)
        assert settled


def test_a_straight_is_as_late_as_the_later_of_section_and_lower_rail(
    catalogue: Catalogue, altered: Any
) -> None:
    """Sections come after 5 weeks; the rail of one after 3, that of the next after 9."""
    straights = tuple(part.model_copy(update={"lead_time": 5.0}) for part in catalogue.straight)
    weeks = {straights[0].id: 3.0, straights[1].id: 9.0}
    rails = tuple(
        rail.model_copy(update={"lead_time": weeks.get(rail.along, 5.0)})
        for rail in catalogue.lower_rail
    )
    late = altered(catalogue, straight=straights, lower_rail=rails)
    seen = set()
    for build in builds(late, 2.0, weeks_matter=True):
        with_rail = 9.0 if build.counts[1] else 5.0
        assert build.weeks == (5.0, with_rail)
        seen.add(with_rail)
    assert seen == {5.0, 9.0}
