"""Takts against the same conditions written out station by station, and cycle by cycle."""

from fractions import Fraction
from itertools import permutations
from math import floor, inf

import numpy as np
import pytest

from recommender.physics.cycle_mean import Edge, largest_cycle_mean
from recommender.physics.exchange import exchange_time
from recommender.physics.fleet import room_utilisation
from recommender.physics.takt import exact_takt


def arcs_written_out(
    legs: list[float], dwells: list[float], exchange: list[float], gaps: list[float]
) -> float:
    """A carrier passes from one station to another, and no more than fit between pass with it."""
    count, takt = len(gaps), 0.0
    for first in range(count):
        held = room = 0.0
        for step in range(1, count):
            passed = (first + step - 1) % count
            held += dwells[passed] + legs[passed]
            room += gaps[passed]
            last = (first + step) % count
            takt = max(takt, (held + dwells[last] + exchange[last]) / (floor(room + 1e-9) + 1))
    return takt


def holes_written_out(
    dwells: list[float], exchange: list[float], gaps: list[float], carriers: int
) -> float:
    """A hole goes round through some stations in some order; services use it up."""
    count, takt = len(gaps), 0.0
    for size in range(1, count + 1):
        for order in permutations(range(count), size):
            if order[0] != min(order):
                continue
            busy = places = laps = 0.0
            for here, there in zip(order, (*order[1:], order[0]), strict=True):
                station, way = here, 0.0
                while True:
                    way += gaps[station]
                    station = (station + 1) % count
                    laps += station == 0
                    if station == there:
                        break
                busy += dwells[here] + exchange[here]
                places += floor(way + 1e-9) + 1
            holes = places - laps * carriers
            takt = max(takt, busy / holes if holes > 0 else inf)
    return takt


def test_the_exact_takt_is_what_its_conditions_come_to() -> None:
    """One to five unequal stations; each condition is the longest one in some loops.

    Carriers have less than a spacing to move up where arcs or holes decide, so that these may ask
    for a little more than the exact takt, and never for less.
    """
    rng = np.random.default_rng(3)
    decided = {"lap": 0, "station": 0, "arcs": 0, "holes": 0}
    ratios = []
    for _ in range(400):
        count = int(rng.integers(1, 6))
        gaps = rng.uniform(1.0, 3.5, count).tolist()
        legs = (
            rng.uniform(0.5, 0.9) * np.array(gaps) + rng.choice([0.0, 0.0, 3.0], count)
        ).tolist()
        dwells = rng.uniform(0.1, 2.0, count).tolist()
        limits = 1.5, 3.0, 30.0
        exchange = [float(exchange_time(0.3, 1, *limits))] * count
        carriers = int(rng.integers(1, floor(sum(gaps)) + 1))
        conditions = {
            "lap": (sum(legs) + sum(dwells)) / carriers,
            "station": max(np.add(dwells, exchange).tolist()),
            "arcs": arcs_written_out(legs, dwells, exchange, gaps),
            "holes": holes_written_out(dwells, exchange, gaps, carriers),
        }
        longest = max(conditions.values())
        takt = exact_takt(
            legs,
            dwells,
            exchange,
            gaps,
            1,
            carriers,
            room=lambda _, distance, limits=limits: (
                float(exchange_time(0.3 * distance, 1, *limits)) if distance > 0.0 else 0.0
            ),
        )
        assert max(conditions["lap"], conditions["station"]) <= takt * (1.0 + 1e-9)
        assert takt <= longest * (1.0 + 1e-9), conditions
        ratios.append(takt / longest)
        if longest > sorted(conditions.values())[-2]:
            decided[max(conditions, key=lambda key: conditions[key])] += 1
    assert min(decided.values()) > 10, decided
    assert np.mean(np.array(ratios) > 1.0 - 1e-9) > 0.7
    assert np.quantile(ratios, 0.1) > 0.85


def test_a_gap_short_of_a_whole_number_by_rounding_counts_as_whole() -> None:
    """0.1 + 0.2 spacings too many to be 3 exactly: two more carriers fit, not one less."""
    loop = [1.0, 1.0, 1.0], 0.5, 0.3
    whole = exact_takt(*loop, [3.0, 3.0, 3.0], 1, 8)
    assert exact_takt(*loop, [3.0 - 1e-12, 3.0 - 1e-12, 3.0], 1, 8) == pytest.approx(whole)
    assert exact_takt(*loop, [2.9, 2.9, 2.9], 1, 8) > whole


@pytest.mark.parametrize("lag", [0.05, 0.2])
def test_without_a_room_of_its_own_carriers_move_up_without_their_lag(lag: float) -> None:
    """The lags of an exchange are its own; those of the room ahead are counted by the loop."""
    rng, mattered = np.random.default_rng(8), 0
    for _ in range(150):
        count = int(rng.integers(1, 4))
        positions = rng.integers(1, 4, count).tolist()
        gaps = (np.array(positions) + rng.uniform(0.0, 2.0, count)).tolist()
        spare = int(rng.integers(1, 3))
        carriers = floor(sum(gaps)) - spare
        if carriers < sum(positions):
            continue
        limits = 0.3, positions, 1.5, 3.0, 30.0
        moving = exchange_time(*limits)
        loop = (
            rng.uniform(0.2, 1.5, count),
            rng.uniform(0.1, 1.5, count),
            exchange_time(*limits, lag),
        )
        known = exact_takt(
            *loop, gaps, positions, carriers, lag=lag, room=lambda k, _, m=moving: float(m[k])
        )
        assert exact_takt(*loop, gaps, positions, carriers, lag=lag) == pytest.approx(known)
        longer = exact_takt(
            *loop, gaps, positions, carriers, lag=lag, room=lambda k, _, m=moving: float(m[k]) + lag
        )
        mattered += longer > known * (1.0 + 1e-9) and known < inf
    assert mattered > 10


