"""The loop of a configuration, as an answer holds it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True)
class StationPlace:
    """Where a station stands, along the guide centre line from the start of the front straight.

    ``along_m`` counts from the start of its straight, ``side``, as ``station.at`` does. ``waiting``
    carriers gather before it, and ``waiting_room`` find room between it and the station before.
    Both places are those of the first of its ``positions`` carriers; the others stand behind it, a
    spacing apart. ``length_m`` is that of the station itself where the enquiry gives one.
    """

    name: str
    at_m: float
    waiting: int
    waiting_room: int
    side: str = "front"
    along_m: float = 0.0
    positions: int = 1
    length_m: float | None = None


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
class BendShape:
    """A 180° bend: an arc between two equal clothoids, of no length where it is a plain arc."""

    id: str
    radius_m: float
    transition_m: float
    length_m: float
    sections: int


@dataclass(frozen=True)
class Outline:
    """A rectangle that travels with a carrier: its plate, or all of its load.

    Seen from the middle between the carrier's guided points: front and rear along the travel, outer
    and inner across it, positive outward of the loop.
    """

    what: str
    rear_m: float
    front_m: float
    inner_m: float
    outer_m: float


@dataclass(frozen=True)
class SectionPlace:
    """A motor section, by its number along the travel, and where it lies along the guide."""

    number: int
    id: str
    shape: str
    from_m: float
    to_m: float

    @property
    def middle_m(self) -> float:
        """Its middle along the guide."""
        return 0.5 * (self.from_m + self.to_m)


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

    ``bend`` is the shape of either bend. ``outlines`` travel with each carrier, whose guided points
    are ``base_m`` apart; carriers keep ``spacing_m`` on straights.
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
    bend: BendShape | None = None
    outlines: tuple[Outline, ...] = ()
    base_m: float = 0.0
    spacing_m: float = 0.0

    @property
    def ring(self) -> tuple[SectionPlace, ...]:
        """All motor sections along the travel, numbered from the start of the front straight."""
        return tuple(
            SectionPlace(number, *section) for number, section in enumerate(self._ring(), start=1)
        )

    def _ring(self) -> Iterator[tuple[str, str, float, float]]:
        bend = self.bend
        if bend is None:
            return
        joints = list(self.joints_m)
        for ids, start in ((self.front, 0), (self.back, len(self.front) + 1)):
            marks = joints[start : start + len(ids) + 1]
            for id_, (first, last) in zip(ids, pairwise(marks), strict=True):
                yield id_, "straight", first, last
            step = bend.length_m / bend.sections
            for k in range(bend.sections):
                yield bend.id, "bend", marks[-1] + k * step, marks[-1] + (k + 1) * step
