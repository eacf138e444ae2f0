"""One column of a map: the cells of one value of the first input, from the mildest to the hardest.

A milder demand never costs more (`recommender.maps.trend` says of which inputs that is known). So
where two cells cost the same, all between them do; what holds in a hard cell is a price that a
milder one does not exceed; and what an option does not undercut in a mild cell it does not undercut
in a harder one. Only cells between two prices are asked about, and only options that may lie there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from recommender.choice.decision.ask import Asker, Priced
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import GAP
from recommender.choice.parts.options import takt_of
from recommender.choice.parts.pricing import Cents
from recommender.inputs.case import Case

Prices = NDArray[np.int64]

_HAIR: Final = 1e-9


@dataclass(frozen=True)
class Cell:
    """The cheapest configuration of a cell, and whether nothing is cheaper by more than `GAP`."""

    found: Priced | None
    proven: bool


@dataclass(frozen=True)
class Column:
    """What is known of the cells of a column, (cells,) each.

    ``found`` is the cheapest configuration, ``None`` where none works; ``least`` what the decision
    gives at least, since it gave as much for a milder cell; ``bounds`` by the ids of options prices
    that they do not undercut. All prices are cents, `NEVER` where nothing works. ``asked`` cells
    were asked about, and ``checked`` ones again with nothing known of their neighbours: in one of
    them something was cheaper if ``undercut``.
    """

    found: tuple[Priced | None, ...]
    least: Prices
    bounds: dict[str, Prices]
    asked: int
    checked: int = 0
    undercut: bool = False

    @property
    def price(self) -> Prices:
        """Prices of the cells."""
        prices = [NEVER if one is None else one.price for one in self.found]
        return np.array(prices, dtype=np.int64)

    @property
    def bound(self) -> Prices:
        """What nothing undercuts in each cell."""
        least = np.min(list(self.bounds.values()), axis=0)
        return np.asarray(np.minimum(least, self.price), dtype=np.int64)

    @property
    def proven(self) -> NDArray[np.bool_]:
        """Whether nothing is cheaper in each cell by more than `GAP`."""
        return np.asarray(self.bound >= (1.0 - GAP) * self.price)


def cells_of(column: Column) -> list[Cell]:
    """The cells of a column."""
    return [Cell(*one) for one in zip(column.found, column.proven.tolist(), strict=True)]


def cell_of(found: Priced | None, bound: Cents) -> Cell:
    """A cell by itself, with a price that nothing undercuts."""
    return Cell(found, bound >= (1.0 - GAP) * (NEVER if found is None else found.price))


@dataclass
class _Work:
    """A column that is being worked out."""

    asker: Asker
    cases: Sequence[Case]
    found: list[Priced | None]
    least: Prices
    bounds: dict[str, Prices]
    asked: NDArray[np.bool_]
    name: str
    audited: set[tuple[str, int]] = field(default_factory=set)
    refused: dict[str, int] = field(default_factory=dict)

    @property
    def price(self) -> Prices:
        return np.array([NEVER if one is None else one.price for one in self.found])

    def runs(self) -> list[tuple[int, int]]:
        """Cells that are open yet, as runs for which the same configuration is known."""
        price = self.price
        is_open = (self.least < price) & ~self.asked
        runs: list[tuple[int, int]] = []
        for k in np.flatnonzero(is_open):
            if runs and runs[-1][1] == k - 1 and price[k] == price[k - 1]:
                runs[-1] = runs[-1][0], int(k)
            else:
                runs.append((int(k), int(k)))
        return runs

    def ask(self, k: int) -> None:
        """Ask for something cheaper in a cell, and note what that says of others."""
        known = {id_: int(least[k]) for id_, least in self.bounds.items()}
        limit = int(self.price[k])
        found, bounds = self.asker.cheaper(self.cases[k], known, limit)
        self.asked[k] = True
        for id_, bound in bounds.items():
            row = self.bounds.setdefault(id_, np.zeros(len(self.cases), dtype=np.int64))
            row[k:] = np.maximum(row[k:], bound)
        if found is not None:
            found = replace(found, origin=f"{self.name}/{k}")
            self.audited.add((found.origin, k))
            self._spread(found, k)
            limit = found.price
        self.least[k:] = np.maximum(self.least[k:], limit)

    def _spread(self, found: Priced, k: int) -> None:
        """Note a configuration in all cells that it is known to serve more cheaply."""
        hardest = self._as_far_as_it_keeps(found, k)
        if hardest > k and self.holds(found, hardest):
            k = hardest
        for j in range(k + 1):
            known = self.found[j]
            if known is None or known.price > found.price:
                self.found[j] = found

    def _as_far_as_it_keeps(self, found: Priced, k: int) -> int:
        """The last cell whose takt a configuration keeps, among those for which it is cheaper."""
        option, catalogue = found.configuration.option, self.asker.catalogue
        last = k
        while (
            last + 1 < len(self.cases)
            and self.price[last + 1] > found.price
            and self.least[last + 1] <= found.price
            and takt_of(option, self.cases[last + 1], catalogue) >= found.takt * (1.0 - _HAIR)
        ):
            last += 1
        return last

    def holds(self, found: Priced, k: int) -> bool:
        """Whether a configuration passes its audit in a cell at the same price."""
        if (found.origin, k) not in self.audited:
            again = self.asker.holds(found.configuration, self.cases[k])
            if again is None or again.price > found.price:
                return False
            self.audited.add((found.origin, k))
        return True


def solve(
    asker: Asker,
    cases: Sequence[Case],
    name: str,
    milder: Column | None = None,
    harder: Column | None = None,
) -> Column:
    """All cells of a column.

    Parameters
    ----------
    asker : Asker
    cases : sequence of Case
        The mildest first.
    milder, harder : Column, optional
        Columns between which this one lies.
    """
    count = len(cases)
    work = _Work(
        asker,
        cases,
        [None] * count,
        np.zeros(count, dtype=np.int64) if milder is None else milder.least.copy(),
        {} if milder is None else {id_: row.copy() for id_, row in milder.bounds.items()},
        np.zeros(count, dtype=bool),
        name,
    )
    if harder is not None and milder is not None:
        # Between two cells that cost the same nothing else may cost more or less.
        work.audited |= {
            (one.origin, k)
            for k, (one, least) in enumerate(zip(harder.found, milder.price, strict=True))
            if one is not None and one.price == least
        }
    if harder is not None:
        _take_over(work, harder)
    while runs := work.runs():
        for first, last in runs:
            # From nothing, the ends are asked before what lies between them.
            unknown = first == 0 and work.least[0] == 0
            k = 0 if unknown else (first + last) // 2
            if not _take_up(work, milder, k):
                work.ask(k)
            break
    _hold_everywhere(work)
    return Column(tuple(work.found), work.least, work.bounds, int(work.asked.sum()))


def _same(one: Priced | None, other: Priced | None) -> bool:
    return one is not None and other is not None and one.origin == other.origin


def _take_over(work: _Work, harder: Column) -> None:
    """Configurations of a harder column that pass their audits in the hardest cells they serve."""
    count = len(work.cases)
    for k in reversed(range(count)):
        found = harder.found[k]
        beyond = work.found[k + 1] if k + 1 < count else None
        work.found[k] = beyond
        if found is None or (beyond is not None and beyond.price <= found.price):
            continue
        refused = k + 1 < count and _same(harder.found[k + 1], found)
        if not refused and work.holds(found, k):
            work.found[k] = found


def _take_up(work: _Work, milder: Column | None, k: int) -> bool:
    """Whether a configuration of a milder column serves a cell: then nothing is cheaper there."""
    found = None if milder is None else milder.found[k]
    if milder is None or found is None or found.price > work.least[k] or not milder.proven[k]:
        return False
    if work.refused.get(found.origin, k + 1) <= k:
        return False
    if not work.holds(found, k):
        work.refused[found.origin] = k
        return False
    work._spread(found, k)
    return True


def _hold_everywhere(work: _Work) -> None:
    """Audit each configuration in the mildest cell that it serves as well.

    Each check of a configuration goes one way with the rate: most are easier at a lower one, room
    for a queue is not. So one that passes at both ends of a run passes between them.
    """
    for k, found in enumerate(list(work.found)):
        if found is None or (k and _same(work.found[k - 1], found)):
            continue
        j = k
        while j < len(work.cases) and _same(work.found[j], found) and not work.holds(found, j):
            work.found[j], _ = work.asker.cheaper(work.cases[j], {}, NEVER)
            j += 1
