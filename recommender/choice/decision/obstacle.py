"""Why stations fit on no loop: the first obstacle met, in words with numbers."""

from collections.abc import Iterator, Sequence
from math import inf

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.parts.placement import Loop, placements
from recommender.inputs.case import Station
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS, write

_MICRO = 1e-6
_SIDES = ("front", "back")


def longest_straight(catalogue: Catalogue, most: float, pieces: float = inf) -> float:
    """The longest straight that sections make up, m; 0 if none fits.

    Parameters
    ----------
    catalogue : Catalogue
    most : float, m
        Length that the straight may have.
    pieces : float
        Sections that one straight may have.

    Examples
    --------
    Of the demonstration catalogue's sections of 0.4 m and 1 m, two of each make 2.8 m, and three
    pieces make 2.4 m at most within the same 2.9 m:

    >>> from recommender.inputs.catalogue import read_catalogue
    >>> from recommender.inputs.files import shipped
    >>> catalogue = read_catalogue(shipped("catalog"))
    >>> [round(longest_straight(catalogue, 2.9, pieces), 1) for pieces in (4, 3)]
    [2.8, 2.4]
    """
    fewest = _fewest_pieces([part.length for part in catalogue.straight], most)
    return _MICRO * max(length for length, count in fewest.items() if count <= pieces)


def _fewest_pieces(lengths: Sequence[float], most: float) -> dict[int, int]:
    """Every length up to the most that sections in a row make, µm, and the fewest for it."""
    steps = [round(length / _MICRO) for length in lengths]
    end = round(most / _MICRO)
    fewest, reached = {0: 0}, [0]
    while reached:
        ends = [(here + step, fewest[here] + 1) for here in reached for step in steps]
        reached = []
        for there, count in ends:
            # Found in the order of pieces, so the first count is the least.
            if there <= end and there not in fewest:
                fewest[there] = count
                reached.append(there)
    return fewest


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
    return next(_obstacles(about, longest))


def _obstacles(about: OptionContext, longest: float) -> Iterator[str]:
    stations = about.stations
    for station in stations:
        yield from _alone(about, station, longest)
    orders = _orders(stations)
    yield from _against_the_order(about, orders)
    met = [next(_along(about, order, longest), None) for order in orders]
    # A row that may begin at several stations is refuted only if each of them is.
    if all(met):
        yield from (each for each in met[:1] if each)
    total, whole = float(about.distances_asked.sum()), 2.0 * (longest + about.bend_length)
    if total > whole:
        yield (
            f"the distances asked for between the stations add up to {_length(total)} and the"
            f" longest loop has {_length(whole)}"
        )
    yield _altogether(about, longest)


def _alone(about: OptionContext, station: Station, longest: float) -> Iterator[str]:
    """What keeps a station off every straight, whatever the others ask."""
    clear, name = _clearance(about, station), station.name
    queue = (station.positions - 1) * about.spacing
    before = clear + queue
    if before + clear > longest + _MICRO:
        what = (
            f"{name} with its length needs"
            if clear > about.bend_clearance + _MICRO
            else f"a carrier standing at {name} needs"
            if station.positions == 1
            else f"the {station.positions} carriers that {name} takes at once need"
        )
        yield (
            f"{what} {_length(before + clear)} of straight and the longest has {_length(longest)}"
        )
    elif station.at is None:
        section = max(part.length for part in about.catalogue.straight)
        if station.clear_of_joints and section < 2.0 * about.bend_clearance - _MICRO:
            yield (
                f"{name} must have no joint within {_length(about.bend_clearance)} to either side"
                " and the longest"
                f" section has {_length(section)}"
            )
    elif station.at < before - _MICRO:
        what = "half a carrier with its load needs"
        if clear > about.bend_clearance + _MICRO:
            what = "half its length needs"
        if queue:
            what = f"its {station.positions} carriers need"
        yield f"{name} is fixed {_length(station.at)} from the bend, and {what} {_length(before)}"
    elif station.at > longest - clear + _MICRO:
        yield (
            f"{name} is fixed at {_length(station.at)} and the longest straight of"
            f" {_length(longest)} has room for a carrier up to {_length(longest - clear)}"
        )
    elif station.clear_of_joints and not _clear_somewhere(about, station.at, longest):
        yield (
            f"{name} is fixed at {_length(station.at)}, and every make-up of the straight has a"
            f" joint within the {_length(about.bend_clearance)} that it must be clear of"
        )


def _clear_somewhere(about: OptionContext, at: float, longest: float) -> bool:
    """Whether sections can be put in a row so that one of them spans a place with all its room."""
    clear = about.bend_clearance
    lengths = [part.length for part in about.catalogue.straight]
    return any(
        start * _MICRO <= at - clear + _MICRO
        and at + clear - _MICRO <= start * _MICRO + length <= longest + _MICRO
        for start in _fewest_pieces(lengths, at - clear + _MICRO)
        for length in lengths
    )


