"""What a sheet says, as text that is ready to be set: the customer's page, and the rest."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from math import ceil, floor
from typing import Final

from recommender import units
from recommender.drawing.plan import drawn_length, plan_notes
from recommender.results.answer import (
    REST,
    Answer,
    CheckResult,
    DeliveryPlan,
    OptionResult,
    PartResult,
    Proof,
    RunningCost,
    Verdict,
    Way,
)
from recommender.results.assumption import AssumptionLine
from recommender.results.calculation import Formula, Working
from recommender.results.loop import LoopPlan
from recommender.views.numbers import (
    amount,
    listed,
    money,
    place,
    quantity,
    raised,
    share,
    three_digits,
)

_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_FINE: Final = 0.01
"""Length below which it is written in millimetres, as those who set it do."""
_UNITS: Final = {"m/s^2": "m/s²", "m/s^3": "m/s³", "N*m": "N·m"}


@dataclass(frozen=True)
class Figure:
    """A number that the customer looks for: how it reads, what it is, and what stands beside it.

    ``values`` are the numbers in it as the answer holds them, in the order in which they are read.
    """

    name: str
    text: str
    note: str
    values: tuple[tuple[str, str], ...]


def figures(choice: OptionResult, answer: Answer) -> list[Figure]:
    """Rate, floor, price, delivery, energy."""
    found = [_rate(choice, answer), _floor(choice), _price(choice)]
    if choice.delivery is not None:
        found.append(_delivery(choice.delivery))
    if choice.running is not None:
        found.append(_energy(choice.running, choice.currency))
    return found


def _delivery(plan: DeliveryPlan) -> Figure:
    first, *rest = plan.steps
    chain = [f"{first.what} {first.weeks:g} ({first.governed_by})"]
    chain += [f"{step.what} {step.weeks:g}" for step in rest]
    weeks = f"{plan.weeks:g}"
    return Figure("Delivery", f"{weeks} weeks", ", then ".join(chain), (("delivery.weeks", weeks),))


def _energy(running: RunningCost, currency: str) -> Figure:
    note = f"{running.mean_w:,.0f} W over {running.hours_a_year:,.0f} h"
    if running.cost_a_year is not None:
        note = f"{money(running.cost_a_year, currency)}; {note}"
    energy = running.energy_kwh_a_year
    values = (("running.energy_kwh_a_year", repr(energy)),)
    return Figure("Energy a year", f"{three_digits(energy)} kWh", note, values)


def _rate(choice: OptionResult, answer: Answer) -> Figure:
    reached, asked = choice.rate_per_min or 0.0, answer.rate
    values = [("rate_per_min", repr(reached))]
    note = ""
    if asked is not None:
        note = f"{three_digits(asked.items_per_min)} asked"
        values.append(("rate.items_per_min", repr(asked.items_per_min)))
        if asked.reserve:
            beyond = three_digits(asked.with_reserve_per_min)
            note += f", {beyond} with {100 * asked.reserve:g} % of reserve"
            values.append(("rate.with_reserve_per_min", repr(asked.with_reserve_per_min)))
    text = f"{three_digits(_downward(reached))} items a minute"
    return Figure("Rate reached", text, note, tuple(values))


def _downward(value: float) -> float:
    """A value to three digits, so that no more is claimed than is kept.

    Examples
    --------
    >>> _downward(18.9509), _downward(5.2509), _downward(123.9), _downward(18.9)
    (18.9, 5.25, 123.0, 18.9)
    """
    step = 1.0 if value >= 100.0 else 0.1 if value >= 10.0 else 0.01 if value >= 1.0 else 0.001
    return round(floor(value / step * (1.0 + 1e-9)) * step, 3)


def _floor(choice: OptionResult) -> Figure:
    loop = choice.loop
    assert loop is not None
    values = (
        ("loop.floor_width_m", repr(loop.floor_width_m)),
        ("loop.floor_extent_m", repr(loop.floor_extent_m)),
    )
    along = drawn_length(loop.floor_extent_m)
    if loop.floor_depth_m is not None:
        text = f"{drawn_length(loop.floor_depth_m, bare=True)} × {along}"
        note = f"{drawn_length(loop.floor_width_m)} high; loads and their swing included"
        return Figure(
            "Floor", text, note, (*values, ("loop.floor_depth_m", repr(loop.floor_depth_m)))
        )
    text = f"{drawn_length(loop.floor_width_m, bare=True)} × {along}"
    return Figure("Floor", text, "loads and their swing in the bends included", values)


def _price(choice: OptionResult) -> Figure:
    assert choice.price is not None
    return Figure(
        "Price",
        money(choice.price, choice.currency),
        f"{len(choice.parts)} lines of parts and services",
        (("price", f"{choice.price:.2f}"),),
    )


def recommendation(choice: OptionResult, answer: Answer) -> str:
    """The recommendation in a paragraph."""
    loop, motion = choice.loop, choice.motion
    assert loop is not None and motion is not None and choice.price is not None
    carriers = choice.carriers or 0
    count = _NUMBERS[carriers] if carriers < len(_NUMBERS) else f"{carriers:,}"
    items = (
        "" if choice.items_per_carrier == 1 else f", each with {choice.items_per_carrier} items,"
    )
    bring = "an item" if choice.items_per_carrier == 1 else f"{choice.items_per_carrier} items"
    noun = "carrier" if carriers == 1 else "carriers"
    stands = "lies flat" if loop.plane == "flat" else "stands upright"
    return (
        f"{count.capitalize()} {noun} of the kind {choice.carrier}{items} on a loop that {stands}:"
        f" {place(loop.length_m)} of guide, two straights of {place(loop.straight_m)} each,"
        f" {quantity(loop.width_m, 'm')} apart. Carriers run at up to {raised(motion.speed)},"
        f" {raised(motion.bend_speed)} in the bends, and bring {bring} every"
        f" {three_digits(choice.takt_s or 0.0)} s. Of {len(answer.options)} combinations of"
        f" carriers, bends and items it is {_proven(answer.proof)}, and it passes all"
        f" {len(choice.checks)} checks."
    )


def _proven(proof: Proof | None) -> str:
    """How sure it is that nothing is cheaper."""
    if proof is None:
        return "the one that was found"
    if proof.best_bound >= proof.price:
        return "the cheapest, which is proven"
    # Upward, so that no more is claimed than is known.
    beyond = ceil(1000 * (proof.price - proof.best_bound) / proof.best_bound) / 10
    if proof.optimal:
        return f"proven within {beyond:.1f} % of the cheapest"
    return f"the cheapest that was found; nothing can be cheaper by more than {beyond:.1f} %"


def questions(answer: Answer) -> list[AssumptionLine]:
    """What only the customer can answer, each worth a line of its own."""
    return [line for line in answer.assumptions if line.group == "customer" and not line.brief]


def usual(answer: Answer) -> str:
    """What is so usual that one line tells it."""
    told = [line.brief for line in answer.assumptions if line.group == "customer" and line.brief]
    return raised("; ".join(dict.fromkeys(told)))


def works(answer: Answer) -> list[OptionResult]:
    """The choice and the other options that work, the cheapest first."""
    good = (Verdict.RECOMMENDED, Verdict.DEARER)
    found = [option for option in answer.options if option.verdict in good]
    return sorted(found, key=lambda option: option.price or Decimal(0))


def dearer(option: OptionResult) -> str:
    """Through which items an option is dearer, in whole units of money."""
    if option.dearer_by is None:
        return "recommended"
    told = option.dearer_by.told
    told = told[:-1] if len(told) > 1 and told[-1].item == REST else told
    return ", ".join(f"{entry.item} {entry.difference:+,.0f}" for entry in told)


def price_of(option: OptionResult) -> str:
    """A price as found."""
    return amount(option.price) if option.price is not None else ""


def more_of(option: OptionResult) -> str:
    """By how much an option is dearer: as found, and at least where that is less."""
    by = option.dearer_by
    if by is None or option.price is None:
        return ""
    if option.at_least is None or option.at_least >= option.price:
        return amount(by.price)
    least = max(option.at_least - (option.price - by.price), Decimal(0))
    return f"{amount(least)} to {amount(by.price)}"


def undecided(answer: Answer) -> list[OptionResult]:
    """Options of which nothing was found, though not everything is ruled out."""
    return [option for option in answer.options if option.verdict is Verdict.UNDECIDED]


@dataclass(frozen=True)
class CheckRow:
    """A line of the calculation sheet."""

    title: str
    governed_by: str
    demand: Formula
    demand_value: str
    limit: Formula
    limit_value: str
    used: str
    source: str
    ok: bool


def check_rows(choice: OptionResult, workings: Sequence[Working], currency: str) -> list[CheckRow]:
    """The calculation sheet, what is used most first."""
    known = {working.check: working for working in workings}
    empty = Formula("")
    rows = []
    for check in by_use(choice.checks):
        working = known.get(check.id)
        rows.append(
            CheckRow(
                title=check.title,
                governed_by=check.governed_by,
                demand=_put_in(working.demand) if working else empty,
                demand_value=_value(check.demand, check.unit, currency),
                limit=_put_in(working.limit) if working else empty,
                limit_value=_value(check.limit, check.unit, currency),
                used=share(check.utilisation),
                source=check.source,
                ok=check.ok,
            )
        )
    return rows


def _put_in(formula: Formula) -> Formula:
    """A formula without its number where that is a single one, which stands beside it."""
    return formula if " " in formula.numbers else Formula(formula.words)


def _value(value: float, unit: str, currency: str) -> str:
    """A demand or a limit in the SI unit in which it is calculated."""
    if unit in units.COUNTED:
        return units.counted(_four_digits(value), unit)
    if unit in ("money", "1") or not 0.0 < abs(value) < float("inf"):
        return quantity(value, unit, currency)
    if unit == "m" and abs(value) < _FINE:
        return f"{_four_digits(1000.0 * value)} mm"
    return f"{_four_digits(value)} {_UNITS.get(unit, unit)}"


def _four_digits(value: float) -> str:
    """Four digits, thousands apart, without an exponent.

    Examples
    --------
    >>> _four_digits(806.5403), _four_digits(379190.6), _four_digits(0.032683), _four_digits(8.0)
    ('806.5', '379,191', '0.03268', '8')
    """
    if abs(value) >= 1000.0:
        return f"{value:,.0f}"
    return f"{float(f'{value:.4g}'):.6f}".rstrip("0").rstrip(".")


def by_use(checks: Sequence[CheckResult]) -> list[CheckResult]:
    """Checks, what is used most first."""
    return sorted(checks, key=lambda check: -check.utilisation)


def part_groups(parts: Sequence[PartResult]) -> Iterator[tuple[str, list[PartResult]]]:
    """The parts list, group by group in its own order."""
    order = list(dict.fromkeys(part.item for part in parts))
    for item, members in groupby(
        sorted(parts, key=lambda part: order.index(part.item)), key=lambda part: part.item
    ):
        yield item, list(members)


def way_words(way: Way) -> str:
    """Changes that would make an option work."""
    changes = [f"{key_words(c.key)} from {raised(c.start)} to {raised(c.to)}" for c in way.changes]
    return listed(changes)


def key_words(key: str) -> str:
    """A key of the case as words.

    Examples
    --------
    >>> key_words("load.cg_height"), key_words("station.unload.dwell")
    ('load cg height', 'station unload dwell')
    """
    return key.replace(".", " ").replace("_", " ")


def clash(keys: Sequence[str]) -> str:
    """Requirements that cannot hold together."""
    return listed([key_words(key) for key in keys]) if keys else "nothing that was asked"


def description_of(loop: LoopPlan, choice: OptionResult) -> str:
    """A line below the plan."""
    stations = ", ".join(
        f"{number} {entry.name} at {place(entry.along_m)}"
        for number, entry in enumerate(loop.stations, start=1)
    )
    return (
        f"Plan to scale, {choice.carriers} carriers drawn evenly along the guide. Stations:"
        f" {stations}. {' '.join(plan_notes(loop))}"
    )


__all__ = [
    "CheckRow",
    "Figure",
    "by_use",
    "check_rows",
    "clash",
    "dearer",
    "description_of",
    "figures",
    "key_words",
    "more_of",
    "part_groups",
    "price_of",
    "questions",
    "recommendation",
    "undecided",
    "usual",
    "way_words",
    "works",
]
