"""What a case asks for under one key, and how far that can give where it is no plain number."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
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
    table_key,
    unchanged,
    value_at,
)
from recommender.inputs.case import Case, Station
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import ICE_POINT, KINDS, write

_MOST_FRICTION: Final = 1.5
_MOST_ACCELERATION: Final = 100.0
_MORE_ITEMS: Final = 2
_MOST_ITEMS: Final = 20
_MOST_POSITIONS: Final = 20
_LONGER: Final = 1.05
_LEAST_RELIABLE: Final = 90.0


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
    lax : callable, optional
        The lax end of a number that a case asks for, ``None`` if it cannot give.
    absent : bool
        Whether the number is given up by leaving it out, and not by going to its lax end.
    asked : callable, optional
        The requirement as a case asks for it, ``None`` if it does not, where that is no plain
        number. Without either it is but a way to relax another one.
    """

    name: str
    words: str
    unit: str = "plain"
    lax: "Callable[[Asked], float | None] | None" = None
    absent: bool = False
    asked: "Callable[[Asked], Requirement | None] | None" = None


@dataclass(frozen=True)
class Asked:
    """A key of a case, and all that may say how far it can give."""

    key: str
    case: Case
    catalogue: Catalogue
    table: Mapping[str, Entry]
    station: Station | None = None

    @property
    def entry(self) -> Entry:
        """Its entry in the table."""
        return self.table[table_key(self.key)]

    @property
    def value(self) -> Any:
        """What is asked."""
        return value_at(self.case, self.key)

    @property
    def requirement(self) -> Requirement | None:
        """The requirement, ``None`` if the case does not ask for it."""
        entry = self.entry
        if entry.asked is not None:
            return entry.asked(self)
        lax = entry.lax(self) if entry.lax is not None and self.value else None
        if lax is None:
            return None
        number = self.number(lax)
        return given_up_by(self.put(None), number) if entry.absent else to_lax_end(number)

    def beside(self, key: str) -> "Asked":
        """Another key of the same case."""
        return replace(self, key=key)

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

    def one_of(self, *others: Alternative, or_as_it_is: bool = False) -> Requirement:
        """A choice that is given up by any of its alternatives."""
        given_up = [alternative.change for alternative in others]
        if or_as_it_is:
            given_up.append(unchanged)
        choice = Choice(self.key, str(self.value).lower(), others)
        return Requirement(self.key, tuple(given_up), (choice,))


def to_lax_end(number: Number) -> Requirement:
    """A number that is given up by going to its lax end."""
    return given_up_by(number.at(number.lax), number)


def given_up_by(change: Change, number: Number) -> Requirement:
    """A number that is given up by some change."""
    return Requirement(number.key, (change,), (number,))


def only(start: str, other: str, said: str) -> Callable[[Asked], Requirement | None]:
    """A choice that has one alternative, which asks for nothing."""
    return lambda of: of.one_of(of.other(other, said)) if of.value == start else None


def reach(of: Asked) -> Requirement | None:
    """How far the load reaches out."""
    if not of.value:
        return None
    # A load that reaches out leaves more room on the inner side of a bend, so that without
    # reach there can be less of it; then the reach that is asked may stay as it is.
    reach = of.number(0.0)
    return Requirement(of.key, (reach.at(0.0), unchanged), (reach,))


def held(of: Asked) -> Requirement | None:
    """That the load is not clamped: given up by clamping it, relaxed by more friction or a nest."""
    load = of.case.load
    if load.held == "clamped":
        return None
    alternatives = [Alternative("clamped", of.words("clamped"), _clamped)]
    moves: list[Move] = []
    if load.held == "friction":
        alternatives.insert(0, of.other("nested", "in a nest"))
        moves.append(of.beside("load.friction").number(_MOST_FRICTION))
    if load.held == "nested" and load.pocket is not None and load.pocket < load.cg_height:
        moves.append(of.beside("load.pocket").number(load.cg_height))
    moves.append(Choice(of.key, load.held, tuple(alternatives)))
    return Requirement(of.key, (_clamped,), tuple(moves))


def _clamped(situation: Situation) -> Situation:
    """The load in a clamp that is strong enough."""
    case = edited(situation.case, "load.clamping_force", None)
    return replace(situation, case=edited(case, "load.held", "clamped"))


def freeboard(of: Asked) -> Requirement | None:
    """That a liquid stays in its tray: given up by there being none."""
    if of.case.load.liquid is None:
        return None
    return given_up_by(setting("load.liquid", None), of.number(100.0 * of.value))


def items(of: Asked) -> Requirement | None:
    """That no more items share a carrier."""
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


def force(of: Asked) -> Requirement | None:
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

    return to_lax_end(of.number(0.0, start=strength, put=put, text=text)) if strength else None


def at(of: Asked) -> Requirement | None:
    """That a station stands in its place; nothing lies between that and any other."""
    return None if of.value is None else Requirement(of.key, (of.put(None),), ())


def side(of: Asked) -> Requirement | None:
    """The side of a station; on an upright loop there is only the other run to go to."""
    if of.case.loop.plane == "flat":
        return None if of.value == "any" else of.one_of(of.other("any", "either side"))
    other = "upper" if of.value in {"lower", "back"} else "lower"
    return of.one_of(of.other(other, f"the {other} run"), or_as_it_is=True)


def positions(of: Asked) -> Requirement | None:
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
    return of.one_of(*others, or_as_it_is=True)


def _bottleneck(case: Case) -> Station | None:
    """The station that is taken longest by each carrier; none if two are taken alike."""
    items = min(case.rate.per_carrier)
    order = sorted(case.station, key=lambda s: s.occupied_with(items) / s.positions, reverse=True)
    longest = [station.occupied_with(items) / station.positions for station in order[:2]]
    if len(order) > 1 and longest[0] <= longest[1] * _LONGER:
        return None
    return order[0]


def clear_of_joints(of: Asked) -> Requirement | None:
    """That a station stands over no joint."""
    return of.one_of(of.other(False, "over a joint")) if of.value else None


def acceleration(of: Asked) -> Requirement | None:
    """A limit of the enquiry, or what a load is taken to bear, as if the enquiry had said it.

    Given up it is a very high limit and not none: where none is set, the usual one would stand.
    """
    usual = None if of.case.load.held == "friction" else of.catalogue.rules.load_acceleration
    start = of.value or usual
    return None if start is None else to_lax_end(of.number(_MOST_ACCELERATION, start=start))


def ambient(of: Asked) -> Requirement | None:
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
    return to_lax_end(number)


def reliability(of: Asked) -> Requirement | None:
    """The reliability of the life, in finer steps than others."""
    return to_lax_end(of.number(_LEAST_RELIABLE, fine=1000)) if of.value > _LEAST_RELIABLE else None


def budget(of: Asked) -> Requirement | None:
    """What may be spent, which the price of an option meets or does not."""
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
    return given_up_by(of.put(None), number)
