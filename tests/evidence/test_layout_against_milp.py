"""Places of stations and orders of sections against integer programming.

Small random loops. HiGHS, as scipy brings it, gets programmes that are written here from what is
asked of a loop: a binary for each station on each of its places, a flow between the places of
neighbours, a binary for each section in each slot of its straight, and one for each station and
joint that says which of them comes first. Times of legs come from `recommender.physics.motion`,
which is compared elsewhere. What the places are chosen for is compared too: the quickest lap that
a fleet must still make, the most carriers that find room, and the most room before stations.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from itertools import pairwise, product
from typing import Any

import numpy as np
import pytest
from numpy.random import Generator
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.parts.options import list_options
from recommender.choice.stations.seat import Seated, seat
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.motion import leg_time

STEP = 0.1
LOOPS = 88
ROUNDING = 20e-6
"""Every leg of a lap may be counted a microsecond too long, s."""
MICROMETRE = 1e-6

Terms = dict[int, float]
Node = tuple[int, float]
"""Side, 0 for the front and 1 for the back, and place from the start of its straight, m."""


class Programme:
    """Columns and rows of a mixed-integer programme."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.most: list[float] = []
        self.whole: list[bool] = []
        self.rows: list[tuple[Terms, float, float]] = []

    def column(self, cost: float = 0.0, *, whole: bool = True, most: float = 1.0) -> int:
        self.cost.append(cost)
        self.most.append(most)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, terms: Terms, low: float = -np.inf, high: float = np.inf) -> None:
        self.rows.append((terms, low, high))

    def solve(self) -> Any:
        """Values of the columns at the optimum; ``None`` if the rows contradict each other."""
        entries = [
            (value, number, column)
            for number, (terms, _, _) in enumerate(self.rows)
            for column, value in terms.items()
        ]
        values, rows, columns = zip(*entries, strict=True)
        shape = len(self.rows), len(self.cost)
        result = milp(
            np.array(self.cost),
            constraints=LinearConstraint(
                coo_array((values, (rows, columns)), shape=shape).tocsc(),
                [low for _, low, _ in self.rows],
                [high for _, _, high in self.rows],
            ),
            bounds=Bounds(0.0, self.most),
            integrality=np.array(self.whole, dtype=int),
            options={"mip_rel_gap": 0.0},
        )
        assert result.status in (0, 2), result.message
        return result.x if result.status == 0 else None


@cache
def leg(way: float, start: float, end: float, speed: float, *limits: float) -> float:
    return float(leg_time(way, start, end, speed, *limits))


