"""Prices against plain sums, and what is kept to choose from against everything there is."""

import math
from dataclasses import replace
from decimal import Decimal
from itertools import combinations_with_replacement, product
from typing import Any

import numpy as np
import pytest

from recommender.choice.decision.decide import decide
from recommender.choice.decision.option_report import configure
from recommender.choice.loop.layout import placed_on
from recommender.choice.parts.bill import bill_of_materials, price_by_item, total_price
from recommender.choice.parts.braking import fleet_price
from recommender.choice.parts.builds import builds
from recommender.choice.parts.electrical import (
    NEVER,
    ElectricalCatalogue,
    cheapest_controller,
    cheapest_feeds,
)
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import carrier_price, cents, fixed_price, metre_price, offered
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import screen
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import shipped

GRID = Grid(accelerations=2, speeds=2, bend_speeds=2, ramp_times=2)


def priced(catalogue: Catalogue, rng: np.random.Generator, **pieces: Any) -> Catalogue:
    """The catalogue with random parts of some kinds instead of its own."""
    changes = {}
    for table, entries in pieces.items():
        model = getattr(catalogue, table)[0]
        changes[table] = tuple(
            model.model_copy(
                update={
                    "id": f"{table}-{k}",
                    "price": Decimal(int(rng.integers(5_000, 900_000))) / 100,
                    **entry,
                }
            )
            for k, entry in enumerate(entries)
        )
    return altered(catalogue, **changes)


def altered(catalogue: Catalogue, **tables: Any) -> Catalogue:
    """The catalogue with other tables, and nothing remembered of the old ones."""
    return Catalogue.model_construct(**{**dict(catalogue), **tables})


def test_cents_are_exact() -> None:
    for text in ("0.00", "0.01", "1240.10", "9999999.99"):
        assert cents(Decimal(text)) == int(text.replace(".", ""))


@pytest.mark.parametrize("name", ["crate", "cantilever", "assembly", "two-up"])
def test_parts_of_any_configuration_cost_what_the_search_adds_up(
    name: str, catalogue: Catalogue
) -> None:
    rng = np.random.default_rng(len(name))
    case = read_case(shipped("cases") / f"{name}.toml")
    case = leaving_out(case, *rng.choice(items(catalogue), rng.integers(0, 4), replace=False))
    price_book = PriceBook(case, catalogue, catalogue.rules.longest_loop)
    entries = list(screen(list_options(case, catalogue), case, catalogue, GRID))
    sides, compared = price_book.builds(), 0
    for _ in range(60):
        entry = entries[rng.integers(len(entries))]
        side = sides[rng.integers(len(sides))]
        option = entry.context.about.option
        placed = placed_on(entry.context.about, side)
        sections = side.pieces + 2 * option.bend.sections
        if not placed or sections > price_book.electrical.most_sections:
            continue
        electrics, carriers = price_book.electrical.choice(sections), int(rng.integers(1, 80))
        powers = int(rng.integers(0, 4_000_000)), int(rng.integers(0, 12_000_000))
        row = entry.context.take(np.array([0]))
        idle = round(1e3 * sections * catalogue.catalogue.section_idle_power)
        demand = (np.array([power + idle]) for power in powers)
        index = int(electrics.cheapest(*demand)[0])
        control = int(price_book.electrical.controller_price(sections, carriers))
        if index < 0 or control >= NEVER:
            continue
        built = configure(placed[0], row, carriers, price_book, powers)
        parts = bill_of_materials(built, case, catalogue)
        left = price_book.catalogue
        assert cents(total_price(parts)) == (
            fixed_price(option, case, left)
            + int(metre_price(option, side.length, left))
            + side.price[option.family.lower_guide]
            + int(fleet_price(option, case, left, side.length, carriers))
            + electrics.price[index]
            + control
        )
        assert total_price(parts) == plain_price(built, case, catalogue)
        assert sum(price_by_item(parts).values()) == total_price(parts)
        assert built.sections == sections
        compared += 1
    assert compared >= 20


