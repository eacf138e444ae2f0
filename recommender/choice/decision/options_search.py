"""The search among the options of a case: at a glance, built, and closely where it matters.

Options come in the order of a rank that they cannot undercut. The choice is known as soon as none
is left that may rank as low; the others are looked at for what they cost.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from recommender.choice.carrier.bodies import batches
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.deadline import Unsettled, late
from recommender.choice.decision.audit import Audit
from recommender.choice.decision.explore import explore, explore_further
from recommender.choice.decision.explored import CLOSE, GLANCE, LOOK, STEADY, Effort, Explored
from recommender.choice.decision.finish import Finished, finish, rank_of
from recommender.choice.decision.option_report import OptionReport, made_gentle
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import Goal, measure_of, worth_finding
from recommender.choice.parts.options import Option
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents, budget_of
from recommender.choice.search.axes import Axes, axes_of
from recommender.choice.search.candidates import Candidate, passes_alone
from recommender.choice.search.price_bound import BuildPrices
from recommender.choice.search.screen import acceleration_ceiling, speed_ceiling

MANY: Final = 400
"""Options beyond which not all of them are explored."""
_AT_ONCE = 24
_AXES_AT_ONCE = 8
_MOST_WAVES = 1
_BUILT_ANYHOW = 3
"""Candidates that are built even if the time is up, so that something can be shown."""


class OptionsSearch:
    """What is found out about the options of a case, the most promising first."""

    def __init__(
        self, price_book: PriceBook, work: Effort, known: "OptionsSearch | None" = None
    ) -> None:
        self.price_book, self.work = price_book, work
        self.explored: dict[str, Explored] = {}
        self._ready: dict[str, Axes] = {}
        self.left: dict[str, int] = {}
        self.cut: set[str] = set()
        self._closely: dict[str, int] = {}
        self.refused: list[Candidate] = [] if known is None else list(known.refused)
        self.best: Finished | None = None
        self._gentle: tuple[Finished, Audit] | None = None
        self.by_price = known
        if known is not None and known.best is not None and not known.best.audit.failures:
            self.best = replace(known.best, rank=rank_of(known.best.audit, price_book))

    def fails(self, option: Option) -> bool:
        """Whether nothing that works was found for an option."""
        other = self.by_price
        return not self.affordable(option.id) and (other is None or other.fails(option))

    def known_of(self, option: Option) -> tuple[Explored | None, PriceBook]:
        """What there is to tell of an option, and what that was searched with.

        Where nothing ranks that may be had, what was found by price.
        """
        if self.by_price is not None and not self.affordable(option.id):
            return self.by_price.known_of(option)
        return self.explored.get(option.id), self.price_book

    @property
    def gentle(self) -> Audit | None:
        """The best with the gentlest motion that it may have."""
        if self.best is None:
            return None
        if self._gentle is None or self._gentle[0] is not self.best:
            axes = self.axes_of(self.best.audit.configuration.option.id)
            self._gentle = self.best, made_gentle(axes, self.best.audit, self.price_book)
        return self._gentle[1]

    def axes_of(self, id_: str) -> Axes:
        """What an option may do that was looked at."""
        if id_ in self.explored or self.by_price is None:
            return self.explored[id_].axes
        return self.by_price.axes_of(id_)

    def with_bounds(self, entry: OptionReport) -> OptionReport:
        """An option with the price that it cannot undercut, and what else it cannot."""
        if self.by_price is None:
            return entry
        id_ = entry.option.id
        price, rank = (found.bound_of(id_) for found in (self.by_price, self))
        return replace(entry, bound=price, least=measure_of(rank) if rank < NEVER else None)

    def bound_of(self, id_: str) -> int:
        """A rank that nothing of an option undercuts."""
        explored = self.explored.get(id_)
        return explored.bound if explored else self.left.get(id_, NEVER)

    def is_left(self, option: Option) -> bool:
        """Whether an option has been left unexplored."""
        return option.id in self.left

    @property
    def bound(self) -> int:
        """A rank that nothing undercuts."""
        bounds = (entry.bound for entry in self.explored.values())
        return min([self.limit, *bounds, *self.left.values()])

    @property
    def open_below_the_best(self) -> bool:
        """Whether nobody has looked at options, or so high, that may rank below what was built."""
        least = min(self.left.values(), default=NEVER)
        return least < self.limit or any(map(self._is_sketched, self.explored.values()))

    def _is_sketched(self, entry: Explored) -> bool:
        return entry.sketched and entry.dropped < self.limit

    @property
    def limit(self) -> int:
        """The rank below which something is worth looking for."""
        return worth_finding(self.price_book.goal, self.best.rank) if self.best else NEVER

    def explore_until_chosen(self, options: Sequence[Option], any_found: bool = False) -> None:
        """Glance at options until none is left that may rank as low as what was found.

        Or until there is ``any_found``; it is gone on with by asking again. What was found and
        could not be built keeps nobody from looking further.
        """
        done = {id_ for id_, entry in self.explored.items() if not self._is_sketched(entry)}
        options = [option for option in options if option.id not in done]
        buildable = (self._buildable(id_) for id_ in self.explored)
        cheapest = min(buildable, default=NEVER) if self.best is None else self.limit
        queue = _in_order(options, self.price_book)
        self.left = {}
        for number, (bound, option) in enumerate(queue):
            if bound > cheapest or (any_found and cheapest < NEVER):
                self.left = {later.id: least for least, later in queue[number:]}
                return
            if option.id not in self._ready:
                # Axes of some options at once take hardly longer than those of one.
                self._make_ready([later for _, later in queue[number : number + _AXES_AT_ONCE]])
            found = self._glance(option, bound, below=cheapest)
            cheapest = min(cheapest, found)

    def _leave(self, options: Sequence[tuple[int, Option]]) -> None:
        """Leave options unexplored, but those of which something was found before."""
        found = {id_ for id_, entry in self.explored.items() if entry.candidates}
        self.left |= {option.id: bound for bound, option in options if option.id not in found}

    def _make_ready(self, options: Sequence[Option]) -> None:
        """Work out the axes of options that have none yet."""
        some = [option for option in options if option.id not in self._ready]
        for axes in axes_of(some, self.price_book.case, self.price_book.catalogue):
            self._ready[axes.about.option.id] = axes

    def explore(self, options: Sequence[Option]) -> None:
        """Glance at the options that were not, by the rank that they cannot undercut.

        At those too of which only what undercuts another was wanted.
        """
        seen = {id_ for id_, entry in self.explored.items() if not entry.sketched}
        options = [option for option in options if option.id not in seen]
        queue, many = _in_order(options, self.price_book), len(options) > MANY
        # Of many options those that cannot work alone are told by the check that says so.
        able = {option.id for _, option in queue}
        self.left = {o.id: NEVER for o in options if o.id not in able} if many else {}
        cheapest = min((entry.best for entry in self.explored.values()), default=NEVER)
        at_once = _AT_ONCE if many else MANY
        for start in range(0, len(queue), at_once):
            some = queue[start : start + at_once]
            if many and some[0][0] > cheapest:
                self._leave(queue[start:])
                return
            self._leave([(bound, o) for bound, o in some if many and bound > cheapest])
            wanted = {o.id: bound for bound, o in some if not many or bound <= cheapest}
            able_ones = [option for _, option in some if option.id in wanted]
            self._make_ready(able_ones)
            for option in able_ones:
                cheapest = min(cheapest, self._glance(option, wanted[option.id]))

    def explore_nearest(self, options: Sequence[Option], nearest: int) -> None:
        """Glance at all options: at the best ``nearest`` besides the choice for what they rank.

        At the others for whether anything of them works. Where there are very many options all are
        explored as `explore` does.
        """
        if len(options) > MANY:
            self.explore(options)
            return
        seen = {id_ for id_, entry in self.explored.items() if not entry.sketched}
        queue = _in_order([o for o in options if o.id not in seen], self.price_book)
        self.left = {}
        self._make_ready([option for _, option in queue])
        for bound, option in queue:
            self._glance(option, bound, self._rank_behind(nearest), LOOK, anything=True)
        # Now that something is known of most, few may be among the nearest. Where waves decide,
        # looking further has refuted nothing and found nothing cheaper.
        for bound, option in queue if self.price_book.case.load.liquid is None else ():
            entry, below = self.explored.get(option.id), self._rank_behind(nearest)
            if entry and entry.sketched and self._may_be_had(entry):
                self._glance(option, bound, self._dear)
                entry = self.explored[option.id]
            if entry and self._may_be_had(entry):
                below = max(below, self._dear)
            if entry and entry.left and (entry.bound < below or not entry.candidates):
                if late(Unsettled.OPTIONS):
                    return
                further = explore_further(entry, self.price_book, self._within(GLANCE), below)
                self._spend(further)
                self.explored[option.id] = further

    @property
    def _dear(self) -> Cents:
        """The least price that is too much; 0 if anything may be spent, or no price is sought."""
        budget = budget_of(self.price_book.case)
        return 0 if budget is None or self.price_book.goal is not Goal.PRICE else budget + 1

    def _may_be_had(self, entry: Explored) -> bool:
        """Whether all that was found of an option is too dear, and less is not ruled out."""
        return bool(entry.candidates) and entry.bound < self._dear <= entry.best

    def _rank_behind(self, nearest: int) -> int:
        """The rank from which on nothing is among the best and so many others, as far as is known.

        What ranks as low as the last of them is, so that its place does not hang on the order.
        """
        ranks = sorted(map(self._cheapest, self.explored))
        return min(ranks[nearest] + 1, NEVER) if nearest < len(ranks) else NEVER

    def _glance(
        self,
        option: Option,
        bound: int,
        below: int = NEVER,
        effort: Effort = GLANCE,
        *,
        anything: bool = False,
    ) -> int:
        """Glance at an option with its bound; the least rank that was found."""
        if late(Unsettled.OPTIONS):
            self.left[option.id] = bound
            self.cut.add(option.id)
            return NEVER
        entry = explore(
            self._ready[option.id],
            self.price_book,
            self._within(effort),
            known=self.explored.get(option.id),
            below=below,
            anything=anything,
        )
        self._spend(entry)
        self.explored[option.id] = entry
        return self._cheapest(option.id)

    def _cheapest(self, id_: str) -> int:
        """The least rank of what was found of an option."""
        return min((candidate.rank for candidate in self.affordable(id_)), default=NEVER)

    def _buildable(self, id_: str) -> int:
        """The least rank of those that were not refused when they were to be built."""
        able = (each for each in self.affordable(id_) if not self._is_refused(each))
        return min((candidate.rank for candidate in able), default=NEVER)

    def _is_refused(self, candidate: Candidate) -> bool:
        return any(candidate is refused for refused in self.refused)

    def by_rank(self, options: Sequence[Option]) -> list[tuple[int, Option]]:
        """Of some options those besides the best of which something was found, with its rank."""
        best = self.best.audit.configuration.option.id if self.best else None
        ranks = [(self._cheapest(option.id), option) for option in options if option.id != best]
        return sorted((entry for entry in ranks if entry[0] < NEVER), key=lambda entry: entry[0])

    def settle(self) -> None:
        """Build the cheapest, and look closely at what may undercut it or was not seen to work."""
        self.build()
        sloshes = self.price_book.case.load.liquid is not None
        entries = self.explored
        # Where waves decide, looking closely is dear: at the cheapest that is known, no further.
        order = sorted(entries, key=lambda id_: (sloshes * entries[id_].best, entries[id_].bound))
        for id_ in order[:_MOST_WAVES] if sloshes else order:
            entry = self.explored[id_]
            # Waves leave most of what is looked at open, however often one looks.
            if sloshes and self._closely.get(id_) == self.limit:
                continue
            unseen = not entry.candidates and not entry.sketched
            below = self.limit
            if self._may_be_had(entry) and not sloshes:
                below = max(below, self._dear)
            if entry.left and (entry.bound < below or unseen):
                effort = self._within(CLOSE if self.price_book.goal.discrete else STEADY)
                self.explored[id_] = explore_further(entry, self.price_book, effort, below)
                self._spend(self.explored[id_])
                self._settle(self.affordable(id_))
                self._closely[id_] = self.limit

    def _within(self, effort: Effort) -> Effort:
        """As close a look as the work allows that is left for all options."""
        return replace(
            effort,
            boxes=min(effort.boxes, self.work.boxes),
            seatings=min(effort.seatings, self.work.seatings),
        )

    def _spend(self, entry: Explored) -> None:
        self.work = replace(
            self.work,
            boxes=max(self.work.boxes - entry.boxes, 0),
            seatings=max(self.work.seatings - entry.seatings, 0),
        )

    def build(self) -> None:
        """Build the cheapest of what was found."""
        self._settle([c for id_ in self.explored for c in self.affordable(id_)])

    def affordable(self, id_: str) -> list[Candidate]:
        """What was found of an option, cheapest first, as far as it counts.

        Where the price is to be least all of it does, whatever may be spent.
        """
        entry, most = self.explored.get(id_), self.price_book.most_spent
        found = entry.candidates if entry else []
        return [candidate for candidate in found if most is None or candidate.price <= most]

    def _settle(self, candidates: Sequence[Candidate]) -> None:
        """Build some candidates, cheapest first, while they may be cheaper than the best."""
        order = sorted(candidates, key=lambda entry: (entry.rank, entry.used))
        for built, candidate in enumerate(order):
            if candidate.rank >= self.limit:
                return
            if built >= _BUILT_ANYHOW and late(Unsettled.SEARCH):
                return
            settled = finish(candidate, self.price_book)
            if settled is None:
                self.refused.append(candidate)
            elif self.best is None or settled.rank < self.best.rank:
                self.best = settled


def _in_order(options: Sequence[Option], price_book: PriceBook) -> list[tuple[int, Option]]:
    """Options that may work, with a rank that they cannot undercut, lowest first."""
    case, catalogue = price_book.case, price_book.catalogue
    able = [o for o in options if passes_alone(OptionContext(o, case, catalogue))]
    found: list[tuple[int, Option]] = []
    for batch in batches(able, case, catalogue.rules):
        acceleration, speed = acceleration_ceiling(batch)[:, 0], speed_ceiling(batch)[:, 0]
        for option, a, v in zip(batch.options, acceleration, speed, strict=True):
            about = OptionContext(option, case, catalogue)
            bound = BuildPrices.of(about, price_book).rough_bound(float(a), float(v), float(v))
            found.append((int(bound.min(initial=NEVER)), option))
    return sorted(found, key=lambda entry: entry[0])
