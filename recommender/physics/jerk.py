"""How suddenly a bend takes hold of a load: change of its acceleration where a bend begins or ends.

A body guided at two points feels a bend first at its front point, then at its rear one. Where the
curvature of the guide jumps (a plain arc), half of the centripetal acceleration and all of the yaw
acceleration are there at once when the front point enters, and the other half comes and the yaw
acceleration goes when the rear point follows, base/speed later. Where the curvature rises along a
transition, so do they. What a load feels is taken in the carrier's frame: in the steady bend the
acceleration turns with the load and does not change for it.

Frame and signs as in `recommender.physics.loads`; leaving a bend is entering it backwards.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, positive
from recommender.physics.constants import Array


def _resultant(
    yaw: Array, lateral: Array, turn: Array, reach: Array, offset: Array, radius: Array, base: Array
) -> Array:
    """Resultant change from those of the yaw acceleration, of the middle's own, and of omega²."""
    share = (base / radius) ** 2
    yaw = yaw * (1.0 + share / 52.0)
    along = yaw * (np.abs(reach) + base**2 / (4.0 * radius)) + turn * offset
    across = lateral * (1.0 + share / 7.0) + turn * np.abs(reach) + yaw * offset
    return np.asarray(np.hypot(along, across))


def bend_jerk(
    speed: ArrayLike,
    radius: ArrayLike,
    transition: ArrayLike,
    base: ArrayLike,
    reach: ArrayLike,
    offset: ArrayLike,
    window: ArrayLike,
) -> Array:
    """Greatest mean jerk of a load over a window of time, where a bend begins or ends.

    With w = v·tau the way covered in the window, to first order of the heading:

        yaw acceleration   v²/(R·b) · min(1, w/l, b/l)
        middle of the base v²/R · g,  g = min(1, w/l, (l - b + w)/(2·l))                 for l >= b
                                      g = max(min(1, w/l)/2, min(1, (w - b + l)/(2·l)))  for l < b
        omega²             v²/R² · u·(2 - u),  u = min(1, w/max(l, b))

        along   yaw · (|y| + b²/(4·R)) + omega² · |x|
        across  middle + omega² · |y| + yaw · |x|
        jerk    sqrt(along² + across²) / tau

    Parameters
    ----------
    speed : array_like, m/s
        Mean guide speed v of the two points, constant.
    radius : array_like, m
        R of the arc.
    transition : array_like, m
        Length l of the curve of linearly rising curvature before the arc; 0 for none.
    base : array_like, m
        Wheelbase of one truck, b; coupling distance of a pair.
    reach, offset : array_like, m
        y and x of the load's centre from the datum.
    window : array_like, s
        Time tau over which the jerk is meant. On a plain arc the jerk at an instant has no bound:
        play and give of guide and load round off what is shorter than the window, so that it
        belongs to the figure.

    Returns
    -------
    ndarray, m/s³
        The mean jerk over the worst window. It rises with the speed.

    Raises
    ------
    ValueError
        If radius, base or window are not positive, speed or transition negative, or anything is not
        finite.

    Notes
    -----
    The greatest change of each share is taken as if all fell into one window. Two factors that are
    fitted to the integration along the true path stand for the chord: yaw · (1 + (b/R)²/52) and
    middle · (1 + (b/R)²/7), exact at the second jump of a plain arc to 1 %.

    Against the second differences of the true path for bases up to R, transitions up to 5 bases,
    reaches from -0.15 to 0.4 m and offsets to 0.15 m it is never low by more than 0.5 %; in the
    median the true one is 0.8 of it. A speed change before the bend is over where the bend begins;
    its own jerk, which ends there, is not added.

    Examples
    --------
    1 m/s into a plain arc of 0.5 m on a base of 0.1 m, the load 0.2 m out, window 0.05 s: the yaw
    acceleration jumps to 1/(0.5·0.1) = 20 rad/s², 4 m/s² at the load, and 20·0.01/2 = 0.1 m/s² by
    the chord; the middle jumps to 1 m/s², and within the window omega² rises from 0 to (1/2)²·4 =
    0.75·4 s^-2 · 0.2 m = 0.6 m/s². Resultant hypot(4.1, 1.6) = 4.4 m/s², over 0.05 s 88 m/s³:

    >>> round(float(bend_jerk(1.0, 0.5, 0.0, 0.1, 0.2, 0.0, 0.05)), 1)
    88.1

    On transitions of 0.2 m a quarter comes within the window: 5 rad/s² · 0.205 m along; across
    0.5 m/s² of the middle and (1 - 0.75²)·4·0.2 = 0.35 m/s²; 1.33 m/s² in all:

    >>> round(float(bend_jerk(1.0, 0.5, 0.2, 0.1, 0.2, 0.0, 0.05)), 1)
    26.7

    A point on the guide at 80 km/h through a transition of 90.83 m onto 402.71 m, which [1]_ lays
    out for 0.3 m/s³: a railway's rule for transitions is the middle's term alone, v³/(R·l).

    >>> round(float(bend_jerk(80 / 3.6, 402.71, 90.83, 1.0, 0.0, 0.0, 0.05)), 3)
    0.3

    References
    ----------
    .. [1] N. N. Basak, Surveying and Levelling, Tata McGraw-Hill, 1994, chapter 10, p. 388.
    """
    v, bend = not_negative("speed", speed), positive("radius", radius)
    length, span = not_negative("transition", transition), positive("base", base)
    y, x = finite("reach", reach), np.abs(finite("offset", offset))
    time = positive("window", window)
    way = v * time
    eased = length > 0.0
    there = np.where(eased, length, 1.0)
    # What a point of the guide's curvature gains within the window, as a part of 1/R.
    point = np.where(eased, np.minimum(way / there, 1.0), 1.0)
    both = np.where(
        eased,
        np.minimum((way - span + length) / (2.0 * there), 1.0),
        np.where(way < span, 0.0, 1.0),
    )
    lateral = np.where(
        length >= span, np.minimum(point, both), np.maximum(0.5 * point, np.maximum(both, 0.0))
    )
    turned = np.minimum(way / np.maximum(length, span), 1.0)
    square = v**2
    yaw = square / (bend * span) * np.where(eased, np.minimum(point, span / there), 1.0)
    change = _resultant(
        yaw,
        square / bend * lateral,
        (v / bend) ** 2 * turned * (2.0 - turned),
        y,
        x,
        bend,
        span,
    )
    return np.asarray(change / time)
