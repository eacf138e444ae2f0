"""Rules that no run may break, looked at in the run itself and from what carriers really did.

Nothing here asks how the carriers were sent: their finished ways are sampled and compared.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from recommender.physics.constants import Array
from recommender.trials.path import Path
from recommender.trials.track import Track

_CLOSER: Final = 1e-3
"""Share of a spacing by which two carriers may be closer, which is less than the samples tell."""

_REMEMBERED: Final = 6
"""Comparisons of the same ways that are remembered."""

_ELSEWHERE: Final = 1e-5

Move = tuple[float, int, Path]
"""Start, s; laps that are to be added to the places of the way; the way."""


class RuleError(RuntimeError):
    """A rule is broken that no run may break: a fault of this program."""


class Guard:
    """Watches the carriers of one loop."""

    def __init__(self, track: Track, carriers: int) -> None:
        self.track, self.carriers = track, carriers
        self.closest = np.inf
        """Least distance that any two neighbours have had while one of them moved, spacings."""
        self._looked: dict[tuple[int, ...], list[tuple[float, ...]]] = {}
        self._next_batch: dict[int, int] = {}
        self._stood: dict[int, float] = {}

    def check(
        self, carrier: int, move: Move, ahead: Sequence[Move], rest: float, first: bool
    ) -> None:
        """Compare a way that has been made with those of the carrier ahead.

        While a carrier stands the one ahead can only go away from it, so this is all.

        Raises
        ------
        RuleError
            If the two came too close, or one passed the other.
        """
        since, lap, path = move
        until, places = since + path.duration, self.track.places
        beyond = (1 if first else 0) - lap
        relevant: list[Move] = []
        for entry in reversed(ahead):
            if entry[0] + entry[2].duration < since:
                break
            if entry[0] <= until:
                relevant.insert(0, entry)
        if relevant and self._farther(since, path, relevant, beyond):
            return
        if not relevant:
            least, k = self.track.spacings(rest) + beyond * places - float(path.spacings[-1]), -1
        else:
            leader: Array | None = None
            for start, laps, other in relevant:
                shown = np.interp(path.times + (since - start), other.times, other.spacings)
                shown = shown + (laps + beyond) * places
                leader = (
                    shown if leader is None else np.where(path.times < start - since, leader, shown)
                )
            assert leader is not None
            apart = leader - path.spacings
            k = int(np.argmin(apart))
            least = float(apart[k])
        if least < 1.0 - _CLOSER:
            what = "has passed" if least < 0.0 else "is closer than the least spacing to"
            raise RuleError(
                f"carrier {carrier + 1} {what} the carrier ahead:"
                f" {least:.4f} spacings at {since + path.times[k]:.3f} s"
            )
        self.closest = min(self.closest, least)

    def _farther(self, since: float, path: Path, ahead: Sequence[Move], beyond: int) -> bool:
        """Whether the same ways were compared before with the later one no later than now.

        The carrier ahead only goes away, so that the later the one behind starts, the farther apart
        the two are all the time.
        """
        if not (path.kept and all(other.kept for _, _, other in ahead)):
            return False
        key = (id(path), *(n for _, laps, other in ahead for n in (id(other), laps + beyond)))
        behind = tuple(since - start for start, _, _ in ahead)
        looked = self._looked.setdefault(key, [])
        for entry in looked:
            if all(known <= now for known, now in zip(entry, behind, strict=True)):
                return True
        if len(looked) >= _REMEMBERED:
            looked.pop(0)
        looked.append(behind)
        return False

    def arrived(self, carrier: int, move: Move, end: float) -> float:
        """Where a carrier stands after a way that begins where it stood and ends where it should.

        Where it stood is what was seen at the end of its last way.

        Raises
        ------
        RuleError
            If it was somewhere else.
        """
        _, lap, path = move
        added, should = lap * self.track.length, self.track.place(end)
        stood = self._stood.get(carrier, path.start + added)
        if max(abs(stood - path.start - added), abs(path.stop + added - should)) > _ELSEWHERE:
            raise RuleError(f"carrier {carrier + 1} is lost: it is not where it was sent")
        self._stood[carrier] = should
        return should

    def gathered(self, station: int, batch: int, carriers: Sequence[int]) -> None:
        """Look at a batch that stands whole: those whose turn it is.

        Raises
        ------
        RuleError
            If a carrier is missing or out of its turn.
        """
        due = self._next_batch.get(station, 0)
        first = batch * len(carriers)
        turn = sorted((first + k) % self.carriers for k in range(len(carriers)))
        if batch != due or sorted(carriers) != turn:
            raise RuleError(
                f"carriers {[number + 1 for number in carriers]} are at a station out of turn"
            )
        self._next_batch[station] = batch + 1