def _orders(stations: Sequence[Station]) -> list[list[Station]]:
    """The stations from the first on the front on, wherever sides and fixed places allow it."""
    rows = [[*stations[k:], *stations[:k]] for k in range(len(stations))]
    found = []
    for row in rows:
        known = [station for station in row if station.side != "any"]
        keys = [_SIDES.index(station.side) for station in known]
        fixed = [(key, s.at) for key, s in zip(keys, known, strict=True) if s.at is not None]
        if keys == sorted(keys) and fixed == sorted(fixed):
            found.append(row)
    return found


def _against_the_order(about: OptionContext, orders: Sequence[Sequence[Station]]) -> Iterator[str]:
    """Sides and fixed places that no way once round the loop passes in the order given."""
    if orders:
        return
    known = [station for station in about.stations if station.side != "any"]
    changes = sum(known[k].side != known[k - 1].side for k in range(len(known)))
    if changes > 2:
        row = ", ".join(f"{station.name} ({_named(about, station.side)})" for station in known)
        yield (
            f"in the order of the travel, {row} change sides {changes} times, and once round the"
            " loop there are two bends"
        )
        return
    for side in _SIDES:
        fixed = [s for s in known if s.side == side and s.at is not None]
        row = ", then ".join(f"{s.name} at {_length(s.at or 0.0)}" for s in fixed)
        places = [s.at or 0.0 for s in fixed]
        turns = [places[k:] + places[:k] for k in range(len(places))]
        across = changes > 0 and places != sorted(places)
        if len(fixed) > 1 and (across or sorted(places) not in turns):
            where = _named(about, side)
            yield f"on the {where} they would be met as {row}, and the travel leads the other way"


def _along(about: OptionContext, order: Sequence[Station], longest: float) -> Iterator[str]:
    """Stations of one side that have not all their distances between them."""
    asked = dict(zip(about.stations, about.distances_asked, strict=True))
    for side in _SIDES:
        here = [k for k, station in enumerate(order) if station.side == side]
        row = order[here[0] : here[-1] + 1] if here else []
        first, low, needed = None, 0.0, 0.0
        for station in row:
            least, most = _window(about, station, longest)
            needed += float(asked[station])
            if first is None or least >= low + float(asked[station]):
                first, low, needed = station, least, 0.0
                continue
            low += float(asked[station])
            if low > most + _MICRO:
                between = row[row.index(first) + 1 : row.index(station)]
                room = most - (low - needed)
                yield _too_near(about, first, between, station, (room, needed))
                return


def _named(about: OptionContext, side: str) -> str:
    """A straight as the case calls it."""
    if about.case.loop.plane == "flat":
        return side
    return "upper run" if side == "front" else "lower run"


def _window(about: OptionContext, station: Station, longest: float) -> tuple[float, float]:
    """Least and greatest place of a station on the longest straight, m."""
    if station.at is not None:
        return station.at, station.at
    queue, clear = (station.positions - 1) * about.spacing, _clearance(about, station)
    return clear + queue, longest - clear


def _clearance(about: OptionContext, station: Station) -> float:
    """Least distance from the carriers at a station to either end of its straight, m."""
    return float(about.clearances_asked[about.stations.index(station)])


def _too_near(
    about: OptionContext,
    one: Station,
    between: Sequence[Station],
    other: Station,
    lengths: tuple[float, float],
) -> str:
    """That two stations have less way between them than is asked for."""
    room, needed = (_length(length) for length in lengths)
    ways = dict(zip(about.stations, about.stations_apart, strict=True))
    by_room = all(ways[s] <= s.positions * about.spacing for s in (*between, other))
    what = f"their carriers need {needed}" if by_room else f"{needed} are asked for"
    past = f", with {' and '.join(s.name for s in between)} between them," if between else ""
    if one.at is not None and other.at is not None:
        both = f"{one.name} and {other.name}{past}"
        return f"{both} are fixed {room} apart along the travel and {what}"
    return (
        f"on the {_named(about, one.side)} there are {room} at most from {one.name} to"
        f" {other.name}{past} and {what}"
    )


def _altogether(about: OptionContext, longest: float) -> str:
    """What is left where each thing asked for could be had, but not all at once."""
    stations = about.stations
    loop = Loop(longest, about.bend_length)
    clear, spacing = about.bend_clearance, about.spacing
    kept = [station.name for station in stations if station.clear_of_joints]
    if kept and placements(
        loop, [s.model_copy(update={"clear_of_joints": False}) for s in stations], clear, spacing
    ):
        return (
            f"no sections in a row leave {_length(clear)} to either side of {' and '.join(kept)}"
            " without a joint and all distances kept"
        )
    asked = [s.name for s in stations if s.at is not None or s.side != "any" or s.after or s.length]
    return f"places, sides and distances of {', '.join(asked)} cannot be kept together"


def _length(value: float) -> str:
    return write(value, KINDS["length"], 2)
