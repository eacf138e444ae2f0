"""What a loop may contribute to the cheapest line: configurations found, and boxes left open.

The boxes of motion settings are those of a single loop, build by build. Here a box is dropped if no
line that holds any of it is cheaper than the best line known, whatever the other loops are
(`recommender.lines.candidates`), or if a configuration that was found dominates all of it. The
others are halved, looked at and seated as for a single loop.

Of a line, look at the loop whose configuration was dropped first. When that was, the others'
were found or in boxes still open, and the price that was compared with was one that no line with
any of those undercuts. So, as the best line known only ever gets cheaper, no line that was left
out is cheaper than the one that is chosen in the end; and none whose loops are all found or open
is cheaper than the bound of what is left open.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.bodies import batches
from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks import FLEET_CHECKS, GEOMETRY_CHECKS, LAYOUT_CHECKS
from recommender.choice.deadline import Unsettled, late
from recommender.choice.decision.explore import everything
from recommender.choice.decision.explored import Effort, Explored
from recommender.choice.decision.on_build import OnBuild, holding
from recommender.choice.loop.layout import LayoutContext, LoopContext, fits_on
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.axes import Axes, axes_of
from recommender.choice.search.bound import Bounded
from recommender.choice.search.box import Boxes
from recommender.choice.search.candidates import Candidate, _sieve, passes_alone, whole_powers
from recommender.choice.search.screen import acceleration_ceiling, speed_ceiling
from recommender.choice.search.waves import sampled
from recommender.lines.candidates import LeastWith, Vectors, Whole, undominated
from recommender.lines.found import Found, Version, all_dominated, corners, take, which
from recommender.lines.shared import Asks, Terms
from recommender.lines.vectors import Purse, asks_of
from recommender.physics.constants import Array

_SEATED_EVERY = 4
_AT_A_LOOK = 8
_MOST_BOXES = 6_000
_MOST_WAVE_BOXES = 400
_MOST_SEATINGS = 120


@dataclass
class _Open:
    """Boxes of an option on one build in which something cheaper may be."""

    purse: Purse
    row: int
    boxes: Boxes
    vectors: Vectors
    version: int
    depth: int = 0
    build: "_LineBuild | None" = None
    least: Whole = field(default_factory=lambda: np.empty(0, dtype=np.int64))

    def keep(self, rows: NDArray[np.intp]) -> None:
        """Some of the boxes only."""
        self.boxes, self.vectors = self.boxes.take(rows), take(self.vectors, rows)
        self.least = self.least[rows] if len(self.least) else self.least

    def part(self, rows: NDArray[np.intp]) -> "_Open":
        """Some of the boxes by themselves."""
        boxes, vectors = self.boxes.take(rows), take(self.vectors, rows)
        return replace(self, boxes=boxes, vectors=vectors, least=self.least[rows])


@dataclass(frozen=True)
class _Rough:
    """An option on the builds that may suit it, and what nothing on each undercuts."""

    purse: Purse
    version: int
    rows: NDArray[np.intp]
    vectors: Vectors


class Frontier:
    """The search of one loop of a line, in all its versions."""

    def __init__(
        self,
        loops: int,
        versions: Sequence[Version],
        workshops: Sequence[PriceBook],
        explored: Sequence[dict[str, Explored]],
        terms: Terms,
    ) -> None:
        self.loops, self.versions, self.terms = loops, versions, terms
        self.workshops, self.explored = workshops, [dict(entry) for entry in explored]
        self.asleep: list[_Rough] = []
        self.found: list[Found] = []
        self.known: list[Found] = []
        self.open: list[_Open] = []
        self.boxes = self.seatings = 0
        self.most_boxes = _MOST_BOXES
        self.bound: LeastWith | None = None
        self.limit = NEVER

    # What is there -------------------------------------------------------------------------------

    def begin(self, version: int) -> None:
        """Take over what was found of one version alone, and open all that it may do."""
        price_book, explored = self.workshops[version], self.explored[version]
        case, catalogue = price_book.case, price_book.catalogue
        rows = {entry: row for row, entry in enumerate(price_book.table().entries)}
        for entry in explored.values():
            purse = self._purse(entry.axes, version)
            for candidate in entry.candidates:
                self._add(candidate, purse, rows[candidate.build], version)
        able = [
            option
            for option in list_options(case, catalogue)
            if option.id in explored or passes_alone(OptionContext(option, case, catalogue))
        ]
        for batch in batches(able, case, catalogue.rules):
            acceleration, speed = acceleration_ceiling(batch)[:, 0], speed_ceiling(batch)[:, 0]
            for option, a, v in zip(batch.options, acceleration, speed, strict=True):
                known = explored.get(option.id)
                if known is not None:
                    self._open(known.axes, self._rough(known.axes.about, version, a, v))
                else:
                    # Of very many options most are too dear: their axes are worked out later.
                    about = OptionContext(option, case, catalogue)
                    self.asleep.append(self._rough(about, version, a, v))

    def _rough(self, about: OptionContext, version: int, a: float, v: float) -> "_Rough":
        purse = Purse(about, self.workshops[version], self.loops, self.versions[version].ways)
        rows, vectors = purse.rough(float(a), float(v))
        most = self.terms.length
        short = [k for k, row in enumerate(rows) if most is None or purse.along[row] <= most]
        return _Rough(purse, version, rows[short], take(vectors, np.array(short, dtype=np.intp)))

    def _wake(self) -> None:
        """Open what was left unexplored of very many options and may be in a cheaper line."""
        assert self.bound is not None
        asleep, self.asleep = self.asleep, []
        wanted = [
            entry
            for entry in asleep
            if len(entry.rows) and int(self.bound(entry.vectors).min()) < self.limit
        ]
        for version in range(len(self.versions)):
            rough = {
                entry.purse.about.option.id: entry for entry in wanted if entry.version == version
            }
            options = [entry.purse.about.option for entry in rough.values()]
            price_book = self.workshops[version]
            for axes in axes_of(options, price_book.case, price_book.catalogue):
                option = axes.about.option
                self.explored[version][option.id] = Explored(axes, Effort(0, 0))
                self._open(axes, rough[option.id])

    def _purse(self, axes: Axes, version: int) -> Purse:
        ways = self.versions[version].ways
        return Purse(axes.about, self.workshops[version], self.loops, ways)

    def _open(self, axes: Axes, rough: "_Rough") -> None:
        whole = everything(axes) if axes.hold else None
        if not whole:
            return
        purse, version = replace(rough.purse, about=axes.about), rough.version
        self.open += [
            _Open(purse, int(row), whole, purse.one(rough.vectors, k, int(row)), version)
            for k, row in enumerate(rough.rows)
        ]

    def _add(self, candidate: Candidate, purse: Purse, row: int, version: int) -> None:
        asks = asks_of(candidate, purse, row)
        if asks is None:
            return
        found = Found(asks, candidate, version, self.versions[version].case)
        self.known.append(found)
        if self._short(found):
            self.found.append(found)

    def tidy(self) -> None:
        """Leave out what was found and is dominated."""
        self.found = [self.found[k] for k in undominated([f.asks for f in self.found], self.terms)]

    def remove(self, found: Found) -> None:
        """Leave out what does not pass its audit however it is settled; others may take its place.

        What it dominated asks for no less, so that no bound suffers.
        """
        self.known = [entry for entry in self.known if entry is not found]
        self.found = [entry for entry in self.known if self._short(entry)]
        self.tidy()

    def _short(self, found: Found) -> bool:
        most = self.terms.length
        return most is None or found.asks.along <= most

    @property
    def asks(self) -> list[Asks]:
        """What all that was found asks for."""
        return [entry.asks for entry in self.found]

    @property
    def vectors(self) -> list[Asks]:
        """What all that was found asks for, and at least all that is open."""
        known = self.asks
        unsettled = [entry.vectors for entry in self.open]
        for vectors in (*unsettled, *(entry.vectors for entry in self.asleep)):
            about = vectors.about
            columns = (vectors.own, vectors.carriers, vectors.sections, vectors.mean, vectors.peak)
            known += [
                replace(about, own=own, carriers=n, sections=s, mean=mean, peak=peak)
                for own, n, s, mean, peak in zip(
                    *(column[corners(vectors)].tolist() for column in columns), strict=True
                )
            ]
        return known

    @property
    def least_open(self) -> int:
        """A price that no line undercuts that holds anything of what is left open."""
        if self.bound is None:
            return 0 if self.open else NEVER
        return min(
            (int(self.bound(e.vectors).min(initial=NEVER)) for e in self.open), default=NEVER
        )

    @property
    def spent(self) -> bool:
        """Whether no more boxes may be looked at."""
        sloshes = any(version.case.load.liquid is not None for version in self.versions)
        most = _MOST_WAVE_BOXES if sloshes else self.most_boxes
        return self.boxes > most or late(Unsettled.SEARCH)

    # How it is narrowed down ---------------------------------------------------------------------

    def narrow(self, bound: LeastWith, limit: int) -> None:
        """Drop what cannot be in a line that is cheaper than ``limit``."""
        self.bound, self.limit = bound, limit
        self._wake()
        kept = []
        for entry in self.open:
            entry.least = bound(entry.vectors)
            entry.keep(self._rows(entry.vectors, entry.least))
            if len(entry.boxes):
                kept.append(entry)
        self.open = kept

    def divide(self, below: int) -> bool:
        """Halve all boxes in which a line may cost less, and look at some of their settings.

        Returns
        -------
        bool
            Whether there were any that could be halved or refuted.
        """
        changed = False
        kept: list[_Open] = []
        for entry in sorted(self.open, key=_cheapest):
            wanted = np.flatnonzero(entry.least < below)
            if not len(wanted) or self.spent:
                kept.append(entry)
                continue
            if len(wanted) < len(entry.boxes):
                kept.append(entry.part(np.flatnonzero(entry.least >= below)))
                entry.keep(wanted)
            changed = self._divided(entry) or changed
            if len(entry.boxes):
                kept.append(entry)
        self.open = kept
        self.tidy()
        return changed

    def _divided(self, entry: _Open) -> bool:
        if entry.build is None:
            # The whole box with its true bound, before it is halved.
            entry.build = _LineBuild(self, entry)
            if not entry.build.tried and not entry.build.fits:
                entry.keep(np.empty(0, dtype=np.intp))
                return True
            boxes = entry.boxes
        else:
            divisible = entry.boxes.divisible
            if not divisible.any():
                return self._settled(entry)
            fine = entry.boxes.take(np.flatnonzero(~divisible))
            halves = entry.boxes.take(np.flatnonzero(divisible)).halves()
            boxes = Boxes.joined([fine, halves]) if len(fine) else halves
        self.boxes += len(boxes)
        self._measure(entry, boxes)
        if len(entry.boxes):
            entry.build.look(entry.build.bounded(entry), entry.build.loops)
            entry.keep(self._rows(entry.vectors, entry.least))
        if len(entry.boxes) and entry.depth % _SEATED_EVERY == 0:
            self._seat(entry)
        entry.depth += 1
        return True

    def _measure(self, entry: _Open, boxes: Boxes, carriers: Whole | None = None) -> None:
        entry.boxes, entry.vectors = entry.purse.of_boxes(entry.row, boxes, carriers)
        entry.least = self._least(entry.vectors)
        entry.keep(self._rows(entry.vectors, entry.least))

    def _settled(self, entry: _Open) -> bool:
        """Seat boxes that are as small as boxes get one by one; whether any was refuted."""
        before = len(entry.boxes)
        if before > 1 and not self.seated_out and entry.build is not None:
            parts = np.array_split(np.argsort(entry.boxes.sharp, kind="stable"), min(before, 8))
            left: list[tuple[Boxes, Whole]] = []
            for rows in parts:
                one = entry.part(rows)
                self._seat(one)
                if len(one.boxes):
                    left.append((one.boxes, one.vectors.carriers))
            if not left:
                entry.keep(np.empty(0, dtype=np.intp))
            else:
                joined = Boxes.joined([boxes for boxes, _ in left])
                self._measure(entry, joined, np.concatenate([number for _, number in left]))
        return len(entry.boxes) < before

    def _seat(self, entry: _Open) -> None:
        """Drop boxes without places for their stations; look where there are some."""
        if self.seated_out or entry.build is None:
            return
        seated = entry.build.seatable(entry.build.bounded(entry))
        self.seatings += entry.build.explored.seatings
        entry.build.explored.seatings = 0
        self._measure(entry, seated.boxes, seated.carriers)

    @property
    def seated_out(self) -> bool:
        """Whether no more stations may be seated."""
        return self.seatings >= _MOST_SEATINGS

    def _least(self, vectors: Vectors) -> Whole:
        assert self.bound is not None
        return self.bound(vectors)

    def _rows(self, vectors: Vectors, least: Whole) -> NDArray[np.intp]:
        """Rows in which a cheaper line may be and that nothing found dominates."""
        rows = np.flatnonzero(least < self.limit)
        if not len(rows):
            return rows
        left = take(vectors, rows)
        free = np.ones(len(rows), dtype=bool)
        for entry in self.found:
            free &= ~all_dominated(entry.asks, left, self.terms)
        return rows[free]

    def take_in(
        self, entry: _Open, on: LoopContext, setting: SettingContext, used: Array
    ) -> list[Candidate]:
        """Add settings on a loop that hold and may be in a cheaper line."""
        found = list(self._candidates(entry, on, setting, used))
        for candidate in found:
            self._add(candidate, entry.purse, entry.row, entry.version)
        return found

    def _candidates(
        self, entry: _Open, on: LoopContext, setting: SettingContext, used: Array
    ) -> Iterator[Candidate]:
        layout, _ = _sieve(LayoutContext(on, setting), np.zeros_like(used), GEOMETRY_CHECKS)
        if len(layout.setting.settings) < len(used):
            return
        layout, used = _sieve(layout, used, FLEET_CHECKS)
        rows = np.flatnonzero(np.isfinite(layout.carriers_for_rate))
        if not len(rows):
            return
        layout, used = layout.take(rows), used[rows]
        carriers = layout.carriers.astype(np.int64)
        mean, peak = whole_powers(layout)
        sections = np.full(len(carriers), entry.purse.sections[entry.row])
        idle = entry.purse.idle(sections)
        vectors = Vectors(
            entry.purse.own(np.full(len(carriers), entry.row), carriers),
            carriers,
            sections,
            mean + idle,
            peak + idle,
            entry.vectors.about,
        )
        least = self._least(vectors)
        rows = self._rows(vectors, least)
        if not len(rows):
            return
        # What a lap, its wear and its waves ask for is dear to know: first of the cheapest lines.
        rows = rows[np.lexsort((used[rows].round(3), least[rows]))]
        kept: list[int] = []
        for start in range(0, len(rows), 64):
            some = rows[start : start + 64]
            held, share = _sieve(layout.take(some), used[some], LAYOUT_CHECKS)
            if not len(share):
                continue
            survived = which(layout.take(some), held)
            for number, row in enumerate(some[survived]):
                if len(kept) == _AT_A_LOOK:
                    return
                if any(
                    carriers[k] <= carriers[row] and mean[k] <= mean[row] and peak[k] <= peak[row]
                    for k in kept
                ):
                    continue
                kept.append(int(row))
                yield Candidate(
                    on=on,
                    setting=held.setting.take(np.array([number])),
                    build=entry.purse.priced(entry.row).build,
                    carriers=int(carriers[row]),
                    mean_power=int(mean[row]),
                    peak_power=int(peak[row]),
                    price=int(least[row]),
                    used=float(share[number]),
                    rank=int(least[row]),
                )


def _cheapest(entry: _Open) -> int:
    return int(entry.least.min(initial=NEVER))


class _LineBuild(OnBuild):
    """An option on one build, seated and looked at as for a single loop, but for a line."""

    def __init__(self, frontier: Frontier, entry: _Open) -> None:
        self.frontier, self.entry = frontier, entry
        left = max(_MOST_SEATINGS - frontier.seatings, 0)
        explored = Explored(entry.boxes.axes, Effort(boxes=_MOST_BOXES, seatings=left))
        sample = sampled(entry.boxes.axes).in_time if explored.sloshes else None
        super().__init__(entry.purse.priced(entry.row), entry.purse.price_book, explored, sample)
        self._seen: list[LoopContext] = []

    def kept(self, some: Bounded) -> Bounded:
        """The boxes among some with which a line may cost less than the best that is known."""
        return some.below(self.frontier.limit)

    @property
    def fits(self) -> bool:
        """Whether the stations find places on the build at all."""
        return bool(self.loops) or fits_on(self.entry.purse.about, self.priced.build)

    def bounded(self, entry: _Open) -> Bounded:
        """Boxes with the least price of a line that holds any of them."""
        self.entry = entry
        carriers = entry.vectors.carriers
        return Bounded(self.priced, entry.boxes, carriers, entry.least, entry.least)

    def look(self, some: Bounded, loops: Sequence[LoopContext]) -> None:
        """Look at some settings of the boxes on some loops; where waves decide once at a sample."""
        setting, used = self.sample or holding(some.boxes)
        if not len(used):
            return
        if self.sample is not None:
            loops = [on for on in loops if not any(on is seen for seen in self._seen)]
            self._seen += loops
        for on in loops:
            self.explored.candidates += self.frontier.take_in(self.entry, on, setting, used)
