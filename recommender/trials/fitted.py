"""Verdicts on one configuration in many draws: exact in arrays, and fitted where arrays do not go.

Some draws are audited in full, those at both ends of each input among them. A check that arrays
work out is taken from them if they agree with all of these audits. Any other check that differs
between them is fitted with a polynomial of the inputs: all products of two, and powers up to the
fourth. What it is wrong by on audited draws at most, and half as much again, is its margin; a draw
that may fail within a margin is audited too.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.findings import TAKT
from recommender.physics.constants import Array

_FIRST: Final = 20
_FOR_MARGIN: Final = 40
_MOST_AGAIN: Final = 1000
"""Draws near a limit that are audited; more are left open, and the interval says so."""
_BEYOND: Final = 1.5
_LARGEST: Final = 3.0
"""Utilisations above this count as this: they fail either way."""
_AGREE: Final = 1e-9


@dataclass(frozen=True)
class Judged:
    """Utilisations of all checks in all draws, (draws, checks), and how they are known."""

    utilisation: Array
    audited: NDArray[np.bool_]
    open: NDArray[np.bool_]
    fitted: NDArray[np.bool_]
    """Which checks are fitted, (checks,)."""
    margin: float


def judge(
    quantiles: Array,
    checks: Sequence[str],
    arrays: Mapping[str, Array],
    audit: Callable[[NDArray[np.intp]], Array],
    limit: float,
) -> Judged:
    """Utilisations over draws.

    Parameters
    ----------
    quantiles : ndarray, (draws, inputs)
        In which utilisations are fitted.
    checks : sequence of str
    arrays : mapping of str to ndarray
        Of some checks what they come to in each draw, (draws,).
    audit : callable
        Utilisations of the draws with some numbers, (numbers, checks).
    limit : float
        Utilisation up to which a check holds.

    Returns
    -------
    Judged
    """
    count = len(quantiles)
    terms = _terms(quantiles)
    looked = _looked(quantiles, 2 * terms.shape[1] + _FIRST + _FOR_MARGIN)
    first = max(len(looked) - _FOR_MARGIN, 1)
    exact = np.minimum(audit(looked), _LARGEST)
    found, margin = np.empty((count, len(checks))), np.zeros(len(checks))
    fitted = np.zeros(len(checks), dtype=bool)
    for k, check in enumerate(checks):
        known = arrays.get(check)
        alike = _kept_alike if check == TAKT.id else _alike
        if known is not None and alike(known[looked], exact[:, k], limit):
            found[:, k] = np.minimum(known, _LARGEST)
        elif np.ptp(exact[:, k]) <= _AGREE:
            found[:, k] = exact[0, k]
        else:
            fitted[k] = True
            fit, *_ = np.linalg.lstsq(terms[looked[:first]], exact[:first, k], rcond=None)
            found[:, k] = terms @ fit
            margin[k] = _BEYOND * np.abs(found[looked, k] - exact[:, k]).max() + _AGREE
    audited = np.zeros(count, dtype=bool)

    def keep(numbers: NDArray[np.intp], values: Array) -> None:
        found[numbers] = np.where(fitted, values, found[numbers])
        audited[numbers] = True

    keep(looked, exact)
    # A check that surely fails decides its draw, whatever the others do.
    fails = (found - margin > limit).any(axis=1)
    near = ((np.abs(found - limit) <= margin) & fitted).any(axis=1)
    undecided = np.flatnonzero(near & ~fails & ~audited)
    again = undecided[:_MOST_AGAIN]
    if len(again):
        keep(again, np.minimum(audit(again), _LARGEST))
    left = np.zeros(count, dtype=bool)
    left[undecided[_MOST_AGAIN:]] = True
    return Judged(found, audited, left, fitted, float(margin.max(initial=0.0)))


def _looked(quantiles: Array, number: int) -> NDArray[np.intp]:
    """Draws that are audited first: both ends of each input, and so many of the others."""
    ends = np.unique(np.concatenate([quantiles.argmin(axis=0), quantiles.argmax(axis=0)]))
    others = np.setdiff1d(np.arange(min(len(quantiles), number + len(ends))), ends)
    return np.concatenate([ends, others])


def _alike(known: Array, exact: Array, limit: float) -> bool:
    """Whether arrays come to the same as audits."""
    near = np.allclose(np.minimum(known, _LARGEST), exact, rtol=_AGREE, atol=_AGREE)
    return near and _kept_alike(known, exact, limit)


def _kept_alike(known: Array, exact: Array, limit: float) -> bool:
    """Whether arrays hold where audits do; of the takt they know no more."""
    return bool(((known <= limit) == (exact <= limit)).all())


def _terms(quantiles: Array) -> Array:
    z = 2.0 * quantiles - 1.0
    inputs = z.shape[1]
    columns = [np.ones(len(z)), *z.T]
    columns += [z[:, i] * z[:, j] for i in range(inputs) for j in range(i, inputs)]
    columns += [z[:, i] ** power for i in range(inputs) for power in (3, 4)]
    return np.stack(columns, axis=1)


def wilson(share: float, count: int) -> tuple[float, float]:
    """Bounds of a probability from the share of so many independent draws, confidence 95 %.

    (p + z²/2n ± z·√(p(1 − p)/n + z²/4n²))/(1 + z²/n), z = 1.96 ([1]_). Draws of a Latin hypercube
    scatter no more than independent ones, but for a factor of n/(n − 1) ([2]_).

    Examples
    --------
    20 of 100, worked by hand: (0.2 + 0.0192 ± 1.96·√(0.0016 + 0.000096))/1.0384.

    >>> [round(bound, 4) for bound in wilson(0.2, 100)]
    [0.1334, 0.2888]

    References
    ----------
    .. [1] E. B. Wilson, Probable inference, the law of succession, and statistical inference,
       Journal of the American Statistical Association 22 (1927) 209-212.
    .. [2] A. B. Owen, Monte Carlo variance of scrambled net quadrature, SIAM Journal on Numerical
       Analysis 34 (1997) 1884-1910.
    """
    z2 = 1.959964**2
    middle = share + z2 / (2.0 * count)
    half = np.sqrt(z2 * (share * (1.0 - share) / count + z2 / (4.0 * count**2)))
    whole = 1.0 + z2 / count
    # At both ends the bound is the share itself, but for rounding.
    low, high = float((middle - half) / whole), float((middle + half) / whole)
    return (0.0 if share <= 0.0 else low), (1.0 if share >= 1.0 else high)


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
