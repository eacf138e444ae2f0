"""A map of a case, column by column, on any executor of `concurrent.futures`.

Which columns are worked out, and from which others each takes over what it may, does not depend on
the executor: the map is the same on one process as on many.
"""

import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise
from typing import Final, Literal

import numpy as np

from recommender.choice.decision.ask import Asker, Priced
from recommender.choice.decision.decide import cheapest_alone
from recommender.choice.parts.goals import GAP, as_good_from
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.given import with_values
from recommender.maps.column import Cell, Column, cell_of, cells_of, solve
from recommender.maps.over import LEAST_POINTS, Over, read_over
from recommender.maps.trend import trend
from recommender.physics.arguments import trusted
from recommender.results.map import Map, MapCell, MapInput, MapOption

Progress = Callable[[str, int, int], None]
Turn = tuple[int, int | None, int | None]
"""A column, and the two between which it lies."""
Alone = tuple[Priced | None, int]
"""What is cheapest in a cell that was worked out by itself, and a price that nothing undercuts."""

USUAL_POINTS: Final = (10, 24, 40)
"""Values of each input where of none, one or both it is known that more never costs less."""
_FIRST_COLUMNS: Final = 4
_CHECKED: Final = 16
_CENT: Final = Decimal("0.01")
_WORDS: Final[dict[int, Literal["more", "less", "unknown"]]] = {1: "more", -1: "less", 0: "unknown"}


@dataclass(frozen=True)
class Grid:
    """The cases of a map: values of an outer input, one column each, and of an inner one.

    Both go from the mildest to the hardest where that is known.
    """

    case: Case
    outer: Over
    inner: Over
    ordered: bool
    neighbours: bool

    def cases(self, column: int) -> list[Case]:
        """The cases of one column."""
        outer = self.outer.values[column]
        return [
            with_values(self.case, {self.outer.key: outer, self.inner.key: inner})
            for inner in self.inner.values
        ]


def read_inputs(
    texts: Sequence[str], case: Case, catalogue: Catalogue, points: int | None
) -> tuple[Over, Over]:
    """Two inputs from text, with fewer values where more cells have to be worked out.

    Parameters
    ----------
    texts : sequence of str
        As for `recommender.maps.over.read_over`.
    case : Case
    catalogue : Catalogue
    points : int, optional
        Values of each, if that is said.

    Raises
    ------
    InputError
        With what was read and what would do.
    """
    over = read_over(texts, case, LEAST_POINTS if points is None else points)
    if points is not None:
        return over
    known = sum(trend(one, other, case, catalogue) != 0 for one, other in (over, over[::-1]))
    return read_over(texts, case, USUAL_POINTS[known])


