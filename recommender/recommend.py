"""Chains inputs, choice and explanation, and fills in the answer."""

from collections.abc import Collection, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from recommender.calculation import calculation_of
from recommender.choice.deadline import Unsettled, ending_in
from recommender.choice.decision.decide import PROOF, decide, decide_in_steps, nearest_told
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.explored import Effort
from recommender.choice.parts.goals import Goal
from recommender.choice.parts.options import reserve_of
from recommender.explain.explained import (
    Explained,
    Progress,
    explain_decision,
    explain_in_brief,
)
from recommender.filling import explanations
from recommender.filling.cautions import cautions
from recommender.filling.goals import least_result, told_for
from recommender.filling.options import option_result, part_result
from recommender.filling.questions import all_assumptions
from recommender.inputs.case import Case, check_currency, check_without
from recommender.inputs.catalogue import Catalogue
from recommender.results.answer import (
    MOST_HEADROOM,
    Answer,
    CatalogueMark,
    Extent,
    Proof,
    RateAsked,
)
from recommender.units import written_in
from recommender.version import program_version

_CENTS: Final = Decimal(100)
EXPLAINED: Final = Extent()


def recommend(
    case: Case,
    catalogue: Catalogue,
    *,
    in_brief: bool = False,
    about: Collection[str] | None = (),
    turning: bool = False,
    seconds: float | None = None,
    work: Effort = PROOF,
    progress: Progress | None = None,
    goal: Goal = Goal.PRICE,
    calculation: bool = False,
    nearest: int | None = None,
) -> Answer:
    """Answer a case from a catalogue.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    in_brief : bool
        Whether to leave out what would have to give, and say only which checks fail.
    about : collection of str, optional
        Ids of options that are asked about in depth, ``None`` for all. Of the others that fail it
        is said what would have to give where that is little, and else which checks fail.
    turning : bool
        Whether to look for the values at which another option would be recommended, if the
        recommended one is among those that are asked about; takes some seconds.
    seconds : float, optional
        Time after which the rest is left out, explanations too; no clock is looked at if it is not
        given. Whatever it cuts off, the answer says.
    work : Effort
        Work for the proof, which is counted. Where it ends early, the answer says how far at most
        its price is from the cheapest.
    progress : callable, optional
        Called while options are explained.
    goal : Goal
        What is to be least.
    calculation : bool
        Whether the answer is to hold what a calculation sheet shows beside it.
    nearest : int, optional
        How many of the options that work are built besides the choice, the cheapest ones, and of
        how many that nearly do it is said what they would cost; all unless given. The answer then
        is not whole, as `Extent` has it, and of the other options that work it holds a price that
        they do not undercut. With 0 nothing but the choice is looked at, unless nothing works.
        All are where something else than the price is to be least, or money is short.

    Returns
    -------
    Answer
        Its status is ``recommended``, or ``none`` if no option meets the case.
    """
    check_currency(case, catalogue.catalogue.currency, "the case")
    check_without(case, catalogue.items, "the case")
    nearest = nearest_told(nearest, goal)
    with written_in(case.units):
        with ending_in(seconds) as deadline:
            decision = decide(case, catalogue, work=work, goal=goal, nearest=nearest)
            answer = _answered(
                case, catalogue, decision, in_brief, about, turning, progress, nearest
            )
        answer = replace(answer, unsettled=unsettled_words(deadline.cut))
        if not calculation or decision.chosen is None:
            return answer
        return replace(answer, calculation=calculation_of(decision.chosen, case, catalogue))


def decision_of(
    case: Case,
    catalogue: Catalogue,
    *,
    seconds: float | None = None,
    where: str = "the case",
    nearest: int | None = None,
) -> Decision:
    """The decision alone, for what needs the configuration itself and no answer in words.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    seconds : float, optional
        As for `recommend`.
    where : str
        How a refusal names the case.
    nearest : int, optional
        As for `recommend`.

    Returns
    -------
    Decision
    """
    check_currency(case, catalogue.catalogue.currency, where)
    check_without(case, catalogue.items, where)
    with ending_in(seconds):
        return decide(case, catalogue, nearest=nearest)


