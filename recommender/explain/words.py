"""The sentences: what fails and by how much, what would help, what makes an option dearer."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from recommender import units
from recommender.choice.checks import FIXED
from recommender.choice.checks.causes import Cause, told_causes
from recommender.choice.checks.configured import BUDGET
from recommender.choice.checks.findings import TAKT
from recommender.choice.decision.audit import Audit
from recommender.choice.decision.option_report import REFUSED, OptionReport, Shortfall
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.pricing import Cents
from recommender.explain.concessions import MOST_WAYS, sensible, size, ways_of
from recommender.explain.conflicts import minimal_hitting_sets
from recommender.explain.differences import cause, told_differences
from recommender.explain.edges import Relaxed
from recommender.explain.impasse import Impasse, Way
from recommender.explain.measures import (
    count,
    listed,
    lowered,
    many,
    measure,
    money,
    of_cents,
    sentence,
)
from recommender.explain.phrases import Failure, failure
from recommender.explain.reasons import Explanation
from recommender.explain.scene import Scene
from recommender.explain.table import requirement_name
from recommender.inputs.case import Case

_MOST_CAUSES: Final = 3

_NO_STRAIN: Final = frozenset({"loop.stations", "fleet.lap", TAKT.id})
"""Checks that say how closely things are set, not what they bear: a gentle lap takes its time."""


def rejected(
    looked: OptionReport,
    scene: Scene | None,
    explanation: Explanation | None,
    case: Case,
    currency: str,
) -> str:
    """Why an option cannot be had, and what would have to give.

    Parameters
    ----------
    looked : OptionReport
    scene : Scene or None
        The configuration that comes nearest to passing; ``None`` if its stations fit on no loop.
    explanation : Explanation or None
        ``None`` if nothing was asked beyond the checks.
    case : Case
    currency : str
    """
    fault = _fault(looked, scene, explanation, case, currency)
    if explanation is None:
        return fault
    unasked = not explanation.conflicts.sets
    told = unasked or short_of_money(looked, explanation, case) is not None
    if told and not _other_ways(explanation, case):
        return fault
    return f"{fault} {_help(explanation, case, currency)}"


def short_of_money(
    looked: OptionReport, explanation: Explanation | None, case: Case
) -> Shortfall | None:
    """What an option costs and what may be spent, if money alone is what it lacks."""
    lacks = looked.lacks_money(case)
    if lacks is not None:
        return lacks
    alone = explanation.alone if explanation else ()
    way = next((way for way in alone if way.concessions[0].key == BUDGET), None)
    if way is None:
        return None
    entry = way.concessions[0]
    price, budget = (round(100.0 * (part or 0.0)) for part in (entry.value, entry.asked))
    return Shortfall(price, budget, price)


def _other_ways(explanation: Explanation, case: Case) -> bool:
    return bool(ways_of(explanation.known, case))


def _fault(
    looked: OptionReport,
    scene: Scene | None,
    explanation: Explanation | None,
    case: Case,
    currency: str,
) -> str:
    if (lacks := short_of_money(looked, explanation, case)) is not None:
        return _too_dear(lacks, currency)
    if scene is None and looked.obstacle.startswith(REFUSED):
        return sentence(looked.obstacle)
    if scene is None:
        return sentence(f"its stations fit on no loop of this catalogue: {looked.obstacle}")
    hopeless = explanation is not None and explanation.hopeless
    causes = causes_of(looked, hopeless=hopeless)
    if not causes:
        return "No motion on any loop passes every check at once."
    said = [failure(Failure(cause.told, scene, cause.held, currency)) for cause in causes]
    return sentence("; besides, ".join(said))


def _too_dear(lacks: Shortfall, currency: str) -> str:
    price, over = of_cents(lacks.price, currency), _beyond(lacks.price, lacks.budget, currency)
    if not lacks.built:
        return sentence(f"it would cost at least {price}, {over}")
    if lacks.sure:
        return sentence(f"it works for {price}, {over}")
    return sentence(f"it works for {price} as found, {over}, and less is not ruled out")


def _beyond(price: Cents, budget: Cents, currency: str) -> str:
    return f"{of_cents(price - budget, currency)} more than may be spent"


def causes_of(looked: OptionReport, *, hopeless: bool = False) -> tuple[Cause, ...]:
    """The causes that are told of an option: independent ones, of a hopeless one what is fixed.

    Where motion and loop could be had it is what is bought for them that fails.
    """
    causes = looked.causes
    if not causes and looked.audit is not None:
        failures = sorted(looked.audit.failures, key=lambda entry: entry.check == TAKT.id)
        causes = tuple(Cause(entry) for entry in failures[:1])
    fixed = [cause for cause in causes if cause.told.check in FIXED]
    return told_causes(fixed if hopeless and fixed else causes)[:_MOST_CAUSES]


def _help(explanation: Explanation, case: Case, currency: str) -> str:
    """What would have to give: a little of what is asked, or else whatever helps at all."""
    if explanation.hopeless:
        return "Nothing that the case asks for could change that."
    ways = ways_of(explanation.known, case)
    if not ways:
        ways = sorted((way for way in explanation.known if sensible(way, case)), key=size)
    if ways:
        said = [way_words(way, currency) for way in ways[:MOST_WAYS]]
        return sentence("would work with " + ", or with ".join(said))
    if explanation.beyond and not explanation.known:
        return "What would help costs more than may be spent."
    if explanation.known:
        return "Nothing short of another load or another job would change that."
    rest = _more_than_two(explanation)
    return rest if explanation.beyond is None else f"{rest[:-1]}, whatever that costs."


def way_words(way: Relaxed, currency: str, *, priced: bool = True) -> str:
    """Concessions as nouns, with what the option would cost then if that is wanted."""
    ways = [entry.words for entry in way.concessions]
    price = way.price if priced else None
    for_it = "" if price is None else f", for {of_cents(price, currency)}"
    return listed(ways, "together with") + for_it


def _more_than_two(explanation: Explanation) -> str:
    """Requirements that help only if given up altogether, or how many would have to at once."""
    found = explanation.conflicts
    hitting = minimal_hitting_sets(found.sets)
    helping = [keys for keys in hitting if found.complete or keys in found.concessions]
    few = sorted((sorted(keys) for keys in helping if len(keys) <= 2), key=len)
    if few:
        ways = [listed([requirement_name(key) for key in keys]) for keys in few[:MOST_WAYS]]
        return sentence("would work without " + ", or without ".join(ways))
    least = min(len(keys) for keys in hitting)
    if least <= 2:
        return "No change of one or two requirements would make it work."
    sure = frozenset.intersection(*hitting)
    text = f"{count(least)} requirements would have to give at once"
    if not found.complete:
        text = f"at least {text}"
    names = listed([requirement_name(key) for key in sorted(sure)])
    if not names:
        return sentence(text)
    return sentence(f"{text}, {names} {'among them' if len(sure) < least else ''}".rstrip())


def impasse(
    found: Impasse, conflicts: Sequence[tuple[str, ...]], currency: str, *, decided: bool = True
) -> str:
    """Why no option meets a case, and what would have to give.

    Where some options are not decided, it says no more than that none was found.
    """
    conflict = conflicts[0] if conflicts else None
    if conflict is not None and not conflict:
        return "No option works, whatever is asked: the catalogue has nothing for such a load."
    if found.ways and [each.key for each in found.ways[0][1].concessions] == [BUDGET]:
        return _too_little_money(found, conflict, currency, decided=decided)
    names = [requirement_name(key) for key in conflict or ()]
    none = "no option can meet" if decided else "no option was found to meet"
    text = f"{none} {names[0]}" if len(names) == 1 else f"{none} {listed(names)} together"
    if not found.ways:
        return sentence(text)
    return f"{sentence(text)} {_closest(found.ways[0], currency)}"


def _closest(way: Way, currency: str) -> str:
    id_, relaxed = way
    with_it = f"with {way_words(relaxed, currency)}"
    # Which pair of concessions is the smallest nobody can say: less of one is more of the other.
    alone = len(relaxed.concessions) == 1
    who = f"closest comes {id_}," if alone else f"of those looked into, {id_} would work"
    return sentence(f"{who} {with_it}")


def _too_little_money(
    found: Impasse, conflict: tuple[str, ...] | None, currency: str, *, decided: bool
) -> str:
    """That something works but for the budget, what it costs, and what would be within it.

    The latter if what conflicts is known.
    """
    (id_, more), *others = found.ways
    price, budget = more.price or 0, round(100.0 * (more.concessions[0].asked or 0.0))
    cost = f"{of_cents(price, currency)}, {_beyond(price, budget, currency)}"
    within, less = "is within the budget", ""
    if not decided:
        within, less = "was found within the budget", ", and less is not ruled out"
    text = f"no option {within} that meets all else: the cheapest, {id_}, costs {cost}{less}"
    if others:
        return f"{sentence(text)} Within the budget {lowered(_closest(others[0], currency))}"
    if conflict is None:
        return sentence(text)
    if conflict == (BUDGET,):
        return f"{sentence(text)} Whatever else is given up, nothing is as cheap as that."
    left = "No other single concession that leaves it this load and this job"
    return f"{sentence(text)} {left} would make anything as cheap."


def undecided(bound: Cents, currency: str, *, cut_off: bool = False) -> str:
    """That nothing of an option was found and not all is ruled out, or that the time ended."""
    text = "not decided: nothing of it that works was found, and not everything is ruled out"
    if cut_off:
        text = "not decided: it was not looked at within the time limit"
    if bound >= NEVER:
        return sentence(text)
    return sentence(f"{text}; it would cost at least {of_cents(bound, currency)}")


def not_built(bound: Cents, currency: str) -> str:
    """Of an option that works what it costs at least, where it was not built."""
    return sentence(f"it works and costs at least {of_cents(bound, currency)}")


def _more(whole: Decimal, least: Decimal, currency: str) -> str:
    """By how much an option is dearer: for certain, and as found."""
    found = money(whole, currency)
    if least >= whole:
        return f"{found} more"
    if least > 0:
        return f"at least {money(least, currency)} more, {found} as found"
    return f"{found} more as found, and less is not ruled out"


def dearer(option: Audit, choice: Audit, currency: str, bound: Cents = NEVER) -> str:
    """Why an option that works is not the choice.

    Parameters
    ----------
    option, choice : Audit
    currency : str
    bound : int
        Price that nothing of the option undercuts, cents.
    """
    whole = option.price - choice.price
    if whole == 0:
        return "It works at the same price."
    (item, most), *others = told_differences(option, choice)
    why = cause(item, option, choice, currency)
    share = "all of it" if not others else money(most, currency)
    more = _more(whole, Decimal(bound) / 100 - choice.price, currency)
    text = f"it works and costs {more}: {share} for {item}, since {why}"
    for name, amount in others:
        text += (
            f", and {money(amount, currency)} for {name}"
            if amount > 0
            else f", less {money(-amount, currency)} on {name}"
        )
    return sentence(text)


def recommended(choice: Audit, currency: str) -> str:
    """Why the choice is enough, and what it uses most."""
    carriers = many(choice.configuration.carriers, "carrier")
    price = money(choice.price, currency)
    return f"The cheapest that passes every check: {carriers} for {price}. {used_most(choice)}"


def used_most(choice: Audit) -> str:
    """Which check of the choice is used most."""
    # How close the stations are set and what is counted in pieces says little of the strain.
    measured = [
        entry
        for entry in choice.findings
        if entry.about.unit not in (*units.COUNTED, "money") and entry.check not in _NO_STRAIN
    ]
    tightest = max(measured, key=lambda finding: finding.utilisation)
    unit = tightest.about.unit
    demand, limit = measure(tightest.demand, unit), measure(tightest.limit, unit)
    where = f" ({tightest.governed_by})" if tightest.governed_by else ""
    return f"Used most: {lowered(tightest.about.title)}{where}, {demand} of {limit}."
