"""The motor sections of a loop, one after the other round the guide."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from recommender.choice.parts.options import Option
from recommender.choice.parts.placement import Loop
from recommender.inputs.catalogue import Catalogue


@dataclass(frozen=True)
class Section:
    """One motor section: the part that it belongs to, and where it lies along the guide, m."""

    id: str
    start: float
    end: float
    takes_feed: bool

    @property
    def middle(self) -> float:
        """Its middle along the guide, m."""
        return 0.5 * (self.start + self.end)


def ring_of(
    option: Option, loop: Loop, front: Sequence[str], back: Sequence[str], catalogue: Catalogue
) -> tuple[Section, ...]:
    """Sections along the travel from the start of the front straight.

    Parameters
    ----------
    option : Option
        Its bend is divided evenly into its sections.
    loop : Loop
    front, back : sequence of str
        Ids of the straight sections of either side along the travel.
    catalogue : Catalogue

    Returns
    -------
    tuple of Section
        Front, first bend, back, second bend, without gaps between them.
    """
    starts = [
        *_straight(front, 0.0, catalogue),
        *_bend(option, loop, loop.straight),
        *_straight(back, loop.back_start, catalogue),
        *_bend(option, loop, loop.back_start + loop.straight),
    ]
    ends = [start for start, _, _ in starts[1:]] + [loop.length]
    return tuple(
        Section(id_, start, end, takes)
        for (start, id_, takes), end in zip(starts, ends, strict=True)
    )


def _straight(
    ids: Iterable[str], start: float, catalogue: Catalogue
) -> list[tuple[float, str, bool]]:
    found = []
    for id_ in ids:
        part = catalogue.straights[id_]
        found.append((start, id_, part.takes_feed))
        start += part.length
    return found


def _bend(option: Option, loop: Loop, start: float) -> list[tuple[float, str, bool]]:
    bend = option.bend
    step = loop.bend / bend.sections
    return [(start + k * step, bend.id, bend.takes_feed) for k in range(bend.sections)]


def feed_distances(places: Sequence[int], sections: int) -> list[int]:
    """Sections from each feed to the next round the ring; all of them from a single one to itself.

    Examples
    --------
    >>> feed_distances([1, 4], 8)
    [3, 5]
    """
    along = sorted(places)
    if not along:
        return []
    return [b - a for a, b in pairwise([*along, along[0] + sections])]


def run_of(first: int, count: int, sections: int) -> list[int]:
    """Indices of a run of neighbouring sections, which may go on past the last to the first.

    Examples
    --------
    >>> run_of(6, 3, 8)
    [6, 7, 0]
    """
    return [(first + k) % sections for k in range(count)]


def least_feeds(takes_feed: Sequence[bool], reach: int) -> int | None:
    """Fewest feeds on a ring of sections, from one to the next at most ``reach`` sections.

    Some feed lies among the first ``reach`` sections. From each of them in turn the next one is
    taken as far on as may be, until the first is reached again; that is the fewest from there.

    Parameters
    ----------
    takes_feed : sequence of bool
        Whether each section may carry a feed.
    reach : int
        At least 1.

    Returns
    -------
    int or None
        ``None`` if there are too few sections that may carry one.

    Examples
    --------
    Eight sections at most three apart take three feeds; where only every fourth one may carry a
    feed none will do, but four apart two:

    >>> least_feeds([True] * 8, 3)
    3
    >>> least_feeds([True, False, False, False] * 2, 3), least_feeds([True, False] * 4, 4)
    (None, 2)
    """
    size = len(takes_feed)
    # How far the next feed lies at most, for each section; 0 where there is none within reach.
    ahead = [
        next((step for step in range(reach, 0, -1) if takes_feed[(k + step) % size]), 0)
        for k in range(size)
    ]
    best: int | None = None
    for start in range(min(reach, size)):
        if not takes_feed[start]:
            continue
        place, count = start, 1
        while ahead[place % size] and start + size - place > reach:
            place, count = place + ahead[place % size], count + 1
        if start + size - place <= reach and (best is None or count < best):
            best = count
    return best
