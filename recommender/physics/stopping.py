"""How hard the drive's full force brakes a carrier on a straight, in an arc or at its ends.

Frame, wrench and signs as in `recommender.physics.loads`.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, vectors
from recommender.physics.constants import Array


def stop_rate(
    force: ArrayLike,
    drag: ArrayLike,
    steady: ArrayLike,
    unit: ArrayLike,
    curvature: ArrayLike,
    truck_angle: ArrayLike = 0.0,
    line_y: ArrayLike = 0.0,
) -> Array:
    """Deceleration along the guide under the drive's full force, from the virtual work.

    a = (F·(1 + y_m·kappa) + D + max(n(steady), 0))/n(unit),  n(w) = M_z·kappa - F_x·cos beta

    While the guide points advance by ds the carrier turns by -kappa·ds, its datum advances by
    ds·cos beta and the drive's line by ds·(1 + y_m·kappa). n(steady) is what the motion asks for
    at constant speed: the spinning up of the yaw inertia where a bend begins, and gravity on an
    upright loop. Where it is negative, the load drives the carrier on and the stop is gentler;
    that relief is not counted.

    Parameters
    ----------
    force : array_like, N
        Greatest force F of the drive.
    drag : array_like, N
        Resistance D that acts along the guide.
    steady : array_like (..., 6), N and N·m
        Wrench of all parts at constant speed at this place, weight included.
    unit : array_like (..., 6), N and N·m
        Wrench of all parts that speed up with 1 m/s² along the guide, and turn with kappa; without
        weight. n(unit) is the mass that the drive feels.
    curvature : array_like, 1/m
        kappa, by which the carrier turns for each metre: 0 on a straight and at the first instant
        of a bend, 1/R in the arc.
    truck_angle : array_like, rad
        beta of `recommender.physics.pair.pair_truck_angle`.
    line_y : array_like, m
        y_m, the line of the drive outward of the datum.

    Returns
    -------
    ndarray, m/s², not negative

    Raises
    ------
    ValueError
        If a value is not finite, a force or the curvature is negative, or the drive feels no mass.

    Examples
    --------
    12 kg reaching out 0.2 m, 0.12 kg·m² about their own centre, in a bend of 0.5 m: 24 kg for the
    drive, 12·1.4² + 0.12/0.5², so that 240 N brake with 10 m/s². For 1 m/s² and 2 rad/s² the wrench
    has -12·(1 + 2·0.2) N along the guide and 0.2·16.8 + 0.12·2 N·m about z.

    >>> float(stop_rate(240, 0, np.zeros(6), [-16.8, 0, 0, 0, 0, 3.6], 2.0).round(9))
    10.0
    """
    kappa, beta = not_negative("curvature", curvature), finite("truck angle", truck_angle)

    def need(wrench: Array) -> Array:
        return np.asarray(wrench[..., 5] * kappa - wrench[..., 0] * np.cos(beta))

    feels = need(vectors("unit", unit, 6))
    if not (feels > 0).all():
        raise ValueError("the drive must feel a mass")
    braking = not_negative("force", force) * (1 + finite("line y", line_y) * kappa)
    held = np.maximum(need(vectors("steady", steady, 6)), 0.0)
    return np.asarray(np.maximum(braking + not_negative("drag", drag) + held, 0.0) / feels)
