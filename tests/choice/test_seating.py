"""Seating of stations: what the model accepts, by every place on a coarse grid and the real checks.

Draws are small: up to three stations on straights of up to a metre and a half, a tenth of a metre
apart, so that every placement and every order of sections can be tried.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import permutations, product
from typing import Any

import numpy as np
import pytest
from numpy.random import Generator
from ortools.sat.python import cp_model

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.loop import CHECKS, FLEET_CHECKS, GEOMETRY_CHECKS
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.loop.takt import loop_takt
from recommender.choice.parts.options import list_options
from recommender.choice.parts.placement import Loop, Placement
from recommender.choice.search.lap_bound import LapBound
from recommender.choice.stations.gaps import gap_tables
from recommender.choice.stations.model import SeatingModel
from recommender.choice.stations.orders import Orders
from recommender.choice.stations.seat import Seated, seat
from recommender.choice.stations.tables import SeatingTables
from recommender.choice.unknown import Unknown
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped

STEP = 0.1
MOST_PLACEMENTS = 400
DRAWS = 320
PACKED = (265, 505, 1345, 1597, 2337)
"""Draws in which the room between stations refuses what all else allows."""
LOOP_CHECKS = (
    *GEOMETRY_CHECKS,
    *FLEET_CHECKS,
    *(check for check in CHECKS if check.about.id in ("fleet.lap", "fleet.places")),
)

KINDS = ("lap", "packed", "joints", "batches")
"""Draws are of these kinds in turn, so that each thing that may bind does in some of them."""

Key = tuple[tuple[int, ...], tuple[int, ...]]
"""Index and side of every station."""


def one_row(acceleration: float, jerk: float, speed: float, bend_speed: float) -> Settings:
    return Settings.single(acceleration, jerk, speed, bend_speed)


@dataclass(frozen=True)
class Draw:
    """One question to the model."""

    about: OptionContext
    front: tuple[int, ...]
    back: tuple[int, ...]
    settings: Settings
    carriers: int

    @property
    def straight(self) -> float:
        parts = self.about.catalogue.straight
        return sum(n * part.length for n, part in zip(self.front, parts, strict=True))

    @property
    def half(self) -> float:
        return self.straight + self.about.bend_length

    @cached_property
    def grid(self) -> np.ndarray[Any, Any]:
        return STEP * np.arange(int(self.straight / STEP + 1e-6) + 1)

    def along(self, k: int) -> np.ndarray[Any, Any]:
        at = self.about.case.station[k].at
        return self.grid if at is None else np.array([at])

    def choices(self) -> list[list[tuple[int, int]]]:
        """Index and side that each station may have for itself."""
        sides = {"front": (0,), "back": (1,), "any": (0, 1)}
        return [
            [(index, side) for side in sides[station.side] for index in range(len(self.along(k)))]
            for k, station in enumerate(self.about.case.station)
        ]

    @property
    def placements(self) -> int:
        return int(np.prod([len(entries) for entries in self.choices()]))

    def orders(self) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
        """All orders of the sections of both sides, or one where no joint matters."""
        names = [part.id for part in self.about.catalogue.straight]
        ways = []
        for counts in (self.front, self.back):
            pieces = [name for name, n in zip(names, counts, strict=True) for _ in range(n)]
            ways.append(list(dict.fromkeys(permutations(pieces))))
        clear = any(station.clear_of_joints for station in self.about.case.station)
        return list(product(*ways)) if clear else [(ways[0][0], ways[1][0])]

    def layout(
        self, placement: Placement, order: tuple[tuple[str, ...], tuple[str, ...]]
    ) -> LayoutContext:
        loop = Loop(self.straight, self.about.bend_length)
        on = LoopContext(self.about, loop, placement, *order)
        # No check of the loop looks at the loads.
        setting = SettingContext(self.about, self.settings, None, None)  # type: ignore[arg-type]  # it has none
        return LayoutContext(on, setting, self.carriers)

    def placement(self, key: Key) -> Placement:
        count = len(key[0])
        at = tuple(
            self.half * side + float(self.along(k)[index])
            for k, (index, side) in enumerate(zip(*key, strict=True))
        )
        length = 2.0 * self.half
        gaps = tuple(((at[(k + 1) % count] - at[k]) % length) or length for k in range(count))
        return Placement(at, gaps)

    def accepted(self) -> Iterator[tuple[Key, LayoutContext]]:
        """Every placement that the checks accept, with the first order of sections that does."""
        for chosen in product(*self.choices()):
            key = tuple(zip(*chosen, strict=True))
            placement = self.placement(key)
            # Not in their order, or two in one place: not once round.
            if abs(sum(placement.gaps) - 2.0 * self.half) > 1e-6:
                continue
            if len(set(placement.at)) < len(placement.at):
                continue
            for order in self.orders():
                layout = self.layout(placement, order)
                if holds(layout):
                    yield key, layout
                    break

    def seat(self, **options: Any) -> Seated | None:
        return seat(
            self.about,
            self.front,
            self.back,
            self.settings,
            self.carriers,
            **{"step": STEP, **options},
        )

    def score(self, layout: LayoutContext, wanted: tuple[int, ...]) -> tuple[int, int]:
        """Missing waiting places, and the least room in whole per mille with a minus."""
        stations, gaps = self.about.case.station, layout.on.placement.gaps
        missing, room = 0, []
        for k, station in enumerate(stations):
            fit = int(np.floor(layout.on.gaps[k - 1] + 1e-9)) - station.positions
            missing += max(0, wanted[k] - fit)
            asked = max(between(self.about, k), self.about.spacing * station.positions)
            room.append(1000.0 * round(gaps[k - 1], 6) / round(asked, 6))
        return missing, -int(np.floor(min(room) + 1e-9))


def between(about: OptionContext, k: int) -> float:
    """What a station asks of the way from the one before: its own wish, and that none overlap."""
    station, before = about.case.station[k], about.case.station[k - 1]
    if station is before or not (station.length or before.length):
        return station.after
    middles = 0.5 * ((station.length or 0.0) + (before.length or 0.0))
    # A station stands in the middle of its carriers, and its place is that of the first.
    behind = [0.5 * about.spacing * (each.positions - 1) for each in (before, station)]
    return max(station.after, middles - behind[0] + behind[1])


def holds(layout: LayoutContext) -> bool:
    """Whether all checks of the loop hold, the cheap ones of geometry first."""
    if min(layout.on.clearances) + 1e-5 < layout.about.bend_clearance:
        return False
    outcomes = (check.evaluate(layout) for check in LOOP_CHECKS)
    return all(outcome is None or outcome.utilisation()[0] <= HOLDS for outcome in outcomes)


def drawn_station(rng: Generator, number: int, straight: float, kind: str) -> dict[str, Any]:
    station: dict[str, Any] = {
        "name": f"station {number}",
        "dwell": f"{rng.uniform(0.2, 1.6):.2f} s",
        "settling": f"{rng.choice([0.0, 0.1])} s",
    }
    if rng.random() < 0.5:
        station["side"] = str(rng.choice(["front", "back"]))
    if kind == "packed":
        station["positions"] = int(rng.choice([1, 1, 2, 3]))
        return station
    if rng.random() < 0.25:
        station["after"] = f"{rng.uniform(0.3, 2.0):.2f} m"
    if rng.random() < 0.25:
        station["length"] = f"{rng.uniform(0.1, 0.9):.2f} m"
    if rng.random() < 0.25:
        station["at"] = f"{rng.uniform(0.1, straight):.3f} m"
    if kind == "batches" and rng.random() < 0.5:
        station["positions"] = int(rng.choice([2, 3]))
    station["clear_of_joints"] = kind == "joints" and bool(rng.random() < 0.7)
    return station


def drawn_case(rng: Generator, straight: float, kind: str) -> dict[str, Any]:
    count = 2 if kind == "packed" else int(rng.choice([1, 2, 2, 2, 3]))
    stations = [drawn_station(rng, k, straight, kind) for k in range(count)]
    return {
        "load": {
            "mass": "2 kg",
            "length": f"{rng.choice([60, 100, 160, 300])} mm",
            "width": "80 mm",
            "reach": f"{rng.choice([0, 0, 50, -50])} mm",
            "held": "clamped",
        },
        "loop": {"max_length": "80 m"},
        "station": stations,
        "rate": {"items": "1/min", "reserve": 0.0},
    }


def drawn_catalogue(rng: Generator, catalogue: Catalogue, altered: Any) -> Catalogue:
    lengths = [0.1 * x for x in sorted(rng.choice(range(2, 7), 2, replace=False))]
    straight = tuple(
        part.model_copy(update={"length": round(float(length), 1)})
        for part, length in zip(catalogue.straight, lengths, strict=True)
    )
    lag = float(rng.choice([0.0, 0.0, 0.05, 0.15]))
    rules = catalogue.rules.model_copy(update={"start_lag": lag})
    return altered(catalogue, straight=straight, rules=rules)


def drawn_sides(rng: Generator, catalogue: Catalogue) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Pieces of both sides, equally long, now and then of other sections."""
    lengths = [part.length for part in catalogue.straight]

    def long(counts: tuple[int, ...]) -> float:
        return round(float(np.dot(counts, lengths)), 6)

    every = [n for n in product(range(5), repeat=2) if 0.4 <= long(n) <= 1.5]
    front = every[int(rng.integers(len(every)))]
    same = [counts for counts in every if long(counts) == long(front)]
    return front, same[int(rng.integers(len(same)))]


