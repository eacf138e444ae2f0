"""Places on the guide centre line of a 180° bend: a clothoid, an arc and the clothoid mirrored."""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite
from recommender.physics.bend import bend_length, bend_width
from recommender.physics.clothoid import clothoid_ratios
from recommender.physics.constants import Array


def bend_place(
    distance: ArrayLike, radius: ArrayLike, transition: ArrayLike
) -> tuple[Array, Array, Array]:
    """Where the guide centre line of a 180° bend runs, and in which direction.

    On the clothoid, a distance s along it, the line has turned by θ = s²/(2·R·ℓ) and lies at
    s·(A(θ), B(θ)), A and B the Fresnel series of `clothoid_ratios`. From its end on it runs round
    the arc's centre, and behind the tip of the bend it is the mirror image of what came before.

    Parameters
    ----------
    distance : array_like, m
        From the start of the bend, 0 to `bend_length`; the line goes on straight before and beyond.
    radius : array_like, m
        Radius of the arc.
    transition : array_like, m
        Length of one clothoid, at most π·R.

    Returns
    -------
    along, aside : ndarray, m
        In the direction of the straight before the bend, from its end, and off its line toward the
        bend's centre.
    heading : ndarray, rad
        How far the line has turned, 0 to π.

    Raises
    ------
    ValueError
        If the radius is not positive, the transition negative or above π·R, or an argument not
        finite.

    Examples
    --------
    Two clothoids alone, R = 1/π m and ℓ = 1 m, meet at (C(1), S(1)) = (0.7798934, 0.4382591) of
    table 7.7 in [1]_, turned by 90°:

    >>> [round(float(value), 7) for value in bend_place(1.0, 1 / np.pi, 1.0)]
    [0.7798934, 0.4382591, 1.5707963]

    A plain arc of 0.5 m ends 1 m aside of where it began, and the straight goes back from there:

    >>> [float(value.round(12)) for value in bend_place(0.5 * np.pi + 0.2, 0.5, 0.0)]
    [-0.2, 1.0, 3.14159265359]

    References
    ----------
    .. [1] M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, National Bureau of
       Standards, 1964, table 7.7.
    """
    length, width = bend_length(radius, transition), bend_width(radius, transition)
    distance = finite("distance", distance)
    distance, radius, transition = np.broadcast_arrays(distance, radius, transition)
    mirrored = distance > 0.5 * length
    entry = np.where(mirrored, length - distance, distance)
    eased = np.clip(entry, 0.0, transition)
    turned = np.square(eased) / (2.0 * radius * np.where(transition > 0.0, transition, 1.0))
    ratios = clothoid_ratios(np.asarray(turned))
    on_arc = np.maximum(entry - transition, 0.0) / radius
    heading = turned + on_arc
    along = eased * ratios[0] + radius * (np.sin(heading) - np.sin(turned)) + np.minimum(entry, 0.0)
    aside = eased * ratios[1] + radius * (np.cos(turned) - np.cos(heading))
    return (
        np.asarray(along),
        np.asarray(np.where(mirrored, width - aside, aside)),
        np.asarray(np.where(mirrored, np.pi - heading, heading)),
    )
