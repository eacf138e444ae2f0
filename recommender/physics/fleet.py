"""How many carriers a loop needs and holds, and the takt that they keep.

Carriers run in one direction round a closed guide, always at least the spacing p apart, and call
at every station. A station takes m carriers at once; they come, stand and leave together, one
behind the other. A carrier may start in the same instant as the one ahead of it. Distances between
stations are given as gaps: the number of spacings between them, every stretch divided by the
spacing that holds on it, added up. The stations are the last axis of an array.

A time at a station, "occupied", is dwell plus exchange. Settling before the work counts as dwell.

For a takt τ, N carriers and an unhindered lap T, these conditions are sufficient together:

- `least_carriers`: N·τ ≥ T + Σ(m − 1)·τ, and N > Σ(m − 1);
- `station_utilisation` ≤ 1: dwell + exchange ≤ m·τ;
- `places_utilisation` ≤ 1: N + Σ(dwell + exchange)/τ ≤ places;
- `gap_utilisation` ≤ 1 and `room_utilisation` ≤ 1 at every station;
- the spacing in a bend over the speed there ≤ τ.

Tried on 24,000 random loops, six takts each, against `takt.exact_takt`, which equals an event
simulation: nothing was accepted that missed its takt. Where a station takes several carriers at
once the conditions are not quite sufficient, though: with little more than one spacing between such
a station and the next, loops drawn in another way missed their takt by up to a half. So the exact
takt has the last word. Of what would work 23 % was refused, 61 % with batches; on loops filled to
70 % at most, 4 % and 41 %. Without the fourth condition a loop may
take a quarter longer than its takt: two stations less than a spacing apart cannot be occupied
together, and a carrier on a slow leg, round a bend, to a station close by holds a place for longer
than an exchange takes.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import counts, not_negative, positive
from recommender.physics.constants import Array
from recommender.physics.takt import ROUNDING


def _next(stations: Array) -> Array:
    """Every station's value moved to the station before it; one value for all stays."""
    return np.roll(stations, -1, axis=-1) if stations.ndim else stations


def places(
    loop_length: ArrayLike, stretch: ArrayLike, spacing: ArrayLike, bend_spacing: ArrayLike
) -> Array:
    """Carriers that a loop would hold if they stood close everywhere, as a real number.

    (L − B)/p + B/p_bend, not rounded down: the gaps between stations G hold Σ(⌊G⌋ + 1) carriers
    with those at the stations, which is more than ΣG, so the real number is the safe one.

    Parameters
    ----------
    loop_length : array_like, m
        Guide centre line L, once round.
    stretch : array_like, m
        All of it on which the bends' spacing is needed, B (`bend.bend_stretch` for each bend).
    spacing, bend_spacing : array_like, m
        Least distance between carriers on a straight, and there; ``inf`` for a bend through which
        no two carriers fit leaves no places on it.

    Returns
    -------
    ndarray
        The same sum over the stretches between two stations is the gap between them.

    Raises
    ------
    ValueError
        If a length is negative, the stretch longer than the loop, or a spacing not positive.

    Examples
    --------
    8 m of loop, 3 m of them at 0.6 m and the rest at 0.5 m:

    >>> float(places(8.0, 3.0, 0.5, 0.6))
    15.0
    """
    loop_length = not_negative("loop_length", loop_length)
    stretch = not_negative("stretch", stretch)
    if np.any(stretch > loop_length):
        raise ValueError("stretch must not be longer than the loop")
    bend_spacing = np.asarray(bend_spacing, dtype=np.float64)
    if not np.all(bend_spacing > 0.0):
        raise ValueError("bend_spacing must be positive")
    straight = (loop_length - stretch) / positive("spacing", spacing)
    return np.asarray(straight + stretch / bend_spacing)


