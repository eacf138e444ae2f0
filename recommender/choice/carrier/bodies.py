"""Loaded carriers of several options side by side, as arrays.

A *batch* holds options that are borne alike (trucks, lower guide), one along the first axis. Its
arrays are (options, 1) so that they broadcast with a second axis of accelerations or speeds, and
with any further axes that a function adds at the end.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from recommender.choice.parts.options import Option
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Rules
from recommender.physics.bend_motor import bend_force_share
from recommender.physics.constants import Array

PARTS = ("carrier", "fixture", "load")


def loaded_by(case: Case) -> tuple[Any, ...]:
    """What the load cases of a case depend on."""
    forces = tuple((station.name, station.force) for station in case.station)
    return case.load, case.tooling, case.loop.plane, forces, case.limits


@dataclass(frozen=True)
class Batch:
    """Options of one structure, the case they carry for, and their columns of numbers."""

    options: tuple[Option, ...]
    case: Case
    rules: Rules

    def column(self, read: Callable[[Option], float]) -> Array:
        """One number of each option, shape (options, 1)."""
        return np.array([[read(option)] for option in self.options], dtype=np.float64)

    def carrier(self, name: str) -> Array:
        """A field of the catalogue's carrier, shape (options, 1)."""
        return self.column(lambda option: getattr(option.carrier, name))

    @property
    def is_pair(self) -> bool:
        """Whether the carriers stand on two trucks."""
        return self.options[0].family.trucks == 2

    @property
    def has_lower_guide(self) -> bool:
        """Whether a lower guide takes the roll moment."""
        return self.options[0].family.lower_guide

    @cached_property
    def items(self) -> Array:
        """Items on a carrier, (options, 1)."""
        return self.column(lambda option: option.items)

    @cached_property
    def load_length(self) -> Array:
        """Length of all items on a carrier, one behind the other, m."""
        return self.items * self.case.load.length + (self.items - 1) * self.rules.item_gap

    @cached_property
    def item_offset(self) -> Array:
        """How far the outermost item stands from the middle of all items, m."""
        return 0.5 * (self.items - 1) * (self.case.load.length + self.rules.item_gap)

    @cached_property
    def fixture(self) -> Array:
        """All fixtures on a carrier, kg."""
        return self.column(lambda option: self.case.fixture_mass(option.items))

    @cached_property
    def payload(self) -> Array:
        """Load and fixture, kg."""
        return self.items * self.case.load.mass + self.fixture

    @cached_property
    def mass(self) -> Array:
        """All that moves, kg."""
        return self.carrier("mass") + self.payload

    @cached_property
    def part_mass(self) -> Array:
        """Mass of carrier, fixture and load, (options, 1, 1, parts), kg."""
        carrier = self.carrier("mass")
        return np.stack([carrier, self.fixture, self.items * self.case.load.mass], axis=-1)[
            :, :, None
        ]

    @cached_property
    def part_centre(self) -> Array:
        """Centres of gravity from the datum, (options, 1, 1, parts, 3), m."""
        load, tooling = self.case.load, self.case.tooling
        height = self.carrier("mounting_height")
        one = np.ones_like(height)
        own = (
            self.column(lambda option: option.carrier.centre_of_gravity[0]),
            self.column(lambda option: option.carrier.centre_of_gravity[1]),
            self.column(lambda option: option.carrier.centre_of_gravity[2]),
        )
        carrier = np.stack(own, axis=-1)
        fixture = np.stack(
            [0.0 * one, self.case.tooling_reach * one, height + tooling.cg_height], axis=-1
        )
        item = np.stack([load.offset * one, load.reach * one, height + load.cg_height], axis=-1)
        return np.stack([carrier, fixture, item], axis=2)[:, :, None]

    @cached_property
    def part_inertia(self) -> Array:
        """Yaw inertia of each part about its own centre of gravity, (options, 1, 1, parts), kg·m².

        Fixture and load count as blocks of even mass: the fixture as large as the plate, the load
        as long as all its items in a row.
        """
        load = self.case.load
        plate = self.carrier("plate_length") ** 2 + self.carrier("plate_width") ** 2
        return np.stack(
            [
                self.carrier("yaw_inertia"),
                self.fixture * plate / 12.0,
                self.items * load.mass * (self.load_length**2 + load.width**2) / 12.0,
            ],
            axis=-1,
        )[:, :, None]

    @cached_property
    def centre(self) -> Array:
        """Common centre of gravity from the datum, (options, 1, 3), m."""
        weighted = (self.part_mass[..., None] * self.part_centre).sum(axis=-2)
        return np.asarray(weighted[:, :, 0] / self.mass[..., None])

    @cached_property
    def yaw_inertia(self) -> Array:
        """Yaw inertia of everything about the datum, (options, 1), kg·m²."""
        square = (self.part_centre[..., :2] ** 2).sum(axis=-1)
        return np.asarray((self.part_inertia + self.part_mass * square).sum(axis=-1)[:, :, 0])

    @cached_property
    def peak_force(self) -> Array:
        """Peak force of all magnets at standstill, N."""
        return self.column(lambda option: option.carrier.total_peak_force)

    @cached_property
    def bend_force_share(self) -> Array:
        """Force of the magnets in the bend as a share of that on a straight, (options, 1)."""
        share = bend_force_share(
            self.carrier("magnet_length"),
            self.carrier("magnet_width"),
            self.carrier("pole_pitch"),
            self.radius,
            self.carrier("wheelbase"),
            self.column(lambda option: option.carrier.drive_line[0]),
        )
        # A magnet that leaves its windings is refused for its force; here it must only compute.
        return np.maximum(share, 1e-3)

    @cached_property
    def base(self) -> Array:
        """Wheelbase of one truck, coupling distance of a pair, m."""
        return self.column(lambda option: option.base)

    @cached_property
    def radius(self) -> Array:
        """Radius of the bend's arc, m."""
        return self.column(lambda option: option.bend.radius)

    @cached_property
    def transition(self) -> Array:
        """Length of the bend's curvature transitions, m."""
        return self.column(lambda option: option.bend.transition)


def batches(options: Sequence[Option], case: Case, rules: Rules) -> tuple[Batch, ...]:
    """The options sorted into batches of one structure each, in the order of first appearance."""
    groups: dict[tuple[int, bool], list[Option]] = {}
    for option in options:
        groups.setdefault((option.family.trucks, option.family.lower_guide), []).append(option)
    return tuple(Batch(tuple(group), case, rules) for group in groups.values())
