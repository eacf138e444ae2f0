"""Loads that the guide and the drive take from a moving carrier.

Carrier frame: x along travel, y outward from the loop in the loop's plane, z normal to that plane
(up on a flat loop); the datum is the centre of the upper guide, midway between its rails. Travel
turns towards -y in a bend, so the carrier's angular velocity is -omega·z and its angular
acceleration -alpha·z, omega and alpha positive on entry to a bend and alpha negative on exit.

A *wrench* is an array (..., 6) of F_x, F_y, F_z in N and M_x, M_y, M_z in N·m at the datum: what
the carrier and its load exert on the guide and the drive. Wrenches of several parts add.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, path_radius, vectors
from recommender.physics.constants import STANDARD_GRAVITY, Array

FLAT_GRAVITY: tuple[float, float, float] = (0.0, 0.0, -STANDARD_GRAVITY)
"""Acceleration of free fall in the carrier frame of a flat loop, m/s²."""


def _wrench(f_x: Array, f_y: Array, f_z: Array, point: Array, couple: Array | float = 0.0) -> Array:
    """Force and point x force, with a couple about z, in one array."""
    x, y, z = point[..., 0], point[..., 1], point[..., 2]
    m_x, m_y = y * f_z - z * f_y, z * f_x - x * f_z
    m_z = x * f_y - y * f_x + couple
    shape = np.broadcast_shapes(m_x.shape, m_y.shape, m_z.shape)
    wrench = np.empty((*shape, 6))
    for component, value in enumerate((f_x, f_y, f_z, m_x, m_y, m_z)):
        wrench[..., component] = value
    return wrench


def force_wrench(force: ArrayLike, point: ArrayLike) -> Array:
    """Wrench at the datum of a force that acts on the carrier at a point.

    F = force,  M = point x force

    For process forces, and for the attraction of the magnets of single-sided motors.

    Parameters
    ----------
    force : array_like (..., 3), N
    point : array_like (..., 3), m
        Point of action, from the datum.

    Returns
    -------
    ndarray (..., 6), N and N·m

    Raises
    ------
    ValueError
        If a value is not finite or the last dimension is not 3.

    Examples
    --------
    A press that pushes down with 150 N, 200 mm outward of the guide, rolls the carrier outward
    (-M_x) with 30 N·m:

    >>> force_wrench([0, 0, -150], [0, 0.2, 0.1]) + 0.0
    array([   0.,    0., -150.,  -30.,    0.,    0.])
    """
    f, r = vectors("force", force, 3), vectors("point", point, 3)
    return _wrench(f[..., 0], f[..., 1], f[..., 2], r)


def inertial_wrench(
    mass: ArrayLike,
    centre: ArrayLike,
    yaw_inertia: ArrayLike,
    *,
    along: ArrayLike = 0.0,
    yaw_rate: ArrayLike = 0.0,
    yaw_acceleration: ArrayLike = 0.0,
    radius: ArrayLike = np.inf,
    gravity: ArrayLike = FLAT_GRAVITY,
) -> Array:
    """Wrench at the datum of a part's weight and inertia, on a straight or in a bend.

    The acceleration of the part's centre of gravity (x, y, z) is that of the datum on its circle
    plus that of the rotation about the datum:

        a_x = a_t + alpha·y - omega²·x,    a_y = -omega²·(R + y) - alpha·x,    a_z = 0
        F = -m·(a - g),    M = r x F + (0, 0, I·alpha)

    Parameters
    ----------
    mass : array_like, kg
    centre : array_like (..., 3), m
        Centre of gravity of the part, from the datum.
    yaw_inertia : array_like, kg·m²
        Moment of inertia about the axis through the part's own centre of gravity, parallel to z.
    along : array_like, m/s²
        Acceleration a_t of the datum along the guide.
    yaw_rate : array_like, rad/s
        omega, speed of the datum over R in a bend; 0 on a straight.
    yaw_acceleration : array_like, rad/s²
        alpha: positive on entry to a bend, negative on exit; in the arc a_t/R.
    radius : array_like, m
        R of the datum's path, infinite on a straight.
    gravity : array_like (..., 3), m/s²
        Acceleration of free fall in the carrier frame, see `upright_gravity`.

    Returns
    -------
    ndarray (..., 6), N and N·m

    Raises
    ------
    ValueError
        If a value is not finite, a mass or inertia is negative, the radius is not positive, or
        the carrier turns on a straight.

    Notes
    -----
    The part's products of inertia are taken as 0: its principal axes are parallel to the frame or
    it is short in z. Limits: rigid body, guide in one plane.

    Examples
    --------
    A road that is banked for 100 km/h on a curve of 250 m stands square to the resultant of
    weight and centrifugal force, at 17.465° [1]_:

    >>> speed = 100 / 3.6
    >>> w = inertial_wrench(1, [0, 0, 0], 0, yaw_rate=speed / 250, radius=250,
    ...                     gravity=[0, 0, -9.81])
    >>> float(np.degrees(np.arctan2(w[1], -w[2])).round(3))
    17.465

    References
    ----------
    .. [1] Tayal, Engineering Mechanics, example 15.19 (read in a code companion of the book).
    """
    m, inertia = not_negative("mass", mass), not_negative("yaw inertia", yaw_inertia)
    r, g = vectors("centre", centre, 3), vectors("gravity", gravity, 3)
    a_t, omega = finite("acceleration along the guide", along), finite("yaw rate", yaw_rate)
    alpha, bend = (
        finite("yaw acceleration", yaw_acceleration),
        path_radius(radius),
    )
    turning = omega != 0
    if np.any(turning & np.isinf(bend)):
        raise ValueError("yaw rate must be 0 on a straight (infinite radius)")
    # An infinite radius times a yaw rate of 0 is a straight, not an undefined acceleration.
    centripetal = omega**2 * np.where(turning, bend, 0.0)
    x, y = r[..., 0], r[..., 1]
    f_x = m * (g[..., 0] - (a_t + alpha * y - omega**2 * x))
    f_y = m * (g[..., 1] + (centripetal + omega**2 * y + alpha * x))
    return _wrench(f_x, f_y, m * g[..., 2], r, inertia * alpha)


def drive_force_wrench(thrust: ArrayLike, line_y: ArrayLike, line_z: ArrayLike) -> Array:
    """Wrench at the datum of the drive's own force, which acts along a line beside the datum.

    r x F with r = (0, y_m, z_m) and F = (T, 0, 0):  M_y = z_m·T,  M_z = -y_m·T

    Added to the wrench of the loads it makes F_x vanish on a straight: what is left is for the
    rollers. In an arc M_z/R is left over (see `arc_drive_force`), the component along x of roller
    forces that stand askew at the two axles; the rollers' radial loads already contain it.

    Parameters
    ----------
    thrust : array_like, N
        T, the drive's force on the carrier, positive in the direction of travel.
    line_y, line_z : array_like, m
        Line of action, outward of and above the datum.

    Returns
    -------
    ndarray (..., 6), N and N·m

    Raises
    ------
    ValueError
        If a value is not finite.

    Examples
    --------
    Pushed forward below the datum a carrier lifts its nose (-M_y), pushed on its outer side it
    turns inward (-M_z):

    >>> drive_force_wrench(100, 0.02, -0.05)
    array([100.,   0.,   0.,   0.,  -5.,  -2.])
    """
    t, y, z = finite("thrust", thrust), finite("line y", line_y), finite("line z", line_z)
    wrench = np.zeros((*np.broadcast_shapes(t.shape, y.shape, z.shape), 6))
    wrench[..., 0] = t
    wrench[..., 4] = z * t
    wrench[..., 5] = -y * t
    return wrench


def upright_gravity(angle: ArrayLike, gravity: float = STANDARD_GRAVITY) -> Array:
    """Acceleration of free fall in the carrier frame of an upright loop.

    g = G·(sin phi, -cos phi, 0)

    Parameters
    ----------
    angle : array_like, rad
        phi, the carrier's turn from the top run in the direction of travel: 0 on the upper run,
        pi/2 straight down, pi on the lower run, -pi/2 straight up.
    gravity : float, m/s²

    Returns
    -------
    ndarray (..., 3), m/s²

    Raises
    ------
    ValueError
        If the angle is not finite.

    Examples
    --------
    >>> upright_gravity([0, np.pi]).round(5) + 0.0
    array([[ 0.     , -9.80665,  0.     ],
           [ 0.     ,  9.80665,  0.     ]])
    """
    phi = finite("angle", angle)
    vector = np.zeros((*phi.shape, 3))
    vector[..., 0] = gravity * np.sin(phi)
    vector[..., 1] = -gravity * np.cos(phi)
    return vector