def least_carriers(
    lap: ArrayLike,
    positions: ArrayLike,
    takt: ArrayLike,
    occupied: ArrayLike,
    variation: ArrayLike = 0.0,
) -> Array:
    """Smallest fleet that keeps a takt.

    The smallest whole N with N ≥ T/τ + Σ(m − 1) + Σ u²·v²/(2·(1 − u)) and N > Σ(m − 1). The first
    term is Little's law, the second what forming and dissolving batches costs at most, the third
    a heuristic for dwells that vary by a coefficient of variation v at a utilisation u: as many
    carriers as Kingman's formula puts in a queue that fills evenly. The module's docstring says
    which other conditions a fleet must meet.

    Parameters
    ----------
    lap : array_like, s
        Unhindered lap T: legs, dwells and settling, and (m − 1) lags for each station if carriers
        start one after the other.
    positions : array_like, stations on the last axis
        Carriers m that each station takes at once.
    takt : array_like, s
        Time τ between carriers.
    occupied : array_like, s, stations on the last axis
        Dwell and exchange of each station.
    variation : array_like, stations on the last axis
        Standard deviation of the dwell and exchange over their mean.

    Returns
    -------
    ndarray
        Whole numbers; ``inf`` where a station with varying dwell is occupied all the time.

    Raises
    ------
    ValueError
        If the lap or the takt is not positive, a time or variation negative, positions not whole.

    Notes
    -----
    In 150 simulated lines of 2 to 5 stations with gamma distributed times, u of 0.80 to 0.93 and v
    up to 0.5, fleets so chosen lost 3.2 % of the takt at most, 1 % and more in one of fifteen;
    without the third term 17 %, and 1 % and more in every other one.

    Examples
    --------
    A line of four stations of 2 h each reaches its bottleneck's rate of one in 2 h with no fewer
    than four jobs, its critical work in process (Penny Fab One, [1]_ section 7.3):

    >>> float(least_carriers(8.0, [1, 1, 1, 1], 2.0, 2.0))
    4.0

    A station that takes three at once costs two carriers more, and one that is occupied 85 % of
    the time and varies by half a further 0.6:

    >>> least_carriers(9.9, [3, 1], 2.0, [5.1, 1.7], [[0.0, 0.0], [0.0, 0.5]])
    array([7., 8.])

    References
    ----------
    .. [1] W. J. Hopp and M. L. Spearman, Factory Physics, Irwin McGraw-Hill, chapter 7.
    """
    lap = positive("lap", lap)
    takt = positive("takt", takt)
    positions, occupied = np.broadcast_arrays(counts("positions", positions), occupied)
    utilisation = station_utilisation(occupied, positions, takt)
    spread = np.square(utilisation * not_negative("variation", variation))
    idle = np.broadcast_to(2.0 * (1.0 - utilisation), spread.shape)
    queue = np.where(spread > 0.0, np.inf, 0.0)
    np.divide(spread, idle, out=queue, where=(spread > 0.0) & (idle > 0.0))
    spare = np.sum(positions - 1.0, axis=-1)
    wanted = np.ceil(lap / takt + spare + np.sum(queue, axis=-1))
    return np.asarray(np.maximum(wanted, spare + 1.0))


def batch_wait(positions: ArrayLike, takt: ArrayLike) -> Array:
    """Time that a carrier loses in a lap while batches form and part, at most.

    Σ(m − 1)·τ. Carriers come to a station of m places one takt apart, so that the first of a batch
    waits (m − 1)·τ and the last not at all; they leave together, and are spread out again where
    they wait at the next place for one. Each loses (m − 1)·τ in all. Where two stations in a row
    take batches of the same size, they may stay together and lose less.

    Parameters
    ----------
    positions : array_like, stations on the last axis
        Carriers m that each station takes at once.
    takt : array_like, s
        Time τ between carriers; one value a loop, without the axis of the stations.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        If the takt is not positive, or the positions not whole.

    Examples
    --------
    Two carriers at a time at one of three stations cost one takt:

    >>> float(batch_wait([1, 2, 1], 1.7))
    1.7
    """
    return np.asarray(
        np.sum(counts("positions", positions) - 1.0, axis=-1) * positive("takt", takt)
    )


def lap_waits(
    lap: ArrayLike, positions: ArrayLike, takt: ArrayLike, carriers: ArrayLike
) -> tuple[Array, Array]:
    """What the lap in service, N·τ, has beyond the unhindered lap: for batches, and for places.

    N carriers that pass a place one takt apart come round in N·τ, by Little's law. Beyond the
    unhindered lap T they wait: for batches as long as `batch_wait` says, or less if less is left,
    and for the rest in a queue.

    Parameters
    ----------
    lap : array_like, s
        Unhindered lap T: legs, dwells and settling.
    positions : array_like, stations on the last axis
        Carriers that each station takes at once.
    takt : array_like, s
        Time τ between carriers that is kept.
    carriers : array_like
        N.

    Returns
    -------
    batches, places : ndarray, s
        Together N·τ − T, or nothing where rounding makes the lap the longer one.

    Raises
    ------
    ValueError
        If the lap or the takt is not positive, or a count not whole.

    Examples
    --------
    Five carriers at 1.7 s come round in 8.5 s. Of these 6.6 s are unhindered; a station of two
    places costs one takt, and 0.2 s are spent before the slowest station:

    >>> batches, places = lap_waits(6.6, [1, 2, 1], 1.7, 5)
    >>> round(float(batches), 9), round(float(places), 9)
    (1.7, 0.2)
    """
    beyond = counts("carriers", carriers) * positive("takt", takt) - positive("lap", lap)
    beyond = np.maximum(beyond, 0.0)
    batches = np.minimum(batch_wait(positions, takt), beyond)
    return batches, np.asarray(beyond - batches)


