"""What holds of the way from one station to the next, by the difference of their places.

Way, spacings in it and the time of a leg on one straight hang on the difference of the two indices
alone, and on how many bends lie between. Where a bend does, the two legs beside it hang on the
places themselves; only where that can decide is their time limited, in whole nanoseconds and on the
safe side: what is within three nanoseconds of failing the check may be refused.
"""

from dataclasses import dataclass

import numpy as np

from recommender.choice.checks.entry import HOLDS
from recommender.choice.stations.tables import (
    MICROMETRE,
    NANOSECONDS,
    Flags,
    SeatingTables,
    Whole,
)
from recommender.physics.constants import Array
from recommender.physics.fleet import gap_utilisation, room_utilisation
from recommender.physics.takt import ROUNDING

NO_LIMIT = np.iinfo(np.int64).max
_ROOMY = 1e6


@dataclass(frozen=True)
class GapTable:
    """What holds of the way from one station to the next, with so many bends in between.

    Entry j belongs to the difference ``least + j`` of the two indices.

    ``allowed`` are the differences at which some pair of places may do, by whether the carriers of
    the second station are exchanged at bend speed. ``cap`` is the most that the two legs beside
    the bends may take there, ns, `NO_LIMIT` where it never binds. ``fit`` is the number of whole
    spacings.
    """

    least: int
    allowed: tuple[Flags, Flags]
    cap: tuple[Whole, Whole]
    fit: Whole

    def capped(self, slow: int) -> Flags:
        """Differences at which it hangs on the places themselves whether they do."""
        return np.asarray(self.allowed[slow] & (self.cap[slow] < NO_LIMIT))


def gap_tables(tables: SeatingTables, k: int) -> tuple[GapTable, GapTable, GapTable]:
    """What holds of the way from a station to the next with no bend, one and two in between."""
    about, after = tables.about, tables.after(k)
    differences, pair = tables.differences(k), tables.about.positions[[k, after]]
    distance = np.stack([tables.distance(k, bends) for bends in range(3)])
    way = np.maximum(distance, MICROMETRE)
    room = np.stack([tables.about.places_along(way[bends], bends) for bends in range(3)])
    holds = (distance > MICROMETRE) & (about.stations_apart[after] <= HOLDS * (way + MICROMETRE))
    room_of_pair = np.stack([room, np.full_like(room, _ROOMY)], axis=-1)
    holds &= gap_utilisation(room_of_pair, pair)[..., 0] <= HOLDS
    if tables.stations[k].due is not None:
        holds[1:] = False  # places that fill in turn stand on one straight
    # What is used grows in proportion to the leg: legs of no time and of a second tell all.
    # Axes: leg, kind of exchange, bends, differences.
    idle, second = room_utilisation(
        np.array([[0.0, 0.0], [1.0, 0.0]])[:, None, None, None],
        tables.about.occupied[[k, after]],
        tables.exchange[[k, after]].T[:, None, None],
        room_of_pair,
        pair,
        about.takt,
        lag=about.rules.start_lag,
    )[..., 0]
    least, most = _leg_bounds(tables, k, way)
    with np.errstate(invalid="ignore"):
        left = (HOLDS - idle) / (second - idle)
    allowed = holds & (least <= left)
    binds = allowed & (most > left)
    fixed = np.array([tables.time_across(bends) for bends in range(3)])[:, None]
    cap = np.full(allowed.shape, NO_LIMIT, dtype=np.int64)
    cap[binds] = np.floor((left - fixed)[binds] * NANOSECONDS)
    fit = np.floor(room + ROUNDING).astype(np.int64)
    first = int(differences[0]) if len(differences) else 0
    none, one, two = (
        GapTable(
            first,
            (allowed[0, bends], allowed[1, bends]),
            (cap[0, bends], cap[1, bends]),
            fit[bends],
        )
        for bends in range(3)
    )
    return none, one, two


def _leg_bounds(tables: SeatingTables, k: int, way: Array) -> tuple[Array, Array]:
    """The least and the most that legs from a station to the next take, (bends, differences).

    Without a bend both are the leg ittables.
    """
    least, most = way.copy(), way.copy()
    least[0] = most[0] = np.nan_to_num(tables.loss_between(k)) + way[0] / tables.limits[0]
    after = tables.after(k)
    out = tables.loss_out_of(k)[tables.windows[k]]
    into = tables.loss_into(after)[tables.windows[after]]
    turning = tables.about.bend_length + 2.0 * tables.overhang
    for bends in (1, 2):
        fixed = tables.time_across(bends)
        if not (len(out) and len(into) and np.isfinite(fixed)):
            least[bends] = most[bends] = np.inf
            continue
        beside = way[bends] - bends * turning - (tables.available if bends == 2 else 0.0)
        cruise = fixed + beside / tables.limits[0]
        least[bends] = cruise + out.min() + into.min() - 1.0 / NANOSECONDS
        most[bends] = cruise + out.max() + into.max() + 1.0 / NANOSECONDS
    return least, most
