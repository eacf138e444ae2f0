"""Places that fill in turn, in the choice: waits, bounds, and the chosen loops let run together."""

from collections.abc import Iterator

import numpy as np
import pytest

from recommender.choice.carrier.bodies import batches
from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import FLEET_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.layout import LayoutContext, placed_on
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.candidates import passes_alone
from recommender.choice.search.lap_bound import LapBound
from recommender.inputs.catalogue import Catalogue, read_catalogue
from recommender.inputs.files import shipped
from recommender.lines.decide import LineDecision, decide_line
from recommender.lines.direct import variants
from recommender.lines.reading import read_line
from tests.evidence.test_handover_against_events import Tied, simulated_rhythm
from tests.evidence.test_rate_against_events import Loop
from tests.lines.conftest import CASES


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return read_catalogue(shipped("catalog"))


@pytest.fixture(scope="module")
def decision(catalogue: Catalogue) -> LineDecision:
    return decide_line(read_line(CASES / "jars.toml"), catalogue)


def layout_in(decision: LineDecision, number: int, catalogue: Catalogue) -> LayoutContext:
    """The chosen configuration of a loop, once more from the case."""
    assert decision.chosen is not None
    built, case = decision.chosen.built.loops[number], decision.chosen.built.cases[number]
    about = OptionContext(built.option, case, catalogue)
    return layout_of(built, setting_of(about, built.motion))


def test_the_way_between_places_ends_at_a_turn(
    decision: LineDecision, catalogue: Catalogue
) -> None:
    layout = layout_in(decision, 1, catalogue)
    about = layout.about
    first, second, _ = about.case.station
    assert first.due is not None and second.due is None
    settling = float(about.occupied[1] - about.dwells[1])
    turns = (float(layout.station_legs[0, 0]) + settling - first.due) / about.takt
    assert turns == pytest.approx(round(turns), abs=1e-9) and turns >= 1.0
    # The lap is longer by the wait and by nothing else.
    travel = float(layout.lap.moving_time[0] + about.occupied.sum())
    wait = float(layout.turn_waits[0].sum())
    assert float(layout.lap_time[0]) == pytest.approx(travel + wait, rel=1e-12)
    assert wait > 0.0


def as_simulated(layout: LayoutContext, carriers: int) -> Loop:
    """A chosen loop as the simulation of carriers has it, without any wait."""
    on, settings = layout.on, layout.setting.settings
    order = on.order
    loop = Loop(
        gaps=on.gaps[order].tolist(),
        dwells=on.about.occupied[order].tolist(),
        positions=[1] * len(order),
        carriers=carriers,
        detours=[0.0] * len(order),
        spacing=on.about.spacing,
        speed=float(settings.speed[0]),
        acceleration=float(settings.acceleration[0]),
        jerk=float(settings.jerk[0]),
        lag=on.about.rules.start_lag,
    )
    travel = (layout.station_legs - layout.turn_waits)[0, order]
    loop.detours = [
        max(float(leg) - loop.run(gap), 0.0) for leg, gap in zip(travel, loop.gaps, strict=True)
    ]
    return loop


def test_the_chosen_loops_keep_their_rhythm_when_they_run(
    decision: LineDecision, catalogue: Catalogue
) -> None:
    """Both loops as chosen, unit by unit, with their settling before handing over and taking."""
    assert decision.chosen is not None
    jars, boxes = (layout_in(decision, number, catalogue) for number in (0, 1))
    (turns,) = decision.turns
    carriers = [loop.carriers for loop in decision.chosen.built.loops]
    units, heavy = (
        as_simulated(layout, count) for layout, count in zip((jars, boxes), carriers, strict=True)
    )
    settling = (
        float(layout.about.occupied[station] - layout.about.dwells[station])
        for layout, station in ((jars, 1), (boxes, 0))
    )
    number = sum(turns.shares)
    line = Tied(units, heavy, turns.takt, turns.dwell, number, turns.places, *settling)
    # To what a lag from start to start costs in the simulation.
    assert simulated_rhythm(line) <= line.rhythm * (1.0 + 2e-3)


def layouts(catalogue: Catalogue) -> Iterator[tuple[LayoutContext, LapBound]]:
    """Random settings of each option of the boxes at two places, wherever they are tried."""
    random = np.random.default_rng(5)
    *_, two = variants(read_line(CASES / "jars.toml"), catalogue)
    case = two.cases["boxes"]
    price_book = PriceBook(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    options = [
        option
        for option in list_options(case, catalogue)
        if passes_alone(OptionContext(option, case, catalogue))
    ]
    assert list(batches(options, case, catalogue.rules))
    for option in options:
        about = OptionContext(option, case, catalogue)
        rows = 40
        acceleration = random.uniform(0.4, 3.0, rows)
        speed = random.uniform(0.4, 1.5, rows)
        settings = Settings(
            acceleration, acceleration * 20.0, speed, speed * random.uniform(0.3, 1.0, rows)
        )
        builds = price_book.builds()
        for number in random.choice(len(builds), size=min(6, len(builds)), replace=False):
            for on in placed_on(about, builds[number]):
                layout = LayoutContext(on, SettingContext(about, settings, None, None))
                yield layout, LapBound(about, on.loop.straight, settings)


def test_no_lap_is_shorter_than_its_bound(catalogue: Catalogue) -> None:
    compared = tighter = 0
    for layout, bound in layouts(catalogue):
        lap, least = layout.lap_time, bound.lap_time
        # The bound also leaves out places so close that carriers cannot follow in the takt.
        known = np.isfinite(lap)
        for check in FLEET_CHECKS:
            outcome = check.evaluate(layout)
            if outcome is not None:
                known &= outcome.utilisation() <= HOLDS
        assert np.all(least[known] <= lap[known] * (1.0 + 1e-9))
        compared += int(known.sum())
        without = layout.lap.moving_time + layout.about.occupied.sum()
        tighter += int((least[known] > without[known]).sum())
    assert compared > 100
    # The bound knows of the waits: it lies above laps without them.
    assert tighter > 0.5 * compared


def test_places_on_two_straights_are_refused(catalogue: Catalogue) -> None:
    """A box that goes round a bend between its two places could not be reached from one spot."""
    *_, two = variants(read_line(CASES / "jars.toml"), catalogue)
    case = two.cases["boxes"]
    first, second, unload = case.station
    apart = case.model_copy(
        update={"station": (first, second.model_copy(update={"side": "back"}), unload)}
    )
    option = next(o for o in list_options(apart, catalogue) if o.id == "lm-176_arc-280_x1")
    about = OptionContext(option, apart, catalogue)
    price_book = PriceBook(apart, catalogue, 10.0)
    settings = Settings.single(1.0, 20.0, 1.0, 0.4)
    seen = 0
    for build in price_book.builds():
        for on in placed_on(about, build):
            layout = LayoutContext(on, SettingContext(about, settings, None, None))
            assert np.isinf(layout.lap_time[0]) and np.isinf(layout.carriers_for_rate[0])
            seen += 1
    assert seen > 0
