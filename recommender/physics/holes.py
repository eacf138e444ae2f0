"""The takt that a loop of carriers reaches, in closed form: lap, stations, arcs and holes.

For arrays of loops whose stations take one carrier at a time. `recommender.physics.takt` is exact
for one loop, batches included.
"""

from functools import cache
from itertools import combinations, permutations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from recommender.physics.arguments import counts, not_negative, positive
from recommender.physics.constants import Array
from recommender.physics.takt import ROUNDING

_ANY_ORDER = 5
"""Stations up to which holes are followed in any order: 89 cycles, with one station more 415."""

_NEARLY_FULL = 0.5
"""Spacings to spare below which an order that takes several laps can be the slowest."""

_MOST_STATIONS = 16
"""Above this the sets of stations are too many to list."""

_Indices = NDArray[np.intp]


@cache
def _cycles(stations: int) -> tuple[_Indices, _Indices, Array, _Indices]:
    """Ways of a hole through a set of stations and back: from, to, laps between, first of each."""
    members: list[int] = []
    following: list[int] = []
    starts: list[int] = []
    for size in range(1, stations + 1):
        for first, *others in combinations(range(stations), size):
            orders = permutations(others) if stations <= _ANY_ORDER else [tuple(others)]
            for order in orders:
                starts.append(len(members))
                members += (first, *order)
                following += (*order, first)
    laps = [float(there <= here) for here, there in zip(members, following, strict=True)]
    return np.array(members), np.array(following), np.array(laps), np.array(starts)


def _hole_takt(occupied: Array, gaps: Array, carriers: Array) -> Array:
    """Longest takt of the sets of stations that share the holes between carriers."""
    members, following, laps, starts = _cycles(gaps.shape[-1])
    length = np.sum(gaps, axis=-1, keepdims=True)
    at = np.cumsum(gaps, axis=-1) - gaps
    between = at[..., following] - at[..., members] + laps * length
    places = np.floor(between + ROUNDING) + 1.0
    holes = np.add.reduceat(places - carriers[..., np.newaxis] * laps, starts, axis=-1)
    busy = np.add.reduceat(occupied[..., members], starts, axis=-1)
    takts = np.full(holes.shape, np.inf)
    np.divide(busy, holes, out=takts, where=holes > 0.0)
    takt = np.max(takts, axis=-1)
    if gaps.shape[-1] > _ANY_ORDER:
        # No order, over however many laps, takes longer than all stations one after the other.
        nearly_full = (length[..., 0] - carriers < _NEARLY_FULL) & np.isfinite(takt)
        takt = np.where(nearly_full, np.sum(occupied, axis=-1), takt)
    return np.asarray(takt)


def _arc_takt(standing_and_leg: Array, occupied: Array, gaps: Array) -> Array:
    """Longest takt of the arcs from one station to another that a carrier holds a place on."""
    takt = np.zeros(gaps.shape[:-1])
    held, gap = np.zeros(gaps.shape), np.zeros(gaps.shape)
    for ahead in range(1, gaps.shape[-1]):
        held = held + np.roll(standing_and_leg, 1 - ahead, axis=-1)
        gap = gap + np.roll(gaps, 1 - ahead, axis=-1)
        busy = held + np.roll(occupied, -ahead, axis=-1)
        takt = np.maximum(takt, np.max(busy / (np.floor(gap + ROUNDING) + 1.0), axis=-1))
    return takt


