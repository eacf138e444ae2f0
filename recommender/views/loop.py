"""A loop in words: what it is built of, where its stations stand, what feeds it."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from recommender.results.loop import LoopPlan, StationPlace, SupplyRun
from recommender.views.numbers import place, quantity


def loop_facts(loop: LoopPlan) -> list[tuple[str, str]]:
    """Names and values.

    Stations stand so far from the start of their straight, and where that is the back one so far
    round the loop from the start of the front straight, from where all other places count.
    """
    pieces = ", ".join(f"{count} x {id_}" for id_, count in loop.sections.items())
    places = ", ".join(_station(entry, loop) for entry in loop.stations)
    along = quantity(loop.floor_extent_m, "m")
    feeds = ", ".join(f"{feed.section} at {place(feed.at_m)}" for feed in loop.feeds)
    rows = [
        ("Guide", f"{place(loop.length_m)}: {pieces}"),
        ("Straights", _straights(loop)),
        ("Between the straights", quantity(loop.width_m, "m")),
        ("With loads outside", f"{_across(loop)}, {along} along the straights"),
        ("Stations", places),
        ("Supplies", "\n".join(_supply(run, loop) for run in loop.supplies)),
        ("Feeds in sections", feeds),
    ]
    waiting = "\n".join(_waiting(loop))
    return [*rows, ("Buffer places", waiting)] if waiting else rows


_NAMES = {
    "flat": {"front": "front", "back": "back"},
    "upright": {"front": "upper run", "back": "lower run"},
}
"""What the straights of a loop are called."""


def _station(entry: StationPlace, loop: LoopPlan) -> str:
    text = f"{entry.name} at {place(entry.along_m)} of the {_NAMES[loop.plane][entry.side]}"
    return text if entry.side == "front" else f"{text} ({place(entry.at_m)} round)"


def _straights(loop: LoopPlan) -> str:
    rows = zip(_NAMES[loop.plane].values(), (loop.front, loop.back), strict=True)
    return "; ".join(f"{name} {in_order(row)}" for name, row in rows)


def _across(loop: LoopPlan) -> str:
    width = quantity(loop.floor_width_m, "m")
    if loop.floor_depth_m is None:
        return f"{width} across"
    return f"{width} high, {quantity(loop.floor_depth_m, 'm')} across"


def in_order(sections: Sequence[str]) -> str:
    """Sections along the travel, neighbours that are alike together.

    Examples
    --------
    >>> in_order(["s-400", "s-1000", "s-1000"])
    's-400, 2 x s-1000'
    """
    alike = ((id_, len(list(some))) for id_, some in groupby(sections))
    return ", ".join(id_ if count == 1 else f"{count} x {id_}" for id_, count in alike)


def _supply(run: SupplyRun, loop: LoopPlan) -> str:
    count = sum(other.sections for other in loop.supplies)
    last = (run.first_section + run.sections - 2) % count + 1
    which = f"section {last}" if run.sections == 1 else f"sections {run.first_section} to {last}"
    mean, peak = quantity(run.mean_w, "W"), quantity(run.peak_w, "W")
    limits = quantity(run.mean_limit_w, "W"), quantity(run.peak_limit_w, "W")
    return f"{run.id} on {which}: {mean} of {limits[0]}, peak {peak} of {limits[1]}"


def _waiting(loop: LoopPlan) -> Iterator[str]:
    """Room before stations where carriers gather; who finds none there stays where it was."""
    for before, entry in zip((loop.stations[-1], *loop.stations), loop.stations, strict=False):
        if not entry.waiting:
            continue
        text = f"{entry.waiting_room} before {entry.name}, up to {entry.waiting} wanted"
        if entry.waiting > entry.waiting_room and before is not entry:
            text += f": the rest waits in {before.name}"
        yield text