# Seating -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Line:
    """A loop of which the places of the stations and the orders of the sections are open."""

    about: OptionContext
    front: tuple[int, ...]
    back: tuple[int, ...]
    settings: Settings
    carriers: int = 1

    @property
    def stations(self) -> Any:
        return self.about.case.station

    @property
    def lengths(self) -> list[float]:
        return [part.length for part in self.about.catalogue.straight]

    @cached_property
    def straight(self) -> float:
        return float(np.dot(self.front, self.lengths))

    @property
    def half(self) -> float:
        return self.straight + self.about.bend_length

    @cached_property
    def overhang(self) -> float:
        """A carrier keeps bend speed while any of its base is in the bend."""
        return 0.5 * self.about.option.base

    @property
    def bend_speed(self) -> float:
        return float(self.settings.bend_speed[0])

    def leg(self, way: float, start: float, end: float, top: float | None = None) -> float:
        row = self.settings
        limits = top or float(row.speed[0]), float(row.acceleration[0]), float(row.jerk[0])
        return leg(max(round(way, 9), 0.0), start, end, *limits)

    @property
    def dwells(self) -> float:
        return float(sum(station.dwell + station.settling for station in self.stations))

    @property
    def forming(self) -> int:
        return sum(station.positions - 1 for station in self.stations)

    def keeping(self, takt: float, carriers: int) -> "Line":
        """The same with another takt and fleet."""
        case, items = self.about.case, self.about.option.items
        rate = case.rate.model_copy(update={"items": items / takt})
        about = replace(self.about, case=case.model_copy(update={"rate": rate}))
        return replace(self, about=about, carriers=carriers)

    def takt_for(self, moving: float, carriers: int) -> float:
        """Takt in which a fleet that loses nothing but the forming of batches makes its lap."""
        return (moving + self.dwells) / (carriers - self.forming)

    def seat(self, *, any_will_do: bool = False) -> Seated | None:
        fleet = self.settings, self.carriers
        how: dict[str, Any] = {"step": STEP, "work": 60.0, "first_found": any_will_do}
        return seat(self.about, self.front, self.back, *fleet, **how)

    def exchange(self, k: int, place: float) -> float:
        """From one batch's departure until the next, waiting close behind, stands in its place."""
        about, count = self.about, self.stations[k].positions
        room = place - self.overhang, self.straight - self.overhang - place
        spacing = about.spacing
        bent = room[0] < (2 * count - 1) * spacing or room[1] < count * spacing
        way = count * (about.bend_spacing if bent else spacing)
        moving = self.leg(way, 0.0, 0.0, self.bend_speed if bent else None)
        return moving + (2 * count - 1) * about.rules.start_lag

    def nodes(self, k: int) -> list[Node]:
        """Where a station may stand for itself: clear of the bends, exchanges within the takt."""
        station, about = self.stations[k], self.about
        sides = {"front": (0,), "back": (1,), "any": (0, 1)}[station.side]
        grid = [STEP * n for n in range(int(self.straight / STEP + 1e-6) + 1)]
        places = grid if station.at is None else [station.at]
        found = []
        for side, place in product(sides, places):
            # The carriers that the station takes at once all stand on the straight.
            last = place - (station.positions - 1) * about.spacing
            ends = min(last, self.straight - place)
            clear = ends + MICROMETRE >= about.bend_clearance
            # All of the station as well, which stands in the middle of its carriers.
            middle = 0.5 * (place + last)
            half = min(middle, self.straight - middle) + MICROMETRE
            clear &= half >= 0.5 * (station.length or 0.0)
            if not clear or not np.isfinite(self.into(place) + self.out_of(place)):
                continue
            if station.occupied_with(1) + self.exchange(k, place) <= station.positions * about.takt:
                found.append((side, place))
        return found

    def apart(self, k: int) -> float:
        """What is asked of the way from a station to the next, so that they do not overlap."""
        here, after = self.stations[k], self.stations[(k + 1) % len(self.stations)]
        ends = [0.0, 0.0]
        for side, station in enumerate((here, after)):
            row = (station.positions - 1) * self.about.spacing
            ends[side] = 0.5 * (station.length or 0.0) + (side - 0.5) * row
        given = here.length or after.length
        return max(after.after, sum(ends)) if given and len(self.stations) > 1 else after.after

    def into(self, place: float) -> float:
        return self.leg(place - self.overhang, self.bend_speed, 0.0)

    def out_of(self, place: float) -> float:
        return self.leg(self.straight - self.overhang - place, 0.0, self.bend_speed)

    @cached_property
    def bend_time(self) -> float:
        return (self.about.bend_length + 2.0 * self.overhang) / self.bend_speed

    @cached_property
    def through(self) -> float:
        """Time along a straight without stations."""
        free = self.straight - 2.0 * self.overhang
        return self.leg(free, self.bend_speed, self.bend_speed) if free >= 0.0 else np.inf


@dataclass(frozen=True)
class Way:
    """From one place to the next station's: length, bends, time of the leg, carriers that fit."""

    length: float
    bends: int
    time: float
    fit: float


def way(line: Line, here: Node, there: Node) -> Way:
    about = line.about
    bends = 1 if here[0] != there[0] else 0 if there[1] > here[1] else 2
    length = there[1] - here[1] + bends * line.half
    if bends:
        time = line.out_of(here[1]) + bends * line.bend_time + line.into(there[1])
        time += line.through if bends == 2 else 0.0
    else:
        time = line.leg(length, 0.0, 0.0)
    bent = min(bends * about.bend_stretch, length)
    return Way(length, bends, time, (length - bent) / about.spacing + bent / about.bend_spacing)


def will_do(line: Line, k: int, there: Node, on: Way) -> bool:
    """Whether a way from a station to the next keeps its distance and lets carriers pass."""
    about, stations = line.about, line.stations
    here, after = stations[k], stations[(k + 1) % len(stations)]
    if (
        on.length + MICROMETRE < line.apart(k)
        or on.fit < after.positions
        or not np.isfinite(on.time)
    ):
        return False
    fit = int(np.floor(on.fit + 1e-9))
    turn = (fit + 2 - after.positions) * about.takt
    lags = (fit + 2 * here.positions - 1) * about.rules.start_lag
    standing = (
        here.occupied_with(1)
        + after.occupied_with(1)
        + line.exchange((k + 1) % len(stations), there[1])
    )
    return bool(standing + on.time + lags <= turn)


