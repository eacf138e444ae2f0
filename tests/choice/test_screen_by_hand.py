"""What stands at the beginning of every search, worked out again one number at a time.

Dimensions of a loaded carrier, the highest speeds of its drive, the entries of an axis that are
worth combining, and prices of builds that are looked at in order.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.carrier.where import Where
from recommender.choice.checks import BEND_CHECKS, SETTING_CHECKS, STRAIGHT_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision.nearest import _Looked, _spread
from recommender.choice.parts.braking import fleet_price, resistors_for
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import Goal, rank
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.bound import Bounded
from recommender.choice.search.candidates import passes_alone
from recommender.choice.search.grid import Grid
from recommender.choice.search.lap_bound import LapBound
from recommender.choice.search.price_bound import (
    BuildPrices,
    fewest_carriers,
    resistor_weeks,
)
from recommender.choice.search.screen import (
    Screened,
    _promising,
    acceleration_ceiling,
    fastest,
    screen,
    speed_ceiling,
)
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from tests.random_enquiries import random_enquiry

SEEDS = range(6)


def contexts(catalogue: Catalogue, seed: int) -> Iterator[OptionContext]:
    """One able option of each family for a random enquiry."""
    case = random_enquiry(np.random.default_rng([31, seed]))
    seen: set[str] = set()
    for option in list_options(case, catalogue):
        about = OptionContext(option, case, catalogue)
        if option.family.id not in seen and passes_alone(about):
            seen.add(option.family.id)
            yield about


def screened(catalogue: Catalogue, seed: int) -> list[Screened]:
    case = random_enquiry(np.random.default_rng([31, seed]))
    options = [about.option for about in contexts(catalogue, seed)]
    grid = Grid(accelerations=4, speeds=3, bend_speeds=4, ramp_times=1, search=8)
    return list(screen(options, case, catalogue, grid))


@pytest.mark.parametrize("seed", SEEDS)
def test_dimensions_of_a_loaded_carrier(seed: int, catalogue: Catalogue) -> None:
    for about in contexts(catalogue, seed):
        carrier, load, rules = about.option.carrier, about.case.load, about.rules
        items = about.option.items
        row = items * load.length + (items - 1) * rules.item_gap
        assert about.load_length == pytest.approx(row)
        assert about.carrier_length == pytest.approx(max(carrier.plate_length, row))
        assert about.spacing == pytest.approx(max(carrier.plate_length, row) + rules.carrier_gap)
        plate = -0.5 * carrier.plate_width, 0.5 * carrier.plate_width
        box = load.reach - 0.5 * load.width, load.reach + 0.5 * load.width
        assert about.inward == pytest.approx(min(plate[0], box[0]))
        assert about.outward == pytest.approx(max(plate[1], box[1]))
        longer = max(abs(load.offset + end * 0.5 * row) for end in (-1, 1))
        assert about.outlines[0].tolist() == pytest.approx([plate[1], box[1]])
        assert about.outlines[1].tolist() == pytest.approx([0.5 * carrier.plate_length, longer])
        standing = max(0.5 * carrier.plate_length, longer, 0.5 * about.option.base)
        assert about.bend_clearance == pytest.approx(standing)
        batch = [(s.positions - 1) * about.spacing for s in about.case.station]
        assert about.batch_length.tolist() == pytest.approx(batch)
        asked = [
            max(way, s.positions * about.spacing) if len(about.case.station) > 1 else 0.0
            for way, s in zip(about.stations_apart, about.case.station, strict=True)
        ]
        assert about.distances_asked.tolist() == pytest.approx(asked)
        least_mass = carrier.mass + items * load.mass + about.case.fixture_mass(items)
        assert about.mass == pytest.approx(least_mass)


@pytest.mark.parametrize("seed", SEEDS)
def test_carriers_stand_farther_apart_round_each_bend(seed: int, catalogue: Catalogue) -> None:
    """From where the longest body or the base begins to turn to where it is straight again."""
    for about in contexts(catalogue, seed):
        carrier, load, bend = about.option.carrier, about.case.load, about.option.bend
        longer = max(abs(load.offset + end * 0.5 * about.load_length) for end in (-1, 1))
        body = max(carrier.plate_length, 2.0 * longer, about.option.base)
        # A clothoid turns half as far as an arc of its length: two of them add one length.
        stretch = np.pi * bend.radius + bend.transition + body
        assert about.bend_length == pytest.approx(np.pi * bend.radius + bend.transition)
        for way in (0.3, 0.9 * stretch, 1.5 * stretch, 6.0 * stretch):
            for bends in (0, 1, 2):
                bent = min(bends * stretch, way)
                fit = (way - bent) / about.spacing + bent / about.bend_spacing
                assert about.places_along(np.array(way), bends) == pytest.approx(fit)
        round_it = about.places_along(np.array(2.0 * (1.3 + about.bend_length)), 2)
        assert about.places_on(1.3) == pytest.approx(float(round_it))


@pytest.mark.parametrize("seed", SEEDS)
def test_every_column_of_a_check_has_its_name(seed: int, catalogue: Catalogue) -> None:
    """Of rollers those of one case after the other, the lower ones only where there are any."""
    for entry in screened(catalogue, seed):
        context = entry.context
        for checks, table in ((STRAIGHT_CHECKS, context.straight), (BEND_CHECKS, context.bend)):
            for check in checks:
                outcome = check.evaluate(table.loads)
                if outcome is None:
                    continue
                ratios = np.broadcast_arrays(outcome.demand, outcome.limit)[0]
                assert len(outcome.labels) == ratios.shape[-1]
                if check.about.id in ("roller.static", "roller.working_load"):
                    wheres = [label for label in outcome.labels if isinstance(label, Where)]
                    cases = list(dict.fromkeys(where.load_case for where in wheres))
                    assert cases == list(table.loads.directions)
                    each = len(wheres) // len(cases)
                    rows = [wheres[k : k + each] for k in range(0, len(wheres), each)]
                    for case, row in zip(cases, rows, strict=True):
                        assert {where.load_case for where in row} == {case}
                        names = [replace(where, load_case=None) for where in row]
                        assert len(set(names)) == each
                        assert names == [replace(where, load_case=None) for where in rows[0]]


def test_who_gathers_before_which_station(catalogue: Catalogue) -> None:
    """Batches before their own station, the queue of the others before the busiest one."""
    queues = 0
    for seed in range(20):
        for about in contexts(catalogue, seed):
            exchange, takt = np.full(len(about.positions), 0.4), about.takt
            used = (about.occupied + 0.4) / (about.positions * takt)
            busiest = int(np.argmax(np.round(used, 9)))
            batches = [int(m) if m > 1 else 0 for m in about.positions]
            # 9 carriers whose lap is 4.2 takts: 4.2 are on their way, 4.8 and so 5 gather.
            for carriers, lap, queue in (
                (9.0, 4.2 * takt, 5),
                (3.0, 2.9 * takt, 1),
                (3.0, 4.0 * takt, 0),
                (np.inf, takt, 0),
                (3.0, np.inf, 0),
            ):
                expected = list(batches)
                expected[busiest] = max(expected[busiest], queue)
                assert about.waiting(exchange, carriers, lap) == tuple(expected)
                queues += queue > batches[busiest]
    assert queues > 10


@pytest.mark.parametrize("seed", SEEDS)
def test_the_highest_speed_is_where_the_drive_is_used_up(seed: int, catalogue: Catalogue) -> None:
    (peak,) = (check for check in SETTING_CHECKS if check.about.id == "drive.peak_straight")
    looked = 0
    for entry in screened(catalogue, seed):
        context, about = entry.context, entry.context.about
        ceiling = float(speed_ceiling(about.alone)[0, 0])
        top = fastest(context.straight, ceiling)
        carrier = about.option.carrier
        assert (top <= ceiling).all()
        for speeds, holds in ((top, True), (top * 1.001, False)):
            settings = context.settings.__class__(
                context.settings.acceleration, context.settings.jerk, speeds, speeds
            )
            at_top = SettingContext(about, settings, context.straight, context.bend)
            outcome = peak.evaluate(at_top)
            assert outcome is not None
            # Below the knee the force is all there; above, it falls to nothing at no-load speed.
            bound = (top < ceiling) & (top > carrier.knee_speed)
            used = outcome.utilisation()
            able = used[bound] <= HOLDS
            assert able.all() if holds else not able.any()
            looked += int(bound.sum())
    assert looked or seed


@pytest.mark.parametrize("seed", SEEDS)
def test_the_greatest_acceleration_is_that_of_the_force_or_of_the_house(
    seed: int, catalogue: Catalogue
) -> None:
    for about in contexts(catalogue, seed):
        rules, carrier = about.rules, about.option.carrier
        own = carrier.total_peak_force / (rules.drive_margin * about.mass)
        greatest = float(acceleration_ceiling(about.alone)[0, 0])
        limit = about.case.limits.acceleration or np.inf
        least = min(rules.least_acceleration, 0.5 * limit)
        assert greatest == pytest.approx(max(min(own, rules.most_acceleration), least))


def test_entries_worth_combining() -> None:
    """The first ones, as far as they hold, and the last that holds; the first ones if none does."""
    rng = np.random.default_rng(2)
    for _ in range(300):
        size, below = int(rng.integers(1, 12)), int(rng.integers(1, 12))
        used = rng.choice([0.5, 1.0, 1.0 + 1e-10, 1.0 + 1e-6, 2.0], size)
        holding = [k for k in range(size) if used[k] <= 1.0 + 1e-9]
        expected = [k for k in holding if k < below or k == holding[-1]]
        if not holding:
            expected = list(range(min(below, size)))
        assert _promising(used, below).tolist() == expected


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_screened_is_the_worst_of_each_row(seed: int, catalogue: Catalogue) -> None:
    for entry in screened(catalogue, seed):
        context = entry.context
        assert (context.settings.bend_speed <= context.settings.speed).all()
        ceiling = float(speed_ceiling(context.about.alone)[0, 0])
        assert (context.settings.speed <= ceiling).all()
        shares = [
            outcome.utilisation()
            for check in SETTING_CHECKS
            if (outcome := check.evaluate(context)) is not None
        ]
        beyond = np.sum([np.maximum(share - 1.0, 0.0) for share in shares], axis=0)
        assert (entry.used >= np.max(shares, axis=0) - 1e-12).all()
        assert (entry.excess >= beyond - 1e-12).all()
        assert entry.holding.tolist() == [k for k, u in enumerate(entry.used) if u <= HOLDS]
        assert ((entry.excess <= 1e-9 * len(shares)) == (entry.used <= HOLDS)).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_lap_needs_no_fewer_carriers_than_its_guide_at_full_speed(
    seed: int, catalogue: Catalogue
) -> None:
    case: Case = random_enquiry(np.random.default_rng([31, seed]))
    longest = case.loop.max_length or 9.0
    price_book, close = PriceBook(case, catalogue, min(longest, 9.0)), []
    for entry in screened(catalogue, seed):
        context, about = entry.context, entry.context.about
        quickest, prices = context.settings.quickest(), BuildPrices.of(about, price_book)
        limits = quickest.acceleration, quickest.speed, quickest.bend_speed
        rough = prices.rough_bound(*(float(limit[0]) for limit in limits))
        rows = np.flatnonzero(rough < NEVER)
        lengths = price_book.table().length[rows]
        lap = LapBound(about, lengths, quickest.take(np.zeros(len(rows), dtype=np.intp)))
        fewest = fewest_carriers(about, lengths, *(float(limit[0]) for limit in limits))
        needed = lap.carriers(lap.lap_time)
        assert (needed >= fewest).all()
        close += (fewest / needed)[np.isfinite(needed)].tolist()
    # It is of use only if it is near.
    assert not close or np.median(close) > 0.6


def least_time(way: float, acceleration: float, speed: float) -> float:
    """From rest over some way, in steps of time, s."""
    step = 1e-5
    clock = np.arange(0.0, 4.0 * np.sqrt(way / acceleration) + 4.0 * way / speed, step)
    covered = np.cumsum(np.minimum(acceleration * (clock + 0.5 * step), speed)) * step
    return float(step * (np.searchsorted(covered, way) + 1))


@pytest.mark.parametrize("seed", SEEDS)
def test_fewest_carriers_are_those_of_a_lap_that_nothing_hinders(
    seed: int, catalogue: Catalogue
) -> None:
    """Guide at the highest speeds, dwells, and stops from rest and to rest where there is room."""
    rng, told = np.random.default_rng([47, seed]), 0
    for about in contexts(catalogue, seed):
        base = about.option.base
        room = min(0.5 * about.spacing, about.bend_clearance - 0.5 * base)
        batches = sum(station.positions - 1 for station in about.case.station)
        for length in rng.uniform(base + 2.0 * room, 4.0, 6).tolist():
            acceleration, speed, bend_speed = rng.uniform((1.0, 0.5, 0.3), (20.0, 3.0, 2.0))
            stop = 2.0 * (least_time(room, acceleration, speed) - room / speed)
            lap = 2.0 * (length - base) / speed + 2.0 * (about.bend_length + base) / bend_speed
            lap += sum(s.occupied_with(about.option.items) + stop for s in about.case.station)
            needed = lap / about.takt + batches
            found = fewest_carriers(about, np.array([length]), acceleration, speed, bend_speed)
            slack = 1e-4 * (1 + len(about.case.station)) / about.takt
            assert np.ceil(needed - slack) <= found[0] <= np.ceil(needed + slack)
            told += int(np.ceil(needed - slack) == np.ceil(needed + slack))
    assert told


def test_a_loop_as_long_as_it_may_be_is_looked_at(catalogue: Catalogue) -> None:
    """Longest guide, longest floor and the distances of the stations, each met to the last bit."""
    base = random_enquiry(np.random.default_rng([31, 2]))
    about = next(contexts(catalogue, 2))
    price_book = PriceBook(base, catalogue, 9.0)
    lengths = price_book.table().length
    length = float(lengths[len(lengths) // 2])
    whole = 2.0 * (length + about.bend_length)

    def able(longest: float, extent: float, asked: float) -> bool:
        loop = base.loop.model_copy(update={"max_extent": extent})
        case = base.model_copy(update={"loop": loop})
        own = OptionContext(about.option, case, catalogue)
        own.__dict__["distances_asked"] = np.array([asked])
        limits = replace(price_book, longest=longest)
        rough = BuildPrices.of(own, limits).rough_bound(9.0, 2.0, 2.0)
        # A table of builds holds all that are no longer than half of the longest loop.
        return bool(rough[limits.table().length == length].min() < NEVER)

    floor = length + 2.0 * about.floor_beyond
    ends = whole, floor, whole
    for k, sign in enumerate((-1.0, -1.0, 1.0)):
        for off, expected in ((0.0, True), (5e-10, True), (1e-6, False)):
            moved = [end + sign * off * (j == k) for j, end in enumerate(ends)]
            assert able(*moved) == expected


@pytest.mark.parametrize("coarse", [False, True])
def test_what_is_nearest_is_looked_for_up_to_what_can_be_done(
    coarse: bool, catalogue: Catalogue
) -> None:
    """Quarters of the top speed or halves, points of the search and six from its end beyond it."""
    for entry in screened(catalogue, 3):
        context, about = entry.context, entry.context.about
        top = about.option.carrier.top_speed
        spread = _spread(entry, coarse=coarse).settings
        strongest = float(acceleration_ceiling(about.alone)[0, 0])
        straight = context.straight.loads.acceleration[context.straight.option_row].tolist()
        bends = context.bend.loads.speed[context.bend.option_row].tolist()
        step, shares = (4, (0.5, 1.0)) if coarse else (2, (0.25, 0.5, 0.75, 1.0))
        axes = []
        for points, most in ((straight, strongest), (bends, top)):
            last = points[-1]
            wide = [last * max(most / last, 1.0) ** (k / 5.0) for k in range(6)]
            axes.append({round(value, 9) for value in [*points[::step], *wide]})
        expected = {
            (a, round(share * top, 9), b)
            for a in axes[0]
            for share in shares
            for b in axes[1]
            if b <= share * top + 1e-9
        }
        rows = zip(spread.acceleration, spread.speed, spread.bend_speed, strict=True)
        found = {tuple(round(float(value), 9) for value in row) for row in rows}
        searched = context.settings
        rows = zip(searched.acceleration, searched.speed, searched.bend_speed, strict=True)
        known = {tuple(round(float(value), 9) for value in row) for row in rows}
        assert expected <= found
        assert found - expected <= known


def test_one_carrier_more_costs_what_a_carrier_does(catalogue: Catalogue) -> None:
    """What ranks a box rises by the same; what is out of reach of a budget ranks no more."""
    for about in contexts(catalogue, 1):
        case, numbers = about.case, np.array([2, 3, 7])
        base = fleet_price(about.option, case, catalogue, 1.2, numbers) + 500_000
        more = fleet_price(about.option, case, catalogue, 1.2, numbers + 1) + 500_000
        assert (more > base).all()
        for goal, measure in ((Goal.PRICE, 0), (Goal.FLOOR, 25_000)):
            price_book = PriceBook(case, catalogue, 9.0, goal)
            priced: Any = SimpleNamespace(build=SimpleNamespace(length=1.2))
            boxes: Any = SimpleNamespace(axes=SimpleNamespace(about=about))
            ranks = rank(np.full(3, measure), base)
            found = Bounded(priced, boxes, numbers, base, ranks).with_one_more(price_book)
            assert found.carriers.tolist() == [3, 4, 8]
            assert found.price.tolist() == more.tolist()
            assert found.rank.tolist() == rank(np.full(3, measure), more).tolist()


def test_resistors_are_waited_for_where_some_are_bought(
    catalogue: Catalogue, altered: Callable[..., Catalogue]
) -> None:
    """The soonest of those in the catalogue, in hundredths of a week; without any none is."""
    times = [6.5, 3.25, 9.0]
    kinds = tuple(
        part.model_copy(update={"lead_time": time})
        for part, time in zip(catalogue.brake_resistor, times, strict=True)
    )
    waited = 0
    for kept, expected in ((kinds, 325), (kinds[2:], 900), ((), 0)):
        some = altered(catalogue, brake_resistor=kept)
        for about in contexts(some, 4):
            price_book = PriceBook(about.case, some, 9.0, Goal.DELIVERY)
            build, carriers = price_book.builds()[-1], np.array([1, 4, 40, 400])
            bought = resistors_for(about.option, about.case, some, build.length, carriers)[1] > 0
            weeks = resistor_weeks(about, price_book, build, carriers)
            assert weeks.tolist() == np.where(bought, expected, 0).tolist()
            waited += int((weeks > 0).sum())
    assert waited


def test_the_nearest_row_is_the_least_in_the_order_of_its_measures() -> None:
    class Layout:
        def __init__(self, rng: Any, rows: int) -> None:
            self.carriers = rng.integers(1, 5, rows).astype(float)
            self.sections = int(rng.integers(4, 9))

    rng = np.random.default_rng(6)
    for _ in range(200):
        rows, columns = int(rng.integers(1, 9)), int(rng.integers(2, 6))
        looked = _Looked.__new__(_Looked)
        looked.layout = Layout(rng, rows)  # type: ignore[assignment]
        looked.of_setting = int(rng.integers(1, columns))
        looked.table = rng.choice([0.3, 1.0, 1.0 + 1e-10, 1.02, 1.04, 1.3, 4.0], (rows, columns))
        for hopeless in (False, True):
            keys = []
            for row, used in enumerate(looked.table):
                size = looked.layout.carriers[row] + looked.layout.sections
                over = [max(u - 1.0, 0.0) for u in used]
                fails = [u > 1.0 + 1e-9 for u in used]
                if hopeless:
                    keys.append((np.floor(sum(min(e, 1.0) for e in over)), size, sum(over)))
                else:
                    motion = sum(fails[: looked.of_setting])
                    near = np.floor(sum(over) / 0.05)
                    keys.append((sum(fails), motion, near, size, sum(over)))
            key, row = looked.nearest(hopeless=hopeless)
            assert key == pytest.approx(tuple(float(part) for part in keys[row]))
            assert all(keys[row] <= other or key == pytest.approx(other) for other in keys)
