"""Why an option fails: checks that fail at every setting and place, or that clash at each.

A table says of every setting on every loop that was looked at which checks hold. A *cause* is a
smallest set of checks of which no row holds all: one check that fails everywhere, or several of
which the one fails wherever the others hold. What merely happens to be worst at one setting is
none.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.findings import Finding

_MOST: Final = 4
"""Causes that are looked for; no sentence tells more."""


@dataclass(frozen=True)
class Cause:
    """A reason why an option fails.

    ``told`` fails in the configuration that is shown; ``held`` are the checks that keep it from
    holding, none if it fails everywhere.
    """

    told: Finding
    held: tuple[Finding, ...] = ()

    @property
    def checks(self) -> tuple[str, ...]:
        """Ids of its checks, the one that is told first."""
        return (self.told.check, *(finding.check for finding in self.held))


def cores(holds: NDArray[np.bool_]) -> list[tuple[int, ...]]:
    """Disjoint smallest sets of columns of which no row holds all.

    Parameters
    ----------
    holds : ndarray (rows, checks)
        Of several clashes the one of the foremost columns is found.

    Returns
    -------
    list of tuple of int
        Single columns first, in their order.

    Examples
    --------
    The first check fails everywhere, and of the other two one fails where the other holds:

    >>> cores(np.array([[False, True, False], [False, False, True]]))
    [(0,), (1, 2)]
    """
    alone = [(int(column),) for column in np.flatnonzero(~holds.any(axis=0))]
    left = [column for column in range(holds.shape[1]) if (column,) not in alone]
    found: list[tuple[int, ...]] = [*alone[:_MOST]]
    while len(found) < _MOST and (core := _clash(holds, left)):
        found.append(core)
        left = [column for column in left if column not in core]
    return found


def _clash(holds: NDArray[np.bool_], columns: Sequence[int]) -> tuple[int, ...]:
    """A smallest set of some columns that no row holds together; empty if a row holds all."""
    if not columns or holds[:, list(columns)].all(axis=1).any():
        return ()
    for pair in combinations(columns, 2):
        if not holds[:, list(pair)].all(axis=1).any():
            return pair
    core = list(columns)
    for column in columns:
        rest = [other for other in core if other != column]
        if not holds[:, rest].all(axis=1).any():
            core = rest
    return tuple(core)


def told_causes(causes: Sequence[Cause]) -> tuple[Cause, ...]:
    """Causes that are independent of each other: none speaks of what another speaks of.

    What hangs on the same requirement fails for the same reason: a load too heavy for its carrier
    overloads the rollers as well.
    """
    told: list[Cause] = []
    spoken: set[str] = set()
    for cause in causes:
        keys = {key for finding in (cause.told, *cause.held) for key in finding.requirements}
        if not keys & spoken:
            told.append(cause)
            spoken |= keys
    return tuple(told)
