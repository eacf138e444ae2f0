"""Tables of seating that stand for many bend speeds, against those of each speed alone."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from recommender.choice.stations.tables import SeatingTables
from recommender.inputs.catalogue import Catalogue
from tests.choice.test_seating import STEP, draw


@pytest.mark.parametrize("kind", range(4))
def test_no_place_that_does_for_one_of_the_speeds_is_left_out(
    kind: int, catalogue: Catalogue, altered: Any
) -> None:
    places = closer = 0
    for seed in range(kind, 48, 4):
        one = draw(seed, catalogue, altered)
        # A search has no settings without a limit of jerk.
        row = replace(one.settings, jerk=np.minimum(one.settings.jerk, 500.0))
        whole = SeatingTables(one.about, one.straight, row, one.carriers, STEP)
        top = whole.bend_speed
        joint = replace(whole, floor=0.4 * top)
        for share in np.linspace(0.4, 1.0, 7):
            settings = replace(row, bend_speed=np.array([share * top]))
            alone = replace(whole, settings=settings)
            for k, window in enumerate(alone.windows):
                assert joint.windows[k][window].all()
                for leg in ("into", "out_of"):
                    own, least = getattr(alone, leg)(k)[window], getattr(joint, leg)(k)[window]
                    assert (least <= own + 1e-9).all()
                    closer += int((least > 0.8 * own).sum())
                places += int(window.sum())
        # Where no speed of the floor can stop there is no place.
        for k, window in enumerate(joint.windows):
            room = np.minimum(joint.along(k), one.straight - joint.along(k)) - joint.overhang
            speed, acceleration = 0.4 * top, joint.limits[1]
            assert (room[window] >= 0.5 * speed**2 / acceleration - 1e-6).all()
    assert places > 100 and closer > 100
