"""Why loops that work by themselves are no line together: the floor, the controller, the handovers.

What would have to give is looked for by the choice itself, with one limit of the line changed: the
least floor on which it still chooses, found by halving, and built before it is told.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from recommender.choice.unknown import Unknown
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS, write
from recommender.lines.audit import LineAudit
from recommender.lines.build import Builder
from recommender.lines.candidates import undominated
from recommender.lines.choose import choose
from recommender.lines.decide import LineDecision
from recommender.lines.found import Found
from recommender.lines.result import LineConcession, LineImpasse
from recommender.lines.shared import SIZE_STEPS, ControllerData, Terms

_STEP: Final = 10_000
"""A centimetre, in which a floor is told."""

_MOST_BUILT: Final = 4
_MANY: Final = 10**6
_LIMITS: Final = ("width", "length")


@dataclass(frozen=True)
class _Together:
    """The loops' configurations and what they share but for some limits."""

    decision: LineDecision
    catalogue: Catalogue

    @property
    def terms(self) -> Terms:
        """What is shared, whatever it costs."""
        return replace(self.decision.terms, budget=None)

    def chosen(self, terms: Terms) -> tuple[Found, ...] | None:
        """The cheapest line of all that was found; ``None`` if there is none."""
        loops = self._loops(terms)
        return self._picked(loops, terms, [])

    def works(self, terms: Terms) -> bool:
        """Whether there is any line of what was found."""
        return self.chosen(terms) is not None

    def built(self, terms: Terms) -> LineAudit | None:
        """A line of what was found that is built with other limits; the cheapest first."""
        line = self.decision.line
        changed = {name: getattr(terms, name) for name in _LIMITS}
        room = {
            name: None if steps is None else steps / SIZE_STEPS for name, steps in changed.items()
        }
        line = replace(line, floor=line.floor.model_copy(update=room))
        builder = Builder(line, self.catalogue, terms)
        loops = self._loops(terms)
        without: list[tuple[Found, ...]] = []
        for _ in range(_MOST_BUILT):
            picked = self._picked(loops, terms, without)
            if picked is None:
                return None
            built, _ = builder.build(picked)
            if built is not None:
                return built
            without.append(picked)
        return None

    def _loops(self, terms: Terms) -> list[list[Found]]:
        return [
            [known[k] for k in undominated([found.asks for found in known], terms)]
            for known in self.decision.known
        ]

    def _picked(
        self, loops: list[list[Found]], terms: Terms, without: Sequence[tuple[Found, ...]]
    ) -> tuple[Found, ...] | None:
        asks = [[found.asks for found in entries] for entries in loops]
        places = [
            tuple(
                next(k for k, entry in enumerate(entries) if entry is found)
                for entries, found in zip(loops, picked, strict=True)
            )
            for picked in without
        ]
        try:
            chosen = choose(asks, terms, without=places, lexicographic=False)
        except Unknown:
            return None
        if chosen is None:
            return None
        return tuple(entries[k] for entries, k in zip(loops, chosen.candidates, strict=True))


def apart(decision: LineDecision, catalogue: Catalogue) -> LineImpasse:
    """Why loops that each work by themselves are no line.

    Parameters
    ----------
    decision : LineDecision
        Without a line, though something was found of each loop.
    catalogue : Catalogue
    """
    together = _Together(decision, catalogue)
    works = "Each loop works by itself, but"
    free = replace(together.terms, width=None, length=None)
    if together.works(free):
        return _floor(together, f"{works} side by side they lack floor")
    picked = together.chosen(_commanded(free))
    if picked is not None:
        return _controller(together, picked, f"{works} not beside the others")
    return LineImpasse(
        (tuple(f"handover.{handover.name}.positions" for handover in decision.line.handovers),),
        (),
        (),
        f"{works} not beside the others: no way to settle the direct handovers suits all of them.",
    )


def limited(terms: Terms, name: str, steps: int | None) -> Terms:
    """The same with another limit of the floor, micrometres, or without any."""
    if name == "width":
        return replace(terms, width=steps)
    return replace(terms, length=steps)


def _commanded(terms: Terms) -> Terms:
    return replace(terms, controllers=(ControllerData(_MANY, _MANY, 0),))


def _floor(together: _Together, reason: str) -> LineImpasse:
    """The loops lack floor: how much of one extent would do where the other stays."""
    terms = together.terms
    concessions: list[LineConcession] = []
    told: list[str] = []
    limited = [name for name in _LIMITS if getattr(terms, name) is not None]
    for name in limited:
        found = least_floor(together, name)
        if found is None:
            continue
        needed, price = found
        limit = getattr(terms, name) / SIZE_STEPS
        start, to = (write(value, KINDS["length"]) for value in (limit, needed))
        concessions.append(LineConcession(f"floor.{name}", start, to, price))
        told.append(f"a floor.{name} of {to} instead of {start} would do")
    keys = tuple(f"floor.{name}" for name in limited)
    if not told:
        both = " and ".join(keys)
        return LineImpasse((keys,), (), (), f"{reason}, in {both} at once.")
    conflicts = tuple((entry.key,) for entry in concessions) if len(told) < 2 else (keys,)
    return LineImpasse(conflicts, (), tuple(concessions), f"{reason}; {' or '.join(told)}.")


def least_floor(together: _Together, name: str) -> tuple[float, Decimal] | None:
    """The least extent of floor that would do, in whole centimetres, and the price then.

    ``None`` where the other limit keeps all lines off as well.
    """
    terms = together.terms
    picked = together.chosen(limited(terms, name, None))
    if picked is None:
        return None
    asks = [found.asks for found in picked]
    if name == "width":
        high = sum(entry.across for entry in asks) + (len(asks) - 1) * terms.gap
    else:
        high = max(entry.along for entry in asks)
    low, high = getattr(terms, name) // _STEP, math.ceil(high / _STEP)
    while high - low > 1:
        middle = (low + high) // 2
        if together.works(limited(terms, name, middle * _STEP)):
            high = middle
        else:
            low = middle
    built = together.built(limited(terms, name, high * _STEP))
    return None if built is None else (high * _STEP / SIZE_STEPS, built.price)


def _controller(together: _Together, picked: Sequence[Found], reason: str) -> LineImpasse:
    """No controller commands all loops: how many carriers and sections the cheapest have."""
    carriers, sections = (
        sum(getattr(found.asks, name) for found in picked) for name in ("carriers", "sections")
    )
    largest = max(
        together.catalogue.controller, key=lambda part: (part.max_sections, part.max_carriers)
    )
    names = together.decision.line.names
    begins = [loop.name for loop in together.decision.line.loops if not loop.supplied]
    return LineImpasse(
        (tuple(f"{name}.rate.items" for name in begins or names),),
        (),
        (),
        f"{reason}: one controller commands a line, and none commands {carriers} carriers on"
        f" {sections} sections; the largest, {largest.id}, takes {largest.max_carriers} carriers on"
        f" {largest.max_sections} sections.",
    )
