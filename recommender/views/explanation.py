"""Explanations on a terminal: conflicts, concessions, shares as bars, headroom."""

from collections.abc import Iterator, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from recommender.results.answer import (
    Answer,
    BreakdownResult,
    Change,
    HeadroomResult,
    Impasse,
    OptionResult,
    Verdict,
)
from recommender.views.layout import Cells, facts, grid
from recommender.views.numbers import money, quantity, raised, what_stops

_BAR = 26
_EIGHTHS = " ▏▎▍▌▋▊▉"


def explanation_sections(option: OptionResult) -> Iterator[tuple[str, RenderableType]]:
    """Titles and bodies of what explains one option."""
    if option.dearer_by is not None:
        yield "What makes it dearer", differences_table(option)
    if option.verdict is Verdict.REJECTED:
        yield "Requirements that clash", conflicts_text(option)
        yield "What would have to give", concessions(option)
    if option.breakdowns:
        bars = [breakdown_bars(entry, option.currency) for entry in option.breakdowns]
        yield "What it is made of", Group(*_apart(bars))
    if option.headroom:
        yield "How much more it could take", headroom_table(option.headroom)
    if any(entry.stands_to for entry in option.headroom):
        yield "Where the recommendation changes", turning_table(option.headroom)


def _apart(bodies: Sequence[RenderableType]) -> Iterator[RenderableType]:
    for number, body in enumerate(bodies):
        if number:
            yield ""
        yield body


def differences_table(option: OptionResult) -> Table:
    """Differences to the recommended option, item by item."""
    table = grid(("item", False), ("difference", True))
    assert option.dearer_by is not None
    for entry in option.dearer_by.because:
        table.add_row(entry.item, money(entry.difference, option.currency))
    table.add_row("all", money(option.dearer_by.price, option.currency), style="bold")
    return table


def conflicts_text(option: OptionResult) -> Text:
    """Sets of requirements that cannot hold together."""
    return _conflicts(option.conflicts, option.conflicts_complete, "it")


def _conflicts(conflicts: Sequence[Sequence[str]], complete: bool, what: str) -> Text:
    if not conflicts or not conflicts[0]:
        return Text(f"None: {what} fails whatever is asked.")
    lines = [" + ".join(keys) for keys in conflicts]
    if not complete:
        lines.append("and maybe others")
    return Text("\n".join(lines))


def concessions(option: OptionResult) -> RenderableType:
    """What would make the option work: one change alone, or else two together."""
    table = grid(("requirement", False), ("from", True), ("to", True), ("price then", True))
    budget = [entry for entry in option.relaxations if entry.key == "commercial.budget"]
    others = [entry for entry in option.relaxations if entry not in budget]
    for entry in others:
        price = money(entry.price, option.currency) if entry.price is not None else ""
        table.add_row(entry.key, raised(entry.start), raised(entry.to), price)
    if others:
        return table
    if budget and budget[0].price is not None:
        return Text(
            f"Nothing but the budget: it works for {money(budget[0].price, option.currency)}."
        )
    if option.pair is not None:
        price = money(option.pair.price, option.currency) if option.pair.price is not None else ""
        for change in option.pair.changes:
            table.add_row(change.key, raised(change.start), raised(change.to), price)
            price = "together"
        return table
    return Text(
        "Nothing that would leave it this load and this job: no change of one requirement alone,"
        " nor of two together."
    )


def breakdown_bars(breakdown: BreakdownResult, currency: str) -> RenderableType:
    """A quantity as one bar for each of its shares."""
    head = Text(f"{breakdown.title}: {quantity(breakdown.total, breakdown.unit, currency)}")
    table = Cells(box=None, show_header=False, padding=(0, 2, 0, 0))
    table.add_column(overflow="fold", max_width=34)
    table.add_column(no_wrap=True, width=_BAR)
    table.add_column(no_wrap=True, justify="right")
    largest = max(abs(entry.amount) for entry in breakdown.shares)
    for entry in breakdown.shares:
        table.add_row(
            entry.what,
            bar(entry.amount / largest, _BAR),
            quantity(entry.amount, breakdown.unit, currency),
        )
    return Group(head, table)


def bar(share: float, width: int) -> str:
    """A bar of block characters; shaded where the share takes away.

    Examples
    --------
    >>> bar(0.5, 8), bar(0.3, 8), bar(-0.5, 8)
    ('████', '██▍', '░░░░')
    """
    if share < 0.0:
        return "░" * max(round(-share * width), 1)
    eighths = round(share * width * 8)
    return ("█" * (eighths // 8) + _EIGHTHS[eighths % 8]).rstrip() or "▏"


def headroom_table(headroom: Sequence[HeadroomResult]) -> Table:
    """How far each requirement can be raised before the configuration fails, and what stops it."""
    table = grid(("requirement", False), ("from", True), ("holds to", True), ("then fails", False))
    table.columns[0].no_wrap = True
    for entry in headroom:
        table.add_row(
            entry.key,
            raised(entry.start),
            "no more" if entry.no_room else raised(entry.to or "10 times"),
            what_stops(entry.stopped_by, entry.harder),
        )
    return table


def turning_table(headroom: Sequence[HeadroomResult]) -> Table:
    """How far each requirement can be raised before another option is recommended."""
    table = grid(
        ("requirement", False), ("from", True), ("stands to", True), ("then recommended", False)
    )
    table.columns[0].no_wrap = True
    for entry in headroom:
        then = "" if entry.stands_to is None else entry.then or "nothing works"
        table.add_row(entry.key, raised(entry.start), raised(entry.stands_to or "10 times"), then)
    return table


def impasse_body(answer: Answer, impasse: Impasse) -> RenderableType:
    """Why no option meets a case, and what comes closest."""
    currency = answer.options[0].currency if answer.options else ""
    table = grid(("option", False), ("would work with", False), ("price then", True))
    for way in impasse.ways:
        price = money(way.price, currency) if way.price is not None else ""
        table.add_row(way.option, "\n".join(_change(change) for change in way.changes), price)
    parts: list[RenderableType] = [Text(impasse.reason)]
    if impasse.conflicts:
        clash, complete = facts(), impasse.conflicts_complete
        clash.add_row("Clash", _conflicts(impasse.conflicts, complete, "everything"))
        parts += ["", clash]
    if impasse.ways:
        parts += ["", table]
    return Group(*parts)


def _change(change: Change) -> str:
    return raised(f"{change.key}: {change.start} to {change.to}")
