"""Loads of the single guide rollers under a wrench, with preload and lift-off of flanks.

A truck runs on four V-rollers whose axes are parallel to z, two axles a wheelbase apart, each with
an inner roller (-y) and an outer one (+y). Every roller touches its rail on two flanks, and a flank
pushes only. Frame, wrench and signs as in `recommender.physics.loads`.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from recommender.physics.arguments import finite, not_negative, positive, vectors
from recommender.physics.constants import Array

_BLOCK = 1024
"""Rows looked at at once, so that the working arrays stay in the processor's cache."""


class _Axles(NamedTuple):
    """Lateral and vertical load of one axle, per row."""

    lateral: Array
    vertical: Array

    def rows(self, chosen: NDArray[np.intp]) -> "_Axles":
        return _Axles(self.lateral[chosen], self.vertical[chosen])


class _Trucks(NamedTuple):
    """Gauge, preload and tangent of the flank angle, per row."""

    gauge: Array
    preload: Array
    tangent: Array

    def rows(self, chosen: NDArray[np.intp]) -> "_Trucks":
        return _Trucks(self.gauge[chosen], self.preload[chosen], self.tangent[chosen])


def _axle_loads(axle: _Axles, roll: Array, truck: _Trucks) -> tuple[Array, Array, Array]:
    """Half the sum of an axle's radial loads, and the axial loads of its inner and outer roller."""
    couple = roll / truck.gauge
    inner, outer = axle.vertical / 2 - couple, axle.vertical / 2 + couple
    need_inner = np.abs(inner) / truck.tangent - axle.lateral / 2
    need_outer = np.abs(outer) / truck.tangent + axle.lateral / 2
    return np.maximum(truck.preload, np.maximum(need_inner, need_outer)), inner, outer


def _twist(axle: _Axles, roll: Array, truck: _Trucks) -> Array:
    """Twist of an axle under a roll moment, times a stiffness that both axles share.

    Derivative of the flank springs' complementary energy, in N·m: continuous but for steps upward,
    with a slope of 1, and of 2 where a flank has lifted.
    """
    half, inner, outer = _axle_loads(axle, roll, truck)
    # The roller that stands on one flank is the one that needs the larger radial load.
    outer_stands = np.abs(outer) - np.abs(inner) > -axle.lateral * truck.tangent
    sense = np.where(outer_stands, np.sign(outer), -np.sign(inner))
    return np.asarray(roll + truck.gauge * truck.tangent * sense * (half - truck.preload))


def _kinks(axle: _Axles, truck: _Trucks) -> Array:
    """Roll moments between which an axle's twist runs straight, (rows, 7).

    Where a roller has no axial load, where it just lifts a flank, and where the roller that needs
    the larger radial load changes.
    """
    half = axle.vertical / 2
    inner = truck.tangent * (truck.preload + axle.lateral / 2)
    outer = truck.tangent * (truck.preload - axle.lateral / 2)
    changes = -axle.lateral * truck.tangent * np.sign(axle.vertical) / 2
    couples = (half, half - inner, half + inner, -half, outer - half, -outer - half, changes)
    return truck.gauge[:, None] * np.stack(couples, axis=1)


def _shared_roll(front: _Axles, rear: _Axles, roll: Array, truck: _Trucks) -> Array:
    """Front axle's part of the roll moment with which both axles twist alike.

    The difference of both twists rises with that part, straight between the kinks of either axle
    and perhaps by a step at one. So the piece is picked in which it passes zero.
    """
    # Beyond these bounds an axle surely twists with its moment.
    bound_front, bound_rear = (truck.gauge * np.abs(axle.vertical) / 2 for axle in (front, rear))
    low = np.minimum(-bound_front, roll - bound_rear)[:, None]
    high = np.maximum(bound_front, roll + bound_rear)[:, None]
    kinks = np.concatenate([_kinks(front, truck), roll[:, None] - _kinks(rear, truck)], axis=1)
    ends = np.sort(np.clip(np.concatenate([low, kinks, high], axis=1), low, high), axis=1)
    start, width = ends[:, :-1], np.diff(ends, axis=1)
    wide = _Trucks(*(value[:, None] for value in truck))
    two = [_Axles(axle.lateral[:, None], axle.vertical[:, None]) for axle in (front, rear)]
    # Inside a piece two values give its line; at its ends a step would leave it open which side.
    first, second = (
        _twist(two[0], part, wide) - _twist(two[1], roll[:, None] - part, wide)
        for part in (start + width / 4, start + 3 * width / 4)
    )
    rise = 2 * (second - first)
    left, right = first - rise / 4, second + rise / 4
    reaches = np.asarray(right >= 0)
    piece = np.where(reaches.any(axis=1), reaches.argmax(axis=1), right.shape[1] - 1)[:, None]
    start, width, rise, left = (
        np.take_along_axis(values, piece, axis=1)[:, 0] for values in (start, width, rise, left)
    )
    share = np.divide(-left, rise, out=np.zeros_like(left), where=rise > 0)
    return np.asarray(start + width * np.clip(share, 0.0, 1.0))