def draw(seed: int, catalogue: Catalogue, altered: Any) -> Draw:
    rng = np.random.default_rng(seed)
    drawn = drawn_catalogue(rng, catalogue, altered)
    front, back = drawn_sides(rng, drawn)
    straight = float(np.dot(front, [part.length for part in drawn.straight]))
    kind = KINDS[seed % len(KINDS)]
    entries = drawn_case(rng, straight, kind)
    tight = kind == "packed"
    speed = float(rng.uniform(0.8, 2.5))
    settings = one_row(
        rng.uniform(0.7, 2.0) if tight else rng.uniform(1.5, 9.0),
        rng.choice([30.0, 80.0, 300.0, np.inf]),
        speed,
        min(speed, rng.uniform(0.3, 1.2)),
    )
    number = int(rng.integers(9))

    def about(case: Case) -> OptionContext:
        return OptionContext(list_options(case, drawn)[number], case, drawn)

    # A takt in which stations and bends may just do, and a fleet that may just do for the lap.
    follow = min(about(make_case(entries, "drawn")).bend_spacing / settings.bend_speed[0], 10.0)
    if tight:
        # Bends and stations taken nearly all the time: then carriers hold places for longest.
        for station in entries["station"]:
            station["dwell"] = f"{follow * rng.uniform(0.1, 0.8):.2f} s"
    asked = about(make_case(entries, "drawn"))
    a, j, _, slow = (float(values[0]) for values in vars(settings).values())
    longest = 0.0
    for station in asked.case.station:
        way = asked.bend_spacing * station.positions
        exchange = 2.0 * np.sqrt(way / a) + a / j + way / slow * rng.uniform(0.0, 0.5)
        longest = max(longest, (station.occupied_with(1) + exchange) / station.positions)
    takt = max(longest, follow) * rng.uniform(1.0, 1.1 if tight else 1.6)
    lap = float(LapBound(asked, straight, settings).lap_time[0])
    forming = sum(station.positions - 1 for station in asked.case.station)
    carriers = forming + 3
    if np.isfinite(lap):
        running = max(1, int(lap / takt))
        if kind in {"lap", "joints"}:
            takt = (lap + rng.uniform(-0.05, 0.7)) / running
        carriers = forming + running + int(rng.integers(0, 3) if tight else 0)
    entries["rate"] = {"items": f"{60.0 / takt:.5f}/min", "reserve": 0.0}
    return Draw(about(make_case(entries, "drawn")), front, back, settings, carriers)


