"""The bounds of the proof against every place that stations may stand at, on small loops.

A bound that is too high would call a price proven that is not; so every placement on a coarse grid
is worked out with the checks of the loop themselves, for random enquiries, settings and builds.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
import pytest
from recommender.choice.proof import lap_grid
from recommender.choice.proof.lap_grid import GridLap
from recommender.choice.proof.open_settings import open_settings

from recommender.choice import placement
from recommender.choice.builds import Build
from recommender.choice.checks import FLEET_CHECKS, GEOMETRY_CHECKS, LAYOUT_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.liquid import least_rise, rise_in_bends
from recommender.choice.electrical import NEVER
from recommender.choice.grid import Grid
from recommender.choice.lap_bound import LapBound
from recommender.choice.layout import LayoutContext, LoopContext, longest_first
from recommender.choice.options import list_options
from recommender.choice.placement import Loop, Placement
from recommender.choice.price_bound import BuildPrices, PricedBuild, by_bound
from recommender.choice.screen import Screened, screen
from recommender.choice.search import candidates_on
from recommender.choice.workshop import BuildTable, Workshop
from recommender.inputs.case import Case, Station
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

STEP = 0.1
GRID = Grid(accelerations=3, speeds=2, bend_speeds=3, ramp_times=2)
DRAWS = 48


@dataclass(frozen=True)
class Drawn:
    """A random enquiry on one build, and what becomes of it at every place."""

    case: Case
    entry: Screened
    workshop: Workshop
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


@contextmanager
def coarse_places() -> Iterator[None]:
    """Stations stand at multiples of the test's own step."""
    with pytest.MonkeyPatch.context() as patch:
        for module in (placement, lap_grid):
            patch.setattr(module, "place_step", lambda straight: STEP)
        yield


@pytest.fixture(scope="module")
def drawn(catalogue: Catalogue) -> list[Drawn]:
    found = []
    with coarse_places():
        for seed in range(DRAWS):
            rng = np.random.default_rng(seed)
            case = random_case(rng)
            options = list_options(case, catalogue)
            option = options[rng.integers(len(options))]
            (entry,) = screen([option], case, catalogue, GRID)
            workshop = Workshop(case, catalogue, catalogue.rules.longest_loop)
            table = workshop.table()
            row = int(
                rng.choice(np.flatnonzero(table.length <= (1.0 if len(case.station) > 2 else 1.6)))
            )
            base = BuildPrices.of(entry.context.about, workshop).base
            build = table.entries[row]
            sections = build.pieces + 2 * option.bend.sections
            priced = PricedBuild(build, int(base[row]), sections, 0)
            loops = every_loop(entry.context.about, build)
            if len(entry.holding) and loops:
                found.append(Drawn(case, entry, workshop, priced, loops))
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


def test_no_place_makes_a_lap_quicker_than_its_bounds(
    drawn: list[Drawn], least_laps: list[Array]
) -> None:
    close = []
    for draw, least in zip(drawn, least_laps, strict=True):
        about, settings = draw.setting.about, draw.setting.settings
        closed = LapBound(about, draw.priced.build.length, settings).lap_time
        with coarse_places():
            grid = GridLap(about, draw.priced.build.length, settings).lap_time
        assert (closed <= grid + 1e-9).all()
        quickest = LapBound(about, draw.priced.build.length, settings.quickest(), ceiling=True)
        assert quickest.lap_time[0] <= closed.min() + 1e-9
        assert (grid <= least + 1e-9).all()
        finite = np.isfinite(least)
        close += list((least[finite] - grid[finite]) / least[finite])
    # What the two straights ask of each other across the bends is left out, and rarely matters.
    assert np.median(close) < 1e-9
    assert np.mean(np.array(close) < 1e-9) > 0.6


def test_no_place_makes_a_setting_cheaper_than_its_bound(drawn: list[Drawn]) -> None:
    compared = 0
    for draw in drawn:
        opened = open_settings(
            draw.priced, draw.setting, np.arange(len(draw.used)) * 1e-9, draw.workshop
        )
        # The utilisation given marks the row, so that candidates can be told apart.
        bound = np.full(len(draw.used), np.iinfo(np.int64).max)
        bound[np.round(opened.used * 1e9).astype(int)] = opened.price
        rough = {p.build: p.bound for p in by_bound(draw.setting, draw.workshop)}
        assert rough.get(draw.priced.build, NEVER) <= opened.least
        for on in draw.loops[:: max(1, len(draw.loops) // 60)]:
            for row in range(0, len(draw.used), 7):
                one = np.array([row])
                found = candidates_on(
                    draw.priced, on, draw.setting.take(one), draw.used[one], draw.workshop
                )
                for candidate in found:
                    assert candidate.price >= bound[row]
                    compared += 1
    assert compared > 300


def test_room_of_a_loop_is_that_between_its_stations(drawn: list[Drawn]) -> None:
    for draw in drawn:
        for on in draw.loops[:5]:
            assert on.about.places_on(on.loop.straight) == pytest.approx(on.gaps.sum())


def test_no_place_calms_a_wave_below_its_bound(drawn: list[Drawn]) -> None:
    compared = 0
    for draw in drawn:
        if draw.case.load.liquid is None:
            continue
        about, setting = draw.setting.about, draw.setting
        with coarse_places():
            grid = GridLap(about, draw.priced.build.length, setting.settings).from_bend
        least = least_rise(setting, grid)
        for on in draw.loops[:: max(1, len(draw.loops) // 8)]:
            layout = LayoutContext(on, setting)
            (outcome,) = (c.evaluate(layout) for c in LAYOUT_CHECKS if c.about.id == "load.spill")
            rise, runs = outcome.demand.max(axis=-1), np.isfinite(layout.lap_time)
            # Beyond the rim the check looks at one fill only.
            beyond = rise > draw.case.load.liquid.freeboard
            assert ((rise >= least - 1e-12) | beyond)[runs].all()
            assert beyond[runs & (least > draw.case.load.liquid.freeboard)].all()
            # Nor below the closer one that a lap of known length allows.
            lap = np.where(runs, layout.lap_time, np.inf)
            closer = least_rise(setting, grid, lap)
            assert (closer >= least - 1e-12)[runs].all()
            assert ((rise >= closer - 1e-12) | beyond)[runs].all()
            compared += int(runs.sum())
    assert compared > 100


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
    table = drawn[0].workshop.table()
    assert table.entries == BuildTable.of(table.entries).entries
    assert [build.length for build in table.entries] == table.length.tolist()
