"""The answer on a terminal: the choice, why it is enough, and why the others are not it."""

import math
from collections.abc import Sequence
from decimal import Decimal
from math import ceil

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from recommender.results.answer import (
    Answer,
    CheckResult,
    LeastResult,
    OptionResult,
    PartResult,
    Proof,
    Verdict,
)
from recommender.shown import escaped
from recommender.views.explanation import explanation_sections, headroom_table, impasse_body
from recommender.views.goals import WORDS, goal_facts, headline_of, number_of, unit_of
from recommender.views.layout import facts, fitting, grid
from recommender.views.loop import loop_facts
from recommender.views.numbers import (
    amount,
    money,
    place,
    quantity,
    raised,
    share,
    three_digits,
)
from recommender.views.order import delivery_text, running_text
from recommender.views.plan import loop_drawing

__all__ = [
    "VERDICTS",
    "choice_facts",
    "choice_table",
    "facts",
    "grid",
    "headline",
    "options_table",
    "ordered",
    "parts_table",
    "show_answer",
    "show_option",
    "show_unsettled",
]

VERDICTS = {
    Verdict.RECOMMENDED: "recommended",
    Verdict.DEARER: "works, dearer",
    Verdict.WORKS: "works",
    Verdict.REJECTED: "does not work",
    Verdict.UNDECIDED: "not decided",
}
_SAME = "same"
_NOTICED = 0.005
"""Seconds below which nothing is left of a time when it is printed."""

GROUPS = {
    "customer": "To ask the customer",
    "house": "Rules of the house",
    "method": "The method",
}
_SHORT_VERDICTS = {
    Verdict.RECOMMENDED: "recommended",
    Verdict.DEARER: "dearer",
    Verdict.WORKS: "works",
    Verdict.REJECTED: "fails",
    Verdict.UNDECIDED: "not decided",
}


def show_answer(console: Console, answer: Answer) -> None:
    """Print a whole answer, every option and every assumption with its reason."""
    console.print(headline(answer))
    show_unsettled(console, answer)
    choice = answer.choice
    if choice is not None:
        section(console, "The choice", choice_table(answer, choice))
        if choice.loop is not None and choice.carriers:
            plan = loop_drawing(choice.loop, choice.carriers, columns=console.width)
            drawing = Text(plan, no_wrap=True)
            console.print()
            console.print(drawing)
        section(console, "Why it is enough", checks_table(choice.checks, choice.currency))
        section(console, "How much more it could take", headroom_table(choice.headroom))
    if answer.impasse is not None:
        section(console, "Why none does", impasse_body(answer, answer.impasse))
    section(console, "All options", options_table(answer.options, answer.least))
    section(console, "Why not the others", _reasons(answer.options))
    if choice is not None:
        section(console, "Parts", parts_table(choice.parts, choice.currency))
    section(console, "Assumptions", _assumptions(answer))
    section(console, "Cautions", Group(*(Text(f"- {line}") for line in answer.cautions)))


def section(console: Console, title: str, body: RenderableType) -> None:
    console.print()
    console.print(Text(title, style="bold"))
    console.print(Padding(fitting(body, console.width - 2), (0, 0, 0, 2)))


def show_unsettled(console: Console, answer: Answer) -> None:
    """What a limit of time has cut off, if anything."""
    if answer.unsettled:
        lines = (Text(f"- {raised(what)}.") for what in answer.unsettled)
        section(console, "Not settled within the time limit", Group(*lines))


def headline(answer: Answer) -> Text:
    """What is recommended, at what price, and how sure that is."""
    title = str(answer.case.get("title", ""))
    choice = answer.choice
    if choice is not None and answer.least is not None:
        return Text(headline_of(answer, answer.least, choice), style="bold")
    if choice is None or choice.price is None or answer.proof is None:
        open_ = sum(option.verdict is Verdict.UNDECIDED for option in answer.options)
        none = "no option of the catalogue meets this case"
        if open_:
            none = f"no option was found that meets this case, and {open_} are not decided"
        return Text(f"{title}: {none}", style="bold")
    proven = _proven(answer.proof)
    text = f"{title}: {choice.id} for {money(choice.price, choice.currency)}"
    return Text(f"{text}, {proven} of {len(answer.options)} options", style="bold")


