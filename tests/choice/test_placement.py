"""Station places: what every placement keeps, and whether there is one, by brute force.

All lengths of a draw are whole tenths of a metre. What is asked of the places are differences, and
a system of differences with whole numbers that has a solution has one of whole numbers: trying
every tenth is exhaustive.
"""

from copy import copy
from itertools import pairwise, product
from typing import Any

import numpy as np
import pytest

from recommender.choice.parts.placement import Loop, Placement, placements
from recommender.inputs.case import Station

TENTH = 0.1
DRAWS = 300


def station(name: str, **values: Any) -> Station:
    entries: dict[str, Any] = {"name": name, "dwell": "1 s"}
    for key, value in values.items():
        entries[key] = f"{value} m" if key in ("after", "at", "length") else value
    return Station.model_validate(entries)


class Draw:
    """A random loop and its stations, in whole tenths."""

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        draw = rng.integers
        self.straight, self.bend = int(draw(4, 16)), int(draw(5, 12))
        self.clearance, self.spacing = int(draw(0, 4)), int(draw(1, 5))
        count = int(draw(1, 5))
        self.joints = [
            sorted({int(x) for x in draw(2, self.straight, size=draw(0, 3))}) for _ in range(2)
        ]
        self.after = [int(draw(0, 22)) if draw(0, 3) == 0 else 0 for _ in range(count)]
        self.positions = [int(draw(2, 4)) if draw(0, 6) == 0 else 1 for _ in range(count)]
        self.at = [
            int(draw(0, self.straight + 1)) if draw(0, 5) == 0 else None for _ in range(count)
        ]
        self.side = [str(rng.choice(["any", "any", "front", "back"])) for _ in range(count)]
        self.clear = [bool(draw(0, 4) == 0) for _ in range(count)]
        # Half of each length is whole; those of batches are tried where there is a model.
        single = max(self.positions) == 1
        self.reach = [int(draw(1, 5)) if single and draw(0, 4) == 0 else 0 for _ in range(count)]

    @property
    def length(self) -> int:
        return 2 * (self.straight + self.bend)

    @property
    def needed(self) -> list[int]:
        """Least distance of each station from the one before it; nothing for a single one."""
        if len(self.after) == 1:
            return [0]
        return [
            max(after, self.spacing * positions, self.reach[k - 1] + self.reach[k])
            for k, (after, positions) in enumerate(zip(self.after, self.positions, strict=True))
        ]

    def stations(self) -> tuple[Station, ...]:
        fields = zip(self.after, self.positions, self.at, self.side, self.clear, strict=True)
        return tuple(
            station(
                f"station {k}",
                after=TENTH * after,
                positions=positions,
                side=side,
                clear_of_joints=clear,
                **({} if at is None else {"at": TENTH * at}),
                **({"length": 2 * TENTH * self.reach[k]} if self.reach[k] else {}),
            )
            for k, (after, positions, at, side, clear) in enumerate(fields)
        )

    def found(self) -> list[Placement]:
        return placements(
            Loop(TENTH * self.straight, TENTH * self.bend),
            self.stations(),
            TENTH * self.clearance,
            TENTH * self.spacing,
            ([TENTH * x for x in self.joints[0]], [TENTH * x for x in self.joints[1]]),
        )

    def places(self, k: int) -> np.ndarray[Any, Any]:
        """Every tenth at which a station may stand for itself."""
        allowed = []
        starts = (0, self.straight + self.bend)
        for side, start, joints in zip(("front", "back"), starts, self.joints, strict=True):
            if self.side[k] not in ("any", side):
                continue
            for along in range(self.straight + 1):
                marks = [self.straight, *(joints if self.clear[k] else ())]
                carriers = [along - self.spacing * j for j in range(self.positions[k])]
                clear = min(carriers[-1], *(abs(c - m) for c in carriers for m in marks))
                clear = clear >= self.clearance
                clear &= self.reach[k] <= min(along, self.straight - along)
                if clear and self.at[k] in (None, along):
                    allowed.append(start + along)
        return np.array(allowed, dtype=int)

    def possible(self) -> bool:
        """Whether any tenths at all keep the order round the loop and every distance."""
        grids = np.meshgrid(*(self.places(k) for k in range(len(self.after))), indexing="ij")
        at = np.stack([grid.ravel() for grid in grids])
        if len(at) == 1:
            return bool(at.size)
        gaps = (np.roll(at, -1, axis=0) - at) % self.length
        # Once round, and in order: no lap is finished before the last station is met.
        keeps = gaps.sum(axis=0) == self.length
        for gap, needed in zip(gaps, np.roll(self.needed, -1), strict=True):
            keeps &= (gap >= needed) & (gap > 0)
        return bool(keeps.any())


@pytest.fixture(scope="module")
def draws() -> list[tuple[Draw, list[Placement]]]:
    return [(draw, draw.found()) for draw in map(Draw, range(DRAWS))]


def test_there_is_a_placement_whenever_brute_force_finds_one(
    draws: list[tuple[Draw, list[Placement]]],
) -> None:
    possible = [draw.possible() for draw, _ in draws]
    assert 60 < sum(possible) < DRAWS - 60
    wrong = {
        seed: answer
        for seed, ((_, found), answer) in enumerate(zip(draws, possible, strict=True))
        if bool(found) != answer
    }
    assert wrong == {}


