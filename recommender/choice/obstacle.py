"""Why stations fit on no loop: the first obstacle met, in words with numbers."""

from collections.abc import Iterator
from itertools import pairwise

from recommender.choice.setting import OptionContext
from recommender.inputs.case import Station
from recommender.inputs.quantities import KINDS, write


def obstacle(about: OptionContext, longest: float) -> str:
    """What keeps the stations of a case off every loop of an option.

    Parameters
    ----------
    about : OptionContext
    longest : float, m
        Longest straight that could be built.

    Returns
    -------
    str
        A clause without a capital or a stop.
    """
    found = next(_obstacles(about, longest), None)
    return found or (
        "the distances asked for between the stations add up to more than any loop allows"
    )


def _obstacles(about: OptionContext, longest: float) -> Iterator[str]:
    for station in about.case.station:
        yield from _alone(about, station, longest)
    for side in ("front", "back"):
        fixed = [s for s in about.case.station if s.at is not None and s.side == side]
        for one, other in pairwise(fixed):
            yield from _together(about, one, other)
    most = max(station.after for station in about.case.station)
    if most > 2.0 * (longest + about.bend_length):
        yield (
            f"a station {_length(most)} from the one before it is further round than the longest"
            " loop"
        )


def _alone(about: OptionContext, station: Station, longest: float) -> Iterator[str]:
    clear = about.bend_clearance
    queue = station.positions * about.spacing
    if queue > longest:
        yield (
            f"the {station.positions} carriers that {station.name} takes at once need"
            f" {_length(queue)} of straight and the longest has {_length(longest)}"
        )
    if station.at is None:
        return
    if station.at < clear:
        yield (
            f"{station.name} is fixed {_length(station.at)} from the bend, and half a carrier with"
            f" its load needs {_length(clear)}"
        )
    elif station.at > longest - clear:
        yield (
            f"{station.name} is fixed at {_length(station.at)}, too near to the end of the longest"
            f" straight of {_length(longest)}"
        )
    elif station.clear_of_joints and not _clear_somewhere(about, station.at):
        yield (
            f"{station.name} is fixed at {_length(station.at)}, and every make-up of the straight"
            f" has a joint within the {_length(clear)} that it must be clear of"
        )


def _clear_somewhere(about: OptionContext, at: float) -> bool:
    """Whether sections can be put in a row so that one of them spans a place with all its room."""
    clear = about.bend_clearance
    lengths = [part.length for part in about.catalogue.straight]
    starts = {0.0}
    while True:
        further = {
            round(start + length, 6)
            for start in starts
            for length in lengths
            if start + length <= at - clear + 1e-9
        }
        if further <= starts:
            break
        starts |= further
    return any(
        start <= at - clear + 1e-9 and start + length >= at + clear - 1e-9
        for start in starts
        for length in lengths
    )


def _together(about: OptionContext, one: Station, other: Station) -> Iterator[str]:
    assert one.at is not None
    assert other.at is not None
    apart = other.at - one.at
    needed = max(about.spacing * other.positions, other.after)
    if apart < needed:
        yield (
            f"{one.name} and {other.name} are fixed {_length(apart)} apart along the travel and"
            f" their carriers need {_length(needed)}"
        )


def _length(value: float) -> str:
    return write(value, KINDS["length"], 0)
