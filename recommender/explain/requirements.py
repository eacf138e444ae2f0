"""What the customer asked for, as requirements that can be given up or relaxed.

A requirement is one key of the case. *Giving it up* leaves the case as if it asked for nothing
there; *relaxing* moves it only so far, in steps that each concede more: a number through values
that read well towards its lax end, a choice through its alternatives. What is neither here nor
given up is a fact of the enquiry, such as the size of the load.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from operator import attrgetter
from typing import Any, Final, TypeAlias, TypeVar

from pydantic import BaseModel

from recommender import units
from recommender.choice.checks.configured import BUDGET
from recommender.choice.parts.options import Option
from recommender.explain.measures import spoken
from recommender.explain.round_numbers import rank_below, round_number
from recommender.inputs.case import Case
from recommender.inputs.quantities import Kind, write

_ANOTHER_WAY: Final = 0.6
_NOTHING: Final = 2e-3
"""Share of what is asked below which only the lax end 0 is left."""


@dataclass(frozen=True)
class Situation:
    """An option and the case that it is asked to meet."""

    option: Option
    case: Case


Change: TypeAlias = Callable[[Situation], Situation]


@dataclass(frozen=True)
class Concession:
    """One key of the case changed: text before and after, and a noun with what it has to be.

    For a number also what is asked, the value after the change, and one a step short of it, SI.
    """

    key: str
    start: str
    to: str
    words: str
    asked: float | None = None
    value: float | None = None
    short: float | None = None

    @property
    def effort(self) -> float:
        """How much it concedes: the logarithm by which a number changes.

        Another way to do things counts as much as a number that nearly doubles or halves.

        Examples
        --------
        >>> rate = Concession("rate.items", "18/min", "9/min", "9 items/min or fewer", 0.3, 0.15)
        >>> round(rate.effort, 3)
        0.693
        """
        if self.asked is None or self.value is None:
            return _ANOTHER_WAY
        return abs(math.log(self.value / self.asked)) if self.value else math.inf

    @property
    def share(self) -> float:
        """By how much of what was asked a number gives; 0 of a choice, which is another way.

        Examples
        --------
        >>> mass = Concession("load.mass", "30 kg", "27 kg", "the load at 27 kg", 30.0, 27.0)
        >>> round(mass.share, 3)
        0.1
        """
        if self.asked is None or self.value is None:
            return 0.0
        return abs(self.value - self.asked) / abs(self.asked) if self.asked else math.inf


@dataclass(frozen=True)
class Number:
    """A number of the case that can be moved from where it is, step -1, to a lax end, the last.

    Steps are counted in whole numbers in the unit in which it is written, magnitudes without sign.

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
    words : callable
        A concession as a noun, from the value as it is said.
    text : callable, optional
        How the value is written in a case file, where that is not a quantity or a plain number.
    said : callable, optional
        How the value is said in a sentence, where that is not as it is written.
    fine : int
        How many steps the value is.
    by_price : bool
        Whether the option's price alone decides, so that the edge is the price.
    """

    key: str
    start: float
    lax: float
    kind: Kind | None
    put: Callable[[Case, float], Case]
    words: Callable[[str], str]
    text: Callable[[float], str] | None = None
    said: Callable[[float], str] | None = None
    fine: int = 100
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

    @property
    def sense(self) -> int:
        """1 if it is relaxed upwards, -1 if downwards."""
        return 1 if abs(self.lax) > abs(self.start) else -1

    @cached_property
    def _first(self) -> int:
        """The round number that is the first step."""
        rank, exact = self._rank(abs(self.start) * self.per_unit)
        return rank + 1 if self.sense > 0 else rank - exact

    @cached_property
    def last(self) -> int:
        """The step that is the lax end."""
        rank, exact = self._rank((abs(self.lax) or _NOTHING * abs(self.start)) * self.per_unit)
        between = rank - exact - self._first if self.sense > 0 else self._first - rank - 1
        return max(between + 1, 0) + (not self.lax and exact)

    def _rank(self, shown: float) -> tuple[int, bool]:
        """The last round number that is not greater than a magnitude, and whether it is that."""
        rank = rank_below(shown, self.fine)
        return rank, round_number(rank, self.fine) >= shown * (1.0 - 1e-9)

    def shown(self, step: int) -> float:
        """Magnitude of a step, in the unit in which it is written."""
        if step < 0:
            return abs(self.start) * self.per_unit
        if step >= self.last:
            return abs(self.lax) * self.per_unit
        return round_number(self._first + self.sense * step, self.fine)

    def value(self, step: int) -> float:
        """SI value of a step."""
        return math.copysign(self.shown(step), self.start) / self.per_unit

    def step_at(self, shown: float) -> int:
        """The first step that concedes as much as a magnitude in the unit that is written."""
        if not shown:
            return self.last
        rank, exact = self._rank(shown)
        rank += self.sense > 0 and not exact
        return min(max(self.sense * (rank - self._first), 0), self.last)

    def change(self, step: int) -> Change:
        """The change to a step."""
        return self.at(self.value(step))

    def concession(self, step: int) -> Concession:
        """The concession to a step."""
        value = self.value(step)
        to = self.write(value)
        amount = self.said(value) if self.said else spoken(to)
        start = self.write(self.start)
        return Concession(
            self.key, start, to, self.words(amount), self.start, value, self.value(step - 1)
        )


@dataclass(frozen=True)
class Alternative:
    """Another choice for a key: its text, a concession to it as a noun, and what it changes."""

    text: str
    words: str
    change: Change


@dataclass(frozen=True)
class Choice:
    """A key with a few alternatives, the least concession first: one step each."""

    key: str
    start: str
    alternatives: tuple[Alternative, ...]

    @property
    def last(self) -> int:
        """The step that concedes most."""
        return len(self.alternatives) - 1

    def change(self, step: int) -> Change:
        """The change to an alternative."""
        return self.alternatives[step].change if step >= 0 else unchanged

    def concession(self, step: int) -> Concession:
        """The concession to an alternative."""
        to = self.alternatives[step]
        return Concession(self.key, self.start, to.text, to.words)


Move: TypeAlias = Number | Choice


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
    moves: tuple[Move, ...]


def situations(
    situation: Situation, requirements: Sequence[Requirement], kept: frozenset[str]
) -> tuple[Situation, ...]:
    """The situations of which one must work if only some requirements are kept."""
    return in_all_ways(situation, (each.given_up for each in requirements if each.key not in kept))


def in_all_ways(situation: Situation, changes: Iterable[Sequence[Change]]) -> tuple[Situation, ...]:
    """The situations after one of each of some groups of changes, in every way there is.

    Groups change different things, and what is changed in one way alone is so first, once.
    """
    found = [situation]
    for ways in sorted(changes, key=len):
        found = [change(each) for each in found for change in ways]
    return tuple(found)


def unchanged(situation: Situation) -> Situation:
    """The change that changes nothing."""
    return situation


def setting(key: str, value: Any) -> Change:
    """The change of one key of the case."""
    return lambda situation: replace(situation, case=edited(situation.case, key, value))


def edited(case: Case, key: str, value: Any) -> Case:
    """The case with another value at a dotted key; stations go by name.

    Examples
    --------
    >>> case = Case.model_validate({"load": {"mass": "3 kg"}, "rate": {"items": "18/min"}})
    >>> edited(edited(case, "load.mass", 2.0), "station.unload.dwell", 0.5).station[1].dwell
    0.5
    """
    if not (name := station_of(key)):
        return _edited(case, key.split("."), value)
    field = key.rpartition(".")[2]
    stations = (
        station.model_copy(update={field: value}) if station.name == name else station
        for station in case.station
    )
    return case.model_copy(update={"station": tuple(stations)})


def without_budget(case: Case) -> Case:
    """The case with as much to spend as it takes."""
    return case if case.commercial.budget is None else edited(case, BUDGET, None)


_Table = TypeVar("_Table", bound=BaseModel)


def _edited(table: _Table, path: Sequence[str], value: Any) -> _Table:
    head, *rest = path
    new = _edited(getattr(table, head), rest, value) if rest else value
    return table.model_copy(update={head: new})


def value_at(case: Case, key: str) -> Any:
    """What stands at a dotted key of a case."""
    if not (name := station_of(key)):
        return attrgetter(key)(case)
    station = next(entry for entry in case.station if entry.name == name)
    return getattr(station, key.rpartition(".")[2])


def station_of(key: str) -> str:
    """The station of a requirement, if it has one; its name may hold dots itself.

    Examples
    --------
    >>> station_of("station.fill.2.dwell"), station_of("load.mass")
    ('fill.2', '')
    """
    return key.removeprefix("station.").rpartition(".")[0] if key.startswith("station.") else ""


def table_key(key: str) -> str:
    """The key of the table under which a requirement stands.

    Examples
    --------
    >>> table_key("station.fill.2.dwell"), table_key("load.mass")
    ('station.dwell', 'load.mass')
    """
    return f"station.{key.rpartition('.')[2]}" if key.startswith("station.") else key
