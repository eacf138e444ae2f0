"""The decision on a line: each loop explored alone, then all together, the cheapest line proven.

Each loop is decided by itself first, as a single one is; the cheapest lines of what was found are
built and audited. Then the boxes of all loops are gone through together until no cheaper line may
be among them, or the work is spent.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Final

from recommender.choice import rounding
from recommender.choice.assemble import assemble
from recommender.choice.boxes.explore import Effort, Explored
from recommender.choice.boxes.gentlest import Fixed, gentlest
from recommender.choice.braking import resistors_for
from recommender.choice.built import layout_of, setting_of
from recommender.choice.configuration import Configuration
from recommender.choice.deadline import Unsettled, late
from recommender.choice.decide import GAP, PROOF, Decision, explored_by_price
from recommender.choice.electrical import NEVER
from recommender.choice.layout import LayoutContext, LoopContext
from recommender.choice.pricing import Cents, offered
from recommender.choice.settle import _loops
from recommender.choice.unknown import Unknown
from recommender.choice.workshop import Workshop
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import LineAudit, audit_line
from recommender.lines.bill import BuiltLine
from recommender.lines.candidates import LeastWith, rests
from recommender.lines.choose import Chosen, choose
from recommender.lines.direct import Turns, Variant, variants
from recommender.lines.found import Found, Version
from recommender.lines.frontier import Frontier
from recommender.lines.model import Line
from recommender.lines.shared import Terms, agrees, bought_for, controller_for, line_price, terms_of
from recommender.lines.supplies import Ring, divide, electrics_of, least_fed
from recommender.physics.arguments import trusted

_WORK: Final = 5.0
_MOST_BUILT: Final = 12
_MOST_ROUNDS: Final = 60
_MORE_BOXES: Final = 300


@dataclass(frozen=True)
class LoopAlone:
    """One case of a loop and what is decided about it by itself."""

    version: Version
    decision: Decision
    explored: dict[str, Explored]
    workshop: Workshop


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
        decision, explored, workshop = explored_by_price(case, catalogue, work=work)
        yield LoopAlone(Version(case, mask), decision, explored, workshop)


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
            workshops = [entry.workshop for entry in loops]
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


class Builder:
    """Puts lines together from what was found of each loop."""

    def __init__(self, line: Line, catalogue: Catalogue, terms: Terms) -> None:
        self.line, self.catalogue, self.terms = line, catalogue, terms
        self.bought = bought_for(line, catalogue)
        self.failed: tuple[str, ...] = ()
        self._placed: dict[int, tuple[Found, list[LoopContext]]] = {}
        self._rings: dict[tuple[int, int], Ring] = {}

    def build(
        self, picked: tuple[Found, ...], at_least: Cents = 0, at_most: Cents = NEVER
    ) -> tuple[LineAudit | None, list[int]]:
        """The cheapest line of some configurations, and which loops pass their audit nowhere.

        Parameters
        ----------
        picked : tuple of Found
        at_least : int
            Cents; what costs no more is good enough.
        at_most : int
            Cents; what costs as much is of no interest.
        """
        self.failed = ()
        asks = [found.asks for found in picked]
        if not agrees(asks):
            self.failed = ("handover",)
            return None, []
        places = [self._loops(found) for found in picked]
        best: LineAudit | None = None
        passes = [False] * len(picked)
        tried = False
        # All seated well, then all as they were tried.
        for number in range(max(map(len, places))):
            chosen = tuple(min(number, len(loops) - 1) for loops in places)
            limit = at_most if best is None else min(best.cents, at_most)
            built = self._built(picked, chosen, limit)
            if built is None:
                continue
            tried = True
            audit = audit_line(built, self.line, self.catalogue)
            passes = [
                before or not loop.failures
                for before, loop in zip(passes, audit.loops, strict=True)
            ]
            failing = [name for name in audit.failures if name != "line.budget"]
            self.failed = tuple(failing)
            if not failing and (best is None or audit.cents < best.cents):
                best = audit
                if best.cents <= at_least:
                    break
        refused = [k for k, good in enumerate(passes) if not good] if tried else []
        return best, refused

    def _loops(self, found: Found) -> list[LoopContext]:
        """Where the stations of a configuration may stand: seated well, and as they were tried."""
        if id(found) not in self._placed:
            self._placed[id(found)] = found, list(_loops(found.candidate, _WORK))
        return self._placed[id(found)][1]

    def _ring(self, found: Found, place: int) -> Ring:
        key = id(found), place
        if key not in self._rings:
            on, candidate = self._loops(found)[place], found.candidate
            self._rings[key] = Ring.of(LayoutContext(on, candidate.setting, candidate.carriers))
        return self._rings[key]

    def _built(
        self, picked: tuple[Found, ...], places: tuple[int, ...], at_most: Cents
    ) -> BuiltLine | None:
        rings = [self._ring(found, place) for found, place in zip(picked, places, strict=True)]
        asks = [found.asks for found in picked]
        number = controller_for(
            self.terms, sum(a.carriers for a in asks), sum(a.sections for a in asks)
        )
        if number is None:
            self.failed = ("line.controller",)
            return None
        # All but supplies and feeds: of these no more is of interest than would still be cheaper.
        fed = sum(least_fed(ring, self.bought) for ring in rings)
        rest = line_price(self.terms, asks, number, ()) - fed
        try:
            division = divide(rings, self.terms, self.bought, at_most=at_most - rest)
        except Unknown:
            return None
        if division is None:
            self.failed = ("line.supply",)
            return None
        controller = self.bought.controller[number].id
        loops, serves = [], []
        for number, (found, place) in enumerate(zip(picked, places, strict=True)):
            electrics, served = electrics_of(division, number, self.bought, controller)
            on, candidate = self._loops(found)[place], found.candidate
            built = assemble(on, candidate.setting.settings, candidate.carriers, electrics)
            loops.append(self._braked(built, on.about.case, len(picked)))
            serves.append(served)
        return BuiltLine(
            self.line.names,
            tuple(found.case for found in picked),
            tuple(loops),
            tuple(self.bought.supply[kind].id for kind in division.kinds),
            tuple(serves),
            controller,
        )

    def _braked(self, built: Configuration, case: Case, loops: int) -> Configuration:
        """With brake resistors for a part of a DC link only, as supplies may be shared."""
        catalogue = offered(self.catalogue, case)
        kind, pieces = resistors_for(
            built.option, case, catalogue, built.loop.straight, built.carriers, loops=loops
        )
        bought = ((catalogue.brake_resistor[int(kind)].id, int(pieces)),) if pieces else ()
        return replace(built, resistors=bought)

    def softened(self, known: LineAudit, number: int, explored: Explored) -> LineAudit | None:
        """The same line with one loop moving as gently as it can; ``None`` if it cannot."""
        built = known.built
        loop, serves = built.loops[number], built.serves[number]
        setting = setting_of(explored.axes.about, loop.motion)
        on = layout_of(loop, setting).on
        parts = {part.id: part for part in self.bought.supply}
        mean = peak = 0.0
        for supply in set(serves):
            load, part = known.supplies[supply], parts[built.supplies[supply]]
            own = [
                powers
                for powers, served in zip(known.loops[number].loop.run_powers, serves, strict=True)
                if served == supply
            ]
            mean += part.mean_power - load.mean + sum(powers[0] for powers in own)
            peak += part.peak_power - load.peak + sum(powers[1] for powers in own)
        fixed = Fixed(
            on,
            loop.carriers,
            int(rounding.capacity(mean, "power")),
            int(rounding.capacity(peak, "power")),
        )
        gentle = gentlest(explored.axes, fixed, setting)
        moved = assemble(on, gentle.settings, loop.carriers, loop.electrics)
        moved = replace(moved, resistors=loop.resistors)
        loops = (*built.loops[:number], moved, *built.loops[number + 1 :])
        audit = audit_line(replace(built, loops=loops), self.line, self.catalogue)
        return None if [n for n in audit.failures if n != "line.budget"] else audit
