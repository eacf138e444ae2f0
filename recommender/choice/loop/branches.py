"""Which sections hang on which feed, and how far along the bus they lie from it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.loop.demand import LoopDemand
from recommender.choice.loop.ring import Section, run_of
from recommender.choice.parts.configuration import Configuration
from recommender.physics.constants import Array


@dataclass(frozen=True)
class Branch:
    """Neighbouring sections beside a feed, from it outward, all of one supply.

    ``order`` has their places on the ring; ``lengths`` the bus from the middle of each to that of
    the one before it, m, of which the first is the feed's own.
    """

    supply: str
    feed: int
    order: tuple[int, ...]
    lengths: Array
    forward: bool

    @property
    def name(self) -> str:
        """From where to where, sections numbered from 1."""
        return f"from the feed in section {self.feed + 1} to section {self.order[-1] + 1}"

    @property
    def runs(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """What lies beyond each stretch of bus: first section, along the travel, and number."""
        size = len(self.order)
        # The farthest section is the last of a run or its first.
        first = np.array(self.order) if self.forward else np.full(size, self.order[-1])
        return first, size - np.arange(size)


def peaks_beyond(branches: Sequence[Branch], demand: LoopDemand) -> list[Array]:
    """Peak power that runs over each stretch of bus of some branches, W."""
    if not branches:
        return []
    first, count = (
        np.concatenate(parts) for parts in zip(*(b.runs for b in branches), strict=True)
    )
    peaks = demand.peaks_of_runs(first, count)
    return np.split(peaks, np.cumsum([len(branch.order) for branch in branches])[:-1])


def feed_branches(configuration: Configuration, ring: Sequence[Section]) -> Iterator[Branch]:
    """Both branches of every feed; a section that is as near to two feeds hangs on the former.

    Sections that no feed of their supply reaches are left to the check of feeds.
    """
    number = len(ring)
    places = {k % number for k in configuration.electrics.feed_sections}
    for group in configuration.electrics.groups:
        run = run_of(group.first, group.count, number)
        closed = group.count == number
        feeds = [place for place, k in enumerate(run) if k in places]
        for place in feeds:
            for step in (1, -1):
                yield from _branch(group.supply, run, place, feeds, ring, step, closed)


def _branch(
    supply: str,
    run: Sequence[int],
    place: int,
    feeds: Sequence[int],
    ring: Sequence[Section],
    step: int,
    closed: bool,
) -> Iterator[Branch]:
    """The sections on one side of a feed that are nearer to it than to any other."""
    size = len(run)
    # How many sections until the next feed of the run, or to its end.
    ahead = [(step * (other - place)) % size or size for other in feeds]
    if closed:
        gap = min(ahead)
        reach = gap // 2 if step > 0 else (gap - 1) // 2
    else:
        before = [step * (other - place) for other in feeds if step * (other - place) > 0]
        end = size - 1 - place if step > 0 else place
        gap = min(before, default=0)
        reach = (gap // 2 if step > 0 else (gap - 1) // 2) if before else end
    order = [run[(place + step * k) % size] for k in range(1, reach + 1)]
    if order:
        halves = [0.5 * (ring[k].end - ring[k].start) for k in (run[place], *order)]
        lengths = np.array(halves[:-1]) + np.array(halves[1:])
        yield Branch(supply, run[place], tuple(order), lengths, step > 0)
