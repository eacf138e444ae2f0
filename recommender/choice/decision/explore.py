"""The least price of one option over all its motion settings, builds and tried placements.

Builds come in the order of a price that they cannot undercut. On each the settings are one box at
first. A box that cannot be cheaper than the best known is dropped; of the others some settings are
looked at, and each is halved, until none is left or they are as small as boxes get. What is left
then may be cheaper only where the stations stand elsewhere, or not at all. Where something else is
to be least, its rank stands for the price.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import FLEET_CHECKS, SETTING_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.decision.explored import CLOSE, Effort, Explored
from recommender.choice.loop.layout import LayoutContext, LoopContext, fits_on, placed_on
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.placement import Loop
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.axes import Axes
from recommender.choice.search.bound import Bounded, bounded, bounded_on_each
from recommender.choice.search.box import Boxes
from recommender.choice.search.candidates import candidates_on
from recommender.choice.search.price_bound import BuildPrices, PricedBuild
from recommender.choice.stations.seat import seat
from recommender.choice.unknown import Unknown
from recommender.inputs.case import Case
from recommender.physics.constants import Array
from recommender.physics.slosh import sloshing_period

_AT_ONCE = 64
_SEATED_EVERY = 2
_PARTS = 64
_WAVE_PARTS = 8
_WORK = 2.0
_ZOOMS = 2
_NEAR = 16


def explore(
    axes: Axes,
    price_book: PriceBook,
    effort: Effort = CLOSE,
    *,
    known: Explored | None = None,
    below: int = NEVER,
    anything: bool = False,
    beyond: bool = True,
) -> Explored:
    """The cheapest candidates of an option, and all that might be cheaper.

    Parameters
    ----------
    axes : Axes
    price_book : PriceBook
    effort : Effort
    known : Explored, optional
        What was found of it before, when less was wanted.
    below : int
        The rank below which something is wanted; the rest is refuted no further.
    anything : bool
        Whether something that works is wanted, however high it ranks.
    beyond : bool
        Whether the bound is wanted as close as can be where it lies beyond that rank.
    """
    explored = Explored(axes, effort, goal=price_book.goal, below=below, anything=anything)
    if known is not None:
        explored.candidates, explored.floor = list(known.candidates), known.bound
    whole = everything(axes) if axes.hold else None
    if not whole:
        return explored
    opened = []
    for first in _by_bound(whole, price_book, explored, beyond):
        build = _Build(first.priced, price_book, explored)
        if not build.loops and not fits_on(axes.about, first.priced.build):
            continue
        build.look(first, build.loops)
        if explored.candidates or anything:
            opened.append((build, first))
        else:
            # Something that works spares looking closely at most other builds.
            build.divide(first)
    for build, first in sorted(opened, key=lambda entry: entry[1].least):
        build.divide(first)
    return explored.tidy()


def _by_bound(
    whole: Boxes, price_book: PriceBook, explored: Explored, beyond: bool
) -> Iterator[Bounded]:
    """The whole box on each build on which it may be cheaper than what is known, cheapest first."""
    prices, most = BuildPrices.of(explored.axes.about, price_book), whole.quickest
    limits = (most.acceleration, most.speed, most.bend_speed)
    rough = prices.rough_bound(*(float(limit[0]) for limit in limits))
    order = np.argsort(rough, kind="stable")
    order = order[rough[order] < NEVER]
    for start in range(0, len(order), _AT_ONCE):
        rows = order[start : start + _AT_ONCE]
        if rough[rows[0]] >= explored.wanted:
            explored.drop(int(rough[rows[0]]))
            return
        if not beyond:
            wanted = int(np.searchsorted(rough[rows], explored.wanted))
            explored.drop(int(rough[rows[wanted:]].min(initial=NEVER)))
            rows = rows[:wanted]
        builds = [prices.priced(int(row), int(rough[row])) for row in rows]
        for first in bounded_on_each(builds, whole, price_book):
            if first.least < explored.wanted:
                yield first
            else:
                explored.drop(first.least)


def explore_further(
    explored: Explored, price_book: PriceBook, effort: Effort, below: int = NEVER
) -> Explored:
    """Look more closely at what was left of an option, as far as it may rank below something."""
    further = replace(explored, effort=effort, left=[], boxes=0, seatings=0, below=below)
    # Where there are no steps, no build may keep the others from being looked at at all.
    shares = (1.0,) if explored.goal.discrete else (0.5, 1.0)
    further.left = explored.left
    for share in shares:
        entries = sorted(further.left, key=lambda entry: entry.least)
        further.left = []
        for number, entry in enumerate(entries):
            part = share * (number + 1) / len(entries) if share < 1.0 else 1.0
            further.effort = effort.part(part)
            if entry.least < further.wanted:
                _Build(entry.priced, price_book, further).divide(entry)
            else:
                further.left.append(entry)
    return further.tidy()


def everything(axes: Axes) -> Boxes:
    """One box with all that an option may do; none if it can do nothing."""
    return Boxes.whole(axes, ramp_times(axes.about.case, axes.about.rules.ramp_time)).trimmed()[1]


def ramp_times(case: Case, usual: float) -> tuple[float, float]:
    """Times in which the acceleration may be built up; slower ones too where a liquid sloshes."""
    liquid = case.load.liquid
    if liquid is None:
        return usual, usual
    return usual, max(float(sloshing_period(liquid.length, liquid.depth)), 2.0 * usual)


class _Build:
    """The boxes of an option on one build."""

    def __init__(self, priced: PricedBuild, price_book: PriceBook, explored: Explored) -> None:
        self.priced, self.price_book, self.explored = priced, price_book, explored
        self.tried: list[LoopContext] = placed_on(explored.axes.about, priced.build)
        self.loops = list(self.tried)
        # Where waves decide each box is dear; elsewhere a few take as long as many.
        self.parts = _WAVE_PARTS if explored.sloshes else _PARTS

    def kept(self, some: Bounded) -> Bounded:
        """The boxes among some that are worth looking at."""
        return self.explored.kept(some)

    def look(self, some: Bounded, loops: Sequence[LoopContext]) -> None:
        """Look at some settings of the boxes on some loops."""
        setting, used = holding(some.boxes)
        if not len(used):
            return
        for on in loops:
            wanted = self.explored.wanted
            found = candidates_on(self.priced, on, setting, used, self.price_book, wanted)
            self.explored.candidates += found

    def divide(self, first: Bounded, again: int = _ZOOMS) -> None:
        """Halve boxes until nothing among them can be cheaper, or none can be halved.

        What is left may be looked at ``again`` on axes of its own, with nodes as much nearer.
        """
        some, fine, depth = self.kept(first), [], 0
        while len(some.rank):
            if depth % _SEATED_EVERY == 0:
                some = self.seatable(some)
            divisible = some.boxes.divisible
            fine.append(some.take(np.flatnonzero(~divisible)))
            some = some.take(np.flatnonzero(divisible))
            if not len(some.rank):
                break
            if self.explored.spent:
                self.explored.left.append(some)
                break
            parts = some.boxes.divided(self.parts)
            self.explored.boxes += len(parts)
            some = self.kept(bounded(self.priced, parts, self.price_book))
            if len(some.rank):
                self.look(some, self.loops)
                some = self.kept(some)
            depth += 1
        for entry in fine:
            left = self.kept(entry)
            if self.explored.effort.close:
                left = self.settled(left)
                zoomed = self.zoomed(left, again)
                if zoomed is not None:
                    self.divide(zoomed, again - 1)
                    continue
            self.explored.left.append(left)

    def zoomed(self, some: Bounded, again: int) -> Bounded | None:
        """One box round some, on axes of its own, if they lie near to each other."""
        if not len(some.rank) or not again or self.explored.spent:
            return None
        hull = some.boxes.hull
        spans = hull.sharp[0] - hull.gentle[0], hull.quick_bend[0] - hull.slow_bend[0]
        if max(spans) > _NEAR:
            return None
        self.explored.boxes += 1
        return bounded(self.priced, hull.on_axes_of_their_own(), self.price_book)

    def settled(self, some: Bounded) -> Bounded:
        """What of some boxes cannot be refuted by seating, halving them by their number."""
        some = self.seatable(some) if len(some.rank) else some
        if len(some.rank) < 2 or self.explored.seated_out:
            return some
        halves = np.array_split(np.argsort(some.boxes.sharp, kind="stable"), 2)
        first, second = (self.settled(some.take(rows)) for rows in halves)
        return self.kept(first.joined(second))

    def seatable(self, some: Bounded) -> Bounded:
        """The boxes for which there may be places for the stations, with the carriers they need.

        One that is as quick as the quickest setting of all of them is seated for each number of
        carriers. Where it finds no places, none of them does, and one carrier more may help; unless
        it finds none however long a lap may take.
        """
        kept: list[Bounded] = []
        while len(some.rank) and not self.explored.seated_out:
            fewest = some.carriers == some.carriers.min()
            these, some = some.take(np.flatnonzero(fewest)), some.take(np.flatnonzero(~fewest))
            carriers = int(these.carriers[0])
            try:
                on = self._seated(these, carriers, any_setting=True)
                if on is not None:
                    self._look_where_seated(these, carriers, on)
                    kept.append(these)
                elif self._may_suit(these, carriers):
                    kept.append(these)
                elif (
                    self._may_suit(these)
                    or self._seated(these, carriers, any_setting=True, any_lap=True) is not None
                ):
                    some = these.with_one_more(self.price_book).joined(some)
            except Unknown:
                kept.append(these)
            some = self.kept(some)
        for entry in kept:
            some = some.joined(entry)
        return self.kept(some)

    def _may_suit(self, some: Bounded, carriers: float = np.inf) -> bool:
        """Whether some setting of the boxes may keep the takt where stations are tried first.

        These places need not be round, so that seating does not speak of them. At each bend speed
        the greatest acceleration and top speed of all boxes are the quickest.
        """
        if not self.tried:
            return False
        axes, hull = some.boxes.axes, some.boxes.hull
        bends = np.arange(int(hull.slow_bend[0]), int(hull.quick_bend[0]) + 1)
        most, one = hull.quickest, np.ones(len(bends))
        settings = Settings(
            most.acceleration * one,
            most.jerk * one,
            most.speed * one,
            np.minimum(axes.bend.values[bends], most.speed),
        )
        sharp = np.full(len(bends), hull.sharp[0])
        setting = SettingContext(axes.about, settings, axes.straight.at(sharp), axes.bend.at(bends))
        takt, forming = axes.about.takt, float((axes.about.positions - 1.0).sum())
        for on in self.tried:
            layout = LayoutContext(on, setting)
            quick = np.isfinite(layout.lap_time)
            quick &= layout.lap_time <= HOLDS * (carriers - forming) * takt
            for check in FLEET_CHECKS:
                outcome = check.evaluate(layout)
                if outcome is not None:
                    quick &= outcome.utilisation() <= HOLDS
            if quick.any():
                return True
        return False

    def _look_where_seated(self, some: Bounded, carriers: int, on: LoopContext) -> None:
        """Look at settings where stations were seated, and where they suit the quickest of all."""
        self.loops = [*self.tried, on]
        before = len(self.explored.candidates)
        self.look(some, [on])
        if len(self.explored.candidates) == before and not self.explored.seated_out:
            exact = self._seated(some, carriers, any_setting=False)
            if exact is not None:
                self.loops.append(exact)
                self.look(some, [exact])

    def _seated(
        self, some: Bounded, carriers: int, *, any_setting: bool, any_lap: bool = False
    ) -> LoopContext | None:
        """Some place for every station at which the quickest of the settings keeps the takt.

        With ``any_setting`` those of a bend speed between that of the quickest and of the gentlest
        are not left out.
        """
        self.explored.seatings += 1
        about, build, hull = self.explored.axes.about, self.priced.build, some.boxes.hull
        seated = seat(
            about,
            build.front,
            build.back,
            hull.quickest,
            carriers,
            first_found=True,
            floor=float(hull.gentlest.bend_speed[0]) if any_setting else None,
            any_lap=any_lap,
            work=_WORK,
        )
        if seated is None:
            return None
        loop = Loop(build.length, about.bend_length)
        return LoopContext(about, loop, seated.placement, seated.front, seated.back)


def holding(boxes: Boxes) -> tuple[SettingContext, Array]:
    """Settings of some boxes in which every check without a loop holds, and what they use."""
    setting = boxes.points()
    straight, bend = boxes.axes.straight, boxes.axes.bend
    shares = [setting.straight.pick(straight.used), setting.bend.pick(bend.used)]
    for check in SETTING_CHECKS:
        outcome = check.evaluate(setting)
        if outcome is not None:
            shares.append(outcome.utilisation())
    used = np.max(shares, axis=0)
    rows = np.flatnonzero(used <= HOLDS)
    return setting.take(rows), used[rows]
