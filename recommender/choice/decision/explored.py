"""What is known about one option, and how closely it is looked at."""

from dataclasses import dataclass, field, replace

from recommender.choice.deadline import Unsettled, late
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import Goal, worth_finding
from recommender.choice.search.axes import Axes
from recommender.choice.search.bound import Bounded
from recommender.choice.search.candidates import Candidate


@dataclass(frozen=True)
class Effort:
    """How closely an option is looked at, counted in work and not in time.

    ``boxes`` may be looked at and stations be seated ``seatings`` times before the rest is left as
    it is. Boxes that are as small as boxes get are seated one by one only if it is ``close``.
    """

    boxes: int
    seatings: int
    close: bool = True

    def part(self, share: float) -> "Effort":
        """A share of it."""
        return replace(self, boxes=round(share * self.boxes))


LOOK = Effort(boxes=0, seatings=0, close=False)
GLANCE = Effort(boxes=2000, seatings=3, close=False)
CLOSE = Effort(boxes=20_000, seatings=60)
STEADY = Effort(boxes=10_000, seatings=40)
"""What is looked at closely where there are no steps: all that is near to the least is alike."""


@dataclass
class Explored:
    """What is known about an option.

    ``candidates`` are configurations that hold where stations were tried, cheapest first; ``left``
    are boxes, build by build, that might hold something cheaper elsewhere, or were not reached.
    Only what ranks ``below`` a number was looked for, or ``anything`` while nothing was found; the
    least that was dropped for that alone is ``dropped``. That nothing ranks below ``floor`` was
    known before.
    """

    axes: Axes
    effort: Effort
    candidates: list[Candidate] = field(default_factory=list)
    left: list[Bounded] = field(default_factory=list)
    boxes: int = 0
    seatings: int = 0
    goal: Goal = Goal.PRICE
    below: int = NEVER
    anything: bool = False
    dropped: int = NEVER
    floor: int = 0

    @property
    def sloshes(self) -> bool:
        """Whether waves decide which settings hold: neither corner of a box tells, nor any other.

        Then no box is refuted by its corners, and a sample of settings is looked at.
        """
        return self.axes.about.case.load.liquid is not None

    @property
    def spent(self) -> bool:
        """Whether no more boxes may be looked at."""
        return self.boxes >= self.effort.boxes or late(Unsettled.SEARCH)

    @property
    def seated_out(self) -> bool:
        """Whether no more stations may be seated."""
        return self.seatings >= self.effort.seatings or late(Unsettled.SEARCH)

    @property
    def best(self) -> int:
        """The least rank that was found."""
        return min((candidate.rank for candidate in self.candidates), default=NEVER)

    @property
    def limit(self) -> int:
        """The rank that another must stay below to be the option's best."""
        return worth_finding(self.goal, self.best)

    @property
    def wanted(self) -> int:
        """The rank that another must stay below to be worth looking for."""
        if self.anything and not self.candidates:
            return NEVER
        return min(self.limit, self.below)

    @property
    def sketched(self) -> bool:
        """Whether there may be something better that nobody looked for."""
        return self.dropped < self.limit

    def drop(self, rank: int) -> None:
        """Take down that what may rank so low was not looked at, if nobody wanted it."""
        self.dropped = min(self.dropped, rank)

    def kept(self, some: Bounded) -> Bounded:
        """The boxes among some that are worth looking at; the least of the others is taken down."""
        self.drop(int(some.rank[some.rank >= self.wanted].min(initial=NEVER)))
        return some.below(self.wanted)

    @property
    def bound(self) -> int:
        """A rank that nothing undercuts, as far as is known."""
        least = min([self.limit, self.dropped, *(entry.least for entry in self.left)])
        return max(self.floor, least)

    def tidy(self) -> "Explored":
        """The same with the cheapest first, and without what cannot be cheaper."""
        self.left = [left for entry in self.left if len((left := entry.below(self.limit)).rank)]
        self.candidates.sort(key=lambda candidate: (candidate.rank, candidate.used))
        return self
