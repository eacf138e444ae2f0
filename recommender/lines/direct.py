"""Direct handovers as the loops' cases: how long boxes stand, at how many places.

What a direct handover leaves open, how many places fill in turn and how many items share a carrier
in both loops, is settled in all ways there are. In each, every loop is a plain case.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from recommender.choice.parts.options import reserve_of
from recommender.inputs.case import Case
from recommender.inputs.case_tables import Station
from recommender.inputs.catalogue import Catalogue
from recommender.lines.model import Handover, Line
from recommender.physics.handover import arrivals, due, left_over, shares, standing


@dataclass(frozen=True)
class Turns:
    """How one direct handover works: what its rhythm comes to.

    Parameters
    ----------
    handover : str
        Its name.
    places : int
        Places k that fill in turn.
    units, boxes : int
        Items on a carrier of the loop that gives, and of the one that takes.
    shares : tuple of int
        Unit carriers that hand over at each place; all together fill a carrier.
    takt, rhythm : float, s
        Time between unit carriers, and between carriers of boxes, with the reserve.
    dwell : float, s
        How long a unit carrier hands over.
    standing, left : tuple of float, s
        How long a carrier of boxes stands at each place, and what is left there for the exchange.
    """

    handover: str
    places: int
    units: int
    boxes: int
    shares: tuple[int, ...]
    takt: float
    rhythm: float
    dwell: float
    standing: tuple[float, ...]
    left: tuple[float, ...]


@dataclass(frozen=True)
class Variant:
    """One way to settle what direct handovers leave open: each loop's case, and their turns."""

    cases: Mapping[str, Case]
    turns: tuple[Turns, ...]


def variants(line: Line, catalogue: Catalogue) -> tuple[Variant, ...]:
    """All ways to settle what the direct handovers of a line leave open; one if there are none.

    Those with fewer places come first. A loop's case is the same object in all variants in which
    nothing about it differs, so that it need not be answered twice.
    """
    direct = [handover for handover in line.handovers if handover.between == "direct"]
    if not direct:
        return (Variant(line.cases, ()),)
    touched = [
        name
        for name in line.names
        if any(name in (handover.giver, handover.taker) for handover in direct)
    ]
    found: list[Variant] = []
    memory: dict[tuple[str, int, tuple[Turns, ...]], Case] = {}
    for places in product(*(handover.positions for handover in direct)):
        for counts in product(*(line.cases[name].rate.per_carrier for name in touched)):
            items = dict(zip(touched, counts, strict=True))
            if all(_fits(h, items, k) for h, k in zip(direct, places, strict=True)):
                turns = tuple(
                    _turns(line, catalogue, handover, items, k)
                    for handover, k in zip(direct, places, strict=True)
                )
                found.append(Variant(dict(_cases(line, direct, items, turns, memory)), turns))
    return tuple(sorted(found, key=lambda v: sum(turn.places for turn in v.turns)))


def _fits(handover: Handover, items: Mapping[str, int], places: int) -> bool:
    whole, rest = divmod(handover.items * items[handover.taker], items[handover.giver])
    return rest == 0 and whole >= places


def _turns(
    line: Line, catalogue: Catalogue, handover: Handover, items: Mapping[str, int], places: int
) -> Turns:
    units, boxes = items[handover.giver], items[handover.taker]
    giver, taker = line.cases[handover.giver], line.cases[handover.taker]
    takt = units / (giver.rate.items * (1.0 + reserve_of(giver, catalogue)))
    arriving = int(arrivals(handover.items, boxes, units))
    each = shares(arriving, places)
    # A dwell beyond the takt fails in the loop of the units; here it must only not be hidden.
    dwell = min(_station(giver, handover.gives_at).dwell_with(units), takt)
    own = [0.0] * (places - 1) + [_station(taker, handover.takes_at).dwell_with(boxes)]
    stand = standing(each, takt, dwell) + own
    left = left_over(arriving, each, takt, dwell) - own
    return Turns(
        handover.name,
        places,
        units,
        boxes,
        tuple(int(share) for share in each),
        takt,
        arriving * takt,
        dwell,
        tuple(stand.tolist()),
        tuple(left.tolist()),
    )


def _station(case: Case, name: str) -> Station:
    return next(station for station in case.station if station.name == name)


def _cases(
    line: Line,
    direct: list[Handover],
    items: Mapping[str, int],
    turns: tuple[Turns, ...],
    memory: dict[tuple[str, int, tuple[Turns, ...]], Case],
) -> Iterator[tuple[str, Case]]:
    for name, case in line.cases.items():
        if name not in items:
            yield name, case
            continue
        into = {h.takes_at: t for h, t in zip(direct, turns, strict=True) if h.taker == name}
        key = name, items[name], tuple(into.values())
        if key not in memory:
            memory[key] = _case(case, items[name], into)
        yield name, memory[key]


def _case(case: Case, items: int, into: Mapping[str, Turns]) -> Case:
    stations: list[Station] = []
    for station in case.station:
        turns = into.get(station.name)
        stations += [station] if turns is None else _places(station, turns)
    rate = case.rate.model_copy(update={"per_carrier": (items,)})
    return case.model_copy(update={"rate": rate, "station": tuple(stations)})


def _places(station: Station, turns: Turns) -> Iterator[Station]:
    """The places of a handover, each a station; several stand on one straight."""
    side = "front" if turns.places > 1 and station.side == "any" else station.side
    for place, stands in enumerate(turns.standing):
        changes = {"dwell": stands, "dwell_for": "carrier", "side": side}
        if turns.places > 1:
            changes["name"] = place_name(station.name, place + 1)
        if place:
            changes |= {"after": 0.0, "at": None}
        found = station.model_copy(update=changes)
        is_last = place == turns.places - 1
        yield found if is_last else found.due_in(float(due(turns.takt, turns.dwell)))


def place_name(station: str, place: int) -> str:
    """What one of several places of a handover is called.

    Examples
    --------
    >>> place_name("fill", 2)
    'fill 2'
    """
    return f"{station} {place}"