class Seating(Programme):
    """The places of the stations and the orders of the sections as rows."""

    def __init__(self, line: Line) -> None:
        super().__init__()
        self.line = line
        count = len(line.stations)
        self.at = [{node: self.column() for node in line.nodes(k)} for k in range(count)]
        self.ways: list[dict[int, Way]] = []
        for k in range(count):
            self.row(dict.fromkeys(self.at[k].values(), 1.0), 1, 1)
            self.ways.append(self._flow(k))
        bends = {c: float(on.bends) for ways in self.ways for c, on in ways.items()}
        self.row(bends, 2, 2)
        self._places()
        for side, counts in enumerate((line.front, line.back)):
            self._sections(side, counts)

    def _flow(self, k: int) -> dict[int, Way]:
        """A way from the place of one station to that of the next."""
        line, after = self.line, (k + 1) % len(self.at)
        ways: dict[int, Way] = {}
        leave: dict[Node, Terms] = {node: {c: -1.0} for node, c in self.at[k].items()}
        arrive: dict[Node, Terms] = {node: {c: -1.0} for node, c in self.at[after].items()}
        for here, there in product(self.at[k], self.at[after]):
            on = way(line, here, there)
            if will_do(line, k, there, on):
                column = self.column(whole=False)
                ways[column] = on
                leave[here][column] = arrive[there][column] = 1.0
        for terms in (*leave.values(), *arrive.values()):
            self.row(terms, 0, 0)
        return ways

    def _places(self) -> None:
        """Carriers, and the holes that exchanging them takes, find room on the loop."""
        line, about = self.line, self.line.about
        holes = {
            column: (line.stations[k].occupied_with(1) + line.exchange(k, node[1])) / about.takt
            for k, nodes in enumerate(self.at)
            for node, column in nodes.items()
        }
        bent = min(2.0 * about.bend_stretch, 2.0 * line.half)
        places = (2.0 * line.half - bent) / about.spacing + bent / about.bend_spacing
        left = places * (1.0 - about.rules.start_lag / about.takt)
        self.row(holes, high=left - line.carriers)
        self.holes, self.left = holes, left

    def _sections(self, side: int, counts: Sequence[int]) -> None:
        """A section in every slot; stations that ask for it stand to one side of each joint."""
        line, slots = self.line, sum(counts)
        laid = [[self.column() for _ in counts] for _ in range(slots)]
        for slot in laid:
            self.row(dict.fromkeys(slot, 1.0), 1, 1)
        for kind, number in enumerate(counts):
            self.row({slot[kind]: 1.0 for slot in laid}, number, number)
        for joint, k in product(range(1, slots), range(len(self.at))):
            if line.stations[k].clear_of_joints:
                for carrier in range(line.stations[k].positions):
                    self._beside(laid[:joint], side, k, carrier * line.about.spacing)

    def _beside(self, sections: Sequence[Any], side: int, k: int, behind: float) -> None:
        """A carrier of a station stands to one side of the joint behind some sections."""
        line = self.line
        enough, clear = 3.0 * line.straight, line.about.bend_clearance - MICROMETRE
        beyond = self.column()
        # Place less joint; what stands on the other straight is free of it.
        apart: Terms = {
            c: -length for slot in sections for c, length in zip(slot, line.lengths, strict=True)
        }
        before = dict(apart)
        for (on, place), column in self.at[k].items():
            apart[column] = place - behind + (enough if on != side else 0.0)
            before[column] = place - behind - (enough if on != side else 0.0)
        self.row({**apart, beyond: -enough}, clear - enough)
        self.row({**before, beyond: -enough}, high=-clear)

    def lap(self) -> Terms:
        return {column: on.time for ways in self.ways for column, on in ways.items()}

    def chosen(self, values: Any) -> list[Way]:
        return [on for ways in self.ways for column, on in ways.items() if values[column] > 0.5]


