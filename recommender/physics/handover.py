"""A direct handover: a box stands on its carrier while its units arrive on those of another loop.

Derivation. The carriers of the units come to the handover one every takt t and stand there for a
dwell d, in which they hand over. A carrier of boxes is full after N of them,
N = items·boxes/units (`arrivals`). Let the first of a box begin at 0; they begin at 0, t, …,
(N − 1)·t, and the last one ends at (N − 1)·t + d (`standing`). The next box's first one begins at
N·t, so that of the rhythm T = N·t there is left

    T − ((N − 1)·t + d) = t − d,

the gap in which the unit carriers are exchanged themselves. In it the full carrier has to leave and
the next one to stand and settle. A heavy carrier rarely does.

Let there be k places one behind the other, and let every box get a share of its units at each,
n_1 + … + n_k = N (`shares`). They fill in turn: n_1 units go to the first place, the next n_2 to
the second, and so on round. At place j a carrier stands for (n_j − 1)·t + d, and there is left

    T − ((n_j − 1)·t + d) = (N − n_j)·t + t − d,

about (k − 1)/k of the rhythm: while one place fills, the others are exchanged (`left_over`).

Between two places a carrier leaves at one when its last unit has been handed over, t − d before the
next place's turn begins. That is too soon for a carrier that needs longer for the way: it takes
part in a later turn, one or more rhythms on. From its departure to the beginning of its work there
pass t − d + m·T with the least whole m that leaves it time for its way, and it waits for the rest
(`due`, `way_with_wait`). So the lap of a carrier has waits that no station causes; they count as
part of the way, and the places lie two spacings apart at least, with the waiting carrier between.

Limits. Unit carriers come in a steady rhythm: dwells that vary, several streams, or a loop that
hands over only some of its units need a buffer. The loop of the units does not catch up: a unit
that comes late moves all later ones. A carrier of units is emptied at once into one box, so N is a
whole number. One place after another fills: a box that is to be filled in one place is a case of
k = 1. At the start of a shift m turns of the later places are left out. A rhythm slower than the
one that is asked for is easier in each respect.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from recommender.physics.arguments import counts, not_negative, positive
from recommender.physics.constants import Array

_ROUNDING = 1e-9


def arrivals(items: ArrayLike, boxes: ArrayLike, units: ArrayLike) -> Array:
    """Unit carriers that fill one carrier of boxes.

    N = items·boxes/units.

    Parameters
    ----------
    items : array_like
        Units in a box.
    boxes : array_like
        Boxes on a carrier.
    units : array_like
        Units on a carrier of the loop that gives.

    Returns
    -------
    ndarray
        Whole numbers.

    Raises
    ------
    ValueError
        If a number is not whole and positive, or N is not whole.

    Examples
    --------
    Twelve bottles in a box, two boxes on a carrier, bottles in threes:

    >>> float(arrivals(12, 2, 3))
    8.0
    """
    brought = counts("items", items) * counts("boxes", boxes) / counts("units", units)
    if np.any(np.abs(brought - np.rint(brought)) > _ROUNDING):
        raise ValueError("the units of a box must come on a whole number of carriers")
    return np.asarray(np.rint(brought))


def shares(arriving: int, places: int) -> NDArray[np.float64]:
    """Unit carriers that hand over at each of some places, as even as can be, more first.

    Parameters
    ----------
    arriving : int
        N.
    places : int
        k.

    Returns
    -------
    ndarray, (places,)

    Raises
    ------
    ValueError
        If there are more places than unit carriers, or a number is not whole and positive.

    Examples
    --------
    >>> shares(12, 2), shares(8, 3), shares(2, 2)
    (array([6., 6.]), array([3., 3., 2.]), array([1., 1.]))
    """
    count, least = int(counts("places", places)), int(counts("arriving", arriving))
    if count > least:
        raise ValueError("every place must get the units of a carrier")
    each, more = divmod(least, count)
    return np.array([float(each + (place < more)) for place in range(count)])


def standing(share: ArrayLike, takt: ArrayLike, dwell: ArrayLike) -> Array:
    """How long a carrier stands at a place while its units arrive.

    (n − 1)·t + d: from the beginning of the first handing over to the end of the last one.

    Parameters
    ----------
    share : array_like
        Unit carriers n that hand over there.
    takt : array_like, s
        Time t between two unit carriers.
    dwell : array_like, s
        Time d that a unit carrier stands for handing over, without its settling.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        If the share is not whole and positive, the takt not positive, the dwell negative or longer
        than the takt.

    Examples
    --------
    Twelve bottles come every 0.5 s and take 0.2 s each. A box stands for 5.7 s of its 6 s; at two
    places that fill in turn for 2.7 s at each:

    >>> standing([12, 6], 0.5, 0.2).round(9)
    array([5.7, 2.7])
    """
    takt, dwell = positive("takt", takt), not_negative("dwell", dwell)
    if np.any(dwell > takt):
        raise ValueError("dwell must not be longer than the takt")
    return np.asarray((counts("share", share) - 1.0) * takt + dwell)


def left_over(arriving: ArrayLike, share: ArrayLike, takt: ArrayLike, dwell: ArrayLike) -> Array:
    """What is left of the rhythm at a place for one carrier to leave and the next one to settle.

    (N − n)·t + t − d, see the module.

    Parameters
    ----------
    arriving, share : array_like
        Unit carriers N that fill a carrier, and n of them at this place.
    takt, dwell : array_like, s
        As for `standing`.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        As `standing`, and if the share is more than all.

    Examples
    --------
    Of the 6 s of a box of twelve there are 0.3 s left at one place, 3.3 s at each of two:

    >>> left_over(12, [12, 6], 0.5, 0.2).round(9)
    array([0.3, 3.3])
    """
    whole, share = np.broadcast_arrays(counts("arriving", arriving), counts("share", share))
    if np.any(share > whole):
        raise ValueError("share must not be more than all that arrive")
    return np.asarray(whole * positive("takt", takt) - standing(share, takt, dwell))


def due(takt: ArrayLike, dwell: ArrayLike) -> Array:
    """From a carrier's departure at one place until the turn of the next one, at the soonest.

    t − d: the next unit comes a takt after the last one began.

    Parameters
    ----------
    takt, dwell : array_like, s
        As for `standing`.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        As `standing`.

    Examples
    --------
    >>> round(float(due(0.5, 0.2)), 9)
    0.3
    """
    return np.asarray(positive("takt", takt) - standing(1, takt, dwell))


def way_with_wait(way: ArrayLike, first: ArrayLike, rhythm: ArrayLike) -> Array:
    """A way at whose end a carrier is due at one of several turns, with the wait for the next one.

    f + m·T with the least whole m ≥ 0 that is no less than the way.

    Parameters
    ----------
    way : array_like, s
        Travel and settling without a wait; ``inf`` stays.
    first : array_like, s
        The soonest turn f, counted from the departure (`due`); it may be over before the carrier
        can have settled, and thus negative.
    rhythm : array_like, s
        Time T from turn to turn.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        If the way is negative or the rhythm not positive.

    Examples
    --------
    0.2 s are in time for a turn in 0.3 s; 1.4 s are not, and the next one is 6 s later:

    >>> way_with_wait([0.2, 1.4, np.inf], 0.3, 6.0)
    array([0.3, 6.3, inf])
    """
    way = np.asarray(way, dtype=np.float64)
    if np.any(np.isnan(way)) or np.any(way < 0.0):
        raise ValueError("way must not be negative")
    rhythm = positive("rhythm", rhythm)
    first = np.asarray(first, dtype=np.float64)
    late = np.where(np.isfinite(way), way - first, 0.0)
    turns = np.ceil(np.maximum(late / rhythm - _ROUNDING, 0.0))
    return np.where(np.isfinite(way), np.maximum(first + turns * rhythm, way), np.inf)
