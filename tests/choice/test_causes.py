"""A reason is a cause: what is named fails whatever the motion and wherever the stations stand."""

from itertools import combinations
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks.causes import Cause, cores, told_causes
from recommender.choice.checks.findings import Finding, loop_findings, option_findings
from recommender.choice.decision.nearest import Nearest, nearest
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.layout import LayoutContext, on_loop
from recommender.choice.parts.builds import Build
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.candidates import passes_alone
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import Screened, screen
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from tests.oracles.grid_search import cheapest

PRESS = {
    "load": {"mass": "6 kg", "reach": "10 mm", "held": "clamped"},
    "rate": {"items": "20/min"},
    "station": [
        {"name": "load", "dwell": "0.5 s"},
        {"name": "press", "dwell": "0.6 s", "force": ["0 N", "0 N", "-2000 N"]},
    ],
}


def random_case(seed: int) -> Case:
    """An enquiry that asks for somewhat more than some carriers can do."""
    rng = np.random.default_rng(seed)
    force = float(rng.choice([0.0, 0.0, 900.0]))
    return Case.model_validate(
        {
            "load": {
                "mass": f"{rng.uniform(1.0, 12.0):.2f} kg",
                "reach": f"{rng.uniform(0.0, 220.0):.0f} mm",
                "cg_height": f"{rng.uniform(30.0, 300.0):.0f} mm",
                "held": str(rng.choice(["friction", "nested", "clamped"])),
                "friction": 0.3,
            },
            "rate": {"items": f"{rng.uniform(30.0, 130.0):.1f}/min"},
            "loop": {"max_length": f"{rng.uniform(3.0, 6.0):.2f} m"},
            "station": [
                {"name": "in", "dwell": f"{rng.uniform(0.1, 0.5):.2f} s"},
                {"name": "out", "dwell": "0.2 s", "force": ["0 N", "0 N", f"-{force:.0f} N"]},
            ],
            "limits": {"acceleration": f"{rng.uniform(2.0, 20.0):.1f} m/s^2"},
            "life": {"hours": float(rng.choice([5e3, 6e4]))},
        }
    )


def failing(case: Case, catalogue: Catalogue) -> list[tuple[Screened, PriceBook, Nearest]]:
    longest = case.loop.max_length or catalogue.rules.longest_loop
    price_book = PriceBook(case, catalogue, longest)
    found = []
    for entry in screen(list_options(case, catalogue), case, catalogue, Grid()):
        if passes_alone(entry.context.about) and cheapest(entry, price_book):
            continue
        near = nearest(entry, price_book)
        if near is not None:
            found.append((entry, price_book, near))
    return found


def any_motion(about: OptionContext, rng: np.random.Generator) -> Motion:
    """A motion within what carrier and drive could do at all."""
    carrier, rules = about.option.carrier, about.rules
    most = carrier.total_peak_force / (rules.drive_margin * about.mass)
    acceleration = float(
        rules.least_acceleration * (most / rules.least_acceleration) ** rng.random()
    )
    speed = float(rules.least_speed + (carrier.top_speed - rules.least_speed) * rng.random())
    bend_speed = float(rules.least_speed + (speed - rules.least_speed) * rng.random())
    return Motion(acceleration, acceleration / rules.ramp_time, speed, bend_speed)


def found_anywhere(
    entry: Screened, price_book: PriceBook, rng: np.random.Generator, builds: list[Build]
) -> dict[str, Finding]:
    """Every check at some motion on some loop that the enquiry allows."""
    about = OptionContext(entry.context.about.option, price_book.case, price_book.catalogue)
    setting = setting_of(about, any_motion(about, rng))
    on = on_loop(about, builds[int(rng.integers(len(builds)))])
    assert on is not None
    findings = [*option_findings(about), *loop_findings(LayoutContext(on, setting))]
    return {finding.check: finding for finding in findings}


@pytest.mark.parametrize("seed", range(10))
def test_the_named_cause_fails_at_every_motion_and_loop(
    seed: int, catalogue: Catalogue, altered: Any
) -> None:
    carriers = tuple(c for c in catalogue.carrier if c.id in ("std-92", "bs-180", "pair-310"))
    thinned = altered(catalogue, carrier=carriers)
    rng, named = np.random.default_rng(seed), 0
    for entry, price_book, near in failing(random_case(seed), thinned):
        about = entry.context.about
        most = 0.5 * price_book.longest - about.bend_length
        builds = [b for b in price_book.builds() if b.length <= most and on_loop(about, b)]
        for _ in range(25 if builds else 0):
            findings = found_anywhere(entry, price_book, rng, builds)
            for cause in told_causes(near.causes):
                named += 1
                assert any(not findings[check].ok for check in cause.checks), (
                    about.option.id,
                    cause.checks,
                )
    assert named >= 25


def test_a_press_overloads_at_any_speed_and_nothing_else_is_named(catalogue: Catalogue) -> None:
    causes = {
        entry.context.about.option.carrier.id: told_causes(near.causes)
        for entry, _, near in failing(Case.model_validate(PRESS), catalogue)
    }
    (only,) = causes["std-92"]
    assert only.told.check == "roller.working_load"
    assert not only.held
    assert only.told.where.load_case is not None
    assert only.told.where.load_case.station == "press"
    # Too heavy for the smallest as well, which has nothing to do with the press.
    assert [cause.told.check for cause in causes["std-68"]] == [
        "rating.payload",
        "roller.working_load",
    ]


def test_what_is_shown_is_a_fleet_that_somebody_would_buy(catalogue: Catalogue) -> None:
    for entry, price_book, near in failing(Case.model_validate(PRESS), catalogue):
        sections = len(near.on.front) + len(near.on.back)
        assert near.carriers <= 4
        assert sections <= 4
        assert on_loop(entry.context.about, price_book.builds()[-1]) is not None


@pytest.mark.parametrize("seed", range(200))
def test_cores_are_smallest_sets_that_no_row_holds(seed: int) -> None:
    rng = np.random.default_rng(seed)
    holds = rng.random((int(rng.integers(1, 9)), 5)) < rng.uniform(0.3, 0.95)
    found, left = cores(holds), set(range(5))
    for core in found:
        assert set(core) <= left
        left -= set(core)
        assert not holds[:, list(core)].all(axis=1).any()
        for fewer in range(1, len(core)):
            for part in combinations(core, fewer):
                assert holds[:, list(part)].all(axis=1).any(), (core, part)
    if len(found) < 4:
        assert holds[:, sorted(left)].all(axis=1).any()
    assert bool(found) != bool(holds.all(axis=1).any())


def test_what_hangs_on_the_same_requirement_is_told_once(worked_case: Any) -> None:
    findings = {each.check: each for each in worked_case("crate").decision.chosen.findings}
    payload, static = Cause(findings["rating.payload"]), Cause(findings["roller.static"])
    width = Cause(findings["loop.width"])
    assert told_causes([payload, static, width]) == (payload, width)
