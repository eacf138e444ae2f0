"""The cheapest configuration that holds often enough, among those that are tried.

Tried are the answer's own options and the answers to harder cases: every input at one quantile on
its bad side, which is narrowed down by halves. No configuration that holds in a share p of the
draws costs less than the answer to the case in which each of n inputs stands at the quantile
1 − (1 − p)^(1/n), if an input on its worse side makes nothing better: all of them are beyond it
with the probability 1 − p, so that it holds for some such draw, and then for that case as well.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from recommender.choice.audit import Audit
from recommender.choice.decide import GAP, Decision
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array
from recommender.result_doubt import Chance, Sturdier
from recommender.trials.outcome import Draws, Outcome, Progress, outcome_of
from recommender.trials.unsure import written

_HALVINGS = 3
_MATTERS = 0.005
"""Share of the variance below which an input is left out of the bound."""
_OF_ONE_ANSWER = 4
_FIRST_LOOK = 1000
_SURELY_LESS = 0.03
_CENTS = Decimal(100)


@dataclass(frozen=True)
class _Found:
    audit: Audit
    chance: Chance
    level: float | None


@dataclass
class Search:
    """One search; the choice that does not hold often enough is ``chosen``."""

    chosen: Audit
    case: Case
    catalogue: Catalogue
    drawn: Draws
    asked: float
    decide: Callable[[Case], Decision]
    progress: Progress | None = None
    best: _Found | None = None
    at_least: int | None = None
    """A price that nothing undercuts that holds often enough, cents."""
    _tried: dict[object, Chance] = field(default_factory=dict)
    _steps: int = 0

    def look(
        self, outcome: Outcome, measure: Array, shares: Array, others: Sequence[Audit]
    ) -> None:
        """Try configurations until the cheapest is known or the quantile is narrowed down."""
        worse = _bad_sides(self.drawn, outcome, measure)
        matters = shares >= _MATTERS if (shares >= _MATTERS).any() else shares >= shares.max()
        lowest = 1.0 - (1.0 - self.asked) ** (1.0 / int(matters.sum())) - 1e-9
        self._try(others, None)
        easiest = np.where(matters, lowest, 0.0)
        found = self._answer(easiest, worse)
        self.at_least = found.bound
        self._try(_by_price(found), lowest)
        low, high = lowest, 1.0
        for _ in range(_HALVINGS):
            if self._is_cheapest():
                return
            level = 0.5 * (low + high)
            found = self._answer(np.full(len(shares), level), worse)
            if self._try(_by_price(found), level):
                high = level
            else:
                low = level
        if self.best is None:
            found = self._answer(np.ones(len(shares)), worse)
            self._try(_by_price(found), 1.0)

    def sturdier(self) -> Sturdier | None:
        """The cheapest that was found; ``None`` if none was."""
        if self.best is None:
            return None
        found, level = self.best.audit, self.best.level
        own = found.configuration
        return Sturdier(
            option=own.option.id,
            carriers=own.carriers,
            length_m=own.loop.length,
            price=found.price,
            more=found.price - self.chosen.price,
            chance=self.best.chance,
            level=level,
            answers=() if level is None else self._written(level),
            same_parts=found.parts == self.chosen.parts,
        )

    @property
    def at_least_price(self) -> Decimal | None:
        """The price that nothing undercuts."""
        return None if self.at_least is None else Decimal(self.at_least) / _CENTS

    def _written(self, level: float) -> tuple[tuple[str, str], ...]:
        levels = self._levels_of[level]
        values = self.drawn.at(list(levels))
        return tuple(
            (unsure.key, written(unsure.key, value, self.case))
            for unsure, value in zip(self.drawn.inputs, values, strict=True)
        )

    _levels_of: dict[float, Array] = field(default_factory=dict)

    def _answer(self, hardness: Array, worse: NDArray[np.bool_]) -> Decision:
        """The answer to the case with each input at a quantile counted towards its bad side."""
        if self.progress:
            self.progress("harder cases", self._steps, _HALVINGS + 2)
        self._steps += 1
        levels = np.where(worse, hardness, 1.0 - hardness)
        self._levels_of[float(hardness.max())] = levels
        return self.decide(self.drawn.case(self.case, self.drawn.at(list(levels))))

    def _try(self, entries: Iterator[Audit] | Sequence[Audit], level: float | None) -> bool:
        """Whether one of some holds often enough, dearest last."""
        for entry in sorted(entries, key=lambda own: own.price)[:_OF_ONE_ANSWER]:
            if self.best is not None and entry.price > self.best.audit.price:
                return False
            chance = self._chance(entry)
            if chance.held >= self.asked:
                if (
                    self.best is None
                    or entry.price < self.best.audit.price
                    or chance.held > self.best.chance.held
                ):
                    self.best = _Found(entry, chance, level)
                return True
        return False

    def _chance(self, entry: Audit) -> Chance:
        known = self._tried.get(entry.configuration)
        if known is None:
            few = self.drawn.first(_FIRST_LOOK)
            known = outcome_of(entry, self.case, self.catalogue, few).chance
            if known.high > self.asked - _SURELY_LESS and len(self.drawn.values) > _FIRST_LOOK:
                known = outcome_of(entry, self.case, self.catalogue, self.drawn).chance
            self._tried[entry.configuration] = known
        return known

    def _is_cheapest(self) -> bool:
        if self.best is None or self.at_least is None:
            return False
        return self.at_least >= (1.0 - GAP) * float(self.best.audit.price * _CENTS)


def _by_price(decision: Decision) -> list[Audit]:
    """What works by an answer."""
    return [entry.audit for entry in decision.looked if entry.feasible and entry.audit]


def _bad_sides(drawn: Draws, outcome: Outcome, measure: Array) -> NDArray[np.bool_]:
    """Whether an input is bad when it is high, by which side fails more, or comes closer to it."""
    centred = drawn.quantiles - 0.5
    fails = (centred * (measure - measure.mean())[:, None]).mean(axis=0)
    worst = outcome.greatest
    closer = (centred * (worst - worst.mean())[:, None]).mean(axis=0)
    noise = 2.0 * measure.std() * np.sqrt(1.0 / 12.0 / len(measure))
    return np.asarray(np.where(np.abs(fails) > noise, fails, closer) >= 0.0)
