"""The bounds of the proof against every place that stations may stand at, on small loops.

A bound that is too high would call a price proven that is not; so every placement on a coarse grid
is worked out with the checks of the loop themselves, for random enquiries, settings and builds.
"""

from dataclasses import dataclass, replace
from itertools import product
from typing import Any

import numpy as np
import pytest

from recommender.choice.checks import FLEET_CHECKS, GEOMETRY_CHECKS, LAYOUT_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.liquid import rise_in_bends
from recommender.choice.decision.explore import everything
from recommender.choice.loop.layout import LayoutContext, LoopContext, longest_first
from recommender.choice.parts.builds import Build
from recommender.choice.parts.options import list_options
from recommender.choice.parts.placement import Loop, Placement
from recommender.choice.parts.price_book import BuildTable, PriceBook
from recommender.choice.search.axes import Axes, axes_of
from recommender.choice.search.bound import bounded
from recommender.choice.search.box import Boxes
from recommender.choice.search.candidates import Candidate, candidates_on
from recommender.choice.search.grid import Grid
from recommender.choice.search.lap_bound import LapBound
from recommender.choice.search.price_bound import BuildPrices, PricedBuild
from recommender.choice.search.screen import Screened, screen
from recommender.inputs.case import Case, Station
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

STEP = 0.1
GRID = Grid(accelerations=3, speeds=2, bend_speeds=3, ramp_times=2)
DRAWS = 48
BOXES = 8


@dataclass(frozen=True)
class Drawn:
    """A random enquiry on one build, and what becomes of it at every place."""

    case: Case
    entry: Screened
    axes: Axes
    price_book: PriceBook
    priced: PricedBuild
    loops: list[LoopContext]

    @property
    def setting(self) -> Any:
        return self.entry.context.take(self.entry.holding)

    @property
    def used(self) -> Array:
        return self.entry.used[self.entry.holding]


def random_case(rng: np.random.Generator) -> Case:
    def station(number: int) -> dict[str, Any]:
        table: dict[str, Any] = {
            "name": f"station {number}",
            "dwell": f"{rng.uniform(0.2, 1.5):.2f} s",
            "positions": int(rng.choice([1, 1, 1, 2])),
        }
        if rng.random() < 0.3:
            table["after"] = f"{rng.uniform(0.2, 1.2):.2f} m"
        if rng.random() < 0.2:
            table["side"] = str(rng.choice(["front", "back"]))
        if rng.random() < 0.1:
            table["at"] = f"{rng.uniform(0.2, 0.8):.2f} m"
            table.setdefault("side", "front")
        return table

    table: dict[str, Any] = {
        "load": {
            "mass": f"{rng.uniform(0.5, 12):.1f} kg",
            "length": f"{rng.uniform(80, 250):.0f} mm",
            "width": "150 mm",
            "reach": f"{rng.uniform(-20, 120):.0f} mm",
            "held": str(rng.choice(["friction", "clamped"])),
            "friction": 0.4,
        },
        "rate": {"items": f"{rng.uniform(8, 60):.1f}/min"},
        "life": {"hours": float(rng.choice([2000.0, 20000.0, 80000.0]))},
        "station": [station(k) for k in range(int(rng.integers(1, 4)))],
    }
    if rng.random() < 0.2:
        table["load"] |= {"held": "nested"}
        table["load"]["liquid"] = {"length": "75 mm", "width": "100 mm", "depth": "40 mm"}
        table["load"]["liquid"]["freeboard"] = f"{rng.uniform(10, 40):.0f} mm"
    return Case.model_validate(table)


def places(about: Any, station: Station, loop: Loop) -> list[float]:
    """Every round place of one station, both straights."""
    found = []
    for side, start in (("front", 0.0), ("back", loop.back_start)):
        if station.side not in ("any", side):
            continue
        clear = about.bend_clearance - 1e-9
        along = [STEP * k for k in range(round(loop.straight / STEP) + 1)]
        if station.at is not None:
            along = [station.at]
        found += [start + x for x in along if clear <= x <= loop.straight - clear]
    return found


def every_loop(about: Any, build: Build) -> list[LoopContext]:
    """The option on one build with its stations at every place, in their order along the travel."""
    loop = Loop(build.length, about.bend_length)
    front, back = longest_first(about, build.front), longest_first(about, build.back)
    found = []
    for at in product(*(places(about, station, loop) for station in about.case.station)):
        gaps = [
            ((b - a) % loop.length) or loop.length for a, b in zip(at, at[1:] + at[:1], strict=True)
        ]
        if sum(gaps) < 1.5 * loop.length and len(set(at)) == len(at):
            found.append(LoopContext(about, loop, Placement(at, tuple(gaps)), front, back))
    return found


