"""Whether a choice holds when its inputs are not sure, and what would hold more often."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from recommender.choice.audit import Audit, audit
from recommender.choice.checks.entry import HOLDS
from recommender.choice.decide import Decision
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.arguments import trusted
from recommender.physics.constants import Array
from recommender.result_doubt import Doubt, FailingCheck, InputShare, Sturdier
from recommender.trials.fitted import Judged, first_order_shares, judge
from recommender.trials.unsure import Unsure, quantiles, with_values

LEVELS: Final = (0.7, 0.85, 0.95, 1.0)
"""Quantiles, on the bad side of each input, at which a sturdier configuration is looked for."""

_MOST_TRIED: Final = 6
_FIRST_LOOK: Final = 400
_TENTH: Final = 0.1

Decide = Callable[[Case], Decision]
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Draws:
    """The same draws for every configuration: quantiles and the values there, (draws, inputs)."""

    inputs: tuple[Unsure, ...]
    quantiles: Array
    values: Array

    @staticmethod
    def of(inputs: Sequence[Unsure], count: int, seed: int) -> "Draws":
        """So many draws."""
        levels = quantiles(count, len(inputs), seed)
        columns = [unsure.at(levels[:, k]) for k, unsure in enumerate(inputs)]
        return Draws(tuple(inputs), levels, np.stack(columns, axis=1))

    def first(self, count: int) -> "Draws":
        """The first of them."""
        return Draws(self.inputs, self.quantiles[:count], self.values[:count])

    def case(self, case: Case, values: Sequence[float]) -> Case:
        """A case with the values of one draw."""
        keys = (unsure.key for unsure in self.inputs)
        return with_values(case, {k: float(v) for k, v in zip(keys, values, strict=True)})


@dataclass(frozen=True)
class Outcome:
    """What the draws did to one configuration."""

    checks: tuple[tuple[str, str], ...]
    """Id and title of each check."""
    judged: Judged

    @property
    def holds(self) -> NDArray[np.bool_]:
        """Whether each draw holds."""
        return np.asarray((self.judged.utilisation <= HOLDS).all(axis=1))

    @property
    def held(self) -> float:
        """Share of the draws that hold."""
        return float(self.holds.mean())


def outcome_of(
    found: Audit, case: Case, catalogue: Catalogue, draws: Draws
) -> Outcome:
    """A fixed configuration in all draws: same carriers, loop, motion and electrics."""
    checks = {f.check: f.about.title for f in found.findings}

    def audited(numbers: NDArray[np.intp]) -> Array:
        rows = []
        with trusted():
            for values in draws.values[numbers]:
                again = audit(found.configuration, draws.case(case, values), catalogue)
                known = {f.check: f.utilisation for f in again.findings}
                rows.append([known.get(check, 0.0) for check in checks])
        return np.nan_to_num(np.array(rows), nan=np.inf, posinf=1e3)

    return Outcome(tuple(checks.items()), judge(draws.quantiles, audited, HOLDS))


def doubt(
    decision: Decision,
    case: Case,
    catalogue: Catalogue,
    inputs: Sequence[Unsure],
    *,
    draws: int = 10_000,
    seed: int = 1,
    asked: float = 0.95,
    decide: Decide | None = None,
    progress: Progress | None = None,
) -> Doubt:
    """How often the choice holds, which input matters most, and what would hold often enough.

    Parameters
    ----------
    decision : Decision
        About the case as it stands.
    case : Case
    catalogue : Catalogue
    inputs : sequence of Unsure
        Independent of each other.
    draws : int
    seed : int
        Same seed, same draws.
    asked : float
        Share of the draws that is enough.
    decide : callable, optional
        Answers a case; with it a sturdier configuration is looked for where the choice does not
        hold often enough.
    progress : callable, optional

    Returns
    -------
    Doubt

    Notes
    -----
    The sturdier configuration is the cheapest of those that were tried: the answer's own options,
    and the answers to the case with every input at one quantile on its bad side. That it is enough
    is seen in the draws; that no cheaper one is, is not proven.
    """
    chosen = decision.chosen
    assert chosen is not None
    drawn = Draws.of(inputs, draws, seed)
    if progress:
        progress("configurations", 0, 1)
    outcome = outcome_of(chosen, case, catalogue, drawn)
    holds, judged = outcome.holds, outcome.judged
    mixed = 0.0 < outcome.held < 1.0
    measured = "holding or not" if mixed else "greatest utilisation"
    measure = holds.astype(float) if mixed else judged.utilisation.max(axis=1)
    shares = first_order_shares(drawn.quantiles, measure)
    fails = (judged.utilisation > HOLDS).mean(axis=0)
    result = Doubt(
        option=chosen.configuration.option.id,
        carriers=chosen.configuration.carriers,
        price=chosen.price,
        currency=catalogue.catalogue.currency,
        draws=draws,
        seed=seed,
        reserve=case.rate.reserve != 0.0,
        held=outcome.held,
        asked=asked,
        audited=int(judged.audited.sum()),
        margin=judged.margin,
        measured=measured,
        inputs=_inputs(drawn, holds, shares),
        checks=tuple(
            FailingCheck(check, title, float(share))
            for (check, title), share in sorted(
                zip(outcome.checks, fails, strict=True), key=lambda entry: -entry[1]
            )
            if share > 0.0
        ),
        sturdier=None,
        looked_for=False,
    )
    if outcome.held >= asked or decide is None:
        return result
    found = _sturdier(decision, case, catalogue, drawn, outcome, asked, decide, progress)
    return replace(result, sturdier=found, looked_for=True)


def _inputs(drawn: Draws, holds: NDArray[np.bool_], shares: Array) -> tuple[InputShare, ...]:
    found = []
    for k, unsure in enumerate(drawn.inputs):
        level = drawn.quantiles[:, k]
        low, high = holds[level < _TENTH], holds[level > 1.0 - _TENTH]
        found.append(
            InputShare(
                unsure.key,
                unsure.taken,
                float(shares[k]),
                float(low.mean()) if len(low) else 0.0,
                float(high.mean()) if len(high) else 0.0,
            )
        )
    return tuple(sorted(found, key=lambda entry: -entry.share))


def _sturdier(
    decision: Decision,
    case: Case,
    catalogue: Catalogue,
    drawn: Draws,
    outcome: Outcome,
    asked: float,
    decide: Decide,
    progress: Progress | None,
) -> Sturdier | None:
    """The cheapest configuration tried that holds often enough."""
    chosen = decision.chosen
    assert chosen is not None
    best: tuple[Audit, float, float | None] | None = None
    worse = _bad_sides(drawn, outcome)
    tried = 0
    for step, level in enumerate((None, *LEVELS)):
        if progress:
            progress("levels", step, len(LEVELS) + 1)
        if level is None:
            found = decision
        else:
            sides = np.where(worse, level, 1.0 - level)
            values = [float(u.at(np.array([q]))[0]) for u, q in zip(drawn.inputs, sides, strict=True)]
            found = decide(drawn.case(case, values))
        for entry in _by_price(found, chosen if level is None else None):
            if (best is not None and entry.price >= best[0].price) or tried >= 40:
                break
            tried += 1
            held = _held(entry, case, catalogue, drawn, asked)
            if held >= asked:
                best = entry, held, level
                break
        if best is not None and level is not None and best[2] is not None:
            break
    if best is None:
        return None
    entry, held, level = best
    return Sturdier(
        entry.configuration.option.id,
        entry.configuration.carriers,
        entry.price,
        entry.price - chosen.price,
        held,
        level,
    )


def _bad_sides(drawn: Draws, outcome: Outcome) -> NDArray[np.bool_]:
    """Whether an input is bad when it is high, by which side fails more, or comes closer to it."""
    worst = outcome.judged.utilisation.max(axis=1)
    centred = drawn.quantiles - 0.5
    return np.asarray((centred * (worst - worst.mean())[:, None]).mean(axis=0) >= 0.0)


def _by_price(decision: Decision, without: Audit | None) -> list[Audit]:
    """What a decision found to work, cheapest first."""
    works = [entry.audit for entry in decision.looked if entry.feasible and entry.audit]
    works = [entry for entry in works if without is None or entry.price != without.price]
    return sorted(works, key=lambda entry: entry.price)[:_MOST_TRIED]


def _held(
    entry: Audit, case: Case, catalogue: Catalogue, drawn: Draws, asked: float
) -> float:
    """Share of the draws in which a configuration holds; a few draws rule most out."""
    few = drawn.first(60)
    with trusted():
        kept = 0
        for values in few.values:
            kept += not audit(entry.configuration, few.case(case, values), catalogue).failures
    if kept / 60.0 < asked - 0.15:
        return kept / 60.0
    return outcome_of(entry, case, catalogue, drawn).held
