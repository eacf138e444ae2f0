"""What the answer says on the page, ready to be set."""

from dataclasses import dataclass
from math import log
from typing import Final

from recommender.lines.result import LineAnswer
from recommender.page.rooms import reach_of, told_value
from recommender.results.answer import Answer, CheckResult, HeadroomResult, OptionResult, Verdict
from recommender.sheet import content
from recommender.sheet.content import key_words
from recommender.units import written_in
from recommender.views.numbers import money, quantity, raised, share, what_stops

__all__ = ["Bar", "Range", "answer_values", "bars", "headline", "line_values", "ranges"]

_FIRST: Final = 8
"""Checks that are seen at once."""
_WIDE: Final = 100.0
"""Units across a bar."""
_SPAN: Final = 2.0
"""What a bar of a range goes to, as a multiple of what is asked."""


@dataclass(frozen=True)
class Bar:
    """A check: how much of its limit is used, in words and as a length out of a hundred."""

    title: str
    words: str
    used: str
    length: float
    ok: bool
    note: str


@dataclass(frozen=True)
class Range:
    """How far a requirement may move: as words, and from where to where in a bar."""

    name: str
    asked: str
    holds: str
    then: str
    start: float
    length: float


def headline(answer: Answer) -> str:
    """The answer in a line."""
    choice = answer.choice
    if choice is None or choice.price is None:
        left = sum(option.verdict is Verdict.UNDECIDED for option in answer.options)
        if left:
            return f"No option was found that works; {left} are not decided"
        return "No option of the catalogue meets this case"
    return f"{choice.id} for {money(choice.price, choice.currency)}"


def bars(choice: OptionResult) -> tuple[list[Bar], list[Bar]]:
    """Checks, what is used most first: those that are seen at once, and the others."""
    found = [_bar(check, choice.currency) for check in content.by_use(choice.checks)]
    return found[:_FIRST], found[_FIRST:]


def _bar(check: CheckResult, currency: str) -> Bar:
    demand, limit = (
        raised(quantity(value, check.unit, currency)) for value in (check.demand, check.limit)
    )
    return Bar(
        title=check.title,
        words=f"{demand} of {limit}",
        used=share(check.utilisation),
        length=round(_WIDE * min(max(check.utilisation, 0.0), 1.0), 1),
        ok=check.ok,
        note=check.governed_by,
    )


def ranges(choice: OptionResult) -> list[Range]:
    """How far each requirement may move by itself."""
    return [_range(line) for line in choice.headroom]


def _range(line: HeadroomResult) -> Range:
    factor = _SPAN if line.to is None else line.factor or 1.0
    place = log(min(max(factor, 1.0 / _SPAN), _SPAN)) / log(_SPAN)
    middle = 0.5 * _WIDE
    end = middle + middle * place
    return Range(
        name=key_words(line.key),
        asked=told_value(line.start),
        holds=f"holds {reach_of(line)}",
        then=what_stops(line.stopped_by, line.harder),
        start=round(min(middle, end), 1),
        length=round(max(abs(end - middle), 0.6), 1),
    )


def answer_values(answer: Answer, question: str) -> dict[str, object]:
    """What the answer's part of the page is filled in with."""
    choice = answer.choice
    with written_in(answer.units):
        values: dict[str, object] = {
            "answer": answer,
            "question": question,
            "choice": choice,
            "headline": headline(answer),
            "works": content.works(answer),
            "undecided": content.undecided(answer),
            "near": [entry for entry in answer.rejections if entry.near],
            "others": [entry for entry in answer.rejections if not entry.near],
            "questions": content.questions(answer),
            "usual": content.usual(answer),
            "currency": answer.options[0].currency if answer.options else "",
            "explained": answer.extent.explained,
        }
        if choice is not None and choice.loop is not None:
            first, rest = bars(choice)
            values |= {
                "figures": content.figures(choice, answer),
                "recommendation": content.recommendation(choice, answer),
                "plan_note": content.description_of(choice.loop, choice),
                "bars": first,
                "more_bars": rest,
                "ranges": ranges(choice),
            }
        return values


def line_values(answer: LineAnswer, question: str) -> dict[str, object]:
    """What the answer about a line is filled in with."""
    from recommender.sheet.line import customer_values  # noqa: PLC0415 - draws, for lines alone

    with written_in(answer.units):
        works = [
            (loop.name, entry)
            for loop in answer.loops
            for entry in loop.options
            if entry.line_price is not None and entry.dearer
        ]
        works.sort(key=lambda pair: pair[1].line_price or 0)
        return {
            **customer_values(answer),
            "answer": answer,
            "question": question,
            "works": works,
            "most": _FIRST,
            "bars": [_bar(check, answer.currency) for check in content.by_use(answer.conditions)],
            "explained": all(loop.alone.extent.explained for loop in answer.loops),
        }
