"""How far a requirement has to give: the edge at which an option begins to work.

An edge is a value at which the option works, and beside it one a step less conceding at which it
does not; both are asked of the full physics. The step is 1 % of the value or finer, and such that
the value reads well. Where only checks of the option itself stand in the way, a rated payload for
one, the edge is found on those and then asked for at its two sides.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from recommender.choice.pricing import Cents
from recommender.explain.asking import Asking, Question
from recommender.explain.edge_search import NumberEdge, Passes, find_edge
from recommender.explain.requirements import Change, Choice, Number, Situation, unchanged
from recommender.explain.scale import Concession, Scale

Move = Number | Choice

_LEAST: Final = 1e-3
"""Share of what is asked that stands for a lax end of 0 where ratios are compared."""


@dataclass(frozen=True)
class Relaxed:
    """Concessions with which an option works, and what it costs then.

    ``works`` is the situation with all of them; in each of ``fails`` one of them is a step smaller,
    and the option does not work.
    """

    concessions: tuple[Concession, ...]
    price: Cents | None
    works: Situation
    fails: tuple[Situation, ...]

    @property
    def effort(self) -> float:
        """How much is conceded, to tell small concessions from large ones."""
        return sum(concession.effort for concession in self.concessions)


@dataclass(frozen=True)
class _Edge:
    """Where a move begins to suffice: the change, and the one a step short of it."""

    concession: Concession
    change: Change
    short: Change
    price: Cents | None


def ease(
    move: Move, situation: Situation, passes: Passes, guess: Concession | None = None
) -> Asking[Relaxed | None]:
    """The edge of one move, everything else as it is.

    Parameters
    ----------
    move : Number or Choice
    situation : Situation
        The option as it fails.
    passes : callable
        Whether the checks of the option alone hold; costs next to nothing.
    guess : Concession, optional
        Where the edge of a similar option lies.

    Returns
    -------
    Relaxed or None
        ``None`` if the move does not help, however far it goes.
    """
    edge = yield from _edge(move, situation, passes, guess=guess)
    if edge is None:
        return None
    return Relaxed((edge.concession,), edge.price, edge.change(situation), (edge.short(situation),))


def ease_both(
    one: Move,
    other: Move,
    situation: Situation,
    passes: Passes,
    guess: Sequence[Concession] = (),
) -> Asking[Relaxed | None]:
    """An edge of two moves: both suffice together, and neither can be smaller beside the other.

    Two numbers are first moved in the same ratio, as far as it takes, and then each is moved back
    as far as the other lets it; unless the concessions of a similar option are the edge here too.
    """
    if [entry.key for entry in guess] == [one.key, other.key]:
        guessed = _both(_as_before(one, guess[0]), _as_before(other, guess[1]), situation)
        if (yield from _is_edge(guessed)):
            reply = yield Question((guessed.works,), priced=True)
            return replace(guessed, price=reply.price)
    if isinstance(one, Choice):
        return (yield from _ease_choice(one, other, situation, passes))
    if isinstance(other, Choice):
        return (yield from _ease_choice(other, one, situation, passes))
    share = yield from _common_share(one, other, situation, passes)
    if share is None:
        return None
    one, other = _shortened(one, share), _shortened(other, share)
    beside = other.at(other.lax)(situation)
    first = yield from _edge(one, beside, passes, known=True)
    if first is None:
        return None
    second = yield from _edge(other, first.change(situation), passes, known=True)
    return None if second is None else _both(first, second, situation)


def _as_before(move: Move, known: Concession) -> _Edge:
    """The edge of a move as a similar option has it."""
    if isinstance(move, Choice):
        before: Change = unchanged
        for alternative in move.alternatives:
            if alternative.text == known.to:
                return _Edge(known, alternative.change, before, None)
            before = alternative.change
        raise ValueError(f"{move.key} has no alternative {known.to}")
    assert known.value is not None
    assert known.short is not None
    return _Edge(known, move.at(known.value), move.at(known.short), None)


def _is_edge(guessed: Relaxed) -> Asking[bool]:
    """Whether concessions work, and none a step smaller does."""
    if not (yield Question((guessed.works,))).works:
        return False
    for short in guessed.fails:
        if (yield Question((short,))).works:
            return False
    return True


def _ease_choice(
    choice: Choice, other: Move, situation: Situation, passes: Passes
) -> Asking[Relaxed | None]:
    short: Change = unchanged
    for alternative in choice.alternatives:
        edge = yield from _edge(other, alternative.change(situation), passes)
        if edge is not None:
            chosen = Concession(choice.key, choice.start, alternative.text)
            first = _Edge(chosen, alternative.change, short, edge.price)
            return _both(first, edge, situation)
        short = alternative.change
    return None


def _both(first: _Edge, second: _Edge, situation: Situation) -> Relaxed:
    return Relaxed(
        (first.concession, second.concession),
        second.price,
        second.change(first.change(situation)),
        (second.change(first.short(situation)), second.short(first.change(situation))),
    )


def _edge(
    move: Move,
    situation: Situation,
    passes: Passes,
    *,
    known: bool = False,
    guess: Concession | None = None,
) -> Asking[_Edge | None]:
    if isinstance(move, Choice):
        return (yield from _choice_edge(move, situation))
    found: NumberEdge | None = yield from find_edge(
        move, situation, passes, known=known, guess=guess
    )
    if found is None:
        return None
    scale = Scale(move)
    return _Edge(
        scale.concession(found.works, found.fails),
        scale.change(found.works),
        scale.change(found.fails),
        found.price,
    )


def _choice_edge(choice: Choice, situation: Situation) -> Asking[_Edge | None]:
    short: Change = unchanged
    for alternative in choice.alternatives:
        reply = yield Question((alternative.change(situation),), priced=True)
        if reply.works:
            concession = Concession(choice.key, choice.start, alternative.text)
            return _Edge(concession, alternative.change, short, reply.price)
        short = alternative.change
    return None


def _common_share(
    one: Number, other: Number, situation: Situation, passes: Passes
) -> Asking[float | None]:
    """The least share of the way to their lax ends that suffices for both, to 2 %."""

    def both(share: float) -> Situation:
        return other.at(_way(other, share))(one.at(_way(one, share))(situation))

    if not passes(both(1.0)) or not (yield Question((both(1.0),))).works:
        return None
    fails, works = 0.0, 1.0
    while works - fails > 1e-3:
        middle = 0.5 * (fails + works)
        fails, works = (fails, middle) if passes(both(middle)) else (middle, works)
    if (yield Question((both(works),))).works:
        return works
    fails, works = works, 1.0
    while works - fails > 0.02:
        middle = 0.5 * (fails + works)
        if (yield Question((both(middle),))).works:
            works = middle
        else:
            fails = middle
    return works


def _way(number: Number, share: float) -> float:
    """The value a share of the way from what is asked to the lax end, in equal ratios."""
    if share == 1.0:
        return number.lax
    end = number.lax or _LEAST * number.start
    return float(number.start * (end / number.start) ** share)


def _shortened(number: Number, share: float) -> Number:
    """The number with the end of a share of its way as its lax end, rounded so that it reads well.

    Rounding concedes a little more, so what works goes on working.
    """
    if share == 1.0:
        return number
    scale = Scale(number)
    shown = scale.shown(_way(number, share))
    steps = scale.steps(shown, number.step)
    return replace(number, lax=scale.si(steps.value(steps.outward(shown))))
