"""Whether a choice holds when its inputs are not sure, and what would hold more often."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision.audit import Audit
from recommender.choice.decision.decision import Decision
from recommender.choice.parts.options import reserve_of
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array
from recommender.results.doubt import Doubt, FailingCheck, InputShare
from recommender.trials.fitted import first_order_shares
from recommender.trials.outcome import Draws, Outcome, Progress, outcome_of
from recommender.trials.sturdier import Search
from recommender.trials.suited import set_to_suit
from recommender.trials.unsure import Unsure

_TENTH = 0.1

Measured = Literal["holding or not", "greatest utilisation"]


def doubt(
    chosen: Audit,
    case: Case,
    catalogue: Catalogue,
    inputs: Sequence[Unsure],
    *,
    draws: int = 10_000,
    seed: int = 1,
    asked: float = 0.95,
    assumed: bool = False,
    decide: Callable[[Case], Decision] | None = None,
    others: Sequence[Audit] = (),
    progress: Progress | None = None,
) -> Doubt:
    """How often a choice holds, which input matters most, and what would hold often enough.

    Parameters
    ----------
    chosen : Audit
        The choice for the case as it stands.
    case : Case
    catalogue : Catalogue
    inputs : sequence of Unsure
        Independent of each other.
    draws : int
    seed : int
        Same seed, same draws.
    asked : float
        Share of the draws that is enough.
    assumed : bool
        Whether nobody said how unsure the inputs are.
    decide : callable, optional
        Answers a case; with it a sturdier configuration is looked for where the choice does not
        hold often enough.
    others : sequence of Audit
        Options of the same answer that work, which may hold more often.
    progress : callable, optional

    Returns
    -------
    Doubt

    Notes
    -----
    An input that is not sure has one value for as long as the loop stands: nobody knows it yet. A
    dwell that differs from carrier to carrier is another thing, for which a rehearsal is.
    """
    drawn = Draws.of(inputs, draws, seed)
    outcome = outcome_of(chosen, case, catalogue, drawn, progress)
    measured, measure = _measure(outcome)
    shares = first_order_shares(drawn.quantiles, measure)
    judged = outcome.judged
    result = Doubt(
        option=chosen.configuration.option.id,
        carriers=chosen.configuration.carriers,
        price=chosen.price,
        currency=catalogue.catalogue.currency,
        draws=draws,
        seed=seed,
        assumed=assumed,
        reserve=reserve_of(case, catalogue),
        chance=outcome.chance,
        asked=asked,
        audited=int(judged.audited.sum()),
        open=int(judged.open.sum()),
        fitted=tuple(
            check for (check, _), own in zip(outcome.checks, judged.fitted, strict=True) if own
        ),
        margin=judged.margin,
        measured=measured,
        inputs=input_shares(drawn, outcome.holds, shares),
        checks=failing(outcome),
    )
    if outcome.chance.held < 1.0:
        suited = set_to_suit(chosen, case, catalogue, drawn, outcome, progress)
        result = replace(result, set_to_suit=suited)
    if outcome.chance.held >= asked or decide is None:
        return result
    search = Search(chosen, case, catalogue, drawn, asked, decide, progress)
    search.look(outcome, measure, shares, others)
    return replace(
        result, looked_for=True, sturdier=search.sturdier(), at_least=search.at_least_price
    )


def _measure(outcome: Outcome) -> tuple[Measured, Array]:
    """What inputs are ranked by: holding, or how nearly, where all draws do the same."""
    holds = outcome.holds
    if holds.any() and not holds.all():
        return "holding or not", (~holds).astype(float)
    return "greatest utilisation", outcome.greatest


def failing(outcome: Outcome) -> tuple[FailingCheck, ...]:
    """Checks that fail in some draws, the most frequent first."""
    fails = (outcome.judged.utilisation > HOLDS).mean(axis=0)
    found = [
        FailingCheck(check, title, float(share))
        for (check, title), share in zip(outcome.checks, fails, strict=True)
        if share > 0.0
    ]
    return tuple(sorted(found, key=lambda entry: -entry.share))


def input_shares(drawn: Draws, holds: NDArray[np.bool_], shares: Array) -> tuple[InputShare, ...]:
    """What each input explains, and how often its lowest and its highest tenth hold."""
    found = []
    for k, unsure in enumerate(drawn.inputs):
        level = drawn.quantiles[:, k]
        low, high = holds[level < _TENTH], holds[level > 1.0 - _TENTH]
        found.append(
            InputShare(
                unsure.key,
                unsure.taken,
                float(shares[k]),
                float(np.mean(low)) if len(low) else 0.0,
                float(np.mean(high)) if len(high) else 0.0,
            )
        )
    return tuple(sorted(found, key=lambda entry: -entry.share))
