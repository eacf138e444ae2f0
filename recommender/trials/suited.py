"""The same parts with a motion that is set to suit each draw, once its inputs are known.

A choice has the gentlest motion that meets its case, so it leaves nothing to spare; but a motion is
a setting, which costs nothing to change. Some motions round that of the choice are tried on the
draws in which it fails. Whether another one would do where none of these does is not known, so that
the share is one that is reached at least.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision.audit import Audit, audit
from recommender.choice.parts.configuration import Configuration, Motion
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.arguments import trusted
from recommender.physics.constants import Array
from recommender.results.doubt import SetToSuit
from recommender.trials.drawn import along, utilisations
from recommender.trials.fitted import wilson
from recommender.trials.outcome import Draws, Outcome, Progress

_MOST_DRAWS: Final = 1000
_ACCELERATIONS: Final = (1.0, 1.15, 0.85, 1.35, 0.75, 1.7, 2.2)
_BEND_SPEEDS: Final = (1.0, 1.12, 1.25, 0.9, 1.5)
_SPEEDS: Final = (1.0, 1.3)
_HARDEST: Final = ("supply.peak", "braking.energy")
"""Checks that tell which draws are hardest on what arrays leave out: voltage and braking power."""


def set_to_suit(
    found: Audit,
    case: Case,
    catalogue: Catalogue,
    drawn: Draws,
    outcome: Outcome,
    progress: Progress | None = None,
) -> SetToSuit | None:
    """Share of the draws in which some motion of the same parts holds.

    Parameters
    ----------
    found : Audit
        The choice.
    case : Case
    catalogue : Catalogue
    drawn : Draws
    outcome : Outcome
        What they did to the choice as it is set.
    progress : callable, optional

    Returns
    -------
    SetToSuit or None
        ``None`` where arrays do not tell: with a liquid, whose waves no array knows, with several
        supplies, or where arrays do not take an input.
    """
    holds = suited(found, case, catalogue, drawn.first(_MOST_DRAWS), outcome, progress)
    if holds is None:
        return None
    share = float(holds.mean())
    motions = len(_SPEEDS) * len(_BEND_SPEEDS) * len(_ACCELERATIONS)
    return SetToSuit(share, wilson(share, len(holds))[0], len(holds), motions)


def suited(
    found: Audit,
    case: Case,
    catalogue: Catalogue,
    few: Draws,
    outcome: Outcome,
    progress: Progress | None = None,
) -> NDArray[np.bool_] | None:
    """Whether some motion of the same parts holds in each of some draws, the first ones."""
    keys = [unsure.key for unsure in few.inputs]
    if case.load.liquid is not None or len(found.configuration.electrics.groups) > 1:
        return None
    if not all(along(key, case) for key in keys):
        return None
    holds = outcome.holds[: len(few.values)].copy()
    motions = list(motions_round(found.configuration.motion, case))
    with trusted():
        for number, motion in enumerate(motions):
            if progress:
                progress("motions", number, len(motions))
            left = np.flatnonzero(~holds)
            if not len(left):
                break
            values = dict(zip(keys, few.values[left].T, strict=True))
            again = replace(found.configuration, motion=motion)
            used = utilisations(again, case, catalogue, values)
            if _not_believed(outcome, used):
                return None
            new = np.all([own <= HOLDS for own in used.values()], axis=0)
            if new.any() and _rest_holds(again, case, catalogue, few, left, new, used):
                holds[left[new]] = True
    return np.asarray(holds)


def _not_believed(outcome: Outcome, used: dict[str, Array]) -> bool:
    """Whether a check that arrays work out was not believed."""
    return any(
        own and check in used
        for (check, _), own in zip(outcome.checks, outcome.judged.fitted, strict=True)
    )


def motions_round(own: Motion, case: Case) -> Iterator[Motion]:
    """Motions round one, with its time to build an acceleration up."""
    most_jerk = np.inf if case.limits.jerk is None else case.limits.jerk
    for faster, round_bends, harder in product(_SPEEDS, _BEND_SPEEDS, _ACCELERATIONS):
        bend_speed = own.bend_speed * round_bends
        yield Motion(
            own.acceleration * harder,
            min(own.jerk * harder, most_jerk),
            max(own.speed * faster, bend_speed),
            bend_speed,
        )


def _rest_holds(
    configuration: Configuration,
    case: Case,
    catalogue: Catalogue,
    few: Draws,
    left: NDArray[np.intp],
    new: NDArray[np.bool_],
    used: dict[str, Array],
) -> bool:
    """Whether what arrays leave out holds in the hardest of the draws that are new."""
    for check in _HARDEST:
        if check not in used:
            continue
        number = left[int(np.argmax(np.where(new, used[check], -np.inf)))]
        again = audit(configuration, few.case(case, few.values[number]), catalogue)
        if again.failures:
            return False
    return True
