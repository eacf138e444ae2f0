"""The choice of a line as one constraint model: a candidate of each loop and all that is shared.

A Boolean for each candidate of each loop, one for each controller and kind of carrier, whole
numbers for supplies, cabinets and feeds. The least price is found first, then, at that price, the
fewest supplies, then the first candidate of each loop in turn, the first controller, and supplies
of the first kinds. That leaves one choice, whatever the solver's seed and number of workers.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from recommender.choice.cpsat import Budget
from recommender.choice.parts.pricing import Cents
from recommender.choice.unknown import Unknown
from recommender.lines.shared import Asks, Terms

WORK = 60.0
"""Deterministic seconds of the solver for a choice: far more than any line has taken."""


@dataclass(frozen=True)
class Chosen:
    """The candidate of each loop by its number, the controller, and the pieces of each supply."""

    candidates: tuple[int, ...]
    controller: int
    supplies: tuple[int, ...]
    price: Cents


def choose(
    loops: Sequence[Sequence[Asks]],
    terms: Terms,
    *,
    without: Collection[tuple[int, ...]] = (),
    work: float = WORK,
    workers: int = 1,
    seed: int = 0,
    lexicographic: bool = True,
) -> Chosen | None:
    """The cheapest line, proven; ``None`` if there is none.

    Parameters
    ----------
    loops : sequence of sequence of Asks
        The candidates of each loop.
    terms : Terms
    without : collection of tuple
        Numbers of candidates, one of each loop, that are not to be chosen together.
    work : float
        Deterministic seconds of the solver.
    workers, seed : int
        Threads and random seed of the solver; the choice is the same with any.
    lexicographic : bool
        Whether of equally cheap lines one is to be singled out.

    Raises
    ------
    Unknown
        If that takes more work than is allowed.
    """
    if not loops or not all(loops):
        return None
    model = _Model(loops, terms, without)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = seed
    budget = Budget(work)
    for objective in model.objectives() if lexicographic else [model.price]:
        model.model.minimize(objective)
        status = budget.solve(solver, model.model)
        if status == cp_model.INFEASIBLE:
            return None
        if status != cp_model.OPTIMAL:
            raise Unknown("the time is too short to choose a line")
        model.model.add(objective == solver.value(objective))
    return model.read(solver)


class _Model:
    """Variables and constraints."""

    def __init__(
        self,
        loops: Sequence[Sequence[Asks]],
        terms: Terms,
        without: Collection[tuple[int, ...]],
    ) -> None:
        self.loops, self.terms = loops, terms
        self.model = cp_model.CpModel()
        self.pick = [
            [self.model.new_bool_var(f"loop {number} as {k}") for k in range(len(asks))]
            for number, asks in enumerate(loops)
        ]
        for picks in self.pick:
            self.model.add_exactly_one(picks)
        self.control = [self.model.new_bool_var(f"controller {k}") for k in self._range()]
        self.model.add_exactly_one(self.control)
        self.most = terms.most_supplies * len(loops)
        self.counts = [
            self.model.new_int_var(0, self.most, f"supplies {k}")
            for k in range(len(terms.supplies))
        ]
        self._command()
        self._supply()
        self._stand()
        self._agree()
        for numbers in without:
            self.model.add_bool_or(
                [~picks[number] for picks, number in zip(self.pick, numbers, strict=True)]
            )
        self.price = self._price()
        if terms.budget is not None:
            self.model.add(self.price <= terms.budget)

    def _range(self) -> range:
        return range(len(self.terms.controllers))

    def _sum(self, name: str) -> cp_model.LinearExprT:
        """Sum over the loops of what their candidates ask for."""
        picks = [pick for picks in self.pick for pick in picks]
        values = [getattr(entry, name) for asks in self.loops for entry in asks]
        return cp_model.LinearExpr.weighted_sum(picks, values)

    def _command(self) -> None:
        for asked, limit in (("carriers", "max_carriers"), ("sections", "max_sections")):
            limits = [getattr(part, limit) for part in self.terms.controllers]
            given = cp_model.LinearExpr.weighted_sum(self.control, limits)
            self.model.add(self._sum(asked) <= given)

    def _supply(self) -> None:
        self.model.add(sum(self.counts) <= self.most)
        for asked, limit in (
            ("mean", "mean_power"),
            ("peak", "peak_power"),
            ("sections", "max_sections"),
        ):
            limits = [getattr(part, limit) for part in self.terms.supplies]
            given = cp_model.LinearExpr.weighted_sum(self.counts, limits)
            self.model.add(self._sum(asked) <= given)

    def _stand(self) -> None:
        terms = self.terms
        if terms.width is not None:
            between = (len(self.loops) - 1) * terms.gap
            self.model.add(self._sum("across") + between <= terms.width)
        if terms.length is not None:
            for picks, asks in zip(self.pick, self.loops, strict=True):
                for pick, entry in zip(picks, asks, strict=True):
                    if entry.along > terms.length:
                        self.model.add(pick == 0)

    def _agree(self) -> None:
        """One way to settle what the handovers leave open, which suits all that are chosen."""
        most = max(entry.ways for asks in self.loops for entry in asks).bit_length()
        ways = [self.model.new_bool_var(f"way {k}") for k in range(most)]
        self.model.add_exactly_one(ways)
        for picks, asks in zip(self.pick, self.loops, strict=True):
            for pick, entry in zip(picks, asks, strict=True):
                suits = [way for k, way in enumerate(ways) if entry.ways >> k & 1]
                self.model.add_bool_or(*suits, ~pick)

    def _price(self) -> cp_model.LinearExprT:
        terms, model = self.terms, self.model
        picks = [pick for picks in self.pick for pick in picks]
        entries = [entry for asks in self.loops for entry in asks]
        paid: list[tuple[cp_model.IntVar, int]] = [
            *zip(picks, (entry.own for entry in entries), strict=True),
            *zip(self.control, (part.price for part in terms.controllers), strict=True),
            *zip(self.counts, (part.price for part in terms.supplies), strict=True),
        ]
        for kind in sorted({entry.kind for entry in entries}):
            bought = model.new_bool_var(f"kind {kind}")
            for pick, entry in zip(picks, entries, strict=True):
                if entry.kind == kind:
                    model.add_implication(pick, bought)
            paid.append((bought, terms.kinds[kind]))
        for count, spare in zip(self.counts, terms.supply_spares, strict=True):
            used = model.new_bool_var("kind of supply")
            model.add(count <= self.most * used)
            paid.append((used, spare))
        cabinets = model.new_int_var(1, len(self.loops), "cabinets")
        model.add(terms.most_supplies * cabinets >= sum(self.counts))
        more = model.new_int_var(0, self.most, "more feeds")
        fed = [more, *picks, *self.counts]
        factors = [1, *(entry.feeds for entry in entries), *(-1 for _ in self.counts)]
        model.add(cp_model.LinearExpr.weighted_sum(fed, factors) >= 0)
        paid += [(cabinets, terms.cabinet), (more, terms.feed)]
        variables, prices = [variable for variable, _ in paid], [price for _, price in paid]
        # What is paid once anyway moves no choice, but is part of the price.
        once = model.new_constant(1)
        return cp_model.LinearExpr.weighted_sum([*variables, once], [*prices, terms.once])

    def objectives(self) -> list[cp_model.LinearExprT]:
        """The price, and what singles one out of equally cheap lines."""
        firsts = [
            cp_model.LinearExpr.weighted_sum(picks, list(range(len(picks)))) for picks in self.pick
        ]
        control = cp_model.LinearExpr.weighted_sum(self.control, list(self._range()))
        early = [-1 * count for count in self.counts[:-1]]
        return [self.price, sum(self.counts), *firsts, control, *early]

    def read(self, solver: cp_model.CpSolver) -> Chosen:
        """The choice in plain numbers."""
        return Chosen(
            tuple(
                next(k for k, pick in enumerate(picks) if solver.boolean_value(pick))
                for picks in self.pick
            ),
            next(k for k, part in enumerate(self.control) if solver.boolean_value(part)),
            tuple(solver.value(count) for count in self.counts),
            solver.value(self.price),
        )
