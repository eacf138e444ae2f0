"""Of which inputs it is known that asking for more never costs less.

Only between such cells may a map take over prices. Where a liquid sloshes it holds of nothing: a
quicker takt can meet a wave in another phase. Where carriers wait for turns it holds of nothing
either. A process that lifts the load or pulls it inward relieves the rollers of its weight, and a
load that reaches inward balances its fixture, so that a heavier one can be the easier.
"""

from collections.abc import Mapping
from typing import Final

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.parts.options import list_options
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.given import with_values
from recommender.maps.over import Over

_HARDER: Final[Mapping[str, int]] = {
    "rate.items": 1,
    "rate.reserve": 1,
    "life.hours": 1,
    "life.reliability": 1,
    "loop.max_length": -1,
    "loop.max_width": -1,
    "loop.max_height": -1,
    "loop.max_extent": -1,
    "limits.acceleration": -1,
    "limits.speed": -1,
    "load.friction": -1,
    "load.mass": 1,
    "load.reach": 1,
    "load.cg_height": 1,
    "tooling.mass": 1,
}
"""Whether more of an input asks for more, 1, or for less, -1."""

_DWELL: Final = ".dwell"
_OF_THE_BODY: Final = ("load.mass", "load.reach", "load.cg_height", "tooling.mass")


def trend(over: Over, other: Over, case: Case, catalogue: Catalogue) -> int:
    """Whether more of an input is known to cost as much at least, 1, or at most, -1.

    Parameters
    ----------
    over, other : Over
        The input, and the other one of the map.
    case : Case
    catalogue : Catalogue

    Returns
    -------
    int
        0 if neither is known.
    """
    if case.load.liquid is not None or case.takes_turns:
        return 0
    if over.key in _OF_THE_BODY:
        return int(_bears_outward(over, other, case, catalogue))
    if over.key.startswith("station.") and over.key.endswith(_DWELL):
        return 1
    return _HARDER.get(over.key, 0)


def _bears_outward(over: Over, other: Over, case: Case, catalogue: Catalogue) -> bool:
    """Whether weight and reach of load and fixture all load the rollers to the same side.

    The load lies as far out and as high as its fixture at least, so that more of it does not draw
    the common centre of gravity back; no process lifts it or pulls it inward.
    """
    ends = [
        with_values(case, {over.key: one, other.key: two})
        for one in (over.values[0], over.values[-1])
        for two in (other.values[0], other.values[-1])
    ]
    if not all(map(_outward, ends)):
        return False
    return over.key != "load.reach" or _no_closer_in_bends(over, ends[0], catalogue)


def _outward(case: Case) -> bool:
    load, tooling = case.load, case.tooling
    if load.reach < 0.0 or any(s.force[1] < 0.0 or s.force[2] > 0.0 for s in case.station):
        return False
    if tooling.mass == 0.0:
        return True
    return 0.0 <= case.tooling_reach <= load.reach and tooling.cg_height <= load.cg_height


def _no_closer_in_bends(over: Over, case: Case, catalogue: Catalogue) -> bool:
    """Whether loads that reach less are not the ones that meet on the inside of a bend."""
    near, far = (with_values(case, {over.key: end}) for end in (over.values[0], over.values[-1]))
    for one, other in zip(list_options(near, catalogue), list_options(far, catalogue), strict=True):
        spacings = (
            OptionContext(option, asked, catalogue).least_bend_spacing
            for option, asked in ((one, near), (other, far))
        )
        least, most = spacings
        if least > most:
            return False
    return True
