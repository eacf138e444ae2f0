"""Which runs of sections the supplies serve and which sections carry a feed, as a constraint model.

A Boolean for each section and supply says whether a run that this supply serves begins there. How
far a supply can serve from there follows from the powers of the runs, which do not add up over
sections and are worked out before: some other run must begin in time. All numbers are whole.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from recommender.choice.cpsat import Budget
from recommender.choice.loop.ring import feed_distances, least_feeds, run_of
from recommender.choice.parts.pricing import Cents
from recommender.choice.solver import cp_model
from recommender.choice.supplies.data import FeedData, SupplyData
from recommender.choice.unknown import Unknown

_BITS = 4
"""Booleans whose order is settled in one solve, as the digits of one whole number."""


@dataclass(frozen=True)
class Run:
    """A run of sections and a supply that can serve it.

    ``used`` is what the run takes of the supply, in hundredths: the largest share of any limit.
    """

    first: int
    count: int
    supply: int
    used: int


@dataclass(frozen=True)
class FeedingInstance:
    """A ring of sections, by whether each takes a feed, with the runs that may be served.

    At most ``most_supplies`` runs are picked. The runs of no division of the ring come below
    ``together``, mean and peak power in milliwatts. Nothing dearer than ``at_most`` is looked for,
    and nothing is known to cost less than ``at_least``.
    """

    takes_feed: tuple[bool, ...]
    runs: tuple[Run, ...]
    supplies: tuple[SupplyData, ...]
    feeds: tuple[FeedData, ...]
    most_supplies: int
    together: tuple[int, int] = (0, 0)
    at_least: Cents = 0
    at_most: Cents | None = None


@dataclass(frozen=True)
class Feeding:
    """The runs and the sections with a feed of one kind; their price, and whether it is least."""

    runs: tuple[Run, ...]
    feed: int
    places: tuple[int, ...]
    price: Cents
    proven: bool


class _OutOfTimeError(Exception):
    """The solver ended before it knew."""


def solve_feeding(
    instance: FeedingInstance, *, work: float = 10.0, workers: int = 1, seed: int = 0
) -> Feeding | None:
    """The cheapest runs and feeds.

    Among equally cheap ones the one with fewest supplies, then fewest feeds; then the one whose
    most used supply is used least; then the one whose feeds are nowhere farther apart than need be;
    then runs, and last feeds, as early on the ring as can be. That leaves one, whatever the
    solver's seed and number of workers.

    Parameters
    ----------
    instance : FeedingInstance
    work : float
        When it has passed, the best that is known is given.
    workers, seed : int
        Threads and random seed of the solver.

    Returns
    -------
    Feeding or None
        ``None`` if there is none.

    Raises
    ------
    Unknown
        If the time is too short to find any.
    """
    if not instance.runs or not any(instance.takes_feed):
        return None
    search = _Search(instance, Budget(work), workers, seed)
    try:
        search.cheapest()
        search.least_used()
        search.most_even()
        search.earliest()
    except _OutOfTimeError:
        if search.best is None:
            raise Unknown("the time is too short to find any supplies and feeds") from None
    return search.best


class _Search:
    """One criterion after the other; the model is built anew where runs or feeds get narrower."""

    def __init__(self, instance: FeedingInstance, budget: Budget, workers: int, seed: int) -> None:
        self.instance = instance
        self.budget = budget
        self.solver = cp_model.CpSolver()
        self.solver.parameters.num_workers = workers
        self.solver.parameters.random_seed = seed
        self.best: Feeding | None = None
        self.proven = False
        self.pieces = 0

    def cheapest(self) -> None:
        """Price first, then pieces: a supply more outweighs any number of feeds."""
        model = _Model(self.instance)
        if self._solve(model, model.weighed) and self.best is not None:
            self.pieces = self.solver.value(model.weighed)

    def least_used(self) -> None:
        """Halve the span in which the use of the most used supply must lie."""
        if self.best is None or len(self.best.runs) == 1:
            return
        high = max(run.used for run in self.best.runs)
        low = 0
        while low < high:
            middle = (low + high) // 2
            runs = tuple(run for run in self.instance.runs if run.used <= middle)
            if self._holds(replace(self.instance, runs=runs)):
                high = max(run.used for run in self.best.runs)
            else:
                low = middle + 1
        runs = tuple(run for run in self.instance.runs if run.used <= high)
        self.instance = replace(self.instance, runs=runs)

    def most_even(self) -> None:
        """Let feeds reach less far as long as their number and price stay."""
        if self.best is None:
            return
        size = len(self.instance.takes_feed)
        while True:
            farthest = max(feed_distances(self.best.places, size))
            if farthest <= -(-size // len(self.best.places)):
                break
            feeds = tuple(
                FeedData(min(feed.max_sections, farthest - 1), feed.price)
                for feed in self.instance.feeds
            )
            narrower = replace(self.instance, feeds=feeds)
            if not self._holds(narrower):
                break
        feeds = tuple(
            FeedData(min(feed.max_sections, farthest), feed.price) for feed in self.instance.feeds
        )
        self.instance = replace(self.instance, feeds=feeds)

    def earliest(self) -> None:
        """Runs, then feeds, as early as can be."""
        if self.best is None:
            return
        model = self._held(self.instance)
        for objective in model.early(several=len(self.best.runs) > 1):
            self._solve(model, objective)
            model.model.add(objective <= self.solver.value(objective))

    def _held(self, instance: FeedingInstance) -> "_Model":
        """The model with price and pieces as they are."""
        model = _Model(instance)
        model.model.add(model.weighed == self.pieces)
        if self.best is not None:
            model.hint(self.best)
        return model

    def _holds(self, instance: FeedingInstance) -> bool:
        return bool(instance.runs) and self._solve(self._held(instance), None)

    def _solve(self, model: "_Model", objective: cp_model.LinearExprT | None) -> bool:
        """Solve and remember; false if there is no solution."""
        if objective is not None:
            model.model.minimize(objective)
        status = self.budget.solve(self.solver, model.model)
        if status == cp_model.INFEASIBLE:
            return False
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.proven = self.proven or status == cp_model.OPTIMAL
            self.best = model.read(self.solver, proven=self.proven)
        if status != cp_model.OPTIMAL:
            raise _OutOfTimeError
        return True


class _Model:
    """Variables and constraints."""

    def __init__(self, instance: FeedingInstance) -> None:
        self.instance = instance
        self.model = cp_model.CpModel()
        self.size = len(instance.takes_feed)
        self.used = {(run.first, run.supply, run.count): run.used for run in instance.runs}
        self.begin = {
            key: self.model.new_bool_var(f"supply {key[1]} from {key[0]}")
            for key in sorted({(run.first, run.supply) for run in instance.runs})
        }
        self.kind = [self.model.new_bool_var(f"feed {k}") for k in range(len(instance.feeds))]
        places = [index for index, takes in enumerate(instance.takes_feed) if takes]
        self.put = {place: self.model.new_bool_var(f"feed on {place}") for place in places}
        self.starts = [self._start(section) for section in range(self.size)]
        self._serve_everything()
        self._feed_everything()
        self._feed_every_run()
        self._cover_together()
        self.weighed = self._price_and_pieces()

    def _start(self, section: int) -> cp_model.IntVar:
        """Whether a run begins at a section; one supply at most serves from there."""
        start = self.model.new_bool_var(f"run from {section}")
        here = [variable for (first, _), variable in self.begin.items() if first == section]
        self.model.add_exactly_one(*here, ~start)
        return start

    def _serve_everything(self) -> None:
        """Some run begins, and each ends where its supply can still serve it."""
        self.model.add_bool_or(self.starts)
        self.model.add(sum(self.starts) <= self.instance.most_supplies)
        farthest: dict[tuple[int, int], int] = {}
        for first, supply, count in self.used:
            farthest[first, supply] = max(farthest.get((first, supply), 0), count)
        for (first, supply), most in farthest.items():
            begun = self.begin[first, supply]
            if most < self.size:
                ahead = run_of(first + 1, most, self.size)
                self.model.add_bool_or(*(self.starts[k] for k in ahead), ~begun)
            # A shorter run takes more only where braking energy returns; it must not end there.
            for count in range(1, most):
                if (first, supply, count) not in self.used:
                    between = run_of(first + 1, count - 1, self.size)
                    following = self.starts[(first + count) % self.size]
                    self.model.add_bool_or(*(self.starts[k] for k in between), ~following, ~begun)

    def _feed_everything(self) -> None:
        """One kind of feed, and among as many neighbours as it reaches one that carries it."""
        self.model.add_exactly_one(self.kind)
        for feed, kind in zip(self.instance.feeds, self.kind, strict=True):
            for first in range(self.size):
                window = run_of(first, min(feed.max_sections, self.size), self.size)
                self.model.add_bool_or(*self._on(window), ~kind)

    def _feed_every_run(self) -> None:
        """A feed in each run; a run as long as feeds are apart has one anyhow."""
        farthest = max(feed.max_sections for feed in self.instance.feeds)
        for first, start in enumerate(self.starts):
            for count in range(1, min(farthest, self.size)):
                following = self.starts[(first + count) % self.size]
                inside = self._on(run_of(first, count, self.size))
                self.model.add_bool_or(*inside, ~start, ~following)

    def _cover_together(self) -> None:
        """All supplies together cover what the whole ring asks for: follows from the runs, but
        spares the solver finding that out."""
        supplies = self.instance.supplies
        counts = [
            self.model.new_int_var(0, self.instance.most_supplies, f"supplies {k}")
            for k in range(len(supplies))
        ]
        for supply, count in enumerate(counts):
            begun = [variable for (_, kind), variable in self.begin.items() if kind == supply]
            self.model.add(count == sum(begun))
        asked = (*self.instance.together, self.size)
        for field, least in zip(("mean_power", "peak_power", "max_sections"), asked, strict=True):
            limits = [getattr(part, field) for part in supplies]
            self.model.add(cp_model.LinearExpr.weighted_sum(counts, limits) >= least)

    def _on(self, sections: Sequence[int]) -> list[cp_model.IntVar]:
        return [self.put[section] for section in sections if section in self.put]

    def _price_and_pieces(self) -> cp_model.IntVar:
        """Price, and far below a cent the number of supplies, and below that of feeds."""
        instance, size = self.instance, self.size
        scale = (size + 1) * (instance.most_supplies + 1)
        feeds = self.model.new_int_var(0, size, "feeds")
        self.model.add(feeds == sum(self.put.values()))
        self.model.add(feeds >= sum(self.starts))
        counts = []
        for feed, kind in zip(instance.feeds, self.kind, strict=True):
            count = self.model.new_int_var(0, size, f"feeds of {feed.price}")
            self.model.add(count == feeds).only_enforce_if(kind)
            self.model.add(count == 0).only_enforce_if(~kind)
            least = least_feeds(instance.takes_feed, feed.max_sections)
            if least is not None:
                self.model.add(feeds >= least).only_enforce_if(kind)
            counts.append(count)
        price = cp_model.LinearExpr.weighted_sum(
            [*self.begin.values(), *counts],
            [
                *(instance.supplies[supply].price for _, supply in self.begin),
                *(feed.price for feed in instance.feeds),
            ],
        )
        dearest = instance.most_supplies * max(part.price for part in instance.supplies)
        dearest += size * max(feed.price for feed in instance.feeds)
        most = dearest if instance.at_most is None else instance.at_most
        weighed = self.model.new_int_var(
            scale * instance.at_least, scale * most + scale - 1, "price and pieces"
        )
        self.model.add(weighed == scale * price + (size + 1) * sum(self.starts) + feeds)
        return weighed

    def early(self, *, several: bool) -> Iterator[cp_model.LinearExpr]:
        """Objectives that, one after the other, leave one solution."""
        if len(self.instance.feeds) > 1:
            yield cp_model.LinearExpr.weighted_sum(self.kind, list(range(len(self.kind))))
        if several:
            yield from _early(self.starts)
        if len(self.instance.supplies) > 1:
            by_supply = sorted(self.begin, key=lambda key: (key[0], key[1]))
            yield from _early([self.begin[key] for key in by_supply])
        yield from _early(list(self.put.values()))

    def hint(self, known: Feeding) -> None:
        """Begin the search from a solution."""
        begun = {(run.first, run.supply) for run in known.runs}
        for key, variable in self.begin.items():
            self.model.add_hint(variable, key in begun)
        for place, variable in self.put.items():
            self.model.add_hint(variable, place in known.places)

    def read(self, solver: cp_model.CpSolver, *, proven: bool) -> Feeding:
        """The solution in plain numbers."""
        kind = next(k for k, used in enumerate(self.kind) if solver.boolean_value(used))
        begun = [key for key, variable in self.begin.items() if solver.boolean_value(variable)]
        lengths = feed_distances([first for first, _ in begun], self.size)
        runs = tuple(
            Run(first, count, supply, self.used[first, supply, count])
            for (first, supply), count in zip(begun, lengths, strict=True)
        )
        places = tuple(k for k, variable in self.put.items() if solver.boolean_value(variable))
        price = sum(self.instance.supplies[run.supply].price for run in runs)
        price += len(places) * self.instance.feeds[kind].price
        return Feeding(runs, kind, places, price, proven)


def _early(marks: Sequence[cp_model.IntVar]) -> Iterator[cp_model.LinearExpr]:
    """Objectives that, one after the other, set marks as early as can be."""
    for begin in range(0, len(marks), _BITS):
        part = list(marks[begin : begin + _BITS])
        weights = [-(1 << (len(part) - 1 - k)) for k in range(len(part))]
        yield cp_model.LinearExpr.weighted_sum(part, weights)
