"""The answer on a terminal as one reads it first: everything once, the rest on request."""

import math
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from recommender.results.answer import (
    MOST_HEADROOM,
    NEAREST,
    REST,
    Answer,
    HeadroomResult,
    ItemDifference,
    OptionResult,
    PartResult,
    Verdict,
)
from recommender.results.assumption import AssumptionLine
from recommender.views.explanation import impasse_body
from recommender.views.goals import others_table
from recommender.views.layout import facts, grid
from recommender.views.numbers import (
    amount,
    listed,
    lowered,
    money,
    quantity,
    raised,
    share,
    what_stops,
)
from recommender.views.plan import loop_drawing
from recommender.views.terminal import (
    choice_facts,
    headline,
    ordered,
    section,
    show_unsettled,
)

_MOST_CHECKS = 5
_MOST_GROUPS = 6
_MOST_ITEMS = 9
_ROWS = 8
_IN_HEAD = "Price"
_USUAL = (("Items on a carrier", "1"),)
_FACTORS = (
    "rules.holding_safety",
    "rules.load_acceleration",
    "rules.drive_margin",
    "rules.static_safety",
)


def show_summary(console: Console, answer: Answer) -> None:
    """Print an answer: the choice in full, of everything else what matters most."""
    console.print(headline(answer))
    show_unsettled(console, answer)
    choice = answer.choice
    if choice is not None:
        section(console, "The choice", _choice(answer, choice))
        if choice.loop is not None and choice.carriers:
            console.print()
            plan = loop_drawing(choice.loop, choice.carriers, _ROWS, console.width)
            console.print(Text(plan, no_wrap=True))
        section(console, "Why it is enough", _checks(choice, answer))
        if choice.headroom:
            section(console, "How much more it could take", _headroom(choice.headroom))
    if answer.impasse is not None:
        section(console, "Why none does", impasse_body(answer, answer.impasse))
    verdict = Verdict.WORKS if answer.least else Verdict.DEARER
    works = [option for option in ordered(answer.options) if option.verdict is verdict]
    if works:
        body = others_table(answer, answer.least, works) if answer.least else _dearer(works)
        section(console, "What else works", body)
    undecided = [one for one in answer.options if one.verdict is Verdict.UNDECIDED]
    if undecided:
        section(console, "What is not decided", Group(*_undecided(undecided)))
    if answer.rejections:
        section(console, "What does not", Group(*_rejections(answer)))
    if choice is not None:
        section(console, "Parts", _parts(choice.parts, choice.currency))
    section(console, "To ask the customer", Group(*_questions(answer), *_granted(answer)))
    section(console, "Cautions", Group(*(Text(f"- {line}") for line in answer.cautions)))


def loop_sections(console: Console, answer: Answer, choice: OptionResult | None, name: str) -> None:
    """Print what matters most of one loop of a line, with its choice in the line if there is one.

    What it costs, its parts and its cautions are matters of the line.
    """
    if choice is not None:
        if choice.loop is not None and choice.carriers:
            console.print()
            plan = loop_drawing(choice.loop, choice.carriers, _ROWS, console.width)
            console.print(Text(plan, no_wrap=True))
        section(console, "Why it is enough", _checks(choice, answer, f"{name}."))
        if choice.headroom:
            section(console, "How much more it could take", _headroom(choice.headroom))
    if answer.impasse is not None:
        section(console, "Why none does", impasse_body(answer, answer.impasse))
    undecided = [one for one in answer.options if one.verdict is Verdict.UNDECIDED]
    if undecided:
        section(console, "What is not decided", Group(*_undecided(undecided)))
    if answer.rejections:
        section(console, "What does not", Group(*_rejections(answer)))
    section(console, "To ask the customer", Group(*_questions(answer), *_granted(answer)))


def _choice(answer: Answer, choice: OptionResult) -> RenderableType:
    """What is built; its price stands in the head already."""
    table = facts()
    for name, value in choice_facts(answer, choice):
        if name != _IN_HEAD and (name, value) not in _USUAL:
            table.add_row(name, value)
    return table


def _checks(choice: OptionResult, answer: Answer, loop: str = "") -> RenderableType:
    """The checks that are used most; a title longer than its column goes on below."""
    table = grid(("check", False), ("demand", True), ("limit", True), ("used", True))
    by_use = sorted(choice.checks, key=lambda check: -check.utilisation)
    for check in by_use[:_MOST_CHECKS]:
        table.add_row(
            check.title,
            quantity(check.demand, check.unit, choice.currency),
            quantity(check.limit, check.unit, choice.currency),
            share(check.utilisation),
        )
    left = by_use[_MOST_CHECKS:]
    if not left:
        return table
    most = share(left[0].utilisation)
    rest = Text(
        f"{len(left)} other checks use {most} or less: recommender why CASE {loop}{choice.id}"
    )
    if answer.least is not None:
        rest.append(f" --least {answer.least.goal}")
    return Group(table, rest)


def _headroom(headroom: Sequence[HeadroomResult]) -> RenderableType:
    """The requirements that have least left."""
    table = facts()
    for entry in sorted(headroom, key=_room)[:MOST_HEADROOM]:
        to = "no more" if entry.no_room else entry.to or "ten times that"
        holds = raised(f"{entry.start}, holds to {to}")
        then = what_stops(entry.stopped_by, entry.harder)
        table.add_row(entry.key, f"{holds}; then {then}" if then else holds)
    return table


def _room(entry: HeadroomResult) -> float:
    """By what factor it could be tightened, as a logarithm."""
    return math.inf if entry.factor is None else abs(math.log(entry.factor))


