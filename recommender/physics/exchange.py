"""Exchange of the carriers at a station: one batch leaves, the next one moves up."""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import counts, not_negative, positive
from recommender.physics.constants import Array
from recommender.physics.motion import stop_to_stop_time


def exchange_time(
    spacing: ArrayLike,
    positions: ArrayLike,
    speed: ArrayLike,
    acceleration: ArrayLike,
    jerk: ArrayLike,
    lag: ArrayLike = 0.0,
) -> Array:
    """From the departure of a batch until the next one, waiting close behind, stands in its place.

    e = t(m·p) + (2·m − 1)·δ, t from rest to rest. All of the next batch start with the first that
    leaves; with a lag δ between one carrier's start and its follower's, the last of the 2·m
    carriers starts (2·m − 1)·δ later.

    Parameters
    ----------
    spacing : array_like, m
        Least distance p between carriers at the station: the bend's if `exchange_speed` is.
    positions : array_like
        Carriers m that the station takes at once.
    speed : array_like, m/s
        Limit of speed near the station (`exchange_speed`).
    acceleration : array_like, m/s²
    jerk : array_like, m/s³
    lag : array_like, s
        Time δ from a carrier's start to its follower's.

    Returns
    -------
    ndarray, s

    Raises
    ------
    ValueError
        If a limit or the spacing is not positive, the lag negative, or the positions not whole.

    Examples
    --------
    10 m from rest to rest at 20 m/s² and 30 m/s³ take 4·(10/60)^(1/3) = 2.2013 s (example 3.13 of
    [1]_). Two positions 5 m apart, and a lag of 0.1 s three times:

    >>> exchange_time([10.0, 5.0], [1, 2], 10.0, 20.0, 30.0, [0.0, 0.1]).round(4)
    array([2.2013, 2.5013])

    References
    ----------
    .. [1] L. Biagiotti and C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
       Springer, 2008, section 3.4.
    """
    positions = counts("positions", positions)
    distance = positive("spacing", spacing) * positions
    moving = stop_to_stop_time(distance, speed, acceleration, jerk)
    return moving + (2.0 * positions - 1.0) * not_negative("lag", lag)


def exchange_speed(
    speed: ArrayLike,
    bend_speed: ArrayLike,
    positions: ArrayLike,
    spacing: ArrayLike,
    before: ArrayLike,
    beyond: ArrayLike,
) -> Array:
    """Speed at which a station's carriers are exchanged, with bends close by.

    The lower of the two speeds if the stretch that an exchange takes up, from (2·m − 1)·p before
    the station to m·p beyond it, touches a bend.

    Parameters
    ----------
    speed, bend_speed : array_like, m/s
        Limits on the straight and in a bend.
    positions : array_like
        Carriers m that the station takes at once.
    spacing : array_like, m
        Least distance p between carriers.
    before, beyond : array_like, m
        From the end of the last bend to the station, and from there to the start of the next one.

    Returns
    -------
    ndarray, m/s

    Raises
    ------
    ValueError
        If a speed or the spacing is not positive, a distance negative, the positions not whole.

    Examples
    --------
    >>> exchange_speed(2.0, 0.8, [1, 2], 0.4, 1.0, 1.0)
    array([2. , 0.8])
    """
    positions = counts("positions", positions)
    spacing = positive("spacing", spacing)
    speed = positive("speed", speed)
    touches = not_negative("before", before) < (2.0 * positions - 1.0) * spacing
    touches = touches | (not_negative("beyond", beyond) < positions * spacing)
    return np.where(touches, np.minimum(speed, positive("bend_speed", bend_speed)), speed)
