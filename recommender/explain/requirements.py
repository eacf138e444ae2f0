"""What the customer asked for, as requirements that can be given up or relaxed.

A requirement is one key of the case. *Giving it up* leaves the case as if it asked for nothing
there; *relaxing* moves it only so far: a number step by step towards its lax end, a choice through
the alternatives in the order in which they concede more. What is neither here nor given up is a
fact of the enquiry, such as the size of the load.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel

from recommender import units
from recommender.choice.parts.options import Option
from recommender.inputs.case import Case
from recommender.inputs.quantities import Kind, write


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
        How finely an edge is looked for, as a share of the value: a power of ten.
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


def unchanged(situation: Situation) -> Situation:
    """The change that changes nothing."""
    return situation


def setting(key: str, value: Any) -> Change:
    """The change of one key of the case."""
    return lambda situation: replace(situation, case=edited(situation.case, key, value))


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