def _proven(proof: Proof) -> str:
    if proof.best_bound >= proof.price:
        return "proven cheapest"
    # Upward, so that no more is claimed than is known.
    per_mille = ceil(1000 * (proof.price - proof.best_bound) / proof.best_bound)
    if proof.optimal:
        return f"proven within {per_mille / 10:.1f} % of the cheapest"
    return f"best found, at most {per_mille / 10:.1f} % from the cheapest"


def choice_table(answer: Answer, option: OptionResult) -> Table:
    """What is built and how it moves."""
    table = facts()
    for name, value in choice_facts(answer, option):
        table.add_row(name, value)
    return table


def _number_of(option: OptionResult) -> str:
    """How many carriers, unless nothing was built of the option."""
    return f"{option.carriers} x " if option.carriers else ""


def choice_facts(answer: Answer, option: OptionResult) -> list[tuple[str, str]]:
    """Names and values of a configuration."""
    rows = [
        ("Carriers", f"{_number_of(option)}{option.carrier} ({option.family})"),
        ("Items on a carrier", str(option.items_per_carrier)),
    ]
    if option.loop is not None:
        rows += loop_facts(option.loop)
    if option.motion is not None:
        motion = option.motion
        rows.append(
            (
                "Motion",
                f"{raised(motion.acceleration)}, {raised(motion.jerk)}, up to {motion.speed}, "
                f"{motion.bend_speed} in bends",
            )
        )
    if option.takt_s is not None and option.lap_s is not None and option.rate_per_min is not None:
        rows += [
            ("Lap and takt", _lap(option)),
            ("Rate", _rate(answer, option.rate_per_min)),
        ]
    if price := _whole_price(option):
        rows.append(("Price", price))
    if option.delivery is not None:
        rows.append(("Delivery", delivery_text(option.delivery)))
    if option.running is not None:
        rows.append(("Energy", running_text(option.running, option.currency)))
    if answer.proof is not None and option.verdict is Verdict.RECOMMENDED:
        bound = money(answer.proof.best_bound, option.currency)
        text = (
            f"no motion that the carriers allow, wherever stations stand, costs less than {bound}"
        )
        rows.append(("Proof", text))
    if answer.least is not None and option.verdict is Verdict.RECOMMENDED:
        rows += goal_facts(answer, answer.least, option)
    return rows


def _whole_price(option: OptionResult) -> str:
    """The price as found, and what an option costs at least where that is less."""
    found, least = option.price, option.at_least
    if found is None:
        return f"not decided: at least {money(least, option.currency)}" if least else ""
    if least is None or least >= found or option.verdict is Verdict.RECOMMENDED:
        return money(found, option.currency)
    return f"{money(found, option.currency)} as found, at least {money(least, option.currency)}"


def _lap(option: OptionResult) -> str:
    """The lap as carriers times takt, and what of it is waiting."""
    text = f"{option.lap_s:.2f} s = {option.carriers} x {option.takt_s:.3f} s"
    times = option.lap_times
    if times is None:
        return text
    waits = [
        f"{seconds:.2f} s waiting for {what}"
        for seconds, what in ((times.batches_s, "batches"), (times.places_s, "a free place"))
        if seconds >= _NOTICED
    ]
    return f"{text}; of the lap {' and '.join(waits)}" if waits else text


def _rate(answer: Answer, reached: float) -> str:
    """What is asked, with its reserve, and what the loop could reach."""
    asked, could = answer.rate, three_digits(reached)
    if asked is None:
        return f"could reach {could} items/min"
    beyond = three_digits(asked.with_reserve_per_min)
    reserve = f", {beyond} with {share(asked.reserve)} of reserve" if asked.reserve else ""
    return f"{three_digits(asked.items_per_min)} items/min asked{reserve}; could reach {could}"


def checks_table(checks: Sequence[CheckResult], currency: str) -> Table:
    """Checks by utilisation, the tightest first."""
    table = grid(
        ("check", False), ("demand", True), ("limit", True), ("used", True), ("governed by", False)
    )
    for check in sorted(checks, key=lambda check: -check.utilisation):
        table.add_row(
            check.title,
            quantity(check.demand, check.unit, currency),
            quantity(check.limit, check.unit, currency),
            Text(share(check.utilisation), style="" if check.ok else "bold"),
            check.governed_by,
        )
    return table