def plain_price(built: Any, case: Any, catalogue: Catalogue) -> Decimal:
    """Every part of a configuration, counted out one by one."""
    option, electrics = built.option, built.electrics
    guide = [option.bend.id] * 2
    for id_, count in built.straights:
        guide += [id_] * count
    known: dict[str, Any] = {
        part.id: part
        for table in ("bend", "straight", "supply", "feed", "controller")
        for part in getattr(catalogue, table)
    }
    bought = [option.carrier] * built.carriers + [known[id_] for id_ in guide]
    if option.family.lower_guide:
        bought += [catalogue.lower_rails[id_] for id_ in guide]
    for id_, count in (*electrics.supplies, *electrics.feeds, (electrics.controller, 1)):
        bought += [known[id_]] * count
    sections = sum(getattr(known[id_], "sections", 1) for id_ in guide)
    resistors = {part.id: part for part in catalogue.brake_resistor}
    for id_, count in built.resistors:
        bought += [resistors[id_]] * count
    number = {
        "order": 1,
        "loop": 1,
        "cabinet": 1,
        "kind of carrier": 1,
        "metre": math.ceil(built.loop.length),
        "station": len(case.station),
        "carrier": built.carriers,
        "section": sections,
        "supply": sum(count for _, count in electrics.supplies),
        "feed": sum(count for _, count in electrics.feeds),
    }
    for line in (*catalogue.engineering, *catalogue.order_line):
        if line.item in case.commercial.without or line.roller not in (None, option.roller.id):
            continue
        pieces = line.pieces * number[line.per]
        bought += [line] * pieces + [option.carrier] * (pieces if line.of else 0)
    return sum((part.price for part in bought), Decimal(0))


def items(catalogue: Catalogue) -> list[str]:
    """What an order may be without."""
    return sorted({line.item for line in catalogue.lines} | {"brake resistors"})


def leaving_out(case: Case, *without: str) -> Case:
    commercial = case.commercial.model_copy(update={"without": tuple(map(str, without))})
    return case.model_copy(update={"commercial": commercial})


def test_every_line_can_be_left_out_and_saves_its_price(
    catalogue: Catalogue, worked_case: Any
) -> None:
    """A configuration without one group costs less by just that group, and is searched for so."""
    worked = worked_case("crate")
    chosen = worked.decision.chosen
    for item in items(catalogue):
        case = leaving_out(worked.case, item)
        built = chosen.configuration
        if item == "brake resistors":
            built = replace(built, resistors=())
        whole = price_by_item(chosen.parts)
        assert whole.pop(item) > 0
        assert price_by_item(bill_of_materials(built, case, catalogue)) == whole


def test_leaving_out_is_priced_alike_by_search_model_and_bill(
    catalogue: Catalogue, worked_case: Any
) -> None:
    worked = worked_case("crate")
    group = ("covers", "frame", "spares", "cabinet", "cabling", "brake resistors")
    case = leaving_out(worked.case, *group)
    decision = decide(case, catalogue)
    assert decision.optimal and decision.bound == decision.price
    saved = price_by_item(worked.decision.chosen.parts)
    assert decision.price == worked.decision.price - cents(sum(saved[item] for item in group))
    assert not set(group) & set(price_by_item(decision.chosen.parts))
    assert cents(decision.chosen.price) == decision.price


def test_new_line_is_data_alone(catalogue: Catalogue, worked_case: Any) -> None:
    """A line for each thing that can be counted, in a random catalogue: the choice still adds up,
    and its bill has what a count by hand gives."""
    worked = worked_case("crate")
    per = ("order", "loop", "metre", "section", "station", "carrier", "supply", "feed")
    model = catalogue.order_line[0]
    lines = tuple(
        model.model_copy(
            update={
                "id": f"line-{k}",
                "item": f"item {k}",
                "per": what,
                "pieces": 1 + k % 3,
                "price": Decimal(10_000 + 137 * k) / 100,
            }
        )
        for k, what in enumerate((*per, "kind of carrier"))
    )
    drawn = altered(catalogue, order_line=lines)
    decision = decide(worked.case, drawn)
    built = decision.chosen.configuration
    assert decision.optimal
    assert decision.price == cents(plain_price(built, worked.case, drawn))
    counted = {part.id: part.quantity for part in decision.chosen.parts}
    numbers = (
        1,
        1,
        math.ceil(built.loop.length),
        built.sections,
        len(worked.case.station),
        built.carriers,
        len(built.electrics.groups),
        len(built.electrics.feed_sections),
        1,
    )
    assert [counted[f"line-{k}"] for k in range(9)] == [
        (1 + k % 3) * number for k, number in enumerate(numbers)
    ]


