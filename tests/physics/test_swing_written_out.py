"""Swings of an oscillator without damping under pulses of acceleration, sampled in time.

The response to a unit ramp of the acceleration that begins at 0 is t − sin(ωt)/ω, from
q'' + ω²·q = ω²·t; a pulse is made of four of them.
"""

import numpy as np
import pytest

from recommender.physics.constants import Array
from recommender.physics.swing import swing_factors


def swings(ramp: float, pulse: float) -> tuple[float, float]:
    """Largest swing of all, and after the pulse, over the tilt at its peak; the period is 1."""
    times = np.linspace(0.0, ramp + pulse + 1.0, 6001)

    def step_of_ramp(after: float) -> Array:
        if ramp == 0.0:
            since = np.maximum(times - after, 0.0)
            return 1.0 - np.cos(2.0 * np.pi * since)
        parts = (np.maximum(times - begin, 0.0) for begin in (after, after + ramp))
        up, held = (t - np.sin(2.0 * np.pi * t) / (2.0 * np.pi) for t in parts)
        return (up - held) / ramp

    response = np.abs(step_of_ramp(0.0) - step_of_ramp(pulse))
    return float(response.max()), float(response[times >= ramp + pulse].max())


@pytest.mark.parametrize("ramp", [0.0, 0.04, 0.15, 0.3, 0.8])
def test_factors_are_never_below_the_swing_and_exact_where_they_say_so(ramp: float) -> None:
    for share in np.linspace(0.0, 2.3, 70):
        pulse = ramp + float(share)
        largest, left = swings(ramp, pulse)
        factor, residual = map(float, swing_factors(ramp, pulse, 1.0))
        assert left == pytest.approx(residual, abs=2e-6)
        assert largest - 2e-6 <= factor <= 2.0
        if ramp + pulse <= 0.5:
            assert factor == pytest.approx(largest, abs=2e-6)
        # The first crest comes within a period of the end of the ramp.
        if pulse >= ramp + 1.0:
            assert factor == pytest.approx(largest, abs=2e-6)
    # The same in another unit of time.
    rng = np.random.default_rng(4)
    pulses, period = ramp + rng.uniform(0.0, 2.0, 20), 0.37
    scaled, _ = swing_factors(ramp * period, pulses * period, period)
    assert scaled == pytest.approx(swing_factors(ramp, pulses, 1.0)[0])
