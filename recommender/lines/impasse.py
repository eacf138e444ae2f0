"""Why there is no line: loops that do not work by themselves, or what they lack together."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from recommender.choice.decision.decide import decide
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS, parse
from recommender.lines.apart import apart
from recommender.lines.decide import LineDecision
from recommender.lines.direct import variants
from recommender.lines.model import Handover, Line
from recommender.lines.result import LineConcession, LineImpasse
from recommender.lines.tables import MOST_PLACES
from recommender.results.answer import Answer, Change, Verdict

_MOST: Final = 6
_NONE_WORKS: Final = "no option of the catalogue works by itself."
_NOT_KNOWN: Final = "whether any option works by itself was not settled in the time that was given."


def impasse_of(
    decision: LineDecision, answers: Mapping[str, Answer], catalogue: Catalogue
) -> LineImpasse | None:
    """Why there is no line; ``None`` if there is one.

    Parameters
    ----------
    decision : LineDecision
    answers : mapping
        Each loop's answer by itself.
    catalogue : Catalogue
    """
    if decision.chosen is not None:
        return None
    line = decision.line
    failing = tuple(
        name
        for name, entries in zip(line.names, decision.alone, strict=True)
        if all(entry.decision.chosen is None for entry in entries)
    )
    if failing:
        return _of_loops(line, failing, answers, catalogue)
    if decision.cheapest is not None:
        return _unpaid(decision, catalogue)
    return apart(decision, catalogue)


def _of_loops(
    line: Line, failing: Sequence[str], answers: Mapping[str, Answer], catalogue: Catalogue
) -> LineImpasse:
    """Loops that do not work by themselves, with what would have to give in each."""
    conflicts: list[tuple[str, ...]] = []
    concessions: list[LineConcession] = []
    reasons = []
    for name in failing:
        concessions += _of_handovers(line, name, catalogue)
        impasse = answers[name].impasse
        if impasse is None:
            open_ = any(o.verdict is Verdict.UNDECIDED for o in answers[name].options)
            reasons.append(f"{name}: {_NOT_KNOWN if open_ else _NONE_WORKS}")
            continue
        reasons.append(f"{name}: {impasse.reason}")
        conflicts += [
            keys
            for found in impasse.conflicts
            if (keys := tuple(filter(None, (_key(line, name, key) for key in found))))
        ]
        for way in impasse.ways:
            if len(way.changes) == 1:
                concessions += _of_loop(line, name, way.changes[0])
    unique = tuple(dict.fromkeys(concessions))
    return LineImpasse(
        tuple(dict.fromkeys(conflicts)), tuple(failing), unique[:_MOST], " ".join(reasons)
    )


def _into(line: Line, name: str) -> list[Handover]:
    return [handover for handover in line.handovers if handover.taker == name]


def _key(line: Line, name: str, key: str) -> str | None:
    """A key of a loop's case as the line has it.

    The rate of a loop that is supplied is the handover's, and so is how long a box stands for its
    units.
    """
    into = _into(line, name)
    if key.startswith("commercial."):
        return key
    if key == "rate.items" and into:
        return f"handover.{into[0].name}.items"
    for handover in into:
        begun = f"station.{handover.takes_at}"
        if handover.between == "direct" and (
            key == f"{begun}.dwell" or key.startswith(f"{begun} ")
        ):
            return f"handover.{handover.name}.positions"
    return f"{name}.{key}"


def _of_loop(line: Line, name: str, change: Change) -> Iterator[LineConcession]:
    """A change of a loop's case that makes it work, as a change of the line's."""
    into, key = _into(line, name), _key(line, name, change.key)
    if key is None or key.endswith(".positions"):
        return  # a handover says by itself what would do
    if change.key == "rate.items" and into:
        # Fewer boxes of the same units: more units in each.
        handover, rate = into[0], _read_rate(change.to)
        if rate is not None and len(into) == 1 and handover.between == "buffer":
            given = handover.share * line.cases[handover.giver].rate.items
            items = math.ceil(given / rate - 1e-9)
            yield LineConcession(key, str(handover.items), str(items), None)
        return
    yield LineConcession(key, change.start, change.to, None)


def _read_rate(text: str) -> float | None:
    try:
        return parse(text, KINDS["rate"])
    except ValueError:
        return None


def _of_handovers(line: Line, name: str, catalogue: Catalogue) -> Iterator[LineConcession]:
    """Whether more places in turn, or a buffer, would make a loop work by itself."""
    for handover in _into(line, name):
        if handover.between != "direct":
            continue
        for places in range(max(handover.positions) + 1, MOST_PLACES + 1):
            if _works(line, handover, replace(handover, positions=(places,)), name, catalogue):
                listed = ", ".join(map(str, handover.positions))
                yield LineConcession(
                    f"handover.{handover.name}.positions", listed, str(places), None
                )
                break
        buffered = replace(handover, between="buffer", positions=(1,))
        if _works(line, handover, buffered, name, catalogue):
            yield LineConcession(f"handover.{handover.name}.between", "direct", "buffer", None)


def _works(line: Line, old: Handover, new: Handover, name: str, catalogue: Catalogue) -> bool:
    """Whether a loop works by itself with another handover."""
    handovers = tuple(new if handover is old else handover for handover in line.handovers)
    changed = replace(line, handovers=handovers)
    return any(
        decide(variant.cases[name], catalogue, nearest=0).chosen is not None
        for variant in variants(changed, catalogue)
    )


def _unpaid(decision: LineDecision, catalogue: Catalogue) -> LineImpasse:
    """The cheapest line costs more than the budget."""
    cheapest, budget = decision.cheapest, decision.line.commercial.budget or ""
    assert cheapest is not None
    currency = catalogue.catalogue.currency
    needed = f"{cheapest.price} {currency}"
    return LineImpasse(
        (("commercial.budget",),),
        (),
        (LineConcession("commercial.budget", budget, needed, cheapest.price),),
        f"Every loop works, and the cheapest line costs {cheapest.price:,.2f} {currency}, more than"
        f" the budget of {budget}.",
    )
