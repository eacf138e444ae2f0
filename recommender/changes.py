"""What moved between two answers, and why."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from recommender.inputs.quantities import Kind, as_text
from recommender.inputs.si_case import values_of
from recommender.results.answer import Answer, OptionResult, PartResult, Verdict
from recommender.results.changes import (
    Changes,
    FigureChange,
    InputChange,
    ItemChange,
    Side,
    VerdictChange,
)
from recommender.units import written_in

Values = Mapping[str, tuple[Any, Kind | None]]

_NOT_GIVEN = "not given"
_WORDS = {
    Verdict.RECOMMENDED: "recommended",
    Verdict.DEARER: "works, dearer",
    Verdict.REJECTED: "does not work",
    Verdict.UNDECIDED: "not decided",
}


def changes_between(old: Answer, new: Answer) -> Changes:
    """What moved from one answer to another; texts are in the units of the new one."""
    before, after = _side(old), _side(new)
    alike = before.currency == after.currency
    with written_in(new.units):
        inputs = tuple(inputs_between(old.case, new.case))
    return Changes(
        old=before,
        new=after,
        difference=_less(after.price, before.price) if alike else None,
        inputs=inputs,
        figures=tuple(figures_between(old.choice, new.choice)),
        items=tuple(_items(old.parts, new.parts, alike)),
        verdicts=tuple(_verdicts(old, new)),
    )


def _side(answer: Answer) -> Side:
    choice = answer.choice
    return Side(
        title=str(answer.case.get("title", "")),
        recommended=answer.recommended,
        price=choice.price if choice else None,
        currency=answer.options[0].currency if answer.options else "",
        catalogue=answer.catalogue,
        program=answer.program,
    )


def _less(new: Decimal | None, old: Decimal | None) -> Decimal | None:
    return None if new is None or old is None else new - old


def inputs_between(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[InputChange]:
    """Keys whose values differ; a station that only one has is one line, not one for each key."""
    stations = [[entry["name"] for entry in case["station"]] for case in (old, new)]
    common = set(stations[0]) & set(stations[1])
    if stations[0] != stations[1]:
        yield InputChange("station", *(", ".join(names) for names in stations))
    before, after = (
        {key: value for key, value in values_of(case).items() if _station_of(key) in common | {""}}
        for case in (old, new)
    )
    yield from values_between(before, after)


def values_between(before: Values, after: Values) -> Iterator[InputChange]:
    """Keys whose values differ; texts are in the units in which numbers are written now."""
    for key in dict.fromkeys((*before, *after)):
        one, other = before.get(key, (None, None)), after.get(key, (None, None))
        if one[0] != other[0]:
            yield InputChange(key, *_texts(one[0], other[0], one[1] or other[1]))


def _station_of(key: str) -> str:
    """The name of the station that a key is of; empty for others."""
    return key.removeprefix("station.").rpartition(".")[0] if key.startswith("station.") else ""


def _texts(old: object, new: object, kind: Kind | None) -> tuple[str, str]:
    """Two values that differ, as finely as it takes to see it."""
    texts = _text(old, kind), _text(new, kind)
    if texts[0] != texts[1]:
        return texts
    unit = f" {kind.si}" if kind else ""
    return f"{old!r}{unit}", f"{new!r}{unit}"


def _text(value: object, kind: Kind | None) -> str:
    if isinstance(value, list):
        value = tuple(value)
    return as_text(value, kind) if value != () else "none"


def figures_between(old: OptionResult | None, new: OptionResult | None) -> Iterator[FigureChange]:
    """Figures of two configurations that differ, in the order in which one looks at them."""
    before, after = _figures_of(old), _figures_of(new)
    for name, unit in dict.fromkeys((*before, *after)):
        values = before.get((name, unit)), after.get((name, unit))
        if values[0] != values[1]:
            yield FigureChange(name, unit, *values)


def _figures_of(option: OptionResult | None) -> dict[tuple[str, str], float | None]:
    """What one looks at first of a choice, by its name and SI unit."""
    if option is None:
        return {}
    loop, delivery, running = option.loop, option.delivery, option.running
    return {
        ("carriers", "carriers"): option.carriers,
        ("length of the guide", "m"): loop.length_m if loop else None,
        ("floor across, with loads", "m"): loop.floor_width_m if loop else None,
        ("floor along, with loads", "m"): loop.floor_extent_m if loop else None,
        ("takt", "s"): option.takt_s,
        ("lap", "s"): option.lap_s,
        ("rate that it could reach", "/min"): option.rate_per_min,
        ("delivery", "weeks"): delivery.weeks if delivery else None,
        ("energy a year", "kWh"): running.energy_kwh_a_year if running else None,
    }


def _items(
    old: tuple[PartResult, ...], new: tuple[PartResult, ...], alike: bool
) -> Iterator[ItemChange]:
    before, after = _by_item(old), _by_item(new)
    for item in dict.fromkeys((*before, *after)):
        prices = before.get(item, Decimal(0)), after.get(item, Decimal(0))
        if prices[0] != prices[1] or not alike:
            yield ItemChange(item, *prices, prices[1] - prices[0] if alike else None)


def _by_item(parts: tuple[PartResult, ...]) -> dict[str, Decimal]:
    prices: dict[str, Decimal] = {}
    for part in parts:
        prices[part.item] = prices.get(part.item, Decimal(0)) + part.price
    return prices


def _verdicts(old: Answer, new: Answer) -> Iterator[VerdictChange]:
    before = {option.id: option for option in old.options}
    after = {option.id: option for option in new.options}
    for id_ in dict.fromkeys((*after, *before)):
        one, other = before.get(id_), after.get(id_)
        if one is None or other is None or one.verdict is not other.verdict:
            yield VerdictChange(id_, _word(one), _word(other), _why(one, other))


def _word(option: OptionResult | None) -> str:
    return _WORDS.get(option.verdict, str(option.verdict)) if option else ""


def _why(old: OptionResult | None, new: OptionResult | None) -> str:
    """Why an option is judged otherwise: what speaks against it now, or did before."""
    if new is None:
        return "It is no option any more: its carrier, bend or items are not asked for or offered."
    if old is not None and old.price is None and new.price is not None:
        return f"Before: {old.reason}"
    if old is None:
        return f"It was no option before. {new.reason}"
    return new.reason
