"""Fills in the parts of an answer that explain it."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from recommender.choice.checks.configured import BUDGET, PRICE
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.pricing import Cents
from recommender.explain import goal_words, groups, words
from recommender.explain.concessions import sensible, size
from recommender.explain.edges import Relaxed
from recommender.explain.explained import Explained
from recommender.explain.requirements import Concession
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS
from recommender.results.answer import (
    BreakdownResult,
    CauseResult,
    Change,
    HeadroomResult,
    Impasse,
    Pair,
    Rejection,
    Relaxation,
    ShareResult,
    Way,
)

_CENTS = Decimal(100)


def in_order(keys: Iterable[str], explained: Explained) -> tuple[str, ...]:
    """Keys of requirements in the order of the case."""
    order = [requirement.key for requirement in explained.requirements]
    return tuple(sorted(keys, key=order.index))


def conflicts(looked: OptionReport, explained: Explained) -> tuple[tuple[str, ...], ...]:
    """All conflicts of an option that were found, the smallest first."""
    found = explained.failing.get(looked.option.id)
    return tuple(in_order(keys, explained) for keys in found.conflicts.sets) if found else ()


def all_found(looked: OptionReport, explained: Explained) -> bool:
    """Whether an option has no other conflicts."""
    found = explained.failing.get(looked.option.id)
    return found.conflicts.complete if found is not None else looked.feasible


def relaxations(looked: OptionReport, explained: Explained, case: Case) -> tuple[Relaxation, ...]:
    """Requirements that, changed alone, would make an option work; none that nobody would offer.

    The budget is there too, as what the option costs.
    """
    found = explained.failing.get(looked.option.id)
    if found is None:
        return ()
    return tuple(
        Relaxation(entry.key, entry.start, entry.to, price(relaxed.price))
        for relaxed in found.alone
        for entry in relaxed.concessions
        if entry.key == BUDGET or sensible(relaxed, case)
    )


def concession(looked: OptionReport, explained: Explained, case: Case) -> float | None:
    """How large the smallest concession is that would make an option work.

    What the option costs beyond a budget counts as well; what nobody would offer does not.
    """
    found = explained.failing.get(looked.option.id)
    if found is None:
        return None
    sizes = [size(way) for way in found.known if sensible(way, case) or _budget_alone(way)]
    return min(sizes, default=None)


def _budget_alone(way: Relaxed) -> bool:
    return [entry.key for entry in way.concessions] == [BUDGET]


def pair(looked: OptionReport, explained: Explained) -> Pair | None:
    """The cheapest two changes that only together make an option work."""
    found = explained.failing.get(looked.option.id)
    if found is None or found.pair is None:
        return None
    return Pair(_changes(found.pair), price(found.pair.price))


def _changes(relaxed: Relaxed) -> tuple[Change, ...]:
    return tuple(_change(entry) for entry in relaxed.concessions)


def _change(entry: Concession) -> Change:
    return Change(entry.key, entry.start, entry.to)


def price(cents: Cents | None) -> Decimal | None:
    """A price in whole units of money."""
    return None if cents is None else Decimal(cents) / _CENTS


def breakdowns(looked: OptionReport, explained: Explained) -> tuple[BreakdownResult, ...]:
    """What the worst checks of an option are made of."""
    return tuple(
        BreakdownResult(
            check=check,
            title=found.title,
            unit=_si(found.unit),
            total=found.total,
            shares=tuple(ShareResult(what, amount) for what, amount in found.shares),
        )
        for check, found in explained.breakdowns(looked)
    )


def headroom(
    looked: OptionReport, explained: Explained, chosen: bool
) -> tuple[HeadroomResult, ...]:
    """How far each requirement can be raised, for the recommended option."""
    if not chosen:
        return ()
    points = {point.key: point for point in explained.turning_points}
    results = []
    for entry in explained.headroom:
        point = points.get(entry.key)
        check = entry.stopped_by
        results.append(
            HeadroomResult(
                key=entry.key,
                start=entry.start,
                to=entry.to,
                check=check.check if check else None,
                stopped_by=check.about.title if check else None,
                stands_to=point.to if point else None,
                then=point.option if point else None,
                factor=entry.factor,
                harder=entry.harder.about.title if entry.harder else None,
            )
        )
    return tuple(results)


def reason(
    looked: OptionReport, decision: Decision, explained: Explained, case: Case, catalogue: Catalogue
) -> str:
    """One or two sentences about an option."""
    audit, chosen, currency = looked.audit, decision.chosen, catalogue.catalogue.currency
    if chosen is not None and audit is not None and looked.feasible:
        if decision.least is not None:
            return goal_words.reason(looked, decision, case, catalogue)
        if looked.option == chosen.configuration.option:
            return words.recommended(audit, currency)
        return words.dearer(audit, chosen, currency, looked.bound)
    if looked.feasible and audit is None:
        return words.not_built(looked.bound, currency)
    lacks = looked.lacks_money(case)
    if not looked.decided and (lacks is None or not lacks.built):
        return words.undecided(looked.bound, currency, cut_off=looked.cut_off)
    return words.rejected(
        looked,
        explained.scenes.get(looked.option.id),
        explained.failing.get(looked.option.id),
        case,
        currency,
    )


def causes(looked: OptionReport, case: Case) -> tuple[CauseResult, ...]:
    """What an option fails for, in its own terms."""
    if looked.feasible:
        return ()
    lacks = looked.lacks_money(case)
    if lacks is not None and not lacks.built:
        price, budget = lacks.price / 100.0, lacks.budget / 100.0
        return (CauseResult(BUDGET, PRICE.title, price, budget, _si(PRICE.unit), "", ()),)
    return tuple(
        CauseResult(
            check=cause.told.check,
            title=cause.told.about.title,
            demand=cause.told.demand,
            limit=cause.told.limit,
            unit=_si(cause.told.about.unit),
            governed_by=cause.told.governed_by,
            clashes_with=tuple(finding.check for finding in cause.held),
        )
        for cause in words.causes_of(looked)
    )


def rejections(
    looked: Sequence[OptionReport],
    explained: Explained,
    case: Case,
    catalogue: Catalogue,
    nearest: int | None = None,
) -> tuple[Rejection, ...]:
    """Options that fail, each once and those with the same cause together.

    Of the ``nearest`` misses alone what they would cost, if that is said and not yet known.
    """
    currency = catalogue.catalogue.currency
    return tuple(
        Rejection(tuple(option.id for option in found.options), found.who, found.why, found.near)
        for found in groups.rejections(looked, explained, case, currency, nearest)
    )


def _si(unit: str) -> str:
    return KINDS[unit].si if unit in KINDS else unit


def impasse(looked: Sequence[OptionReport], explained: Explained, currency: str) -> Impasse | None:
    """Why no option meets the case, if none does."""
    found = explained.impasse
    if found is None:
        return None
    sets = tuple(in_order(keys, explained) for keys in found.conflicts)
    return Impasse(
        conflict=sets[0] if sets else (),
        conflicts=sets,
        conflicts_complete=found.complete,
        ways=_ways(found.ways),
        reason=words.impasse(found, sets, currency, decided=all(entry.decided for entry in looked)),
    )


def _ways(ways: Sequence[tuple[str, Relaxed]]) -> tuple[Way, ...]:
    return tuple(Way(id_, _changes(relaxed), price(relaxed.price)) for id_, relaxed in ways)
