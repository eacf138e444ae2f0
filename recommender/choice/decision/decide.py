"""The decision: every option explored, the cheapest one proven, made gentle and audited.

The same search finds what has least of something else (`recommender.choice.parts.goals`): by rank,
which is the price unless another goal is named.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from recommender.choice.deadline import Unsettled, late
from recommender.choice.decision.audit import audit
from recommender.choice.decision.decision import Decision, Least
from recommender.choice.decision.explored import Effort, Explored
from recommender.choice.decision.finish import Finished, measured
from recommender.choice.decision.option_report import (
    OptionReport,
    cut_off,
    left_unexplored,
    not_built,
    report_on,
    with_audit,
)
from recommender.choice.decision.options_search import OptionsSearch
from recommender.choice.parts.goals import Goal, measure_of, price_of
from recommender.choice.parts.options import Option, list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents, cents
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import Screened, screen
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.arguments import trusted

PROOF: Final = Effort(boxes=100_000, seatings=1_000)
"""Work after which the proof is left where it is: some minutes, ten times what worked cases take.

Counted and not timed, so that the answer is the same on every machine, however busy it is.
"""


def decide(
    case: Case,
    catalogue: Catalogue,
    *,
    work: Effort = PROOF,
    goal: Goal = Goal.PRICE,
    nearest: int | None = None,
) -> Decision:
    """Look at every option of a case and choose.

    Of a catalogue with very many options those are left unexplored that cannot be among the
    cheaper ones; of them it is known what they cost at least. Where an end by the clock was set
    (`recommender.choice.deadline`), what is not looked at by then is left.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    work : Effort
        Boxes and seatings in all, after which what is open yet is left as it is.
    goal : Goal
        What is to be least. Where it is not the price, the cheapest is looked for before, with
        as much work again: what the choice costs more is part of the answer.
    nearest : int, optional
        How many options besides the choice are built, the cheapest ones, as they were found; of
        the others that work it is known what they cost at least. With 0 no other is looked at once
        the choice is known. All unless given, and as `nearest_told` has it.

    Returns
    -------
    Decision

    Raises
    ------
    RuntimeError
        If the choice does not pass its audit: a fault of ours.
    """
    with trusted():
        nearest = nearest_told(nearest, goal)
        if nearest is not None:
            decision = _nearest_of(_begun(case, catalogue, work), nearest)
        else:
            decision = _decided(case, catalogue, work, goal)
    return _audited(decision, case, catalogue)


def nearest_told(nearest: int | None, goal: Goal) -> int | None:
    """How many options besides the choice are looked at to the end, of so many that are wanted.

    ``None``, for all, where something else than the price is to be least.
    """
    return nearest if goal is Goal.PRICE else None


def decide_in_steps(
    case: Case, catalogue: Catalogue, *, work: Effort = PROOF
) -> Iterator[Decision]:
    """The choice by price as soon as it is proven, and then what `decide` says of all options.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    work : Effort
        As for `decide`.

    Yields
    ------
    Decision
        Where a liquid is carried, at first what was found ``so_far``. Then, unless nothing works,
        one that looks at no option but the choice; and at last one that looks at all.

    Raises
    ------
    RuntimeError
        As `decide`.
    """
    with trusted():
        found = _search_for(case, catalogue, work)
    if case.load.liquid is not None:
        # Where waves decide the choice takes seconds: something that works is told at once.
        with trusted():
            found.explore_until_chosen(list_options(case, catalogue), any_found=True)
            found.build()
            first = _with_others_left(found)
        if first.chosen is not None:
            yield replace(_audited(first, case, catalogue), so_far=True)
    with trusted():
        chosen = _with_others_left(_chosen_by(found))
    if chosen.chosen is not None:
        yield _audited(chosen, case, catalogue)
    with trusted():
        decision = _looked_at(_completed(found))
    yield _audited(decision, case, catalogue)


def _audited(decision: Decision, case: Case, catalogue: Catalogue) -> Decision:
    if decision.chosen is None:
        return decision
    # With every argument checked again: an answer that fails here is never shown.
    chosen = audit(decision.chosen.configuration, case, catalogue)
    if chosen.failures:
        raise RuntimeError(f"the choice fails for {chosen.failures[0].check} in its audit")
    looked = tuple(
        replace(entry, audit=chosen, feasible=True, decided=True, cut_off=False)
        if entry.option == chosen.configuration.option
        else entry
        for entry in decision.looked
    )
    return replace(decision, looked=looked, chosen=chosen)


def price_alone(
    case: Case, catalogue: Catalogue, *, work: Effort = PROOF
) -> tuple[Cents | None, Cents]:
    """The price of the choice and the one that nothing undercuts, and nothing about the options.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    work : Effort
        As for `decide`.

    Returns
    -------
    tuple
        Cents; ``None`` if nothing works.
    """
    found, bound = cheapest_alone(case, catalogue, work=work)
    return (found.price if found else None), bound


def cheapest_alone(
    case: Case, catalogue: Catalogue, *, work: Effort = PROOF
) -> tuple[Finished | None, Cents]:
    """What is cheapest, as it was found, and the price that nothing undercuts.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    work : Effort
        As for `decide`.

    Returns
    -------
    tuple
        ``None`` if nothing works; cents.
    """
    with trusted():
        found = _begun(case, catalogue, work)
    best = found.best
    return (None if best is None or best.audit.failures else best), found.bound


def explored_by_price(
    case: Case, catalogue: Catalogue, *, work: Effort = PROOF
) -> tuple[Decision, dict[str, Explored], PriceBook]:
    """The decision by price, what was found of each option that was looked at, and with what.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    work : Effort
        As for `decide`.

    Returns
    -------
    tuple
        The decision, by the ids of options what their boxes came to, and what they share.
    """
    with trusted():
        found = _completed(_begun(case, catalogue, work))
        decision = _looked_at(found)
    return _audited(decision, case, catalogue), found.explored, found.price_book


def _search_for(case: Case, catalogue: Catalogue, work: Effort) -> OptionsSearch:
    longest = case.loop.max_length or catalogue.rules.longest_loop
    return OptionsSearch(PriceBook(case, catalogue, longest), work)


def _begun(case: Case, catalogue: Catalogue, work: Effort) -> OptionsSearch:
    """A search that has come as far as the choice."""
    return _chosen_by(_search_for(case, catalogue, work))


def _chosen_by(found: OptionsSearch) -> OptionsSearch:
    """The same search when it has come as far as the choice."""
    options = list_options(found.price_book.case, found.price_book.catalogue)
    for _ in range(len(options) + 1):
        found.explore_until_chosen(options)
        found.settle()
        # Else what was found cannot be built, and what was left for its sake may be the choice.
        if not found.open_below_the_best or late(Unsettled.OPTIONS):
            break
    return found


def _completed(found: OptionsSearch) -> OptionsSearch:
    """The same search with all options."""
    found.explore(list_options(found.price_book.case, found.price_book.catalogue))
    found.settle()
    return found


def choose(
    case: Case, catalogue: Catalogue, goals: Sequence[Goal], *, work: Effort = PROOF
) -> list[Decision]:
    """The choices by some goals that are not the price, and of all options only those chosen.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    goals : sequence of Goal
    work : Effort
        As for `decide`, for each goal.

    Returns
    -------
    list of Decision
        For each goal; empty if nothing works.
    """
    with trusted():
        by_price = _completed(_begun(case, catalogue, work))
        if by_price.best is None:
            return []
        found = [_by_goal(by_price, goal, work) for goal in goals]
        decisions = [_least_of(each, _chosen(each)) for each in found]
    return [_audited(decision, case, catalogue) for decision in decisions]


def _decided(case: Case, catalogue: Catalogue, work: Effort, goal: Goal) -> Decision:
    by_price = _completed(_begun(case, catalogue, work))
    if goal is Goal.PRICE:
        return _looked_at(by_price)
    found = _by_goal(by_price, goal, work)
    return _least_of(found, _looked_at(found))


def _by_goal(by_price: OptionsSearch, goal: Goal, work: Effort) -> OptionsSearch:
    price_book = replace(by_price.price_book, goal=goal)
    found = OptionsSearch(price_book, work, known=by_price)
    found.explore(list_options(price_book.case, price_book.catalogue))
    found.settle()
    return found


def _least_of(found: OptionsSearch, decision: Decision) -> Decision:
    """A decision with what it has of its goal, beside that by price."""
    by_price, goal, catalogue = found.by_price, found.price_book.goal, found.price_book.catalogue
    if decision.chosen is None or by_price is None:
        return decision
    value, bound = measured(goal, decision.chosen, catalogue), measure_of(found.bound)
    cheapest = by_price.gentle
    return replace(
        decision,
        bound=price_of(found.bound) if goal.discrete and bound >= value else 0,
        least=Least(goal, value, bound, cheapest, by_price.bound),
    )


def _chosen(found: OptionsSearch) -> Decision:
    """The choice, or what would be it with more money, and nothing about other options."""
    best, cheapest = found.best, found.gentle
    if best is None or cheapest is None:
        return Decision((), None, 0, 0)
    option = cheapest.configuration.option
    entry = with_audit(option, cheapest, found.bound_of(option.id), found.price_book)
    looked = (found.with_bounds(entry),)
    # What is cheapest of all and too dear is no choice, and leaves none.
    if not entry.feasible:
        return Decision(looked, None, 0, 0)
    return Decision(looked, cheapest, found.bound, best.price)


def _with_others_left(found: OptionsSearch) -> Decision:
    """The choice, and what the others cost at least."""
    decision, price_book = _chosen(found), found.price_book
    chosen = {entry.option: entry for entry in decision.looked}
    looked = tuple(
        chosen.get(option) or left_unexplored(option, price_book, found.bound_of(option.id))
        for option in list_options(price_book.case, price_book.catalogue)
    )
    return replace(decision, looked=looked)


def _nearest_of(found: OptionsSearch, nearest: int) -> Decision:
    """The choice, the cheapest others built, and those that fail."""
    if not nearest and found.best is not None and not found.best.audit.failures:
        return _with_others_left(found)
    options = list_options(found.price_book.case, found.price_book.catalogue)
    nearest = max(nearest, 1)  # where nothing can be had, what comes closest to the budget
    found.explore_nearest(options, nearest)
    found.settle()
    reports: dict[str, OptionReport] = {}
    prices: list[Cents] = []
    for rank, option in found.by_rank(options):
        if len(prices) >= nearest and sorted(prices)[nearest - 1] < rank:
            bound = found.bound_of(option.id)
            reports[option.id] = not_built(option, found.price_book, bound, rank)
            continue
        entry = _looked_at_in_time(option, found, None, gentle=False)
        reports[option.id] = entry
        if entry.audit is not None and (entry.feasible or entry.audit.too_dear):
            prices.append(cents(entry.audit.price))
    return _looked_at(found, reports)


def _looked_at(found: OptionsSearch, reports: Mapping[str, OptionReport] | None = None) -> Decision:
    """The decision about all options, of some of which there are reports."""
    price_book = found.price_book
    options = list_options(price_book.case, price_book.catalogue)
    screened = _screened(
        [o for o in options if found.fails(o) and not found.is_left(o)], price_book
    )
    decision = _chosen(found)
    known = {**(reports or {}), **{entry.option.id: entry for entry in decision.looked}}
    looked = tuple(
        known.get(option.id)
        or found.with_bounds(_looked_at_in_time(option, found, screened.get(option.id)))
        for option in options
    )
    return _with_cheaper(replace(decision, looked=looked), found)


def _with_cheaper(decision: Decision, found: OptionsSearch) -> Decision:
    """The decision for what is cheapest of all that works, if its search had left that."""
    working = [e.audit for e in decision.looked if e.feasible and e.audit is not None]
    best = min(working, key=lambda audit: audit.price, default=None)
    if best is None or found.price_book.goal is not Goal.PRICE:
        return decision
    price = cents(best.price)
    if decision.chosen is not None and price >= cents(decision.chosen.price):
        return decision
    return replace(decision, chosen=best, bound=min(found.bound, price), price=price)


def _looked_at_in_time(
    option: Option, found: OptionsSearch, screened: Screened | None, *, gentle: bool = True
) -> OptionReport:
    price_book = found.price_book
    if option.id in found.cut or (late(Unsettled.OPTIONS) and not found.is_left(option)):
        return cut_off(option, price_book, found.bound_of(option.id))
    if found.is_left(option):
        return left_unexplored(option, price_book, found.bound_of(option.id))
    known, searched_with = found.known_of(option)
    return report_on(known, screened, found.refused, searched_with, option, gentle=gentle)


def _screened(options: Sequence[Option], price_book: PriceBook) -> dict[str, Screened]:
    """Settings of options that fail, on a grid, so that it can be said what fails."""
    return {
        entry.context.about.option.id: entry
        for entry in screen(options, price_book.case, price_book.catalogue, Grid())
    }
