"""Where loops meet, against rhythms worked out by hand and in closed form."""

from collections.abc import Generator
from typing import Any

import numpy as np
import pytest
import simpy

from recommender.trials.meeting import Meeting


def rhythm(
    shares: tuple[int, ...], takt: float, dwell: float, exchange: float, own: float = 0.0
) -> float:
    """Time from box to box, where carriers of boxes follow each other after so long an exchange.

    Enough carriers wait before each place; how they come there is left out.
    """
    environment = simpy.Environment()
    meeting = Meeting(environment, shares, (0,) * len(shares), takt)
    ended: list[float] = []

    def units() -> Generator[Any, Any, None]:
        while True:
            yield from meeting.give(lambda begun: begun + dwell)

    def boxes(place: int) -> Generator[Any, Any, None]:
        beyond = own if place == len(shares) - 1 else 0.0
        while True:
            _, done = yield from meeting.take(place, lambda begun: begun + beyond)
            if place == len(shares) - 1:
                ended.append(done)
            yield environment.timeout(exchange)

    environment.process(units())
    for place in range(len(shares)):
        environment.process(boxes(place))
    environment.run(until=600.0)
    return float(np.mean(np.diff(ended[20:])))


def test_twelve_bottles_by_hand() -> None:
    """Twelve every 0.5 s, 0.2 s each; the heavy carrier needs 1 s for its exchange.

    One place: 11 x 0.5 s + 0.2 s + 1 s. Two in turn: the exchange is hidden, 12 x 0.5 s.
    """
    assert rhythm((12,), 0.5, 0.2, 1.0) == pytest.approx(6.7)
    assert rhythm((6, 6), 0.5, 0.2, 1.0) == pytest.approx(6.0)


@pytest.mark.parametrize("seed", range(30))
def test_one_place_in_closed_form(seed: int) -> None:
    """A box takes (n - 1) takts, the last dwell, its own dwell and the exchange, or n takts."""
    random = np.random.default_rng(seed)
    count, takt = int(random.integers(1, 12)), float(random.uniform(0.3, 1.0))
    dwell, exchange = (takt * float(random.uniform(0.1, share)) for share in (0.9, 1.5))
    own = float(random.choice([0.0, 0.2]))
    expected = max((count - 1) * takt + dwell + own + exchange, count * takt)
    assert rhythm((count,), takt, dwell, exchange, own) == pytest.approx(expected)


def test_turns_that_no_box_can_have_come_to_are_left_out() -> None:
    environment = simpy.Environment()
    meeting = Meeting(environment, (1, 1), (0, 2), 1.0)
    turns = [next(meeting._turns) for _ in range(8)]
    assert turns == [0, 0, 0, 1, 0, 1, 0, 1]


def test_units_come_no_closer_than_a_takt_after_they_were_held_up() -> None:
    environment = simpy.Environment()
    meeting = Meeting(environment, (2,), (0,), 1.0)
    begun: list[float] = []

    def unit() -> Generator[Any, Any, None]:
        since, _ = yield from meeting.give(lambda start: start + 0.1)
        begun.append(since)

    def box() -> Generator[Any, Any, None]:
        yield environment.timeout(5.0)
        yield from meeting.take(0, lambda start: start)

    for _ in range(2):
        environment.process(unit())
    environment.process(box())
    environment.run(until=20.0)
    assert begun == [5.0, 6.0]
