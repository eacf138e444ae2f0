"""Power drawn by a fleet, compared with a simulation of every carrier on a loop in time.

Carriers run one behind the other round two straights and two bends. A carrier leaves its station
when its batch is complete and processed, at the first station in the takt besides. It goes on to
the foremost place that is free by the time it arrives, and moves up with the whole queue at the
instant at which the carriers ahead leave. The simulation knows legs, masses and forces, and none
of the formulas compared.
"""

from dataclasses import dataclass, field

import numpy as np
import pytest
from numpy.typing import NDArray

from recommender.physics.fleet_supply import fleet_peak_power, queue_hops
from recommender.physics.motion import leg_peak_speed, speed_change_time
from recommender.physics.profile import leg_segments
from recommender.physics.supply import (
    copper_loss,
    electrical_power,
    peak_power,
    speed_change_energy,
)

STEP = 1e-3


@dataclass(frozen=True)
class Move:
    """One carrier from rest to rest: its power in time, speed changes, and speeds held."""

    duration: float
    power: NDArray[np.float64]
    changes: tuple[tuple[float, float], ...]
    cruises: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Loop:
    """Carriers, limits of their motion, and stations by their position along the track."""

    mass: float
    resistance: float
    motor_constant: float
    speed: float
    bend_speed: float
    acceleration: float
    jerk: float
    spacing: float
    straight: float
    bend: float
    stations: tuple[float, ...]
    dwells: tuple[float, ...]
    batches: tuple[int, ...]
    moves: dict[tuple[float, float], Move] = field(default_factory=dict, compare=False, repr=False)

    @property
    def length(self) -> float:
        return 2.0 * (self.straight + self.bend)

    def gap(self, station: int) -> float:
        """Distance from the station before to this one."""
        return (self.stations[station] - self.stations[station - 1]) % self.length or self.length

    def places(self, station: int) -> int:
        return int(self.gap(station) / self.spacing + 1e-9)

    def bends(self, start: float, end: float) -> list[tuple[float, float]]:
        half = self.straight + self.bend
        entries = (half * turn + self.straight for turn in range(-2, 5))
        return [
            (max(entry, start), min(entry + self.bend, end))
            for entry in entries
            if start < entry + self.bend and entry < end
        ]

    def move(self, start: float, end: float) -> Move:
        key = (round(start, 9), round(end, 9))
        if key not in self.moves:
            self.moves[key] = self._drive(start, end)
        return self.moves[key]

    def stretches(self, start: float, end: float) -> list[tuple[float, float, float, float]]:
        """Length, speeds at both ends and limit of each stretch of a move from rest to rest."""
        bends = self.bends(start, end)
        stretches, here, now = [], start, 0.0
        for entry, leave in bends:
            stretches.append((entry - here, now, self.bend_speed, self.speed))
            stretches.append((leave - entry, *3 * (self.bend_speed,)))
            here, now = leave, self.bend_speed
        stretches.append((end - here, now, 0.0, self.speed))
        limits = (self.acceleration, self.jerk)
        if all(d > 0.0 and leg_peak_speed(d, v0, v1, v, *limits) > 0 for d, v0, v1, v in stretches):
            return stretches
        # No room to reach the bend's speed or to brake from it: slowly all the way.
        return [(end - start, 0.0, 0.0, self.bend_speed if bends else self.speed)]

    def _drive(self, start: float, end: float) -> Move:
        pieces, changes, cruises = [], [], []
        for distance, v0, v1, limit in self.stretches(start, end):
            ends = (distance, v0, v1, limit, self.acceleration, self.jerk)
            pieces.append(leg_segments(*ends))
            peak = float(leg_peak_speed(*ends))
            changes += [(v0, peak), (peak, v1)]
            cruises.append((peak, float(pieces[-1].durations[3])))
        finishes = np.cumsum([piece.duration for piece in pieces])
        times = STEP * np.arange(int(finishes[-1] / STEP) + 1)
        power = np.empty_like(times)
        for piece, finish in zip(pieces, finishes, strict=True):
            since = times - (finish - piece.duration)
            rows = (since >= -1e-12) & (times <= finish)
            _, speed, acceleration = piece.sample(np.clip(since[rows], 0.0, piece.duration))
            force = self.mass * acceleration + self.resistance
            power[rows] = np.maximum(force * speed, 0.0) + (force / self.motor_constant) ** 2
        return Move(float(finishes[-1]), power, tuple(changes), tuple(cruises))

    def leg(self, station: int) -> Move:
        """Unhindered, from the station before to this one."""
        return self.move(self.stations[station] - self.gap(station), self.stations[station])

    def hop(self, station: int) -> Move:
        """Exchange of carriers at a station."""
        back = self.batches[station] * self.spacing
        return self.move(self.stations[station] - back, self.stations[station])

    @property
    def legs(self) -> list[Move]:
        return [self.leg(station) for station in range(len(self.stations))]

    @property
    def exchanges(self) -> NDArray[np.float64]:
        return np.array([self.hop(station).duration for station in range(len(self.stations))])

    @property
    def lap_time(self) -> float:
        return sum(self.dwells) + sum(leg.duration for leg in self.legs)


