"""The choice as a constraint model, to compare with: the cheapest set of carriers and loop.

What an option, a straight length and a motion setting together ask for (carriers, power) is worked
out beforehand and handed over as candidates, all whole numbers. The model picks one candidate and
decides which straight sections make up its length, which supplies, feeds and controller serve it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from recommender.choice.parts.pricing import Cents
from recommender.choice.supplies.data import FeedData, SupplyData


@dataclass(frozen=True)
class Asked:
    """What an option asks for on straights of one length, moving in one way.

    ``length`` of one side in micrometres, or 0 if the straights are settled and counted in
    ``fixed_sections`` and ``price`` like the bends; powers in milliwatts, without the idle power of
    sections that are still to be decided; ``price`` in cents: everything but supplies, feeds,
    controller and straights to be decided. Among equal prices the lowest ``rank`` wins.
    """

    length: int
    lower_guide: bool
    carriers: int
    fixed_sections: int
    mean_power: int
    peak_power: int
    price: Cents
    rank: int


@dataclass(frozen=True)
class StraightData:
    """A straight section: length in micrometres, price of one plain and with rail."""

    length: int
    price: tuple[Cents, Cents]


@dataclass(frozen=True)
class ControllerData:
    """A controller and what it commands."""

    max_carriers: int
    max_sections: int
    price: Cents


@dataclass(frozen=True)
class Instance:
    """All data of one choice, ready; the model prepares nothing."""

    candidates: tuple[Asked, ...]
    straights: tuple[StraightData, ...]
    supplies: tuple[SupplyData, ...]
    feeds: tuple[FeedData, ...]
    controllers: tuple[ControllerData, ...]
    most_supplies: int
    section_idle_power: int


@dataclass(frozen=True)
class Choice:
    """What the model chose: indices into the instance, counts by index, and the proof.

    ``front`` and ``back`` are pieces of each straight; none where the candidate settles them.
    """

    candidate: int
    front: tuple[int, ...]
    back: tuple[int, ...]
    supplies: tuple[int, ...]
    feed: int
    feeds: int
    controller: int
    price: Cents
    bound: Cents
    optimal: bool


def choose(instance: Instance, time_limit: float = 60.0) -> Choice | None:
    """Solve the model.

    Parameters
    ----------
    instance : Instance
    time_limit : float, s

    Returns
    -------
    Choice or None
        ``None`` if no candidate can be built.
    """
    if not instance.candidates:
        return None
    built = _Model(instance)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.max_time_in_seconds = time_limit
    status = solver.solve(built.model)
    if status == cp_model.INFEASIBLE:
        return None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise RuntimeError(f"the solver ended with {solver.status_name(status)}")
    return built.read(solver, optimal=status == cp_model.OPTIMAL)


class _Model:
    """Variables of the model; each method adds one kind of constraint."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        self.model = cp_model.CpModel()
        self.pick = [self.model.new_bool_var(f"pick {k}") for k in range(len(instance.candidates))]
        self.model.add_exactly_one(self.pick)
        # By side and lower rail.
        self.straights = {
            (side, rail): self._add_straights(side, lower_guide=rail)
            for side in ("front", "back")
            for rail in (False, True)
        }
        self.pieces = [count for counts in self.straights.values() for count in counts]
        self._break_symmetry()
        self.sections = cp_model.LinearExpr.sum([self._picked("fixed_sections"), *self.pieces])
        self.supplies = self._add_supplies()
        self.feeds = self._add_feeds()
        self.controller = self._add_controllers()
        # One more than any rank, so that a rank never outweighs a cent.
        self.scale = 1 + max(candidate.rank for candidate in instance.candidates)
        self.model.minimize(self._price_and_rank())

    def _picked(self, field: str) -> cp_model.LinearExpr:
        values = [getattr(candidate, field) for candidate in self.instance.candidates]
        return cp_model.LinearExpr.weighted_sum(self.pick, values)

    def _add_straights(self, side: str, *, lower_guide: bool) -> list[cp_model.IntVar]:
        """Pieces on one side; lengths must add up to that of the candidate, if it is this kind."""
        lengths = [
            candidate.length if candidate.lower_guide == lower_guide else 0
            for candidate in self.instance.candidates
        ]
        longest = max(lengths)
        counts = [
            self.model.new_int_var(0, longest // part.length, f"{side} straight {k}")
            for k, part in enumerate(self.instance.straights)
        ]
        total = cp_model.LinearExpr.weighted_sum(
            counts, [part.length for part in self.instance.straights]
        )
        self.model.add(total == cp_model.LinearExpr.weighted_sum(self.pick, lengths))
        return counts

    def _break_symmetry(self) -> None:
        """Of two sides that differ the one with more pieces stands in front."""
        for rail in (False, True):
            front, back = self.straights["front", rail], self.straights["back", rail]
            self.model.add(sum(front) >= sum(back))

    def _add_supplies(self) -> list[cp_model.IntVar]:
        most = self.instance.most_supplies
        parts = self.instance.supplies
        counts = [self.model.new_int_var(0, most, f"supply {k}") for k in range(len(parts))]

        def total(field: str) -> cp_model.LinearExpr:
            return cp_model.LinearExpr.weighted_sum(counts, [getattr(p, field) for p in parts])

        idle = self.instance.section_idle_power * sum(self.pieces)
        self.model.add(sum(counts) <= most)
        self.model.add(total("mean_power") >= self._picked("mean_power") + idle)
        self.model.add(total("peak_power") >= self._picked("peak_power") + idle)
        self.model.add(total("max_sections") >= self.sections)
        return counts

    def _add_feeds(self) -> list[tuple[cp_model.IntVar, cp_model.IntVar]]:
        """For each kind of feed whether it is the one used, and how many."""
        most = max(
            self.instance.most_supplies,
            *(self._most_sections() // feed.max_sections + 1 for feed in self.instance.feeds),
        )
        chosen = []
        for k, feed in enumerate(self.instance.feeds):
            used = self.model.new_bool_var(f"feed {k} used")
            count = self.model.new_int_var(0, most, f"feed {k}")
            self.model.add(count == 0).only_enforce_if(~used)
            self.model.add(count * feed.max_sections >= self.sections).only_enforce_if(used)
            self.model.add(count >= sum(self.supplies)).only_enforce_if(used)
            chosen.append((used, count))
        self.model.add_exactly_one(used for used, _ in chosen)
        return chosen

    def _add_controllers(self) -> list[cp_model.IntVar]:
        parts = self.instance.controllers
        used = [self.model.new_bool_var(f"controller {k}") for k in range(len(parts))]
        self.model.add_exactly_one(used)
        for field, asked in (
            ("max_carriers", self._picked("carriers")),
            ("max_sections", self.sections),
        ):
            most = cp_model.LinearExpr.weighted_sum(used, [getattr(p, field) for p in parts])
            self.model.add(most >= asked)
        return used

    def _most_sections(self) -> int:
        shortest = min(part.length for part in self.instance.straights)
        return max(c.fixed_sections + 2 * c.length // shortest for c in self.instance.candidates)

    def _price_and_rank(self) -> cp_model.LinearExpr:
        data = self.instance
        priced = (
            *(
                (count, part.price[rail])
                for (_, rail), counts in self.straights.items()
                for count, part in zip(counts, data.straights, strict=True)
            ),
            *zip(self.supplies, (part.price for part in data.supplies), strict=True),
            *zip((n for _, n in self.feeds), (part.price for part in data.feeds), strict=True),
            *zip(self.controller, (part.price for part in data.controllers), strict=True),
        )
        counts = [count for count, _ in priced]
        weights = [self.scale * price for _, price in priced]
        picks = [self.scale * candidate.price + candidate.rank for candidate in data.candidates]
        return cp_model.LinearExpr.weighted_sum([*self.pick, *counts], [*picks, *weights])

    def read(self, solver: cp_model.CpSolver, *, optimal: bool) -> Choice:
        """The solution in plain numbers."""
        feed = next(k for k, (used, _) in enumerate(self.feeds) if solver.boolean_value(used))
        # The solver hands whole numbers over as floats that may lie a hair below them.
        price = round(solver.objective_value) // self.scale
        return Choice(
            candidate=_which(solver, self.pick),
            front=self._side(solver, "front"),
            back=self._side(solver, "back"),
            supplies=tuple(solver.value(count) for count in self.supplies),
            feed=feed,
            feeds=solver.value(self.feeds[feed][1]),
            controller=_which(solver, self.controller),
            price=price,
            bound=price if optimal else int(solver.best_objective_bound // self.scale),
            optimal=optimal,
        )

    def _side(self, solver: cp_model.CpSolver, side: str) -> tuple[int, ...]:
        plain, railed = self.straights[side, False], self.straights[side, True]
        return tuple(solver.value(a) + solver.value(b) for a, b in zip(plain, railed, strict=True))


def _which(solver: cp_model.CpSolver, booleans: Sequence[cp_model.IntVar]) -> int:
    return next(k for k, chosen in enumerate(booleans) if solver.boolean_value(chosen))
