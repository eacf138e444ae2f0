"""Loops divided among supplies, against plain enumeration of all divisions of small rings."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, combinations_with_replacement, product

import numpy as np

from recommender.choice.supplies.data import FeedData, SupplyData
from recommender.inputs.catalogue import Catalogue
from recommender.lines.shared import Terms, supplies_price
from recommender.lines.supplies import Division, Ring, divide
from tests.conftest import shipped_catalogue, without_memory
from tests.lines.small_lines import money

RINGS = 60


def random_ring(rng: np.random.Generator) -> Ring:
    """Runs draw what their sections draw and something at their ends; all of it a little less."""
    size = int(rng.integers(2, 6))
    takes = tuple(bool(x) for x in rng.integers(0, 4, size=size) > 0)
    takes = takes if any(takes) else (True, *takes[1:])
    tables = []
    for most in (40, 150):
        each = rng.integers(10, most, size=size)
        ends = int(rng.integers(0, most // 4))
        table = np.zeros((size, size), dtype=np.int64)
        for first, count in product(range(size), range(1, size + 1)):
            drawn = sum(int(each[(first + k) % size]) for k in range(count))
            table[first, count - 1] = drawn + (ends if count < size else 0)
        tables.append(table)
    return Ring(takes, *tables)


def random_instance(seed: int) -> tuple[list[Ring], Terms, Catalogue]:
    rng = np.random.default_rng(seed)
    rings = [random_ring(rng) for _ in range(int(rng.integers(1, 4)))]
    whole = shipped_catalogue()
    draw = rng.integers
    supplies = tuple(
        SupplyData(
            int(draw(60, 260)), int(draw(200, 900)), int(draw(3, 12)), int(draw(1, 40)) * 100
        )
        for _ in range(int(draw(1, 3)))
    )
    catalogue = without_memory(
        whole,
        feed=(
            whole.feed[0].model_copy(
                update={"max_sections": int(draw(1, 5)), "price": money(float(draw(1, 5)))}
            ),
        ),
        order_line=(),
        engineering=(),
    )
    terms = Terms(
        once=0,
        kinds={},
        supplies=supplies,
        supply_spares=tuple(int(x) * 100 for x in draw(0, 9, size=len(supplies))),
        controllers=(),
        most_supplies=int(draw(1, 3)),
        cabinet=int(draw(0, 3)) * 500,
        feed=0,
    )
    return rings, terms, catalogue


def divisions(ring: Ring, most: int) -> Iterator[list[tuple[int, int]]]:
    """Every way to cut a ring into runs."""
    yield [(0, ring.size)]
    for number in range(2, min(most, ring.size) + 1):
        for cuts in combinations(range(ring.size), number):
            ends = [*cuts[1:], cuts[0] + ring.size]
            yield [(first, end - first) for first, end in zip(cuts, ends, strict=True)]


def fewest_feeds(ring: Ring, runs: list[tuple[int, int]], feed: FeedData) -> int | None:
    places = [k for k, takes in enumerate(ring.takes_feed) if takes]
    for number in range(len(runs), len(places) + 1):
        for put in combinations(places, number):
            fed = all(any((first + k) % ring.size in put for k in range(n)) for first, n in runs)
            reach = min(feed.max_sections, ring.size)
            if fed and all(
                any((first + k) % ring.size in put for k in range(reach))
                for first in range(ring.size)
            ):
                return number
    return None


def served(rings: list[Ring], runs: list[list[tuple[int, int]]], parts: list[SupplyData]) -> bool:
    """Whether some way to hand the runs to supplies gives each no more than it may."""
    flat = [(loop, *run) for loop, entries in enumerate(runs) for run in entries]
    for places in product(range(len(parts)), repeat=len(flat)):
        if len(set(places)) < len(parts):
            continue
        mine = [[flat[k] for k, p in enumerate(places) if p == n] for n in range(len(parts))]
        if all(
            len({loop for loop, _, _ in group}) == len(group)
            and sum(rings[x].mean[f, n - 1] for x, f, n in group) <= part.mean_power
            and sum(rings[x].peak[f, n - 1] for x, f, n in group) <= part.peak_power
            and sum(n for _, _, n in group) <= part.max_sections
            for group, part in zip(mine, parts, strict=True)
        ):
            return True
    return False


def enumerated(rings: list[Ring], terms: Terms, feed: FeedData) -> int | None:
    best: int | None = None
    ways = [list(divisions(ring, terms.most_supplies)) for ring in rings]
    for number in range(1, terms.most_supplies * len(rings) + 1):
        for kinds in combinations_with_replacement(range(len(terms.supplies)), number):
            price = supplies_price(terms, [kinds.count(k) for k in range(len(terms.supplies))])
            for runs in product(*ways):
                if sum(map(len, runs)) < number or (best is not None and price >= best):
                    continue
                counts = [fewest_feeds(r, cut, feed) for r, cut in zip(rings, runs, strict=True)]
                if any(count is None for count in counts):
                    continue
                whole = price + sum(count or 0 for count in counts) * feed.price
                if best is not None and whole >= best:
                    continue
                if served(rings, list(runs), [terms.supplies[k] for k in kinds]):
                    best = whole
    return best


def of_rings(rings: list[Ring], terms: Terms, found: Division) -> None:
    """A division serves everything once, and no supply gives more than it may."""
    for loop, ring in enumerate(rings):
        runs = [run for run in found.runs if run.loop == loop]
        over = sorted((run.first + k) % ring.size for run in runs for k in range(run.count))
        assert over == list(range(ring.size))
        assert len({run.supply for run in runs}) == len(runs) <= terms.most_supplies
    for number, kind in enumerate(found.kinds):
        part, mine = terms.supplies[kind], [run for run in found.runs if run.supply == number]
        assert mine
        tables = [(rings[run.loop], run.first, run.count - 1) for run in mine]
        assert sum(r.mean[f, n] for r, f, n in tables) <= part.mean_power
        assert sum(r.peak[f, n] for r, f, n in tables) <= part.peak_power
        assert sum(run.count for run in mine) <= part.max_sections


def test_as_cheap_as_the_cheapest_of_all_divisions() -> None:
    divided = joint = works = 0
    for seed in range(RINGS):
        rings, terms, catalogue = random_instance(seed)
        if sum(ring.size for ring in rings) > 10:
            continue
        feed = FeedData(catalogue.feed[0].max_sections, int(catalogue.feed[0].price * 100))
        found = divide(rings, terms, catalogue)
        assert (found.price if found else None) == enumerated(rings, terms, feed), seed
        if found is None:
            continue
        works += 1
        of_rings(rings, terms, found)
        divided += len(found.runs) > len(rings)
        joint += len(found.kinds) < len(found.runs)
    assert works >= 15 and divided >= 4 and joint >= 6


def test_the_same_with_any_seed_and_workers() -> None:
    for seed in range(12):
        rings, terms, catalogue = random_instance(seed)
        found = divide(rings, terms, catalogue)
        assert found == divide(rings, terms, catalogue, workers=2, seed=5)


def test_nothing_at_or_above_a_price_is_of_interest() -> None:
    works = 0
    for seed in range(12):
        rings, terms, catalogue = random_instance(seed)
        found = divide(rings, terms, catalogue)
        if found is None:
            continue
        works += 1
        assert divide(rings, terms, catalogue, at_most=found.price) is None
        assert divide(rings, terms, catalogue, at_most=found.price + 1) == found
        dearer = replace(terms, cabinet=terms.cabinet + 700)
        again = divide(rings, dearer, catalogue)
        assert again is not None and again.price >= found.price + 700
    assert works >= 6
