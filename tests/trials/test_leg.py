"""Legs timed one by one against the legs of the answer."""

import numpy as np
import pytest

from recommender.physics.profile import leg_segments
from recommender.trials.leg import leg_phases


def test_legs_are_those_of_the_answer() -> None:
    random, infeasible = np.random.default_rng(1), 0
    for _ in range(1500):
        speed, acceleration = random.uniform(0.1, 3.0), random.uniform(0.3, 20.0)
        jerk = acceleration * float(random.choice([5.0, 20.0, 100.0]))
        start, end = random.uniform(0.0, speed, 2) * random.integers(0, 2, 2)
        distance = float(np.exp(random.uniform(np.log(1e-3), np.log(5.0))))
        leg = distance, float(start), float(end), speed, acceleration, jerk
        found = leg_phases(*leg)
        try:
            expected = leg_segments(*leg)
        except ValueError:
            infeasible += 1
            assert found is None
            continue
        assert found is not None
        assert found[0] == pytest.approx(expected.durations.tolist(), abs=1e-9)
        assert found[1] == expected.jerks.tolist()
    assert 50 < infeasible < 1000