@dataclass(frozen=True)
class Tried:
    """A draw with every placement that the checks accept, and what the model says."""

    draw: Draw
    accepted: dict[Key, LayoutContext]
    found: Seated | None


@pytest.fixture(scope="module")
def tried(catalogue: Catalogue, altered: Any) -> list[Tried]:
    draws = (draw(seed, catalogue, altered) for seed in (*range(DRAWS), *PACKED))
    small = [one for one in draws if one.placements <= MOST_PLACEMENTS]
    return [Tried(one, dict(one.accepted()), one.seat()) for one in small]


class _Collect(cp_model.CpSolverSolutionCallback):
    """Indices and sides of all solutions of a model."""

    def __init__(self, built: SeatingModel) -> None:
        super().__init__()
        self.built, self.keys = built, set[Key]()

    def on_solution_callback(self) -> None:
        index = tuple(self.value(variable) for variable in self.built.index)
        self.keys.add((index, tuple(self.value(variable) for variable in self.built.back)))


def model_accepts(draw: Draw) -> set[Key]:
    """Every placement that the model allows."""
    about = draw.about
    tables = SeatingTables(about, draw.straight, draw.settings, draw.carriers, STEP)
    if tables.refuted:
        return set()
    names = [part.id for part in about.catalogue.straight]
    lengths = [part.length for part in about.catalogue.straight]
    orders = Orders.of(names, lengths, draw.front), Orders.of(names, lengths, draw.back)
    built = SeatingModel(tables, orders)
    solver, collect = cp_model.CpSolver(), _Collect(built)
    solver.parameters.enumerate_all_solutions = True
    solver.parameters.num_workers = 1
    assert solver.solve(built.model, collect) in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return collect.keys


