"""The choice of a line against plain enumeration and against integer programming by HiGHS.

scipy brings HiGHS (Huangfu and Hall, Parallelizing the dual revised simplex method, Mathematical
Programming Computation 10, 2018); it gets rows written here, not the model's.
"""

from itertools import product

import numpy as np
import pytest

from recommender.lines.candidates import (
    MOST_CONTEXTS,
    LeastWith,
    Vectors,
    dominates,
    rests,
    undominated,
)
from recommender.lines.choose import choose
from recommender.lines.shared import (
    Asks,
    Terms,
    agrees,
    controller_for,
    line_price,
    stands,
    suffices,
)
from tests.lines.random_terms import (
    enumerated,
    priced,
    programmed,
    random_asks,
    random_line,
    supply_counts,
)

LINES = 240

Line = tuple[Terms, list[tuple[Asks, ...]]]


@pytest.fixture(scope="module")
def lines() -> list[tuple[Terms, list[tuple[Asks, ...]], int | None]]:
    found = (random_line(seed) for seed in range(LINES))
    return [(terms, loops, enumerated(terms, loops)) for terms, loops in found]


def test_the_draw_is_wide(lines: list[tuple[Terms, list[tuple[Asks, ...]], int | None]]) -> None:
    """Lines of one, two and three loops; many that work, and many that do not."""
    works = [len(loops) for _, loops, price in lines if price is not None]
    assert all(works.count(loops) >= 20 for loops in (1, 2, 3))
    assert LINES - len(works) >= 40


def test_price_by_enumeration_and_by_integer_programming(
    lines: list[tuple[Terms, list[tuple[Asks, ...]], int | None]],
) -> None:
    for seed, (terms, loops, price) in enumerate(lines):
        chosen = choose(loops, terms)
        assert (chosen.price if chosen else None) == price, seed
        assert programmed(terms, loops) == price, seed


def test_what_is_chosen_holds_and_costs_that(
    lines: list[tuple[Terms, list[tuple[Asks, ...]], int | None]],
) -> None:
    for terms, loops, price in lines:
        chosen = choose(loops, terms) if price is not None else None
        if chosen is None:
            continue
        asks = tuple(loop[k] for loop, k in zip(loops, chosen.candidates, strict=True))
        assert priced(terms, asks, chosen.supplies) == price
        assert line_price(terms, asks, chosen.controller, chosen.supplies) == price
        assert suffices(terms, chosen.supplies, asks) and stands(terms, asks) and agrees(asks)
        carriers, sections = (sum(getattr(a, n) for a in asks) for n in ("carriers", "sections"))
        cheapest = controller_for(terms, carriers, sections)
        assert cheapest is not None
        assert terms.controllers[cheapest].price == terms.controllers[chosen.controller].price


def test_the_same_with_any_seed_and_workers(
    lines: list[tuple[Terms, list[tuple[Asks, ...]], int | None]],
) -> None:
    """Candidates come twice and prices are coarse, so that many lines cost the same."""
    for terms, loops, price in lines[:40]:
        if price is None:
            continue
        coarse = [
            [Asks(**{**vars(a), "own": a.own // 200_000 * 200_000}) for a in (*loop, *loop)]
            for loop in loops
        ]
        first = choose(coarse, terms)
        assert first == choose(coarse, terms, workers=2, seed=7) == choose(coarse, terms, seed=3)


def test_without_some_the_next_is_chosen(
    lines: list[tuple[Terms, list[tuple[Asks, ...]], int | None]],
) -> None:
    """One line after the other is left out: prices rise, until none is left."""
    for terms, loops, price in lines[:60]:
        if price is None:
            continue
        able = sorted(
            min(
                value
                for counts in supply_counts(terms, len(loops))
                if (value := priced(terms, asks, counts)) is not None
            )
            for asks in product(*loops)
            if any(priced(terms, asks, c) is not None for c in supply_counts(terms, len(loops)))
        )
        without: list[tuple[int, ...]] = []
        for expected in able[:4]:
            chosen = choose(loops, terms, without=without)
            assert chosen is not None and chosen.price == expected
            without.append(chosen.candidates)


def test_dominated_candidates_are_in_no_cheaper_line(
    lines: list[tuple[Terms, list[tuple[Asks, ...]], int | None]],
) -> None:
    """The cheapest line of those that are left is the cheapest of all."""
    left_out = 0
    for terms, loops, price in lines:
        kept = [tuple(loop[k] for k in undominated(loop, terms)) for loop in loops]
        left_out += sum(map(len, loops)) - sum(map(len, kept))
        chosen = choose(kept, terms)
        assert (chosen.price if chosen else None) == price
    assert left_out >= 60


def test_what_dominates_may_take_its_place_in_any_line() -> None:
    """For every pair that dominates: no line is dearer or fails with the one instead."""
    pairs = 0
    for seed in range(120):
        rng = np.random.default_rng(10_000 + seed)
        terms, _ = random_line(seed)
        # Many alike, so that dominance is frequent.
        mine = random_asks(rng, False, most=24)
        other = random_asks(rng, False)
        for one, two in product(mine, repeat=2):
            if one is two or not dominates(one, two, terms):
                continue
            pairs += 1
            for beside in other:
                for counts in supply_counts(terms, 2):
                    before = priced(terms, (two, beside), counts)
                    after = priced(terms, (one, beside), counts)
                    assert before is None or (after is not None and after <= before)
    assert pairs >= 100


def test_no_line_undercuts_the_bound_of_a_candidate(
    lines: list[tuple[Terms, list[tuple[Asks, ...]], int | None]],
) -> None:
    """With the other loops as they are the bound is met but for feeds; merged, it is a bound."""
    met = 0
    for terms, loops, _ in lines:
        free = Terms(**{**vars(terms), "budget": None, "length": None})
        for number, loop in enumerate(loops):
            others = [asks for k, asks in enumerate(loops) if k != number]
            bound = LeastWith(len(loops), rests(others, free), free)
            for asks in loop:
                alone = [*loops[:number], (asks,), *loops[number + 1 :]]
                price = enumerated(free, alone)
                least = int(bound(Vectors.of(asks))[0])
                assert price is None or least <= price
                met += price == least
    assert met >= 300


def test_many_others_are_merged_into_few_that_bound_them() -> None:
    for seed in range(12):
        rng = np.random.default_rng(seed)
        terms, _ = random_line(seed)
        free = Terms(**{**vars(terms), "budget": None, "length": None, "width": None})
        others = [random_asks(rng, False, most=160) for _ in range(2)]
        mine = random_asks(rng, False)
        merged = rests(others, free)
        assert 0 < len(merged) <= MOST_CONTEXTS
        bound = LeastWith(3, merged, free)
        for asks in mine:
            chosen = choose([(asks,), *others], free, lexicographic=False)
            assert chosen is None or int(bound(Vectors.of(asks))[0]) <= chosen.price
