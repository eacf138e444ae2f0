"""The constraint model of the tests against integer programming and against enumeration.

What `tests/choice/test_choice_against_model.py` compares the program with is so compared itself.

Random candidates, sections, supplies, feeds and controllers, some of them beyond anything that
could be built: HiGHS, as scipy brings it, gets the same data as rows of an integer programme
written here, and plain enumeration goes through everything that can be built.
"""

from dataclasses import dataclass
from itertools import combinations_with_replacement, product
from typing import Any

import numpy as np
import pytest
from ortools.sat.python import cp_model
from scipy.optimize import Bounds, LinearConstraint, milp

from recommender.choice.supplies.data import FeedData, SupplyData
from tests.choice.choice_model import Asked, ControllerData, Instance, StraightData, choose

# Lengths in micrometres come in whole steps, so that the programme's rows are well scaled.
STEP = 100_000
INSTANCES = 400


def random_instance(seed: int) -> Instance:
    rng = np.random.default_rng(seed)
    draw = rng.integers
    straights = tuple(
        StraightData(length=int(steps) * STEP, price=(int(price), int(price + draw(0, 40_000))))
        for steps, price in zip(
            rng.choice(np.arange(2, 9), size=draw(2, 4), replace=False),
            draw(50_000, 500_000, size=3),
            strict=False,
        )
    )
    candidates = tuple(
        Asked(
            length=int(draw(3, 26)) * STEP,
            lower_guide=bool(draw(0, 2)),
            carriers=int(draw(1, 31)),
            fixed_sections=2 * int(draw(1, 6)),
            mean_power=int(draw(20_000, 3_000_000)),
            peak_power=int(draw(100_000, 9_000_000)),
            price=int(draw(500_000, 6_000_000)),
            rank=rank,
        )
        for rank in rng.permutation(draw(1, 13)).tolist()
    )
    return Instance(
        candidates=candidates,
        straights=straights,
        supplies=tuple(
            SupplyData(
                mean_power=int(draw(200_000, 2_500_000)),
                peak_power=int(draw(600_000, 8_000_000)),
                max_sections=int(draw(4, 33)),
                price=int(draw(30_000, 200_000)),
            )
            for _ in range(draw(1, 4))
        ),
        feeds=tuple(
            FeedData(max_sections=int(draw(2, 9)), price=int(draw(5_000, 40_000)))
            for _ in range(draw(1, 3))
        ),
        controllers=tuple(
            ControllerData(
                max_carriers=int(draw(8, 33)),
                max_sections=int(draw(12, 49)),
                price=int(draw(200_000, 900_000)),
            )
            for _ in range(draw(1, 4))
        ),
        most_supplies=int(draw(1, 5)),
        section_idle_power=int(draw(0, 20_000)),
    )


def enumerated(instance: Instance) -> dict[int, int]:
    """Least price of every candidate that can be built."""
    prices = {}
    for index, candidate in enumerate(instance.candidates):
        built = [
            price
            for counts in both_sides(instance, candidate.length)
            if (price := built_price(instance, candidate, counts)) is not None
        ]
        if built:
            prices[index] = min(built)
    return prices


