"""Where stations and sections go, decided by a constraint model, the same on every run.

Of all places on a grid that the checks accept those are taken that leave the most room for waiting
carriers, then those whose tightest gap is widest, then the most even ones; what is still open
after that makes no difference to anybody and is settled by the lowest numbers.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.cpsat import Budget
from recommender.choice.parts.placement import Loop, Placement, place_step
from recommender.choice.solver import cp_model
from recommender.choice.stations.model import SeatingModel
from recommender.choice.stations.orders import Orders
from recommender.choice.stations.tables import MICROSECONDS, SeatingTables
from recommender.choice.unknown import Unknown

_MOST_WEIGHT = 10**9


@dataclass(frozen=True)
class Seated:
    """Sections along the travel and places of the stations that the checks of a loop accept.

    ``moving_time`` is the lap without dwells, s, never less than the true one. ``wanted`` are the
    carriers that gather before each station. ``proven`` says that no placement on the grid is
    better; it is false if the work ran out, or the first placement was enough.
    """

    front: tuple[str, ...]
    back: tuple[str, ...]
    placement: Placement
    moving_time: float
    wanted: tuple[int, ...]
    proven: bool


def seat(
    about: OptionContext,
    front: Sequence[int],
    back: Sequence[int],
    settings: Settings,
    carriers: int,
    *,
    step: float | None = None,
    work: float = 20.0,
    workers: int = 1,
    first_found: bool = False,
    floor: float | None = None,
    any_lap: bool = False,
    seed: int = 0,
) -> Seated | None:
    """Places of the stations and orders of the sections of one option on given straights.

    Parameters
    ----------
    about : OptionContext
    front, back : sequence of int
        Pieces of each straight section of the catalogue; both sides must be equally long.
    settings : Settings
        One row.
    carriers : int
    step : float, m, optional
        Stations stand at multiples of it from the start of their straight; `place_step` if not
        given.
    work : float
        Deterministic seconds of the solver for all passes together.
    workers : int
        Threads of the solver. What is proven does not depend on it, nor on the seed.
    first_found : bool
        Whether any placement will do.
    floor : float, m/s, optional
        The least bend speed, if the settings stand for all from there up to their own. What is
        found then need not do for any single one of them.
    any_lap : bool
        Whether the lap may take any time, as it might with more carriers.
    seed : int
        Of the solver.

    Returns
    -------
    Seated or None
        ``None`` if it is proven that the checks accept no placement on the grid.

    Raises
    ------
    Unknown
        If the work ran out before either was known.
    ValueError
        If the sides are not equally long or there is more than one row of settings.
    """
    parts = about.catalogue.straight
    names, lengths = [part.id for part in parts], [part.length for part in parts]
    sides = [
        sum(n * length for n, length in zip(counts, lengths, strict=True))
        for counts in (front, back)
    ]
    if len(settings) != 1 or abs(sides[0] - sides[1]) > 1e-9:
        raise ValueError("seating takes one row of settings and two sides of the same length")
    step = step or place_step(sides[0])
    tables = SeatingTables(about, sides[0], settings, carriers, step, floor, any_lap)
    if tables.refuted:
        return None
    orders = Orders.of(names, lengths, front), Orders.of(names, lengths, back)
    search = _Search(tables, orders, Budget(work), workers, seed)
    if not search.run(first_found=first_found):
        return None
    return search.seated()


class _Search:
    """The passes of one model, each keeping what the ones before have settled."""

    def __init__(
        self,
        tables: SeatingTables,
        orders: tuple[Orders, Orders],
        budget: Budget,
        workers: int,
        seed: int,
    ) -> None:
        self.tables, self.orders, self.budget = tables, orders, budget
        self.built = SeatingModel(tables, orders)
        self.model = self.built.model
        self.solver = cp_model.CpSolver()
        self.solver.parameters.num_workers = workers
        self.solver.parameters.random_seed = seed
        # Measured: with less presolve a pass in which the lap binds takes less than half as long.
        self.solver.parameters.cp_model_probing_level = 0
        self.solver.parameters.symmetry_level = 0
        self.solver.parameters.max_presolve_iterations = 1
        self.index: list[int] = []
        self.back: list[bool] = []
        self.bends: list[int] = []
        self.proven = False

    def run(self, *, first_found: bool) -> bool:
        """All passes, or until the time is over; false if there is no placement."""
        if first_found:
            return self._solve() != cp_model.INFEASIBLE
        shortage = self._shortage()
        if shortage is not None and not self._settle(shortage):
            return bool(self.index)
        room = self.model.new_int_var(0, self._most_room(), "least room")
        self._add_room(room)
        if not self._settle(-room):
            return bool(self.index)
        least = self.solver.value(room)
        self.proven = self._settle(self._arrangement()) and self._spread(least)
        return True

    def _solve(self) -> int:
        status = self.budget.solve(self.solver, self.model)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._remember()
        elif self.index and status == cp_model.INFEASIBLE:
            raise RuntimeError("a pass has lost the placement of the one before")
        elif not self.index and status != cp_model.INFEASIBLE:
            raise Unknown("the work is too little to seat the stations or to know that none fit")
        return status

    def _remember(self) -> None:
        built, value = self.built, self.solver.value
        self.index = [value(index) for index in built.index]
        self.back = [bool(value(back)) for back in built.back]
        self.bends = [sum(b * value(way) for b, way in enumerate(ways)) for ways in built.bends]
        self.model.clear_hints()  # type: ignore[no-untyped-call]  # the solver has no types there
        for k in range(built.count):
            for variable in (built.index[k], built.back[k], built.to_back[k], built.to_front[k]):
                self.model.add_hint(variable, value(variable))

    def _settle(self, least: cp_model.LinearExprT) -> bool:
        """Make something as little as it can be, and keep it; false if the time ran out."""
        self.model.minimize(least)
        if self._solve() != cp_model.OPTIMAL:
            return False
        self.model.add(least == round(self.solver.objective_value))
        return True

    def _shortage(self) -> cp_model.LinearExprT | None:
        """Carriers that find no room to wait before their station, if there can be any."""
        short: list[cp_model.LinearExprT] = []
        for after, wanted in enumerate(self.tables.wanted):
            k = (after - 1) % self.built.count
            for more in range(1, wanted + 1):
                need = int(self.tables.about.positions[after]) + more
                if any(least is not None for least in self.built.least_for(k, need)):
                    room = self.built.add_room_for(k, need)
                    short.append(1 - room)
        return cp_model.LinearExpr.sum(short) if short else None

    def _most_room(self) -> int:
        tables = self.tables
        return int(1000.0 * 2.0 * tables.half / float(tables.asked.sum())) + 1

    def _add_room(self, room: cp_model.IntVar) -> None:
        """Every way is so many per mille of what is asked of it at least."""
        tables, built = self.tables, self.built
        step, half = round(tables.step * MICROSECONDS), round(tables.half * MICROSECONDS)
        for k in range(built.count):
            after = tables.after(k)
            shift = round(tables.shift(k) * MICROSECONDS)
            asked = round(float(tables.asked[after]) * MICROSECONDS)
            bends = built.to_back[k] + built.to_front[k]
            way = step * built.difference(k) + shift + half * bends
            self.model.add(1000 * way >= asked * room)

    def _arrangement(self) -> cp_model.LinearExprT:
        """Stations shared out evenly between the sides, then the first ones in front."""
        built, count = self.built, self.built.count
        uneven = self.model.new_int_var(0, count, "uneven")
        on_back = cp_model.LinearExpr.sum(built.back)
        self.model.add(uneven >= 2 * on_back - count)
        self.model.add(uneven >= count - 2 * on_back)
        sides = cp_model.LinearExpr.weighted_sum(
            built.back, [count << (count - 1 - k) for k in range(count)]
        )
        first = cp_model.LinearExpr.weighted_sum(built.to_front, list(range(count)))
        return (count << count) * uneven + sides + first

    def _spread(self, room: int) -> bool:
        """Places as near as can be to those evenly spread, then the lowest; false if time is up."""
        targets = self._targets(room)
        away: list[cp_model.IntVar] = []
        for k, target in targets.items():
            index = self.built.index[k]
            distance = self.model.new_int_var(0, self.tables.last, f"away {k}")
            self.model.add(distance >= index - target)
            self.model.add(distance >= target - index)
            away.append(distance)
        if not away:
            return True
        if not self._settle(cp_model.LinearExpr.sum(away)):
            return False
        if all(self.index[k] == target for k, target in targets.items()):
            return True
        return all(self._settle(lowest) for lowest in self._lowest(list(targets)))

    def _lowest(self, stations: Sequence[int]) -> list[cp_model.LinearExprT]:
        """Indices of the stations in turn, some of them together in one sum."""
        per_place = self.tables.last + 1
        found: list[cp_model.LinearExprT] = []
        together = 1
        while per_place ** (together + 1) <= _MOST_WEIGHT:
            together += 1
        for start in range(0, len(stations), together):
            some = stations[start : start + together]
            weights = [per_place ** (len(some) - 1 - j) for j in range(len(some))]
            indices = [self.built.index[k] for k in some]
            found.append(cp_model.LinearExpr.weighted_sum(indices, weights))
        return found

    def _targets(self, room: int) -> dict[int, int]:
        """Indices evenly spread between the least and the greatest that differences allow."""
        tables, count = self.tables, self.built.count
        least = [self._least_difference(k, room) for k in range(count)]
        ends = [np.flatnonzero(window)[[0, -1]].tolist() for window in tables.windows]
        low, high = [first for first, _ in ends], [last for _, last in ends]
        # Every pass but the last moves some place on; the cap only guards against gaps in a grid.
        for _ in range(4 * count + 8):
            for k in range(count):
                after = tables.after(k)
                low[after] = max(low[after], low[k] + least[k])
            for k in reversed(range(count)):
                high[k] = min(high[k], high[tables.after(k)] - least[k])
        free = [k for k in range(count) if tables.stations[k].at is None]
        found: dict[int, int] = {}
        for shares in (self._shares(), [0.5] * count):
            places = [
                int(a + np.floor((b - a) * share + 1e-9))
                for a, b, share in zip(low, high, shares, strict=True)
            ]
            keeps = all(
                places[tables.after(k)] - places[k] >= least[k] for k in range(count) if count > 1
            )
            found = found if found and not keeps else {k: places[k] for k in free}
            if keeps:
                return found
        return found

    def _least_difference(self, k: int, room: int) -> int:
        """The least difference to the next station that keeps what was settled so far."""
        tables, bends = self.tables, self.bends[k]
        table = self.built.gap(k, bends)
        asked = 1e-3 * room * tables.asked[tables.after(k)]
        holds = (table.allowed[0] | table.allowed[1]) & (
            tables.distance(k, bends) >= asked - 0.5 / MICROSECONDS
        )
        return table.least + int(np.argmax(holds))

    def _shares(self) -> list[float]:
        """Share of the way from the least to the greatest place, rising along each straight."""
        count = self.built.count
        first = next((k for k in range(count) if self.bends[k - 1]), 0)
        shares, seen = [0.5] * count, {False: 0, True: 0}
        for k in [(first + j) % count for j in range(count)]:
            side = self.back[k]
            seen[side] += 1
            shares[k] = seen[side] / (self.back.count(side) + 1.0)
        return shares

    def seated(self) -> Seated:
        """What the last pass has found."""
        tables, count = self.tables, self.built.count
        along = [float(tables.along(k)[index]) for k, index in enumerate(self.index)]
        at = tuple(tables.half * back + place for place, back in zip(along, self.back, strict=True))
        length = Loop(tables.straight, tables.about.bend_length).length
        gaps = tuple(((at[(k + 1) % count] - at[k]) % length) or length for k in range(count))
        sections = [self._sections(side) for side in (0, 1)]
        return Seated(
            front=sections[0],
            back=sections[1],
            placement=Placement(at, gaps),
            moving_time=tables.moving_time(self.index, self.bends),
            wanted=tables.wanted,
            proven=self.proven,
        )

    def _sections(self, side: int) -> tuple[str, ...]:
        """The first order of the sections that keeps clear of the stations of one side."""
        tables = self.tables
        here = [
            k
            for k, station in enumerate(tables.stations)
            if station.clear_of_joints and self.back[k] == bool(side)
        ]
        order = self.orders[side].longest_first(
            lambda joint: all(tables.clear_of(k, joint)[self.index[k]] for k in here)
        )
        if order is None:
            raise RuntimeError("the model has found places without an order of the sections")
        return order
