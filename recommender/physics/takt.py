"""The takt that a loop of carriers keeps, exactly: the largest cycle mean of its event graph.

For the audit of one loop. On arrays there are the conditions of `recommender.physics.fleet`, safe.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import accumulate
from math import ceil, floor, inf, lcm

import numpy as np
from numpy.typing import ArrayLike

from recommender.physics.arguments import counts, finite, not_negative, positive
from recommender.physics.cycle_mean import Edge, largest_cycle_mean

ROUNDING = 1e-9
"""A gap short of a whole number of spacings by less than this counts as whole."""

_LEAST_SPARE = 1.0
"""Spacings to spare on the loop below which carriers that start one by one only creep."""

_MOST_LAPS = 42
"""Laps over which a fraction of a spacing to spare is added up; more change nothing noticeable."""

RoomTime = Callable[[int, float], float]
LegTime = Callable[[int, int], float]


@dataclass(frozen=True, slots=True)
class _Loop:
    dwells: list[float]
    exchange: list[float]
    gaps: list[float]
    positions: list[int]
    phase: list[int]
    carriers: int
    room: RoomTime
    shorter_leg: LegTime
    lag: float
    laps: int
    """Times that a hole has to come round, at most, before a carrier has moved up by a spacing."""
    period: int
    """Passages after which the batches of all stations start anew together."""
    first: list[int]
    """Node of each station's first batch, and the number of nodes behind them."""

    def batches(self) -> Iterator[tuple[int, int, int]]:
        """Station, number of the first carrier and node of every batch of one period."""
        for station, positions in enumerate(self.positions):
            for batch in range(self.period // positions):
                front = batch * positions + self.phase[station]
                yield station, front, self.first[station] + batch

    def locate(self, station: int, carrier: int) -> tuple[int, int, int]:
        """Node of the batch a carrier belongs to, passages since, and its place in the batch."""
        batch, place = divmod(carrier - self.phase[station], self.positions[station])
        periods, batch = divmod(batch, self.period // self.positions[station])
        return self.first[station] + batch, -periods * self.period, place


def _exchange_edges(loop: _Loop, station: int, front: int, node: int) -> Iterator[Edge]:
    """A batch stands once the one before it has left and it has moved up."""
    source, count, _ = loop.locate(station, front - 1)
    yield Edge(source, node, loop.dwells[station] + loop.exchange[station], count)


def _leg_edges(loop: _Loop, station: int, front: int, node: int) -> Iterator[Edge]:
    """A batch stands once its last carrier has come from the station before."""
    before = (station - 1) % len(loop.gaps)
    places = loop.positions[station] - 1
    last = front + places - (loop.carriers if station == 0 else 0)
    source, count, place = loop.locate(before, last)
    # The last carrier may have less far to go than the first one of its batch would have. If it has
    # farther, others that left with it are exchanged ahead of it, and that takes longer.
    leg = loop.shorter_leg(before, max(places - place, 0)) + loop.lag * place
    yield Edge(source, node, loop.dwells[before] + leg, count)


def _room_edges(loop: _Loop, station: int, front: int, node: int) -> Iterator[Edge]:
    """A batch stands once enough carriers have left every station ahead, some laps round."""
    gap = 0.0
    for ahead in range(station, station + loop.laps * len(loop.gaps)):
        gap += loop.gaps[ahead % len(loop.gaps)]
        wrapped, other = divmod(ahead + 1, len(loop.gaps))
        hindering = front - floor(gap + ROUNDING) - 1
        source, count, place = loop.locate(other, hindering + wrapped * loop.carriers)
        followers = front - (hindering - place)
        distance = followers - gap
        # If it has more to move up than its own batch takes up, the batch before it at this
        # station waits for the same departure, and the exchange follows.
        if distance <= loop.positions[station] + ROUNDING:
            lags = (followers + loop.positions[station] - 1) * loop.lag
            weight = loop.dwells[other] + loop.room(station, distance) + lags
            yield Edge(source, node, weight, count)


def _laps(spare: float) -> int:
    """Laps after which the floors of gaps have made up for the fraction of a spacing to spare."""
    fraction = spare - floor(spare + ROUNDING)
    return min(2 * ceil(1.0 / fraction) + 2, _MOST_LAPS) if fraction > ROUNDING else 2


def _moves_back(loop: _Loop) -> bool:
    """Whether a batch is so long that its tail would stand behind where it came from."""
    for station in range(len(loop.gaps)):
        before = (station - 1) % len(loop.gaps)
        for carrier in range(loop.period):
            here = loop.locate(station, carrier)[2]
            shifted = carrier - (loop.carriers if station == 0 else 0)
            there = loop.locate(before, shifted)[2]
            if loop.gaps[before] + there - here < -ROUNDING:
                return True
    return False


def exact_takt(
    legs: ArrayLike,
    dwells: ArrayLike,
    exchange: ArrayLike,
    gaps: ArrayLike,
    positions: ArrayLike,
    carriers: int,
    *,
    room: RoomTime | None = None,
    shorter_leg: LegTime | None = None,
    lag: float = 0.0,
    phase: ArrayLike = 0,
    headway: float = 0.0,
) -> float:
    """Mean time between carriers in a loop whose times do not vary, exactly.

    Carrier n comes to every station in turn, n counted so that it is the same one at all of them
    and n + N is the same carrier a lap later. Stations may take a batch of m carriers at once:
    carriers φ, …, φ + m − 1 make the first. Let x be the time at which a batch stands whole, its
    first carrier f at the station, the others one spacing p apart behind it. It waits for

    - its leg: x ≥ x' + dwell' + leg', x' the batch at the station before that held its last
      carrier;
    - the batch before it: x ≥ x' + dwell + exchange;
    - room ahead: with a gap of G spacings to any station ahead, at most ⌊G⌋ carriers fit between.
      x ≥ x' + dwell' + room, x' the batch there that holds carrier f − ⌊G⌋ − 1. Stations beyond
      the next one matter too: a carrier that is served but cannot move away blocks its station.

    The takt is the largest mean of a cycle of such waits (`largest_cycle_mean`), per carrier.

    Parameters
    ----------
    legs : array_like, s, one per station
        Unhindered travel from rest at the station to rest at the next one, first carrier of a
        batch to first carrier.
    dwells : array_like, s, one per station
        Standstill for the work, with whatever settling comes before it.
    exchange : array_like, s, one per station
        From the departure of a batch until the next one, waiting behind it, stands: rest to rest
        over as many spacings as the station has positions (`exchange.exchange_time`).
    gaps : array_like, spacings, one per station
        Room from the station to the next one: every stretch between them divided by the least
        spacing on it, added up.
    positions : array_like, one per station
        Carriers that the station takes at once.
    carriers : int
        N.
    room : callable, optional
        Time that carriers at a station (its number, from 0) need to move up over a distance (in
        spacings, at most its positions) once there is room ahead. Without it the exchange time of
        the station, which is safe if no carrier ahead of it moves up more slowly.
    shorter_leg : callable, optional
        Time of the leg from a station (its number) if it ends a number of spacings early, where
        batches form from single carriers. Without it the whole leg counts, which is safe.
    lag : float, s
        Time from a carrier's start to its follower's. The exchange times hold their own lags; here
        it delays the room that a departure makes by as many carriers as stand between. With a lag
        there has to be a spacing or more to spare on the loop.
    phase : array_like, one per station
        φ, number of the first carrier of the first batch; 0 if the fleet starts in line before
        station 0. With batches the takt depends on it: four carriers between two stations of two
        positions each can need twice the time, where pairs do not stay together.
    headway : float, s
        Least time between carriers anywhere else on the loop: in a bend its spacing over its speed.

    Returns
    -------
    float, s
        ``inf`` if the loop cannot run: too many carriers for it, too few to fill its batches, or a
        batch longer than the gap before it.

    Raises
    ------
    ValueError
        If the arrays do not hold one value per station, a time is negative, a gap not positive, or
        a count not a whole number above 0.

    Notes
    -----
    Equal to an event simulation to 1e-12, with a lag to 0.2 %. Carriers that are driven by sight,
    so that they can always stop one spacing behind where the one ahead would, keep it to 0.5 %. On
    a loop that is full to within half a spacing they lose more, 3.5 % with a tenth of a spacing to
    spare: the exact takt lets a carrier time its approach to a place that is still being cleared.

    Examples
    --------
    Three carriers fill a loop of three spacings. With stations half way round from each other
    only one is ever occupied, because a full loop moves rigidly: it advances half a spacing in
    0.15 s, dwells 1 s at one station, advances and dwells at the other. The interval is
    2·(1 + 0.15) s, not the 1.3 s of one station with its exchange:

    >>> half = lambda station, distance: 0.3 * distance
    >>> takt = exact_takt([0.45, 0.45], [1.0, 1.0], 0.3, [1.5, 1.5], 1, 3, room=half)
    >>> round(takt, 12)
    2.3

    With two carriers there is a hole to move into, and only the lap of 2.9 s or the dwell and
    exchange of 1.3 s holds them up:

    >>> round(exact_takt([0.45, 0.45], [1.0, 1.0], 0.3, [1.5, 1.5], 1, 2, room=half), 12)
    1.45

    References
    ----------
    .. [1] F. Baccelli, G. Cohen, G. J. Olsder and J.-P. Quadrat, Synchronization and Linearity,
       Wiley, 1992, chapters 2 and 3: event graphs and their cycle means.
    """
    waits = loop_waits(
        legs,
        dwells,
        exchange,
        gaps,
        positions,
        carriers,
        room=room,
        shorter_leg=shorter_leg,
        lag=lag,
        phase=phase,
        headway=headway,
    )
    return inf if waits is None else max(largest_cycle_mean(waits.nodes, waits.edges), waits.least)


@dataclass(frozen=True, slots=True)
class Waits:
    """The event graph of a loop, and a takt that no wait of it tells but nothing undercuts, s.

    A wait from a node lasts for the dwell of its station and for what does not depend on dwells.
    """

    edges: list[Edge]
    least: float
    first: list[int]
    """Node of each station's first batch, and the number of nodes behind them."""

    @property
    def nodes(self) -> int:
        """Number of nodes."""
        return self.first[-1]


def loop_waits(
    legs: ArrayLike,
    dwells: ArrayLike,
    exchange: ArrayLike,
    gaps: ArrayLike,
    positions: ArrayLike,
    carriers: int,
    *,
    room: RoomTime | None = None,
    shorter_leg: LegTime | None = None,
    lag: float = 0.0,
    phase: ArrayLike = 0,
    headway: float = 0.0,
) -> Waits | None:
    """What the carriers of a loop wait for, as `exact_takt` has it.

    ``None`` if the loop cannot run, however long or short the dwells are.
    """
    arrays = np.broadcast_arrays(legs, dwells, exchange, gaps, positions, phase)
    if arrays[0].ndim != 1:
        raise ValueError("a loop has one value per station of each of its arrays")
    whole = not_negative("legs", arrays[0]).tolist()
    own_time = not_negative("exchange", arrays[2])
    moving = np.maximum(own_time - (2.0 * counts("positions", arrays[4]) - 1.0) * lag, 0.0).tolist()
    places = [int(count) for count in arrays[4]]
    period = lcm(*places)
    spare = float(np.sum(arrays[3])) - carriers
    loop = _Loop(
        dwells=not_negative("dwells", arrays[1]).tolist(),
        exchange=own_time.tolist(),
        gaps=positive("gaps", arrays[3]).tolist(),
        positions=places,
        phase=[int(number) for number in finite("phase", arrays[5])],
        carriers=int(counts("carriers", carriers)),
        room=room if room is not None else lambda station, _: float(moving[station]),
        shorter_leg=shorter_leg
        if shorter_leg is not None
        else lambda station, _: float(whole[station]),
        lag=float(not_negative("lag", lag)),
        laps=_laps(spare) if lag > 0.0 else 1,
        period=period,
        first=[0, *accumulate(period // count for count in places)],
    )
    if _moves_back(loop) or (lag > 0.0 and spare < _LEAST_SPARE):
        return None
    edges = [
        edge
        for batch in loop.batches()
        for waits in (_exchange_edges, _leg_edges, _room_edges)
        for edge in waits(loop, *batch)
    ]
    # A hole that goes round for ever moves every carrier a lap on, one lag each.
    creeping = lag * (spare + carriers) / spare if lag > 0.0 else 0.0
    least = max(creeping, float(not_negative("headway", headway)))
    return Waits(edges, least, loop.first)