def _dearer(options: Sequence[OptionResult]) -> RenderableType:
    """Options that work, the cheapest first, and what makes them dearer."""
    currency = options[0].currency
    table = grid(
        ("option", False),
        ("fleet", True),
        (f"price, {currency}", True),
        ("more", True),
        ("of which", False),
    )
    table.columns[0].no_wrap = True
    nearest, left = options[:NEAREST], options[NEAREST:]
    exact = any(
        option.price != (option.price or Decimal(0)).to_integral_value() for option in nearest
    )
    said = amount if exact else _whole
    for option in nearest:
        by = option.dearer_by
        told = by.told if by else ()
        table.add_row(
            option.id,
            str(option.carriers),
            said(option.price or Decimal(0)),
            more(option, said),
            ", ".join(f"{entry.item} {_whole(entry.difference)}" for entry in _named(told)),
        )
    notes = []
    if left:
        many = "1 other costs" if len(left) == 1 else f"{len(left)} others cost"
        notes.append(f"{many} as much or more: --all prints every option.")
    if any(" to " in more(option, said) for option in nearest):
        notes.append("Two figures: at least, and as found.")
    return Group(table, Text(" ".join(notes))) if notes else table


def _undecided(options: Sequence[OptionResult]) -> Iterator[RenderableType]:
    """Options of which nothing was found, though not everything is ruled out."""
    by_price = sorted(options, key=lambda option: option.at_least or Decimal(0))
    for option in by_price[:NEAREST]:
        least = option.at_least
        price = f": at least {money(least, option.currency)}" if least is not None else ""
        yield Text(f"- {option.id}: not decided{price}")
    if left := len(options[NEAREST:]):
        yield Text(f"and {left} more, none of which costs less.")


def more(option: OptionResult, said: Callable[[Decimal], str]) -> str:
    """By how much an option is dearer: as found, and at least where that is less."""
    by = option.dearer_by
    if by is None or option.price is None:
        return ""
    if option.at_least is None or option.at_least >= option.price:
        return said(by.price)
    least = max(option.at_least - (option.price - by.price), Decimal(0))
    return f"{said(least)} to {said(by.price)}"


def _named(told: Sequence[ItemDifference]) -> Sequence[ItemDifference]:
    """What is named of a difference; what is left beside it goes without saying."""
    return told[:-1] if len(told) > 1 and told[-1].item == REST else told


def _whole(value: Decimal) -> str:
    return f"{value:,.0f}" if value == value.to_integral_value() else amount(value)


def _rejections(answer: Answer) -> Iterator[RenderableType]:
    groups = [entry for entry in answer.rejections if not entry.near]
    near = [entry for entry in answer.rejections if entry.near]
    for entry in groups[:_MOST_GROUPS]:
        yield Text(f"- {entry.who}: {lowered(entry.reason)}")
    if near:
        yield Text("Near misses, the nearest first:")
    for entry in near[:NEAREST]:
        yield Text(f"- {entry.who}: {lowered(entry.reason)}")
    left = len(groups[_MOST_GROUPS:]) + len(near[NEAREST:])
    if left:
        yield Text(f"{left} more such entries: --all prints every option, why explains any one.")


def _parts(parts: Sequence[PartResult], currency: str) -> Table:
    """The bill of materials, a line for each group of parts."""
    table = grid(("item", False), ("parts", False), (f"price, {currency}", True), ("weeks", True))
    groups: dict[str, list[PartResult]] = {}
    for part in parts:
        groups.setdefault(part.item, []).append(part)
    order = sorted(groups, key=lambda item: -sum(part.price for part in groups[item]))
    small = [] if len(groups) <= _MOST_ITEMS else order[_MOST_ITEMS - 1 :]
    others = [part for item in small for part in groups.pop(item)]
    rows = [*groups.items(), *([("others", others)] if others else [])]
    for item, members in rows:
        table.add_row(
            item,
            ", ".join(f"{part.quantity} x {part.id}" for part in members)
            if members is not others
            else f"{len(small)} items, by recommender parts",
            amount(sum((part.price for part in members), start=Decimal(0))),
            f"{max(part.lead_time_weeks for part in members):g}",
        )
    total = sum((part.price for part in parts), start=Decimal(0))
    table.add_row("total", "", amount(total), "", style="bold")
    return table


def _questions(answer: Answer) -> Iterator[RenderableType]:
    """What the enquiry left open, ready to be sent; what is usual is gathered in one line."""
    asked = [line for line in answer.assumptions if line.group == "customer"]
    for line in asked:
        if not line.brief:
            yield Text(raised(f"- {line.question} Taken: {line.value}."))
    usual = [line.brief for line in asked if line.brief]
    if usual:
        yield Text(raised(f"Taken as usual: {'; '.join(_at_once(usual))}."))


def _at_once(phrases: Sequence[str]) -> list[str]:
    """What is taken alike at several stations once."""
    where: dict[str, list[str]] = {}
    for phrase in phrases:
        what, _, station = phrase.partition(" at ")
        where.setdefault(what, []).append(station)
    return [
        f"{what} at {listed(stations)}" if stations[0] else what for what, stations in where.items()
    ]


def _granted(answer: Answer) -> Iterator[RenderableType]:
    """The safety factors of the house, and how many other rules and assumptions there are."""
    house = [line for line in answer.assumptions if line.group == "house"]
    told = [_short(line) for line in house if line.key in _FACTORS] or ["none"]
    method = sum(line.group == "method" for line in answer.assumptions)
    others = f"{len(house) - len(told)} other rules and {method} assumptions of the method"
    yield Text(f"Rules of the house: {'; '.join(told)}. For {others} see --all.")


def _short(line: AssumptionLine) -> str:
    name = line.key.removeprefix("rules.").replace(".", " ").replace("_", " ")
    return f"{name} {raised(line.value)}"
