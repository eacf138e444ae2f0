"""Where two loops meet: carriers of units hand over to boxes that stand until their share is there.

It knows no dwell of boxes and no wait: those come out. Units go to the place whose turn it is, each
begins when a box stands there and no sooner than a takt after the one before it, and a box is let
go when its last unit has been handed over.
"""

from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from recommender.trials.simulator import Environment, Event

Work = Callable[[float], float]
"""When a dwell ends that begins at some instant."""


@dataclass
class Meeting:
    """A direct handover while it runs.

    Parameters
    ----------
    environment : Environment
        The clock of both loops.
    shares : sequence of int
        Unit carriers that hand over to a box at each place.
    rounds : sequence of int
        Turns that each place is behind the first one, as a box needs so long from there. At first
        its turns are left out.
    takt : float, s
        Least time from one unit carrier to the next; 0 for none.
    """

    environment: Environment
    shares: Sequence[int]
    rounds: Sequence[int]
    takt: float
    _last: float = -float("inf")
    _missing: list[int] = field(default_factory=list)
    _begun: list[float] = field(default_factory=list)
    _stands: list[Event] = field(default_factory=list)
    _full: list[Event] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._turns = self._in_turn()
        self._missing, self._begun = [0] * len(self.shares), [0.0] * len(self.shares)
        self._stands = [self.environment.event() for _ in self.shares]
        self._full = [self.environment.event() for _ in self.shares]

    def _in_turn(self) -> Iterator[int]:
        """The place of each unit carrier."""
        box = 0
        while True:
            for place, share in enumerate(self.shares):
                if box >= self.rounds[place]:
                    yield from [place] * share
            box += 1

    def give(self, work: Work) -> Generator[Event, Any, tuple[float, float]]:
        """A carrier of units hands over; from when to when."""
        environment, place = self.environment, next(self._turns)
        yield self._stands[place]
        early = self._last + self.takt - environment.now
        if early > 0.0:
            yield environment.timeout(early)
        begun = self._last = environment.now
        if self._missing[place] == self.shares[place]:
            self._begun[place] = begun
        done = work(begun)
        yield environment.timeout(done - begun)
        self._missing[place] -= 1
        if not self._missing[place]:
            # The next box is another one.
            self._stands[place] = environment.event()
            self._full[place].succeed()
        return begun, done

    def take(self, place: int, work: Work) -> Generator[Event, Any, tuple[float, float]]:
        """A box stands until its share is there, and for what it takes beyond that."""
        self._missing[place] = self.shares[place]
        self._full[place] = self.environment.event()
        self._stands[place].succeed()
        yield self._full[place]
        done = work(self.environment.now)
        yield self.environment.timeout(done - self.environment.now)
        return self._begun[place], done