@dataclass(frozen=True)
class Outcome:
    peak: float
    mean: float
    interval: float
    hops: float


class Simulation:
    """Departures by station and passage, and the moves that lead up to them."""

    def __init__(self, loop: Loop, carriers: int, takt: float) -> None:
        self.loop, self.carriers, self.takt = loop, carriers, takt
        self.moves: list[tuple[float, Move]] = []
        self.hops: list[float] = []
        self.left: list[list[float]] = [[] for _ in loop.stations]
        # They set out one by one, or batch by batch, from the first station.
        self.left[0] = [takt * (i - i % loop.batches[0]) for i in range(carriers)]
        self.arrived = [list(times) for times in self.left]

    def run(self, laps: int) -> bool:
        """Until every station has seen all carriers a number of times; False if it deadlocks."""
        wanted = self.carriers * laps
        wanted -= wanted % int(np.lcm.reduce(self.loop.batches))
        while min(map(len, self.left)) < wanted:
            if not any(self._advance(station, wanted) for station in range(len(self.left))):
                return False
        return True

    def _advance(self, station: int, wanted: int) -> bool:
        """Follow the carriers to a station as far as their departures before are known."""
        before, lap = (station - 1, 0) if station else (len(self.left) - 1, self.carriers)
        arrived, left, batch = self.arrived[station], self.left[station], self.loop.batches[station]
        progress = False
        while len(arrived) < wanted and len(arrived) - lap < len(self.left[before]):
            passage = len(arrived)
            # Members of a batch start from the places on which they stood.
            behind = (passage - lap) % self.loop.batches[before] * self.loop.spacing
            start = self.left[before][passage - lap]
            arrived.append(self._arrive(station, passage, start, behind))
            if len(arrived) % batch == 0:
                leave = max(arrived[-batch:]) + self.loop.dwells[station]
                if station == 0:
                    leave = max(leave, left[-1] + batch * self.takt)
                left += [leave] * batch
            progress = True
        return progress

    def _arrive(self, station: int, passage: int, start: float, behind: float) -> float:
        """Time of arrival at the station, by way of the queue before it."""
        loop, left, batch = self.loop, self.left[station], self.loop.batches[station]
        front, own = loop.stations[station], passage % batch
        place = own
        while True:
            if place >= loop.places(station):
                raise OverflowError("the queue reaches back to the station before")
            move = loop.move(front - loop.gap(station) - behind, front - place * loop.spacing)
            clear = start + move.duration - loop.hop(station).duration + 1e-9
            gone = passage - own
            while gone > 0 and left[gone - 1] > clear:
                gone -= 1
            if passage - gone <= place:
                break
            place += batch
        self.moves.append((start, move))
        now = start + move.duration
        for at in range(place, own, -batch):
            now = max(now, left[passage - at])
            target = front - (at - batch) * loop.spacing
            step = loop.move(target - batch * loop.spacing, target)
            self.moves.append((now, step))
            self.hops.append(now)
            now += step.duration
        return now

    def outcome(self, laps: int) -> Outcome:
        """Peak and mean power, interval of the carriers and hops of each over the last laps."""
        cycle = int(np.lcm.reduce(self.loop.batches))
        # The way round of those that left later is not known to its end.
        last = len(self.left[0]) - 1 - self.carriers
        last -= last % cycle
        passages = min(laps * self.carriers, last // 2)
        passages -= passages % cycle
        begin, end = self.left[0][last - passages], self.left[0][last]
        power = np.zeros(int((end - begin) / STEP))
        for start, move in self.moves:
            offset = (start - begin) / STEP
            first = max(int(np.ceil(offset)), 0)
            rows = np.arange(first, min(int(offset + move.power.size - 1), power.size - 1) + 1)
            power[rows] += np.interp(rows - offset, np.arange(move.power.size), move.power)
        hops = sum(begin <= start < end for start in self.hops) / passages
        return Outcome(float(power.max()), float(power.mean()), (end - begin) / passages, hops)


@dataclass(frozen=True)
class Case:
    """A loop that keeps its takt, simulated, beside what the formulas say of it."""

    peak: float
    mean: float
    hops: float
    peak_bound: float
    lap_power: float
    hops_bound: float
    hop_power: float


def _random_loop(rng: np.random.Generator, largest_batch: int) -> Loop | None:
    acceleration, speed = rng.uniform(3.0, 20.0), rng.uniform(1.0, 4.0)
    mass, spacing = rng.uniform(2.0, 15.0), rng.uniform(0.15, 0.5)
    straight, bend = rng.uniform(2.0, 8.0), rng.uniform(0.8, 2.2)
    count = int(rng.integers(1, 6))
    positions = rng.uniform(0.3, straight - 0.3, count)
    positions += np.where(rng.random(count) < 0.5, 0.0, straight + bend)
    loop = Loop(
        mass=mass,
        resistance=mass * 9.81 * rng.uniform(0.005, 0.05),
        motor_constant=rng.uniform(5.0, 25.0),
        speed=speed,
        bend_speed=min(speed, rng.uniform(0.7, 2.5)),
        acceleration=acceleration,
        jerk=acceleration * rng.uniform(8.0, 60.0),
        spacing=spacing,
        straight=straight,
        bend=bend,
        stations=tuple(np.sort(positions).tolist()),
        dwells=tuple(rng.uniform(0.1, 1.2, count).tolist()),
        batches=tuple(rng.integers(1, largest_batch + 1, count).tolist()),
    )
    for station, batch in enumerate(loop.batches):
        start, end = loop.stations[station] - loop.gap(station), loop.stations[station]
        room = (1 + batch + loop.batches[station - 1]) * spacing
        if loop.gap(station) < room or len(loop.stretches(start, end)) <= len(
            loop.bends(start, end)
        ):
            return None
    return loop


def _random_case(rng: np.random.Generator, largest_batch: int) -> Case | None:
    loop = _random_loop(rng, largest_batch)
    if loop is None:
        return None
    batches, lap = np.array(loop.batches), loop.lap_time
    occupied = (np.array(loop.dwells) + loop.exchanges) / batches
    least = occupied.max() * rng.choice([1.02, 1.2])
    unhindered = max(1, int(np.ceil(lap / least * rng.uniform(0.3, 1.0))))
    takt = max(least, lap / unhindered * rng.uniform(1.0, 1.0 + 0.99 / unhindered))
    surplus = int(rng.integers(0, 6)) if rng.random() < 0.6 else 0
    carriers = int(np.ceil(lap / takt - 1e-9)) + int((batches - 1).sum()) + surplus
    if carriers > 0.6 * sum(loop.places(station) for station in range(len(batches))):
        return None
    simulation = Simulation(loop, carriers, takt)
    try:
        finished = simulation.run(7)
    except OverflowError:
        return None
    outcome = simulation.outcome(2) if finished else None
    if outcome is None or outcome.interval > 1.003 * takt:
        return None
    limits = (loop.acceleration, loop.jerk, loop.resistance, loop.motor_constant)
    queues = 1 if largest_batch == 1 else len(batches)
    exchange = (loop.exchanges / batches).max()
    return Case(
        outcome.peak,
        outcome.mean,
        outcome.hops,
        _peak_bound(loop, carriers, takt),
        sum(_energy(loop, leg.changes, leg.cruises) for leg in loop.legs) / takt,
        float(queue_hops(carriers, lap, takt, occupied.max(), exchange, queues=queues)),
        _hop_energy(loop, *limits[:2]) / takt,
    )


def _energy(
    loop: Loop, changes: tuple[tuple[float, float], ...], cruises: tuple[tuple[float, float], ...]
) -> float:
    start, end = np.array(changes).T
    limits = (loop.acceleration, loop.jerk, loop.resistance, loop.motor_constant)
    energy = float(speed_change_energy(loop.mass, start, end, *limits).sum())
    if cruises:
        speed, time = np.array(cruises).T
        energy += float((time * electrical_power(loop.resistance, speed, limits[3])).sum())
    return energy


def _hop_speed(loop: Loop) -> float:
    longest = max(loop.batches) * loop.spacing
    return float(leg_peak_speed(longest, 0.0, 0.0, loop.speed, loop.acceleration, loop.jerk))


def _hop_energy(loop: Loop, acceleration: float, jerk: float) -> float:
    speed = _hop_speed(loop)
    longest = max(loop.batches) * loop.spacing
    moving = speed * float(speed_change_time(speed, acceleration, jerk))
    held = ((speed, max(longest - moving, 0.0) / speed),)
    return _energy(loop, ((0.0, speed), (speed, 0.0)), held)


def _peak_bound(loop: Loop, carriers: int, takt: float) -> float:
    limits = (loop.acceleration, loop.jerk, loop.resistance, loop.motor_constant)
    starts, together = [], []
    for station, batch in enumerate(np.roll(loop.batches, 1)):
        begin, end = loop.stations[station] - loop.gap(station), loop.stations[station]
        phases = [0.0] + [loop.bend_speed] * len(loop.bends(begin, end))
        starts += phases
        together += [batch] * len(phases)
    rest = max(
        float(peak_power(loop.mass, _hop_speed(loop), *limits)),
        float(electrical_power(loop.resistance, loop.speed, loop.motor_constant)),
        float(copper_loss(loop.mass * loop.acceleration - loop.resistance, loop.motor_constant)),
    )
    return float(
        fleet_peak_power(
            peak_power(loop.mass, loop.speed, *limits, start=np.array(starts)),
            speed_change_time(loop.speed - np.array(starts), *limits[:2]),
            together,
            carriers,
            takt,
            rest,
        )
    )


@pytest.fixture(scope="module", params=[1, 3], ids=["single", "batches"])
def cases(request: pytest.FixtureRequest) -> list[Case]:
    rng = np.random.default_rng(20)
    found: list[Case] = []
    while len(found) < 250:
        case = _random_case(rng, request.param)
        if case is not None:
            found.append(case)
    return found


def test_peak_is_never_above_the_bound_of_the_fleet(cases: list[Case]) -> None:
    ratio = np.array([case.peak_bound / case.peak for case in cases])
    assert ratio.min() >= 1.0
    assert np.median(ratio) < 3.0


def test_mean_is_the_energy_of_a_lap_where_nobody_queues(cases: list[Case]) -> None:
    alone = [case for case in cases if case.hops_bound == 0.0]
    assert {case.hops for case in alone} == {0.0}
    assert np.allclose([case.lap_power / case.mean for case in alone], 1.0, rtol=5e-4)


def test_hops_in_queues_are_bounded_and_cost_energy(cases: list[Case]) -> None:
    queued = [case for case in cases if case.hops_bound > 0.0]
    assert all(case.hops <= case.hops_bound for case in queued)
    with_hops = [(case.lap_power + case.hops_bound * case.hop_power) / case.mean for case in queued]
    assert min(with_hops) >= 1.0
    # The unhindered lap alone would say too little.
    assert min(case.lap_power / case.mean for case in queued) < 0.5
