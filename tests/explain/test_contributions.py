"""Shares of a demand: they add up, and those of the wrench load the rollers as they are loaded."""

from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.bend_fit import case_preload
from recommender.choice.decision.option_report import OptionReport
from recommender.explain.contributions import breakdown
from recommender.explain.scene import Scene
from recommender.explain.wrench_shares import load_case, wrench_shares
from recommender.physics.rollers import guide_roller_loads, lower_guide_split

ADDING_UP = {
    "rating.payload",
    "loop.width",
    "loop.extent",
    "loop.length",
    "fleet.lap",
    "station.exchange",
    "fleet.places",
    "supply.mean",
    "drive.peak_straight",
    "drive.peak_bend",
    "commercial.budget",
}


def looked_at(worked: Any) -> list[tuple[OptionReport, Scene]]:
    """Some configurations of every family, working or not."""
    scenes = worked.explained.scenes
    return [(each, scenes[each.option.id]) for each in worked.decision.looked[::7] if each.audit]


def test_shares_add_up_to_the_demand(worked: Any) -> None:
    seen = set()
    for looked, scene in looked_at(worked):
        for finding in looked.audit.findings:
            found = breakdown(scene, finding)
            if found is None or finding.check not in ADDING_UP:
                continue
            seen.add(finding.check)
            assert found.total == pytest.approx(finding.demand, rel=1e-9), finding.check
            assert all(amount for _, amount in found.shares)
            told = [amount for name, amount in found.shares if name != "everything else"]
            assert told == sorted(told, reverse=True)
    assert len(seen) >= 7


def test_shares_of_the_wrench_load_the_rollers_as_they_are(worked: Any) -> None:
    compared = 0
    for looked, scene in looked_at(worked):
        carrier = looked.option.carrier
        if carrier.coupling_distance is not None:
            continue
        for table in (scene.straight, scene.bend):
            loads = table.loads
            preload = case_preload(loads.batch, loads.directions)[0, 0]
            for column, direction in enumerate(loads.directions):
                case = load_case(scene, direction)
                assert case is not None
                assert (case.table, case.column) == (table, column)
                whole = np.sum(list(wrench_shares(case).values()), axis=0)
                if carrier.guide_depth is not None:
                    whole, lower = lower_guide_split(whole, carrier.guide_depth)
                    expected = max(abs(float(lower)), carrier.lower_preload)
                    assert loads.rollers.lower_radial[0, 0, column] == pytest.approx(expected)
                radial, axial = guide_roller_loads(
                    whole,
                    carrier.wheelbase,
                    carrier.gauge,
                    looked.option.roller.flank_angle,
                    preload[column],
                )
                np.testing.assert_allclose(
                    loads.rollers.radial[0, 0, column], radial, rtol=1e-9, atol=1e-9
                )
                np.testing.assert_allclose(
                    loads.rollers.axial[0, 0, column], axial, rtol=1e-9, atol=1e-9
                )
                compared += 1
    assert compared >= 10


def test_the_crate_s_weight_rolls_a_carrier_without_lower_guide(worked_case: Any) -> None:
    # 30 kg 200 mm out and 1.2 kg of fixture 150 mm out: 58.84 and 1.77 N·m.
    crate = worked_case("crate")
    looked = next(each for each in crate.decision.looked if each.option.id == "lm-224_arc-480_x1")
    finding = next(each for each in looked.audit.findings if each.check == "roller.working_load")
    found = breakdown(crate.explained.scenes[looked.option.id], finding)
    assert found is not None
    shares = dict(found.shares)
    assert found.unit == "N*m"
    assert shares["weight of the load"] == pytest.approx(30 * 9.80665 * 0.2)
    assert shares["weight of the fixture"] == pytest.approx(1.2 * 9.80665 * 0.15)


def test_failing_options_have_their_worst_checks_taken_apart(worked: Any) -> None:
    for looked in worked.decision.looked:
        if looked.feasible or looked.audit is None:
            continue
        failing = {finding.check for finding in looked.audit.failures}
        for check, found in worked.explained.breakdowns(looked):
            assert check in failing
            assert len(found.shares) > 1
