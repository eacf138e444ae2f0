"""Reads a line of loops: loops from their tables, rates from the handovers."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from recommender.inputs.case import Case, check_currency
from recommender.inputs.errors import InputError, as_written, explain, nearest
from recommender.inputs.files import read_toml
from recommender.inputs.quantities import KINDS, system_of, write
from recommender.lines.model import Handover, Line, NamedLoop
from recommender.lines.tables import HandoverTable, LineTables, LoopTables
from recommender.shown import shown_path

_HELD_BY_ALL: Final = ("limits", "site", "life")
_OF_EACH: Final = ("load", "tooling", "rate", "loop", "station")
_ROUNDING: Final = 1e-6
MOST_WAYS: Final = 48
"""Ways that are looked at to settle what direct handovers leave open."""


def read_line(path: Path) -> Line:
    """A line from a TOML file.

    Raises
    ------
    InputError
        With file, key, what was read and what would do.
    """
    return make_line(read_toml(path), shown_path(path))


def make_line(data: Mapping[str, Any], where: str) -> Line:
    """A line from plain data, as TOML gives it.

    Parameters
    ----------
    data : mapping
    where : str
        What a message names.

    Raises
    ------
    InputError
        As `read_line`.

    Examples
    --------
    Two bottles a second, twelve in a box, are ten boxes a minute:

    >>> load = {"mass": "1 kg"}
    >>> line = make_line(
    ...     {
    ...         "line": [
    ...             {"name": "units", "load": load, "rate": {"items": "120/min"},
    ...              "station": [{"name": "pack", "dwell": "0.2 s"}]},
    ...             {"name": "boxes", "load": load, "station": [{"name": "fill", "dwell": "1 s"}]},
    ...         ],
    ...         "handover": [
    ...             {"from": "units.pack", "to": "boxes.fill", "items": 12, "between": "buffer"}
    ...         ],
    ...     },
    ...     "an example",
    ... )
    >>> round(60 * line.cases["boxes"].rate.items, 9)
    10.0
    """
    data = _with_dwells(data)
    _refuse_misplaced(data, where)
    try:
        tables = LineTables.model_validate({"units": system_of(data), **data})
    except ValidationError as error:
        raise explain(error, where, LineTables) from None
    _refuse_doubled(tables.line, where)
    handovers = _handovers(tables, where)
    reserve = _reserve(tables.line, where)
    rates = _rates(tables.line, handovers, where)
    supplied = {handover.taker for handover in handovers}
    loops = tuple(
        NamedLoop(
            entry.name,
            _case(data, tables, number, rates[entry.name], reserve, where),
            entry.name in supplied,
            _own(data["line"][number]),
        )
        for number, entry in enumerate(tables.line)
    )
    line = Line(
        title=tables.title,
        units=tables.units,
        loops=loops,
        handovers=handovers,
        spares=tables.spares,
        floor=tables.floor,
        commercial=tables.commercial,
        reserve=reserve,
    )
    _refuse_many(line, where)
    for number, handover in enumerate(handovers, start=1):
        if handover.between == "direct":
            _refuse_unsteady(line, handover, f"{where}: handover[{number}]")
    return line


def _own(loop: Mapping[str, Any]) -> tuple[str, ...]:
    """Keys that may stand above the loops and that a loop says itself."""
    return tuple(f"{table}.{key}" for table in _HELD_BY_ALL for key in loop.get(table, {}))


def check_line_currency(line: Line, currency: str, where: str) -> None:
    """Refuse a budget in another money than the catalogue's prices.

    Raises
    ------
    InputError
        If the budget's currency differs.
    """
    whole = line.loops[0].case.model_copy(update={"commercial": line.commercial})
    check_currency(whole, currency, where)


def _with_dwells(data: Mapping[str, Any]) -> dict[str, Any]:
    """The data with no dwell of its own where a box stands as long as its units take to arrive."""
    direct = {
        entry.get("to")
        for entry in _entries(data.get("handover"))
        if entry.get("between") == "direct"
    }

    def filled(loop: Any) -> Any:
        if not isinstance(loop, Mapping) or not isinstance(loop.get("station"), list):
            return loop
        stations = [
            {"dwell": "0 s", **station}
            if isinstance(station, Mapping)
            and f"{loop.get('name')}.{station.get('name')}" in direct
            else station
            for station in loop["station"]
        ]
        return {**loop, "station": stations}

    loops = data.get("line")
    if not isinstance(loops, list):
        return dict(data)
    return {**data, "line": [filled(loop) for loop in loops]}


def _entries(value: Any) -> Iterator[Mapping[str, Any]]:
    if isinstance(value, list):
        yield from (entry for entry in value if isinstance(entry, Mapping))


def _refuse_misplaced(data: Mapping[str, Any], where: str) -> None:
    for key in _OF_EACH:
        if key in data:
            raise InputError(
                f"{where}: {key} stands above the loops, each of which has its own; write it below"
                f" a [[line]] as [line.{key}]"
                if key != "station"
                else f"{where}: station stands above the loops, each of which has its own; write it"
                " below a [[line]] as [[line.station]]"
            )
    for number, loop in enumerate(_entries(data.get("line")), start=1):
        if "commercial" in loop:
            raise InputError(
                f"{where}: line[{number}].commercial is not known here: budget and delivery hold"
                " for the whole line; write [commercial] above the first [[line]]"
            )


def _refuse_doubled(loops: Sequence[LoopTables], where: str) -> None:
    first: dict[str, int] = {}
    for number, loop in enumerate(loops, start=1):
        if first.setdefault(loop.name, number) != number:
            raise InputError(
                f"{where}: line[{number}].name is that of line[{first[loop.name]}] as well"
                f" (read: {as_written(loop.name)}); give each loop its own name"
            )


def _handovers(tables: LineTables, where: str) -> tuple[Handover, ...]:
    stations = {loop.name: [station.name for station in loop.station] for loop in tables.line}
    begun = Counter(entry.giver.partition(".")[2] for entry in tables.handover)
    ends: set[tuple[str, str]] = set()
    found = []
    for number, entry in enumerate(tables.handover, start=1):
        at = f"{where}: handover[{number}]"
        giver, gives_at = _place(entry.giver, stations, f"{at}.from")
        taker, takes_at = _place(entry.taker, stations, f"{at}.to")
        if giver == taker:
            raise InputError(
                f"{at}.to is on the loop that gives (read: {as_written(entry.taker)}); a handover"
                " leads from one loop to another"
            )
        if (entry.giver, entry.taker) in ends:
            raise InputError(
                f"{at} leads from {entry.giver} to {entry.taker} like one before it; write each"
                " handover once"
            )
        ends.add((entry.giver, entry.taker))
        name = gives_at if begun[gives_at] == 1 else f"{giver}.{gives_at}"
        if sum(other.giver == entry.giver for other in tables.handover) > 1:
            name = f"{giver}.{gives_at}.{taker}"
        found.append(
            Handover(
                name=name,
                giver=giver,
                gives_at=gives_at,
                taker=taker,
                takes_at=takes_at,
                items=entry.items,
                between=entry.between,
                share=1.0 if entry.share is None else entry.share,
                positions=entry.positions,
            )
        )
    _refuse_shares(tables.handover, found, where)
    return tuple(found)


def _place(text: str, stations: Mapping[str, Sequence[str]], at: str) -> tuple[str, str]:
    """Loop and station that a handover names."""
    loop, dot, station = text.partition(".")
    if loop not in stations:
        raise InputError(
            f"{at} names no loop of this line (read: {as_written(text)})"
            f"{nearest(loop, list(stations))}"
            if dot
            else f"{at} must be a loop and a station with a point between them, such as"
            f' "{next(iter(stations))}.{next(iter(stations.values()))[0]}"'
            f" (read: {as_written(text)})"
        )
    if station not in stations[loop]:
        raise InputError(
            f"{at} names no station of the loop {loop} (read: {as_written(text)})"
            f"{nearest(station, stations[loop])}"
        )
    return loop, station


def _refuse_shares(
    entries: Sequence[HandoverTable], handovers: Sequence[Handover], where: str
) -> None:
    """What a loop gives away must be said where it goes several ways, and be no more than all."""
    for giver in dict.fromkeys(handover.giver for handover in handovers):
        of = [k for k, handover in enumerate(handovers) if handover.giver == giver]
        unsaid = [k for k in of if entries[k].share is None]
        if len(of) > 1 and unsaid:
            raise InputError(
                f"{where}: handover[{unsaid[0] + 1}].share is missing: the loop {giver} supplies"
                f" {len(of)} others; write the share of its items that goes this way, such as"
                " share = 0.5"
            )
        total = sum(handovers[k].share for k in of)
        if total > 1.0 + _ROUNDING:
            raise InputError(
                f"{where}: handover[{of[-1] + 1}].share brings what {giver} gives away to"
                f" {total:g} of its items (read: {entries[of[-1]].share}); the shares of one loop"
                " are 1 together at most"
            )


def _reserve(loops: Sequence[LoopTables], where: str) -> float | None:
    """The reserve that all loops have, since one rhythm ties them."""
    stated = [(n, loop.rate.reserve) for n, loop in enumerate(loops, start=1)]
    given = [(n, reserve) for n, reserve in stated if reserve is not None]
    for number, reserve in given[1:]:
        if reserve != given[0][1]:
            raise InputError(
                f"{where}: line[{number}].rate.reserve differs from that of line[{given[0][0]}]"
                f" (read: {reserve:g} and {given[0][1]:g}); one rhythm ties all loops, so write one"
                " reserve"
            )
    return given[0][1] if given else None


def _rates(
    loops: Sequence[LoopTables], handovers: Sequence[Handover], where: str
) -> dict[str, float]:
    """Items a second of each loop, from the beginning of the line on."""
    number = {loop.name: n for n, loop in enumerate(loops, start=1)}
    stated = {loop.name: loop.rate.items for loop in loops}
    sorter = TopologicalSorter({loop.name: set[str]() for loop in loops})
    for handover in handovers:
        sorter.add(handover.taker, handover.giver)
    try:
        order = list(sorter.static_order())
    except CycleError as error:
        circle = " from ".join(error.args[1])
        raise InputError(
            f"{where}: handover leads in a circle: {circle}; a line has a beginning, a loop that no"
            " other supplies"
        ) from None
    rates: dict[str, float] = {}
    for name in order:
        into = [handover for handover in handovers if handover.taker == name]
        at, given = f"{where}: line[{number[name]}].rate.items", stated[name]
        if not into:
            if given is None:
                raise InputError(
                    f"{at} is missing: no handover supplies {name}, so its rate must be said; write"
                    ' one such as "120/min"'
                )
            rates[name] = given
            continue
        rates[name] = _supplied(into, rates, where, name)
        if given is not None and not math.isclose(given, rates[name], rel_tol=_ROUNDING):
            raise InputError(
                f"{at} contradicts what its handovers bring, {_per_minute(rates[name])} (read:"
                f" {_per_minute(given)}); leave it out, it follows"
            )
    return rates


def _supplied(into: Sequence[Handover], rates: Mapping[str, float], where: str, name: str) -> float:
    """What the handovers into a loop bring: one station's add up, those of several must agree."""
    brought: dict[str, float] = {}
    for handover in into:
        rate = handover.share * rates[handover.giver] / handover.items
        brought[handover.takes_at] = brought.get(handover.takes_at, 0.0) + rate
    (first, rate), *others = brought.items()
    for station, other in others:
        if not math.isclose(rate, other, rel_tol=_ROUNDING):
            raise InputError(
                f"{where}: handover brings {_per_minute(rate)} to {name}.{first} and"
                f" {_per_minute(other)} to {name}.{station}; every carrier comes to both stations,"
                " so make the items or rates agree"
            )
    return rate


