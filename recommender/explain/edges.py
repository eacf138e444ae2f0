"""How far a requirement has to give: the edge at which an option begins to work.

An edge is a step at which the option works, beside one less conceding at which it does not; both
are asked. Steps are 1 % of the value or finer, and such that the value reads well. Where only
checks of the option itself stand in the way, a rated payload for one, it is found on those, in
finer steps, and then asked for.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Final, NamedTuple, Protocol, TypeAlias

from recommender.choice.parts.pricing import Cents
from recommender.explain.requirements import (
    Change,
    Choice,
    Concession,
    Move,
    Number,
    Situation,
)

Near: TypeAlias = Mapping[str, float]

NOWHERE: Final[Near] = {}

_FINER: Final = 10
"""Into how many steps one is divided where checks of the option alone make an edge."""

_SHARES: Final = 1024
_COARSE_SHARE: Final = 20
"""Parts of the way to both lax ends, and how many of them are looked at together."""

_LEAST: Final = 1e-3
"""Share of what is asked that stands for a lax end of 0 where ratios are compared."""


class Answers(Protocol):
    """What is asked about situations, of one option or of all."""

    def works(self, *situations: Situation) -> bool:
        """Whether any of some situations works."""

    def price(self, *situations: Situation) -> Cents | None:
        """The least price, ``None`` if nothing works."""

    def passes_alone(self, situation: Situation) -> bool:
        """Whether the checks hold that look at neither motion nor loop."""


@dataclass(frozen=True)
class Relaxed:
    """Concessions with which an option works, and what it costs then, if that was asked.

    ``works`` is the situation with all of them; in each of ``fails`` one of them is a step smaller,
    and the option does not work.
    """

    concessions: tuple[Concession, ...]
    works: Situation
    fails: tuple[Situation, ...]
    price: Cents | None = None

    @property
    def effort(self) -> float:
        """How much is conceded, to tell small concessions from large ones."""
        return sum(concession.effort for concession in self.concessions)


class _Edge(NamedTuple):
    """The step of a move that suffices, where the one before it does not."""

    move: Move
    step: int

    @property
    def concession(self) -> Concession:
        """What is conceded there."""
        return self.move.concession(self.step)

    @property
    def change(self) -> Change:
        """The change that suffices."""
        return self.move.change(self.step)

    @property
    def short(self) -> Change:
        """The change that falls short of it."""
        return self.move.change(self.step - 1)


def first_step(
    holds: Callable[[int], bool], last: int, step: int = 0, near: int | None = None
) -> int:
    """The first step from one on that holds, where all behind it do and the last surely does.

    Where it may well lie near to some step, that is looked at first, and then ever farther from it.

    Examples
    --------
    >>> first_step(lambda step: step >= 37, 1000)
    37
    """
    stride = 1
    while step < last:
        guessed = near is not None and step <= near < last
        middle = near if near is not None and guessed else (step + last) // 2
        if holds(middle):
            last, near = middle, None if near is None else middle - stride
        else:
            step, near = middle + 1, None if near is None else middle + stride
        stride *= 2
    return last


def helps(move: Move, situation: Situation, oracle: Answers) -> bool:
    """Whether a move helps, however far it has to go."""
    if isinstance(move, Number):
        lax = move.change(move.last)(situation)
        return oracle.passes_alone(lax) and oracle.works(lax)
    return any(oracle.works(move.change(step)(situation)) for step in range(move.last + 1))


def ease(
    move: Move,
    situation: Situation,
    oracle: Answers,
    near: Near = NOWHERE,
    most: float | None = None,
) -> Relaxed | None:
    """The edge of one move, everything else as it is; ``None`` if the move does not help.

    Parameters
    ----------
    move : Number or Choice
    situation : Situation
        The option as it fails.
    oracle : Oracle
    near : mapping, optional
        Where edges may well lie: values of numbers by their keys, SI.
    most : float, optional
        How far a number may go at most, SI; to its lax end unless given.
    """
    if isinstance(move, Number) and most is not None:
        last = move.step_at(abs(most) * move.per_unit)
        edge = _number_edge(move, situation, oracle, near, last)
    else:
        edge = _edge(move, situation, oracle, near)
    if edge is None:
        return None
    return Relaxed((edge.concession,), edge.change(situation), (edge.short(situation),))


def ease_both(
    one: Move, other: Move, situation: Situation, oracle: Answers, near: Near = NOWHERE
) -> Relaxed | None:
    """An edge of two moves: both suffice together, and neither can be smaller beside the other.

    Two numbers are first moved in the same ratio, as far as it takes, and then each is moved back
    as far as the other lets it.
    """
    if isinstance(one, Number) and isinstance(other, Number):
        return _ease_numbers(one, other, situation, oracle, near)
    choice, other = (one, other) if isinstance(one, Choice) else (other, one)
    for step in range(choice.last + 1):
        second = _edge(other, choice.change(step)(situation), oracle, near)
        if second is not None:
            return _both(_Edge(choice, step), second, situation)
    return None


def _ease_numbers(
    one: Number, other: Number, situation: Situation, oracle: Answers, near: Near
) -> Relaxed | None:
    share = _common_share(one, other, situation, oracle)
    if share is None:
        return None
    beside = _moved(other, share)(situation)
    first = _number_edge(one, beside, oracle, near, _end(one, share))
    if first is None:
        return None
    beside = first.change(situation)
    second = _number_edge(other, beside, oracle, near, _end(other, share))
    return None if second is None else _both(first, second, situation)


def _both(first: _Edge, second: _Edge, situation: Situation) -> Relaxed:
    beside = first.change(situation)
    works = second.change(beside)
    return Relaxed(
        (first.concession, second.concession),
        works,
        (second.change(first.short(situation)), second.short(beside)),
    )


def _edge(move: Move, situation: Situation, oracle: Answers, near: Near) -> _Edge | None:
    if isinstance(move, Number):
        return _number_edge(move, situation, oracle, near)
    steps = (step for step in range(move.last + 1) if oracle.works(move.change(step)(situation)))
    return next((_Edge(move, step) for step in steps), None)


def _number_edge(
    number: Number, situation: Situation, oracle: Answers, near: Near, last: int | None = None
) -> _Edge | None:
    """The edge of a number up to its last step, or one that is known to do."""
    fine = replace(number, fine=_FINER * number.fine)
    last = number.last if last is None else last

    def alone(step: int) -> bool:
        return oracle.passes_alone(fine.change(step)(situation))

    def works(step: int) -> bool:
        return oracle.works(number.change(step)(situation))

    if not oracle.passes_alone(number.change(last)(situation)) or not works(last):
        return None
    if number.by_price:
        price = oracle.price(number.at(number.lax)(situation))
        assert price is not None
        priced = replace(number, lax=price / 100.0)
        return _Edge(priced, priced.last)
    first = 0
    if not alone(-1):
        nearest = first_step(alone, fine.step_at(number.shown(last)))
        if oracle.works(fine.change(nearest)(situation)):
            return _Edge(fine, nearest)
        first = number.step_at(fine.shown(nearest))
    guess = near.get(number.key)
    at = None if guess is None else number.step_at(abs(guess) * number.per_unit)
    return _Edge(number, first_step(works, last, first, at))


def _common_share(one: Number, other: Number, situation: Situation, oracle: Answers) -> int | None:
    """The least part of the way to their lax ends that suffices for both, or nearly so."""

    def both(share: int) -> Situation:
        return _moved(other, share)(_moved(one, share)(situation))

    def alone(share: int) -> bool:
        return oracle.passes_alone(both(share))

    if not alone(_SHARES) or not oracle.works(both(_SHARES)):
        return None
    share = first_step(alone, _SHARES)
    if share < _SHARES and oracle.works(both(share)):
        return share
    parts = (_SHARES - share) // _COARSE_SHARE
    left = first_step(lambda part: oracle.works(both(share + _COARSE_SHARE * part)), parts + 1, 1)
    return _SHARES if left > parts else share + _COARSE_SHARE * left


def _end(number: Number, share: int) -> int:
    """The step at a part of the way from what is asked to the lax end, in equal ratios."""
    if share == _SHARES:
        return number.last
    start = abs(number.start)
    ratio = (abs(number.lax) or _LEAST * start) / start
    return number.step_at(start * ratio ** (share / _SHARES) * number.per_unit)


def _moved(number: Number, share: int) -> Change:
    """The change to a step at a part of the way; it concedes no less, so what works still does."""
    return number.change(_end(number, share))
