"""Search for the edge of one number: where an option begins to work, to a step that reads well."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, TypeAlias

from recommender.choice.pricing import Cents
from recommender.explain.asking import Asking, Question, Reply
from recommender.explain.requirements import Number, Situation
from recommender.explain.scale import Concession, Scale, Steps

Passes: TypeAlias = Callable[[Situation], bool]

_NEAR: Final = 0.012
"""Logarithm of the ratio of two ends from which on whole steps are tried between them."""

_EXACTLY: Final = 1e-7

_ASIDE: Final = 0.004
"""How far beside an expected edge is asked, as a share of the value, so that both ends close in."""

_FINE: Final = 1e-3
"""Step of an edge that only checks of the option alone make."""

_NOTHING: Final = 2e-3
"""Share of what is asked below which only the lax end 0 is left."""


@dataclass(frozen=True)
class NumberEdge:
    """Magnitudes on both sides of an edge, and the price on the one that works."""

    works: float
    fails: float
    price: Cents | None


@dataclass(frozen=True)
class _Probe:
    """One number of a situation, asked for at different magnitudes."""

    scale: Scale
    situation: Situation
    passes: Passes

    def ask(self, shown: float, *, priced: bool = False) -> Asking[Reply]:
        return (yield Question((self.scale.change(shown)(self.situation),), priced))

    def alone(self, shown: float) -> bool:
        """Whether the checks of the option alone hold."""
        return self.passes(self.scale.change(shown)(self.situation))


@dataclass
class _Bracket:
    """Two magnitudes, one that fails and one that works, and what is known of the worst check.

    ``used`` holds magnitudes and what is used of the worst check there.
    """

    fails: float
    works: float
    used: list[tuple[float, float]] = field(default_factory=list)

    @property
    def width(self) -> float:
        """Logarithm of the ratio of the two ends."""
        return abs(math.log(self.works / self.fails))

    def narrow(self, shown: float, reply: Reply) -> None:
        """Move one end to a magnitude that was asked for."""
        if reply.works:
            self.works = shown
        else:
            self.fails = shown
        self.note(shown, reply.used)

    def note(self, shown: float, used: float | None) -> None:
        """Remember what is used; 1 exactly says only that some limit binds there."""
        if used is not None and abs(used - 1.0) > _EXACTLY and 0.0 < used < math.inf:
            self.used.append((shown, used))

    def middle(self) -> float:
        """Half way between the ends, in ratios."""
        return math.sqrt(self.fails * self.works)

    def expected(self) -> float | None:
        """A magnitude a little beside where the worst check should reach its limit, if known.

        Through the two points nearest to the limit, failing ones first: in proportion where more is
        used of a check for a larger magnitude, inversely where the magnitude is itself a limit. On
        the side of the end that lies farther away.
        """
        nearest = sorted(self.used, key=lambda point: (point[1] < 1.0, abs(point[1] - 1.0)))[:2]
        if len(nearest) < 2 or nearest[0][1] == nearest[1][1] or nearest[0][0] == nearest[1][0]:
            return None
        (v0, u0), (v1, u1) = nearest
        if (v1 - v0) * (u1 - u0) > 0.0:
            edge = v0 + (1.0 - u0) * (v1 - v0) / (u1 - u0)
        else:
            edge = v0 * (v1 / v0) ** (math.log(u0) / (math.log(u0) - math.log(u1)))
        if edge <= 0.0:
            return None
        to_works, to_fails = math.log(self.works / edge), math.log(self.fails / edge)
        further = to_works if abs(to_works) > abs(to_fails) else to_fails
        edge *= math.exp(math.copysign(min(_ASIDE, 0.25 * self.width), further))
        return edge if min(self.fails, self.works) < edge < max(self.fails, self.works) else None


def find_edge(
    number: Number,
    situation: Situation,
    passes: Passes,
    *,
    known: bool = False,
    guess: Concession | None = None,
) -> Asking[NumberEdge | None]:
    """The edge of a number, everything else as it is.

    Parameters
    ----------
    number : Number
    situation : Situation
        The option as it fails.
    passes : callable
        Whether the checks of the option alone hold; costs next to nothing.
    known : bool
        Whether it is known already that the lax end works.
    guess : Concession, optional
        Where the edge of a similar option lies.

    Returns
    -------
    NumberEdge or None
        ``None`` if even the lax end does not work.
    """
    probe = _Probe(Scale(number), situation, passes)
    scale = probe.scale
    if not probe.alone(scale.lax):
        return None
    if not known and not (yield from probe.ask(scale.lax)).works:
        return None
    if number.by_price:
        return (yield from _edge_of_price(probe))
    fails = scale.start
    if not probe.alone(scale.start):
        near, fails = _edge_alone(probe)
        reply = yield from probe.ask(near, priced=True)
        if reply.works:
            return NumberEdge(near, fails, reply.price)
        fails = near
    bracket = _Bracket(fails, scale.lax)
    if guess is not None:
        yield from _take(probe, bracket, guess)
    if not (yield from _above_zero(probe, bracket)):
        reply = yield from probe.ask(0.0, priced=True)
        return NumberEdge(0.0, bracket.fails, reply.price) if reply.works else None
    yield from _close_in(probe, bracket)
    return (yield from _among_steps(probe, bracket))


def _edge_of_price(probe: _Probe) -> Asking[NumberEdge | None]:
    price = (yield from probe.ask(probe.scale.lax, priced=True)).price
    return None if price is None else NumberEdge(price / 100.0, (price - 1) / 100.0, price)


def _edge_alone(probe: _Probe) -> tuple[float, float]:
    """Both sides of the edge that the checks of the option alone make."""
    scale = probe.scale
    fails, works = scale.start, scale.lax
    while abs(works - fails) > 0.1 * _FINE * abs(works):
        middle = 0.5 * (fails + works)
        fails, works = (fails, middle) if probe.alone(middle) else (middle, works)
        if works == 0.0 and fails < _NOTHING * scale.start:
            return 0.0, fails
    steps = scale.steps(works, _FINE)
    count = steps.outward(works)
    while probe.alone(steps.value(count - scale.sense)):
        count -= scale.sense
    return steps.value(count), steps.value(count - scale.sense)


def _take(probe: _Probe, bracket: _Bracket, guess: Concession) -> Asking[None]:
    """Narrow a bracket by the edge of a similar option."""
    scale = probe.scale
    for si in (guess.value, guess.short):
        if si is not None:
            shown = scale.shown(si)
            if scale.concedes_more(shown, bracket.fails) and scale.concedes_more(
                bracket.works, shown
            ):
                bracket.narrow(shown, (yield from probe.ask(shown)))


def _above_zero(probe: _Probe, bracket: _Bracket) -> Asking[bool]:
    """Replace a lax end of 0 by next to nothing; false if only 0 itself is left."""
    if bracket.works > 0.0:
        return True
    least = _NOTHING * probe.scale.start
    if bracket.fails <= least:
        return False
    bracket.narrow(least, (yield from probe.ask(least)))
    return bracket.works > 0.0


def _close_in(probe: _Probe, bracket: _Bracket) -> Asking[None]:
    """Bring the ends of a bracket together: where the worst check says, or half way."""
    if bracket.width > _NEAR:
        for shown in (bracket.fails, bracket.works):
            bracket.note(shown, (yield from probe.ask(shown)).used)
    halve = False
    while bracket.width > _NEAR:
        before = bracket.width
        expected = None if halve else bracket.expected()
        shown = bracket.middle() if expected is None else expected
        bracket.narrow(shown, (yield from probe.ask(shown)))
        # An expectation that narrows by less than halving would is not followed twice running.
        halve = expected is not None and bracket.width > 0.5 * before


def _among_steps(probe: _Probe, bracket: _Bracket) -> Asking[NumberEdge | None]:
    """The edge among values that read well, asked on both of its sides."""
    scale = probe.scale
    steps = scale.steps(min(bracket.fails, bracket.works), scale.number.step)
    good, bad = steps.outward(bracket.works), steps.inward(bracket.fails)
    asked = not steps.concedes(bad)
    wider = scale.sense
    while abs(good - bad) > 1 or not asked:
        middle = (good + bad) // 2 if abs(good - bad) > 1 else bad
        works = yield from _works(probe, steps, middle)
        if works and middle == bad:
            # What lies nearer to what is asked was thought to fail.
            good, bad, asked = bad, bad - wider, False
            wider *= 2
        elif works:
            good = middle
        else:
            bad, asked = middle, True
    reply = yield from probe.ask(steps.value(good), priced=True)
    return NumberEdge(steps.value(good), steps.short(bad), reply.price) if reply.works else None


def _works(probe: _Probe, steps: Steps, count: int) -> Asking[bool]:
    if not steps.concedes(count):
        return False
    return (yield from probe.ask(steps.value(count))).works
