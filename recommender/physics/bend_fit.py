"""How rollers that are set for a straight fit the rails of a bend.

A truck with two axles a wheelbase b apart stands on the chord of the guide. At each axle the guide
runs askew to it, by b/(2·R) in the arc, so that rollers g apart across the truck are g·cos(b/(2·R))
apart across the guide. Rails of a bend are cut narrower to suit, for one wheelbase. A mismatch is
positive where rollers that straddle the rails are squeezed and negative where they come loose.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, path_radius, positive
from recommender.physics.constants import Array


def bend_gauge_mismatch(
    wheelbase: ArrayLike, gauge: ArrayLike, radius: ArrayLike, cut_for: ArrayLike = 0.0
) -> Array:
    """By how much rollers set for a straight do not fit the rails of an arc.

    (b² - b_0²)·g/(8·R²)

    Parameters
    ----------
    wheelbase : array_like, m
    gauge : array_like, m
        Between the lines of contact of inner and outer rollers.
    radius : array_like, m
        R of the guide's centre line; infinite on a straight.
    cut_for : array_like, m
        b_0, wheelbase that the rails are cut for; 0 for rails as far apart as on a straight.

    Returns
    -------
    ndarray, m, over both rollers of an axle

    Raises
    ------
    ValueError
        If a length is not positive, or the wheelbase that the rails are cut for is negative.

    Notes
    -----
    First term of the series, up to 3 % low for b up to R/2 and g up to R/4.

    Examples
    --------
    Rails as on a straight, 0.1 m of gauge and wheelbase in 0.5 m: 0.1³/(8·0.25) = 0.5 mm; cut for
    80 mm, 0.36 of that.

    >>> bend_gauge_mismatch(0.1, 0.1, 0.5, [0.0, 0.08]).round(9)
    array([0.0005 , 0.00018])
    """
    base, width = positive("wheelbase", wheelbase), positive("gauge", gauge)
    bend, cut = path_radius(radius), not_negative("wheelbase cut for", cut_for)
    return np.asarray((base**2 - cut**2) * width / (8 * bend**2))


def bend_end_mismatch(
    wheelbase: ArrayLike,
    gauge: ArrayLike,
    radius: ArrayLike,
    cut_for: ArrayLike,
    transition: ArrayLike,
) -> tuple[Array, Array]:
    """Loosest and tightest fit of an axle's rollers from one end of a bend to the other.

    loosest = min(-e(b_0), n - w·e(b)),    tightest = max(n + e(max(b, b_0)), 0)
    n = (b² - b_0²)·g/(8·R²),     e(b) = g/R²·min(b²/16, b³/(12·l)), 0 where the rails are not cut
    w = min(l/max(b, b_0), 1)

    Where a bend begins, the front axle comes to a place with the truck hardly askew and the rear
    axle with all of it. No rails suit both; cut midway between them, e is left either way. On a
    transition of length l both stand askew nearly alike: by b/(2·R·l)·(p - b/3) and (p + b/3) at p
    along it.

    Parameters
    ----------
    wheelbase, gauge, radius, cut_for : array_like, m
        As `bend_gauge_mismatch`.
    transition : array_like, m
        Length l of the curve of rising curvature before the arc; 0 for none.

    Returns
    -------
    loosest, tightest : ndarray, m
        Over both rollers of an axle; the steady fit of the arc lies within them.

    Raises
    ------
    ValueError
        As `bend_gauge_mismatch`; if the transition is negative.

    Notes
    -----
    Against the true angles at both axles, for wheelbases up to 0.45·R: bounds that are passed by no
    more than 5 % of e and 3 % of n. With b = b_0 the true fit reaches them on plain arcs, and 0.7
    of them on transitions. Rails that are cut in full from the first point of the arc leave twice
    as much, all of it loose.

    Examples
    --------
    Gauge and wheelbase 0.1 m in 0.5 m, cut for it: 0.1³/(16·0.25) = 0.25 mm either way, and on a
    transition of 0.2 m 0.1⁴/(12·0.2·0.25).

    >>> loosest, tightest = bend_end_mismatch(0.1, 0.1, 0.5, 0.1, [0.0, 0.2])
    >>> loosest.round(6), tightest.round(6)
    (array([-0.00025 , -0.000167]), array([0.00025 , 0.000167]))
    """
    steady = bend_gauge_mismatch(wheelbase, gauge, radius, cut_for)
    length, bend = not_negative("transition", transition), path_radius(radius)
    cut = np.asarray(cut_for, dtype=np.float64) + 0.0 * length

    def left(base: Array) -> Array:
        eased = np.divide(base**3, 12 * length, out=np.full_like(base, np.inf), where=length > 0)
        return np.asarray(np.minimum(base**2 / 16, eased) * gauge / bend**2)

    base = np.where(cut > 0, wheelbase, 0.0)
    longer = np.where(cut > 0, np.maximum(wheelbase, cut), 0.0)
    eased = np.minimum(length / np.maximum(wheelbase, cut), 1.0)
    loosest = np.minimum(-left(cut), steady - eased * left(base))
    return loosest, np.maximum(steady + left(longer), 0.0)


def fitted_preload(preload: ArrayLike, mismatch: ArrayLike, stiffness: ArrayLike) -> Array:
    """Radial load of each roller of an unloaded truck where it does not fit its rails.

    max(Q0 + c·delta/2, 0)

    The two rollers of an axle share the mismatch, as springs in a row.

    Parameters
    ----------
    preload : array_like, N
        Q0 on a straight.
    mismatch : array_like, m
        delta over both rollers, positive where they are squeezed.
    stiffness : array_like, N/m
        c of one roller with its bearing, its bolt or spring, and the rail.

    Returns
    -------
    ndarray, N

    Raises
    ------
    ValueError
        If a value is not finite, the preload negative or the stiffness not positive.

    Examples
    --------
    60 N and 250 N/mm: 0.4 mm too tight, 0.2 mm and 0.6 mm too loose:

    >>> fitted_preload(60, [0.4e-3, -0.2e-3, -0.6e-3], 250e3)
    array([110.,  35.,   0.])
    """
    load = (
        not_negative("preload", preload)
        + positive("stiffness", stiffness) * finite("mismatch", mismatch) / 2
    )
    return np.asarray(np.maximum(load, 0.0))
