"""Which options are worth being put side by side where nobody named any."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from recommender.choice.decision.decide import choose
from recommender.choice.parts.goals import Goal
from recommender.explain.explained import explain_in_brief
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.recommend import write_answer
from recommender.results.answer import Answer, OptionResult
from recommender.units import written_in

AT_LEAST: Final = 3
"""Options that are compared if there are as many."""

_OTHERS: Final = (Goal.FLOOR, Goal.DELIVERY, Goal.ENERGY)


@dataclass(frozen=True)
class Compared:
    """An option side by side with others, and what it has least of, if anything.

    Of what is not ``proven`` it has the least that was found.
    """

    option: OptionResult
    least: tuple[str, ...] = ()
    proven: bool = True


def by_all_goals(answer: Answer, case: Case, catalogue: Catalogue) -> list[Compared]:
    """The cheapest, the smallest, the soonest and the most economical, then the shortlist by price.

    What has least of several things stands there once.

    Parameters
    ----------
    answer : Answer
        By price, and with a choice.
    case : Case
    catalogue : Catalogue
    """
    assert answer.choice is not None
    found = [Compared(answer.choice, (str(Goal.PRICE),))]
    for decision in choose(case, catalogue, _OTHERS):
        with written_in(case.units):
            explained = explain_in_brief(decision, case, catalogue)
            best = write_answer(case, catalogue, decision, explained).choice
        if best is None:
            continue
        alike = [k for k, entry in enumerate(found) if _alike(entry.option, best)]
        if alike and not decision.optimal:
            continue
        if alike:
            known = found[alike[0]]
            found[alike[0]] = replace(known, least=(*known.least, str(decision.goal)))
        else:
            found.append(Compared(best, (str(decision.goal),), decision.optimal))
    return found


def filled_up(found: Sequence[Compared], shortlist: Sequence[OptionResult]) -> list[Compared]:
    """As many as are compared at least, with options of a shortlist that are not there yet."""
    ids = {entry.option.id for entry in found}
    others = [Compared(option) for option in shortlist if option.id not in ids]
    return [*found, *others[: max(AT_LEAST - len(found), 0)]]


def nearest(answer: Answer) -> list[OptionResult]:
    """Options of a case that none meets, those first that the smallest concessions would help.

    Those that none would help come last, that first whose worst check fails by least.
    """

    def distance(option: OptionResult) -> tuple[float, float]:
        worst = max((check.utilisation for check in option.checks), default=math.inf)
        return (math.inf if option.concession is None else option.concession), worst

    return sorted(answer.options, key=distance)


def _alike(one: OptionResult, other: OptionResult) -> bool:
    """Whether two are built alike and cost the same: only their motion may differ."""
    return (one.id, one.carriers, one.price) == (other.id, other.carriers, other.price) and (
        one.loop is not None
        and other.loop is not None
        and (one.loop.front, one.loop.back) == (other.loop.front, other.loop.back)
    )