def _front_roll(front: _Axles, rear: _Axles, roll: Array, truck: _Trucks) -> Array:
    """Front axle's part of the roll moment, sought only where a flank lifts."""
    # With every flank in touch both axles are equally stiff, whatever else they carry.
    part = roll / 2
    lifts = np.zeros(roll.shape, dtype=np.bool_)
    for axle in (front, rear):
        lifts |= _axle_loads(axle, part, truck)[0] > truck.preload
    rows = np.flatnonzero(lifts)
    for start in range(0, rows.size, _BLOCK):
        block = rows[start : start + _BLOCK]
        part[block] = _shared_roll(
            front.rows(block), rear.rows(block), roll[block], truck.rows(block)
        )
    return part


def guide_roller_loads(
    wrench: ArrayLike,
    wheelbase: ArrayLike,
    gauge: ArrayLike,
    flank_angle: ArrayLike,
    preload: ArrayLike,
) -> tuple[Array, Array]:
    """Radial and axial load of the four rollers of a truck.

    Per axle, upper sign front: Q = F_y/2 ± M_z/b, Z = F_z/2 ∓ M_y/b, and m of the roll moment M_x.
    Then, with the inner roller at -g/2 and the outer one at +g/2,

        axial:   a_inner = Z/2 - m/g,    a_outer = Z/2 + m/g
        s = max(Q0, |a_inner|·cot delta - Q/2, |a_outer|·cot delta + Q/2)
        radial:  s + Q/2 inner,  s - Q/2 outer

    Q0 holds while all flanks touch; the other two terms are a roller on one flank alone. The axles
    share M_x so that both twist alike, D(m_front) = D(M_x - m_front) with

        D(m) = (s - Q0)·s'(m)/cos²delta + (a_outer - a_inner)/(2·g·sin²delta),

    the derivative of the complementary energy of equal springs on the flanks.

    Parameters
    ----------
    wrench : array_like (..., 6), N and N·m
        At the datum, the drive's moments included. F_x is the drive's and does not enter.
    wheelbase, gauge : array_like, m
        b between the axles, g between the lines of contact of inner and outer rollers.
    flank_angle : array_like, rad
        delta between a flank's normal and the roller's radial plane: half of what the V's included
        angle lacks to 180°; 45° for a V of 90°, 55° for one of 70°.
    preload : array_like, N
        Q0, radial load of each roller on the unloaded truck.

    Returns
    -------
    radial, axial : ndarray (..., 4), N
        Front inner, front outer, rear inner, rear outer. Radial loads are not negative; an axial
        load is positive where the roller presses its rail towards +z.

    Raises
    ------
    ValueError
        If a value is not finite, a length is not positive, the preload is negative, or the flank
        angle not within 0 and pi/2.

    Notes
    -----
    The rollers run on the outer edges of the rail pair, so that the inner ones take an outward
    force.

    Limits: rigid truck and rails, equal linear flank stiffness, small displacements, friction
    neglected. The angle of the guide at the two axles in a bend is left out: lateral loads are low
    by b²/(8·R²), 1 % at b = 0.3·R.

    An axle that lifts wants to twist also where M_x = 0, so that half of the moment for each axle
    is not exact.

    Examples
    --------
    A vehicle of 10 kN on a curve of 100 m, centre of gravity 1 m up, track 1.5 m: at 27.12 m/s the
    centrifugal force of 7500 N takes the inner wheels off the road [1]_.

    >>> wrench = [0, 7500, -10e3, -7500, 0, 0]
    >>> radial, axial = guide_roller_loads(wrench, 2, 1.5, np.pi / 4, 1e5)
    >>> axial
    array([    0., -5000.,     0., -5000.])

    Little preload, roll moment only: the axial load of 200 N forces its roller off the other
    flank, and its partner across the rails follows.

    >>> radial, axial = guide_roller_loads([0, 0, 0, 40, 0, 0], 0.2, 0.1, np.pi / 4, 50)
    >>> radial.round(6), axial.round(6)
    (array([200., 200., 200., 200.]), array([-200.,  200., -200.,  200.]))

    References
    ----------
    .. [1] Tayal, Engineering Mechanics, example 15.20 (read in a code companion of the book).
    """
    w = vectors("wrench", wrench, 6)
    base, width = positive("wheelbase", wheelbase), positive("gauge", gauge)
    q0, delta = not_negative("preload", preload), positive("flank angle", flank_angle)
    if not (delta < np.pi / 2).all():
        raise ValueError("flank angle must lie within 0 and pi/2")
    shape = np.broadcast_shapes(w.shape[:-1], base.shape, width.shape, delta.shape, q0.shape)
    sway, pitch = w[..., 5] / base, w[..., 4] / base
    roll, *flat = (
        np.broadcast_to(array, shape).ravel()
        for array in (
            w[..., 3],
            0.5 * (w[..., 1] + 2 * sway),
            w[..., 2] / 2 - pitch,
            0.5 * (w[..., 1] - 2 * sway),
            w[..., 2] / 2 + pitch,
            width,
            q0,
            np.tan(delta),
        )
    )
    front, rear, truck = _Axles(*flat[:2]), _Axles(*flat[2:4]), _Trucks(*flat[4:])
    part = _front_roll(front, rear, roll, truck)
    radial, axial = np.empty((roll.size, 4)), np.empty((roll.size, 4))
    for first, axle, moment in ((0, front, part), (2, rear, roll - part)):
        half, axial[:, first], axial[:, first + 1] = _axle_loads(axle, moment, truck)
        radial[:, first] = half + axle.lateral / 2
        radial[:, first + 1] = half - axle.lateral / 2
    # Rounding may leave the unloaded roller of an axle a hair below 0.
    np.maximum(radial, 0.0, out=radial)
    return radial.reshape(*shape, 4), axial.reshape(*shape, 4)


