"""What was to be least, where that is not the price, in words and columns."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from recommender import units
from recommender.results.answer import Answer, LeastResult, OptionResult
from recommender.results.loop import LoopPlan
from recommender.views.layout import grid
from recommender.views.numbers import amount, money, three_digits


@dataclass(frozen=True)
class Words:
    """How a goal reads: the best of all, its column, what one has of it, and that none has less."""

    best: str
    column: str
    has: str
    none: str
    row: str


WORDS: Final = {
    "floor": Words("smallest", "floor", "takes {}", "takes less floor than {}", "Least floor"),
    "delivery": Words(
        "soonest", "delivery", "runs after {}", "runs sooner than after {}", "Soonest"
    ),
    "energy": Words(
        "most economical", "energy", "takes {}", "takes less energy than {}", "Least energy"
    ),
}
_UNITS: Final = {"delivery": "weeks", "energy": "kWh a year"}
_MOST: Final = 5


def unit_of(least: LeastResult) -> str:
    """The unit in which a goal is printed."""
    if least.goal != "floor":
        return _UNITS[least.goal]
    foot = units.shown("m", 10.0)
    return "m²" if foot is None else f"{foot.unit}²"


def number_of(least: LeastResult, value: float) -> str:
    """A measure without its unit."""
    if least.goal == "delivery":
        return f"{value:g}"
    if least.goal == "energy":
        return f"{value:,.0f}"
    foot = units.shown("m", 10.0)
    area = value if foot is None else value * foot.per_si**2
    # As finely as that of the choice, so that differences add up.
    return f"{area:,.{2 if least.value >= 1.0 else 3}f}"


def floor_text(loop: LoopPlan) -> str:
    """Floor that a loop takes with loads outside."""
    across = loop.floor_width_m if loop.floor_depth_m is None else loop.floor_depth_m
    foot = units.shown("m", 10.0)
    area = across * loop.floor_extent_m * (1.0 if foot is None else foot.per_si**2)
    return f"{three_digits(area)} {'m' if foot is None else foot.unit}²"


def text_of(least: LeastResult, value: float) -> str:
    """A measure with its unit."""
    return f"{number_of(least, value)} {unit_of(least)}"


def headline_of(answer: Answer, least: LeastResult, choice: OptionResult) -> str:
    """The choice, by what it was chosen, and how sure that is."""
    title, best = str(answer.case.get("title", "")), WORDS[least.goal].best
    count = len(answer.options)
    sure = f"proven {best} of {count} options"
    if not least.optimal:
        sure = f"{best} found of {count} options, {_short_of(least)}"
    elif least.best_bound < least.value and least.goal == "energy":
        sure = f"proven {best} of {count} options within half a per cent"
    price = money(choice.price or Decimal(0), choice.currency)
    return f"{title}: {choice.id}, {sure}: {text_of(least, least.value)} for {price}"


def _short_of(least: LeastResult) -> str:
    return f"none below {text_of(least, least.best_bound)}"


def goal_facts(
    answer: Answer, least: LeastResult, choice: OptionResult
) -> Iterator[tuple[str, str]]:
    """How the choice stands to the cheapest, and what is proven."""
    words = WORDS[least.goal]
    yield words.row, f"{text_of(least, least.value)}; {_beside(least, choice)}"
    text = f"no option {words.none.format(text_of(least, least.best_bound))}"
    if least.price_bound is not None:
        bound = money(least.price_bound, choice.currency)
        text += f", and none that has as little costs less than {bound}"
    yield "Proof", text


def _beside(least: LeastResult, choice: OptionResult) -> str:
    """What the choice costs more than the cheapest, and what that has of the goal."""
    if least.cheapest is None or least.cheapest_price is None or least.cheapest_value is None:
        return "no cheaper one was found"
    if least.same:
        return "the cheapest option is built alike"
    price, cheapest = choice.price or Decimal(0), least.cheapest_price
    more = money(price - cheapest, choice.currency)
    proven = least.cheapest_at_least is not None and least.cheapest_at_least >= cheapest
    other = f"the cheapest{'' if proven else ' found'}, {least.cheapest}"
    if least.cheapest == choice.id:
        other = f"the cheapest{'' if proven else ' found'}, the same option built otherwise"
    has = WORDS[least.goal].has.format(text_of(least, least.cheapest_value))
    return f"it costs {more} more than {other}, which {has}"


def others_table(
    answer: Answer, least: LeastResult, options: Sequence[OptionResult]
) -> RenderableType:
    """Options that work, the best by the goal first, and how much more of it each needs."""
    currency = options[0].currency
    table = grid(
        ("option", False),
        ("fleet", True),
        (f"{WORDS[least.goal].column}, {unit_of(least)}", True),
        ("more", True),
        (f"price, {currency}", True),
    )
    table.columns[0].no_wrap = True
    for option in options[:_MOST]:
        _row(table, least, option)
    notes = []
    if left := options[_MOST:]:
        most = max(option.measure.value for option in left if option.measure)
        notes.append(f"{len(left)} others go up to {text_of(least, most)}.")
    if any(" to " in more_of(least, option) for option in options[:_MOST]):
        notes.append("Two figures: at least, and as found.")
    return Group(table, Text(" ".join(notes))) if notes else table


def _row(table: Table, least: LeastResult, option: OptionResult) -> None:
    value = option.measure.value if option.measure else None
    table.add_row(
        option.id,
        str(option.carriers),
        "" if value is None else number_of(least, value),
        more_of(least, option),
        amount(option.price or Decimal(0)),
    )


def more_of(least: LeastResult, option: OptionResult) -> str:
    """How much more an option has of the goal: as found, and at least where that is less."""
    found = option.measure
    if found is None:
        return ""
    more = number_of(least, max(found.value - least.value, 0.0))
    surely = number_of(least, max(found.at_least - least.value, 0.0))
    return more if surely == more else f"{surely} to {more}"