def simple_cycles(nodes: int, edges: list[tuple[int, int, Fraction, int]]) -> Fraction | None:
    """The largest mean of all cycles that pass no node twice; ``None`` if one cannot repeat."""
    best = Fraction(0)
    leaving: list[list[tuple[int, Fraction, int]]] = [[] for _ in range(nodes)]
    for source, target, weight, count in edges:
        leaving[source].append((target, weight, count))
    stuck = False

    def follow(start: int, node: int, seen: frozenset[int], weight: Fraction, count: int) -> None:
        nonlocal best, stuck
        for target, more, further in leaving[node]:
            total, repeats = weight + more, count + further
            if target == start:
                if repeats <= 0:
                    stuck = True
                else:
                    best = max(best, total / repeats)
            elif target > start and target not in seen:
                follow(start, target, seen | {target}, total, repeats)

    for start in range(nodes):
        follow(start, start, frozenset({start}), Fraction(0), 0)
    return None if stuck else best


@pytest.mark.parametrize("scale", [Fraction(1, 10**7), Fraction(1), Fraction(10**7)])
def test_the_cycle_mean_is_the_largest_of_all_cycles(scale: Fraction) -> None:
    """Weights in tenths, so that cycles tie up to rounding; counts of 0 and below among them."""
    rng, stuck = np.random.default_rng(4), 0
    for _ in range(200):
        nodes = int(rng.integers(1, 6))
        ring = [(node, (node + 1) % nodes) for node in range(nodes)]
        ways = ring + [tuple(rng.integers(0, nodes, 2).tolist()) for _ in range(2 * nodes)]
        edges = [
            (*way, scale * Fraction(int(rng.integers(1, 12)), 10), int(count))
            for way, count in zip(ways, rng.choice([0, 1, 1, 1, 1, 2, 3], len(ways)), strict=True)
        ]
        if rng.random() < 0.3:
            edges[0] = (*edges[0][:3], -1)
        expected = simple_cycles(nodes, edges)
        found = largest_cycle_mean(nodes, [Edge(s, t, float(w), c) for s, t, w, c in edges])
        stuck += expected is None
        assert found == (inf if expected is None else pytest.approx(float(expected), rel=1e-12))
    assert 25 < stuck < 150


@pytest.mark.parametrize("scale", [1e-6, 1.0, 1e6])
def test_cycles_that_differ_by_more_than_rounding_are_told_apart(scale: float) -> None:
    """A millionth more in one of two separate rings, joined so that each waits for the other's."""
    for longer in (0, 1):
        weights = [scale * (1.0 + 1e-6 * (k == longer)) for k in range(2)]
        edges = [Edge(0, 0, weights[0], 1), Edge(1, 1, weights[1], 1), Edge(0, 1, 0.0, 5)]
        edges.append(Edge(1, 0, 0.0, 5))
        assert largest_cycle_mean(2, edges) == pytest.approx(scale * (1.0 + 1e-6), rel=1e-12)


def test_room_is_held_by_every_start_that_has_to_be_waited_for() -> None:
    """The carriers in the gap start one after the other, then the batch, and moves up once more.

    Each of a batch of m starts a lag after the one ahead of it, and so do they when they move up
    to where it stood: 2·m − 1 starts after the one that the gap's last carrier waits for.
    """
    rng = np.random.default_rng(12)
    for _ in range(200):
        count = int(rng.integers(1, 5))
        positions = rng.integers(1, 4, count).tolist()
        gaps = (np.array(positions).max() + rng.uniform(0.0, 3.0, count)).tolist()
        legs, dwells, exchange = rng.uniform(0.1, 2.0, (3, count)).tolist()
        takt, lag = float(rng.uniform(0.5, 2.0)), float(rng.uniform(0.0, 0.2))
        found = room_utilisation(legs, dwells, exchange, gaps, positions, takt, lag)
        for here in range(count):
            there, fit = (here + 1) % count, floor(gaps[here] + 1e-9)
            starts = [*range(fit), *range(positions[here]), *range(positions[here] - 1)]
            held = dwells[here] + legs[here] + dwells[there] + exchange[there] + lag * len(starts)
            turns = fit + 1 - (positions[there] - 1)
            assert found[here] == pytest.approx(held / (turns * takt))


def test_cycles_that_tie_settle_where_some_waits_take_no_time() -> None:
    """Thirds and sevenths tie up to rounding only; what is rounding goes by the longest wait."""
    rng = np.random.default_rng(9)
    for _ in range(400):
        nodes = int(rng.integers(2, 7))
        ways = [(node, (node + 1) % nodes) for node in range(nodes)]
        ways += [tuple(rng.integers(0, nodes, 2).tolist()) for _ in range(3 * nodes)]
        edges = [
            (*way, Fraction(int(weight), 10) * 10**7, int(count))
            for way, weight, count in zip(
                ways,
                rng.integers(0, 4, len(ways)),
                rng.choice([1, 1, 2, 3], len(ways)),
                strict=True,
            )
        ]
        found = largest_cycle_mean(nodes, [Edge(s, t, float(w), c) for s, t, w, c in edges])
        assert found == pytest.approx(float(simple_cycles(nodes, edges) or 0), rel=1e-12)