def turned(draw: Draw) -> bool:
    """Whether the loop turned half round is the same question."""
    stations = draw.about.case.station
    alike = draw.front == draw.back or not any(station.clear_of_joints for station in stations)
    return alike and all(station.side == "any" and station.at is None for station in stations)


def test_the_model_accepts_what_the_checks_accept(tried: list[Tried]) -> None:
    some = none = 0
    for one in tried:
        expected = {key for key in one.accepted if not (turned(one.draw) and key[1][0])}
        assert model_accepts(one.draw) == expected
        some, none = some + bool(expected), none + (not expected)
    assert some > 30
    assert none > 30


def test_an_answer_whenever_there_is_one_and_none_is_better(tried: list[Tried]) -> None:
    for one in tried:
        if one.found is None:
            assert not one.accepted
            continue
        assert one.found.proven
        layout = one.draw.layout(one.found.placement, (one.found.front, one.found.back))
        assert holds(layout)
        best = min(one.draw.score(each, one.found.wanted) for each in one.accepted.values())
        assert one.draw.score(layout, one.found.wanted) == best


def test_some_draws_bind_everywhere(tried: list[Tried]) -> None:
    """Else the tests above would not see a fault in the lap, the room or the exchanges."""
    seen = {"lap": 0, "room": 0, "slow": 0, "joints": 0}
    for one in tried:
        d = one.draw
        tables = SeatingTables(d.about, d.straight, d.settings, d.carriers, STEP)
        if tables.refuted:
            continue
        seen["lap"] += bool(one.accepted) and tables.most_lost > tables.lap_budget
        seen["room"] += any(
            (table.capped(0) | table.capped(1)).any()
            for k in range(len(tables.stations))
            for table in gap_tables(tables, k)
        )
        seen["slow"] += bool(one.accepted) and any(
            (window & slow).any() and (window & ~slow).any()
            for window, slow in zip(tables.windows, tables.slow, strict=True)
        )
        seen["joints"] += bool(one.accepted) and len(d.orders()) > 1
    print(seen)
    assert min(seen.values()) >= 5, seen


def test_the_lap_is_never_shorter_than_the_audited_one(tried: list[Tried]) -> None:
    for one in tried:
        if one.found is not None:
            layout = one.draw.layout(one.found.placement, (one.found.front, one.found.back))
            moving = float(layout.lap.moving_time[0])
            assert moving - 1e-9 <= one.found.moving_time <= moving * (1.0 + 1e-4)