def _per_minute(rate: float) -> str:
    return write(rate, KINDS["rate"])


def _case(
    data: Mapping[str, Any],
    tables: LineTables,
    number: int,
    rate: float,
    reserve: float | None,
    where: str,
) -> Case:
    """A loop's case: what stands above it, under what it says itself."""
    own = {key: value for key, value in data["line"][number].items() if key != "name"}
    merged: dict[str, Any] = {"title": f"{tables.title}: {tables.line[number].name}"[:60]}
    merged["units"] = tables.units
    for key in _HELD_BY_ALL:
        if key in data or key in own:
            merged[key] = {**data.get(key, {}), **own.get(key, {})}
    merged |= {key: value for key, value in own.items() if key not in _HELD_BY_ALL}
    commercial = {k: v for k, v in data.get("commercial", {}).items() if k != "budget"}
    if commercial:
        merged["commercial"] = commercial
    kept = {} if reserve is None else {"reserve": reserve}
    # As text, since that is how a case's quantities are read.
    merged["rate"] = {**own.get("rate", {}), **kept, "items": f"{rate!r} 1/s"}
    try:
        return Case.model_validate(merged)
    except ValidationError as error:
        raise explain(error, f"{where}: line[{number + 1}]", Case) from None


def _refuse_many(line: Line, where: str) -> None:
    """Refuse what direct handovers leave open in too many ways to be looked at one by one."""
    direct = [handover for handover in line.handovers if handover.between == "direct"]
    touched = {name for handover in direct for name in (handover.giver, handover.taker)}
    counts = [len(line.cases[name].rate.per_carrier) for name in touched]
    ways = math.prod([*counts, *(len(handover.positions) for handover in direct)])
    if ways > MOST_WAYS:
        raise InputError(
            f"{where}: handover leaves {ways} ways open to share carriers and places (positions"
            " times rate.per_carrier of the loops that it ties); give fewer,"
            f" {MOST_WAYS} at most"
        )


