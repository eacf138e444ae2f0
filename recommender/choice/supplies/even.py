"""Supplies and feeds spread evenly round a loop: the division that is tried first.

Where it serves it is as cheap as any, since a set of supplies is priced as if they were joined.
"""

from collections.abc import Sequence

from recommender.choice.loop.layout import LoopContext
from recommender.choice.loop.ring import Section, feed_distances, ring_of, run_of
from recommender.choice.parts.configuration import Electrics, Group


def evenly_fed(
    on: LoopContext, supplies: Sequence[int], feed: tuple[str, int], controller: str
) -> Electrics:
    """Electrical parts from counts of the catalogue's supplies in their order.

    Parameters
    ----------
    on : LoopContext
    supplies : sequence of int
        Pieces of each supply of the catalogue.
    feed : tuple
        Id and pieces of the feed.
    controller : str
        Id.

    Returns
    -------
    Electrics
        Its feeds stand on sections that take one, in every run, and near enough to each other, if
        there is such a set among those spread evenly.
    """
    catalogue, (id_, count) = on.about.catalogue, feed
    ring = ring_of(on.about.option, on.loop, on.front, on.back, catalogue)
    groups = _groups(on, supplies, len(ring))
    reach = next(part.max_sections for part in catalogue.feed if part.id == id_)
    return Electrics(groups, id_, _places(ring, groups, reach, count), controller)


def _groups(on: LoopContext, supplies: Sequence[int], sections: int) -> tuple[Group, ...]:
    """Runs as equal as what the supplies serve allows, in the catalogue's order."""
    parts = [
        part
        for part, pieces in zip(on.about.catalogue.supply, supplies, strict=True)
        for _ in range(int(pieces))
    ]
    groups: list[Group] = []
    first, reach = 0, sum(part.max_sections for part in parts)
    for part in parts:
        reach -= part.max_sections
        left = sections - first
        count = min(part.max_sections, max(left - reach, -(-left // (len(parts) - len(groups)))))
        groups.append(Group(part.id, first, count))
        first += count
    return tuple(groups)


def _places(
    ring: Sequence[Section], groups: Sequence[Group], reach: int, count: int
) -> tuple[int, ...]:
    """Sections with a feed: evenly spread from the first section on which that serves all runs."""
    size = len(ring)
    able = [k for k, section in enumerate(ring) if section.takes_feed]
    for start in range(size if able else 0):
        even = [start + round(k * size / count) for k in range(count)]
        nearest = {min(able, key=lambda k: _between(k, place, size)) for place in even}
        places = tuple(sorted(nearest))
        if len(places) == count and _serve(places, groups, reach, size):
            return places
    # None will do, and the checks say what lacks.
    return tuple(round(k * size / count) for k in range(count))


def _between(one: int, other: int, size: int) -> int:
    """Sections from one to the other, whichever way round is shorter."""
    return min((one - other) % size, (other - one) % size)


def _serve(places: Sequence[int], groups: Sequence[Group], reach: int, size: int) -> bool:
    near = max(feed_distances(places, size)) <= reach
    return near and all(
        any(place in run_of(group.first, group.count, size) for place in places) for group in groups
    )