def recommend_in_steps(
    case: Case, catalogue: Catalogue, *, seconds: float | None = None
) -> Iterator[Answer]:
    """Answer a case as soon as something is known: the choice, in brief, explained, calculated.

    The case is decided once. The first answers look at no option but the choice and are left out
    if nothing works. While a choice is one so far, the answer names the search as unsettled.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    seconds : float, optional
        As for `recommend`, for each decision and for the explanations.

    Yields
    ------
    Answer
    """
    check_currency(case, catalogue.catalogue.currency, "the case")
    check_without(case, catalogue.items, "the case")
    steps = decide_in_steps(case, catalogue)
    while True:
        with written_in(case.units), ending_in(seconds) as deadline:
            following = next(steps, None)
            if following is None:
                break
            decision = following
            answer = _answered(case, catalogue, decision, True, (), False, None)
            cut = deadline.cut | ({Unsettled.SEARCH} if decision.so_far else set())
        yield replace(answer, unsettled=unsettled_words(cut))
    with written_in(case.units), ending_in(seconds) as deadline:
        answer = _answered(case, catalogue, decision, False, (), False, None)
    answer = replace(answer, unsettled=unsettled_words(cut | deadline.cut))
    yield answer
    if decision.chosen is not None:
        with written_in(case.units):
            calculation = calculation_of(decision.chosen, case, catalogue)
        yield replace(answer, calculation=calculation)


def unsettled_words(cut: Collection[Unsettled]) -> tuple[str, ...]:
    return tuple(what.value for what in Unsettled if what in cut)


def _answered(
    case: Case,
    catalogue: Catalogue,
    decision: Decision,
    in_brief: bool,
    about: Collection[str] | None,
    turning: bool,
    progress: Progress | None,
    nearest: int | None = None,
) -> Answer:
    whole = nearest is None
    if in_brief:
        explained = explain_in_brief(decision, case, catalogue)
        extent = Extent(explained=False, whole=whole)
        return write_answer(case, catalogue, decision, explained, extent, nearest)
    chosen = decision.chosen
    # Where another option would win is looked for by its price.
    turning = turning and decision.goal is Goal.PRICE and chosen is not None
    if chosen is not None and about is not None:
        turning = turning and chosen.configuration.option.id in about
    explained = explain_decision(
        decision,
        case,
        catalogue,
        about=about,
        turning=turning,
        offers_alone=not whole,
        most_headroom=None if whole else MOST_HEADROOM,
        progress=progress,
    )
    extent = Extent(turning_points=turning, whole=whole)
    return write_answer(case, catalogue, decision, explained, extent, nearest)


def write_answer(
    case: Case,
    catalogue: Catalogue,
    decision: Decision,
    explained: Explained,
    extent: Extent = EXPLAINED,
    nearest: int | None = None,
) -> Answer:
    """The answer that a decision and what is explained about it come to."""
    chosen = decision.chosen
    return Answer(
        status="recommended" if chosen else "none",
        catalogue=mark_of(catalogue),
        case=_understood(case),
        units=case.units,
        assumptions=told_for(decision.least, all_assumptions(case, catalogue)),
        recommended=chosen.configuration.option.id if chosen else None,
        proof=_proof(decision),
        options=tuple(
            option_result(looked, decision, case, catalogue, explained, whole=extent.whole)
            for looked in decision.looked
        ),
        parts=tuple(part_result(line) for line in chosen.parts) if chosen else (),
        cautions=cautions(case, catalogue, chosen),
        impasse=explanations.impasse(decision.looked, explained, catalogue.catalogue.currency),
        rate=rate_asked(case, catalogue),
        rejections=explanations.rejections(decision.looked, explained, case, catalogue, nearest),
        least=least_result(decision, case, catalogue),
        extent=extent,
        program=program_version(),
    )


def mark_of(catalogue: Catalogue) -> CatalogueMark:
    """Which catalogue it is."""
    return CatalogueMark(catalogue.catalogue.id, catalogue.digest, catalogue.catalogue.title or "")


def _understood(case: Case) -> dict[str, Any]:
    return case.model_dump(mode="json")


def _proof(decision: Decision) -> Proof | None:
    if decision.chosen is None or decision.least is not None:
        return None
    return Proof(
        best_bound=decision.bound / _CENTS, price=decision.price / _CENTS, optimal=decision.optimal
    )


def rate_asked(case: Case, catalogue: Catalogue) -> RateAsked:
    reserve, asked = reserve_of(case, catalogue), 60.0 * case.rate.items
    return RateAsked(asked, reserve, asked * (1.0 + reserve))