def _refuse_unsteady(line: Line, handover: Handover, at: str) -> None:
    """A box that stands while its units arrive needs one steady stream of them."""
    if handover.share < 1.0 or sum(h.end == handover.end for h in line.handovers) > 1:
        raise InputError(
            f'{at}.between is "direct", but units come to {handover.end} in several streams or'
            f" leave {handover.giver} by several ways, so that there is no steady rhythm; let it"
            ' lead through a buffer (between = "buffer")'
        )
    for name, end in ((handover.giver, handover.gives_at), (handover.taker, handover.takes_at)):
        station = next(s for s in line.cases[name].station if s.name == end)
        if station.dwell_variation > 0.0:
            raise InputError(
                f'{at}.between is "direct", but {name}.{end} has a dwell_variation (read:'
                f" {station.dwell_variation:g}); a direct handover needs the same dwell each time,"
                " a buffer does not"
            )
        if station.positions > 1:
            raise InputError(
                f'{at}.between is "direct", but {name}.{end} takes {station.positions} carriers at'
                " once; leave its positions out, and write how many places fill in turn as"
                " positions of the handover"
            )
    names = {station.name for station in line.cases[handover.taker].station}
    for place in range(1, max(handover.positions) + 1):
        if max(handover.positions) > 1 and f"{handover.takes_at} {place}" in names:
            raise InputError(
                f"{at}.positions makes a place called {handover.takes_at} {place}, as a station of"
                f" {handover.taker} is called already; give that station another name"
            )
    units, boxes = line.cases[handover.giver].rate, line.cases[handover.taker].rate
    if not any(
        handover.items * count % own == 0 and handover.items * count // own >= max(places, 1)
        for count in boxes.per_carrier
        for own in units.per_carrier
        for places in handover.positions
    ):
        raise InputError(
            f"{at}.items cannot be brought by whole carriers (read: {handover.items}, with"
            f" {' or '.join(map(str, units.per_carrier))} items on a carrier of {handover.giver});"
            " make it a multiple, and no less than the positions"
        )
