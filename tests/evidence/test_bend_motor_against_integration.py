"""Force of a flat magnet over curved windings against the integral over both faces.

Poles as a sine along the magnet, currents as a cosine of the angle round the bend, both at every
point of the rectangle that lies over the ring of windings; the phase of the current is the best one
and the poles stand anywhere under the edges of the magnet.
"""

import numpy as np
import pytest

from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.load_cases import bend_loads
from recommender.choice.checks.drive import BEND_CHECKS
from recommender.choice.parts.options import list_options
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.bend_motor import bend_force_share


def integral(
    length: float, width: float, pitch: float, radius: float, base: float, line_y: float
) -> float:
    """Mean over the places of the poles of the force with the best current, over a straight's."""
    x = (np.arange(401) + 0.5) / 401 * length - length / 2
    y = (np.arange(101) + 0.5) / 101 * width - width / 2
    x, y = np.meshgrid(x, y, indexing="ij")
    middle = np.sqrt(radius**2 - base**2 / 4) + line_y
    round_, out = np.arctan2(x, middle + y), np.hypot(x, middle + y)
    winding = radius + line_y
    over = np.abs(out - winding) <= width / 2
    current = np.exp(1j * np.pi * winding * round_ / pitch)
    poles = np.linspace(0.0, np.pi, 7)[:-1]
    forces = [abs((np.sin(np.pi * x / pitch + start) * over * current).mean()) for start in poles]
    return float(2 * np.mean(forces))


def test_share_of_random_magnets() -> None:
    rng = np.random.default_rng(1)
    apart = []
    for _ in range(200):
        radius = rng.uniform(0.25, 1.0)
        length = rng.uniform(0.06, min(0.9 * radius, 0.3))
        case = (
            length,
            rng.uniform(0.03, 0.08),
            rng.uniform(0.018, 0.04),
            radius,
            length * rng.uniform(0.7, 1.0),
            rng.uniform(-0.05, 0.05),
        )
        apart.append(float(bend_force_share(*case)) - integral(*case))
    assert max(apart) < 0.02
    assert min(apart) > -0.05
    assert abs(np.median(apart)) < 0.005


def test_a_straight_takes_nothing_but_what_the_chord_does_not() -> None:
    assert float(bend_force_share(0.2, 0.05, 0.024, np.inf, 0.18)) == 1.0
    assert integral(0.192, 0.05, 0.024, 1e4, 0.18, 0.0) == pytest.approx(1.0, abs=1e-3)


def test_the_sagitta_is_what_leaves_the_windings() -> None:
    """Narrow poles apart, only the sideways offset counts: L²/(24·R) on average about one end."""
    length, radius, width = 0.2, 0.5, 0.06
    share = float(bend_force_share(length, width, 10.0, radius, 0.0))
    assert share == pytest.approx(1 - length**2 / (24 * radius) / width, rel=1e-3)


def test_the_drive_has_less_force_in_the_bend(catalogue: Catalogue) -> None:
    """The longest magnet on the tightest bend, whose sagitta is 22 mm, keeps two thirds."""
    data = {"load": {"mass": "5 kg", "held": "clamped"}, "rate": {"items": "10/min"}}
    case = make_case(data, "test")
    (check,) = (check for check in BEND_CHECKS if check.about.id == "drive.peak_bend")
    shares = {}
    for id_ in ("lm-224_arc-280_x1", "lm-224_arc-480_x1", "std-68_arc-280_x1"):
        option = next(o for o in list_options(case, catalogue) if o.id == id_)
        carrier, bend = option.carrier, option.bend
        batch = Batch((option,), case, catalogue.rules)
        outcome = check.evaluate(bend_loads(batch, np.array([[0.3]])))
        assert outcome is not None
        shares[id_] = float(outcome.limit[0, 0, 0]) / carrier.total_peak_force
        expected = integral(
            carrier.magnet_length,
            carrier.magnet_width,
            carrier.pole_pitch,
            bend.radius,
            carrier.wheelbase,
            carrier.drive_line[0],
        )
        assert shares[id_] == pytest.approx(expected, abs=0.04)
    assert shares["lm-224_arc-280_x1"] < 0.7 < shares["lm-224_arc-480_x1"]
    assert shares["std-68_arc-280_x1"] > 0.95
