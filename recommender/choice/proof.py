"""Whether anything is cheaper than the best that is known: every other place of every station.

The search tries two placements on each loop. Here everything that it did not try is refuted, or
found: settings are bounded over all placements at once (`open_settings`), then over all round
places along each straight (`lap_grid`), and what is left goes to the seating model, many settings
at a time as one that is as quick as the quickest of them in every respect. What cannot be refuted
in time lowers the bound, and the answer then claims no more than that.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from recommender.choice.checks.liquid import least_rise
from recommender.choice.lap import Settings
from recommender.choice.lap_bound import LapBound
from recommender.choice.lap_grid import GridLap
from recommender.choice.layout import LoopContext
from recommender.choice.open_settings import OpenSettings, open_settings, with_laps
from recommender.choice.placement import Loop
from recommender.choice.pricing import Cents, carrier_price
from recommender.choice.screen import Screened
from recommender.choice.search import Candidate, Workshop, by_bound, candidates_on
from recommender.choice.seating import Unknown, seat

_MOST_CELLS = 1_000_000
_MOST_SEATINGS = 60


@dataclass
class Refutation:
    """What was found out about everything that might be cheaper than a price.

    ``bound`` is a price that nothing undercuts; ``found`` are candidates cheaper than the price.
    """

    price: Cents
    deadline: float
    bound: Cents = field(init=False)
    found: list[Candidate] = field(default_factory=list)
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


def opened(screened: Screened, workshop: Workshop, price: Cents) -> Iterator[OpenSettings]:
    """Settings of an option, build by build, that might cost less than a price."""
    rows = screened.holding
    if len(rows) == 0:
        return
    setting, used = screened.context.take(rows), screened.used[rows]
    for priced in by_bound(setting, workshop):
        if priced.bound >= price:
            return
        left = open_settings(priced, setting, used, workshop).below(price)
        if len(left.price):
            yield left


def refute(
    entries: Iterable[OpenSettings], workshop: Workshop, price: Cents, seconds: float
) -> Refutation:
    """Refute that anything among some settings is cheaper than a price, or find what is.

    Parameters
    ----------
    entries : iterable of OpenSettings
    workshop : Workshop
    price : int
        Cents; the best that is known.
    seconds : float
        Time after which nothing new is tried.
    """
    ended = Refutation(price, monotonic() + seconds)
    for entry in sorted(entries, key=lambda entry: entry.least):
        left = _calm(entry.below(ended.price), workshop)
        left = _on_places(left, workshop)
        _refute(left.below(ended.price), workshop, ended)
        if ended.found:
            # A better price is known now; all bounds are to be looked at anew.
            return ended
    return ended


def _calm(entry: OpenSettings, workshop: Workshop) -> OpenSettings:
    """The settings that do not spill whatever the places."""
    liquid = workshop.case.load.liquid
    if liquid is None or not len(entry.price):
        return entry
    grid = GridLap(entry.setting.about, entry.build.length, entry.setting.settings)
    rise = least_rise(entry.setting, grid.from_bend)
    return entry.take(np.flatnonzero(rise <= liquid.freeboard * (1.0 + 1e-9)))


def _on_places(entry: OpenSettings, workshop: Workshop) -> OpenSettings:
    """Bounds over the round places, where these are not too many."""
    about, settings = entry.setting.about, entry.setting.settings
    grid = GridLap(about, entry.build.length, settings)
    if not len(entry.price) or grid.cells * len(settings) > _MOST_CELLS:
        return entry
    bound = LapBound(about, entry.build.length, settings)
    return with_laps(entry.priced, entry.setting, entry.used, workshop, bound, grid.lap_time)


def _refute(entry: OpenSettings, workshop: Workshop, ended: Refutation) -> None:
    """Refute settings on one build for every number of carriers that may be cheaper."""
    each = carrier_price(entry.setting.about.option, workshop.catalogue)
    while len(entry.price) and not ended.found:
        fewest = int(entry.carriers.min())
        rows = np.flatnonzero(entry.carriers == fewest)
        _refute_with(entry.take(rows), fewest, workshop, ended)
        # With one carrier more they may have the time that they lack.
        carriers, price = entry.carriers.copy(), entry.price.copy()
        carriers[rows] += 1
        price[rows] += each
        left = OpenSettings(entry.priced, entry.setting, entry.used, carriers, price)
        entry = left.below(ended.price)


def _refute_with(entry: OpenSettings, carriers: int, workshop: Workshop, ended: Refutation) -> None:
    """Refute settings with a number of carriers, halving them until each half is settled."""
    if ended.found or not len(entry.price):
        return
    if ended.out_of_time:
        ended.leave(entry.least)
        return
    about, build = entry.setting.about, entry.build
    ended.seatings += 1
    try:
        seated = seat(
            about,
            build.front,
            build.back,
            _quickest(entry.setting.settings),
            carriers,
            time_limit=max(ended.deadline - monotonic(), 0.1),
            first_found=True,
        )
    except Unknown:
        ended.leave(entry.least)
        return
    if seated is None:
        return
    loop = Loop(build.length, about.bend_length)
    on = LoopContext(about, loop, seated.placement, seated.front, seated.back)
    ended.found += [
        candidate
        for candidate in candidates_on(entry.priced, on, entry.setting, entry.used, workshop)
        if candidate.price < ended.price
    ]
    if ended.found:
        return
    if len(entry.price) == 1:
        # It can be seated, but what else is asked of it fails there, or costs more.
        ended.leave(entry.least)
        return
    for rows in _halves(entry.setting.settings):
        _refute_with(entry.take(rows), carriers, workshop, ended)


def _quickest(settings: Settings) -> Settings:
    """One setting that is in every respect as quick as the quickest of some."""
    names = ("acceleration", "jerk", "speed", "bend_speed")
    return Settings(*(np.array([getattr(settings, name).max()]) for name in names))


def _halves(settings: Settings) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Two halves of some settings, apart where they differ most."""
    names = ("acceleration", "speed", "bend_speed", "jerk")
    values = [getattr(settings, name) for name in names]
    widest = values[int(np.argmax([value.max() / value.min() for value in values]))]
    order = np.argsort(widest, kind="stable")
    middle = len(order) // 2
    return order[middle:], order[:middle]
