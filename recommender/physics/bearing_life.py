"""Life of rolling bearings by ISO 281: of one, under changing loads, and of several together."""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import Array

_RELIABILITIES: Final = np.array([90.0, 95.0, 96.0, 97.0, 98.0, 99.0])
_RELIABILITY_FACTORS: Final = np.array([1.00, 0.64, 0.55, 0.47, 0.37, 0.25])
_HIGHEST_RELIABILITY: Final = 99.95
_LEAST_FACTOR: Final = 0.05


def mean_load(loads: ArrayLike, shares: ArrayLike, exponent: float = 3.0, axis: int = -1) -> Array:
    """Constant load that wears the bearing as much as a sequence of loads.

    P_m = (Σ q·P^p / Σ q)^(1/p), by Palmgren and Miner's rule of linear damage. The shares q weigh
    revolutions (or distance), not time: a load at half the speed counts half.

    Parameters
    ----------
    loads : array_like, N
        Dynamic equivalent loads, zero or more.
    shares : array_like
        Revolutions, distance or share of either under each load, broadcastable with `loads`.
    exponent : float
        3 for balls, 10/3 for rollers.
    axis : int
        Axis of the sequence.

    Returns
    -------
    ndarray, N
        Without `axis`.

    Raises
    ------
    ValueError
        If a load or share is negative or not finite, or all shares of a sequence are 0.

    Examples
    --------
    650 lb for 30 minutes, 750 lb for 10 and 250 lb for 20 at a constant speed (example 14-6
    of [1]_):

    >>> round(float(mean_load([650.0, 750.0, 250.0], [30.0, 10.0, 20.0])))
    597

    References
    ----------
    .. [1] R. L. Mott, Machine Elements in Mechanical Design, 4th ed., p. 626.
    """
    p = float(positive("exponent", exponent))
    loads, shares = np.broadcast_arrays(
        not_negative("loads", loads), not_negative("shares", shares)
    )
    total = shares.sum(axis=axis)
    if not np.all(total > 0.0):
        raise ValueError("shares must not all be zero")
    return np.asarray(((shares * loads**p).sum(axis=axis) / total) ** (1.0 / p))


def basic_rating_life(C: ArrayLike, P: ArrayLike, exponent: float = 3.0) -> Array:
    """Life that 90 % of rolling bearings reach, in revolutions.

    L_10 = (C/P)^p · 10⁶ [1]_, for loads below about half the rating and bearings that are clean,
    lubricated and turning.

    Parameters
    ----------
    C : array_like, N
        Basic dynamic load rating.
    P : array_like, N
        Dynamic equivalent load; a load of 0 gives an infinite life.
    exponent : float
        3 for balls, 10/3 for rollers.

    Returns
    -------
    ndarray, revolutions

    Raises
    ------
    ValueError
        If a rating is not positive, a load negative, or either not a finite number.

    Examples
    --------
    A rating of 3350 lb under 1095 lb (example 20.4 of [2]_):

    >>> round(float(basic_rating_life(3350.0, 1095.0)))
    28634662

    References
    ----------
    .. [1] ISO 281:2007, Rolling bearings: dynamic load ratings and rating life.
    .. [2] T. H. Wentzell, Machine Design, p. 436.
    """
    p = float(positive("exponent", exponent))
    with np.errstate(divide="ignore"):
        return np.asarray(1e6 * (positive("C", C) / not_negative("P", P)) ** p)


def reliability_factor(reliability_percent: ArrayLike) -> Array:
    """Life modification factor for reliability, a_1: life at a reliability over life at 90 %.

    At 90, 95, 96, 97, 98 and 99 % the standard's table, 1, 0.64, 0.55, 0.47, 0.37 and 0.25 [1]_;
    between and above them the three-parameter Weibull distribution behind it [2]_,

    a_1 = 0.95·[ln(100/R)/ln(100/90)]^(2/3) + 0.05,

    held between the neighbouring values of the table, which is rounded from it, so that a higher
    reliability never has the longer life. Reliability is in per cent, as the standard has it.

    Parameters
    ----------
    reliability_percent : array_like, %
        90 to 99.95, the range of the table.

    Returns
    -------
    ndarray

    Raises
    ------
    ValueError
        If a reliability lies outside 90 to 99.95 % or is not a number.

    Examples
    --------
    >>> reliability_factor([90.0, 95.0, 99.0, 99.9]).round(3)
    array([1.   , 0.64 , 0.25 , 0.093])

    References
    ----------
    .. [1] ISO 281:2007, Rolling bearings: dynamic load ratings and rating life, as reprinted in
       bearing makers' catalogues.
    .. [2] ISO/TR 1281-2:2008, Rolling bearings: explanatory notes on ISO 281, part 2.
    """
    reliability = np.asarray(reliability_percent, dtype=np.float64)
    if not np.all((reliability >= _RELIABILITIES[0]) & (reliability <= _HIGHEST_RELIABILITY)):
        raise ValueError("reliability_percent must lie between 90 and 99.95")
    row = np.searchsorted(_RELIABILITIES, reliability, side="right") - 1
    weibull = 0.95 * (np.log(100.0 / reliability) / np.log(100.0 / 90.0)) ** (2.0 / 3.0) + 0.05
    higher = _RELIABILITY_FACTORS[row]
    lower = np.append(_RELIABILITY_FACTORS, _LEAST_FACTOR)[row + 1]
    return np.where(reliability == _RELIABILITIES[row], higher, np.clip(weibull, lower, higher))


def system_life(lives: ArrayLike, exponent: float = 10.0 / 9.0, axis: int = -1) -> Array:
    """Life of several bearings together, up to the first failure among them.

    L = (Σ L_i^−e)^(−1/e), all lives at the same reliability, e the slope of their Weibull
    distribution [1]_. The slopes 10/9 and 9/8 are those of the tests by Lundberg and Palmgren. The
    steeper and shifted distribution behind `reliability_factor` would have eight equal rollers
    last 0.29 of one roller's life, the slope 10/9 has them last 0.15: the safe side.

    Parameters
    ----------
    lives : array_like, any unit of life
        Lives of the single bearings, infinite for those without load.
    exponent : float
        10/9 for balls, 9/8 for rollers.
    axis : int
        Axis of the bearings.

    Returns
    -------
    ndarray, unit of the lives
        Without `axis`.

    Raises
    ------
    ValueError
        If a life or the exponent is not positive or not a number.

    Examples
    --------
    Two, four and eight equal bearings, 2^−0.9, 4^−0.9 and 8^−0.9 of one:

    >>> [round(float(system_life(np.ones(count))), 3) for count in (2, 4, 8)]
    [0.536, 0.287, 0.154]

    References
    ----------
    .. [1] NTN, Ball and Roller Bearings, cat. 2203/E, equation 3.3, p. A-22.
    """
    e = float(positive("exponent", exponent))
    lives = positive("lives", lives, unlimited=True)
    with np.errstate(divide="ignore"):
        return np.asarray((lives**-e).sum(axis=axis) ** (-1.0 / e))
