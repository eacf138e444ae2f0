"""The loop in the answer: what stands where, and that it all fits together."""

from typing import Any

import pytest

from recommender.inputs.catalogue import Catalogue
from recommender.results.answer import LoopPlan


def plan_of(worked: Any) -> LoopPlan | None:
    choice = worked.answer.choice
    return choice.loop if choice else None


def test_sections_fill_both_sides_and_the_bends(worked: Any, catalogue: Catalogue) -> None:
    loop = plan_of(worked)
    if loop is None:
        return
    for side in (loop.front, loop.back):
        assert sum(catalogue.straights[id_].length for id_ in side) == pytest.approx(
            loop.straight_m
        )
    assert len(loop.joints_m) == len(loop.front) + len(loop.back) + 2
    counted = {id_: (*loop.front, *loop.back).count(id_) for id_ in (*loop.front, *loop.back)}
    bend = worked.answer.choice.bend
    assert loop.sections == {**counted, bend: 2}


def test_supplies_share_out_all_sections_and_feeds_are_near_enough(
    worked: Any, catalogue: Catalogue
) -> None:
    loop = plan_of(worked)
    if loop is None:
        return
    bend = next(part for part in catalogue.bend if part.id == worked.answer.choice.bend)
    number = len(loop.front) + len(loop.back) + 2 * bend.sections
    served = [
        (run.first_section - 1 + k) % number for run in loop.supplies for k in range(run.sections)
    ]
    assert sorted(served) == list(range(number))
    known = {part.id: part for part in (*catalogue.supply, *catalogue.feed)}
    for run in loop.supplies:
        assert run.mean_w <= run.mean_limit_w == known[run.id].mean_power
        assert run.peak_w <= run.peak_limit_w == known[run.id].peak_power
        assert run.sections <= known[run.id].max_sections
    sections = [feed.section for feed in loop.feeds]
    apart = [b - a for a, b in zip(sections, [*sections[1:], sections[0] + number], strict=True)]
    assert max(apart) <= known[loop.feeds[0].id].max_sections
    for feed in loop.feeds:
        # Bends of the catalogue take no feed, so it is in the middle of a straight section.
        on_back = feed.at_m > loop.straight_m
        side = loop.back if on_back else loop.front
        before = feed.section - 1 - (len(loop.front) + bend.sections if on_back else 0)
        assert side[before] == feed.section_id
        along = sum(catalogue.straights[id_].length for id_ in side[:before])
        along += 0.5 * catalogue.straights[feed.section_id].length
        start = 0.5 * loop.length_m if on_back else 0.0
        assert feed.at_m == pytest.approx(start + along)


def test_the_parts_are_those_of_the_plan(worked: Any) -> None:
    loop = plan_of(worked)
    if loop is None:
        return
    bought = {part.id: part.quantity for part in worked.answer.parts}
    assert bought[loop.feeds[0].id] == len(loop.feeds)
    for id_, count in loop.sections.items():
        assert bought[id_] == count
    for run in loop.supplies:
        assert bought[run.id] == sum(other.id == run.id for other in loop.supplies)


def test_carriers_wait_where_batches_gather_and_before_the_bottleneck(worked: Any) -> None:
    """By Little's law those that are not on their way wait, within one."""
    loop, choice = plan_of(worked), worked.answer.choice
    if loop is None:
        return
    takt = 60.0 * choice.items_per_carrier / worked.answer.rate.with_reserve_per_min
    queue = choice.carriers - choice.lap_times.unhindered_s / takt
    batches = [station.positions for station in worked.case.station]
    for place, batch in zip(loop.stations, batches, strict=True):
        assert place.waiting >= (batch if batch > 1 else 0)
    assert max(place.waiting for place in loop.stations) >= queue - 1e-9
    if max(batches) == 1:
        assert sum(place.waiting for place in loop.stations) < queue + 1.0


def test_floor_is_that_of_the_guide_and_more(worked: Any, catalogue: Catalogue) -> None:
    """The straights lie within it, and half a plate at least sticks out to either side."""
    loop, choice = plan_of(worked), worked.answer.choice
    if loop is None:
        return
    plate = next(part for part in catalogue.carrier if part.id == choice.carrier).plate_width
    assert loop.floor_width_m >= loop.width_m + plate - 1e-9
    assert loop.floor_extent_m >= loop.straight_m + loop.width_m
    checks = {check.id: check for check in choice.checks}
    for id_, size in (("loop.width", loop.floor_width_m), ("loop.extent", loop.floor_extent_m)):
        if id_ in checks:
            assert checks[id_].demand == pytest.approx(size)


def test_crate_s_floor_by_hand(worked_case: Any, catalogue: Catalogue) -> None:
    """A load 400 mm long and 350 mm out, on a chord of the wheelbase round a radius of 280 mm."""
    loop = worked_case("crate").answer.option("bs-180_arc-280_x1").loop
    base = next(part for part in catalogue.carrier if part.id == "bs-180").wheelbase
    corner = (((0.28**2 - (base / 2) ** 2) ** 0.5 + 0.35) ** 2 + 0.2**2) ** 0.5
    assert loop.floor_width_m == pytest.approx(2 * corner)
    assert loop.floor_extent_m == pytest.approx(1.0 + 2 * corner)
