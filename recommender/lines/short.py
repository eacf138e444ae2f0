"""An answer about a line in short, as answers about one loop are shortened."""

from dataclasses import replace

from recommender.lines.result import LineAnswer
from recommender.results.answer import shortened


def shortened_line(answer: LineAnswer) -> LineAnswer:
    """The same with each loop's own answer in short."""
    return replace(
        answer,
        loops=tuple(replace(loop, alone=shortened(loop.alone)) for loop in answer.loops),
    )
