"""Equivalent loads of ball bearings, and their static safety, by ISO 76 and ISO 281.

The rollers of a carrier run on double row angular contact ball bearings. A load of such a bearing
is a radial part, never negative, and an axial part of either sign: the two rows share the work,
whichever way the axial load points.

The standards tabulate the contact angle in degrees, at a few values. That argument keeps its unit
and says so in its name.
"""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import Array

_CONTACT_ANGLES: Final = np.array([25.0, 30.0, 35.0, 40.0, 45.0])
_STATIC_Y0: Final = np.array([0.76, 0.66, 0.58, 0.52, 0.44])
_DYNAMIC_E: Final = np.array([0.68, 0.80, 0.95, 1.14, 1.34])
_DYNAMIC_Y1: Final = np.array([0.92, 0.78, 0.66, 0.55, 0.47])
_DYNAMIC_X2: Final = np.array([0.67, 0.63, 0.60, 0.57, 0.54])
_DYNAMIC_Y2: Final = np.array([1.41, 1.24, 1.07, 0.93, 0.81])


def _contact_angle_row(
    contact_angle_degrees: ArrayLike,
) -> np.ndarray[tuple[int, ...], np.dtype[np.intp]]:
    angle = np.asarray(contact_angle_degrees, dtype=np.float64)
    row = np.minimum(np.searchsorted(_CONTACT_ANGLES, angle), len(_CONTACT_ANGLES) - 1)
    if not np.all(_CONTACT_ANGLES[row] == angle):
        raise ValueError("contact_angle_degrees must be 25, 30, 35, 40 or 45, as tabulated")
    return np.asarray(row, dtype=np.intp)


def _load(name: str, value: ArrayLike) -> Array:
    return not_negative(name, np.abs(value))


def combined_load(radial: ArrayLike, axial: ArrayLike, X: ArrayLike, Y: ArrayLike) -> Array:
    """Equivalent load of a bearing whose load factors are known.

    P = X·F_r + Y·|F_a|

    Parameters
    ----------
    radial : array_like, N
        Radial load, zero or more.
    axial : array_like, N
        Axial load, of either sign.
    X, Y : array_like
        Radial and axial load factor, zero or more.

    Returns
    -------
    ndarray, N

    Raises
    ------
    ValueError
        If a radial load or factor is negative, or an argument is not a finite number.

    Examples
    --------
    A deep groove ball bearing under 1250 N radially and 625 N axially, X = 0.56 and Y = 1.2
    (example 18-2 of [1]_):

    >>> float(combined_load(1250.0, 625.0, 0.56, 1.2))
    1450.0

    References
    ----------
    .. [1] U. C. Jindal, Machine Design, p. 508.
    """
    return np.asarray(
        not_negative("X", X) * not_negative("radial", radial)
        + not_negative("Y", Y) * _load("axial", axial)
    )


def static_equivalent_load(
    radial: ArrayLike, axial: ArrayLike, contact_angle_degrees: ArrayLike
) -> Array:
    """Static load, purely radial, that dents the raceways as much as the load that acts.

    P_0 = F_r + Y_0·|F_a| for double row angular contact ball bearings [1]_, which is never less
    than F_r:

    ====  ====  ====  ====  ====  ====
    α     25°   30°   35°   40°   45°
    Y_0   0.76  0.66  0.58  0.52  0.44
    ====  ====  ====  ====  ====  ====

    Parameters
    ----------
    radial : array_like, N
        Radial load, zero or more.
    axial : array_like, N
        Axial load, of either sign.
    contact_angle_degrees : array_like, degrees
        25, 30, 35, 40 or 45; other angles are not tabulated.

    Returns
    -------
    ndarray, N

    Raises
    ------
    ValueError
        If a radial load is negative, an angle not tabulated, or a load not a finite number.

    Examples
    --------
    1000 N radially and 500 N axially at 30°: 1000 + 0.66·500.

    >>> float(static_equivalent_load(1000.0, -500.0, 30.0))
    1330.0

    References
    ----------
    .. [1] ISO 76, Rolling bearings: static load ratings, as reprinted in bearing makers'
       catalogues.
    """
    return combined_load(radial, axial, 1.0, _STATIC_Y0[_contact_angle_row(contact_angle_degrees)])


def static_safety(C0: ArrayLike, P0: ArrayLike) -> Array:
    """Static safety factor of a bearing.

    s_0 = C_0/P_0. At s_0 = 1 the most heavily loaded ball is pressed permanently into its raceway
    by 1/10 000 of its diameter [1]_; how much more is asked depends on the running required.

    Parameters
    ----------
    C0 : array_like, N
        Basic static load rating.
    P0 : array_like, N
        Static equivalent load; a load of 0 gives an infinite safety.

    Returns
    -------
    ndarray

    Raises
    ------
    ValueError
        If a rating is not positive, a load negative, or either not a finite number.

    Examples
    --------
    >>> static_safety(2660.0, [1330.0, 0.0])
    array([ 2., inf])

    References
    ----------
    .. [1] ISO 76, Rolling bearings: static load ratings.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(positive("C0", C0) / not_negative("P0", P0))


def dynamic_equivalent_load(
    radial: ArrayLike, axial: ArrayLike, contact_angle_degrees: ArrayLike
) -> Array:
    """Dynamic load, purely radial, under which the bearing lasts as long as under the real one.

    P = F_r + Y_1·|F_a| if |F_a| ≤ e·F_r, else X_2·F_r + Y_2·|F_a|, for double row angular contact
    ball bearings (table 3 of [1]_):

    ====  ====  ====  ====  ====  ====
    α     25°   30°   35°   40°   45°
    e     0.68  0.80  0.95  1.14  1.34
    Y_1   0.92  0.78  0.66  0.55  0.47
    X_2   0.67  0.63  0.60  0.57  0.54
    Y_2   1.41  1.24  1.07  0.93  0.81
    ====  ====  ====  ====  ====  ====

    At |F_a| = e·F_r the two lines differ by the rounding of the factors, less than 1 %.

    Parameters
    ----------
    radial : array_like, N
        Radial load, zero or more.
    axial : array_like, N
        Axial load, of either sign.
    contact_angle_degrees : array_like, degrees
        25, 30, 35, 40 or 45; other angles are not tabulated.

    Returns
    -------
    ndarray, N

    Raises
    ------
    ValueError
        If a radial load is negative, an angle not tabulated, or a load not a finite number.

    Examples
    --------
    1000 N radially at 30°. With 500 N axially, below 0.80·1000 N, it is 1000 + 0.78·500; with
    2000 N, above it, 0.63·1000 + 1.24·2000:

    >>> dynamic_equivalent_load(1000.0, [500.0, 2000.0], 30.0)
    array([1390., 3110.])

    References
    ----------
    .. [1] ISO 281:2007, Rolling bearings: dynamic load ratings and rating life, as reprinted in
       bearing makers' catalogues.
    """
    row = _contact_angle_row(contact_angle_degrees)
    mostly_radial = np.abs(axial) <= _DYNAMIC_E[row] * np.asarray(radial, dtype=np.float64)
    return combined_load(
        radial,
        axial,
        np.where(mostly_radial, 1.0, _DYNAMIC_X2[row]),
        np.where(mostly_radial, _DYNAMIC_Y1[row], _DYNAMIC_Y2[row]),
    )
