"""Brake resistors: what may come back when a fleet brakes, and the cheapest that take it.

They are sized for the top speed and the force of the carrier itself, not for the motion that is
chosen: no later change of motion outgrows them, and their price follows from the option, the length
of the loop and the number of carriers alone. What the motion really brakes away is checked
afterwards against what is bought.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.parts.options import Option, takt_of
from recommender.choice.parts.pricing import Cents, carrier_price, cents, loop_length
from recommender.inputs.case import Case
from recommender.inputs.catalogue import BrakeResistor, Catalogue, Supply
from recommender.physics.bend import bend_width
from recommender.physics.braking import braking_power, link_energy, mean_braking_power
from recommender.physics.constants import STANDARD_GRAVITY, Array

Whole = NDArray[np.int64]

_TOUCH = 1e-9


@dataclass(frozen=True)
class Returned:
    """What may come back: of each carrier at an instant, W, and in a stop, J; of all on average, W.

    What the supplies take back is taken off.
    """

    power: float
    energy: float
    mean: Array


def link_of(supply: Supply) -> float:
    """What the DC link of a supply takes before its chopper sets in, J."""
    return float(link_energy(supply.link_capacitance, supply.link_voltage, supply.brake_voltage))


def moving_mass(option: Option, case: Case) -> float:
    """A carrier with its load and fixture, kg."""
    return option.carrier.mass + option.items * case.load.mass + case.fixture_mass(option.items)


def fall_of(option: Option, case: Case) -> float:
    """How far a carrier comes down on a lap, m."""
    if case.loop.plane == "flat":
        return 0.0
    return float(bend_width(option.bend.radius, option.bend.transition))


def most_returned(option: Option, case: Case, catalogue: Catalogue, length: Array) -> Returned:
    """What no motion of an option exceeds on loops of some lengths.

    Parameters
    ----------
    option : Option
    case : Case
    catalogue : Catalogue
    length : ndarray, m
        Of the guide.
    """
    carrier, mass = option.carrier, moving_mass(option, case)
    kept = 1.0 - catalogue.rules.recovered
    takt = takt_of(option, case, catalogue)
    force = carrier.total_peak_force / catalogue.rules.drive_margin
    fall = mass * STANDARD_GRAVITY * fall_of(option, case)
    constant = carrier.motor_constant * np.sqrt(carrier.magnets)
    power = braking_power(carrier.top_speed, carrier.total_peak_force, constant)
    return Returned(
        power=kept * float(power),
        energy=kept * (0.5 * mass * carrier.top_speed**2 + fall),
        mean=kept * (mean_braking_power(force, length, takt) + fall / takt),
    )


def resistors_for(
    option: Option,
    case: Case,
    catalogue: Catalogue,
    straight: Array | float,
    carriers: Whole | int,
    *,
    loops: int = 1,
) -> tuple[Whole, Whole]:
    """Which brake resistor of the catalogue, and how many of it, cost least.

    Parameters
    ----------
    option : Option
    case : Case
    catalogue : Catalogue
    straight : array_like, m
        Length of one straight.
    carriers : array_like of int
    loops : int
        Loops that may share a supply: each counts on an equal part of the smallest DC link alone,
        so that all may stop at once.

    Returns
    -------
    tuple of ndarray
        Index into the catalogue's resistors, and pieces: none where the smallest DC link of any
        supply takes what all carriers return in a stop together.
    """
    number = np.asarray(carriers, dtype=np.int64)
    length = loop_length(option, straight)
    number, length = np.broadcast_arrays(number, length)
    kinds = catalogue.brake_resistor
    if not kinds:
        return np.zeros(number.shape, dtype=np.int64), np.zeros(number.shape, dtype=np.int64)
    returned = most_returned(option, case, catalogue, length)
    link = min(link_of(part) for part in catalogue.supply) / loops
    energy = np.asarray(number * returned.energy, dtype=np.float64)
    power = np.asarray(number * returned.power, dtype=np.float64)
    pieces = np.stack([_pieces(part, energy - link, power, returned.mean) for part in kinds])
    price = pieces * np.array([cents(part.price) for part in kinds]).reshape(-1, *[1] * number.ndim)
    # Of equal prices the fewest pieces, then the first in the catalogue.
    kind = np.argmin(price * (1 + pieces.max(initial=1)) + pieces, axis=0)
    chosen = np.take_along_axis(pieces, kind[None], axis=0)[0]
    return np.asarray(kind), np.where(energy <= link, 0, chosen)


def _pieces(part: BrakeResistor, energy: Array, power: Array, mean: Array) -> Whole:
    shares = np.stack([energy / part.pulse_energy, power / part.peak_power, mean / part.mean_power])
    return np.asarray(np.ceil(shares.max(axis=0) - _TOUCH), dtype=np.int64)


def resistor_price(
    option: Option,
    case: Case,
    catalogue: Catalogue,
    straight: Array | float,
    carriers: Whole | int,
    *,
    loops: int = 1,
) -> Whole:
    """What the brake resistors of some carriers cost."""
    kind, pieces = resistors_for(option, case, catalogue, straight, carriers, loops=loops)
    prices = np.array([cents(part.price) for part in catalogue.brake_resistor] or [0])
    return np.asarray(pieces * prices[kind])


def fleet_price(
    option: Option,
    case: Case,
    catalogue: Catalogue,
    straight: Array | float,
    carriers: Whole | int,
    *,
    loops: int = 1,
) -> Whole:
    """What some carriers cost with all that is bought for them."""
    each: Cents = carrier_price(option, catalogue)
    resistors = resistor_price(option, case, catalogue, straight, carriers, loops=loops)
    return np.asarray(np.asarray(carriers, dtype=np.int64) * each + resistors)
