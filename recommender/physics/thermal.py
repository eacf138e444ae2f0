"""Continuous force of windings in warm surroundings, warm copper, and the drop along a bus."""

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import not_negative, positive
from recommender.physics.constants import Array

COPPER_COEFFICIENT = 0.00393
"""Rise of copper's resistance for each kelvin, over that at 20 °C (IEC 60028), 1/K."""

_TWENTY_DEGREES = 293.15


def ambient_share(ambient: ArrayLike, rated_ambient: ArrayLike, winding_limit: ArrayLike) -> Array:
    """Continuous force in an ambient temperature, as a share of the rated one.

    min(sqrt((T_w - T_a)/(T_w - T_r)), 1), 0 where the ambient is as warm as the winding may be

    Heat flows off in proportion to the rise over the surroundings, and is made in proportion to the
    square of the current. Copper is as warm as its insulation allows in either case, so that its
    resistance is the same and cancels out [1]_.

    Parameters
    ----------
    ambient, rated_ambient, winding_limit : array_like, K
        T_a; T_r, for which the continuous force is rated; T_w of the insulation, its thermal class
        by IEC 60085 less what is kept in hand.

    Returns
    -------
    ndarray, 1

    Raises
    ------
    ValueError
        If a temperature is not positive and finite, or the winding's limit is not above the rated
        ambient.

    Notes
    -----
    Limits: iron and friction losses small against those of the copper; cooling by a fixed
    resistance, as of still air or of a plate at ambient. Cooler surroundings are not counted as a
    gain, since other ratings were made for the rated ones.

    Examples
    --------
    A servomotor rated 24.8 N·m at 40 °C with a rise of 100 K gives 13 % less at 65 °C [1]_:

    >>> float(ambient_share(338.15, 313.15, 413.15).round(3))
    0.866

    References
    ----------
    .. [1] Machine Design, "Choose wisely", worked example of a servomotor's torque at 65 °C.
    """
    air, rated = positive("ambient", ambient), positive("rated ambient", rated_ambient)
    rise = positive("winding limit less rated ambient", np.subtract(winding_limit, rated))
    left = np.maximum(np.asarray(winding_limit, dtype=np.float64) - air, 0.0)
    return np.asarray(np.minimum(np.sqrt(left / rise), 1.0))


def copper_resistance(resistance: ArrayLike, temperature: ArrayLike) -> Array:
    """Resistance of copper at a temperature, from that at 20 °C.

    R·(1 + 0.00393/K·(T - 20 °C)) [1]_

    Parameters
    ----------
    resistance : array_like, ohm
        At 20 °C.
    temperature : array_like, K

    Returns
    -------
    ndarray, ohm

    Raises
    ------
    ValueError
        If the resistance is negative, the temperature not positive, or a value not finite.

    Examples
    --------
    1 ohm at 20 °C has 1.216 ohm at 75 °C:

    >>> float(copper_resistance(1.0, 348.15).round(3))
    1.216

    References
    ----------
    .. [1] IEC 60028:1925, International standard of resistance for copper.
    """
    warm = positive("temperature", temperature) - _TWENTY_DEGREES
    return np.asarray(not_negative("resistance", resistance) * (1 + COPPER_COEFFICIENT * warm))


def feeder_drop(current: ArrayLike, resistance: ArrayLike) -> Array:
    """Voltage lost from a feed to the last of the loads along it, by Ohm's law.

    sum over stretches of R_i·I_i

    Parameters
    ----------
    current : array_like (..., n), A
        Over each stretch: what all loads beyond it draw.
    resistance : array_like (..., n), ohm
        Of each stretch, there and back.

    Returns
    -------
    ndarray, V

    Raises
    ------
    ValueError
        If a value is negative or not finite.

    Examples
    --------
    Two wires of 0.02 ohm/km each; 100 A are drawn 2 km and 200 A 4 km from the feed, so that 300 A
    lose 24 V and 200 A another 16 V:

    >>> float(feeder_drop([300.0, 200.0], [0.08, 0.08]).round(9))
    40.0
    """
    lost = not_negative("current", current) * not_negative("resistance", resistance)
    return np.asarray(lost.sum(axis=-1))