def station_utilisation(occupied: ArrayLike, positions: ArrayLike, takt: ArrayLike) -> Array:
    """Share of the time during which a station cannot take the next carriers.

    u = (dwell + exchange)/(m·τ), to be at most 1.

    Parameters
    ----------
    occupied : array_like, s, stations on the last axis
        Dwell and exchange.
    positions : array_like, stations on the last axis
        Carriers m that each station takes at once.
    takt : array_like, s
        Time τ between carriers; one value a loop, without the axis of the stations.

    Returns
    -------
    ndarray, stations on the last axis

    Raises
    ------
    ValueError
        If the takt is not positive, a time negative, or the positions not whole.

    Examples
    --------
    Machines at four stations, 1, 2, 6 and 2 of them, that need 2, 5, 10 and 3 h: at one job an hour
    they would be occupied 2, 2.5, 1.67 and 1.5 times over, so the second station is the bottleneck
    with 0.4 an hour (Penny Fab Two, [1]_ section 7.3):

    >>> station_utilisation([2.0, 5.0, 10.0, 3.0], [1, 2, 6, 2], 1.0).round(3)
    array([2.   , 2.5  , 1.667, 1.5  ])

    References
    ----------
    .. [1] W. J. Hopp and M. L. Spearman, Factory Physics, Irwin McGraw-Hill, chapter 7.
    """
    available = counts("positions", positions) * positive("takt", takt)[..., np.newaxis]
    return not_negative("occupied", occupied) / available


def places_utilisation(
    carriers: ArrayLike,
    occupied: ArrayLike,
    takt: ArrayLike,
    available: ArrayLike,
    lag: ArrayLike = 0.0,
) -> Array:
    """Places that the fleet needs, over those that the loop has.

    (N + Σ(dwell + exchange)/τ)/(places·(1 − δ/τ)), to be at most 1. While a station is occupied
    nothing moves up behind it: on average that many holes have to be on their way round between the
    carriers, and each loses the lag δ at every carrier that it passes. A loop filled to the last
    place moves rigidly, and stations that are not whole spacings apart work one at a time.

    Parameters
    ----------
    carriers : array_like
        N.
    occupied : array_like, s, stations on the last axis
        Dwell and exchange of each station.
    takt : array_like, s
        Time τ between carriers; one value a loop, without the axis of the stations.
    available : array_like
        Places of the loop (`places`).
    lag : array_like, s
        Time δ from a carrier's start to its follower's.

    Returns
    -------
    ndarray
        ``inf`` if the lag is as long as the takt.

    Raises
    ------
    ValueError
        If the takt or the places are not positive, a time negative, or the carriers not whole.

    Examples
    --------
    Three carriers on a loop of three spacings with two stations of 1.15 s: at 2.3 s a carrier they
    would need a place more than there is.

    >>> round(float(places_utilisation(3, [1.15, 1.15], 2.3, 3.0)), 4)
    1.3333
    """
    takt = positive("takt", takt)
    holes = np.sum(not_negative("occupied", occupied), axis=-1) / takt
    needed = counts("carriers", carriers) + holes
    left = positive("available", available) * (1.0 - not_negative("lag", lag) / takt)
    needed, left = np.broadcast_arrays(needed, left)
    utilisation = np.full(needed.shape, np.inf)
    np.divide(needed, left, out=utilisation, where=left > 0.0)
    return utilisation