def test_what_is_accepted_keeps_its_takt(tried: list[Tried]) -> None:
    """For stations that take one carrier each; batches are left to the audit."""
    worst = [
        loop_takt(layout, one.draw.carriers) / one.draw.about.takt
        for one in tried
        if all(station.positions == 1 for station in one.draw.about.case.station)
        for layout in list(one.accepted.values())[:20]
    ]
    assert len(worst) > 100
    assert max(worst) <= 1.0 + 1e-9


def test_any_placement_is_one_that_the_checks_accept(tried: list[Tried]) -> None:
    for one in tried:
        first = one.draw.seat(first_found=True)
        assert (first is None) == (one.found is None)
        if first is not None:
            assert holds(one.draw.layout(first.placement, (first.front, first.back)))


def test_workers_and_seeds_do_not_change_the_answer(tried: list[Tried]) -> None:
    for one in [each for each in tried if each.found][::6]:
        for workers, seed in ((1, 7), (2, 0), (2, 3)):
            assert one.draw.seat(workers=workers, seed=seed) == one.found


def test_sections_come_longest_first_where_that_keeps_joints_clear() -> None:
    rng = np.random.default_rng(5)
    for _ in range(100):
        counts = [int(n) for n in rng.integers(0, 3, size=3)]
        lengths = [0.4, 1.0, 0.7]
        blocked = rng.uniform(0.0, 5.0, size=2)

        def free(place: float, blocked: np.ndarray[Any, Any] = blocked) -> bool:
            return bool((np.abs(blocked - place) > 0.15).all())

        pieces = [k for k, n in enumerate(counts) for _ in range(n)]
        ways = {
            way
            for way in permutations(pieces)
            if all(free(sum(lengths[k] for k in way[:j])) for j in range(1, len(way)))
        }
        expected = min(ways, key=lambda way: [-lengths[k] for k in way], default=None)
        found = Orders.of(["a", "b", "c"], lengths, counts).longest_first(free)
        assert found == (None if expected is None else tuple("abc"[k] for k in expected))


@pytest.fixture(scope="module")
def line() -> Draw:
    """A 20 m loop of six stations on a grid of 2 cm, on which the lap just binds."""
    case = make_case(
        {
            "load": {
                "mass": "5 kg",
                "length": "200 mm",
                "width": "200 mm",
                "reach": "0 mm",
                "held": "clamped",
            },
            "rate": {"items": "29/min", "reserve": 0.0},
            "station": [
                {
                    "name": f"station {k}",
                    "dwell": f"{0.8 + 0.1 * (k % 4):.1f} s",
                    "settling": "100 ms",
                }
                for k in range(6)
            ],
        },
        "line",
    )
    catalogue = read_catalogue(shipped("catalog"))
    option = next(each for each in list_options(case, catalogue) if each.id == "std-116_arc-280_x1")
    about = OptionContext(option, case, catalogue)
    return Draw(about, (0, 8), (0, 8), one_row(3.0, 60.0, 2.0, 0.7), 10)


def test_a_long_loop_on_which_the_lap_binds(line: Draw) -> None:
    found = line.seat(step=None)
    assert found is not None
    assert found.proven
    layout = line.layout(found.placement, (found.front, found.back))
    assert holds(layout)
    assert 0.995 < layout.lap_time[0] / (line.carriers * line.about.takt) <= HOLDS
    assert found == line.seat(step=None, workers=2, seed=3)
    # One carrier less has less time than the quickest lap takes.
    fewer = Draw(line.about, line.front, line.back, line.settings, line.carriers - 1)
    assert fewer.seat(step=None) is None


@pytest.mark.parametrize("first_found", [False, True])
@pytest.mark.parametrize("work", [0.0, 1e-6])
def test_no_work_is_no_answer(line: Draw, work: float, first_found: bool) -> None:
    with pytest.raises(Unknown, match="too little"):
        line.seat(step=None, work=work, first_found=first_found)


def test_the_first_placement_found_is_not_called_proven(line: Draw) -> None:
    first = line.seat(step=None, first_found=True)
    assert first is not None
    assert not first.proven


def test_sides_of_two_lengths_are_refused(line: Draw) -> None:
    with pytest.raises(ValueError, match="same length"):
        seat(line.about, (0, 8), (1, 8), line.settings, 10)
