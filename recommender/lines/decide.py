"""The decision on a line: each loop explored alone, then all together, the cheapest line proven.

Each loop is decided by itself first, as a single one is; the cheapest lines of what was found are
built and audited. Then the boxes of all loops are gone through together until no cheaper line may
be among them, or the work is spent.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Final

from recommender.choice.deadline import Unsettled, late
from recommender.choice.decision.decide import PROOF, explored_by_price
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.explored import Effort, Explored
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import GAP
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents
from recommender.choice.unknown import Unknown
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import LineAudit, audit_line
from recommender.lines.build import Builder
from recommender.lines.candidates import LeastWith, rests
from recommender.lines.choose import Chosen, choose
from recommender.lines.direct import Turns, Variant, variants
from recommender.lines.found import Found, Version
from recommender.lines.frontier import Frontier
from recommender.lines.model import Line
from recommender.lines.shared import Terms, terms_of
from recommender.physics.arguments import trusted

_MOST_BUILT: Final = 12
_MOST_ROUNDS: Final = 60
_MORE_BOXES: Final = 300


@dataclass(frozen=True)
class LoopAlone:
    """One case of a loop and what is decided about it by itself."""

    version: Version
    decision: Decision
    explored: dict[str, Explored]
    price_book: PriceBook


@dataclass(frozen=True)
class LineDecision:
    """The proven choice of a line; ``chosen`` is ``None`` if there is none.

    No line costs less than ``bound``, cents; the choice is ``optimal`` if its price lies within
    half a per cent of that, as for a single loop. The budget is no matter of the search: where the
    cheapest line exceeds it, its audit says so, and it is ``cheapest`` but not chosen. ``alone``
    has each loop's cases, ``found`` what each may contribute, and ``known`` all that was found of
    it, dominated or not.
    """

    line: Line
    terms: Terms
    variants: tuple[Variant, ...]
    alone: tuple[tuple[LoopAlone, ...], ...]
    found: tuple[tuple[Found, ...], ...]
    known: tuple[tuple[Found, ...], ...]
    cheapest: LineAudit | None
    picked: tuple[Found, ...]
    bound: Cents
    price: Cents

    @property
    def chosen(self) -> LineAudit | None:
        """The cheapest line, if it is paid for."""
        return None if self.cheapest is None or self.cheapest.failures else self.cheapest

    @property
    def optimal(self) -> bool:
        """Whether nothing is cheaper by more than half a per cent."""
        return self.cheapest is not None and self.bound >= (1.0 - GAP) * self.price

    @property
    def turns(self) -> tuple[Turns, ...]:
        """How the direct handovers of the cheapest line work."""
        if not self.picked:
            return ()
        return self.variants[way_of(self.picked)].turns


def way_of(picked: Sequence[Found]) -> int:
    """Number of the first way to settle the handovers that suits all loops."""
    ways = reduce(lambda a, b: a & b, (found.asks.ways for found in picked))
    return (ways & -ways).bit_length() - 1


def decide_line(line: Line, catalogue: Catalogue, *, work: Effort = PROOF) -> LineDecision:
    """Choose a line.

    Parameters
    ----------
    line : Line
    catalogue : Catalogue
    work : Effort
        For each loop by itself, as for a single one.

    Raises
    ------
    RuntimeError
        If the choice does not pass its audit: a fault of ours.
    """
    ways = variants(line, catalogue)
    alone = tuple(tuple(_alone(line, name, ways, catalogue, work)) for name in line.names)
    return joined(line, catalogue, ways, alone)


def _alone(
    line: Line, name: str, ways: Sequence[Variant], catalogue: Catalogue, work: Effort
) -> Iterator[LoopAlone]:
    """Each case of a loop, decided once, with the ways in which it is asked."""
    cases: list[Case] = []
    masks: list[int] = []
    for number, variant in enumerate(ways):
        case = variant.cases[name]
        place = next((k for k, known in enumerate(cases) if known is case), None)
        if place is None:
            cases.append(case)
            masks.append(1 << number)
        else:
            masks[place] |= 1 << number
    for case, mask in zip(cases, masks, strict=True):
        decision, explored, price_book = explored_by_price(case, catalogue, work=work)
        yield LoopAlone(Version(case, mask), decision, explored, price_book)


def joined(
    line: Line,
    catalogue: Catalogue,
    ways: tuple[Variant, ...],
    alone: tuple[tuple[LoopAlone, ...], ...],
) -> LineDecision:
    """The decision on a line whose loops are decided by themselves."""
    terms = replace(terms_of(line, catalogue), budget=None)
    with trusted():
        search = _Search(line, catalogue, terms, alone)
        search.run()
    cheapest = search.best
    if cheapest is not None:
        # With every argument checked again: an answer that fails here is never shown.
        cheapest = audit_line(cheapest.built, line, catalogue)
        wrong = [name for name in cheapest.failures if name != "line.budget"]
        if wrong or cheapest.cents != search.price:
            raise RuntimeError(f"the line fails in its audit: {', '.join(wrong) or 'its price'}")
    return LineDecision(
        line,
        terms_of(line, catalogue),
        ways,
        alone,
        tuple(tuple(frontier.found) for frontier in search.frontiers),
        tuple(tuple(frontier.known) for frontier in search.frontiers),
        cheapest,
        search.picked,
        search.bound,
        search.price if cheapest is not None else 0,
    )


class _Search:
    """The best line that is known, and what may be cheaper."""

    def __init__(
        self,
        line: Line,
        catalogue: Catalogue,
        terms: Terms,
        alone: Sequence[Sequence[LoopAlone]],
    ) -> None:
        self.line, self.catalogue, self.terms = line, catalogue, terms
        self.builder = Builder(line, catalogue, terms)
        self.frontiers = []
        for loops in alone:
            versions = [entry.version for entry in loops]
            workshops = [entry.price_book for entry in loops]
            explored = [entry.explored for entry in loops]
            frontier = Frontier(len(alone), versions, workshops, explored, terms)
            for version in range(len(loops)):
                frontier.begin(version)
            frontier.tidy()
            self.frontiers.append(frontier)
        self.best: LineAudit | None = None
        self.picked: tuple[Found, ...] = ()
        self.price = NEVER
        self.without: list[tuple[Found, ...]] = []
        self.floor = NEVER

    def run(self) -> None:
        """Build the cheapest lines of what is known, and narrow down what may be cheaper.

        Where a line was found that is dearer to build than to look at, boxes that promise no less
        than it did cannot better the bound. They are looked at last, and not for long: only where
        the choice is not proven, in case one of them can be built.
        """
        self.settle()
        self._rounds(lambda: min(self.price, self.floor))
        if self.best is not None and self.bound < (1.0 - GAP) * self.price:
            for frontier in self.frontiers:
                frontier.most_boxes = frontier.boxes + _MORE_BOXES
            self._rounds(lambda: self.price)
        for number in range(len(self.frontiers)):
            self._narrow(number)
        if self.best is not None:
            self._soften()

    def _rounds(self, below: Callable[[], Cents]) -> None:
        for _ in range(_MOST_ROUNDS):
            changed = False
            for number, frontier in enumerate(self.frontiers):
                self._narrow(number)
                changed = frontier.divide(below()) or changed
            if not changed or late(Unsettled.SEARCH):
                return
            self.settle()

    def _narrow(self, number: int) -> None:
        others = [f.vectors for k, f in enumerate(self.frontiers) if k != number]
        bound = LeastWith(len(self.frontiers), rests(others, self.terms), self.terms)
        self.frontiers[number].narrow(bound, self.price)

    @property
    def bound(self) -> Cents:
        """A price that no line undercuts."""
        least = min((frontier.least_open for frontier in self.frontiers), default=NEVER)
        return min(self.price, self.floor, least)

    def settle(self) -> None:
        """Build lines of what was found, cheapest first, while they may be cheaper."""
        for _ in range(_MOST_BUILT):
            if self.best is not None and late(Unsettled.SEARCH):
                break
            chosen = self._next()
            if chosen is None or chosen.price >= self.price:
                return
            picked = tuple(
                frontier.found[k]
                for frontier, k in zip(self.frontiers, chosen.candidates, strict=True)
            )
            self.without.append(picked)
            built, refused = self.builder.build(picked, chosen.price, self.price)
            if built is not None and built.cents < self.price:
                self.best, self.picked, self.price = built, picked, built.cents
            if built is None or built.cents > chosen.price:
                self.floor = min(self.floor, chosen.price)
            for number in refused:
                self.frontiers[number].remove(picked[number])
        chosen = self._next()
        if chosen is not None:
            self.floor = min(self.floor, chosen.price)

    def _next(self) -> Chosen | None:
        places = [{id(f): k for k, f in enumerate(fr.found)} for fr in self.frontiers]
        without = [
            tuple(place[id(f)] for place, f in zip(places, picked, strict=True))
            for picked in self.without
            if all(id(f) in place for place, f in zip(places, picked, strict=True))
        ]
        asks = [frontier.asks for frontier in self.frontiers]
        try:
            return choose(asks, self.terms, without=without)
        except Unknown:
            # Nothing is known then of what may be cheaper.
            self.floor = 0
            return None

    def _soften(self) -> None:
        """Let each loop move as gently as its carriers and what its supplies have left allow."""
        assert self.best is not None
        for number, found in enumerate(self.picked):
            moved = self.builder.softened(self.best, number, self._explored(number, found))
            if moved is not None and moved.cents == self.price:
                self.best = moved

    def _explored(self, number: int, found: Found) -> Explored:
        return self.frontiers[number].explored[found.version][found.candidate.on.about.option.id]