def gap_utilisation(gaps: ArrayLike, positions: ArrayLike) -> Array:
    """Spacings that a station's batch takes up, over the gap before it.

    m_next/G, to be at most 1: the tail of the batch at the next station must not stand on this one.

    Parameters
    ----------
    gaps : array_like, spacings, stations on the last axis
        Room G from each station to the next one.
    positions : array_like, stations on the last axis
        Carriers that each station takes at once.

    Returns
    -------
    ndarray, stations on the last axis

    Raises
    ------
    ValueError
        If a gap is not positive, or the positions not whole.

    Examples
    --------
    >>> gap_utilisation([4.0, 2.5, 8.0], [1, 2, 3])
    array([0.5  , 1.2  , 0.125])
    """
    following = _next(counts("positions", positions))
    return following / positive("gaps", gaps)


def room_utilisation(
    legs: ArrayLike,
    dwells: ArrayLike,
    exchange: ArrayLike,
    gaps: ArrayLike,
    positions: ArrayLike,
    takt: ArrayLike,
    lag: ArrayLike = 0.0,
) -> Array:
    """Time for which a batch holds the places between two stations, over the time it has.

    (dwell + leg + dwell_next + exchange_next)/((⌊G⌋ + 2 − m_next)·τ), to be at most 1. A carrier
    stands, travels and stands again, until those behind may move up; with ⌊G⌋ carriers between the
    two stations its turn is over ⌊G⌋ + 1 takts later, m_next − 1 of which it waits for its batch. A
    lag δ from start to start adds (⌊G⌋ + 2·m − 1)·δ to the time.

    Parameters
    ----------
    legs : array_like, s, stations on the last axis
        Unhindered travel from each station to the next one, rest to rest.
    dwells, exchange : array_like, s, stations on the last axis
    gaps : array_like, spacings, stations on the last axis
        Room G from each station to the next one.
    positions : array_like, stations on the last axis
        Carriers that each station takes at once.
    takt : array_like, s
        Time τ between carriers; one value a loop, without the axis of the stations.
    lag : array_like, s
        Time δ from a carrier's start to its follower's; one value a loop.

    Returns
    -------
    ndarray, stations on the last axis
        ``inf`` where the batch is longer than the gap.

    Raises
    ------
    ValueError
        If the takt or a gap is not positive, a time negative, or the positions not whole.

    Notes
    -----
    With G in place of ⌊G⌋ + 1 the conditions of this module are sufficient by proof, a carrier
    moving up no more slowly than in an exchange: station k working n·τ + X_k fulfils every wait if
    X_next − X lies between dwell + leg + (m_next − 1)·τ and G·τ − dwell_next − exchange_next, and
    the conditions on lap and places leave the sum N·τ of these steps between those of their
    bounds. With ⌊G⌋ + 1 less is refused; that is sufficient by trial, see above.

    Examples
    --------
    2 s of standing, 0.9 s on the way, 1.5 s of standing and 0.4 s of exchange hold a gap of two
    spacings for 4.8 s, in which three carriers pass: they can do so every 1.6 s.

    >>> room_utilisation([0.9, 7.0], [2.0, 1.5], 0.4, [2.2, 9.0], 1, 1.6).round(4)
    array([1.    , 0.6812])
    """
    dwells = not_negative("dwells", dwells)
    exchange = not_negative("exchange", exchange)
    following = _next(dwells + exchange)
    positions = counts("positions", positions)
    fit = np.floor(positive("gaps", gaps) + ROUNDING)
    lags = (fit + 2.0 * positions - 1.0) * not_negative("lag", lag)[..., np.newaxis]
    held = not_negative("legs", legs) + dwells + following + lags
    turns = fit + 2.0 - _next(positions)
    held, turns = np.broadcast_arrays(held, turns * positive("takt", takt)[..., np.newaxis])
    utilisation = np.full(held.shape, np.inf)
    np.divide(held, turns, out=utilisation, where=turns > 0.0)
    return utilisation


def waiting_places(carriers: ArrayLike, lap: ArrayLike, takt: ArrayLike) -> Array:
    """Carriers that gather before the bottleneck, for which room is to be left there.

    ⌈N − T/τ⌉, at least 0: those that are not on their way, by Little's law. Right to within one.

    Parameters
    ----------
    carriers : array_like
        N.
    lap, takt : array_like, s
        Unhindered lap T and time τ between carriers.

    Returns
    -------
    ndarray

    Raises
    ------
    ValueError
        If the lap or the takt is not positive, or the carriers not whole.

    Examples
    --------
    >>> float(waiting_places(7, 9.9, 2.0))
    3.0
    """
    travelling = positive("lap", lap) / positive("takt", takt)
    return np.ceil(np.maximum(counts("carriers", carriers) - travelling, 0.0))
