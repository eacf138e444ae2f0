"""What no option of a catalogue can meet, seen from the case before anything is searched for.

Each sentence holds whatever the motion and the loop are: it rests on the shortest times, the
lightest loads and the smallest bends that there can be.
"""

import math
from collections.abc import Iterator

from recommender.choice.parts.options import reserve_of
from recommender.choice.parts.placement import apart
from recommender.inputs.case import Case, Station
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import KINDS, write

_HAIR = 1e-9


def cannot_work(case: Case, catalogue: Catalogue) -> tuple[str, ...]:
    """Sentences about what no option can meet, with what would do; none if there is hope.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue

    Returns
    -------
    tuple of str
        Each begins with the key that it is about and has no stop.
    """
    return (
        *_work(case, catalogue),
        *_payload(case, catalogue),
        *_holding(case),
        *_room(case, catalogue),
        *_places(case, catalogue),
    )


def _work(case: Case, catalogue: Catalogue) -> Iterator[str]:
    """Stations that are taken longer than the carriers leave them time, with any load."""
    pace = case.rate.items * (1.0 + reserve_of(case, catalogue))
    for station in case.station:
        # What is not given takes the least time of the controller at any rate.
        rest = catalogue.rules.least_settling if station.settling is None else 0.0
        each = {n: station.occupied_with(n) + rest for n in case.rate.per_carrier}
        shares = [time / n for n, time in each.items()]
        items = list(each)[shares.index(min(shares))]
        taken, left = each[items], station.positions * items / pace
        if taken > left * (1.0 + _HAIR):
            yield _too_long(case, catalogue, station, items, (taken, left))


def _too_long(
    case: Case, catalogue: Catalogue, station: Station, items: int, times: tuple[float, float]
) -> str:
    taken, left = (write(time, KINDS["duration"]) for time in times)
    reserve = reserve_of(case, catalogue)
    beyond = f" with {100.0 * reserve:g} % of reserve" if reserve else ""
    room = "it" if station.positions == 1 else f"its {station.positions} places"
    what = "each carrier" if items == 1 else f"each carrier with {items} items"
    needed = -int(-times[0] * station.positions // times[1])
    return (
        f"station.{station.name}.dwell: {what} is there for {taken} with settling, and at"
        f" {write(case.rate.items, KINDS['rate'])}{beyond} {room} must be free again after"
        f" {left}; {needed} places or more at once (positions), a shorter dwell or a lower rate"
        " would be needed"
    )


def _payload(case: Case, catalogue: Catalogue) -> Iterator[str]:
    strongest = max(catalogue.carrier, key=lambda carrier: carrier.rated_payload)
    items = min(case.rate.per_carrier)
    fixture, load = case.fixture_mass(items), items * case.load.mass
    if load + fixture <= strongest.rated_payload:
        return
    most = write(strongest.rated_payload, KINDS["mass"])
    bears = f"and no carrier may carry more than the {most} of {strongest.id}"
    if fixture > strongest.rated_payload:
        yield f"tooling.mass: the fixture alone weighs {write(fixture, KINDS['mass'])}, {bears}"
    else:
        whole = write(load + fixture, KINDS["mass"])
        yield f"load.mass: load and fixture weigh {whole} together, {bears}"


def _holding(case: Case) -> Iterator[str]:
    if case.loop.plane == "upright" and case.load.held != "clamped":
        yield (
            f'load.held: "{case.load.held}" holds no load that hangs upside down on the lower run'
            ' of an upright loop; "clamped" would'
        )


def _room(case: Case, catalogue: Catalogue) -> Iterator[str]:
    across = "max_height" if case.loop.plane == "upright" else "max_width"
    keys = ("max_length", "max_extent", across)
    given = {key: room for key in keys if (room := getattr(case.loop, key)) is not None}
    if all(room >= 2.0 * _shortest_bend(catalogue) for room in given.values()):
        return
    for key, needed in _least_room(catalogue, across).items():
        if key in given and given[key] < needed:
            yield (
                f"loop.{key}: the bends alone take {write(needed, KINDS['length'])}, and"
                f" {write(given[key], KINDS['length'])} may be"
            )


def _shortest_bend(catalogue: Catalogue) -> float:
    """Length of the shortest bend on the guide line, m.

    π·R + ℓ, as `bend_length` has it. Its ends lie no farther apart than it is long, and it reaches
    out half of that at most: where twice its length has room, two bends have. So a case is checked
    without arrays, which take longer to load than the whole check, unless its room is scarce.
    """
    return min(bend.radius * math.pi + bend.transition for bend in catalogue.bend)


def _least_room(catalogue: Catalogue, across: str) -> dict[str, float]:
    """What two bends take at least of each kind of room, m."""
    from recommender.physics.bend import bend_depth, bend_width  # noqa: PLC0415 - as just said

    bends = [(bend.radius, bend.transition) for bend in catalogue.bend]
    return {
        "max_length": 2.0 * _shortest_bend(catalogue),
        "max_extent": 2.0 * min(float(bend_depth(*bend)) for bend in bends),
        across: min(float(bend_width(*bend)) for bend in bends),
    }


def _places(case: Case, catalogue: Catalogue) -> Iterator[str]:
    longest = case.loop.max_length or catalogue.rules.longest_loop
    straight = 0.5 * longest - _shortest_bend(catalogue)
    for station in case.station:
        if station.at is not None and station.at > straight:
            yield (
                f"station.{station.name}.at: {write(station.at, KINDS['length'])} from the start of"
                f" its straight, and on {write(longest, KINDS['length'])} of guide none is longer"
                f" than {write(max(straight, 0.0), KINDS['length'])}"
            )
    asked = sum(apart(case.station, 0.0)) if len(case.station) > 1 else 0.0
    if asked > longest:
        yield (
            f"station.after: the distances between the stations add up to"
            f" {write(asked, KINDS['length'])}, and there may be"
            f" {write(longest, KINDS['length'])} of guide"
        )
