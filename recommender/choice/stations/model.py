"""The places of the stations and the order of the sections as a constraint model.

Every gap between two stations has no bend, one or two in it, and what is asked of it is then a set
of differences of two indices. Only what can bind becomes a variable: times of legs where the lap or
the room between two stations hangs on them, orders of sections where a station must be clear of
their joints.
"""

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from recommender.choice.solver import cp_model
from recommender.choice.stations.gaps import GapTable, gap_tables
from recommender.choice.stations.orders import Orders
from recommender.choice.stations.tables import (
    NANOSECONDS,
    Flags,
    SeatingTables,
    Whole,
    whole_microseconds,
)
from recommender.physics.constants import Array

Literal = cp_model.LiteralT


class SeatingModel:
    """Variables of the model and what holds of them; objectives are added from outside."""

    def __init__(self, tables: SeatingTables, orders: tuple[Orders, Orders]) -> None:
        self.tables, self.orders = tables, orders
        self.model = cp_model.CpModel()
        self.count = len(tables.stations)
        self.index = [self._index(k) for k in range(self.count)]
        self._add_sides()
        self._add_slow()
        self._add_joints()
        self._gaps = [gap_tables(tables, k) for k in range(self.count)]
        self._out: dict[int, cp_model.LinearExprT] = {}
        self._into: dict[int, cp_model.LinearExprT] = {}
        for k in range(self.count):
            for bends in range(3):
                self._add_gap(k, bends)
        self._add_lap()

    def difference(self, k: int) -> cp_model.LinearExpr:
        """By how much the index of the next station exceeds that of one."""
        return self.index[self.tables.after(k)] - self.index[k]

    def gap(self, k: int, bends: int) -> GapTable:
        """What holds of the way from a station to the next with so many bends in between."""
        return self._gaps[k][bends]

    def least_for(self, k: int, places: int) -> list[int | None]:
        """Least difference to the next station for so many places, by the bends in between.

        ``None`` where all that is allowed has them.
        """
        found: list[int | None] = []
        for bends in range(3):
            table = self._gaps[k][bends]
            allowed = table.allowed[0] | table.allowed[1]
            enough = table.fit >= places
            # Longer ways never have fewer places.
            entry = int(np.argmax(enough)) if enough.any() else len(enough)
            found.append(table.least + entry if (allowed & ~enough).any() else None)
        return found

    def add_room_for(self, k: int, places: int) -> cp_model.IntVar:
        """Whether the way to the next station has so many places, or fewer."""
        room = self.model.new_bool_var(f"{places} places after {k}")
        for least, here in zip(self.least_for(k, places), self.bends[k], strict=True):
            if least is not None:
                self.model.add(self.difference(k) >= least).only_enforce_if(room, here)
        return room

    def _index(self, k: int) -> cp_model.IntVar:
        # A domain must not be empty; the model is infeasible then for another reason.
        values = np.flatnonzero(self.tables.windows[k]).tolist()
        if not values:
            self.model.add_bool_or([])
        return self.model.new_int_var_from_domain(
            cp_model.Domain.from_values(values or [0]), f"index {k}"
        )

    def _add_sides(self) -> None:
        """Which stations stand on the back, and in which gaps the two bends lie."""
        model, stations = self.model, self.tables.stations
        self.back = [model.new_bool_var(f"back {k}") for k in range(self.count)]
        for back, station in zip(self.back, stations, strict=True):
            if station.side != "any":
                model.add(back == int(station.side == "back"))
        pinned = any(station.side != "any" or station.at is not None for station in stations)
        joints = self.tables.about.case.minds_joints
        if not pinned and (not joints or self.orders[0] == self.orders[1]):
            # The loop turned half round is the same loop.
            model.add(self.back[0] == 0)
        self.to_back = [model.new_bool_var(f"to back after {k}") for k in range(self.count)]
        self.to_front = [model.new_bool_var(f"to front after {k}") for k in range(self.count)]
        model.add_exactly_one(self.to_back)
        model.add_exactly_one(self.to_front)
        self.bends = []
        for k in range(self.count):
            after = self.back[self.tables.after(k)]
            model.add(after == self.back[k] + self.to_back[k] - self.to_front[k])
            ways = [model.new_bool_var(f"{bends} bends after {k}") for bends in range(3)]
            model.add_exactly_one(ways)
            model.add(self.to_back[k] + self.to_front[k] == ways[1] + 2 * ways[2])
            self.bends.append(ways)

    def _add_slow(self) -> None:
        """At which stations carriers are exchanged at bend speed, and the room that this costs."""
        tables = self.tables
        extra = (tables.exchange[:, 1] - tables.exchange[:, 0]) * NANOSECONDS
        self.slow: list[cp_model.IntVar | int] = []
        for k in range(self.count):
            window, slow = tables.windows[k], tables.slow[k]
            if not (window & slow).any() or not (window & ~slow).any():
                self.slow.append(int((window & slow).any()))
                continue
            literal = self.model.new_bool_var(f"slow {k}")
            self._within(self.index[k], 0, slow, [literal])
            self._within(self.index[k], 0, ~slow, [~literal])
            self.slow.append(literal)
        total = cp_model.LinearExpr.weighted_sum(self.slow, np.ceil(extra).astype(int).tolist())
        self.model.add(total <= tables.spare_places)

    def _add_joints(self) -> None:
        """Stations keep clear of the joints of the side on which they stand."""
        clear = [k for k, station in enumerate(self.tables.stations) if station.clear_of_joints]
        for side, orders in enumerate(self.orders if clear else ()):
            laid = dict.fromkeys(orders.joints, True) if orders.settled else self._laid(orders)
            for node, present in laid.items():
                for k in clear:
                    free = self.tables.clear_of(k, orders.place(node))
                    if free[self.tables.windows[k]].all():
                        continue
                    when = [self.back[k] if side else ~self.back[k]]
                    if not isinstance(present, bool):
                        when.append(present)
                    self._within(self.index[k], 0, free, when)

    def _laid(self, orders: Orders) -> dict[tuple[int, ...], cp_model.IntVar | bool]:
        """Whether an order leads through each node: one unit of flow from no piece to all."""
        model = self.model
        nodes = {node: model.new_bool_var(f"joint {node}") for node in orders.joints}
        arrive: dict[tuple[int, ...], list[cp_model.IntVar]] = {}
        for node in (orders.start, *orders.joints):
            leave = []
            for behind in orders.onward(node):
                arc = model.new_bool_var(f"{node} to {behind}")
                leave.append(arc)
                arrive.setdefault(behind, []).append(arc)
            # Nodes come in an order in which what arrives at them is known by now.
            if node == orders.start:
                model.add_exactly_one(leave)
            else:
                model.add(sum(leave) == nodes[node])
                model.add(sum(arrive[node]) == nodes[node])
        return dict(nodes)

    def _within(
        self,
        expression: cp_model.LinearExprT,
        least: int,
        flags: Flags,
        when: Sequence[Literal],
    ) -> None:
        """The expression less ``least`` is one of the flagged entries, on some condition."""
        values = (np.flatnonzero(flags) + least).tolist()
        if not values:
            self.model.add_bool_or([~literal for literal in when])
            return
        domain = cp_model.Domain.from_values(values)
        self.model.add_linear_expression_in_domain(expression, domain).only_enforce_if(*when)

    def _add_gap(self, k: int, bends: int) -> None:
        """What is asked of the way from a station to the next with so many bends in between."""
        table, slow = self._gaps[k][bends], self.slow[self.tables.after(k)]
        difference, here = self.difference(k), self.bends[k][bends]
        if len(table.fit) == 0:
            return
        alike = all(np.array_equal(values[0], values[1]) for values in (table.allowed, table.cap))
        ways: list[tuple[int, list[Literal]]] = [(0, [here])]
        if isinstance(slow, int):
            ways = [(slow, [here])]
        elif not alike:
            ways = [(0, [here, ~slow]), (1, [here, slow])]
        for kind, when in ways:
            if not table.allowed[kind].all():
                self._within(difference, table.least, table.allowed[kind], when)
            if table.capped(kind).any():
                self._add_caps(k, table.cap[kind], table.capped(kind), table.least, when)

    def _add_caps(
        self, k: int, cap: Whole, capped: Flags, least: int, when: Sequence[Literal]
    ) -> None:
        """The two legs beside the bends take no more than the room between two stations allows."""
        legs = cp_model.LinearExpr.sum([self._out_of(k), self._into_of(self.tables.after(k))])
        for most, run in groupby(np.flatnonzero(capped), key=lambda entry: int(cap[entry])):
            outside = np.ones(len(cap), dtype=np.bool_)
            outside[list(run)] = False
            holds = self.model.new_bool_var("")
            self.model.add(legs <= most).only_enforce_if(holds)
            self._within(self.difference(k), least, outside, [*when, ~holds])

    def _out_of(self, k: int) -> cp_model.LinearExprT:
        if k not in self._out:
            self._out[k] = self._element(k, self.tables.out_of(k))
        return self._out[k]

    def _into_of(self, k: int) -> cp_model.LinearExprT:
        if k not in self._into:
            self._into[k] = self._element(k, self.tables.into(k))
        return self._into[k]

    def _element(self, k: int, times: Array) -> cp_model.LinearExprT:
        """Time of a leg by the place of a station, ns."""
        whole = np.ceil(np.where(self.tables.windows[k], times, 0.0) * NANOSECONDS).astype(int)
        if len(whole) == 1:
            return int(whole[0])
        inside = whole[self.tables.windows[k]]
        time = self.model.new_int_var(int(inside.min()), int(inside.max()), f"leg {k}")
        self.model.add_element(self.index[k], whole.tolist(), time)
        return time

    def _add_lap(self) -> None:
        """Legs lose no more time than the lap may; nothing if it cannot bind."""
        tables = self.tables
        if not np.isfinite(tables.through):
            # No straight without stations can be run.
            for ways in self.bends:
                self.model.add(ways[2] == 0)
        if tables.most_lost <= tables.lap_budget:
            return
        lost: list[cp_model.LinearExprT] = []
        if self.count > 1:
            lost += [self._loss_between(k) for k in range(self.count)]
        for side in (0, 1):
            lost += self._losses_at_bends(side)
        self.model.add(sum(lost) <= tables.lap_budget)

    def _loss_between(self, k: int) -> cp_model.LinearExprT:
        """Time that the leg to the next station loses; none where a bend lies between, µs."""
        model, table, straight = self.model, self._gaps[k][0], self.bends[k][0]
        allowed = np.flatnonzero(table.allowed[0] | table.allowed[1])
        if len(allowed) == 0:
            model.add(straight == 0)
            return 0
        loss = whole_microseconds(self.tables.loss_between(k)[allowed[0] : allowed[-1] + 1])
        least = table.least + int(allowed[0])
        # From some distance on nothing more is lost, and it no longer matters which it is.
        far = int(np.flatnonzero(loss != loss[-1]).max(initial=-1)) + 1
        entry = model.new_int_var(0, far + 1, f"way after {k}")
        time = model.new_int_var(0, int(loss[: far + 1].max()), f"loss after {k}")
        model.add_element(entry, [*loss[: far + 1].tolist(), 0], time)
        model.add(entry == far + 1).only_enforce_if(~straight)
        near, beyond = model.new_bool_var(""), model.new_bool_var("")
        model.add_exactly_one(near, beyond, ~straight)
        model.add(self.difference(k) == entry + least).only_enforce_if(near)
        model.add(entry < far).only_enforce_if(near)
        model.add(self.difference(k) >= far + least).only_enforce_if(beyond)
        model.add(entry == far).only_enforce_if(beyond)
        return time

    def _losses_at_bends(self, side: int) -> list[cp_model.LinearExprT]:
        """Time lost on the first and the last leg of a straight, or without any station, µs."""
        tables = self.tables
        first, last = (self.to_back, self.to_front) if side else (self.to_front, self.to_back)
        before = [first[k - 1] for k in range(self.count)]
        through = int(whole_microseconds(np.array([tables.loss_through]))[0])
        stands = [self.back[k] if side else ~self.back[k] for k in range(self.count)]
        empty = self.model.new_bool_var("")
        self.model.add_bool_or([*stands, empty])
        for literal in stands:
            self.model.add_implication(empty, ~literal)
        return [
            self._loss_at_end(
                [[stands[k], at_end[k]] for k in range(self.count)],
                [whole_microseconds(values(k)) for k in range(self.count)],
                (empty, alone),
                turned=turned,
            )
            for at_end, values, alone, turned in (
                (before, tables.loss_into, through, False),
                (last, tables.loss_out_of, 0, True),
            )
        ]

    def _loss_at_end(
        self,
        when: Sequence[Sequence[Literal]],
        losses: Sequence[Whole],
        alone: tuple[cp_model.IntVar, int],
        *,
        turned: bool,
    ) -> cp_model.LinearExprT:
        """Loss of the station at one end of a straight, or, without any, a time on its own.

        ``turned`` counts the places from the far end.
        """
        model, tables = self.model, self.tables
        free = [k for k in range(self.count) if tables.stations[k].at is None]
        known = np.zeros(tables.last + 1, dtype=np.bool_)
        for k in free:
            known |= tables.windows[k]
        values: list[int] = []
        first = far = 0
        if free:
            inside = np.flatnonzero(known[::-1] if turned else known)
            first = int(inside[0])
            loss = losses[free[0]][::-1] if turned else losses[free[0]]
            loss = loss[first : int(inside[-1]) + 1]
            far = int(np.flatnonzero(loss != loss[-1]).max(initial=-1)) + 1
            values = loss[: far + 1].tolist()
        fixed = {k: len(values) + j for j, k in enumerate(set(range(self.count)) - set(free))}
        values += [int(losses[k][0]) for k in fixed]
        values.append(alone[1])
        entry = model.new_int_var(0, len(values) - 1, "")
        time = model.new_int_var(min(values), max(values), "")
        model.add_element(entry, values, time)
        model.add(entry == len(values) - 1).only_enforce_if(alone[0])
        beyond = model.new_bool_var("")
        model.add(entry == far).only_enforce_if(beyond)
        for k, literals in enumerate(when):
            if k in fixed:
                model.add(entry == fixed[k]).only_enforce_if(*literals)
                continue
            place = (tables.last - self.index[k] if turned else self.index[k]) - first
            model.add(entry == place).only_enforce_if(*literals, ~beyond)
            model.add(place < far).only_enforce_if(*literals, ~beyond)
            model.add(place >= far).only_enforce_if(*literals, beyond)
        return time
