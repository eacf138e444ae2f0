"""What is left of a flat magnet's force over the curved windings of a bend.

The magnet is a rectangle that stands along the chord of its guided points; the windings are radial
conductors in a ring of the same width, whose middle follows the guide at the line of the drive, and
their pole pitch there is that of the magnet. Both lie in planes parallel to that of the loop, so
that the gap between them stays as it is.
"""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import finite, not_negative, positive
from recommender.physics.constants import Array

_POINTS = 64


def bend_force_share(
    length: ArrayLike,
    width: ArrayLike,
    pole_pitch: ArrayLike,
    radius: ArrayLike,
    base: ArrayLike,
    line_y: ArrayLike = 0.0,
) -> Array:
    """Force of a flat magnet in an arc, as a share of that on a straight with the same current.

    The mean along the magnet, x from -L/2 to L/2, of three shares:

        cover: max(1 - |e|/w, 0),  e = (x² - b²/4)/(2·R): the magnet leaves the windings sideways
        skew:  sin(s)/s,  s = pi·x·c/(2·R_w·tau), c = w - |e|: conductors stand askew to the poles
        phase: cos(pi·(x³/(3·R_w²) + x·e/(2·R_w))/tau): chord and arc fall out of step

    with R_w = R + y_m. At its ends the magnet stands off the arc by the sagitta L²/(8·R) against
    its middle.

    Parameters
    ----------
    length, width : array_like, m
        L along the travel and w across it, of one magnet.
    pole_pitch : array_like, m
        tau, from one pole to the next.
    radius : array_like, m
        R of the guide's centre line; infinite on a straight.
    base : array_like, m
        b, distance of the points that guide the magnet: the wheelbase of its truck.
    line_y : array_like, m
        y_m, line of the drive outward of the guide's centre line.

    Returns
    -------
    ndarray, 1, within 0 and 1

    Raises
    ------
    ValueError
        If a length is not positive, the base negative, a value not finite where it must be, or the
        line of the drive inside the centre of the bend.

    Notes
    -----
    Against the integral over both faces with exact angles, for L up to 0.9·R, w of 30 to 80 mm,
    tau of 18 to 40 mm, b of 0.7 to 1 times L: 0.05 low to 0.02 high, 0.002 low at the median. Left
    out: the field's fringes, saturation, and
    the ripple while poles pass the edges.

    Examples
    --------
    A short magnet on a wide bend loses nothing to speak of; 224 mm over 280 mm lose a third:

    >>> bend_force_share([0.068, 0.224], 0.05, 0.024, [1.0, 0.28], [0.062, 0.204]).round(2)
    array([0.99, 0.68])
    """
    along, across = positive("length", length)[..., None], positive("width", width)[..., None]
    pitch = positive("pole pitch", pole_pitch)[..., None]
    bend = positive("radius", radius, unlimited=True)[..., None]
    winding = bend + finite("line y", line_y)[..., None]
    if not (winding > 0).all():
        raise ValueError("line y must lie outward of the centre of the bend")
    # The middles of equal parts of one half: the other half is its mirror image.
    x = along / 2 * (np.arange(_POINTS) + 0.5) / _POINTS
    apart = (x**2 - not_negative("base", base)[..., None] ** 2 / 4) / (2 * bend)
    covered = np.maximum(across - np.abs(apart), 0.0)
    skew = np.sinc(x * covered / (2 * winding * pitch))
    phase = np.cos(np.pi * (x**3 / (3 * winding**2) + x * apart / (2 * winding)) / pitch)
    share = (covered / across * skew * phase).mean(axis=-1)
    return np.asarray(np.clip(share, 0.0, 1.0))
