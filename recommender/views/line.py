"""A line of loops on a terminal: first what the loops share, then each loop."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from recommender.lines.result import (
    HandoverResult,
    LineAnswer,
    LineConcession,
    LineImpasse,
    LinePartResult,
    LineSupply,
    LoopOption,
    LoopResult,
    Savings,
    SharedResult,
)
from recommender.results.answer import OptionResult, Verdict
from recommender.shown import escaped
from recommender.views.layout import facts, grid
from recommender.views.line_words import handover_text, line_headline
from recommender.views.numbers import (
    amount,
    listed,
    money,
    place,
    quantity,
    raised,
    three_digits,
    whole_amount,
)
from recommender.views.order import delivery_text
from recommender.views.summary import loop_sections
from recommender.views.terminal import (
    VERDICTS,
    checks_table,
    choice_facts,
    section,
    show_answer,
    show_option,
)

__all__ = ["show_checked_line", "show_line", "show_line_option", "show_line_parts"]

_MOST_OPTIONS = 5
_NOT_OF_THE_LOOP = {"Price", "Proof", "Delivery"}
_SHARED = "shared"
_WORDS = {str(verdict): text for verdict, text in VERDICTS.items()}
_OF_ITS_OWN = (
    "Each loop follows. Prices there are those of an order for this loop alone, unless the line is"
    " named."
)


def show_line(console: Console, answer: LineAnswer) -> None:
    """Print the answer to a line: the whole, then of each loop what matters most."""
    _whole_line(console, answer)
    if answer.parts:
        section(console, "Parts", _parts_by_item(answer))
    _before_loops(console)
    for loop in answer.loops:
        _loop(console, answer, loop)
    _end(console, answer)


def _before_loops(console: Console) -> None:
    console.print()
    console.print(Text(_OF_ITS_OWN, style="italic"))


def show_whole_line(console: Console, answer: LineAnswer) -> None:
    """Print everything: every part, and the whole answer about each loop by itself."""
    _whole_line(console, answer)
    if answer.parts:
        section(console, "Parts", line_parts_table(answer.parts, answer.currency))
    _before_loops(console)
    for loop in answer.loops:
        _loop_title(console, loop)
        if loop.chosen is not None:
            section(console, "In the line", _chosen(loop, loop.chosen))
            section(console, "Why it is enough", checks_table(loop.chosen.checks, answer.currency))
        section(console, "Its options in the line", _options(loop, loop.options, answer.currency))
        section(console, "By itself", Text("The loop as an order of its own:"))
        console.print()
        show_answer(console, loop.alone)
    _end(console, answer)


def show_line_option(
    console: Console, answer: LineAnswer, loop: LoopResult, option: OptionResult
) -> None:
    """Print one option of a loop in depth: what the line would be with it, then by itself."""
    known = next((entry for entry in loop.options if entry.id == option.id), None)
    console.print(Text(f"{loop.name}.{option.id} in the line {answer.title}", style="bold"))
    if known is not None:
        section(console, "In the line", _in_line(answer, known))
    instead = loop.instead
    if instead is not None and instead.option == option.id:
        body: list[RenderableType] = [Text(instead.sentence)]
        if instead.items:
            table = grid(("item", False), ("difference", True))
            for entry in instead.items:
                table.add_row(entry.item, money(entry.difference, answer.currency))
            body += ["", table]
        section(console, "Why it is not the choice", Group(*body))
    console.print()
    console.print(Text("By itself, as an order of its own:", style="bold"))
    show_option(console, loop.alone, option)


def show_checked_line(
    console: Console,
    verdict: str,
    rates: Mapping[str, float],
    ways: Sequence[Sequence[HandoverResult]],
) -> None:
    """Whether a line is sound, the rates that follow, and each way in which it may hand over."""
    console.print(Text(verdict))
    table = grid(("loop", False), ("items/min", True))
    for loop, rate in rates.items():
        table.add_row(loop, three_digits(rate))
    section(console, "Rates", table)
    told = dict.fromkeys(handover_text(handover) for way in ways for handover in way)
    section(console, "Handovers", Group(*(Text(f"- {line}") for line in told)))


def show_line_parts(console: Console, answer: LineAnswer) -> None:
    """Print the bill of materials."""
    from recommender.views.layout import fitting  # noqa: PLC0415 - as the commands do

    console.print(fitting(line_parts_table(answer.parts, answer.currency), console.width))


# The whole -----------------------------------------------------------------------------------


def _whole_line(console: Console, answer: LineAnswer) -> None:
    console.print(Text(line_headline(answer), style="bold"))
    if answer.impasse is not None:
        section(console, "Why there is none", Group(*_impasse(answer, answer.impasse)))
    if answer.shared is not None:
        section(console, "The line", _facts(answer, answer.shared))
    section(console, "Rates and rhythm", Group(*_rates(answer)))
    if answer.savings is not None:
        section(console, "What one order saves", Group(*_savings(answer.savings, answer.currency)))
    sentences = [loop.instead.sentence for loop in answer.loops if loop.instead is not None]
    if sentences:
        body = Group(*(Text(f"- {sentence}") for sentence in sentences))
        section(console, "Why not each loop's cheapest", body)
    if answer.conditions and answer.shared is not None:
        body_ = checks_table(answer.conditions, answer.currency)
        section(console, "What must hold for all loops together", body_)


def _facts(answer: LineAnswer, shared: SharedResult) -> Table:
    table = facts()
    for loop in answer.loops:
        if loop.chosen is not None:
            chosen = loop.chosen
            own = _own(answer.parts, loop.name)
            table.add_row(
                f"Loop {loop.name}",
                f"{chosen.carriers} x {chosen.carrier}, {chosen.id};"
                f" {money(own, answer.currency)} for it alone",
            )
    table.add_row("Shared", f"{money(_own(answer.parts, None), answer.currency)} for all loops")
    table.add_row(
        "Controller",
        f"{shared.controller}: {shared.carriers} of {shared.carriers_limit} carriers,"
        f" {shared.sections} of {shared.sections_limit} sections",
    )
    table.add_row("Supplies", "; ".join(_supply(supply) for supply in shared.supplies))
    kinds = "; ".join(
        f"{kind.carrier} in {listed(kind.loops)} ({kind.carriers})" for kind in shared.kinds
    )
    table.add_row("Kinds of carrier", kinds)
    if answer.floor is not None:
        table.add_row("Floor", _floor(answer))
    if answer.delivery is not None:
        table.add_row("Delivery", delivery_text(answer.delivery))
    return table


def _supply(supply: LineSupply) -> str:
    loops = list(dict.fromkeys(run.loop for run in supply.runs))
    return (
        f"{supply.id} in {listed(loops)}: peak {quantity(supply.peak_w, 'W')} of"
        f" {quantity(supply.peak_limit_w, 'W')}"
    )


def _floor(answer: LineAnswer) -> str:
    floor = answer.floor
    assert floor is not None
    text = f"{place(floor.length_m)} by {place(floor.width_m)}, the loops side by side"
    if len(floor.loops) > 1:
        text += f" with {place(floor.gap_m)} between them"
    limits = [
        f"{place(limit)} {what}"
        for limit, what in ((floor.length_limit_m, "long"), (floor.width_limit_m, "wide"))
        if limit is not None
    ]
    return f"{text}; there is room {' and '.join(limits)}" if limits else text


def _own(parts: Sequence[LinePartResult], loop: str | None) -> Decimal:
    return sum((part.price for part in parts if part.loop == loop), start=Decimal(0))


def _rates(answer: LineAnswer) -> Iterator[RenderableType]:
    table = grid(("loop", False), ("items/min", True), ("takt", True), ("could reach", True))
    for loop in answer.loops:
        chosen = loop.chosen
        asked = loop.alone.rate
        takt, could = "", ""
        if asked is not None and chosen is not None:
            takt = f"{60.0 * chosen.items_per_carrier / asked.with_reserve_per_min:.3f} s"
            could = three_digits(chosen.rate_per_min) if chosen.rate_per_min is not None else ""
        table.add_row(loop.name, three_digits(loop.rate_per_min), takt, could)
    yield table
    yield from (Text(f"- {line}") for line in map(handover_text, answer.handovers))


def _savings(savings: Savings, currency: str) -> Iterator[RenderableType]:
    yield Text(savings.sentence)
    table = grid(("item", False), ("apart", True), ("together", True), ("saved", True))
    for item in savings.items:
        if item.saved:
            table.add_row(
                item.item, amount(item.separate), amount(item.together), amount(item.saved)
            )
    table.add_row(
        "all", amount(savings.separate), amount(savings.together), amount(savings.saved),
        style="bold",
    )  # fmt: skip
    yield table
    orders = "; ".join(
        f"{order.loop} {order.option} {money(order.price, currency)}" for order in savings.orders
    )
    yield Text(f"Apart, with spares of their own: {orders}.")


def _impasse(answer: LineAnswer, impasse: LineImpasse) -> Iterator[RenderableType]:
    yield Text(impasse.reason)
    if impasse.conflicts:
        clash = facts()
        clash.add_row("Clash", "\n".join(" + ".join(keys) for keys in impasse.conflicts))
        yield clash
    if impasse.concessions:
        yield _concessions(impasse.concessions, answer.currency)


def _concessions(concessions: Sequence[LineConcession], currency: str) -> Table:
    table = grid(("requirement", False), ("from", True), ("to", True), ("price then", True))
    for entry in concessions:
        price = money(entry.price, currency) if entry.price is not None else ""
        table.add_row(entry.key, raised(entry.start), raised(entry.to), price)
    return table


# Parts ---------------------------------------------------------------------------------------


def _parts_by_item(answer: LineAnswer) -> Table:
    """The bill by items: what is for each loop, and what is for all."""
    names = [loop.name for loop in answer.loops]
    columns = [(escaped(name), True) for name in names]
    table = grid(("item", False), *columns, (_SHARED, True), (f"all, {answer.currency}", True))
    items = list(dict.fromkeys(part.item for part in answer.parts))
    for item in items:
        some = [part for part in answer.parts if part.item == item]
        row = [_own(some, name) for name in (*names, None)]
        table.add_row(
            item,
            *(amount(price) if price else "" for price in row),
            amount(sum(row, start=Decimal(0))),
        )
    row = [_own(answer.parts, name) for name in (*names, None)]
    table.add_row("total", *map(amount, row), amount(sum(row, start=Decimal(0))), style="bold")
    return table


def line_parts_table(parts: Sequence[LinePartResult], currency: str) -> Table:
    """Every line of the bill with the loop that it is for."""
    table = grid(
        ("for", False),
        ("part", False),
        ("description", False),
        ("pieces", True),
        (f"each, {currency}", True),
        ("price", True),
        ("weeks", True),
    )
    for part in parts:
        table.add_row(
            part.loop or _SHARED,
            part.id,
            part.description,
            str(part.quantity),
            amount(part.unit_price),
            amount(part.price),
            f"{part.lead_time_weeks:g}",
        )
    total = sum((part.price for part in parts), start=Decimal(0))
    table.add_row("", "", "total", "", "", amount(total), "", style="bold")
    return table


# Each loop -----------------------------------------------------------------------------------


def _loop_title(console: Console, loop: LoopResult) -> None:
    said, own = "no option meets its case", loop.alone.choice
    if loop.chosen is not None:
        said = loop.chosen.id
    elif own is not None and own.price is not None:
        said = f"by itself {own.id} for {money(own.price, own.currency)}"
    console.print()
    console.rule(Text(f"Loop {loop.name}: {said}"), align="left", characters="─")


def _loop(console: Console, answer: LineAnswer, loop: LoopResult) -> None:
    _loop_title(console, loop)
    if loop.chosen is not None:
        section(console, "In the line", _chosen(loop, loop.chosen))
    loop_sections(console, loop.alone, loop.chosen, loop.name)
    if loop.chosen is not None:
        others = [entry for entry in loop.options if entry.id != loop.chosen.id]
        works = [entry for entry in others if entry.line_price is not None]
        works.sort(key=lambda entry: entry.line_price or Decimal(0))
        if works:
            body = _options(loop, works[:_MOST_OPTIONS], answer.currency)
            section(console, "What else works in the line", body)


def _chosen(loop: LoopResult, chosen: OptionResult) -> Table:
    table = facts()
    for name, value in choice_facts(loop.alone, chosen):
        if name not in _NOT_OF_THE_LOOP:
            table.add_row(name, value)
    return table


def _options(loop: LoopResult, options: Sequence[LoopOption], currency: str) -> Table:
    table = grid(
        ("option", False),
        ("verdict alone", False),
        (f"alone, {currency}", True),
        ("the line", True),
        ("more", True),
    )
    table.columns[0].no_wrap = True
    for entry in options:
        table.add_row(
            entry.id,
            _WORDS.get(entry.verdict, entry.verdict),
            whole_amount(entry.alone) if entry.alone is not None else "",
            whole_amount(entry.line_price) if entry.line_price is not None else "",
            whole_amount(entry.dearer) if entry.dearer is not None else "",
        )
    return table


def _in_line(answer: LineAnswer, entry: LoopOption) -> RenderableType:
    table = facts()
    if entry.line_price is not None:
        table.add_row("The line with it", money(entry.line_price, answer.currency))
    if entry.dearer:
        table.add_row("Dearer by", money(entry.dearer, answer.currency))
    if entry.alone is not None:
        table.add_row("By itself", money(entry.alone, answer.currency))
    works = entry.verdict in (Verdict.RECOMMENDED, Verdict.DEARER)
    said = entry.reason
    if works and entry.line_price is None and answer.status == "recommended":
        said = f"No line with it is cheaper than the choice. By itself: {said}"
    return Group(table, Text(said)) if said else table


def _end(console: Console, answer: LineAnswer) -> None:
    body = Group(*(Text(f"- {line}") for line in answer.cautions))
    section(console, "Cautions", body)
