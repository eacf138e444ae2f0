"""The cheapest configuration that holds often enough, among those that are tried.

Tried are the answer's own options and the answers to harder cases. Such a case has, for each check
that comes near its limit, the values that the inputs have on average where the check is as hard as
in a share q of all draws; of several checks the worse values count, and an input that no such check
looks at stands at its own quantile q. The share is narrowed down by halves.

No configuration that holds in a share p of the draws costs less than the answer to the case in
which each of n inputs stands at the quantile 1 − (1 − p)^(1/n), if an input on its worse side makes
nothing better: all of them are beyond it with the probability 1 − p, so that it holds for some such
draw, and then for that case as well.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.findings import TAKT
from recommender.choice.decision.audit import Audit
from recommender.choice.decision.decision import Decision
from recommender.choice.parts.goals import GAP
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array
from recommender.results.doubt import Chance, Sturdier
from recommender.trials.outcome import Draws, Outcome, Progress, outcome_of
from recommender.trials.unsure import written

_HALVINGS = 3
_MATTERS = 0.005
"""Share of the variance below which an input is left out of the bound."""
_OF_ONE_ANSWER = 4
_FIRST_LOOK = 1000
_SURELY_LESS = 0.03
"""By so much less than asked may a configuration hold, by the upper bound of its first draws, that
is looked at in all of them."""
_NEAR, _MOVES, _NOW_AND_THEN = 0.9, 1e-6, 0.001
"""Utilisation from which a check is near its limit, by how much it must differ between draws, and
share of the draws from which it fails now and then."""
_LOOKS_AT = 0.05
"""Correlation from which a check looks at an input."""
_WINDOW = 0.01
"""Share of the draws to either side over which inputs are averaged."""
_CENTS = Decimal(100)


@dataclass(frozen=True)
class _Found:
    audit: Audit
    chance: Chance
    level: float | None
    values: tuple[float, ...]
    """Of the inputs in the case that it answers."""


@dataclass(frozen=True)
class _Hardness:
    """How hard inputs are together, by quantiles counted towards their bad sides.

    ``bad`` are those of the draws, (draws, inputs), ``near`` the draws in the order of each check
    that comes near its limit, ``own`` the inputs that none of these looks at, and ``limiting`` the
    number of checks that fail now and then.
    """

    bad: Array
    near: tuple[NDArray[np.intp], ...]
    own: NDArray[np.bool_]
    limiting: int

    @staticmethod
    def of(drawn: Draws, outcome: Outcome, worse: NDArray[np.bool_]) -> "_Hardness":
        """From what the draws did to a configuration."""
        bad = np.where(worse, drawn.quantiles, 1.0 - drawn.quantiles)
        own, near, limiting = np.ones(bad.shape[1], dtype=bool), [], 0
        for (check, _), used in zip(outcome.checks, outcome.judged.utilisation.T, strict=True):
            # Of the takt there are verdicts alone, and the fleet's own checks stand for it.
            if check == TAKT.id or used.max() < _NEAR or np.ptp(used) < _MOVES:
                continue
            near.append(np.argsort(used, kind="stable"))
            limiting += bool((used > HOLDS).mean() > _NOW_AND_THEN)
            looked = np.abs(np.corrcoef(bad.T, used)[-1, :-1]) > _LOOKS_AT
            own &= ~looked
        return _Hardness(bad, tuple(near), own, max(limiting, 1))

    def at(self, level: float) -> Array:
        """Quantiles of the inputs where all is as hard as in a share of the draws."""
        count = len(self.bad)
        half = max(int(_WINDOW * count), 1)
        middle = min(max(int(level * count), half), count - half)
        found = np.where(self.own, level, 0.5)
        for order in self.near:
            around = order[middle - half : middle + half]
            found = np.maximum(found, self.bad[around].mean(axis=0))
        return np.asarray(found)


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
    _values: list[float] = field(default_factory=list)

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
        if found.chosen is None:
            self.at_least = None
            return
        hard = _Hardness.of(self.drawn, outcome, worse)
        low, high, level = lowest, 1.0, 1.0 - (1.0 - self.asked) / hard.limiting
        for _ in range(_HALVINGS):
            if self._is_cheapest():
                return
            found = self._answer(hard.at(level), worse)
            if self._try(_by_price(found), level):
                high = level
            else:
                low = level
            level = 0.5 * (low + high)
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
            answers=() if level is None else self._written(),
            same_parts=found.parts == self.chosen.parts,
        )

    @property
    def at_least_price(self) -> Decimal | None:
        """The price that nothing undercuts."""
        return None if self.at_least is None else Decimal(self.at_least) / _CENTS

    def _written(self) -> tuple[tuple[str, str], ...]:
        assert self.best is not None
        return tuple(
            (unsure.key, written(unsure.key, value, self.case))
            for unsure, value in zip(self.drawn.inputs, self.best.values, strict=True)
        )

    def _answer(self, hardness: Array, worse: NDArray[np.bool_]) -> Decision:
        """The answer to the case with each input at a quantile counted towards its bad side."""
        if self.progress:
            self.progress("harder cases", self._steps, _HALVINGS + 2)
        self._steps += 1
        self._values = self.drawn.at(list(np.where(worse, hardness, 1.0 - hardness)))
        return self.decide(self.drawn.case(self.case, self._values))

    def _try(self, entries: Iterator[Audit] | Sequence[Audit], level: float | None) -> bool:
        """Try some, the cheapest first; whether they hold often enough, or none is cheap enough."""
        cheapest = sorted(entries, key=lambda own: own.price)[:_OF_ONE_ANSWER]
        for number, entry in enumerate(cheapest):
            if self.best is not None and entry.price > self.best.audit.price:
                return number == 0
            chance = self._chance(entry)
            if chance.held >= self.asked:
                if (
                    self.best is None
                    or entry.price < self.best.audit.price
                    or chance.held > self.best.chance.held
                ):
                    self.best = _Found(entry, chance, level, tuple(self._values))
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