def quickest(line: Line) -> float | None:
    """Least moving time of the lap, s, by HiGHS; ``None`` if the stations have no places."""
    programme = Seating(line)
    if not can_follow(line) or not all(programme.at):
        return None
    for column, time in programme.lap().items():
        # In milliseconds: the solver stops within 1e-6 of the optimum.
        programme.cost[column] = 1e3 * time
    values = programme.solve()
    if values is None:
        return None
    ways = programme.chosen(values)
    assert len(ways) == len(line.stations)
    assert sum(on.length for on in ways) == pytest.approx(2.0 * line.half)
    return sum(on.time for on in ways)


def most_carriers(line: Line) -> int:
    """The most carriers that leave places to exchange them, by HiGHS."""
    programme = Seating(line)
    for column, holes in programme.holes.items():
        programme.cost[column] = holes
    values = programme.solve()
    return int(programme.left - float(np.dot(programme.cost, values)) + 1e-6)


def can_follow(line: Line) -> bool:
    """What does not hang on the places: the length of the loop, carriers in the bends."""
    about = line.about
    longest = about.case.loop.max_length or about.rules.longest_loop
    follows = about.least_bend_spacing <= line.bend_speed * about.takt
    return bool(follows and 2.0 * line.half <= longest)


def roomiest(line: Line, wanted: Sequence[int]) -> tuple[int, float] | None:
    """Carriers that find no room to wait, and then the most that every way is of what is asked of
    it, by HiGHS on laps that the fleet makes in time; ``None`` if there is none."""
    programme = Seating(line)
    lap = (line.carriers - line.forming) * line.about.takt - line.dwells
    programme.row(programme.lap(), high=lap)
    missing = [
        {c: float(max(0, wanted[after] - spare(line, after, on))) for c, on in ways.items()}
        for after, ways in zip([*range(1, len(programme.at)), 0], programme.ways, strict=True)
    ]
    for terms in missing:
        for column, number in terms.items():
            programme.cost[column] = number
    values = programme.solve()
    if values is None:
        return None
    short = round(sum(values[c] * n for terms in missing for c, n in terms.items()))
    programme.row({c: n for terms in missing for c, n in terms.items()}, high=short)
    programme.cost = [0.0] * len(programme.cost)
    least = programme.column(-1.0, whole=False, most=np.inf)
    for k, ways in enumerate(programme.ways):
        asked = asked_of(line, (k + 1) % len(programme.at))
        programme.row({**{c: on.length / asked for c, on in ways.items()}, least: -1.0}, 0)
    return short, room_of(line, programme.chosen(programme.solve()))


def spare(line: Line, after: int, on: Way) -> int:
    """Carriers that can wait on a way behind those that its station takes."""
    return int(np.floor(on.fit + 1e-9)) - int(line.stations[after].positions)


def asked_of(line: Line, after: int) -> float:
    station = line.stations[after]
    return float(max(line.apart(after - 1), line.about.spacing * station.positions))


def room_of(line: Line, ways: Sequence[Way]) -> float:
    """The least that a way is of what is asked of it."""
    count = len(ways)
    return min(on.length / asked_of(line, (k + 1) % count) for k, on in enumerate(ways))


def walked(line: Line, found: Seated) -> list[Way]:
    """The ways of a placement that was found."""
    nodes: list[Node] = [
        (int(at >= line.half), at - line.half * (at >= line.half)) for at in found.placement.at
    ]
    return [way(line, here, there) for here, there in pairwise([*nodes, nodes[0]])]


def drawn_station(rng: Generator, number: int, straight: float, *, busy: bool) -> dict[str, Any]:
    station: dict[str, Any] = {
        "name": f"station {number}",
        "dwell": f"{rng.uniform(1.4, 1.6) if busy else rng.uniform(0.2, 1.6):.2f} s",
        "settling": f"{rng.choice([0.0, 0.1])} s",
        "clear_of_joints": bool(rng.random() < 0.4),
        "positions": int(rng.choice([1, 1, 1, 1, 2])),
    }
    if rng.random() < 0.4:
        station["side"] = str(rng.choice(["front", "back"]))
    if rng.random() < 0.25:
        station["after"] = f"{rng.uniform(0.2, 1.2):.2f} m"
    if rng.random() < 0.2:
        station["length"] = f"{rng.uniform(0.1, 0.8):.2f} m"
    if rng.random() < 0.15:
        station["at"] = f"{rng.uniform(0.1, straight - 0.1):.3f} m"
    return station


