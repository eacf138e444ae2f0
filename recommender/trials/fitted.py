"""Utilisations of one configuration over many draws: few audited, the others by polynomials.

Each check's utilisation is fitted to audited draws with a polynomial of the inputs: all products of
two, and powers up to the fourth. What it is wrong by on other audited draws at most, and half as
much again, is its margin. A draw in which no check is within its margin of the limit is taken as
fitted; all others are audited, so that a wrong one would need an error beyond the margin.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from recommender.physics.constants import Array

_FOR_MARGIN: Final = 120
_BEYOND: Final = 1.5
_LARGEST: Final = 3.0
"""Utilisations above this count as this: they fail either way."""


@dataclass(frozen=True)
class Judged:
    """Utilisations of all checks in all draws, (draws, checks), and which draws were audited."""

    utilisation: Array
    audited: NDArray[np.bool_]
    margin: float


def judge(
    quantiles: Array, audit: Callable[[NDArray[np.intp]], Array], limit: float
) -> Judged:
    """Utilisations over draws.

    Parameters
    ----------
    quantiles : ndarray, (draws, inputs)
        In which the utilisations are fitted.
    audit : callable
        Utilisations of the draws with some numbers, (numbers, checks).
    limit : float
        Utilisation up to which a check holds.

    Returns
    -------
    Judged
    """
    count, inputs = quantiles.shape
    terms = _terms(quantiles)
    first = min(count, 3 * terms.shape[1] + 60)
    looked = np.arange(min(count, first + _FOR_MARGIN))
    exact = np.minimum(audit(looked), _LARGEST)
    found = np.empty((count, exact.shape[1]))
    audited = np.zeros(count, dtype=bool)
    audited[looked] = True
    found[looked] = exact
    if len(looked) == count:
        return Judged(found, audited, 0.0)
    fit, *_ = np.linalg.lstsq(terms[:first], exact[:first], rcond=None)
    wrong = np.abs(terms[looked] @ fit - exact).max(axis=0)
    margin = _BEYOND * wrong + 1e-9
    left = ~audited
    found[left] = terms[left] @ fit
    # A check that surely fails decides its draw, whatever the others do.
    fails = (found - margin > limit).any(axis=1)
    near = (np.abs(found - limit) <= margin).any(axis=1)
    again = np.flatnonzero(left & near & ~fails)
    if len(again):
        found[again] = np.minimum(audit(again), _LARGEST)
        audited[again] = True
    return Judged(found, audited, float(margin.max()))


def _terms(quantiles: Array) -> Array:
    z = 2.0 * quantiles - 1.0
    inputs = z.shape[1]
    columns = [np.ones(len(z)), *z.T]
    columns += [z[:, i] * z[:, j] for i in range(inputs) for j in range(i, inputs)]
    columns += [z[:, i] ** power for i in range(inputs) for power in (3, 4)]
    return np.stack(columns, axis=1)


def first_order_shares(quantiles: Array, outcome: Array) -> Array:
    """Share of the variance of an outcome that each input alone explains, (inputs,).

    Var(E[Y | X])/Var(Y): the draws are divided into equal parts by each input in turn, and the
    variance of the parts' means is taken, less what chance alone gives them ([1]_).

    Parameters
    ----------
    quantiles : ndarray, (draws, inputs)
    outcome : ndarray, (draws,)

    Returns
    -------
    ndarray
        0 to 1; all 0 if the outcome does not vary.

    References
    ----------
    .. [1] E. Plischke, E. Borgonovo and C. L. Smith, Global sensitivity measures from given data,
       European Journal of Operational Research 226 (2013) 536-550.
    """
    count, inputs = quantiles.shape
    total = float(outcome.var())
    if total <= 1e-18:
        return np.zeros(inputs)
    parts = int(np.clip(count // 50, 2, 40))
    shares = []
    for number in range(inputs):
        pieces = np.array_split(outcome[np.argsort(quantiles[:, number], kind="stable")], parts)
        between = sum(len(p) * (p.mean() - outcome.mean()) ** 2 for p in pieces) / count
        within = total - between
        shares.append(between - within * (parts - 1) / max(count - parts, 1))
    return np.clip(np.array(shares) / total, 0.0, 1.0)