def ordered(options: Sequence[OptionResult]) -> list[OptionResult]:
    """The recommended option, then those that work, then those that do not.

    Those that work by price, or by what was to be least.
    """
    rank = {verdict: number for number, verdict in enumerate(_SHORT_VERDICTS)}

    def key(option: OptionResult) -> tuple[float, ...]:
        measure = option.measure.value if option.measure else 0.0
        price = math.inf if option.price is None else float(option.price)
        return rank[option.verdict], measure, price

    return sorted(options, key=key)


def options_table(options: Sequence[OptionResult], least: LeastResult | None = None) -> Table:
    """Every option in one line, at the price as found, and what it has of what was to be least."""
    currency = options[0].currency
    more = f"{WORDS[least.goal].column}, {unit_of(least)}" if least else "more"
    table = grid(
        ("option", False),
        ("verdict", False),
        ("fleet", True),
        ("guide", True),
        (f"price, {currency}", True),
        (more, True),
    )
    for column in table.columns[:2]:
        column.no_wrap = True
    for option in ordered(options):
        works = option.verdict in (Verdict.RECOMMENDED, Verdict.DEARER, Verdict.WORKS)
        by, found = option.dearer_by, option.measure
        last = amount(by.price) if by else ""
        table.add_row(
            option.id,
            _SHORT_VERDICTS[option.verdict],
            str(option.carriers) if works else "",
            place(option.loop.length_m) if works and option.loop else "",
            _price(option),
            number_of(least, found.value) if least and found else last,
        )
    return table


def _price(option: OptionResult) -> str:
    if option.verdict is Verdict.UNDECIDED and option.at_least is not None:
        return f"at least {amount(option.at_least)}"
    return amount(option.price) if option.price is not None else ""


def _reasons(options: Sequence[OptionResult]) -> Table:
    """One sentence or two for each; options with the same words share a line."""
    table = facts()
    said: dict[str, list[str]] = {}
    for option in ordered(options):
        if option.verdict is not Verdict.RECOMMENDED:
            said.setdefault(option.reason, []).append(option.id)
    for reason, ids in said.items():
        table.add_row("\n".join(ids), Text(reason))
    return table


def parts_table(parts: Sequence[PartResult], currency: str) -> Table:
    """The bill of materials."""
    table = grid(
        ("part", False),
        ("description", False),
        ("pieces", True),
        (f"each, {currency}", True),
        ("price", True),
        ("weeks", True),
    )
    for part in parts:
        table.add_row(
            part.id,
            part.description,
            str(part.quantity),
            amount(part.unit_price),
            amount(part.price),
            f"{part.lead_time_weeks:g}",
        )
    total = sum((part.price for part in parts), start=Decimal(0))
    table.add_row("", "total", "", "", amount(total), "", style="bold")
    return table


def _assumptions(answer: Answer) -> RenderableType:
    """Every assumption with its reason, group by group."""
    table = facts()
    table.add_column(overflow="fold")
    for group, title in GROUPS.items():
        lines = [line for line in answer.assumptions if line.group == group]
        if lines:
            table.add_row(Text(title, style="bold"))
        for line in lines:
            table.add_row(line.key, raised(line.value), raised(line.question or line.why))
    return table


def against_first(cells: Sequence[str]) -> list[Text]:
    """Cells of a row, each against the first: the same in a word, another one in colour."""
    first, *others = cells
    return [
        Text(escaped(first, "\n")),
        *(
            Text(_SAME, style="dim")
            if cell == first and cell
            else Text(escaped(cell, "\n"), style="cyan")
            for cell in others
        ),
    ]


def show_option(console: Console, answer: Answer, option: OptionResult) -> None:
    """One option in depth."""
    console.print(Text(f"{option.id}: {VERDICTS[option.verdict]}", style="bold"))
    console.print(Text(option.reason))
    section(console, "Configuration", choice_table(answer, option))
    section(console, "Checks", checks_table(option.checks, option.currency))
    for title, body in explanation_sections(option):
        section(console, title, body)
