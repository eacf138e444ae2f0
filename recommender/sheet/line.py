"""The sheet of a line: the whole for the customer; parts, checks and each loop for colleagues."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Final

from markupsafe import Markup

from recommender.drawing.line_plan import line_plan_of
from recommender.drawing.plan import drawn_length, plan_of
from recommender.drawing.svg import svg_of
from recommender.lines.result import LineAnswer, LinePartResult, LoopResult
from recommender.results.assumption import AssumptionLine
from recommender.sheet import content
from recommender.sheet.content import Figure
from recommender.sheet.question import understood
from recommender.sheet.setting import environment, template
from recommender.units import written_in
from recommender.views.line_words import handover_text, line_headline
from recommender.views.numbers import listed, money, quantity, share, three_digits

_PLAN_NOTE: Final = (
    "Plan to scale, all loops together: dashed the floor with loads, arrows the handovers, carriers"
    " drawn evenly along each guide."
)


def line_sheet_of(
    answer: LineAnswer, *, date: str = "", version: str = "", customer_only: bool = False
) -> str:
    """An answer about a line as one HTML page, as `recommender.sheet.sheet_of` makes one of a loop.

    Parameters
    ----------
    answer : LineAnswer
    date : str
        The date of the sheet, as it is to be read.
    version : str
        Version of the program.
    customer_only : bool
        Whether to leave out what is for colleagues.

    Returns
    -------
    str
    """
    with written_in(answer.units):
        page = environment().from_string(template("line.html.j2"))
        return page.render(
            answer=answer,
            date=date,
            version=version,
            customer_only=customer_only,
            title=answer.title,
            style=Markup(template("sheet.css")),
            **customer_values(answer),
            **({} if customer_only else _colleagues(answer)),
        )


def customer_values(answer: LineAnswer) -> dict[str, Any]:
    """What the page for the customer is filled in with."""
    found = answer.status == "recommended"
    return {
        "found": found,
        "loops": [(loop.name, understood(loop.alone)) for loop in answer.loops],
        "handovers": [handover_text(handover) for handover in answer.handovers],
        "headline": line_headline(answer),
        "recommendations": [(loop.name, _recommendation(loop)) for loop in answer.loops]
        if found
        else [],
        "figures": _figures(answer) if found else [],
        "plan": Markup(svg_of(line_plan_of(answer))) if found else "",
        "plan_note": _PLAN_NOTE,
        "questions": list(_questions(answer)),
    }


def _recommendation(loop: LoopResult) -> str:
    """What is built of one loop, in a sentence or two."""
    chosen = loop.chosen
    assert chosen is not None and chosen.loop is not None and chosen.motion is not None
    each = "" if chosen.items_per_carrier == 1 else f", {chosen.items_per_carrier} items on each,"
    return (
        f"{chosen.carriers} carriers of the kind {chosen.carrier}{each} on"
        f" {chosen.loop.length_m:.2f} m of guide, at up to {chosen.motion.speed}; a carrier comes"
        f" every {three_digits(chosen.takt_s or 0.0)} s."
    )


def _figures(answer: LineAnswer) -> list[Figure]:
    """Rates, floor, price, what one order saves, delivery."""
    assert answer.price is not None and answer.floor is not None
    rates = [f"{loop.name} {three_digits(loop.rate_per_min)}" for loop in answer.loops]
    values = [(f"loop.{loop.name}.rate_per_min", repr(loop.rate_per_min)) for loop in answer.loops]
    floor = answer.floor
    found = [
        Figure("Items a minute", ", ".join(rates), "as asked, without reserve", tuple(values)),
        Figure(
            "Floor",
            f"{drawn_length(floor.width_m, bare=True)} × {drawn_length(floor.length_m)}",
            f"all loops side by side, {drawn_length(floor.gap_m)} between them",
            (("floor.width_m", repr(floor.width_m)), ("floor.length_m", repr(floor.length_m))),
        ),
        Figure(
            "Price",
            money(answer.price, answer.currency),
            "all loops in one order",
            (("price", f"{answer.price:.2f}"),),
        ),
    ]
    if answer.savings is not None:
        saved = answer.savings.saved
        text = money(saved, answer.currency)
        note = "against a separate order for each loop"
        found.append(Figure("Saved", text, note, (("savings.saved", f"{saved:.2f}"),)))
    if answer.delivery is not None:
        weeks = f"{answer.delivery.weeks:g}"
        chain = ", then ".join(f"{step.what} {step.weeks:g}" for step in answer.delivery.steps)
        found.append(Figure("Delivery", f"{weeks} weeks", chain, (("delivery.weeks", weeks),)))
    return found


def _questions(answer: LineAnswer) -> Sequence[tuple[str, AssumptionLine]]:
    """What only the customer can answer: of which loops, and the question."""
    found: dict[tuple[str, str], tuple[list[str], AssumptionLine]] = {}
    for loop in answer.loops:
        for line in content.questions(loop.alone):
            key = line.question, line.value
            found.setdefault(key, ([], line))[0].append(loop.name)
    return [(listed(names), line) for names, line in found.values()]


def _colleagues(answer: LineAnswer) -> dict[str, Any]:
    return {
        "shared": _shared(answer),
        "conditions": [
            (
                check.title,
                check.governed_by,
                quantity(check.demand, check.unit, answer.currency),
                quantity(check.limit, check.unit, answer.currency),
                share(check.utilisation),
                check.ok,
            )
            for check in content.by_use(answer.conditions)
        ],
        "parts": _by_loop(answer),
        "of_loops": [_of_loop(number, loop) for number, loop in enumerate(answer.loops)],
    }


def _shared(answer: LineAnswer) -> list[tuple[str, str]]:
    shared = answer.shared
    if shared is None:
        return []
    rows = [
        (
            "Controller",
            f"{shared.controller}: {shared.carriers} of {shared.carriers_limit} carriers,"
            f" {shared.sections} of {shared.sections_limit} sections",
        )
    ]
    for supply in shared.supplies:
        loops = list(dict.fromkeys(run.loop for run in supply.runs))
        rows.append(
            (
                f"Supply {supply.number}",
                f"{supply.id} in {listed(loops)}: {quantity(supply.mean_w, 'W')} of"
                f" {quantity(supply.mean_limit_w, 'W')}, peak {quantity(supply.peak_w, 'W')} of"
                f" {quantity(supply.peak_limit_w, 'W')}, {supply.sections} of"
                f" {supply.sections_limit} sections",
            )
        )
    rows += [
        ("Kind of carrier", f"{kind.carrier} in {listed(kind.loops)}, {kind.carriers} carriers")
        for kind in shared.kinds
    ]
    return rows


def _by_loop(answer: LineAnswer) -> list[tuple[str, Decimal, list[LinePartResult]]]:
    """The bill: what is for each loop, then what is for all."""
    names: list[tuple[str | None, str]] = [(loop.name, loop.name) for loop in answer.loops]
    groups = [
        (title, [part for part in answer.parts if part.loop == name])
        for name, title in (*names, (None, "all loops"))
    ]
    return [
        (title, sum((part.price for part in parts), start=Decimal(0)), parts)
        for title, parts in groups
        if parts
    ]


def _of_loop(number: int, loop: LoopResult) -> dict[str, Any]:
    """What colleagues read of one loop."""
    chosen, alone = loop.chosen, loop.alone
    drawn = chosen is not None and chosen.loop is not None
    return {
        "number": number + 1,
        "name": loop.name,
        "chosen": chosen,
        "instead": loop.instead.sentence if loop.instead is not None else "",
        "plan": Markup(svg_of(plan_of(chosen, notes=False), f"loop{number}"))
        if chosen is not None and drawn
        else "",
        "plan_note": content.description_of(chosen.loop, chosen)
        if chosen is not None and chosen.loop is not None
        else "",
        "checks": content.check_rows(chosen, (), chosen.currency) if chosen is not None else [],
        "groups": [entry for entry in alone.rejections if not entry.near],
        "near": [entry for entry in alone.rejections if entry.near],
        "usual": content.usual(alone),
    }
