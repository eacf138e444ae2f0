"""What a run of sections draws of a lap, against carriers put at one place after another."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.loop import demand as module
from recommender.choice.loop.demand import LoopDemand, _Draws
from recommender.physics.constants import Array

LENGTH, TAKT, STEP = 6.0, 1.7, 0.001


class Known(LoopDemand):
    """A lap whose draws and queues are given, on a loop of six metres."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.coupling = float(rng.choice([0.0, 0.3]))
        carrier = SimpleNamespace(coupling_distance=self.coupling or None, magnet_length=0.15)
        self.at = np.sort(rng.uniform(0.0, LENGTH, 3))
        self.reaches = rng.uniform(0.0, 0.9, 3).round(2)
        about: Any = SimpleNamespace(takt=TAKT, option=SimpleNamespace(carrier=carrier))
        on = SimpleNamespace(
            loop=SimpleNamespace(length=LENGTH), placement=SimpleNamespace(at=self.at.tolist())
        )
        self.layout: Any = SimpleNamespace(about=about, on=on, setting=None)
        start = rng.uniform(-1.0, LENGTH, 7).round(2)
        length = rng.uniform(0.1, 2.5, 7).round(2)
        evenly = np.where(rng.random(7) < 0.5, length * rng.uniform(0.6, 1.0, 7), 0.0)
        energy = rng.uniform(1.0, 9.0, 7)
        in_part = np.where(evenly > 0.0, energy, energy * rng.uniform(1.0, 2.0, 7))
        self.__dict__["_draws"] = _Draws(start, start + length, energy, in_part, evenly)
        self.__dict__["_queue"] = 0.0

    def _queue_reach(self, station: int | None) -> float:
        assert station is not None
        return float(self.reaches[station])

    def over(self, first: float, last: float, start: float, end: float) -> tuple[Array, Array]:
        """Middles of a carrier from one place to another: any of its magnets over a run, and all.

        Midway between two steps, so that no end of a magnet lies on an end of the run.
        """
        middles = np.arange(first, last, STEP) + 0.5 * STEP
        ends = 0.5 * np.array([-self.coupling, self.coupling]) + [-0.075, 0.075]
        rear, front = middles[:, None] + ends.min(), middles[:, None] + ends.max()
        turns = LENGTH * np.arange(-2, 3)
        any_over = ((front > start + turns) & (rear < end + turns)).any(axis=1)
        all_over = ((rear > start + turns) & (front < end + turns)).any(axis=1)
        return any_over, all_over


def runs_of(rng: np.random.Generator) -> tuple[Array, Array]:
    """Runs short enough for no carrier to reach over both of their ends at once."""
    start = rng.uniform(0.0, LENGTH, 12).round(2) + 0.0003
    return start, start + rng.uniform(0.3, LENGTH - 0.8, 12).round(2)


@pytest.mark.parametrize("seed", range(6))
def test_a_run_draws_what_is_drawn_while_magnets_are_over_it(seed: int) -> None:
    """What is even by distance, all of what is not, and what is returned only where all is over."""
    rng = np.random.default_rng([3, seed])
    demand = Known(rng)
    draws, (starts, ends) = demand._draws, runs_of(rng)
    found = demand._mean(starts, ends)
    parts = full = 0
    for row, (start, end) in enumerate(zip(starts, ends, strict=True)):
        energy = slack = 0.0
        for k, evenly in enumerate(draws.evenly):
            some, every = demand.over(draws.start[k], draws.end[k], start, end)
            if evenly > 0.0:
                energy += min(some.sum() * STEP / evenly, 1.0) * draws.energy[k]
                slack += 2.0 * STEP / evenly * draws.energy[k]
                parts += int(0.1 < some.mean() < 0.9)
            elif some.any():
                energy += draws.energy[k] if every.all() else draws.in_part[k]
                full += int(every.all())
        assert found[row] == pytest.approx(energy / TAKT, abs=slack / TAKT + 1e-9)
    assert parts > 1 and full > 1


