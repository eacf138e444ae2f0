"""The loop of a configuration, as an answer holds it."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class StationPlace:
    """Where a station stands, along the guide centre line from the start of the front straight.

    ``along_m`` counts from the start of its straight, ``side``, as ``station.at`` does. ``waiting``
    carriers gather before it, and ``waiting_room`` find room between it and the station before.
    """

    name: str
    at_m: float
    waiting: int
    waiting_room: int
    side: str = "front"
    along_m: float = 0.0


@dataclass(frozen=True)
class FeedPlace:
    """A feed, the section that carries it, and the middle of that section along the guide.

    Sections are numbered from 1, along the travel from the start of the front straight.
    """

    id: str
    section: int
    section_id: str
    at_m: float


@dataclass(frozen=True)
class SupplyRun:
    """A supply and the sections that it serves, from one place along the guide to another.

    A run may go on past the last section to the first.
    """

    id: str
    first_section: int
    sections: int
    from_m: float
    to_m: float
    mean_w: float
    mean_limit_w: float
    peak_w: float
    peak_limit_w: float


@dataclass(frozen=True)
class LoopPlan:
    """The loop of a configuration.

    ``front`` and ``back`` hold the straight sections of either side along the travel, ``joints_m``
    the joints of the guide, from the start of the front straight on. ``width_m`` lies
    between the centre lines of the two straights; the floor, across the loop and along its
    straights, includes the swing of plates and loads. ``carrier_m`` is the length of a carrier with
    its load along the travel.

    An upright loop, by its ``plane``, has its front straight above: ``floor_width_m`` is its
    height, and ``floor_depth_m`` the floor across it, from the back of the guide to the end of
    the load.
    """

    length_m: float
    straight_m: float
    width_m: float
    floor_width_m: float
    floor_extent_m: float
    sections: Mapping[str, int]
    front: tuple[str, ...]
    back: tuple[str, ...]
    joints_m: tuple[float, ...]
    stations: tuple[StationPlace, ...]
    feeds: tuple[FeedPlace, ...]
    supplies: tuple[SupplyRun, ...]
    carrier_m: float
    plane: str = "flat"
    floor_depth_m: float | None = None
