"""How the trucks of a batch fit their bends, and the preload that their rollers have there."""

import numpy as np

from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.directions import Direction
from recommender.physics.bend_fit import bend_end_mismatch, bend_gauge_mismatch, fitted_preload
from recommender.physics.constants import Array


def fits(batch: Batch) -> tuple[Array, Array, Array]:
    """Fit in the arc, loosest and tightest fit at its ends, (options, 1), m.

    Axles that swivel stand square to the guide everywhere and fit any bend.
    """
    cut = batch.column(lambda option: option.bend.cut_for or 0.0)
    about = batch.carrier("wheelbase"), batch.carrier("gauge"), batch.radius, cut
    rigid = 1.0 - batch.carrier("swivelling")
    loosest, tightest = bend_end_mismatch(*about, batch.transition)
    return rigid * bend_gauge_mismatch(*about), rigid * loosest, rigid * tightest


def case_preload(batch: Batch, directions: tuple[Direction, ...]) -> Array:
    """Preload of each upper roller in each load case, (options, 1, cases), N.

    At the ends of a bend it is that of the tightest fit, which loads the rollers most.
    """
    steady, _, tightest = fits(batch)
    stiffness = batch.column(lambda option: option.roller.radial_stiffness)
    mismatch = [
        steady
        if case.kind.endswith("turning")
        else tightest
        if case.kind.endswith(("entering", "leaving"))
        else np.zeros_like(steady)
        for case in directions
    ]
    return fitted_preload(
        batch.carrier("preload")[..., None], np.stack(mismatch, axis=-1), stiffness[..., None]
    )
