"""The takt of a loop against a discrete-event simulation of its carriers.

The simulation knows positions only: every carrier may advance to its next station, or to one
spacing behind the carrier ahead, whichever comes first, and starts in the same instant as the one
that makes room. It knows nothing of gaps in whole spacings, of holes or of cycles.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import pytest
import simpy
from numpy.typing import NDArray
from scipy.optimize import linprog
from simpy.core import EmptySchedule

from recommender.physics.cycle_mean import Edge, largest_cycle_mean
from recommender.physics.exchange import exchange_time
from recommender.physics.fleet import (
    gap_utilisation,
    lap_waits,
    least_carriers,
    places_utilisation,
    room_utilisation,
    station_utilisation,
)
from recommender.physics.motion import leg_time
from recommender.physics.takt import exact_takt

TINY = 1e-9


@dataclass
class Loop:
    """A loop in spacings and seconds."""

    gaps: list[float]
    dwells: list[float]
    positions: list[int]
    carriers: int
    detours: list[float]  # what a leg takes longer than a free run of its length, as in a slow bend
    spacing: float
    speed: float
    acceleration: float
    jerk: float
    lag: float = 0.0

    def __post_init__(self) -> None:
        self._times: dict[float, float] = {}

    def run(self, distance: float) -> float:
        """Time from rest to rest over a distance in spacings."""
        distance = round(distance, 9)
        if distance <= 0.0:
            return 0.0
        if distance not in self._times:
            self._times[distance] = float(
                leg_time(
                    distance * self.spacing, 0.0, 0.0, self.speed, self.acceleration, self.jerk
                )
            )
        return self._times[distance]

    def leg(self, station: int, shorter: int = 0) -> float:
        return self.run(self.gaps[station] - shorter) + self.detours[station]

    @cached_property
    def legs(self) -> list[float]:
        return [self.leg(station) for station in range(len(self.gaps))]

    @cached_property
    def exchange(self) -> NDArray[np.float64]:
        limits = self.speed, self.acceleration, self.jerk
        return exchange_time(self.spacing, self.positions, *limits, self.lag)

    @cached_property
    def occupied(self) -> NDArray[np.float64]:
        return self.exchange + self.dwells

    @cached_property
    def lap(self) -> float:
        return sum(self.legs) + sum(self.dwells) + (sum(self.positions) - len(self.gaps)) * self.lag

    def takt(self) -> float:
        return exact_takt(
            self.legs,
            self.dwells,
            self.exchange,
            self.gaps,
            self.positions,
            self.carriers,
            room=lambda _, distance: self.run(distance),
            shorter_leg=self.leg,
            lag=self.lag,
        )

    def accepted(self, takt: float) -> bool:
        """Whether the safe conditions allow a takt."""
        gaps, positions = self.gaps, self.positions
        return bool(
            self.carriers >= least_carriers(self.lap, positions, takt, self.occupied)
            and np.all(station_utilisation(self.occupied, positions, takt) <= 1.0)
            and places_utilisation(self.carriers, self.occupied, takt, sum(gaps), self.lag) <= 1.0
            and np.all(gap_utilisation(gaps, positions) <= 1.0)
            and np.all(
                room_utilisation(
                    self.legs, self.dwells, self.exchange, gaps, positions, takt, self.lag
                )
                <= 1.0
            )
        )


class Simulation:
    """Carriers of a loop, all in line before its first station at the start."""

    def __init__(
        self,
        loop: Loop,
        dwell: Callable[[int], float] | None = None,
        environment: simpy.Environment | None = None,
    ) -> None:
        self.loop = loop
        self.dwell = dwell or (lambda station: loop.dwells[station])
        self.length = sum(loop.gaps)
        self.stations = np.cumsum([0.0, *loop.gaps[:-1]]).tolist()
        self.starts: list[float] = []
        self.rounds: list[list[float]] = [[] for _ in range(loop.carriers)]
        self.forming: list[list[float]] = [[] for _ in range(loop.carriers)]
        self.environment = environment or simpy.Environment()
        fleet = range(loop.carriers)
        self.goal = [-float(carrier) for carrier in fleet]  # wants to advance as far as here
        # From when on it may advance as far as where, in turn.
        self.steps = [[(-np.inf, place)] for place in self.goal]
        self.free = [self.environment.event() for _ in fleet]  # may advance to its goal
        self.batches: dict[tuple[int, int], tuple[list[int], simpy.Event]] = {}
        for carrier in fleet:
            self.environment.process(self.travel(carrier))

    def ahead(self, carrier: int) -> tuple[int, float]:
        """The carrier ahead, and how far behind its place this one has to stay."""
        return (carrier - 1, 1.0) if carrier else (self.loop.carriers - 1, 1.0 - self.length)

    def allow(self, carrier: int, time: float, place: float) -> bool:
        """Let a carrier advance to a place, if that is farther than it may already."""
        steps = self.steps[carrier]
        if place <= steps[-1][1] + TINY:
            return False
        if len(steps) > 1 and time <= steps[-1][0]:
            steps[-1] = (steps[-1][0], place)
        else:
            steps.append((time, place))
        return True

    def follow(self, carrier: int) -> bool:
        """Let a carrier make the steps that the one ahead makes room for."""
        leader, distance = self.ahead(carrier)
        now, lag, goal = self.environment.now, self.loop.lag, self.goal[carrier]
        allowed = [
            self.allow(carrier, max(now, time + lag), min(goal, place - distance))
            for time, place in self.steps[leader]
        ]
        return any(allowed)

    def limit(self, carrier: int) -> float:
        """Where all carriers, advancing at once, let one go: a full loop moves together."""
        limit, behind, leader = self.goal[carrier], 0.0, carrier
        for _ in range(self.loop.carriers - 1):
            leader, distance = self.ahead(leader)
            behind += distance
            limit = min(limit, self.goal[leader] - behind)
        return limit

    def make_way(self, carrier: int) -> None:
        """Let a carrier with a new goal advance, and those behind it as far as they now may."""
        together = self.loop.lag == 0.0
        limit = self.limit(carrier) if together else 0.0
        while (
            self.allow(carrier, self.environment.now, limit) if together else self.follow(carrier)
        ):
            there = self.steps[carrier][-1][1] >= self.goal[carrier] - TINY
            if there and not self.free[carrier].triggered:
                self.free[carrier].succeed()
            carrier = (carrier + 1) % self.loop.carriers
            limit = min(self.goal[carrier], limit - self.ahead(carrier)[1])

    def travel(self, carrier: int) -> Iterator[simpy.Event]:
        loop, environment = self.loop, self.environment
        place = 0
        for visit in range(10**9):
            lap, station = divmod(visit, len(loop.gaps))
            left_from, left = place, environment.now
            batch, place = divmod(carrier + lap * loop.carriers, loop.positions[station])
            self.steps[carrier] = self.steps[carrier][-1:]
            self.free[carrier] = environment.event()
            self.goal[carrier] = lap * self.length + self.stations[station] - place
            self.make_way(carrier)
            if self.steps[carrier][-1][1] < self.goal[carrier] - TINY:
                yield self.free[carrier]
            steps = self.steps[carrier]
            arrival = max(
                [environment.now]
                + [
                    time + loop.run(self.goal[carrier] - at)
                    for (_, at), (time, _) in pairwise(steps)
                ]
            )
            if visit > 0:
                before = (station - 1) % len(loop.gaps)
                leg = loop.leg(before, place - left_from) + loop.lag * left_from
                arrival = max(arrival, left + leg)
            yield environment.timeout(arrival - environment.now)
            yield from self.serve(station, batch, carrier)

    def serve(self, station: int, batch: int, carrier: int) -> Iterator[simpy.Event]:
        """Wait until the batch is whole, then for its dwell."""
        waiting, whole = self.batches.setdefault((station, batch), ([], self.environment.event()))
        waiting.append(1)
        if len(waiting) == self.loop.positions[station]:
            del self.batches[station, batch]
            if station == 0:
                self.starts.append(self.environment.now)
            whole.succeed(self.dwell(station))
        arrived = self.environment.now
        dwell = yield whole
        self.forming[carrier].append(self.environment.now - arrived)
        if station == 0:
            self.rounds[carrier].append(self.environment.now)
        yield self.environment.timeout(dwell)

    def first_starts(self, count: int) -> NDArray[np.float64] | None:
        """Starts of work at the first station; None if the carriers block each other for good."""
        while len(self.starts) < count:
            try:
                self.environment.step()
            except EmptySchedule:
                return None
        return np.array(self.starts)


def simulated_takt(loop: Loop, laps: int) -> float:
    """Time between carriers once the starts repeat themselves, else over the last half."""
    starts = Simulation(loop).first_starts(40 + laps * loop.carriers)
    if starts is None:
        return np.inf
    count = len(starts)
    for period in range(1, count // 4):
        advance = (starts[period:] - starts[:-period])[-max(3 * period, 40) :]
        if np.ptp(advance) < TINY * advance[-1]:
            return advance[-1] / period / loop.positions[0]
    half = count // 2
    return (starts[-1] - starts[half]) / (count - 1 - half) / loop.positions[0]


def random_loop(random: np.random.Generator, batches: bool) -> Loop:
    stations = int(random.integers(1, 7))
    positions = [int(random.choice([1, 1, 2, 3])) if batches else 1 for _ in range(stations)]
    gaps = []
    for station in range(stations):
        least = positions[(station + 1) % stations]
        gap = least + random.choice([random.uniform(0.0, 1.5), random.uniform(0.0, 6.0)])
        gaps.append(float(random.choice([gap, np.ceil(gap)])))
    acceleration = random.uniform(1.0, 10.0)
    loop = Loop(
        gaps=gaps,
        dwells=[],
        positions=positions,
        carriers=int(random.integers(1, int(sum(gaps)) + 1)),
        detours=[],
        spacing=random.uniform(0.1, 0.5),
        speed=random.uniform(0.5, 3.0),
        acceleration=acceleration,
        jerk=acceleration * random.choice([5.0, 20.0, 100.0]),
    )
    hop = loop.run(1.0)
    loop.dwells = [
        float(random.choice([random.uniform(0.0, 3.0) * hop, random.uniform(0.0, 0.5)]))
        for _ in gaps
    ]
    loop.lag = float(random.choice([0.0, 0.0, 0.0, 0.05, 0.2]))
    if loop.lag > 0.0:  # on a loop nearly full, carriers that start one by one only creep
        loop.carriers = max(1, min(loop.carriers, int(sum(gaps) - 1.0)))
    slow = random.choice([0.0, 1.5])
    loop.detours = [
        float(random.choice([0.0, random.uniform(0.0, slow) * loop.run(gap)])) for gap in gaps
    ]
    return loop


@pytest.fixture(scope="module")
def simulated() -> list[tuple[Loop, float]]:
    """Random loops with their simulated takt, 200 without batch stations and 140 that may have."""
    random = np.random.default_rng(20240)
    loops = [random_loop(random, batches=number >= 200) for number in range(340)]
    return [(loop, simulated_takt(loop, laps=16)) for loop in loops]


def test_exact_takt_equals_the_simulation(simulated: list[tuple[Loop, float]]) -> None:
    blocked = 0
    for loop, takt in simulated:
        exact = loop.takt()
        accuracy = 1e-9 if loop.lag == 0.0 else 2e-3
        if np.isinf(takt) or (loop.lag > 0.0 and sum(loop.gaps) < loop.carriers + 1.0):
            blocked += 1
            assert np.isinf(exact)
        elif abs(exact / takt - 1.0) > 1e-9:
            # Starts may seem to repeat for long before the slowest cycle has caught up.
            assert exact == pytest.approx(simulated_takt(loop, laps=400), rel=accuracy)
    assert 5 <= blocked <= 60


def test_safe_conditions_accept_no_loop_that_misses_its_takt(
    simulated: list[tuple[Loop, float]],
) -> None:
    random = np.random.default_rng(7)
    wrong, workable, refused = 0, {False: 0, True: 0}, {False: 0, True: 0}
    for loop, takt in simulated:
        batches = max(loop.positions) > 1
        least = takt if np.isfinite(takt) else max(loop.lap / loop.carriers, *loop.occupied)
        for asked in least * random.uniform(0.8, 1.5, 8):
            accepted = loop.accepted(asked)
            if takt <= asked * (1.0 + TINY):
                workable[batches] += 1
                refused[batches] += not accepted
            else:
                wrong += accepted
    assert wrong == 0
    # Otherwise the conditions might be safe by refusing everything.
    assert refused[False] / workable[False] < 0.35
    assert refused[True] / workable[True] < 0.8


def steady_rounds(loop: Loop, laps: int) -> tuple[list[float], float]:
    """Mean time in which each carrier comes round, and what it waits for its batches in a lap."""
    simulation, stations = Simulation(loop), len(loop.gaps)
    assert simulation.first_starts((laps + 1) * loop.carriers) is not None
    # Over whole multiples of all batches, once the start is forgotten.
    count, first = 6 * (laps // 12), laps - 6 * (laps // 12) - 1
    rounds = [(times[first + count] - times[first]) / count for times in simulation.rounds]
    waits = [
        sum(each[first * stations : (first + count) * stations]) / count
        for each in simulation.forming
    ]
    return rounds, sum(waits) / len(waits)


def test_the_lap_is_carriers_times_takt(simulated: list[tuple[Loop, float]]) -> None:
    """Each carrier comes round in N·τ, and what it waits for batches is no more than is said."""
    looked = [
        (loop, takt) for loop, takt in simulated if np.isfinite(takt) and max(loop.positions) > 1
    ][:40]
    assert len(looked) == 40
    waiting = 0
    for loop, takt in looked:
        if abs(loop.takt() / takt - 1.0) > 1e-9:
            continue  # starts that only seem to repeat
        rounds, forming = steady_rounds(loop, laps=96)
        in_service = loop.carriers * takt
        assert np.mean(rounds) == pytest.approx(in_service, rel=5e-3)
        unhindered = sum(loop.legs) + sum(loop.dwells)
        batches, places = lap_waits(unhindered, loop.positions, takt, loop.carriers)
        if loop.lag == 0.0:
            assert unhindered + batches + places == pytest.approx(max(in_service, unhindered))
        # Half of what batches cost is lost where they form, the other half where they part.
        most = 0.5 * sum(m - 1 for m in loop.positions) * takt
        assert forming <= most * 1.01 + TINY
        waiting += forming > 0.3 * most
    assert waiting >= 5


@pytest.mark.parametrize("positions", [2, 3])
def test_carriers_that_come_a_takt_apart_lose_a_takt_for_each_place_more(positions: int) -> None:
    """A slow station sends carriers one takt apart to one that takes several at once."""
    carriers = 4 + positions
    loop = Loop([12.0, 12.0], [1.5, 0.8], [1, positions], carriers, [0.0] * 2, 0.3, 1.5, 4.0, 80.0)
    takt = simulated_takt(loop, laps=60)
    assert takt == pytest.approx(loop.occupied[0], rel=1e-9)
    rounds, forming = steady_rounds(loop, laps=96)
    assert rounds == pytest.approx([carriers * takt] * carriers, rel=1e-9)
    # One place farther back is reached so much sooner, and left so much later.
    sooner = loop.spacing / loop.speed
    assert forming == pytest.approx(0.5 * (positions - 1) * (takt - sooner), rel=1e-9)
    unhindered = sum(loop.legs) + sum(loop.dwells)
    batches, places = lap_waits(unhindered, loop.positions, takt, carriers)
    assert float(batches) == pytest.approx((positions - 1) * takt)
    assert float(places) == pytest.approx(carriers * takt - unhindered - (positions - 1) * takt)
    assert float(places) >= 0.0


def test_a_lap_by_hand() -> None:
    """Five carriers at 1.7 s come round in 8.5 s; a lap of 6.8 s and one takt for a pair."""
    batches, places = lap_waits(6.8, [1, 2, 1], 1.7, 5)
    assert (float(batches), float(places)) == pytest.approx((1.7, 0.0))
    assert float(least_carriers(6.8, [1, 2, 1], 1.7, [0.5, 1.5, 0.5])) == 5.0


def test_full_loop_moves_rigidly() -> None:
    # Constant speed: a jerk and an acceleration so high that starting and braking take no time.
    loop = Loop([1.5, 1.5], [1.0, 1.0], [1, 1], 3, [0.0, 0.0], 0.3, 1.0, 1e9, 1e18)
    assert loop.run(0.5) == pytest.approx(0.15)
    assert simulated_takt(loop, laps=20) == pytest.approx(2.30)
    assert loop.takt() == pytest.approx(2.30)
    assert max(loop.occupied.max(), loop.lap / 3) == pytest.approx(1.30)
    assert not loop.accepted(2.0)


def test_fleet_for_varying_dwells_restores_the_takt() -> None:
    random = np.random.default_rng(3)
    restored, without = [], []
    for _ in range(12):
        stations = int(random.integers(2, 5))
        variation = random.uniform(0.2, 0.5)
        loop = Loop(
            [float(random.uniform(12.0, 20.0)) for _ in range(stations)],
            random.uniform(0.8, 2.0, stations).tolist(),
            [1] * stations,
            1,
            [0.0] * stations,
            0.3,
            1.5,
            4.0,
            80.0,
        )
        takt = loop.occupied.max() / 0.85

        def dwell(station: int, loop: Loop = loop, variation: float = variation) -> float:
            mean, exchange = loop.dwells[station], loop.exchange[station]
            spread = variation * (mean + exchange)
            shape = (mean / spread) ** 2
            return random.gamma(shape, mean / shape)

        for varies, takts in ((variation, restored), (0.0, without)):
            loop.carriers = int(
                least_carriers(loop.lap, loop.positions, takt, loop.occupied, varies)
            )
            starts = Simulation(loop, dwell).first_starts(1500)
            assert starts is not None
            takts.append((starts[-1] - starts[100]) / 1399 / takt)
    assert max(restored) < 1.02
    assert max(without) > 1.05


def test_cycle_mean_equals_a_linear_programme() -> None:
    """The smallest period that any schedule of the waits can have."""
    random = np.random.default_rng(11)
    for _ in range(60):
        nodes = int(random.integers(2, 9))
        edges = [Edge(node, (node + 1) % nodes, random.uniform(0, 9), 1) for node in range(nodes)]
        edges += [
            Edge(*random.integers(0, nodes, 2).tolist(), random.uniform(0, 9), int(count))
            for count in random.integers(1, 4, 3 * nodes)
        ]
        rows = np.zeros((len(edges), nodes + 1))
        for row, edge in zip(rows, edges, strict=True):
            row[edge.source] += 1.0
            row[edge.target] -= 1.0
            row[nodes] = -edge.count
        programme = linprog(
            [0.0] * nodes + [1.0],
            A_ub=rows,
            b_ub=[-edge.weight for edge in edges],
            bounds=[(None, None)] * nodes + [(0.0, None)],
        )
        assert largest_cycle_mean(nodes, edges) == pytest.approx(programme.fun, rel=1e-9)
