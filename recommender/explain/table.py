"""The table of requirements: what each is called, how far it gives, what giving it up means.

A new requirement is one entry.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import groupby
from typing import Any, Final

from recommender.explain.measures import count, many, measure
from recommender.explain.requirements import (
    Alternative,
    Change,
    Choice,
    Move,
    Number,
    Requirement,
    Situation,
    edited,
    setting,
    station_of,
    unchanged,
    value_at,
)
from recommender.inputs.case import Case, Station
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import ICE_POINT, KINDS, write

_NEARLY_NOTHING: Final = 1e-3
"""Lax end of a number that must stay above zero, as a share of what is asked."""

_MOST_FRICTION: Final = 1.5
_MOST_ACCELERATION: Final = 100.0
_MORE_ITEMS: Final = 2
_MOST_ITEMS: Final = 20
_MOST_POSITIONS: Final = 20
_LONGER: Final = 1.05


@dataclass(frozen=True)
class _Asked:
    """A key of a case, and all that may say how far it can give."""

    key: str
    case: Case
    catalogue: Catalogue
    station: Station | None = None

    @property
    def entry(self) -> "Entry":
        """Its entry in the table."""
        return TABLE[table_key(self.key)]

    @property
    def value(self) -> Any:
        """What is asked."""
        return value_at(self.case, self.key)

    def words(self, to: str) -> str:
        """A concession as a noun with what it has to be."""
        return self.entry.words.format(to=to, station=station_of(self.key))

    def number(self, lax: float, **others: Any) -> Number:
        """Its number on the way to a lax end."""
        key, unit = self.key, self.entry.unit
        usual = {"start": self.value, "put": lambda case, value: edited(case, key, value)}
        if unit in ("h", "force"):
            usual["said"] = partial(measure, unit=unit)
        return Number(key=key, lax=lax, kind=KINDS.get(unit), words=self.words, **(usual | others))

    def put(self, value: Any) -> Change:
        """The change to another value."""
        return setting(self.key, value)

    def other(self, value: Any, said: str) -> Alternative:
        """Another value that it may take, and how that is said."""
        text = str(value).lower() if isinstance(value, bool) else str(value)
        return Alternative(text, self.words(said), self.put(value))


@dataclass(frozen=True)
class Entry:
    """One entry of the table of requirements.

    Parameters
    ----------
    name : str
        What it is called in a sentence; ``{station}`` is filled in.
    words : str
        A concession as a noun with what it has to be, ``{to}``, and ``{station}``.
    unit : str
        Of its number: a kind of `recommender.inputs.quantities`, or ``h``, ``plain``.
    asked : callable, optional
        The requirement as a case asks for it, ``None`` if it does not; without, it is but a way
        to relax another one.
    """

    name: str
    words: str
    unit: str = "plain"
    asked: Callable[[_Asked], Requirement | None] | None = None


def _to(share: float) -> Callable[[_Asked], Requirement | None]:
    """A number that is given up by going to a share of itself, if there is any of it."""

    def asked(of: _Asked) -> Requirement | None:
        return _to_lax_end(of.number(share * of.value)) if of.value else None

    return asked


def _to_lax_end(number: Number) -> Requirement:
    """A number that is given up by going to its lax end."""
    return Requirement(number.key, (number.at(number.lax),), (number,))


def _ceiling(lax: float) -> Callable[[_Asked], Requirement | None]:
    """A limit of the case that may be absent."""

    def asked(of: _Asked) -> Requirement | None:
        if of.value is None:
            return None
        return Requirement(of.key, (of.put(None),), (of.number(lax),))

    return asked


def _only(start: str, other: str, said: str) -> Callable[[_Asked], Requirement | None]:
    """A choice that has one alternative, which asks for nothing."""

    def asked(of: _Asked) -> Requirement | None:
        if of.value != start:
            return None
        return _one_of(of, of.other(other, said))

    return asked


def _one_of(of: _Asked, *others: Alternative, or_as_it_is: bool = False) -> Requirement:
    """A choice that is given up by any of its alternatives."""
    start = str(of.value).lower()
    given_up = [alternative.change for alternative in others]
    if or_as_it_is:
        given_up.append(unchanged)
    return Requirement(of.key, tuple(given_up), (Choice(of.key, start, others),))


def _reach(of: _Asked) -> Requirement | None:
    if not of.value:
        return None
    # A load that reaches out leaves more room on the inner side of a bend, so that without
    # reach there can be less of it; then the reach that is asked may stay as it is.
    reach = of.number(0.0)
    return Requirement(of.key, (reach.at(0.0), unchanged), (reach,))


def _held(of: _Asked) -> Requirement | None:
    """That the load is not clamped: given up by clamping it, relaxed by more friction or a nest."""
    load = of.case.load
    if load.held == "clamped":
        return None
    alternatives = [Alternative("clamped", of.words("clamped"), _clamped)]
    moves: list[Move] = []
    if load.held == "friction":
        alternatives.insert(0, of.other("nested", "in a nest"))
        moves.append(replace(of, key="load.friction").number(_MOST_FRICTION))
    if load.held == "nested" and load.pocket is not None and load.pocket < load.cg_height:
        moves.append(replace(of, key="load.pocket").number(load.cg_height))
    moves.append(Choice(of.key, load.held, tuple(alternatives)))
    return Requirement(of.key, (_clamped,), tuple(moves))


def _clamped(situation: Situation) -> Situation:
    """The load in a clamp that is strong enough."""
    case = edited(situation.case, "load.clamping_force", None)
    return replace(situation, case=edited(case, "load.held", "clamped"))


def _clamping_force(of: _Asked) -> Requirement | None:
    force = of.value
    return _ceiling(100.0 * force)(of) if of.case.load.held == "clamped" and force else None


def _freeboard(of: _Asked) -> Requirement | None:
    if of.case.load.liquid is None:
        return None
    number = of.number(100.0 * of.value)
    return Requirement(of.key, (setting("load.liquid", None),), (number,))


def _items(of: _Asked) -> Requirement | None:
    allowed = of.value
    counts = [max(allowed) + extra for extra in range(1, _MORE_ITEMS + 1)]
    more = tuple(
        Alternative(
            str([*allowed, items]), of.words(count(items)), partial(_with_items, allowed, items)
        )
        for items in counts
        if items <= _MOST_ITEMS
    )
    if not more:
        return None
    changes = (unchanged, *(alternative.change for alternative in more))
    return Requirement(of.key, changes, (Choice(of.key, str(list(allowed)), more),))


def _with_items(allowed: tuple[int, ...], items: int, situation: Situation) -> Situation:
    # With fewer items than allowed, allowing more concedes nothing to this option.
    if situation.option.items < max(allowed):
        return situation
    return Situation(
        replace(situation.option, items=items),
        edited(situation.case, "rate.per_carrier", (*allowed, items)),
    )


def _max_length(of: _Asked) -> Requirement | None:
    longest = of.catalogue.rules.longest_loop
    shorter = of.value is not None and of.value < longest
    return _to_lax_end(of.number(longest)) if shorter else None


def _max_extent(of: _Asked) -> Requirement | None:
    return _ceiling(max(200.0, 2.0 * of.catalogue.rules.longest_loop))(of)


def _max_height(of: _Asked) -> Requirement | None:
    return _ceiling(100.0)(of) if of.case.loop.plane == "upright" else None


def _tolerance(of: _Asked) -> Requirement | None:
    said = of.station is not None and "tolerance" in of.station.model_fields_set
    return _to_lax_end(of.number(100.0 * of.value)) if said else None


def _length(of: _Asked) -> Requirement | None:
    return _ceiling(_NEARLY_NOTHING * of.value)(of) if of.value is not None else None


def _force(of: _Asked) -> Requirement | None:
    """A process force, relaxed by its strength with its direction kept."""
    force, key = of.value, of.key
    strength = float(sum(component**2 for component in force) ** 0.5)

    def scaled(value: float) -> tuple[float, ...]:
        return tuple(round(component * value / strength, 1) for component in force)

    def text(value: float) -> str:
        written = ", ".join(f'"{write(part, KINDS["force"])}"' for part in scaled(value))
        return f"[{written}]"

    def put(case: Case, value: float) -> Case:
        return edited(case, key, scaled(value))

    return _to_lax_end(of.number(0.0, start=strength, put=put, text=text)) if strength else None


def _at(of: _Asked) -> Requirement | None:
    return None if of.value is None else Requirement(of.key, (of.put(None),), ())


def _side(of: _Asked) -> Requirement | None:
    """The side of a station; on an upright loop there is only the other run to go to."""
    if of.case.loop.plane == "flat":
        return None if of.value == "any" else _one_of(of, of.other("any", "either side"))
    other = "upper" if of.value in {"lower", "back"} else "lower"
    return _one_of(of, of.other(other, f"the {other} run"), or_as_it_is=True)


def _positions(of: _Asked) -> Requirement | None:
    """That so many carriers are served at once.

    Fewer need less room, but come round sooner. Where the station holds up the others one place
    more halves its share of the takt, or nearly so.
    """
    now = of.value
    counts = [*range(now - 1, 0, -1)]
    if of.station is _bottleneck(of.case) and now < _MOST_POSITIONS:
        counts = [now + 1, *counts]
    if not counts:
        return None
    others = (of.other(number, many(number, "carrier")) for number in counts)
    return _one_of(of, *others, or_as_it_is=True)


def _bottleneck(case: Case) -> Station | None:
    """The station that is taken longest by each carrier; none if two are taken alike."""
    items = min(case.rate.per_carrier)
    order = sorted(case.station, key=lambda s: s.occupied_with(items) / s.positions, reverse=True)
    longest = [station.occupied_with(items) / station.positions for station in order[:2]]
    if len(order) > 1 and longest[0] <= longest[1] * _LONGER:
        return None
    return order[0]


def _clear_of_joints(of: _Asked) -> Requirement | None:
    return _one_of(of, of.other(False, "over a joint")) if of.value else None


def _acceleration(of: _Asked) -> Requirement | None:
    """A limit of the enquiry, or what a load is taken to bear, as if the enquiry had said it.

    Given up it is a very high limit and not none: where none is set, the usual one would stand.
    """
    usual = None if of.case.load.held == "friction" else of.catalogue.rules.load_acceleration
    start = of.value or usual
    return None if start is None else _to_lax_end(of.number(_MOST_ACCELERATION, start=start))


def _ambient(of: _Asked) -> Requirement | None:
    """Surroundings warmer than those that forces are rated for; cooler ones give nothing more."""
    rated, key = of.catalogue.rules.rated_ambient, of.key
    if of.value <= rated:
        return None
    # In whole steps of degrees, not of kelvins.
    number = of.number(
        rated - ICE_POINT,
        start=of.value - ICE_POINT,
        put=lambda case, value: edited(case, key, value + ICE_POINT),
        text=lambda value: f"{value:.6g} °C",
    )
    return _to_lax_end(number)


def _reliability(of: _Asked) -> Requirement | None:
    return _to_lax_end(of.number(90.0, fine=1000)) if of.value > 90.0 else None


def _budget(of: _Asked) -> Requirement | None:
    if of.value is None:
        return None
    key, (amount, currency) = of.key, of.value.split()
    number = of.number(
        1e9,
        start=float(amount),
        put=lambda case, value: edited(case, key, f"{value:.2f} {currency}"),
        text=lambda value: f"{value:.2f} {currency}",
        said=partial(measure, unit="money", currency=currency),
        by_price=True,
    )
    return Requirement(key, (of.put(None),), (number,))


TABLE: Final[dict[str, Entry]] = {
    "load.mass": Entry(
        "the load's mass", "the load at {to} or lighter", "mass", _to(_NEARLY_NOTHING)
    ),
    "load.reach": Entry("the load's reach", "the load reaching out {to} or less", "length", _reach),
    "load.offset": Entry(
        "the load's offset along the travel",
        "the load {to} or less off the middle of the carrier",
        "length",
        _to(0.0),
    ),
    "load.cg_height": Entry(
        "the height of the load's centre of gravity",
        "the load's centre of gravity {to} high or lower",
        "length",
        _to(0.0),
    ),
    "load.friction": Entry("the friction that holds the load", "a friction of {to} or more"),
    "load.pocket": Entry("the depth of the nest", "a nest {to} deep or more", "length"),
    "load.held": Entry("the way the load is held", "the load {to}", asked=_held),
    "load.clamping_force": Entry(
        "the force of the clamp", "a clamp that presses with {to} or more", "force", _clamping_force
    ),
    "load.liquid.freeboard": Entry(
        "the liquid's freeboard", "a freeboard of {to} or more", "length", _freeboard
    ),
    "tooling.mass": Entry("the fixture's mass", "the fixture at {to} or lighter", "mass", _to(0.0)),
    "rate.items": Entry("the rate", "{to} or fewer", "rate", _to(_NEARLY_NOTHING)),
    "rate.per_carrier": Entry(
        "the number of items on a carrier", "{to} items on a carrier", asked=_items
    ),
    "loop.max_length": Entry(
        "the length of the loop", "{to} of guide or more", "length", _max_length
    ),
    "loop.max_width": Entry(
        "the width of the loop", "{to} of free width or more", "length", _ceiling(100.0)
    ),
    "loop.max_height": Entry(
        "the height of the loop", "{to} of free height or more", "length", _max_height
    ),
    "loop.max_extent": Entry(
        "the extent of the loop along its straights",
        "{to} of free floor along the straights or more",
        "length",
        _max_extent,
    ),
    "loop.plane": Entry(
        "the plane of the loop", "the loop lying {to}", asked=_only("upright", "flat", "flat")
    ),
    "loop.restart": Entry(
        "the restart of all carriers together",
        "the carriers restarted {to}",
        asked=_only("together", "staggered", "one after another"),
    ),
    "station.dwell": Entry(
        "the dwell at {station}", "a dwell of {to} or less at {station}", "duration", _to(0.0)
    ),
    "station.after": Entry(
        "the distance before {station}",
        "station {station} {to} or less behind the one before it",
        "length",
        _to(0.0),
    ),
    "station.dwell_variation": Entry(
        "the varying dwell at {station}",
        "dwells at {station} that vary by {to} or less",
        asked=_to(0.0),
    ),
    "station.tolerance": Entry(
        "the tolerance at {station}",
        "a tolerance of {to} or more at {station}",
        "length",
        _tolerance,
    ),
    "station.force": Entry(
        "the process force at {station}",
        "a process force of {to} or less at {station}",
        "force",
        _force,
    ),
    "station.at": Entry("the place of {station}", "", "length", _at),
    "station.side": Entry(
        "the side on which {station} stands", "station {station} on {to}", asked=_side
    ),
    "station.length": Entry(
        "the length of {station}", "station {station} {to} long or shorter", "length", _length
    ),
    "station.positions": Entry(
        "the number of carriers that {station} takes at once",
        "{to} at a time at {station}",
        asked=_positions,
    ),
    "station.clear_of_joints": Entry(
        "the joints kept clear of {station}",
        "station {station} {to}",
        asked=_clear_of_joints,
    ),
    "limits.acceleration": Entry(
        "the limit of acceleration",
        "{to} of acceleration allowed or more",
        "acceleration",
        _acceleration,
    ),
    "limits.jerk": Entry(
        "the limit of jerk", "{to} of jerk allowed or more", "jerk", _ceiling(1e5)
    ),
    "limits.speed": Entry(
        "the limit of speed", "{to} of speed allowed or more", "speed", _ceiling(20.0)
    ),
    "site.ambient": Entry(
        "the ambient temperature", "surroundings of {to} or less", asked=_ambient
    ),
    "life.hours": Entry("the life", "a life of {to} or less", "h", _to(_NEARLY_NOTHING)),
    "life.reliability": Entry(
        "the reliability", "a reliability of {to} % or less", asked=_reliability
    ),
    "commercial.budget": Entry("the budget", "a budget of {to} or more", asked=_budget),
    "commercial.latest_delivery": Entry(
        "the delivery", "{to} to deliver or more", "lead time", _ceiling(520.0)
    ),
}
"""Every requirement that there is, in the order of the case file."""


def list_requirements(case: Case, catalogue: Catalogue) -> tuple[Requirement, ...]:
    """Every requirement of a case that could be given up, in the order of the case file."""
    found = (of.entry.asked(of) for of in _keys(case, catalogue) if of.entry.asked)
    return tuple(requirement for requirement in found if requirement is not None)


def _keys(case: Case, catalogue: Catalogue) -> Iterator[_Asked]:
    for of_stations, group in groupby(TABLE, lambda key: key.startswith("station.")):
        keys = [key for key in group if key != "load.liquid.freeboard" or case.load.liquid]
        if not of_stations:
            yield from (_Asked(key, case, catalogue) for key in keys)
            continue
        for station in case.station:
            for key in keys:
                named = f"station.{station.name}.{key.removeprefix('station.')}"
                yield _Asked(named, case, catalogue, station)


def table_key(key: str) -> str:
    """The key of the table under which a requirement stands.

    Examples
    --------
    >>> table_key("station.fill.2.dwell"), table_key("load.mass")
    ('station.dwell', 'load.mass')
    """
    return f"station.{key.rpartition('.')[2]}" if key.startswith("station.") else key


def requirement_name(key: str) -> str:
    """What a requirement is called in a sentence.

    Examples
    --------
    >>> requirement_name("rate.items"), requirement_name("station.unload.dwell")
    ('the rate', 'the dwell at unload')
    """
    return TABLE[table_key(key)].name.format(station=station_of(key))
