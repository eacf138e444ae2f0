"""The draws, and what they do to one configuration."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks import CONFIGURED_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.findings import TAKT
from recommender.choice.decision.audit import Audit, audit
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.given import with_values
from recommender.physics.arguments import trusted
from recommender.physics.constants import Array
from recommender.results.doubt import Chance
from recommender.trials.drawn import along, utilisations
from recommender.trials.fitted import Judged, judge, wilson
from recommender.trials.unsure import Unsure, quantiles

Progress = Callable[[str, int, int], None]
_AT_ONCE = 20


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

    def at(self, levels: Sequence[float]) -> list[float]:
        """The values at a quantile of each input."""
        return [
            float(unsure.at(np.array([level]))[0])
            for unsure, level in zip(self.inputs, levels, strict=True)
        ]


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
    def greatest(self) -> Array:
        """The greatest utilisation of any check in each draw, of the takt aside."""
        kept = [k for k, (check, _) in enumerate(self.checks) if check != TAKT.id]
        return np.asarray(self.judged.utilisation[:, kept].max(axis=1))

    @property
    def chance(self) -> Chance:
        """The share that holds, with its bounds."""
        holds, left = self.holds, self.judged.open
        low, _ = wilson(float((holds & ~left).mean()), len(holds))
        _, high = wilson(float((holds | left).mean()), len(holds))
        return Chance(float(holds.mean()), low, high)


def outcome_of(
    found: Audit,
    case: Case,
    catalogue: Catalogue,
    draws: Draws,
    progress: Progress | None = None,
) -> Outcome:
    """A fixed configuration in all draws: same carriers, loop, motion and electrics."""
    # Some of what is bought is checked in some draws only, as the power of braking is.
    checks = {check.about.id: check.about.title for check in CONFIGURED_CHECKS}
    checks |= {f.check: f.about.title for f in found.findings}
    configuration, done = found.configuration, 0

    def audited(numbers: NDArray[np.intp]) -> Array:
        nonlocal done
        rows = []
        with trusted():
            for values in draws.values[numbers]:
                if progress and not done % _AT_ONCE:
                    progress("audits", done, max(len(numbers), done))
                done += 1
                again = audit(configuration, draws.case(case, values), catalogue)
                known = {f.check: f.utilisation for f in again.findings}
                rows.append([known.get(check, 0.0) for check in checks])
        return np.array(rows)

    arrays = in_arrays(found, case, catalogue, draws)
    judged = judge(draws.quantiles, tuple(checks), arrays, audited, HOLDS)
    return Outcome(tuple(checks.items()), judged)


def in_arrays(found: Audit, case: Case, catalogue: Catalogue, draws: Draws) -> dict[str, Array]:
    """What arrays know of a configuration in all draws; nothing if they do not take an input."""
    keys = [unsure.key for unsure in draws.inputs]
    if not all(along(key, case) for key in keys):
        return {}
    values = dict(zip(keys, draws.values.T, strict=True))
    with trusted():
        return utilisations(found.configuration, case, catalogue, values)