def map_of(
    case: Case,
    over: tuple[Over, Over],
    catalogue: Catalogue,
    *,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Map:
    """What is cheapest for all values of two inputs.

    Parameters
    ----------
    case : Case
    over : tuple of Over
    catalogue : Catalogue
    executor : concurrent.futures.Executor, optional
        Where columns are worked out; in this process if it is not given.
    progress : callable, optional

    Returns
    -------
    Map
    """
    trends = trend(over[0], over[1], case, catalogue), trend(over[1], over[0], case, catalogue)
    grid, turned = _grid(case, over, trends)
    columns, itself = _columns(grid, catalogue, executor, progress)
    checked, alone = sum(column.checked for column in columns), not grid.neighbours
    if any(column.undercut for column in columns):
        # What was taken for granted of these inputs does not hold in this case.
        alone = True
        grid = Grid(grid.case, grid.outer, grid.inner, grid.ordered, neighbours=False)
        columns, itself = _columns(grid, catalogue, executor, progress)
    cells = _in_order(columns, trends, turned=turned)
    own = cell_of(*itself)
    first, second = (
        MapInput(o.key, o.name, o.unit, o.values, o.asked, _WORDS[t])
        for o, t in zip(over, trends, strict=True)
    )
    return Map(
        title=case.title,
        currency=catalogue.catalogue.currency,
        first=first,
        second=second,
        cells=tuple(map(_told, cells)),
        options=_options([cell for cell in cells if cell.found], catalogue),
        asked=_told(own),
        tolerance=GAP,
        worked_out=sum(column.asked for column in columns) + 1,
        checked=checked,
        alone=alone,
    )


def _in_order(columns: Sequence[Column], trends: tuple[int, int], *, turned: bool) -> list[Cell]:
    """Cells by rising values of the second input, for each value of the first."""
    table = [cells_of(column) for column in columns]
    back = [slice(None, None, -1) if t < 0 else slice(None) for t in trends]
    outer, inner = (1, 0) if turned else (0, 1)
    table = [row[back[inner]] for row in table[back[outer]]]
    if turned:
        table = [list(row) for row in zip(*table, strict=True)]
    return [cell for row in table for cell in row]


def _grid(case: Case, over: tuple[Over, Over], trends: tuple[int, int]) -> tuple[Grid, bool]:
    """The grid, and whether its columns are those of the second input.

    Along a column what is known goes on: so that is an input with a trend, and best the rate, for
    which load cases stay as they are.
    """
    turned = bool(trends[0]) and (not trends[1] or _spares_load_cases(over[0].key, over[1].key))
    outer, inner = (over[1], over[0]) if turned else over
    ways = (trends[1], trends[0]) if turned else trends
    ordered = bool(ways[1])
    outer, inner = (_ordered(o, way) for o, way in ((outer, ways[0]), (inner, ways[1])))
    return Grid(case, outer, inner, ordered, neighbours=all(trends)), turned


def _ordered(over: Over, way: int) -> Over:
    values = over.values[::-1] if way < 0 else over.values
    return Over(over.key, over.name, over.unit, values, over.asked)


def _spares_load_cases(first: str, second: str) -> bool:
    return _of_the_loop(first) and not _of_the_loop(second)


def _of_the_loop(key: str) -> bool:
    return not key.startswith(("load.", "tooling.", "limits."))


def _columns(
    grid: Grid, catalogue: Catalogue, executor: Executor | None, progress: Progress | None
) -> tuple[list[Column], Alone]:
    """All columns, each as soon as those are there that it lies between, and the case itself."""
    count = len(grid.outer.values)
    alone: list[Turn] = [(k, None, None) for k in range(count)]
    order = list(_order(count)) if grid.neighbours else alone
    done: dict[int, Column] = {}
    if executor is None:
        for k, milder, harder in order:
            done[k] = column_of(grid, k, _at(done, milder), _at(done, harder), catalogue)
            if progress:
                progress("columns", len(done), count)
        return [done[k] for k in range(count)], _of_itself(grid.case, catalogue)
    running: dict[Future[Column], int] = {}
    itself = executor.submit(_of_itself, grid.case, catalogue)
    while order or running:
        for entry in list(order):
            k, milder, harder = entry
            if all(other is None or other in done for other in (milder, harder)):
                order.remove(entry)
                task = executor.submit(
                    column_of, grid, k, _at(done, milder), _at(done, harder), catalogue
                )
                running[task] = k
        for task in wait(running, return_when=FIRST_COMPLETED).done:
            done[running.pop(task)] = task.result()
            if progress:
                progress("columns", len(done), count)
    return [done[k] for k in range(count)], itself.result()


def _at(done: dict[int, Column], k: int | None) -> Column | None:
    return None if k is None else done[k]


def _order(count: int) -> Iterator[Turn]:
    """Columns with the two between which each lies: some first, then always the middle."""
    ends = sorted({round(k) for k in np.linspace(0, count - 1, min(_FIRST_COLUMNS, count))})
    yield from ((k, None, None) for k in ends)
    spans = list(pairwise(ends))
    while spans:
        first, last = spans.pop(0)
        if last - first > 1:
            middle = (first + last) // 2
            yield middle, first, last
            spans += [(first, middle), (middle, last)]


class _Kept(threading.local):
    """The last asker of this thread, with its catalogue: what it shares takes time to build."""

    digest = ""
    asker: Asker | None = None


_KEPT: Final = _Kept()


def _asker(catalogue: Catalogue) -> Asker:
    digest = catalogue.digest
    if _KEPT.asker is None or _KEPT.digest != digest:
        _KEPT.digest, _KEPT.asker = digest, Asker(catalogue)
    return _KEPT.asker


def column_of(
    grid: Grid, k: int, milder: Column | None, harder: Column | None, catalogue: Catalogue
) -> Column:
    """One column of a grid."""
    cases = grid.cases(k)
    if grid.ordered:
        with trusted():
            column = solve(_asker(catalogue), cases, str(k), milder, harder)
        # What is known of its load cases is at hand here alone.
        return _checked(grid, k, column, catalogue) if grid.neighbours else column
    each = [_of_itself(case, catalogue) for case in cases]
    least = np.array([bound for _, bound in each], dtype=np.int64)
    return Column(tuple(found for found, _ in each), least, {"": least}, len(each))


def _of_itself(case: Case, catalogue: Catalogue) -> Alone:
    """A cell as the choice is made, and a price that nothing undercuts."""
    found, bound = cheapest_alone(case, catalogue)
    if found is None:
        return None, bound
    return Priced(found.audit.configuration, found.price, found.audit.takt), bound


def _checked(grid: Grid, k: int, column: Column, catalogue: Catalogue) -> Column:
    """A column of which some cells were asked about again, each by itself.

    Where one price gives way to the next, over the whole map, is where a cheaper one would be.
    """
    price = column.price
    steps = np.flatnonzero(np.diff(price, prepend=0))
    looked_at = np.linspace(1, len(grid.outer.values) - 2, _CHECKED).astype(int)
    places = {int(steps[number % len(steps)]) for number in np.flatnonzero(looked_at == k)}
    undercut = any(_undercut(grid, k, j, int(price[j]), catalogue) for j in sorted(places))
    return replace(column, checked=len(places), undercut=undercut)


def _undercut(grid: Grid, k: int, j: int, price: int, catalogue: Catalogue) -> bool:
    """Whether a cell has something cheaper than a price by more than what is called proven."""
    with trusted():
        found, _ = _asker(catalogue).cheaper(grid.cases(k)[j], {}, as_good_from(price))
    return found is not None


def _told(cell: Cell) -> MapCell:
    found = cell.found
    if found is None:
        return MapCell(None, None, None, cell.proven)
    configuration = found.configuration
    price = (Decimal(found.price) / 100).quantize(_CENT)
    return MapCell(configuration.option.id, configuration.carriers, price, cell.proven)


def _options(cells: Sequence[Cell], catalogue: Catalogue) -> tuple[MapOption, ...]:
    """Options that are cheapest somewhere, by the least that they cost there."""
    prices: dict[str, list[Priced]] = {}
    for cell in cells:
        if cell.found is not None:
            prices.setdefault(cell.found.configuration.option.id, []).append(cell.found)
    told = []
    for id_, found in prices.items():
        option = found[0].configuration.option
        least, most = (Decimal(f(one.price for one in found)) / 100 for f in (min, max))
        told.append(
            MapOption(
                id_,
                option.carrier.id,
                catalogue.families[option.carrier.family].name,
                len(found),
                least.quantize(_CENT),
                most.quantize(_CENT),
            )
        )
    return tuple(sorted(told, key=lambda one: (one.least, one.id)))
