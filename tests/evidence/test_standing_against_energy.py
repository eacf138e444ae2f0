"""Force that holds a standing carrier in an upright bend, by how its weight rises along the guide.

The drive's line advances by less than the guide, and what holds the body against a small step of
it is the change of its potential energy over that advance. Heights come from the places of all
parts on the circle; nothing of the product's drive force is used.
"""

from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks import OPTION_CHECKS
from recommender.choice.decision.audit import audit
from recommender.choice.parts.options import list_options
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import STANDARD_GRAVITY


def case_of(mass: float, reach: float, offset: float = 0.0, **tables: Any) -> Case:
    load = {
        "mass": f"{mass} kg",
        "reach": f"{reach} m",
        "offset": f"{offset} m",
        "held": "clamped",
    }
    return make_case(
        {"load": load, "rate": {"items": "10/min"}, "loop": {"plane": "upright"}, **tables}, "test"
    )


def standing(about: OptionContext) -> tuple[float, float]:
    check = next(check for check in OPTION_CHECKS if check.about.id == "drive.standing")
    outcome = check.evaluate(about)
    assert outcome is not None
    return float(outcome.demand[0]), float(outcome.limit[0])


def greatest_hold(batch: Batch, radius: float, line_y: float) -> float:
    """Over the whole circle in steps of a tenth of a degree."""
    turn = np.radians(np.arange(0.0, 360.05, 0.1))
    energy = np.zeros_like(turn)
    for mass, (x, y, _) in zip(batch.part_mass[0, 0, 0], batch.part_centre[0, 0, 0], strict=True):
        out = np.hypot(radius + y, x)
        # Height of the part on its circle: it stands ahead of the carrier by an angle of its own.
        energy += mass * STANDARD_GRAVITY * out * np.cos(turn + np.arctan2(x, radius + y))
    advance = (radius + line_y) * (turn[1] - turn[0])
    return float(np.abs(np.diff(energy)).max() / advance)


def test_force_on_standing_carriers(catalogue: Catalogue) -> None:
    rng = np.random.default_rng(6)
    for _ in range(60):
        case = case_of(rng.uniform(0.5, 20), rng.uniform(-0.1, 0.3), rng.uniform(-0.1, 0.1))
        options = list_options(case, catalogue)
        option = options[rng.integers(len(options))]
        about = OptionContext(option, case, catalogue)
        carrier = option.carrier
        held = greatest_hold(about.alone, option.bend.radius, carrier.drive_line[0])
        current = held / carrier.magnets / about.bend_force_share
        assert standing(about)[0] == pytest.approx(current, rel=1e-4)


def test_an_upright_loop_refuses_what_it_cannot_hold_for_any_time(catalogue: Catalogue) -> None:
    """46 N of continuous force on a bend that keeps 0.97 of it: 4 kg do not stand on std-68."""
    for mass, holds in ((2.5, True), (4.0, False)):
        case = case_of(mass, 0.05)
        option = next(o for o in list_options(case, catalogue) if o.id == "std-68_arc-480_x1")
        demand, limit = standing(OptionContext(option, case, catalogue))
        assert limit == option.carrier.continuous_force
        assert (demand <= limit) is holds
    flat = case_of(4.0, 0.05, loop={"plane": "flat"})
    option = next(o for o in list_options(flat, catalogue) if o.id == "std-68_arc-480_x1")
    check = next(check for check in OPTION_CHECKS if check.about.id == "drive.standing")
    assert check.evaluate(OptionContext(option, flat, catalogue)) is None


@pytest.mark.parametrize(
    ("ambient", "share"), [("20 °C", 1.0), ("40 °C", 1.0), ("60 °C", (70 / 90) ** 0.5)]
)
def test_warm_surroundings_leave_less(ambient: str, share: float, catalogue: Catalogue) -> None:
    """Windings up to 130 °C, forces rated at 40 °C: a rise of 70 K instead of 90 K."""
    case = case_of(1.0, 0.05, site={"ambient": ambient})
    option = next(o for o in list_options(case, catalogue) if o.id == "lm-128_arc-480_x1")
    about = OptionContext(option, case, catalogue)
    assert about.continuous_force == pytest.approx(share * option.carrier.continuous_force)
    assert standing(about)[1] == about.continuous_force


def test_winding_heat_is_held_against_what_warm_surroundings_leave(worked_case: Any) -> None:
    """The same configuration in a hall of 70 °C: sqrt(60/90) of the force."""
    worked = worked_case("crate")
    configuration, case = worked.decision.chosen.configuration, worked.case
    warm = case.model_copy(update={"site": case.site.model_copy(update={"ambient": 273.15 + 70.0})})
    limits = []
    for each in (case, warm):
        findings = audit(configuration, each, worked.catalogue).findings
        limits += [found.limit for found in findings if found.check == "drive.continuous"]
    assert limits[1] / limits[0] == pytest.approx((60 / 90) ** 0.5)