def sides(instance: Instance, length: int) -> list[tuple[int, ...]]:
    lengths = [part.length for part in instance.straights]
    return [
        counts
        for counts in product(*(range(length // one + 1) for one in lengths))
        if sum(n * one for n, one in zip(counts, lengths, strict=True)) == length
    ]


def both_sides(instance: Instance, length: int) -> set[tuple[int, ...]]:
    """Pieces of both sides together, each side of the length in a way of its own."""
    ways = sides(instance, length)
    return {tuple(a + b for a, b in zip(*pair, strict=True)) for pair in product(ways, repeat=2)}


def built_price(instance: Instance, candidate: Asked, counts: tuple[int, ...]) -> int | None:
    """Price of a candidate on one make-up of its straights, ``None`` if nothing can serve it."""
    pieces = sum(counts)
    sections = candidate.fixed_sections + pieces
    idle = pieces * instance.section_idle_power
    served = [
        sum(part.price for part in chosen)
        + min(max(size, -(-sections // f.max_sections)) * f.price for f in instance.feeds)
        for size in range(1, instance.most_supplies + 1)
        for chosen in combinations_with_replacement(instance.supplies, size)
        if sum(part.max_sections for part in chosen) >= sections
        and sum(part.mean_power for part in chosen) >= candidate.mean_power + idle
        and sum(part.peak_power for part in chosen) >= candidate.peak_power + idle
    ]
    commanded = [
        part.price
        for part in instance.controllers
        if part.max_sections >= sections and part.max_carriers >= candidate.carriers
    ]
    if not served or not commanded:
        return None
    straight = sum(
        n * part.price[candidate.lower_guide]
        for n, part in zip(counts, instance.straights, strict=True)
    )
    return candidate.price + straight + min(served) + min(commanded)


@dataclass
class Programme:
    """Columns of an integer programme by name, and its rows."""

    price: list[float]
    most: list[float]
    rows: list[tuple[dict[int, float], float, float]]

    def columns(self, prices: list[int], most: float) -> list[int]:
        start = len(self.price)
        self.price += [float(price) for price in prices]
        self.most += [most] * len(prices)
        return list(range(start, len(self.price)))

    def row(self, terms: list[tuple[int, float]], low: float, high: float = np.inf) -> None:
        together: dict[int, float] = {}
        for column, factor in terms:
            together[column] = together.get(column, 0.0) + factor
        self.rows.append((together, low, high))

    def solve(self) -> int | None:
        matrix = np.zeros((len(self.rows), len(self.price)))
        for k, (terms, _, _) in enumerate(self.rows):
            for column, factor in terms.items():
                matrix[k, column] = factor
        result = milp(
            np.array(self.price),
            constraints=LinearConstraint(
                matrix, [low for _, low, _ in self.rows], [high for _, _, high in self.rows]
            ),
            bounds=Bounds(0.0, self.most),
            integrality=np.ones(len(self.price)),
            options={"mip_rel_gap": 0.0},
        )
        assert result.status in (0, 2), result.message
        return round(result.fun) if result.status == 0 else None


def programmed(instance: Instance) -> int | None:
    """Least price by HiGHS, ``None`` if the programme is infeasible."""
    programme = Programme([], [], [])
    pick = programme.columns([c.price for c in instance.candidates], 1)
    straights = instance.straights
    # Plain and railed, of each the front and the back.
    built_as = [
        (programme.columns([part.price[rail] for part in straights], 60), rail)
        for rail in (False, True)
        for _ in range(2)
    ]
    pieces = [column for columns, _ in built_as for column in columns]
    supply = programme.columns([part.price for part in instance.supplies], 60)
    feed = programme.columns([part.price for part in instance.feeds], 400)
    feed_used = programme.columns([0] * len(instance.feeds), 1)
    control = programme.columns([part.price for part in instance.controllers], 1)

    programme.row([(column, 1) for column in pick], 1, 1)
    for side, rail in built_as:
        built = [(c, part.length / STEP) for c, part in zip(side, straights, strict=True)]
        asked = [
            (c, -candidate.length / STEP)
            for c, candidate in zip(pick, instance.candidates, strict=True)
            if candidate.lower_guide is rail
        ]
        programme.row(built + asked, 0, 0)
    sections = [(c, 1.0) for c in pieces] + picked(instance, pick, "fixed_sections", 1.0)
    minus_sections = [(c, -n) for c, n in sections]

    programme.row([(column, 1) for column in supply], 0, instance.most_supplies)
    for field in ("mean_power", "peak_power"):
        given = [
            (c, getattr(part, field) / 1e6)
            for c, part in zip(supply, instance.supplies, strict=True)
        ]
        idle = [(c, -instance.section_idle_power / 1e6) for c in pieces]
        programme.row(given + idle + picked(instance, pick, field, -1e-6), 0)
    reach = [(c, part.max_sections) for c, part in zip(supply, instance.supplies, strict=True)]
    programme.row(reach + minus_sections, 0)

    programme.row([(column, 1) for column in feed_used], 1, 1)
    for count, used, part in zip(feed, feed_used, instance.feeds, strict=True):
        # A kind that is not used is freed of what is asked of it, and there is none of it.
        programme.row([(count, -1), (used, 400)], 0)
        programme.row([(count, part.max_sections), *minus_sections, (used, -400)], -400)
        programme.row([(count, 1), *((c, -1.0) for c in supply), (used, -400)], -400)

    programme.row([(column, 1) for column in control], 1, 1)
    parts = list(zip(control, instance.controllers, strict=True))
    programme.row([(c, part.max_sections) for c, part in parts] + minus_sections, 0)
    carriers = picked(instance, pick, "carriers", -1.0)
    programme.row([(c, part.max_carriers) for c, part in parts] + carriers, 0)
    return programme.solve()


def picked(
    instance: Instance, pick: list[int], field: str, factor: float
) -> list[tuple[int, float]]:
    return [
        (column, factor * getattr(candidate, field))
        for column, candidate in zip(pick, instance.candidates, strict=True)
    ]


@pytest.fixture(scope="module")
def instances() -> list[tuple[Instance, dict[int, int]]]:
    """Random instances, each with the least price of every candidate that can be built."""
    drawn = (random_instance(seed) for seed in range(INSTANCES))
    return [(instance, enumerated(instance)) for instance in drawn]


def test_the_draw_is_wide(instances: list[tuple[Instance, dict[int, int]]]) -> None:
    """Both answers occur often, and often only some of the candidates can be built."""
    impossible = sum(not prices for _, prices in instances)
    partly = sum(0 < len(prices) < len(instance.candidates) for instance, prices in instances)
    assert 20 <= impossible <= INSTANCES - 100
    assert partly >= 50


def test_price_by_integer_programming(instances: list[tuple[Instance, dict[int, int]]]) -> None:
    for seed, (instance, prices) in enumerate(instances):
        assert programmed(instance) == (min(prices.values()) if prices else None), seed


def test_choice_by_enumeration(instances: list[tuple[Instance, dict[int, int]]]) -> None:
    for seed, (instance, prices) in enumerate(instances):
        choice = choose(instance)
        assert (choice is None) == (not prices), seed
        if choice is None:
            continue
        assert choice.optimal and choice.price == min(prices.values()), seed
        assert choice.bound == choice.price
        # Of equal prices the one with the lowest rank.
        equal = [k for k, price in prices.items() if price == choice.price]
        ranks = {k: instance.candidates[k].rank for k in equal}
        assert choice.candidate == min(ranks, key=ranks.__getitem__)


def test_what_is_chosen_can_be_built_at_that_price(
    instances: list[tuple[Instance, dict[int, int]]],
) -> None:
    for instance, prices in instances:
        choice = choose(instance) if prices else None
        if choice is None:
            continue
        candidate = instance.candidates[choice.candidate]
        straights = instance.straights
        for side in (choice.front, choice.back):
            length = sum(n * part.length for n, part in zip(side, straights, strict=True))
            assert length == candidate.length
        counts = [a + b for a, b in zip(choice.front, choice.back, strict=True)]
        sections = candidate.fixed_sections + sum(counts)
        idle = sum(counts) * instance.section_idle_power
        supplies = [
            part
            for count, part in zip(choice.supplies, instance.supplies, strict=True)
            for _ in range(count)
        ]
        feed, control = instance.feeds[choice.feed], instance.controllers[choice.controller]
        assert len(supplies) <= min(instance.most_supplies, choice.feeds)
        assert choice.feeds * feed.max_sections >= sections
        assert sum(part.max_sections for part in supplies) >= sections
        assert sum(part.mean_power for part in supplies) >= candidate.mean_power + idle
        assert sum(part.peak_power for part in supplies) >= candidate.peak_power + idle
        assert control.max_carriers >= candidate.carriers
        assert control.max_sections >= sections
        rail = candidate.lower_guide
        assert choice.price == (
            candidate.price
            + sum(n * p.price[rail] for n, p in zip(counts, straights, strict=True))
            + sum(part.price for part in supplies)
            + choice.feeds * feed.price
            + control.price
        )


def test_equal_prices_go_to_the_lowest_rank() -> None:
    """Twelve candidates alike but for their rank."""
    instance = next(
        random_instance(seed) for seed in range(99) if enumerated(random_instance(seed))
    )
    best = min(enumerated(instance), key=enumerated(instance).__getitem__)
    one = instance.candidates[best]
    ranks = np.random.default_rng(5).permutation(12).tolist()
    alike = tuple(Asked(**{**vars(one), "rank": rank}) for rank in ranks)
    choice = choose(Instance(**{**vars(instance), "candidates": alike}))
    assert choice is not None
    assert choice.candidate == ranks.index(0)
    assert choice.price == min(enumerated(instance).values())


class Interrupted(cp_model.CpSolver):
    """A solver that found the best there is and was stopped before it could say so."""

    def solve(self, *arguments: Any, **options: Any) -> Any:
        status = super().solve(*arguments, **options)
        return cp_model.FEASIBLE if status == cp_model.OPTIMAL else status


def test_an_unproven_price_is_never_below_its_bound(
    instances: list[tuple[Instance, dict[int, int]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cp_model, "CpSolver", Interrupted)
    for seed, (instance, prices) in enumerate(instances):
        choice = choose(instance) if prices else None
        if choice is not None:
            assert not choice.optimal
            assert choice.bound <= min(prices.values()) <= choice.price, seed


def test_no_candidate_is_no_choice() -> None:
    instance = random_instance(1)
    assert choose(Instance(**{**vars(instance), "candidates": ()})) is None
