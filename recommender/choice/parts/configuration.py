"""One configuration, complete: what is built, how it moves, what feeds it."""

from collections import Counter
from dataclasses import dataclass

from recommender.choice.parts.options import Option
from recommender.choice.parts.placement import Loop, Placement


@dataclass(frozen=True)
class Motion:
    """How the carriers move: acceleration, jerk, top speed and bend speed, SI."""

    acceleration: float
    jerk: float
    speed: float
    bend_speed: float


@dataclass(frozen=True)
class Group:
    """A supply and the run of neighbouring sections that it serves.

    Sections are counted along the travel from the start of the front straight, those of the bends
    included; a run may go on past the last one to the first.
    """

    supply: str
    first: int
    count: int


@dataclass(frozen=True)
class Electrics:
    """Supplies with their sections, the sections that carry a feed, and the controller."""

    groups: tuple[Group, ...]
    feed: str
    feed_sections: tuple[int, ...]
    controller: str

    @property
    def supplies(self) -> tuple[tuple[str, int], ...]:
        """Pieces of each supply."""
        return tuple(Counter(group.supply for group in self.groups).items())

    @property
    def feeds(self) -> tuple[tuple[str, int], ...]:
        """Pieces of the feed."""
        return ((self.feed, len(self.feed_sections)),)


@dataclass(frozen=True)
class Configuration:
    """Everything that is decided for one loop.

    ``front`` and ``back`` hold the ids of the straight sections along the travel, ``resistors`` the
    pieces of each brake resistor.
    """

    option: Option
    front: tuple[str, ...]
    back: tuple[str, ...]
    loop: Loop
    placement: Placement
    motion: Motion
    carriers: int
    electrics: Electrics
    resistors: tuple[tuple[str, int], ...] = ()

    @property
    def straights(self) -> tuple[tuple[str, int], ...]:
        """Pieces of each straight section on both sides together."""
        return tuple(Counter((*self.front, *self.back)).items())

    @property
    def sections(self) -> int:
        """Motor sections of the whole loop: straights of both sides and those of two bends."""
        return len(self.front) + len(self.back) + 2 * self.option.bend.sections
