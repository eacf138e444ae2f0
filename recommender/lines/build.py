"""Puts lines together from what was found of each loop: supplies, feeds, controller, resistors."""

from dataclasses import replace
from typing import Final

from recommender.choice.decision.explored import Explored
from recommender.choice.decision.finish import _loops
from recommender.choice.decision.gentlest import Fixed, gentlest
from recommender.choice.loop.assemble import assemble
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.parts import rounding
from recommender.choice.parts.braking import resistors_for
from recommender.choice.parts.configuration import Configuration
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.pricing import Cents, offered
from recommender.choice.unknown import Unknown
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.lines.audit import LineAudit, audit_line
from recommender.lines.bill import BuiltLine
from recommender.lines.found import Found
from recommender.lines.model import Line
from recommender.lines.shared import Terms, agrees, bought_for, controller_for, line_price
from recommender.lines.supplies import Ring, divide, electrics_of, least_fed

_WORK: Final = 5.0


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