@pytest.mark.parametrize("seed", range(6))
def test_a_queue_counts_in_every_run_that_it_may_reach(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All queues may stand at one station: each run that any of them reaches gets all of it."""
    rng = np.random.default_rng([5, seed])
    demand, (starts, ends) = Known(rng), runs_of(rng)
    ends = starts + np.minimum(ends - starts, 1.5)
    alone = demand._mean(starts, ends)
    demand.__dict__.update(_queue=6.0, _hop_energy=2.0)
    # A move up that returns nothing takes half as much again.
    monkeypatch.setattr(module, "hop_energy", lambda _setting, recovered: np.array([3.0]))
    queued = (demand._mean(starts, ends) - alone) * TAKT
    reached = [
        any(
            demand.over(at - reach, at, start, end)[0].any()
            for at, reach in zip(demand.at, demand.reaches, strict=True)
        )
        for start, end in zip(starts, ends, strict=True)
    ]
    assert queued == pytest.approx(np.where(reached, 9.0, 0.0))
    assert seed or (any(reached) and not all(reached))


@pytest.mark.parametrize("transition", [0.0, 0.12, 0.5])
def test_a_bend_draws_from_where_its_first_guided_point_enters_to_where_the_last_leaves(
    transition: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The curvature changes while either point is on a transition; points lie half a base apart
    from the middle, before and behind.
    """
    base, straight, bend = 0.3, 1.0, 2.0
    demand: Any = LoopDemand.__new__(LoopDemand)
    option = SimpleNamespace(base=base, bend=SimpleNamespace(transition=transition))
    demand.layout = SimpleNamespace(
        setting=SimpleNamespace(settings=SimpleNamespace(bend_speed=np.array([0.5]))),
        about=SimpleNamespace(option=option),
        on=SimpleNamespace(
            loop=SimpleNamespace(straight=straight, bend=bend, length=2.0 * (straight + bend)),
            overhang=0.5 * base,
        ),
    )
    powers = tuple(np.array([value]) for value in (40.0, 10.0, 20.0))
    monkeypatch.setattr(module, "bend_powers", lambda _: powers)
    rows = demand._bend_draws()
    for k, entry in enumerate((straight, 2.0 * straight + bend)):
        swing_in, swing_out, *steady = rows[3 * k : 3 * k + 3]
        middles = np.arange(entry - 1.0, entry + bend + 1.0, STEP) + 0.5 * STEP
        points = middles[:, None] + np.array([-0.5, 0.5]) * base - entry
        bent = ((points > 0.0) & (points < bend)).any(axis=1)
        # Until the last point is past the transition, and from where the first is on the other.
        entering = bent & (points.min(axis=1) < transition)
        leaving = bent & (points.max(axis=1) > bend - transition)
        for row, within, power in ((swing_in, entering, 40.0), (swing_out, leaving, 20.0)):
            assert row[:2] == pytest.approx((middles[within][0], middles[within][-1]), abs=STEP)
            # As much as is counted for the whole loop: over the longer of the two.
            drawn = power * max(transition, base) / 0.5
            assert row[2:] == pytest.approx((drawn, drawn, 0.0))
        length = bend + base - 2.0 * max(transition, base)
        assert len(steady) == 1 and steady[0][1] - steady[0][0] == pytest.approx(length)
        assert steady[0][2:] == pytest.approx((10.0 * length / 0.5, 10.0 * length / 0.5, length))


@pytest.mark.parametrize(
    ("queue", "free", "expected"),
    [
        (0.0, 9.0, 0.2),  # nobody queues: the second of a batch stands one spacing behind
        (6.0, 1.7, 1.6),  # three moves and one more, two at a time: eight places on the straight
        (6.0, 1.5, 2.4),  # which does not hold them, so that they stand apart as in bends
        (21.0, 1.7, LENGTH),  # never more than the loop
    ],
)
def test_a_queue_reaches_as_far_as_its_carriers_stand(
    queue: float, free: float, expected: float
) -> None:
    demand = object.__new__(LoopDemand)
    about = SimpleNamespace(positions=np.array([2.0]), spacing=0.2, bend_spacing=0.3)
    on = SimpleNamespace(room_to_bends=[[free]], loop=SimpleNamespace(length=LENGTH))
    demand.__dict__.update(
        layout=SimpleNamespace(about=about, on=on), _queue=queue, _hop_energy=2.0
    )
    assert demand._queue_reach(0) == pytest.approx(expected)
    assert demand._queue_reach(None) == 0.0
