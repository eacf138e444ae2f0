"""What moved between two answers about lines of loops, and why."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, Final

from recommender.changes import Values, figures_between, inputs_between, values_between
from recommender.inputs.case_tables import Commercial, Table
from recommender.inputs.si_case import values_in
from recommender.lines.result import LineAnswer, LineFloor, LinePartResult, LoopOption, LoopResult
from recommender.lines.result_changes import (
    LineChanges,
    LineItemChange,
    LineSide,
    LoopChange,
    LoopChoice,
)
from recommender.lines.tables import Space, Spares
from recommender.results.answer import Verdict
from recommender.results.changes import FigureChange, InputChange, VerdictChange
from recommender.units import written_in

_ABOVE: Final = ("limits.", "site.", "life.")
"""What may stand above the loops and hold for all of them."""
_OF_THE_LINE: Final = ("title", "units", "rate.reserve")
_WORKS: Final = (Verdict.RECOMMENDED, Verdict.DEARER)
_IN_LINE, _ALONE = "works, dearer", "works by itself"
_FAILS: Final = {Verdict.REJECTED: "does not work", Verdict.UNDECIDED: "not decided"}


def line_changes_between(old: LineAnswer, new: LineAnswer) -> LineChanges:
    """What moved from one answer to another; texts are in the units of the new one."""
    before, after = _side(old), _side(new)
    alike = before.currency == after.currency
    priced = before.price is not None and after.price is not None
    with written_in(new.units):
        inputs = tuple(_inputs(old, new))
    return LineChanges(
        old=before,
        new=after,
        difference=_less(after.price, before.price) if alike and priced else None,
        inputs=inputs,
        figures=tuple(_figures(old, new)),
        loops=tuple(_loops(old, new)),
        items=tuple(_items(old, new, alike)),
        verdicts=tuple(_verdicts(old, new)),
    )


def _side(answer: LineAnswer) -> LineSide:
    return LineSide(
        title=answer.title,
        chosen=tuple(
            LoopChoice(loop.name, loop.chosen.id if loop.chosen else None) for loop in answer.loops
        ),
        price=answer.price,
        currency=answer.currency,
        catalogue=answer.catalogue,
        program=answer.program,
    )


def _less(new: Decimal | None, old: Decimal | None) -> Decimal:
    return (new or Decimal(0)) - (old or Decimal(0))


# What is asked -------------------------------------------------------------------------------


def _inputs(old: LineAnswer, new: LineAnswer) -> Iterator[InputChange]:
    """Keys whose values differ, each as the line's file has it."""
    yield from values_between(_of_whole(old.line), _of_whole(new.line))
    yield from _handovers(old, new)
    names = [loop.name for loop in old.loops], [loop.name for loop in new.loops]
    if names[0] != names[1]:
        yield InputChange("line", *(", ".join(some) for some in names))
    changed = {name: list(_of_loop(old, new, name)) for name in names[1] if name in names[0]}
    everywhere = [
        change
        for change in next(iter(changed.values()), [])
        if change.key.startswith(_ABOVE) and all(change in own for own in changed.values())
    ]
    yield from everywhere
    for name, own in changed.items():
        for change in own:
            if change not in everywhere:
                yield InputChange(f"{name}.{change.key}", change.old, change.new)


def _of_whole(line: Mapping[str, Any]) -> Values:
    """What stands above the loops and is not merged into their cases."""
    plain = {"title": line["title"], "units": line["units"], "rate.reserve": line["reserve"]}
    tables: dict[str, type[Table]] = {"commercial": Commercial, "spares": Spares, "floor": Space}
    found: dict[str, Any] = {key: (value, None) for key, value in plain.items()}
    for name, table in tables.items():
        found |= dict(values_in(line[name], table, f"{name}."))
    return found


def _handovers(old: LineAnswer, new: LineAnswer) -> Iterator[InputChange]:
    """Handovers go by their names; one that only one line has is told by its name alone."""
    before, after = _handovers_of(old), _handovers_of(new)
    if list(before) != list(after):
        yield InputChange("handover", *(", ".join(some) or "none" for some in (before, after)))
    for name, own in after.items():
        if name in before:
            yield from values_between(before[name], own)


def _handovers_of(answer: LineAnswer) -> dict[str, Values]:
    entries = zip(answer.handovers, answer.line["handover"], strict=True)
    return {
        handover.name: {
            f"handover.{handover.name}.{key}": (value, None) for key, value in entry.items()
        }
        for handover, entry in entries
    }


def _of_loop(old: LineAnswer, new: LineAnswer, name: str) -> Iterator[InputChange]:
    """What is asked of a loop itself; the rate of one that is supplied follows."""
    supplied = all(
        loop.supplied for answer in (old, new) for loop in answer.loops if loop.name == name
    )
    for change in inputs_between(old.line["cases"][name], new.line["cases"][name]):
        follows = supplied and change.key == "rate.items"
        if change.key in _OF_THE_LINE or change.key.startswith("commercial.") or follows:
            continue
        yield change