def lower_guide_split(wrench: ArrayLike, depth: ArrayLike) -> tuple[Array, Array]:
    """Wrench left for the upper guide, and the load of each of the two rollers of a lower guide.

    F_low = M_x/h in y, half on each of the two rollers; upper guide: F_y - M_x/h, M_x = 0

    Parameters
    ----------
    wrench : array_like (..., 6), N and N·m
        At the datum of the upper guide.
    depth : array_like, m
        h of the lower guide below the upper one, along -z.

    Returns
    -------
    upper : ndarray (..., 6), N and N·m
    lower : ndarray (...,), N
        Radial load of each lower roller, which is guided on both sides: positive outward.

    Raises
    ------
    ValueError
        If a value is not finite or the depth is not positive.

    Notes
    -----
    An assumption: the lower guide takes all of the roll moment. With equal rollers the upper
    guide's own stiffness against roll takes 4 to 12 % of it for gauges of 0.24 to 0.42 times the
    depth, which these loads leave out.

    Examples
    --------
    30 kg reaching out 0.2 m roll outward with 58.8 N·m; 0.3 m below, 196 N press inward, 98 N each:

    >>> upper, lower = lower_guide_split([0, 0, -294.2, -58.84, 0, 0], 0.3)
    >>> upper.round(2), float(lower.round(2))
    (array([   0.  ,  196.13, -294.2 ,    0.  ,    0.  ,    0.  ]), -98.07)
    """
    w, h = vectors("wrench", wrench, 6), positive("depth", depth)
    force = w[..., 3] / h
    upper = np.empty((*force.shape, 6))
    upper[...] = w
    upper[..., 1] -= force
    upper[..., 3] = 0.0
    return upper, force / 2


def rolling_resistance(
    coefficient: ArrayLike, radial: ArrayLike, axial: ArrayLike, drag: ArrayLike = 0.0
) -> Array:
    """Resistance of a carrier's rollers to travel.

    F = mu · sum over rollers of sqrt(F_r² + F_a²) + drag

    The loads are the actual ones, so preload and centrifugal force are in them: a roller between
    preloaded rails resists although the carrier weighs nothing there.

    Parameters
    ----------
    coefficient : array_like, 1
        mu, resistance over the resultant load of a roller.
    radial, axial : array_like (..., n), N
        Loads of all n rollers of the carrier.
    drag : array_like, N
        What does not grow with load: seals, wipers, cable.

    Returns
    -------
    ndarray, N, not negative

    Raises
    ------
    ValueError
        If a value is not finite, or a coefficient, radial load or drag is negative.

    Examples
    --------
    >>> float(rolling_resistance(0.01, [300, 300, 300, 300], [400, 400, 400, 400], 5))
    25.0
    """
    mu, constant = not_negative("coefficient", coefficient), not_negative("drag", drag)
    resultant = np.hypot(not_negative("radial load", radial), finite("axial load", axial))
    return np.asarray(mu * resultant.sum(axis=-1) + constant)