@pytest.fixture(scope="module")
def drawn(catalogue: Catalogue) -> list[Drawn]:
    found = []
    for seed in range(DRAWS):
        rng = np.random.default_rng(seed)
        case = random_case(rng)
        options = list_options(case, catalogue)
        option = options[rng.integers(len(options))]
        (entry,) = screen([option], case, catalogue, GRID)
        (axes,) = axes_of([option], case, catalogue)
        price_book = PriceBook(case, catalogue, catalogue.rules.longest_loop)
        table = price_book.table()
        longest = 1.0 if len(case.station) > 2 else 1.6
        row = int(rng.choice(np.flatnonzero(table.length <= longest)))
        base = BuildPrices.of(entry.context.about, price_book).base
        build = table.entries[row]
        sections = build.pieces + 2 * option.bend.sections
        priced = PricedBuild(build, int(base[row]), sections, 0)
        loops = every_loop(entry.context.about, build)
        if len(entry.holding) and loops:
            found.append(Drawn(case, entry, axes, price_book, priced, loops))
    return found


def holding(on: LoopContext, draw: Drawn) -> tuple[Array, Array]:
    """Unhindered lap, and whether all that keeps the takt holds but the number of carriers."""
    layout = LayoutContext(on, draw.setting)
    outcomes = [check.evaluate(layout) for check in (*GEOMETRY_CHECKS, *FLEET_CHECKS)]
    used = np.max([outcome.utilisation() for outcome in outcomes if outcome], axis=0)
    return layout.lap_time, used <= HOLDS


@pytest.fixture(scope="module")
def least_laps(drawn: list[Drawn]) -> list[Array]:
    """Quickest lap of every setting over all places, by trying them."""
    found = []
    for draw in drawn:
        least = np.full(len(draw.used), np.inf)
        for on in draw.loops:
            lap, holds = holding(on, draw)
            least = np.where(holds, np.minimum(least, lap), least)
        found.append(least)
    return found


def test_the_draw_is_wide(drawn: list[Drawn], least_laps: list[Array]) -> None:
    assert len(drawn) >= 25
    assert sum(bool(np.isfinite(least).any()) for least in least_laps) >= 15
    assert sum(bool(np.isinf(least).any()) for least in least_laps) >= 8
    assert sum(len(draw.case.station) > 1 for draw in drawn) >= 12


def test_no_place_makes_a_lap_quicker_than_its_bound(
    drawn: list[Drawn], least_laps: list[Array]
) -> None:
    close = []
    for draw, least in zip(drawn, least_laps, strict=True):
        about, settings = draw.setting.about, draw.setting.settings
        closed = LapBound(about, draw.priced.build.length, settings).lap_time
        assert (closed <= least + 1e-9).all()
        finite = np.isfinite(least)
        close += list((least[finite] - closed[finite]) / least[finite])
    # Stations at places a step apart are seldom where the quickest lap would have them.
    assert np.median(close) < 0.01
    assert max(close) < 0.06


def test_no_slower_bend_makes_a_lap_quicker_than_the_bound_with_a_floor(
    drawn: list[Drawn], least_laps: list[Array]
) -> None:
    """The bound of one setting with a floor, for all that are slower in bends and no quicker."""
    slower = 0
    for draw, least in zip(drawn, least_laps, strict=True):
        about, settings = draw.setting.about, draw.setting.settings
        length, swift = draw.priced.build.length, settings.quickest()
        bend = settings.bend_speed
        for floor in np.quantile(bend, [0.0, 0.5]):
            bound = LapBound(about, length, swift, np.array([floor])).lap_time[0]
            assert bound <= least[bend >= floor].min(initial=np.inf) + 1e-9
        # The same with all but the bend speed as it is.
        floors = 0.4 * bend
        bound = LapBound(about, length, settings, floors).lap_time
        for row in range(0, len(bend), 5):
            alike = (settings.acceleration == settings.acceleration[row]) & (
                settings.speed == settings.speed[row]
            )
            alike &= (settings.jerk == settings.jerk[row]) & (bend <= bend[row])
            alike &= bend >= floors[row]
            assert bound[row] <= least[alike].min() + 1e-9
            slower += int(alike.sum()) - 1
    assert slower > 150


def candidates(draw: Drawn, on: LoopContext, rows: Array) -> list[Candidate]:
    """What some settings come to on one loop, the cheapest of each, whatever others cost."""
    return [
        candidate
        for row in rows
        for one in [np.array([row])]
        for candidate in candidates_on(
            draw.priced, on, draw.setting.take(one), draw.used[one], draw.price_book
        )
    ]