def drawn_straights(
    rng: Generator, catalogue: Catalogue, altered: Callable[..., Catalogue]
) -> Catalogue:
    """Three straight sections of different lengths, in steps of 50 mm."""
    lengths = sorted(0.05 * rng.choice(np.arange(4, 15), size=3, replace=False))
    straight = tuple(
        catalogue.straight[0].model_copy(update={"id": f"s-{k}", "length": round(length, 2)})
        for k, length in enumerate(lengths)
    )
    rules = catalogue.rules.model_copy(
        update={"start_lag": float(rng.choice([0.0, 0.0, 0.05, 0.1]))}
    )
    return altered(catalogue, straight=straight, rules=rules)


def drawn_sides(rng: Generator, lengths: Sequence[float]) -> tuple[tuple[int, ...], ...]:
    """Pieces of both sides, equally long, of other sections if that can be."""
    every = [n for n in product(range(4), repeat=3) if 0.8 <= np.dot(n, lengths) <= 1.5]
    front = every[int(rng.integers(len(every)))]
    same = [n for n in every if abs(np.dot(n, lengths) - np.dot(front, lengths)) < 1e-6]
    return front, same[int(rng.integers(len(same)))]


def drawn_line(seed: int, catalogue: Catalogue, altered: Callable[..., Catalogue]) -> Line:
    """A small loop with a takt that its stations and bends may just do.

    On every other one all stations are as busy, carriers long and slow to start, so that exchanges
    and the places for carriers decide as well.
    """
    rng, busy = np.random.default_rng(seed), seed % 2 == 0
    drawn = drawn_straights(rng, catalogue, altered)
    lengths = [part.length for part in drawn.straight]
    front, back = drawn_sides(rng, lengths)
    straight = float(np.dot(front, lengths))
    load = {
        "mass": "2 kg",
        "length": f"{rng.choice([110, 230, 300] if busy else [60, 110, 230])} mm",
        "width": "80 mm",
        "reach": f"{rng.choice([0, 50, -50])} mm",
        "held": "clamped",
    }
    stations = [
        drawn_station(rng, k, straight, busy=busy)
        for k in range(int(rng.integers(2, 4 if busy else 6)))
    ]
    case = make_case(
        {"load": load, "station": stations, "rate": {"items": "9/min", "reserve": 0.0}}, "drawn"
    )
    options = [o for o in list_options(case, drawn) if o.carrier.plate_length <= 0.3]
    about = OptionContext(options[int(rng.integers(len(options)))], case, drawn)
    speed = float(rng.uniform(0.8, 2.5))
    settings = Settings.single(
        rng.uniform(0.8, 2.5) if busy else rng.uniform(1.5, 9.0),
        rng.choice([30.0, 80.0, 300.0, np.inf]),
        speed,
        min(speed, rng.uniform(0.3, 1.2)),
    )
    line = Line(about, front, back, settings)
    longest = max(
        (station.occupied_with(1) + line.exchange(k, 0.5 * straight)) / station.positions
        for k, station in enumerate(case.station)
    )
    takt = max(longest, about.least_bend_spacing / line.bend_speed)
    takt *= rng.uniform(1.0, 1.03 if busy else 1.5)
    return line.keeping(float(takt), 1 + line.forming)


@dataclass(frozen=True)
class Tried:
    """A loop whose fleet just makes the quickest lap in time, if there are places at all.

    ``moving`` is that lap by HiGHS. ``settled`` says that no other is quickest at that takt.
    """

    line: Line
    moving: float | None
    settled: bool


def tightened(line: Line) -> Tried:
    """The takt is lowered or raised until the fleet just makes its lap in time."""
    moving = quickest(line)
    if moving is None:
        return Tried(line, None, settled=False)
    running = max(1, int((moving + line.dwells) / line.about.takt))
    carriers = line.forming + running
    for _ in range(4):
        line = line.keeping(line.takt_for(moving + ROUNDING, carriers), carriers)
        found = quickest(line)
        if found is None or abs(found - moving) < 1e-9:
            return Tried(line, found, settled=found is not None)
        moving = found
    return Tried(line, moving, settled=False)


@pytest.fixture(scope="module")
def tried(catalogue: Catalogue, altered: Callable[..., Catalogue]) -> list[Tried]:
    return [tightened(drawn_line(seed, catalogue, altered)) for seed in range(LOOPS)]


