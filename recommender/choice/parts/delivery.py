"""When an order runs: a chain of steps, each of which begins when the one before has ended."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from recommender.inputs.catalogue import Catalogue

PARTS_STEP = "parts"


class Ordered(Protocol):
    """Something that takes its time to arrive: a part, or a line of a bill."""

    @property
    def id(self) -> str: ...

    @property
    def lead_time(self) -> float: ...


@dataclass(frozen=True)
class Step:
    """One step of a delivery: what it is, how many weeks it takes, and what governs it."""

    what: str
    weeks: float
    governed_by: str


@dataclass(frozen=True)
class Delivery:
    """The steps in their order."""

    steps: tuple[Step, ...]

    @property
    def weeks(self) -> float:
        """From the order to the hand-over."""
        return sum(step.weeks for step in self.steps)

    @property
    def slowest(self) -> str:
        """Id of the part that is waited for longest."""
        return self.steps[0].governed_by


def delivery_of(parts: Iterable[Ordered], catalogue: Catalogue) -> Delivery:
    """All parts side by side until the last has come, then the catalogue's steps one by one.

    Of parts that take equally long the first governs.
    """
    slowest = max(parts, key=lambda part: part.lead_time)
    first = Step(PARTS_STEP, slowest.lead_time, slowest.id)
    rest = (Step(step.description, step.time, step.id) for step in catalogue.delivery_step)
    return Delivery((first, *rest))