def test_metres_are_begun_ones(catalogue: Catalogue) -> None:
    """By hand: two straights of 1 m and two arcs of 0.28 m radius, 2 + 2·π·0.28 = 3.76 m."""
    option = list_options(read_case(shipped("cases") / "crate.toml"), catalogue)[0]
    assert option.bend.id == "arc-280"
    per_metre = Decimal("36.00") + Decimal("310.00") + Decimal("165.00") + Decimal("42.00")
    assert int(metre_price(option, 1.0, catalogue)) == 4 * cents(per_metre)
    bend = math.pi * 0.28
    assert int(metre_price(option, 2.0 - bend, catalogue)) == 4 * cents(per_metre)
    assert int(metre_price(option, 2.001 - bend, catalogue)) == 5 * cents(per_metre)


def test_nothing_is_left_out_unasked(catalogue: Catalogue) -> None:
    case = read_case(shipped("cases") / "crate.toml")
    assert offered(catalogue, case) is catalogue
    without = leaving_out(case, "covers")
    assert len(offered(catalogue, without).lines) == len(catalogue.lines) - 1
    # What is left out once is not there to be left out again.
    once = offered(catalogue, without)
    assert offered(once, without) is once


@pytest.mark.parametrize("seed", range(12))
def test_sides_kept_are_complete_and_undominated(seed: int, catalogue: Catalogue) -> None:
    rng = np.random.default_rng(seed)
    lengths = rng.choice(np.arange(2, 12), size=rng.integers(1, 4), replace=False) / 10
    drawn = priced(catalogue, rng, straight=[{"length": float(x)} for x in lengths])
    rails = [
        catalogue.lower_rail[0].model_copy(
            update={"id": f"rail-{k}", "along": part.id, "price": Decimal(int(rng.integers(900)))}
        )
        for k, part in enumerate(drawn.straight)
    ]
    drawn = altered(drawn, lower_rail=(*rails, *catalogue.lower_rail))
    longest = 2.4
    kept = builds(drawn, longest)
    per_section = sum(line.pieces * line.price for line in drawn.lines if line.per == "section")
    reference = {}
    ways = product(*(range(round(longest / x, 9).__floor__() + 1) for x in lengths))
    for front, back in product(list(ways), repeat=2):
        counts = front, back
        length = round(float(np.dot(front, lengths)), 6)
        if 0 < length <= longest and abs(length - np.dot(back, lengths)) < 1e-6:
            plain = [part.price + per_section for part in drawn.straight]
            railed = [p + rail.price for p, rail in zip(plain, rails, strict=True)]
            reference[counts] = (
                length,
                sum(front) + sum(back),
                *(
                    cents(sum(n * p for side in counts for n, p in zip(side, price, strict=True)))
                    for price in (plain, railed)
                ),
            )
    for side in kept:
        length, *numbers = reference[side.front, side.back]
        assert side.length == pytest.approx(length)
        assert [side.pieces, *side.price] == numbers
    for length, *numbers in reference.values():
        rivals = [side for side in kept if side.length == pytest.approx(length)]
        assert any(
            all(a <= b for a, b in zip((side.pieces, *side.price), numbers, strict=True))
            for side in rivals
        )
    for one, other in product(kept, kept):
        if one is not other and one.length == pytest.approx(other.length):
            pairs = zip((one.pieces, *one.price), (other.pieces, *other.price), strict=True)
            assert not all(a <= b for a, b in pairs)