def test_no_place_makes_a_build_cheaper_than_its_bound(drawn: list[Drawn]) -> None:
    compared = 0
    for draw in drawn:
        prices = BuildPrices.of(draw.setting.about, draw.price_book)
        quickest = draw.setting.settings.quickest()
        limits = (quickest.acceleration, quickest.speed, quickest.bend_speed)
        rough = prices.rough_bound(*(float(limit[0]) for limit in limits))
        row = draw.price_book.table().entries.index(draw.priced.build)
        for on in draw.loops[:: max(1, len(draw.loops) // 60)]:
            for candidate in candidates(draw, on, np.arange(0, len(draw.used), 7)):
                assert candidate.price >= rough[row]
                compared += 1
    assert compared > 300


def box_round(draw: Drawn, row: int, rng: np.random.Generator) -> Boxes | None:
    """A box of random size with one of the settings somewhere in it; none beyond the axes."""
    whole, settings = everything(draw.axes), draw.setting.settings
    if not len(whole):
        return None
    straight, bend = draw.axes.straight.values, draw.axes.bend.values
    ends = []
    for value, nodes in ((settings.acceleration, straight), (settings.bend_speed, bend)):
        if not nodes[0] <= value[row] <= nodes[-1]:
            return None
        below = int(np.clip(np.searchsorted(nodes, value[row], side="right") - 1, 0, len(nodes)))
        reach = 2 ** rng.integers(0, 8, size=2)
        first = max(0, below - int(reach[0]) + 1)
        ends += [np.array([first]), np.array([min(len(nodes) - 1, below + int(reach[1]))])]
    gentle, sharp, slow_bend, quick_bend = ends
    wider = np.exp(rng.uniform(0.0, 0.7, size=2))
    return replace(
        whole,
        gentle=gentle,
        sharp=sharp,
        slow_bend=slow_bend,
        quick_bend=quick_bend,
        slow=settings.speed[row : row + 1] / wider[0],
        quick=settings.speed[row : row + 1] * wider[1],
    )


def rows_within(draw: Drawn, box: Boxes) -> Array:
    """The settings that lie in a box."""
    settings, axes = draw.setting.settings, draw.axes
    within = np.ones(len(settings), dtype=np.bool_)
    for value, least, most in (
        (settings.acceleration, axes.straight.values[box.gentle], axes.straight.values[box.sharp]),
        (settings.bend_speed, axes.bend.values[box.slow_bend], axes.bend.values[box.quick_bend]),
        (settings.speed, box.slow, box.quick),
        (settings.acceleration / settings.jerk, box.shortest, box.longest),
    ):
        within &= (value >= least * (1.0 - 1e-12)) & (value <= most * (1.0 + 1e-12))
    return np.flatnonzero(within)


def test_no_place_makes_a_setting_of_a_box_undercut_its_bound(
    drawn: list[Drawn], least_laps: list[Array]
) -> None:
    """In price or in carriers, wherever the stations stand; nor works one in a box left out."""
    compared = tight = 0
    for number, (draw, least) in enumerate(zip(drawn, least_laps, strict=True)):
        rng = np.random.default_rng([31, number])
        able = np.flatnonzero(np.isfinite(least))
        for row in rng.permutation(able)[:BOXES]:
            box = box_round(draw, int(row), rng)
            if box is None:
                continue
            within = rows_within(draw, box)
            assert row in within
            rows = np.union1d(rng.permutation(np.intersect1d(within, able))[:4], [row])
            bound = bounded(draw.priced, box, draw.price_book)
            for on in draw.loops[:: max(1, len(draw.loops) // 25)]:
                for found in candidates(draw, on, rows):
                    assert len(bound.price), "something works in a box that was left out"
                    assert found.price >= bound.price[0]
                    assert found.carriers >= bound.carriers[0]
                    compared += 1
                    tight += bool(found.price == bound.price[0])
    assert compared > 500
    assert tight > 100


def test_room_of_a_loop_is_that_between_its_stations(drawn: list[Drawn]) -> None:
    for draw in drawn:
        for on in draw.loops[:5]:
            assert on.about.places_on(on.loop.straight) == pytest.approx(on.gaps.sum())


def test_no_place_calms_the_wave_that_a_bend_raises(drawn: list[Drawn]) -> None:
    """Settings that are left out for it spill wherever the stations stand."""
    spilling = calm = 0
    for draw in drawn:
        liquid = draw.case.load.liquid
        if liquid is None:
            continue
        # Those left out as well, one in three.
        setting = draw.entry.context
        setting = setting.take(np.arange(0, len(setting.settings), 3))
        least = rise_in_bends(setting)
        for on in draw.loops[:: max(1, len(draw.loops) // 10)]:
            layout = LayoutContext(on, setting)
            (outcome,) = (c.evaluate(layout) for c in LAYOUT_CHECKS if c.about.id == "load.spill")
            rise, runs = outcome.demand.max(axis=-1), np.isfinite(layout.lap_time)
            # Beyond the rim the check looks at one fill only.
            beyond = rise > liquid.freeboard
            assert ((rise >= least - 1e-12) | beyond)[runs].all()
            assert beyond[runs & (least > liquid.freeboard)].all()
            spilling += int((runs & (least > liquid.freeboard)).sum())
            calm += int((runs & ~beyond).sum())
    assert spilling > 50 and calm > 50


def test_a_table_of_builds_keeps_their_order(catalogue: Catalogue, drawn: list[Drawn]) -> None:
    table = drawn[0].price_book.table()
    assert table.entries == BuildTable.of(table.entries).entries
    assert [build.length for build in table.entries] == table.length.tolist()
