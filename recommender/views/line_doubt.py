"""How sure the choice of a line is, on the terminal and for spreadsheets."""

from collections.abc import Iterator

from rich.console import Console
from rich.table import Table

from recommender.lines.result_doubt import LineDoubt, LoopDoubt
from recommender.results.answer import document
from recommender.results.doubt import FailingCheck
from recommender.shown import json_text
from recommender.views.doubt import inputs_csv
from recommender.views.doubt_words import HEADS, ONE_VALUE, input_row, interval, per_cent
from recommender.views.layout import facts, fitting, grid
from recommender.views.numbers import listed, lowered, money

_MOST_TOLD = 3
_HARDER = (
    "not looked for in a line; see what harder values give with compare --vary, such as --vary"
    ' {key}="..."'
)


def show_line_doubt(console: Console, found: LineDoubt) -> None:
    """Print a doubt about a line: its inputs, the whole, each loop."""
    price = money(found.price, found.currency)
    console.print(f"Doubt about {found.title}, {price}: {found.draws:,} draws, seed {found.seed}")
    console.print()
    console.print(fitting(_inputs(found), console.width))
    console.print()
    table = facts()
    for name, value in _rows(found):
        table.add_row(name, value)
    console.print(table)
    console.print()
    console.print(ONE_VALUE)


def _inputs(found: LineDoubt) -> Table:
    table = grid(*((head, number > 1) for number, head in enumerate(HEADS)))
    for entry in found.inputs:
        table.add_row(*input_row(entry))
    return table


def _rows(found: LineDoubt) -> Iterator[tuple[str, str]]:
    yield "The line", f"holds in {interval(found.chance)}"
    for loop in found.loops:
        yield f"Loop {loop.loop}", "\n".join(_loop(loop))
    if found.conditions:
        yield "All loops", f"fail together by {_failing(found.conditions)}"
    yield "Most by", _most(found)
    if found.fixed:
        keys = listed(found.fixed)
        yield "At rest", f"{keys}: taken as they stand, since a direct handover ties them"
    reserve = f"with its reserve of {per_cent(found.reserve)}" if found.reserve else "alone"
    yield "Rate", f"asked {reserve} in every draw"
    if found.chance.held >= found.asked:
        yield "Enough", f"{per_cent(found.asked)} is asked"
    else:
        yield "More often", _HARDER.format(key=found.inputs[0].key)
    if found.assumed:
        told = (
            "how unsure the inputs are: common practice, no source; say what is known with --vary"
        )
        yield "Assumed", told


def _loop(loop: LoopDoubt) -> Iterator[str]:
    yield f"{loop.carriers} x {loop.option}: holds in {per_cent(loop.chance.held)} of the draws"
    suited = loop.set_to_suit
    if suited is not None:
        yield (
            f"set to suit: in at least {per_cent(suited.held)} of {suited.draws:,} draws, if the"
            " motion of the same parts is set anew once the inputs are known"
        )
    if loop.checks:
        yield f"fails by {_failing(loop.checks)}"
    if loop.fitted:
        most = f"{len(loop.fitted)} checks" if len(loop.fitted) > 4 else listed(loop.fitted)
        yield (
            f"each check exactly in each draw, but {most} from a fit to {loop.audited:,} draws that"
            " were audited in full"
        )
    if loop.open:
        yield f"{loop.open:,} draws near a limit are left open, which the bounds of the line know"


def _failing(checks: tuple[FailingCheck, ...]) -> str:
    named = [f"{lowered(check.title)} in {per_cent(check.share)}" for check in checks[:_MOST_TOLD]]
    more = len(checks) - len(named)
    return listed(named) + (f"; {more} more now and then" if more else "")


def _most(found: LineDoubt) -> str:
    first = found.inputs[0]
    if first.share <= 0.0:
        return "no input makes a difference"
    failing = "whether the line holds" if found.measured == "holding or not" else "its greatest use"
    return f"{first.key} ({first.taken}), which alone explains {per_cent(first.share)} of {failing}"


def line_doubt_json(found: LineDoubt) -> str:
    """A doubt about a line as one JSON document."""
    return json_text(document(found))


def line_doubt_csv(found: LineDoubt) -> str:
    """The inputs as CSV (RFC 4180), a line each; no cell begins a formula."""
    return inputs_csv(found.inputs, "line", found.title, found.chance.held)
