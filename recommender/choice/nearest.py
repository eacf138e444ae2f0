"""For an option that fails: the setting and loop at which it comes nearest to passing.

Nearest is where the excesses of all checks over 1 add up to least, so that a check which nothing
can help does not hide how well the others might be met.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from recommender.choice.builds import Build
from recommender.choice.checks import FLEET_CHECKS, GEOMETRY_CHECKS, LAYOUT_CHECKS
from recommender.choice.layout import LayoutContext, LoopContext, on_loop
from recommender.choice.screen import Screened
from recommender.choice.setting import OptionContext, SettingContext
from recommender.choice.workshop import Workshop
from recommender.physics.constants import Array

_ROWS = 24
_FEW_ROWS = 16
_LOOPS = 3


def nearest(
    screened: Screened, workshop: Workshop
) -> tuple[LoopContext, SettingContext, int] | None:
    """Loop, setting of one row and carriers nearest to passing.

    Returns
    -------
    tuple or None
        ``None`` if the stations fit on no loop at all.
    """
    rows = _typical(screened)
    setting, excess = screened.context.take(rows), screened.excess[rows]
    best: tuple[float, LayoutContext, int] | None = None
    for on in _loops(screened, workshop):
        layout = LayoutContext(on, setting)
        total = excess + _layout_excess(layout)
        row = int(np.argmin(total))
        if best is None or total[row] < best[0]:
            best = (float(total[row]), layout, row)
    if best is None:
        return None
    _, layout, row = best
    chosen = layout.take(np.array([row]))
    carriers = chosen.carriers[0]
    return (
        chosen.on,
        chosen.setting,
        int(carriers) if np.isfinite(carriers) else 1,
    )


def _typical(screened: Screened) -> NDArray[np.intp]:
    """Some rows: of those in which everything but the loop holds, or those nearest to it."""
    holding = screened.holding
    if len(holding):
        return holding[np.unique(np.linspace(0, len(holding) - 1, _ROWS).astype(np.intp))]
    return np.lexsort((screened.used, screened.excess))[:_FEW_ROWS]


def _loops(screened: Screened, workshop: Workshop) -> list[LoopContext]:
    """Some loops that the enquiry allows, or the shortest one that takes the stations.

    Where no setting holds anyway, the loop matters little and fewer are looked at.
    """
    about = screened.context.about
    most = min(0.5 * workshop.longest - about.bend_length, about.longest_straight)
    allowed = [
        entry
        for entry in workshop.builds()
        if entry.length <= most and workshop.serves(about.option, entry)
    ]
    count = _LOOPS if len(screened.holding) else 1
    spread = {round(k) for k in np.linspace(len(allowed) - 1, 0, count)} if allowed else set()
    found = _placed(about, [allowed[k] for k in sorted(spread)])
    if found:
        return found
    for build in workshop.all_builds():
        # A longer loop may have fewer sections.
        if workshop.serves(about.option, build) and (found := _placed(about, [build])):
            return found
    return []


def _placed(about: OptionContext, entries: Sequence[Build]) -> list[LoopContext]:
    return [on for entry in entries if (on := on_loop(about, entry)) is not None]


def _layout_excess(layout: LayoutContext) -> Array:
    shares = [
        np.maximum(outcome.utilisation() - 1.0, 0.0)
        for check in (*GEOMETRY_CHECKS, *FLEET_CHECKS, *LAYOUT_CHECKS)
        if (outcome := check.evaluate(layout)) is not None
    ]
    return np.asarray(np.sum(shares, axis=0))
