"""A coupled pair: two trucks a coupling distance apart under one pivoted platform.

Frame, wrench and signs as in `recommender.physics.loads`; the datum of the platform is the middle
of the chord between the trucks' pivots.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, path_radius, positive, vectors
from recommender.physics.constants import Array


def pair_truck_angle(coupling_distance: ArrayLike, radius: ArrayLike) -> Array:
    """Angle between the chord of a coupled pair and the guide at each truck, in an arc.

    beta = asin(d/(2·R))

    Parameters
    ----------
    coupling_distance : array_like, m
        d, chord between the trucks' pivots.
    radius : array_like, m
        R; infinite on a straight.

    Returns
    -------
    ndarray, rad

    Raises
    ------
    ValueError
        If d exceeds 2·R, is negative or not finite, or R is not positive.

    Examples
    --------
    >>> float(np.degrees(pair_truck_angle(0.5, 0.5)).round(6))
    30.0
    """
    d, bend = (
        not_negative("coupling distance", coupling_distance),
        path_radius(radius),
    )
    sine = d / (2 * bend)
    if not (sine <= 1).all():
        raise ValueError("coupling distance must not exceed the diameter of the bend")
    return np.asarray(np.arcsin(sine))


def soft_platform_share(offset: ArrayLike, coupling_distance: ArrayLike) -> Array:
    """Front truck's share of the roll moment if the platform is too soft to spread it.

    1/2 + x/d, kept within 0 and 1; a rigid platform spreads it 1/2 and 1/2

    Parameters
    ----------
    offset : array_like, m
        x of the load that makes the moment, from the middle of the pair.
    coupling_distance : array_like, m

    Returns
    -------
    ndarray, 1

    Raises
    ------
    ValueError
        If a value is not finite or the coupling distance is not positive.

    Examples
    --------
    >>> float(soft_platform_share(0.05, 0.5))
    0.6
    """
    x, d = finite("offset", offset), positive("coupling distance", coupling_distance)
    return np.asarray(np.clip(0.5 + x / d, 0.0, 1.0))


def pair_truck_wrenches(
    wrench: ArrayLike,
    coupling_distance: ArrayLike,
    share: ArrayLike = 0.5,
    truck_angle: ArrayLike = 0.0,
) -> tuple[Array, Array]:
    """Wrenches that the platform of a coupled pair hands on to its front and rear truck.

    Upper sign front, lower sign rear, each in the frame and at the datum of its truck:

        F_y = F_y/(2·cos beta) ± (M_z·cos beta/d + F_x·sin beta/2)
        F_z = F_z/2 ∓ M_y/d
        M_x = share·M_x/cos beta and (1 - share)·M_x/cos beta
        F_x = F_x·cos beta/2 - M_z·sin beta/d

    The pivots hand on no moment about z, and M_y by the pair of vertical forces alone, which is far
    stiffer than the trucks' own wheelbases.

    Parameters
    ----------
    wrench : array_like (..., 6), N and N·m
        Platform and load, at the middle of the chord, without the drive. The drive acts on the
        trucks: add `recommender.physics.loads.drive_force_wrench` of half the force to each.
    coupling_distance : array_like, m
        d.
    share : array_like, 1
        Front truck's share of M_x: 0.5 for a rigid platform, `soft_platform_share` for a soft one;
        the worse of the two counts.
    truck_angle : array_like, rad
        beta of `pair_truck_angle` in a bend, 0 on a straight.

    Returns
    -------
    front, rear : ndarray (..., 6), N and N·m

    Raises
    ------
    ValueError
        If a value is not finite, the coupling distance is not positive, the share not within 0
        and 1, or the truck angle not within 0 and pi/2.

    Examples
    --------
    An outward force of 100 N that acts 50 mm ahead of the middle, trucks 500 mm apart:

    >>> front, rear = pair_truck_wrenches([0, 100, 0, 0, 0, 5], 0.5)
    >>> float(front[1]), float(rear[1])
    (60.0, 40.0)
    """
    w, d = vectors("wrench", wrench, 6), positive("coupling distance", coupling_distance)
    part, beta = finite("share", share), finite("truck angle", truck_angle)
    if not ((part >= 0) & (part <= 1)).all():
        raise ValueError("share must lie within 0 and 1")
    if not ((beta >= 0) & (beta < np.pi / 2)).all():
        raise ValueError("truck angle must lie within 0 and pi/2")
    cosine, sine = np.cos(beta), np.sin(beta)
    f_x, f_y, f_z, m_x, m_y, m_z = np.moveaxis(w, -1, 0)
    shape = np.broadcast_shapes(w.shape[:-1], d.shape, part.shape, beta.shape)
    front, rear = np.zeros((*shape, 6)), np.zeros((*shape, 6))
    along = f_x * cosine / 2 - m_z * sine / d
    turn = m_z * cosine / d + f_x * sine / 2
    for truck, sign, roll in ((front, 1, part), (rear, -1, 1 - part)):
        truck[..., 0] = along
        truck[..., 1] = f_y / (2 * cosine) + sign * turn
        truck[..., 2] = f_z / 2 - sign * m_y / d
        truck[..., 3] = roll * m_x / cosine
    return front, rear