def stands(line: Line, found: Seated) -> bool:
    """Whether stations stand where they may, one after the other, and clear of the joints."""
    ways = walked(line, found)
    once_round = abs(sum(on.length for on in ways) - 2.0 * line.half) < 1e-6
    for k, at in enumerate(found.placement.at):
        side = int(at >= line.half)
        place = at - side * line.half
        node = next((n for n in line.nodes(k) if n[0] == side and abs(n[1] - place) < 1e-9), None)
        if node is None or not will_do(line, k - 1, node, ways[k - 1]):
            return False
        sections = (found.front, found.back)[side]
        lengths = [line.about.catalogue.straights[name].length for name in sections]
        joints = np.cumsum(lengths)[:-1] if line.stations[k].clear_of_joints else []
        if any(abs(place - joint) + MICROMETRE < line.about.bend_clearance for joint in joints):
            return False
    counts = [
        tuple(sections.count(part.id) for part in line.about.catalogue.straight)
        for sections in (found.front, found.back)
    ]
    return once_round and counts == [line.front, line.back]


def test_loops_are_of_every_sort(tried: list[Tried]) -> None:
    """Most have places; in many the order of the sections is open, and everything else occurs."""
    settled = [one.line for one in tried if one.settled]
    assert len(settled) >= 40
    assert sum(one.moving is None for one in tried) >= 10
    stations = [station for line in settled for station in line.stations]
    for holds in (
        sum(station.at is not None for station in stations),
        sum(station.after > 0.0 for station in stations),
        sum(station.positions > 1 for station in stations),
        sum(station.side != "any" for station in stations),
    ):
        assert holds >= 10
    ordered = [
        line
        for line in settled
        if any(station.clear_of_joints for station in line.stations)
        and max(sum(map(bool, line.front)), sum(map(bool, line.back))) > 1
    ]
    assert len(ordered) >= 15
    assert {len(line.stations) for line in settled} == {2, 3, 4, 5}


def test_a_fleet_that_just_makes_the_quickest_lap_has_places(tried: list[Tried]) -> None:
    for seed, one in enumerate(tried):
        found = one.line.seat()
        if one.moving is None:
            assert found is None, seed
            continue
        assert found is not None and found.proven, seed
        assert stands(one.line, found), seed
        if one.settled:
            assert one.moving - 1e-9 <= found.moving_time <= one.moving + ROUNDING, seed
            moving = sum(on.time for on in walked(one.line, found))
            assert moving == pytest.approx(one.moving, abs=ROUNDING), seed


def test_no_lap_is_quicker(tried: list[Tried]) -> None:
    """With two microseconds less than the quickest lap takes there are no places."""
    for seed, one in enumerate(tried):
        if one.settled and one.moving is not None:
            carriers = one.line.carriers
            takt = one.line.takt_for(one.moving - 2e-6, carriers)
            assert one.line.keeping(takt, carriers).seat() is None, seed


def test_no_more_carriers_have_places(tried: list[Tried]) -> None:
    for seed, one in enumerate(tried):
        if one.moving is not None:
            takt, most = one.line.about.takt, most_carriers(one.line)
            assert most >= one.line.carriers, seed
            assert one.line.keeping(takt, most).seat(any_will_do=True) is not None, seed
            assert one.line.keeping(takt, most + 1).seat(any_will_do=True) is None, seed


def test_no_places_leave_more_room(tried: list[Tried]) -> None:
    """What is preferred among the places: room to wait first, then the widest least way.

    The carriers that are wanted to wait are taken as they were found.
    """
    compared = []
    for seed, one in enumerate(tried[:40]):
        if one.moving is None:
            continue
        slack = float(np.random.default_rng(seed).uniform(0.0, 0.6))
        carriers = one.line.carriers
        line = one.line.keeping(
            one.line.takt_for(one.moving + ROUNDING + slack, carriers), carriers
        )
        found = line.seat()
        assert found is not None and found.proven, seed
        best = roomiest(line, found.wanted)
        assert best is not None, seed
        ways = walked(line, found)
        count = len(ways)
        missing = [
            max(0, found.wanted[(k + 1) % count] - spare(line, (k + 1) % count, on))
            for k, on in enumerate(ways)
        ]
        assert sum(missing) == best[0], seed
        # Room counts in whole per mille.
        room, most = (np.floor(1e3 * value + 1e-6) for value in (room_of(line, ways), best[1]))
        assert room == most, seed
        compared.append(best)
    assert len(compared) >= 20
    assert sum(short > 0 for short, _ in compared) >= 3