@pytest.mark.parametrize("seed", range(12))
def test_supplies_are_the_cheapest_that_cover(seed: int, catalogue: Catalogue) -> None:
    rng = np.random.default_rng(seed)
    drawn = priced(
        catalogue,
        rng,
        supply=[
            {
                "mean_power": float(rng.integers(200, 3000)),
                "peak_power": float(rng.integers(600, 9000)),
                "max_sections": int(rng.integers(4, 30)),
            }
            for _ in range(rng.integers(1, 5))
        ],
        feed=[{"max_sections": int(rng.integers(2, 9))} for _ in range(rng.integers(1, 4))],
    )
    most = drawn.rules.most_supplies
    for sections in rng.integers(4, 60, size=4).tolist():
        choice = ElectricalCatalogue(drawn).choice(sections)
        demands = rng.integers([1, 1], [9_000_000, 27_000_000], size=(40, 2))
        found = choice.cheapest(demands[:, 0], demands[:, 1]) if len(choice.price) else None
        for k, (mean, peak) in enumerate(demands.tolist()):
            prices = [
                sum(cents(part.price) + each(drawn, "supply") for part in parts)
                + feeds_price(drawn, sections, size)
                for size in range(1, most + 1)
                for parts in combinations_with_replacement(drawn.supply, size)
                if sum(part.max_sections for part in parts) >= sections
                and sum(part.mean_power for part in parts) * 1e3 >= mean
                and sum(part.peak_power for part in parts) * 1e3 >= peak
            ]
            index = -1 if found is None else int(found[k])
            assert (index >= 0) == bool(prices)
            if prices:
                assert choice.price[index] == min(prices)
                counts = choice.counts[index]
                assert counts.sum() <= most
                assert np.dot(counts, [p.max_sections for p in drawn.supply]) >= sections
                assert np.dot(counts, [p.mean_power for p in drawn.supply]) * 1e3 >= mean
                assert np.dot(counts, [p.peak_power for p in drawn.supply]) * 1e3 >= peak
                id_, feeds = choice.feeds[index]
                feed = next(part for part in drawn.feed if part.id == id_)
                assert feeds >= counts.sum() and feeds * feed.max_sections >= sections


def feeds_price(catalogue: Catalogue, sections: int, supplies: int) -> int:
    """By counting up: the least number of each kind that reaches all and feeds every supply."""
    prices = []
    for feed in catalogue.feed:
        count = 1
        while count < supplies or count * feed.max_sections < sections:
            count += 1
        prices.append(count * (cents(feed.price) + each(catalogue, "feed")))
    return min(prices)


def each(catalogue: Catalogue, per: str) -> int:
    """What the order's lines add to each supply or feed."""
    return cents(sum((x.pieces * x.price for x in catalogue.lines if x.per == per), Decimal(0)))


def test_feeds_are_counted_by_supplies_and_by_sections(catalogue: Catalogue) -> None:
    feed = catalogue.feed[0]
    for sections in range(1, 40):
        for supplies in range(1, 7):
            price, (id_, count) = cheapest_feeds(catalogue, sections, supplies)
            assert (price, id_) == (feeds_price(catalogue, sections, supplies), feed.id)
            assert count * (cents(feed.price) + each(catalogue, "feed")) == price


@pytest.mark.parametrize("seed", range(12))
def test_controller_is_the_cheapest_that_commands(seed: int, catalogue: Catalogue) -> None:
    rng = np.random.default_rng(seed)
    drawn = priced(
        catalogue,
        rng,
        controller=[
            {"max_carriers": int(rng.integers(2, 40)), "max_sections": int(rng.integers(6, 60))}
            for _ in range(rng.integers(1, 6))
        ],
    )
    carriers, electrical = np.arange(1, 45), ElectricalCatalogue(drawn)
    for sections in rng.integers(4, 64, size=6).tolist():
        prices = electrical.controller_price(sections, carriers)
        for number, price in zip(carriers.tolist(), prices.tolist(), strict=True):
            able = [
                cents(part.price)
                for part in drawn.controller
                if part.max_carriers >= number and part.max_sections >= sections
            ]
            assert price == (min(able) if able else NEVER)
            part = cheapest_controller(drawn, sections, number)
            assert (cents(part.price) if part else NEVER) == price


def test_an_option_costs_its_own_bends_rails_and_carriers(catalogue: Catalogue) -> None:
    """By hand: two bends of three sections with a lower rail, an order and two stations; cabinet,
    software, spares, packing, two days of start-up and half a day at each station, travel and
    training."""
    case = read_case(shipped("cases") / "crate.toml")
    option = next(o for o in list_options(case, catalogue) if o.id == "bs-180_arc-280_x1")
    bend = Decimal("4150.00") + Decimal("560.00") + 3 * Decimal("80.00")
    fixed = 2 * bend + Decimal("7200.00") + 2 * (Decimal("640.00") + Decimal("540.00"))
    fixed += Decimal("1480.00") + Decimal("1450.00") + Decimal("2290.00") + Decimal("240.00")
    fixed += Decimal("380.00") + 2 * Decimal("1080.00") + Decimal("690.00") + Decimal("980.00")
    assert fixed_price(option, case, catalogue) == cents(fixed)
    assert carrier_price(option, catalogue) == cents(Decimal("2290.00") + Decimal("45.00"))
