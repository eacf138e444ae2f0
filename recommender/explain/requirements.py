"""What the customer asked for, as named requirements that can be given up or relaxed.

A requirement is one key of the case. *Giving it up* leaves the case as if it asked for nothing
there; *relaxing* moves it only so far: a number step by step towards its lax end, a choice through
the alternatives in the order in which they concede more. What is neither here nor given up is a
fact of the enquiry, such as the size of the load.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from pydantic import BaseModel

from recommender import units
from recommender.choice.options import Option
from recommender.inputs.case import Case, Station
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.quantities import ICE_POINT, KINDS, Kind, write

_NEARLY_NOTHING: Final = 1e-3
"""Lax end of a number that must stay above zero, as a share of what is asked."""

_MOST_FRICTION: Final = 1.5
_MOST_ACCELERATION: Final = 100.0
_MOST_SPEED: Final = 20.0
_MOST_JERK: Final = 1e5
_MORE_ITEMS: Final = 2
_MOST_POSITIONS: Final = 20
_LONGER: Final = 1.05


@dataclass(frozen=True)
class Situation:
    """An option and the case that it is asked to meet."""

    option: Option
    case: Case


Change = Callable[[Situation], Situation]


@dataclass(frozen=True)
class Number:
    """A number of the case that can be moved from where it is to a lax end.

    Parameters
    ----------
    key : str
        Dotted key of the case.
    start, lax : float
        Value asked for and the end towards which it is relaxed, SI.
    kind : Kind or None
        Its dimension; ``None`` for a plain number.
    put : callable
        The case with another value.
    text : callable, optional
        How the value is written in a case file, where that is not a quantity or a plain number.
    step : float
        How finely an edge is looked for, as a share of the value.
    by_price : bool
        Whether the option's price alone decides, so that the edge is the price.
    """

    key: str
    start: float
    lax: float
    kind: Kind | None
    put: Callable[[Case, float], Case]
    text: Callable[[float], str] | None = None
    step: float = 0.01
    by_price: bool = False

    def write(self, value: float) -> str:
        """Text that can be pasted into the case file."""
        if self.text is not None:
            return self.text(value)
        return f"{value:.8g}" if self.kind is None else write(value, self.kind, 6)

    @property
    def per_unit(self) -> float:
        """How many of the unit in which it is written one SI unit is."""
        if self.kind is None:
            return 1.0
        return units.steps_of(self.kind.si) or self.kind.per_si

    def at(self, value: float) -> Change:
        """The change to a value."""
        return lambda situation: replace(situation, case=self.put(situation.case, value))


@dataclass(frozen=True)
class Alternative:
    """Another choice for a key: its text, and what it changes."""

    text: str
    change: Change


@dataclass(frozen=True)
class Choice:
    """A key with a few alternatives, the least concession first."""

    key: str
    start: str
    alternatives: tuple[Alternative, ...]


@dataclass(frozen=True)
class Requirement:
    """One thing asked for.

    Parameters
    ----------
    key : str
        Dotted key of the case.
    given_up : tuple of callable
        Changes that each do without it; it is given up if any of them does.
    moves : tuple of Number or Choice
        Ways to relax it.
    """

    key: str
    given_up: tuple[Change, ...]
    moves: tuple[Number | Choice, ...]


def situations(
    situation: Situation, requirements: Sequence[Requirement], kept: frozenset[str]
) -> tuple[Situation, ...]:
    """The situations of which one must work if only some requirements are kept."""
    found = [situation]
    for requirement in requirements:
        if requirement.key not in kept:
            found = [change(each) for each in found for change in requirement.given_up]
    return tuple(found)


def list_requirements(case: Case, catalogue: Catalogue) -> tuple[Requirement, ...]:
    """Every requirement of a case that could be given up, in the order of the case file."""
    return (
        *_of_load(case),
        *_of_rate(case),
        *_of_loop(case, catalogue),
        *_of_stations(case),
        *_of_limits(case, catalogue),
        *_of_site(case, catalogue),
        *_of_life(case),
        *_of_commerce(case),
    )


def edited(case: Case, path: str, value: Any) -> Case:
    """The case with another value at a dotted path; stations go by name.

    Examples
    --------
    >>> case = Case.model_validate({"load": {"mass": "3 kg"}, "rate": {"items": "18/min"}})
    >>> edited(edited(case, "load.mass", 2.0), "station.unload.dwell", 0.5).station[1].dwell
    0.5
    """
    new: Case = _edited(case, path.split("."), value)
    return new


def _edited(table: Any, path: Sequence[str], value: Any) -> Any:
    head, *rest = path
    if isinstance(table, tuple):
        # A station's name may hold dots itself.
        name = ".".join(path[:-1])
        return tuple(
            _edited(entry, path[-1:], value) if entry.name == name else entry for entry in table
        )
    assert isinstance(table, BaseModel)
    new = _edited(getattr(table, head), rest, value) if rest else value
    return table.model_copy(update={head: new})


def value_at(case: Case, path: str) -> Any:
    """What stands at a dotted path of a case."""
    value: Any = case
    parts = path.split(".")
    for number, part in enumerate(parts):
        if isinstance(value, tuple):
            name = ".".join(parts[number:-1])
            station = next(entry for entry in value if entry.name == name)
            return getattr(station, parts[-1])
        value = getattr(value, part)
    return value


def _number(case: Case, key: str, kind: str, lax: float) -> Number:
    return Number(
        key=key,
        start=float(value_at(case, key)),
        lax=lax,
        kind=KINDS[kind] if kind else None,
        put=lambda case, value: edited(case, key, value),
    )


def _setting(key: str, value: Any) -> Change:
    return lambda situation: replace(situation, case=edited(situation.case, key, value))


def _to_lax_end(number: Number) -> Requirement:
    """A number that is given up by going to its lax end."""
    return Requirement(number.key, (number.at(number.lax),), (number,))


def _limit(case: Case, key: str, kind: str, lax: float) -> Iterator[Requirement]:
    """A ceiling of the case that may be absent."""
    if value_at(case, key) is not None:
        yield Requirement(key, (_setting(key, None),), (_number(case, key, kind, lax),))


def _of_load(case: Case) -> Iterator[Requirement]:
    load = case.load
    yield _to_lax_end(_number(case, "load.mass", "mass", _NEARLY_NOTHING * load.mass))
    if load.reach:
        reach = _number(case, "load.reach", "length", 0.0)
        # A load that reaches out leaves more room on the inner side of a bend, so that without
        # reach there can be less of it; then the reach that is asked may stay as it is.
        yield Requirement(reach.key, (reach.at(0.0), unchanged), (reach,))
    for key in ("load.offset", "load.cg_height"):
        if value_at(case, key):
            yield _to_lax_end(_number(case, key, "length", 0.0))
    if load.held != "clamped":
        yield _holding(case)
    if load.held == "clamped" and load.clamping_force is not None:
        yield from _limit(case, "load.clamping_force", "force", 100.0 * load.clamping_force)
    if load.liquid is not None:
        key = "load.liquid.freeboard"
        number = _number(case, key, "length", 100.0 * load.liquid.freeboard)
        yield Requirement(key, (_setting("load.liquid", None),), (number,))
    if case.tooling.mass:
        yield _to_lax_end(_number(case, "tooling.mass", "mass", 0.0))


def _holding(case: Case) -> Requirement:
    """That the load is not clamped: given up by clamping it, relaxed by more friction or a nest."""
    clamped = _clamped
    alternatives = [Alternative("clamped", clamped)]
    moves: list[Number | Choice] = []
    if case.load.held == "friction":
        alternatives.insert(0, Alternative("nested", _setting("load.held", "nested")))
        moves.append(_number(case, "load.friction", "", _MOST_FRICTION))
    nested = case.load.held == "nested"
    if nested and case.load.pocket is not None and case.load.pocket < case.load.cg_height:
        moves.append(_number(case, "load.pocket", "length", case.load.cg_height))
    moves.append(Choice("load.held", case.load.held, tuple(alternatives)))
    return Requirement("load.held", (clamped,), tuple(moves))


def _clamped(situation: Situation) -> Situation:
    """The load in a clamp that is strong enough."""
    case = edited(situation.case, "load.clamping_force", None)
    return replace(situation, case=edited(case, "load.held", "clamped"))


def _of_rate(case: Case) -> Iterator[Requirement]:
    items = case.rate.items
    yield _to_lax_end(_number(case, "rate.items", "rate", _NEARLY_NOTHING * items))
    allowed = case.rate.per_carrier
    more = tuple(
        _with_items(allowed, max(allowed) + extra)
        for extra in range(1, _MORE_ITEMS + 1)
        if max(allowed) + extra <= 20
    )
    if more:
        choice = Choice("rate.per_carrier", str(list(allowed)), more)
        changes = (unchanged, *(alternative.change for alternative in more))
        yield Requirement("rate.per_carrier", changes, (choice,))


def unchanged(situation: Situation) -> Situation:
    """The change that changes nothing."""
    return situation


def _with_items(allowed: tuple[int, ...], items: int) -> Alternative:
    counts = (*allowed, items)

    def change(situation: Situation) -> Situation:
        # With fewer items than allowed, allowing more concedes nothing to this option.
        if situation.option.items < max(allowed):
            return situation
        return Situation(
            replace(situation.option, items=items),
            edited(situation.case, "rate.per_carrier", counts),
        )

    return Alternative(str(list(counts)), change)


def _of_loop(case: Case, catalogue: Catalogue) -> Iterator[Requirement]:
    longest = catalogue.rules.longest_loop
    if case.loop.max_length is not None and case.loop.max_length < longest:
        yield _to_lax_end(_number(case, "loop.max_length", "length", longest))
    yield from _limit(case, "loop.max_width", "length", 100.0)
    if case.loop.plane == "upright":
        yield from _limit(case, "loop.max_height", "length", 100.0)
    yield from _limit(case, "loop.max_extent", "length", max(200.0, 2.0 * longest))
    if case.loop.plane == "upright":
        yield _only("loop.plane", "upright", "flat")
    if case.loop.restart == "together":
        yield _only("loop.restart", "together", "staggered")


def _only(key: str, start: str, other: str) -> Requirement:
    change = _setting(key, other)
    return Requirement(key, (change,), (Choice(key, start, (Alternative(other, change),)),))


def _of_stations(case: Case) -> Iterator[Requirement]:
    for station in case.station:
        prefix = f"station.{station.name}"
        yield from _of_work(case, station, prefix)
        yield from _of_place(case, station, prefix)


def _of_work(case: Case, station: Station, prefix: str) -> Iterator[Requirement]:
    for field in ("dwell", "after"):
        if getattr(station, field):
            kind = "duration" if field == "dwell" else "length"
            yield _to_lax_end(_number(case, f"{prefix}.{field}", kind, 0.0))
    if station.dwell_variation:
        yield _to_lax_end(_number(case, f"{prefix}.dwell_variation", "", 0.0))
    if "tolerance" in station.model_fields_set:
        lax = 100.0 * station.tolerance
        yield _to_lax_end(_number(case, f"{prefix}.tolerance", "length", lax))
    if any(station.force):
        yield _to_lax_end(_force(case, f"{prefix}.force"))


def _of_place(case: Case, station: Station, prefix: str) -> Iterator[Requirement]:
    if station.at is not None:
        yield Requirement(f"{prefix}.at", (_setting(f"{prefix}.at", None),), ())
    if station.side != "any" or case.loop.plane == "upright":
        yield _side(case, station, f"{prefix}.side")
    if station.length is not None:
        key = f"{prefix}.length"
        number = _number(case, key, "length", _NEARLY_NOTHING * station.length)
        yield Requirement(key, (_setting(key, None),), (number,))
    holds_up = station is _bottleneck(case)
    if station.positions > 1 or holds_up:
        yield _batch(station, f"{prefix}.positions", more=holds_up)
    if station.clear_of_joints:
        change = _setting(f"{prefix}.clear_of_joints", False)
        choice = Choice(f"{prefix}.clear_of_joints", "true", (Alternative("false", change),))
        yield Requirement(f"{prefix}.clear_of_joints", (change,), (choice,))


def _side(case: Case, station: Station, key: str) -> Requirement:
    """The side of a station; on an upright loop there is only the other run to go to."""
    if case.loop.plane == "flat":
        return _only(key, station.side, "any")
    other = "upper" if station.side in {"lower", "back"} else "lower"
    change = _setting(key, other)
    choice = Choice(key, station.side, (Alternative(other, change),))
    return Requirement(key, (unchanged, change), (choice,))


def _bottleneck(case: Case) -> Station | None:
    """The station that is taken longest by each carrier; none if two are taken alike."""
    items = min(case.rate.per_carrier)
    order = sorted(case.station, key=lambda s: s.occupied_with(items) / s.positions, reverse=True)
    longest = [station.occupied_with(items) / station.positions for station in order[:2]]
    if len(order) > 1 and longest[0] <= longest[1] * _LONGER:
        return None
    return order[0]


def _batch(station: Station, key: str, *, more: bool) -> Requirement:
    """That so many carriers are served at once.

    Fewer need less room, but come round sooner. Where the station holds up the others one place
    more halves its share of the takt, or nearly so.
    """
    counts = [*range(station.positions - 1, 0, -1)]
    if more and station.positions < _MOST_POSITIONS:
        counts = [station.positions + 1, *counts]
    others = tuple(Alternative(str(count), _setting(key, count)) for count in counts)
    changes = (*(alternative.change for alternative in others), unchanged)
    return Requirement(key, changes, (Choice(key, str(station.positions), others),))


def _force(case: Case, key: str) -> Number:
    """A process force, relaxed by its strength with its direction kept."""
    force = value_at(case, key)
    strength = float(sum(component**2 for component in force) ** 0.5)

    def scaled(value: float) -> tuple[float, ...]:
        return tuple(round(component * value / strength, 1) for component in force)

    def text(value: float) -> str:
        written = ", ".join(f'"{write(part, KINDS["force"])}"' for part in scaled(value))
        return f"[{written}]"

    return Number(
        key=key,
        start=strength,
        lax=0.0,
        kind=KINDS["force"],
        put=lambda case, value: edited(case, key, scaled(value)),
        text=text,
    )


def _of_limits(case: Case, catalogue: Catalogue) -> Iterator[Requirement]:
    yield from _limit(case, "limits.acceleration", "acceleration", _MOST_ACCELERATION)
    if case.limits.acceleration is None and case.load.held != "friction":
        yield _to_lax_end(_usual_acceleration(catalogue.rules.load_acceleration))
    yield from _limit(case, "limits.jerk", "jerk", _MOST_JERK)
    yield from _limit(case, "limits.speed", "speed", _MOST_SPEED)


def _of_site(case: Case, catalogue: Catalogue) -> Iterator[Requirement]:
    """Surroundings warmer than those that forces are rated for; cooler ones give nothing more."""
    rated, key = catalogue.rules.rated_ambient, "site.ambient"
    if case.site.ambient > rated:
        # In whole steps of degrees, not of kelvins.
        number = Number(
            key=key,
            start=case.site.ambient - ICE_POINT,
            lax=rated - ICE_POINT,
            kind=None,
            put=lambda case, value: edited(case, key, value + ICE_POINT),
            text=lambda value: f"{value:.6g} °C",
        )
        yield _to_lax_end(number)


def _usual_acceleration(usual: float) -> Number:
    """What a load is taken to bear where nothing is said, as if the enquiry had said it."""
    key = "limits.acceleration"
    return Number(
        key=key,
        start=usual,
        lax=_MOST_ACCELERATION,
        kind=KINDS["acceleration"],
        put=lambda case, value: edited(case, key, value),
    )


def _of_life(case: Case) -> Iterator[Requirement]:
    hours = case.life.hours
    yield _to_lax_end(_number(case, "life.hours", "", _NEARLY_NOTHING * hours))
    if case.life.reliability > 90.0:
        reliability = _number(case, "life.reliability", "", 90.0)
        yield _to_lax_end(replace(reliability, step=1e-3))


def _of_commerce(case: Case) -> Iterator[Requirement]:
    if case.commercial.budget is not None:
        key = "commercial.budget"
        currency = case.commercial.budget.split()[1]
        number = Number(
            key=key,
            start=float(case.commercial.budget.split()[0]),
            lax=1e9,
            kind=None,
            put=lambda case, value: edited(case, key, f"{value:.2f} {currency}"),
            text=lambda value: f"{value:.2f} {currency}",
            by_price=True,
        )
        yield Requirement(key, (_setting(key, None),), (number,))
    yield from _limit(case, "commercial.latest_delivery", "lead time", 520.0)
