"""What all options of a case share: ways to build the straights, and electrical parts."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from recommender.choice.parts.builds import Build, builds
from recommender.choice.parts.electrical import ElectricalCatalogue
from recommender.choice.parts.goals import Goal, steps
from recommender.choice.parts.options import Option
from recommender.choice.parts.pricing import Cents, budget_of, offered
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array


@dataclass(frozen=True)
class BuildTable:
    """Ways to build the straights, a row each; prices plain and with lower rail, (rows, 2)."""

    entries: tuple[Build, ...]
    length: Array
    pieces: NDArray[np.int64]
    price: NDArray[np.int64]

    @staticmethod
    def of(entries: tuple[Build, ...]) -> "BuildTable":
        """The table of some builds."""
        return BuildTable(
            entries,
            np.array([entry.length for entry in entries]),
            np.array([entry.pieces for entry in entries], dtype=np.int64),
            np.array([entry.price for entry in entries], dtype=np.int64).reshape(-1, 2),
        )

    @cached_property
    def weeks(self) -> Array:
        """Weeks until all sections are there, plain and with lower rail, (rows, 2)."""
        return np.array([entry.weeks for entry in self.entries], dtype=np.float64).reshape(-1, 2)


@dataclass
class PriceBook:
    """What all options share: ways to build the straights, supplies by number of sections.

    A copy for another case or length shares what it has worked out. ``goal`` is what the choice
    is to have least of.
    """

    case: Case
    catalogue: Catalogue
    longest: float
    goal: Goal = Goal.PRICE
    _tables: dict[tuple[bool, bool, float, Goal], BuildTable] = field(default_factory=dict)
    _electrical: ElectricalCatalogue | None = None

    def __post_init__(self) -> None:
        self.catalogue = offered(self.catalogue, self.case)
        if self._electrical is None:
            self._electrical = ElectricalCatalogue(self.catalogue)

    def table(self) -> BuildTable:
        """All ways to build the straights up to the longest loop, by length."""
        return self._built(0.5 * self.longest)

    def builds(self) -> tuple[Build, ...]:
        """The ways to build the straights one by one."""
        return self.table().entries

    def all_builds(self) -> tuple[Build, ...]:
        """The ways up to the longest loop of the catalogue, whatever the enquiry allows."""
        return self._built(0.5 * max(self.longest, self.catalogue.rules.longest_loop)).entries

    def _built(self, longest: float) -> BuildTable:
        joints = self.case.minds_joints
        pinned = any(s.side != "any" or s.at is not None for s in self.case.sided)
        key = joints, pinned, longest, self.goal
        if key not in self._tables:
            self._tables[key] = BuildTable.of(
                builds(
                    self.catalogue,
                    longest,
                    joints_matter=joints,
                    sides_differ=pinned,
                    weeks_matter=self.goal is Goal.DELIVERY,
                )
            )
        return self._tables[key]

    @property
    def electrical(self) -> ElectricalCatalogue:
        """Supplies, feeds and controllers."""
        assert self._electrical is not None
        return self._electrical

    @cached_property
    def electrical_by_weeks(self) -> tuple[tuple[int, ElectricalCatalogue], ...]:
        """Electrical parts that are there after so many weeks, soonest first; all at once where
        weeks do not matter."""
        if self.goal is not Goal.DELIVERY:
            return ((0, self.electrical),)
        kinds = ("supply", "feed", "controller")
        parts = [part for kind in kinds for part in getattr(self.catalogue, kind)]
        found = []
        for weeks in sorted({part.lead_time for part in parts}):
            catalogue = within_weeks(self.catalogue, weeks)
            if all(getattr(catalogue, kind) for kind in kinds):
                step = int(steps(Goal.DELIVERY, weeks))
                found.append((step, ElectricalCatalogue(catalogue)))
        return tuple(found)

    @property
    def most_spent(self) -> Cents | None:
        """What may be spent, where it is not the price itself that is to be least."""
        return None if self.goal is Goal.PRICE else budget_of(self.case)

    def serves(self, option: Option, build: Build) -> bool:
        """Whether supplies and a controller can be had for so many sections."""
        sections = build.pieces + 2 * option.bend.sections
        return sections <= self.electrical.most_sections


def within_weeks(catalogue: Catalogue, weeks: float) -> Catalogue:
    """The catalogue without electrical parts that take longer."""
    kinds = ("supply", "feed", "controller")
    kept = {
        kind: tuple(part for part in getattr(catalogue, kind) if part.lead_time <= weeks)
        for kind in kinds
    }
    return catalogue.model_copy(update=kept)
