"""Which supplies serve which runs of sections in all loops of a line, and where feeds lead in.

A supply serves one run of neighbouring sections in each loop at most, and of all its runs together
no more than it may give and reach: loops know nothing of each other, so that their peaks may come
at the same instant. Each run has a feed of its own. Sets of supplies are tried by rising price:
first with whole loops on one supply each, then with loops divided, by a constraint model.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations_with_replacement, product

import numpy as np
from ortools.sat.python import cp_model

from recommender.choice.cpsat import Budget
from recommender.choice.loop.demand import LoopDemand
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.ring import least_feeds, run_of
from recommender.choice.parts.configuration import Electrics, Group
from recommender.choice.parts.pricing import Cents
from recommender.choice.supplies.data import FeedData, SupplyData, feed_data
from recommender.choice.supplies.model import FeedingInstance, Run, solve_feeding
from recommender.choice.unknown import Unknown
from recommender.inputs.catalogue import Catalogue
from recommender.lines.shared import Terms, supplies_price

_WORK = 20.0
_FINE = 1 << 30


@dataclass(frozen=True)
class Served:
    """A run of sections of a loop and the number of the supply that serves it."""

    loop: int
    first: int
    count: int
    supply: int


@dataclass(frozen=True)
class Ring:
    """The sections of one loop, by whether each takes a feed, and what runs of them draw.

    ``mean`` and ``peak`` are milliwatts by first section and number less one, (size, size).
    """

    takes_feed: tuple[bool, ...]
    mean: np.ndarray
    peak: np.ndarray

    @staticmethod
    def of(layout: LayoutContext) -> "Ring":
        """The ring of a finished loop."""
        demand = LoopDemand(layout)
        takes = tuple(section.takes_feed for section in demand.sections)
        size = len(takes)
        first, count = np.divmod(np.arange(size * size), size)
        mean, peak = demand.whole_steps(first, count + 1)
        shape = size, size
        whole = demand.whole_steps(np.array([0]), np.array([size]))
        table = mean.reshape(shape).copy(), peak.reshape(shape).copy()
        # All sections are one and the same run, wherever it begins.
        table[0][:, -1], table[1][:, -1] = int(whole[0][0]), int(whole[1][0])
        return Ring(takes, *table)

    @property
    def size(self) -> int:
        """Number of sections."""
        return len(self.takes_feed)

    def least_feeds(self, feeds: Sequence[FeedData]) -> tuple[Cents, int] | None:
        """Price and kind of the cheapest feeds of one run; ``None`` if none reach all of it."""
        return min(
            (
                (count * part.price, kind)
                for kind, part in enumerate(feeds)
                if (count := least_feeds(self.takes_feed, part.max_sections)) is not None
            ),
            default=None,
        )

    @cached_property
    def in_two(self) -> tuple[int, int]:
        """Least mean and least peak power that any two runs come to together."""
        size = self.size
        if size < 2:
            return int(self.mean[0, -1]), int(self.peak[0, -1])
        first, count = (x.ravel() for x in np.meshgrid(np.arange(size), np.arange(1, size)))
        rest = (first + count) % size, size - count - 1
        mean, peak = (
            (table[first, count - 1] + table[rest]).min() for table in (self.mean, self.peak)
        )
        return int(mean), int(peak)


def least_fed(ring: Ring, catalogue: Catalogue) -> Cents:
    """What the feeds of a loop cost at least."""
    found = ring.least_feeds(feed_data(catalogue))
    return found[0] if found is not None else 0


@dataclass(frozen=True)
class Division:
    """Supplies by their kinds, the runs that each serves, and the feeds of each loop."""

    kinds: tuple[int, ...]
    runs: tuple[Served, ...]
    feeds: tuple[tuple[int, tuple[int, ...]], ...]
    price: Cents


def divide(
    rings: Sequence[Ring],
    terms: Terms,
    catalogue: Catalogue,
    *,
    at_most: Cents | None = None,
    workers: int = 1,
    seed: int = 0,
) -> Division | None:
    """The cheapest supplies and feeds for some loops together.

    Of equally cheap ones that with fewest supplies, then that with most of the first kinds.

    Parameters
    ----------
    rings : sequence of Ring
    terms : Terms
    catalogue : Catalogue
        What is bought.
    at_most : int, optional
        Cents; nothing that costs as much or more is of interest.
    workers, seed : int
        Of the solver; what is found does not depend on them.

    Returns
    -------
    Division or None
        ``None`` if nothing serves them below that price.

    Raises
    ------
    Unknown
        If the work was too little to know.
    """
    feeds = feed_data(catalogue)
    return _Dividing(rings, terms, feeds, workers, seed).run(at_most)


class _Dividing:
    """Goes through sets of supplies by rising price."""

    def __init__(
        self,
        rings: Sequence[Ring],
        terms: Terms,
        feeds: tuple[FeedData, ...],
        workers: int,
        seed: int,
    ) -> None:
        self.rings, self.terms, self.feeds = rings, terms, feeds
        self.workers, self.seed = workers, seed
        self.budget = Budget(_WORK)

    @cached_property
    def least(self) -> list[tuple[Cents, int]] | None:
        """The cheapest feeds of each loop, if it is all one run."""
        found = [ring.least_feeds(self.feeds) for ring in self.rings]
        known = [entry for entry in found if entry is not None]
        return known if len(known) == len(found) else None

    def run(self, at_most: Cents | None) -> Division | None:
        if self.least is None:
            return None
        fed = sum(price for price, _ in self.least)
        best: Division | None = None
        for price, kinds in self._sets():
            limit = at_most if best is None else best.price
            if limit is not None and price + fed >= limit:
                break
            found = self._whole(kinds, price) or self._divided(kinds, price)
            if found is not None and (limit is None or found.price < limit):
                best = found
        return best

    def _sets(self) -> list[tuple[Cents, tuple[int, ...]]]:
        """All that give enough together, with their price: cheapest, fewest, then first kinds."""
        supplies, size = self.terms.supplies, len(self.terms.supplies)
        asked = (
            sum(int(ring.mean[0, -1]) for ring in self.rings),
            sum(int(ring.peak[0, -1]) for ring in self.rings),
            sum(ring.size for ring in self.rings),
        )
        found = []
        for number in range(1, self.terms.most_supplies * len(self.rings) + 1):
            for kinds in combinations_with_replacement(range(size), number):
                if all(
                    sum(getattr(supplies[kind], name) for kind in kinds) >= least
                    for name, least in zip(_LIMITS, asked, strict=True)
                ):
                    counts = [kinds.count(kind) for kind in range(size)]
                    found.append((supplies_price(self.terms, counts), number, kinds))
        return [(price, kinds) for price, _, kinds in sorted(found)]

    def _whole(self, kinds: tuple[int, ...], price: Cents) -> Division | None:
        """Each loop on one of the supplies, the first way that serves them all."""
        if len(kinds) > len(self.rings):
            return None
        parts = [self.terms.supplies[kind] for kind in kinds]
        left = [[getattr(part, name) for name in _LIMITS] for part in parts]
        places = self._placed(kinds, left, [])
        return None if places is None else self._on(kinds, places, price)

    def _placed(
        self, kinds: tuple[int, ...], left: list[list[int]], places: list[int]
    ) -> list[int] | None:
        """The loops that follow some on supplies with so much left; each serves one at least."""
        if len(places) == len(self.rings):
            return places if len(set(places)) == len(kinds) else None
        unused = len(kinds) - len(set(places))
        if unused > len(self.rings) - len(places):
            return None
        ring = self.rings[len(places)]
        drawn = int(ring.mean[0, -1]), int(ring.peak[0, -1]), ring.size
        for number, room in enumerate(left):
            if any(value > most for value, most in zip(drawn, room, strict=True)):
                continue
            after = [most - value for value, most in zip(drawn, room, strict=True)]
            rest = [*left[:number], after, *left[number + 1 :]]
            found = self._placed(kinds, rest, [*places, number])
            if found is not None:
                return found
        return None

    def _on(self, kinds: tuple[int, ...], places: Sequence[int], price: Cents) -> Division:
        assert self.least is not None
        runs, feeds = [], []
        for loop, (ring, place) in enumerate(zip(self.rings, places, strict=True)):
            runs.append(Served(loop, 0, ring.size, place))
            kind = self.least[loop][1]
            feeds.append((kind, self._places(ring, kind)))
            price += self.least[loop][0]
        return Division(kinds, tuple(runs), tuple(feeds), price)

    def _places(self, ring: Ring, kind: int) -> tuple[int, ...]:
        """Feeds of one run as a single loop has them: as even as can be, then early."""
        everything = SupplyData(1, 1, ring.size, 0)
        instance = FeedingInstance(
            ring.takes_feed, (Run(0, ring.size, 0, 0),), (everything,), (self.feeds[kind],), 1
        )
        fed = solve_feeding(instance, workers=self.workers, seed=self.seed)
        assert fed is not None
        return fed.places

    def _divided(self, kinds: tuple[int, ...], price: Cents) -> Division | None:
        if len(kinds) < 2 or not self._may_divide(kinds):
            return None
        return _DivisionModel(self, kinds).solve(price)

    def _may_divide(self, kinds: tuple[int, ...]) -> bool:
        """Whether supplies give enough for some loop in two runs and the others whole.

        More runs come to no less, as each counts what happens at its ends.
        """
        parts = [self.terms.supplies[kind] for kind in kinds]
        for axis, name in enumerate(("mean", "peak")):
            given = sum(getattr(part, f"{name}_power") for part in parts)
            whole = [int(getattr(ring, name)[0, -1]) for ring in self.rings]
            more = [
                ring.in_two[axis] - drawn for ring, drawn in zip(self.rings, whole, strict=True)
            ]
            if sum(whole) + min(more) > given:
                return False
        return True


class _DivisionModel:
    """Loops divided among some supplies: a Boolean for each run and supply that may serve it."""

    def __init__(self, dividing: _Dividing, kinds: tuple[int, ...]) -> None:
        self.dividing, self.kinds = dividing, kinds
        self.rings, self.feeds = dividing.rings, dividing.feeds
        self.model = cp_model.CpModel()
        self.serve = {
            key: self.model.new_bool_var(f"run {key}")
            for loop, ring in enumerate(self.rings)
            for key in self._able(loop, ring)
        }
        self._cover()
        self._give()
        self.kind = [[self.model.new_bool_var("kind") for _ in self.feeds] for _ in self.rings]
        self.put = [
            {k: self.model.new_bool_var("feed") for k, takes in enumerate(ring.takes_feed) if takes}
            for ring in self.rings
        ]
        for loop in range(len(self.rings)):
            self._feed(loop)

    def _able(self, loop: int, ring: Ring) -> Iterator[Served]:
        for first, count in product(range(ring.size), range(1, ring.size + 1)):
            if count == ring.size and first:
                continue
            for number, kind in enumerate(self.kinds):
                part = self.dividing.terms.supplies[kind]
                if (
                    count <= part.max_sections
                    and ring.mean[first, count - 1] <= part.mean_power
                    and ring.peak[first, count - 1] <= part.peak_power
                ):
                    yield Served(loop, first, count, number)

    def _cover(self) -> None:
        """Each section in one run, each supply in one run of each loop at most, and in some."""
        for loop, ring in enumerate(self.rings):
            over: list[list[cp_model.IntVar]] = [[] for _ in range(ring.size)]
            for key, variable in self.serve.items():
                if key.loop == loop:
                    for section in run_of(key.first, key.count, ring.size):
                        over[section].append(variable)
            for variables in over:
                self.model.add_exactly_one(variables)
            for number in range(len(self.kinds)):
                self.model.add_at_most_one(
                    variable
                    for key, variable in self.serve.items()
                    if key.loop == loop and key.supply == number
                )
            mine = [variable for key, variable in self.serve.items() if key.loop == loop]
            self.model.add(sum(mine) <= self.dividing.terms.most_supplies)
        for number in range(len(self.kinds)):
            self.model.add_bool_or(v for key, v in self.serve.items() if key.supply == number)

    def _give(self) -> None:
        for number, kind in enumerate(self.kinds):
            part = self.dividing.terms.supplies[kind]
            mine = [(key, v) for key, v in self.serve.items() if key.supply == number]
            variables = [variable for _, variable in mine]
            for limit, drawn in (
                (part.mean_power, [int(self._of(key, "mean")) for key, _ in mine]),
                (part.peak_power, [int(self._of(key, "peak")) for key, _ in mine]),
                (part.max_sections, [key.count for key, _ in mine]),
            ):
                total = cp_model.LinearExpr.weighted_sum(variables, drawn)
                self.model.add(total <= limit)

    def _of(self, key: Served, name: str) -> int:
        return int(getattr(self.rings[key.loop], name)[key.first, key.count - 1])

    def _feed(self, loop: int) -> None:
        """One kind of feed, one within its reach everywhere, and one in each run."""
        ring, put = self.rings[loop], self.put[loop]
        self.model.add_exactly_one(self.kind[loop])
        for part, kind in zip(self.feeds, self.kind[loop], strict=True):
            for first in range(ring.size):
                window = run_of(first, min(part.max_sections, ring.size), ring.size)
                self.model.add_bool_or(*(put[k] for k in window if k in put), ~kind)
        for key, variable in self.serve.items():
            if key.loop == loop:
                inside = run_of(key.first, key.count, ring.size)
                self.model.add_bool_or(*(put[k] for k in inside if k in put), ~variable)

    def _price(self) -> cp_model.LinearExprT:
        counts, prices = [], []
        for ring, kinds, put in zip(self.rings, self.kind, self.put, strict=True):
            for part, kind in zip(self.feeds, kinds, strict=True):
                count = self.model.new_int_var(0, ring.size, "feeds")
                self.model.add(count >= sum(put.values()) - ring.size * (1 - kind))
                counts.append(count)
                prices.append(part.price)
        return cp_model.LinearExpr.weighted_sum(counts, prices)

    def solve(self, price: Cents) -> Division | None:
        """The cheapest feeds of all divisions; of equal ones one by weights that tell all apart."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = self.dividing.workers
        solver.parameters.random_seed = self.dividing.seed
        fed = self._price()
        marks = [*self.serve.values(), *(v for put in self.put for v in put.values())]
        marks += [variable for kinds in self.kind for variable in kinds]
        # Fixed weights, as good as never the same for two sets of marks: they leave one division.
        weights = np.random.default_rng(1).integers(1, _FINE, size=len(marks)).tolist()
        runs = list(self.serve.values())
        for objective in (fed, sum(runs), cp_model.LinearExpr.weighted_sum(marks, weights)):
            self.model.minimize(objective)
            status = self.dividing.budget.solve(solver, self.model)
            if status == cp_model.INFEASIBLE:
                return None
            if status != cp_model.OPTIMAL:
                raise Unknown("the time is too short to divide the loops among supplies")
            self.model.add(objective == round(solver.objective_value))
        return self._read(solver, price)

    def _read(self, solver: cp_model.CpSolver, price: Cents) -> Division:
        runs = tuple(key for key, v in self.serve.items() if solver.boolean_value(v))
        feeds = []
        for kinds, put in zip(self.kind, self.put, strict=True):
            kind = next(k for k, v in enumerate(kinds) if solver.boolean_value(v))
            places = tuple(k for k, v in put.items() if solver.boolean_value(v))
            price += len(places) * self.feeds[kind].price
            feeds.append((kind, places))
        return Division(self.kinds, runs, tuple(feeds), price)


_LIMITS = ("mean_power", "peak_power", "max_sections")


def electrics_of(
    division: Division, loop: int, catalogue: Catalogue, controller: str
) -> tuple[Electrics, tuple[int, ...]]:
    """The electrical parts of one loop, and for each of its runs the number of its supply."""
    runs = sorted((run for run in division.runs if run.loop == loop), key=lambda run: run.first)
    kind, places = division.feeds[loop]
    groups = tuple(
        Group(catalogue.supply[division.kinds[run.supply]].id, run.first, run.count) for run in runs
    )
    electrics = Electrics(groups, catalogue.feed[kind].id, places, controller)
    return electrics, tuple(run.supply for run in runs)