# What is recommended -------------------------------------------------------------------------


def _figures(old: LineAnswer, new: LineAnswer) -> Iterator[FigureChange]:
    """Figures of the whole line that differ."""
    before, after = _figures_of(old), _figures_of(new)
    for (name, unit), value in after.items():
        earlier = before[name, unit]
        if earlier != value:
            yield FigureChange(name, unit, earlier, value)


def _figures_of(answer: LineAnswer) -> dict[tuple[str, str], float | None]:
    shared, delivery = answer.shared, answer.delivery
    floor: LineFloor | None = answer.floor
    return {
        ("carriers", "carriers"): shared.carriers if shared else None,
        ("sections", "sections"): shared.sections if shared else None,
        ("supplies", "supplies"): len(shared.supplies) if shared else None,
        ("floor along the loops", "m"): floor.length_m if floor else None,
        ("floor across the loops", "m"): floor.width_m if floor else None,
        ("delivery", "weeks"): delivery.weeks if delivery else None,
    }


def _loops(old: LineAnswer, new: LineAnswer) -> Iterator[LoopChange]:
    names = dict.fromkeys(loop.name for answer in (old, new) for loop in answer.loops)
    for name in names:
        before, after = _chosen(old, name), _chosen(new, name)
        asked = _rate(old, name), _rate(new, name)
        figures = list(figures_between(before, after))
        if asked[0] != asked[1]:
            figures.insert(0, FigureChange("rate that is asked", "/min", *asked))
        ids = (before.id if before else None), (after.id if after else None)
        if ids[0] != ids[1] or figures:
            yield LoopChange(name, *ids, tuple(figures))


def _chosen(answer: LineAnswer, name: str) -> Any:
    loop = answer.loop(name)
    return loop.chosen if loop is not None else None


def _rate(answer: LineAnswer, name: str) -> float | None:
    loop = answer.loop(name)
    return loop.rate_per_min if loop is not None else None


def _items(old: LineAnswer, new: LineAnswer, alike: bool) -> Iterator[LineItemChange]:
    before, after = _by_item(old.parts), _by_item(new.parts)
    order = [*(loop.name for answer in (new, old) for loop in answer.loops), None]
    keys = dict.fromkeys((*before, *after))
    for loop, item in sorted(keys, key=lambda key: order.index(key[0])):
        one, other = (prices.get((loop, item), Decimal(0)) for prices in (before, after))
        if one != other or not alike:
            yield LineItemChange(loop, item, one, other, other - one if alike else None)


def _by_item(parts: tuple[LinePartResult, ...]) -> dict[tuple[str | None, str], Decimal]:
    prices: dict[tuple[str | None, str], Decimal] = {}
    for part in parts:
        key = part.loop, part.item
        prices[key] = prices.get(key, Decimal(0)) + part.price
    return prices


# How options are judged ----------------------------------------------------------------------


def _verdicts(old: LineAnswer, new: LineAnswer) -> Iterator[VerdictChange]:
    """Options of loops that both lines have and that are judged otherwise."""
    for loop in new.loops:
        earlier = old.loop(loop.name)
        if earlier is None:
            continue
        before = {option.id: option for option in earlier.options}
        after = {option.id: option for option in loop.options}
        for id_ in dict.fromkeys((*after, *before)):
            words = _word(earlier, before.get(id_)), _word(loop, after.get(id_))
            if words[0] != words[1]:
                why = _why(loop, before.get(id_), after.get(id_), new.currency)
                yield VerdictChange(f"{loop.name}.{id_}", *words, why)


def _word(loop: LoopResult, option: LoopOption | None) -> str:
    """How an option is judged in its line; empty where there is no such option."""
    if option is None:
        return ""
    if loop.chosen is not None and option.id == loop.chosen.id:
        return "recommended"
    if option.verdict in _WORKS:
        return _IN_LINE if loop.chosen is not None and option.line_price is not None else _ALONE
    return _FAILS.get(Verdict(option.verdict), option.verdict)


def _why(loop: LoopResult, old: LoopOption | None, new: LoopOption | None, currency: str) -> str:
    """What speaks for an option or against it now, or did before."""
    if new is None:
        return "It is no option any more: its carrier, bend or items are not asked for or offered."
    word, earlier = _word(loop, new), ""
    if old is not None and old.verdict not in _WORKS:
        earlier = f" Before: {old.reason}"
    if word == "recommended":
        return f"The cheapest line has it.{earlier}"
    if word == _IN_LINE:
        more = f"{new.dearer:,.2f} {currency} more" if new.dearer else "as much"
        return f"The line with it costs {more}.{earlier}"
    if word == _ALONE:
        lacks = "No line with it was found." if loop.chosen else "There is no line at all."
        return f"{lacks}{earlier}"
    return new.reason
