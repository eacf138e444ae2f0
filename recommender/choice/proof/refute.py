"""Whether anything is cheaper than the best that is known: every other place of every station.

The search tries two placements on each loop. Here everything that it did not try is refuted, or
found: settings are bounded over all placements at once (`open_settings`), then over all round
places along each straight (`lap_grid`), and what is left goes to the seating model, many settings
at a time as one that is as quick as the quickest of them in every respect. What cannot be refuted
in time lowers the bound, and the answer then claims no more than that.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.liquid import least_rise
from recommender.choice.lap import Settings
from recommender.choice.layout import LoopContext
from recommender.choice.placement import Loop
from recommender.choice.price_bound import PricedBuild, by_bound
from recommender.choice.pricing import Cents, carrier_price
from recommender.choice.proof.lap_bound import LapBound
from recommender.choice.proof.lap_grid import GridLap
from recommender.choice.proof.open_settings import OpenSettings, open_settings, with_laps
from recommender.choice.screen import Screened
from recommender.choice.search import Candidate, candidates_on
from recommender.choice.seating.seat import seat
from recommender.choice.settle import Settled
from recommender.choice.unknown import Unknown
from recommender.choice.workshop import Workshop

_MOST_CELLS = 1_000_000
_MOST_SEATINGS = 200

Settle = Callable[[Candidate], Settled | None]


@dataclass
class Refutation:
    """What was found out about everything that might be cheaper than a price.

    ``bound`` is a price that nothing undercuts; ``found`` is cheaper than the price.
    """

    price: Cents
    deadline: float
    bound: Cents = field(init=False)
    found: Settled | None = None
    seatings: int = 0

    def __post_init__(self) -> None:
        self.bound = self.price

    def leave(self, price: Cents) -> None:
        """Something at a price could not be refuted."""
        self.bound = min(self.bound, price)

    @property
    def out_of_time(self) -> bool:
        """Whether no more may be tried."""
        return monotonic() > self.deadline or self.seatings >= _MOST_SEATINGS


def opened(
    screened: Screened,
    workshop: Workshop,
    price: Cents,
    builds: Iterable[PricedBuild] | None = None,
) -> Iterator[OpenSettings]:
    """Settings of an option, build by build, that might cost less than a price.

    ``builds`` are the ways to build the straights by rising bound, if they are known.
    """
    rows = screened.holding
    if len(rows) == 0:
        return
    setting, used = screened.context.take(rows), screened.used[rows]
    for priced in by_bound(setting, workshop, price) if builds is None else builds:
        if priced.bound >= price:
            return
        left = open_settings(priced, setting, used, workshop).below(price)
        if len(left.price):
            yield left


def refute(
    entries: Iterable[OpenSettings],
    workshop: Workshop,
    price: Cents,
    settle: Settle,
    deadline: float,
) -> Refutation:
    """Refute that anything among some settings is cheaper than a price, or find what is.

    Parameters
    ----------
    entries : iterable of OpenSettings
    workshop : Workshop
    price : int
        Cents; the best that is known.
    settle : callable
        Makes a candidate a configuration that passes its audit, or returns ``None``.
    deadline : float, s
        Reading of the monotonic clock after which nothing new is tried.

    Returns
    -------
    Refutation
        As soon as something cheaper is found, with that alone.
    """
    ended = Refutation(price, deadline)
    for entry in sorted(entries, key=lambda entry: entry.least):
        left = _calm(entry.below(price), workshop, price)
        left = _on_places(left, workshop)
        _Refuter(workshop, settle, ended).every_number(left.below(price))
        if ended.found:
            break
    return ended


def _calm(entry: OpenSettings, workshop: Workshop, price: Cents) -> OpenSettings:
    """The settings that do not spill whatever the places, with a lap that the price allows."""
    liquid = workshop.case.load.liquid
    if liquid is None or not len(entry.price):
        return entry
    grid = GridLap(entry.setting.about, entry.build.length, entry.setting.settings)
    about = entry.setting.about
    more = (price - 1 - entry.price) // carrier_price(about.option, workshop.catalogue)
    longest = np.asarray((entry.carriers + more) * about.takt, dtype=np.float64)
    rise = least_rise(entry.setting, grid.from_bend, longest)
    return entry.take(np.flatnonzero(rise <= HOLDS * liquid.freeboard))


def _on_places(entry: OpenSettings, workshop: Workshop) -> OpenSettings:
    """Bounds over the round places, where these are not too many."""
    about, settings = entry.setting.about, entry.setting.settings
    grid = GridLap(about, entry.build.length, settings)
    if not len(entry.price) or grid.cells * len(settings) > _MOST_CELLS:
        return entry
    bound = LapBound(about, entry.build.length, settings)
    return with_laps(entry.priced, entry.setting, entry.used, workshop, bound, grid.lap_time)


@dataclass(frozen=True)
class _Refuter:
    """Hands settings on one build to the seating model."""

    workshop: Workshop
    settle: Settle
    ended: Refutation

    def every_number(self, entry: OpenSettings) -> None:
        """Refute settings for every number of carriers with which they may be cheaper."""
        each = carrier_price(entry.setting.about.option, self.workshop.catalogue)
        while len(entry.price) and not self.ended.found:
            fewest = int(entry.carriers.min())
            rows = np.flatnonzero(entry.carriers == fewest)
            some = entry.take(rows)
            for speed in np.unique(some.setting.settings.bend_speed):
                # A quicker bend is not better in every respect: it takes longer to stop from.
                alike = np.flatnonzero(some.setting.settings.bend_speed == speed)
                self._with_carriers(some.take(alike), fewest)
            # With one carrier more they may have the time that they lack.
            carriers, price = entry.carriers.copy(), entry.price.copy()
            carriers[rows] += 1
            price[rows] += each
            entry = replace(entry, carriers=carriers, price=price).below(self.ended.price)

    def _with_carriers(self, entry: OpenSettings, carriers: int) -> None:
        """Refute settings with some carriers, halving them until each half is settled."""
        ended = self.ended
        if ended.found or not len(entry.price):
            return
        if ended.out_of_time:
            ended.leave(entry.least)
            return
        ended.seatings += 1
        try:
            on = self._seated(entry, carriers)
        except Unknown:
            ended.leave(entry.least)
            return
        if on is None or self._cheaper(entry, on):
            return
        if len(entry.price) == 1:
            # It can be seated, but what else is asked of it fails there, or costs more.
            ended.leave(entry.least)
            return
        for rows in _halves(entry.setting.settings):
            self._with_carriers(entry.take(rows), carriers)

    def _seated(self, entry: OpenSettings, carriers: int) -> LoopContext | None:
        """Some place for every station at which the quickest of the settings keeps the takt."""
        about, build = entry.setting.about, entry.build
        seated = seat(
            about,
            build.front,
            build.back,
            entry.setting.settings.quickest(),
            carriers,
            time_limit=max(self.ended.deadline - monotonic(), 0.1),
            first_found=True,
        )
        if seated is None:
            return None
        loop = Loop(build.length, about.bend_length)
        return LoopContext(about, loop, seated.placement, seated.front, seated.back)

    def _cheaper(self, entry: OpenSettings, on: LoopContext) -> bool:
        """Whether some setting is cheaper on a loop, all its checks held."""
        settings = candidates_on(
            entry.priced, on, entry.setting, entry.used, self.workshop, self.ended.price - 1
        )
        for candidate in sorted(settings, key=lambda candidate: candidate.price):
            settled = self.settle(candidate)
            if settled is not None and settled.price < self.ended.price:
                self.ended.found = settled
                return True
        return False


def _halves(settings: Settings) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Two halves of some settings, the quicker one first, apart where they differ most."""
    values = [settings.acceleration, settings.speed, settings.jerk]
    widest = values[int(np.argmax([value.max() / value.min() for value in values]))]
    order = np.argsort(widest, kind="stable")
    middle = len(order) // 2
    return order[middle:], order[:middle]
