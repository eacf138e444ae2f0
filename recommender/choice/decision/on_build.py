"""The boxes of an option on one build: looked at, halved, refuted by seating stations."""

from collections.abc import Sequence

import numpy as np

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import FLEET_CHECKS, SETTING_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.deadline import Unsettled, late
from recommender.choice.decision.explored import Explored
from recommender.choice.loop.layout import LayoutContext, LoopContext, placed_on
from recommender.choice.parts.placement import Loop
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.bound import Bounded, bounded
from recommender.choice.search.box import Boxes
from recommender.choice.search.candidates import candidates_on
from recommender.choice.search.price_bound import PricedBuild
from recommender.choice.search.waves import Sample
from recommender.choice.stations.seat import seat
from recommender.choice.unknown import Unknown
from recommender.physics.constants import Array

_SEATED_EVERY = 2
_PARTS = 64
_WORK = 2.0
_ZOOMS = 2
_NEAR = 16


class OnBuild:
    """The boxes of an option on one build."""

    def __init__(
        self,
        priced: PricedBuild,
        price_book: PriceBook,
        explored: Explored,
        sample: Sample | None = None,
    ) -> None:
        self.priced, self.price_book, self.explored = priced, price_book, explored
        self.sample = sample
        self.tried: list[LoopContext] = placed_on(explored.axes.about, priced.build)
        self.loops = list(self.tried)

    def kept(self, some: Bounded) -> Bounded:
        """The boxes among some that are worth looking at."""
        return self.explored.kept(some)

    def look(self, some: Bounded, loops: Sequence[LoopContext]) -> None:
        """Look at some settings of the boxes on some loops; where waves decide at a sample."""
        if self.sample is not None and late(Unsettled.SEARCH):
            return
        setting, used = holding(some.boxes) if self.sample is None else self.sample
        for on in loops if len(used) else ():
            wanted = self.explored.wanted
            found = candidates_on(self.priced, on, setting, used, self.price_book, wanted)
            self.explored.candidates += found

    def narrow(self, first: Bounded) -> None:
        """Seat stations for boxes of which waves decide: halves are no nearer to being refuted."""
        self.explored.left.append(self.seatable(self.kept(first)))

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
            parts = some.boxes.divided(_PARTS)
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
