"""The drive force at the end of a bend, by trying every place for its peak."""

import numpy as np

from recommender.physics.turning import entry_drive_force


def test_the_peak_of_the_spin_is_the_greatest_on_the_way_in() -> None:
    """While a share w of the yaw acceleration is there, the load is drawn inward already.

    The force of the spin is w·(U + k·(1 − r·w²/2)): U the unbalance m·y, k the inertia over the
    radius, r the shorter of transition and base over the longer. It is greatest at the end, or
    before it where inertia outweighs the unbalance.
    """
    rng, before_the_end, rounded = np.random.default_rng(9), 0, 0
    w = np.linspace(0.0, 1.0, 20_001)
    for number in range(400):
        mass, y, radius = rng.uniform(1.0, 40.0), rng.uniform(-0.25, 0.3), rng.uniform(0.28, 0.6)
        x = rng.choice([0.0, rng.uniform(-0.05, 0.05)])
        own = mass * (x**2 + y**2)
        inertia = own + mass * rng.uniform(0.001, 0.06)
        transition, base = rng.choice([0.0, rng.uniform(0.02, 0.3)]), rng.uniform(0.02, 0.3)
        if number % 2:
            # Nearly as long as each other, and the load on the inner side: the peak comes early.
            transition, y = (
                base * rng.uniform(0.9, 1.1),
                -rng.uniform(0.0, 0.4) * inertia / (mass * radius),
            )
        alpha, line = rng.uniform(1.0, 40.0), rng.uniform(-0.1, 0.1)
        ratio = min(transition, base) / max(transition, base)
        unbalance, k = mass * y, inertia / radius
        spin = w * (unbalance + k * (1.0 - ratio * w**2 / 2.0))
        chord = mass * base**2 / (4.0 * radius) + max(-unbalance, 0.0)
        across = mass * abs(x) * base / (2.0 * radius)
        expected = alpha * (max(spin.max(), chord) + across) / (1.0 + min(line, 0.0) / radius)
        found = float(
            entry_drive_force(
                mass,
                y,
                inertia,
                alpha,
                transition=transition,
                base=base,
                radius=radius,
                offset=x,
                line_y=line,
            )
        )
        assert found >= expected * (1.0 - 1e-9)
        assert found <= expected * (1.0 + 1e-6)
        before_the_end += bool(spin.max() > chord and 0 < np.argmax(spin) < len(w) - 1)
        rounded += ratio > 0.0
    assert before_the_end > 20
    assert rounded > 100
