"""One configuration, complete: what is built, how it moves, what feeds it."""

from dataclasses import dataclass

from recommender.choice.options import Option
from recommender.choice.placement import Loop, Placement


@dataclass(frozen=True)
class Motion:
    """How the carriers move: acceleration, jerk, top speed and bend speed, SI."""

    acceleration: float
    jerk: float
    speed: float
    bend_speed: float


@dataclass(frozen=True)
class Electrics:
    """Supplies and feeds by id, and the controller; counts are pieces."""

    supplies: tuple[tuple[str, int], ...]
    feeds: tuple[tuple[str, int], ...]
    controller: str


@dataclass(frozen=True)
class Configuration:
    """Everything that is decided for one loop.

    ``straights`` holds the pieces of each straight section on one side, ``order`` their ids along
    the travel; both sides are alike.
    """

    option: Option
    straights: tuple[tuple[str, int], ...]
    order: tuple[str, ...]
    loop: Loop
    placement: Placement
    motion: Motion
    carriers: int
    electrics: Electrics

    @property
    def sections(self) -> int:
        """Motor sections of the whole loop: straights of both sides and those of two bends."""
        return 2 * sum(count for _, count in self.straights) + 2 * self.option.bend.sections
