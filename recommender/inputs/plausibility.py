"""What looks wrong in a catalogue though nothing in it contradicts: slips of the pen in its data.

Carriers of a family are compared with each other. The bands are wide, of our own choosing (common
practice, no source): a family that is what it says stays within them, a digit too few does not.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, groupby
from typing import Final

from recommender.inputs.catalogue import Carrier, Catalogue

FORCE_BAND: Final = 1.5
"""How many times as much force per length of magnet as the family's middle one, or how few."""

MASS_BAND: Final = 2.0
"""The same for the carrier's own mass per length of its plate."""

PAYLOAD_BAND: Final = 2.0
"""The same for the rated payload per working load of a roller."""


@dataclass(frozen=True)
class Doubt:
    """Two entries that hardly fit together, and why."""

    ids: tuple[str, str]
    text: str


def doubts(catalogue: Catalogue) -> tuple[Doubt, ...]:
    """Everything that looks wrong, family by family; empty if nothing does."""
    return tuple(_doubts(catalogue))


def _doubts(catalogue: Catalogue) -> Iterator[Doubt]:
    def payload(carrier: Carrier) -> float:
        return 1e3 * carrier.rated_payload / catalogue.rollers[carrier.roller].working_load

    for family in catalogue.family:
        carriers = [carrier for carrier in catalogue.carrier if carrier.family == family.id]
        for alike in _by_magnets(carriers):
            yield from _longer(alike)
        yield from _band(carriers, _force, FORCE_BAND, "peak force per length of magnet", "N/mm")
        yield from _band(carriers, _mass, MASS_BAND, "mass per length of plate", "kg/m")
        what = "payload per working load of a roller"
        yield from _band(carriers, payload, PAYLOAD_BAND, what, "kg/kN")


def _by_magnets(carriers: Sequence[Carrier]) -> Iterator[list[Carrier]]:
    """Carriers with as many magnets, shortest magnet first."""
    ordered = sorted(carriers, key=lambda carrier: (carrier.magnets, carrier.magnet_length))
    for _, alike in groupby(ordered, key=lambda carrier: carrier.magnets):
        yield list(alike)


def _longer(carriers: Sequence[Carrier]) -> Iterator[Doubt]:
    """A longer magnet of a family is neither weaker nor cheaper."""
    for short, long in combinations(carriers, 2):
        if long.magnet_length <= short.magnet_length:
            continue
        ids = short.id, long.id
        longer = f"has the longer magnet than {short.id}"
        if long.peak_force < short.peak_force:
            yield Doubt(ids, f"{long.id} {longer}, and less peak force")
        if long.continuous_force < short.continuous_force:
            yield Doubt(ids, f"{long.id} {longer}, and less continuous force")
        if long.price < short.price:
            yield Doubt(ids, f"{long.id} {longer}, and costs less")


def _force(carrier: Carrier) -> float:
    return carrier.peak_force / (1e3 * carrier.magnet_length)


def _mass(carrier: Carrier) -> float:
    return carrier.mass / carrier.plate_length


def _band(
    carriers: Sequence[Carrier],
    read: Callable[[Carrier], float],
    band: float,
    what: str,
    unit: str,
) -> Iterator[Doubt]:
    """Carriers far from the middle one of some."""
    if len(carriers) < 2:
        return
    ordered = sorted(carriers, key=read)
    middle = ordered[(len(ordered) - 1) // 2]
    usual = read(middle)
    for carrier in carriers:
        value = read(carrier)
        if not usual / band <= value <= usual * band:
            yield Doubt(
                (middle.id, carrier.id),
                f"{what} of {carrier.id} is {value:.3g} {unit},"
                f" that of {middle.id} {usual:.3g} {unit}",
            )