def test_every_placement_keeps_what_was_asked(draws: list[tuple[Draw, list[Placement]]]) -> None:
    for draw, found in draws:
        for placement in found:
            at = np.array(placement.at) / TENTH
            back = draw.straight + draw.bend
            for k, place in enumerate(at):
                on_back = place >= back - 1e-6
                along = place - (back if on_back else 0)
                joints = draw.joints[int(on_back)]
                marks = [draw.straight, *(joints if draw.clear[k] else ())]
                carriers = [along - draw.spacing * j for j in range(draw.positions[k])]
                assert -1e-6 <= carriers[-1] <= along <= draw.straight + 1e-6
                room = min(carriers[-1], *(abs(c - m) for c in carriers for m in marks))
                assert room >= draw.clearance - 1e-6
                assert draw.reach[k] <= min(along, draw.straight - along) + 1e-6
                assert draw.side[k] in ("any", "back" if on_back else "front")
                if draw.at[k] is not None:
                    assert along == pytest.approx(draw.at[k])
            gaps = np.array(placement.gaps) / TENTH
            assert gaps.sum() == pytest.approx(draw.length)
            assert (gaps >= np.roll(draw.needed, -1) - 1e-6).all()


def roominess(draw: Draw, placement: Placement) -> float:
    """Least gap between two stations, in what the one behind it asks for or in spacings."""
    asked = np.maximum(np.roll(draw.needed, -1), draw.spacing)
    return float((np.array(placement.gaps) / TENTH / asked).min())


def test_no_other_share_out_of_the_stations_has_more_room(
    draws: list[tuple[Draw, list[Placement]]],
) -> None:
    """Each station pinned to the front or to the back, in all ways, one after the other."""
    several = 0
    for draw, found in draws:
        if not found or max(draw.after) + max(draw.positions) <= 1:
            continue
        rooms = []
        for sides in product(("front", "back"), repeat=len(draw.side)):
            if all(old in ("any", new) for old, new in zip(draw.side, sides, strict=True)):
                pinned = copy(draw)
                pinned.side = list(sides)
                rooms += [roominess(draw, each) for each in pinned.found()[:1]]
        assert roominess(draw, found[0]) == pytest.approx(max(rooms))
        several += len({round(room, 6) for room in rooms}) > 1
    assert several > 20


def test_gaps_lead_from_each_station_to_the_next(
    draws: list[tuple[Draw, list[Placement]]],
) -> None:
    for draw, found in draws:
        length = TENTH * draw.length
        for placement in found:
            for (here, there), gap in zip(
                pairwise([*placement.at, placement.at[0]]), placement.gaps, strict=True
            ):
                assert (here + gap - there) % length == pytest.approx(0.0, abs=1e-9) or (
                    here + gap - there
                ) % length == pytest.approx(length)


def test_a_single_station_sees_the_whole_loop() -> None:
    (found, *_) = placements(Loop(1.0, 1.5), (station("only"),), 0.1, 0.3)
    assert found.gaps == pytest.approx((5.0,))


def test_two_stations_without_wishes_stand_opposite() -> None:
    """Half the loop from each to the other is as far apart as two places can be."""
    (found, *_) = placements(Loop(1.0, 1.5), (station("a"), station("b")), 0.1, 0.3)
    assert found.gaps == pytest.approx((2.5, 2.5))


def test_no_room_is_no_placement() -> None:
    assert not placements(Loop(0.3, 1.0), (station("a"),), 0.16, 0.3)
    near = (station("a", side="front"), station("b", side="front"), station("c", side="front"))
    assert not placements(Loop(1.0, 1.0), near, 0.1, 0.45)
    assert placements(Loop(1.0, 1.0), near, 0.1, 0.4)


def test_fixed_places_stay_and_contradicting_ones_are_refused() -> None:
    loop = Loop(2.0, 1.0)
    front = [station("a", side="front", at=0.4), station("b", side="front", at=1.5)]
    assert placements(loop, front, 0.1, 0.3)[0].at == pytest.approx((0.4, 1.5))
    too_near = [station("a", side="front", at=0.4), station("b", side="front", at=0.6)]
    assert not placements(loop, too_near, 0.1, 0.3)
    too_far = [station("a", side="front", at=0.4), station("b", after=5.0, at=1.5, side="front")]
    assert not placements(loop, too_far, 0.1, 0.3)


def test_two_stations_do_not_spread_where_the_way_back_would_be_too_short() -> None:
    """Of 4 m of loop 3.4 m are asked for from b back to a: spread evenly they would keep 3.37 m."""
    found = placements(Loop(1.5, 0.5), (station("a", after=3.4), station("b")), 0.1, 0.3)
    assert found
    for placement in found:
        assert placement.gaps[0] >= 0.3 - 1e-9 and placement.gaps[1] >= 3.4 - 1e-9


def test_a_batch_keeps_its_places_clear_before_it() -> None:
    three = [station("a"), station("b", positions=3)]
    assert not placements(Loop(0.4, 0.4), [three[0], station("b", positions=5)], 0.1, 0.3)
    for found in placements(Loop(0.4, 0.4), three, 0.1, 0.3):
        assert found.gaps[0] >= 0.9 - 1e-9
