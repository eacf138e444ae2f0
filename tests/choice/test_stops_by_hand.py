"""Stops of all carriers from their top speed, against the motion in time."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.decision.stopping import held_deceleration, stops_of
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.options import list_options
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.profile import leg_segments


@pytest.mark.parametrize("held", ["clamped", "friction"])
def test_a_controlled_stop_builds_its_deceleration_up(held: str, catalogue: Catalogue) -> None:
    """As far as a leg goes on behind its cruise, and what is driven until anything is done."""
    case = make_case(
        {
            "load": {"mass": "3 kg", "held": held, "friction": 0.4},
            "rate": {"items": "10/min"},
            "station": [{"name": "only", "dwell": "1 s"}],
        },
        "t",
    )
    for option in list_options(case, catalogue)[::9]:
        about = OptionContext(option, case, catalogue)
        for acceleration, jerk, speed in ((1.5, 20.0, 1.2), (1.0, 60.0, 2.0), (2.0, 5.0, 0.6)):
            audit: Any = SimpleNamespace(
                configuration=SimpleNamespace(
                    option=option, motion=Motion(acceleration, jerk, speed, 0.3)
                )
            )
            stops = stops_of(audit, case, catalogue)
            rate = held_deceleration(about, acceleration)
            assert stops.controlled.deceleration == rate >= acceleration
            reaction = speed * catalogue.rules.stop_delay
            leg = leg_segments(100.0, 0.0, 0.0, speed, rate, jerk)
            ends = np.cumsum(leg.durations)
            braked = 100.0 - float(leg.sample(ends[3])[0])
            # Where the jerk is too slow for all of the deceleration the ramp is the whole stop.
            if rate / jerk <= speed / rate:
                assert stops.controlled.distance == pytest.approx(reaction + braked)
            assert stops.controlled.distance <= reaction + braked + 1e-9
            force = option.carrier.total_peak_force
            least = reaction + 0.5 * about.mass * speed**2 / force
            assert stops.full_force.distance == pytest.approx(least, rel=0.05)


def test_a_load_held_by_friction_is_stopped_as_hard_as_it_bears(catalogue: Catalogue) -> None:
    """0.4 · 9.80665 m/s² / 1.5 = 2.615 m/s² before it slips, with the holding safety of the house;
    less where the drive gives less, and what is planned where that is more."""
    case = make_case(
        {
            "load": {
                "mass": "3 kg",
                "length": "200 mm",
                "width": "200 mm",
                "cg_height": "10 mm",
                "held": "friction",
                "friction": 0.4,
            },
            "rate": {"items": "10/min"},
        },
        "t",
    )
    assert catalogue.rules.holding_safety == 1.5
    borne = 0.4 * 9.80665 / 1.5
    for option in list_options(case, catalogue)[::5]:
        about = OptionContext(option, case, catalogue)
        force = option.carrier.total_peak_force / catalogue.rules.drive_margin
        assert force / about.mass > borne
        found = held_deceleration(about, 1.0)
        assert 0.95 * borne < found <= borne * (1.0 + 1e-9)
        assert held_deceleration(about, 0.97 * borne) >= 0.97 * borne
        assert held_deceleration(about, 2.0 * borne) == 2.0 * borne