def hole_bound(
    legs: ArrayLike,
    dwells: ArrayLike,
    exchange: ArrayLike,
    gaps: ArrayLike,
    carriers: ArrayLike,
    headway: ArrayLike = 0.0,
) -> Array:
    """Takt that a loop reaches whose stations take one carrier at a time.

    The longest of

    - the lap: T/N, T = Σ leg + Σ dwell (Little's law);
    - the stations: dwell + exchange (the bottleneck);
    - the headway in a bend, its spacing over its speed;
    - the arcs, from a station to any other one: [Σ(dwell + leg) + dwell + exchange]/(⌊G⌋ + 1), the
      sum over the stations passed, the rest for the last: a carrier needs so long to pass, and
      ⌊G⌋ more fit between;
    - the holes: over all sets Q of stations Σ(dwell + exchange)/(Σ⌊G_Q⌋ + |Q| − N), G_Q the gaps
      between neighbours in Q: every service uses up a hole between carriers, which wanders against
      the traffic from station to station, and there are no more holes than places less carriers.

    Parameters
    ----------
    legs : array_like, s, stations on the last axis
        Unhindered travel from each station to the next one, rest to rest.
    dwells, exchange : array_like, s, stations on the last axis
        Standstill, with settling; and rest to rest over one spacing (`exchange.exchange_time`).
    gaps : array_like, spacings, stations on the last axis
        Room from each station to the next one, at least 1.
    carriers : array_like
        N; one value a loop, without the axis of the stations.
    headway : array_like, s
        Least time between carriers on a stretch without stations.

    Returns
    -------
    ndarray, s
        ``inf`` where the carriers do not fit on the loop.

    Raises
    ------
    ValueError
        If a time is negative, a gap not positive, the carriers not whole, or the stations more
        than 16.

    Notes
    -----
    Tried on 12,000 random loops of 1 to 6 stations with gaps of 1 spacing and more, slow legs among
    them, against `takt.exact_takt`: never optimistic if the exact takt counts the distance that the
    last carrier really has to move up, at most a spacing. Nine in ten are within 5 %, one in a
    hundred more than 38 % too long: loops with hardly a hole, where that distance matters.
    Optimistic by up to 5 % if every carrier needs a whole exchange to move up, one in a thousand.

    Carriers start together. With a lag from one to the next holes wander more slowly; that is left
    to the exact takt.

    Gaps below 1 make it optimistic by up to 12 %, 20 % with less than half a spacing to spare on
    the whole loop; use the exact takt there.

    With more than 5 stations holes are followed in the order of the stations only. With less than
    half a spacing to spare others, which take several laps, may be slower, and the time of all
    stations in turn is taken, which is safe.

    Examples
    --------
    Two stations of 1 s half way round a loop of four spacings, exchange 0.3 s. Two carriers are
    held up by their lap of 3.2 s. Four fill the loop, stand at both stations at once and move on
    together. With one station half a spacing aside they cannot, and the stations work by turns:

    >>> hole_bound([0.6, 0.6], 1.0, 0.3, [2.0, 2.0], [2, 4, 5]).round(3)
    array([1.6, 1.3, inf])
    >>> hole_bound([0.5, 0.7], 1.0, 0.3, [1.5, 2.5], [2, 4, 5]).round(3)
    array([1.6, 2.6, inf])

    References
    ----------
    .. [1] J. D. C. Little, A proof for the queuing formula L = λW, Operations Research 9 (1961)
       383-387.
    .. [2] W. J. Hopp and M. L. Spearman, Factory Physics, Irwin McGraw-Hill, chapter 7.
    """
    legs, dwells, exchange, gaps = np.broadcast_arrays(
        np.atleast_1d(not_negative("legs", legs)),
        not_negative("dwells", dwells),
        not_negative("exchange", exchange),
        positive("gaps", gaps),
    )
    carriers = counts("carriers", carriers)
    if gaps.shape[-1] > _MOST_STATIONS:
        raise ValueError(f"stations must not be more than {_MOST_STATIONS}")
    standing_and_leg = legs + dwells
    occupied = dwells + exchange
    takt = np.maximum(
        np.sum(standing_and_leg, axis=-1) / carriers, not_negative("headway", headway)
    )
    takt = np.maximum(takt, np.max(occupied, axis=-1))
    takt = np.maximum(takt, _arc_takt(standing_and_leg, occupied, gaps))
    return np.asarray(np.maximum(takt, _hole_takt(occupied, gaps, carriers)))
