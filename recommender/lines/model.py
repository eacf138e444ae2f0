"""A line of loops as it is asked for: each loop a whole case, tied by handovers."""

from dataclasses import dataclass, field
from typing import Literal

from recommender.inputs.case import Case
from recommender.inputs.case_tables import Commercial
from recommender.lines.tables import Space, Spares

Between = Literal["buffer", "direct"]


@dataclass(frozen=True)
class NamedLoop:
    """One loop, with all that stands above it merged in and its rate filled in.

    ``supplied`` says whether the rate follows from handovers. The case has no budget, which is the
    line's. Where boxes stand while their units arrive, `recommender.lines.direct` says how long.
    ``own`` are the keys that may stand above the loops and that this one says itself; where they
    stand makes no difference to what is asked.
    """

    name: str
    case: Case
    supplied: bool
    own: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True)
class Handover:
    """Items of one loop become one item of another.

    Parameters
    ----------
    name : str
        As keys call it, ``handover.pack.items`` for one from ``units.pack``.
    giver, gives_at, taker, takes_at : str
        Loop and station at its beginning and at its end.
    items : int
        Items of the giver in one item of the taker.
    between : {"buffer", "direct"}
        Whether only the rates are tied, or a box stands while its units arrive.
    share : float
        Share of the giver's items that go this way.
    positions : tuple of int
        Numbers of places among which the choice may take, for a direct one.
    """

    name: str
    giver: str
    gives_at: str
    taker: str
    takes_at: str
    items: int
    between: Between
    share: float = 1.0
    positions: tuple[int, ...] = (1,)

    @property
    def beginning(self) -> str:
        """Loop and station that give."""
        return f"{self.giver}.{self.gives_at}"

    @property
    def end(self) -> str:
        """Loop and station that take."""
        return f"{self.taker}.{self.takes_at}"


@dataclass(frozen=True)
class Line:
    """A line of loops.

    ``loops`` stand as in the file; ``commercial`` holds the budget of the whole, which no loop's
    case has, and what its loops' cases have as well: delivery, and what an order goes without.
    ``reserve`` is the one that all loops have, ``None`` for that of the house.
    """

    title: str
    units: Literal["metric", "us"]
    loops: tuple[NamedLoop, ...]
    handovers: tuple[Handover, ...]
    spares: Spares
    floor: Space
    commercial: Commercial
    reserve: float | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The loops' names."""
        return tuple(loop.name for loop in self.loops)

    @property
    def cases(self) -> dict[str, Case]:
        """Each loop's case."""
        return {loop.name: loop.case for loop in self.loops}
