"""What was decided about a case: every option, the choice, and what nothing undercuts."""

from dataclasses import dataclass

from recommender.choice.decision.audit import Audit
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.goals import GAP, Goal
from recommender.choice.parts.pricing import Cents


@dataclass(frozen=True)
class Least:
    """What a choice has of a goal that is not the price, and what nothing undercuts, in steps.

    ``cheapest`` is what would be chosen by price, as far as it was found, and ``at_least`` a price
    that nothing undercuts, cents.
    """

    goal: Goal
    value: int
    bound: int
    cheapest: Audit | None = None
    at_least: Cents = 0

    @property
    def optimal(self) -> bool:
        """Whether nothing has less: nothing at all, or of energy nothing by more than `GAP`."""
        share = 0.0 if self.goal.discrete else GAP
        return self.bound >= (1.0 - share) * self.value


@dataclass(frozen=True)
class Decision:
    """Every option in the catalogue's order, and the proven choice.

    ``bound`` is a price that nothing undercuts, cents; the choice is ``optimal`` if it lies within
    `GAP` of that. Where something else was to be ``least``, nothing that has no more of it costs
    less than ``bound``, which is 0 where that is not known. A choice ``so_far`` is something that
    works, while what may be cheaper is still being looked for.
    """

    looked: tuple[OptionReport, ...]
    chosen: Audit | None
    bound: Cents
    price: Cents
    least: Least | None = None
    so_far: bool = False

    @property
    def goal(self) -> Goal:
        """What was to be least."""
        return self.least.goal if self.least else Goal.PRICE

    @property
    def optimal(self) -> bool:
        """Whether the choice is proven."""
        if self.least is not None:
            return self.least.optimal
        return self.bound >= (1.0 - GAP) * self.price
