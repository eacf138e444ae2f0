"""Questions that explanations ask of the physics, many at a time.

An explanation is a generator: it yields a question and is sent the reply, and what it returns is
the explanation. So it knows nothing of how a question is answered, and the questions that many
explanations have at one moment can be answered together, which arrays do much faster than one after
the other.
"""

from collections.abc import Callable, Generator, Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias, TypeVar

from recommender.choice.deadline import TimeUpError
from recommender.choice.pricing import Cents
from recommender.explain.requirements import Situation

Result = TypeVar("Result")
Name = TypeVar("Name", bound=Hashable)


@dataclass(frozen=True)
class Question:
    """Whether any of some situations works, and at what price if that is wanted."""

    situations: tuple[Situation, ...]
    priced: bool = False


@dataclass(frozen=True)
class Reply:
    """Whether it works; the price if it was asked for.

    ``used`` is what the best motion setting uses of its worst check, as far as checks without a
    loop go: above 1 nothing can work. ``None`` if that was not looked at.
    """

    works: bool
    price: Cents | None = None
    used: float | None = None


Asking: TypeAlias = Generator[Question, Reply, Result]


def ask_together(
    asking: Mapping[Name, Generator[Any, Any, Result]],
    answer: Callable[[Sequence[Any]], Sequence[Any]],
    finished: Callable[[int], None] | None = None,
) -> dict[Name, Result]:
    """Run explanations side by side.

    Parameters
    ----------
    asking : mapping
        Explanations by name.
    answer : callable
        Replies to a list of questions, in their order.
    finished : callable, optional
        Told again and again how many explanations are finished.

    Returns
    -------
    dict
        What each explanation returned, in the order of ``asking``; if the time is up before all
        are finished, those that are.
    """
    results: dict[Name, Result] = {}
    open_: dict[Name, Any] = {}

    def step(name: Name, reply: Any) -> None:
        try:
            open_[name] = asking[name].send(reply)
        except StopIteration as stop:
            open_.pop(name, None)
            results[name] = stop.value

    for name in asking:
        step(name, None)
    while open_:
        if finished is not None:
            finished(len(results))
        names = list(open_)
        try:
            replies = answer([open_[name] for name in names])
        except TimeUpError:
            break
        for name, reply in zip(names, replies, strict=True):
            step(name, reply)
    return {name: results[name] for name in asking if name in results}
