"""Prices that an option cannot undercut on each way to build the straights.

First roughly, from the length of the guide and the highest speeds, then by the quickest lap over
all placements of the stations, run by a setting that is as quick as the quickest in every respect.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from recommender.choice.braking import fleet_price
from recommender.choice.builds import Build
from recommender.choice.electrical import NEVER
from recommender.choice.lap import Settings
from recommender.choice.lap_bound import LapBound
from recommender.choice.pricing import Cents, fixed_price, metre_price
from recommender.choice.setting import OptionContext, SettingContext
from recommender.choice.workshop import Workshop
from recommender.physics.constants import Array

_AT_ONCE = 6


@dataclass(frozen=True)
class PricedBuild:
    """One build for one option: what it costs before carriers, supplies and controller."""

    build: Build
    base: Cents
    sections: int
    bound: Cents


def by_bound(
    setting: SettingContext, workshop: Workshop, below: Cents = NEVER
) -> Iterator[PricedBuild]:
    """Ways to build the straights, in the order of a price that they cannot undercut.

    Parameters
    ----------
    setting : SettingContext
        All settings that may be run.
    workshop : Workshop
    below : int
        Cents; builds that cannot cost less are left out.
    """
    about, quickest = setting.about, setting.settings.quickest()
    prices = BuildPrices.of(about, workshop)
    limits = (quickest.acceleration, quickest.speed, quickest.bend_speed)
    rough = prices.rough_bound(*(float(limit[0]) for limit in limits))
    order = np.argsort(rough, kind="stable")
    order = order[rough[order] < below]
    waiting: list[tuple[int, int]] = []
    # The closer bound is worked out only for as many as have to be told apart.
    for start in range(0, len(order) + 1, _AT_ONCE):
        following = int(rough[order[start]]) if start < len(order) else below
        while waiting and waiting[0][0] <= following:
            bound, row = heappop(waiting)
            yield prices.priced(row, bound)
        rows = order[start : start + _AT_ONCE]
        if len(rows):
            for bound, row in zip(prices.bound(rows, quickest), rows, strict=True):
                if bound < below:
                    heappush(waiting, (int(bound), int(row)))
    while waiting:
        bound, row = heappop(waiting)
        yield prices.priced(row, bound)


@dataclass(frozen=True)
class BuildPrices:
    """Prices of one option on every build; arrays are (builds,), cents."""

    about: OptionContext
    workshop: Workshop
    base: NDArray[np.int64]
    sections: NDArray[np.int64]

    @staticmethod
    def of(about: OptionContext, workshop: Workshop) -> "BuildPrices":
        """What each build costs before carriers and electrical parts, and its sections."""
        table, option = workshop.table(), about.option
        rail = 1 if option.family.lower_guide else 0
        base = table.price[:, rail] + fixed_price(option, workshop.case, workshop.catalogue)
        base = base + metre_price(option, table.length, workshop.catalogue)
        return BuildPrices(about, workshop, base, table.pieces + 2 * option.bend.sections)

    def priced(self, row: int, bound: Cents) -> PricedBuild:
        """One of the builds with what it cannot undercut."""
        build = self.workshop.table().entries[row]
        return PricedBuild(build, int(self.base[row]), int(self.sections[row]), bound)

    def rough_bound(
        self, acceleration: float, speed: float, bend_speed: float
    ) -> NDArray[np.int64]:
        """What no setting with at most these limits undercuts; `NEVER` where nothing can be had."""
        length, longest = self.workshop.table().length, self.workshop.longest
        whole = 2.0 * (length + self.about.bend_length)
        # Once round the loop all distances between stations follow each other.
        shortest = self.about.distances_asked.sum()
        possible = (whole <= longest + 1e-9) & (whole >= shortest - 1e-9)
        rows = np.flatnonzero(possible & (length <= self.about.longest_straight + 1e-9))
        found = np.full(len(length), NEVER, dtype=np.int64)
        carriers = fewest_carriers(self.about, length[rows], acceleration, speed, bend_speed)
        found[rows] = self._with_carriers(rows, carriers)
        return found

    def bound(self, rows: NDArray[np.intp], quickest: Settings) -> NDArray[np.int64]:
        """What no setting undercuts that is nowhere quicker than one, on some builds."""
        every = quickest.take(np.zeros(len(rows), dtype=np.intp))
        lap = LapBound(self.about, self.workshop.table().length[rows], every, np.zeros(len(rows)))
        carriers = lap.carriers(lap.lap_time)
        able = np.flatnonzero(np.isfinite(carriers))
        found = np.full(len(rows), NEVER, dtype=np.int64)
        found[able] = self._with_carriers(rows[able], carriers[able].astype(np.int64))
        return found

    def _with_carriers(
        self, rows: NDArray[np.intp], carriers: NDArray[np.int64]
    ) -> NDArray[np.int64]:
        """Price with some carriers and the cheapest electrical parts that serve the sections."""
        electrical, sections = self.workshop.electrical, self.sections[rows]
        fleet = fleet_price(
            self.about.option,
            self.workshop.case,
            self.workshop.catalogue,
            self.workshop.table().length[rows],
            carriers,
        )
        supplies = electrical.least_price(sections)
        control = electrical.controller_price(sections, carriers)
        price = self.base[rows] + fleet + supplies + control
        return np.where((supplies < NEVER) & (control < NEVER), price, NEVER)


def fewest_carriers(
    about: OptionContext, length: Array, acceleration: float, speed: float, bend_speed: float
) -> NDArray[np.int64]:
    """Carriers that no setting and no placement gets below on straights of some lengths.

    The lap is at least the guide at the highest speeds of any row, the dwells, and what each stop
    costs within the room that it surely has to either side: there the carrier is no quicker than
    from rest at the highest acceleration without jerk.
    """
    a, v = acceleration, speed
    stations, base = about.case.station, about.option.base
    room = min(0.5 * about.spacing, about.bend_clearance - 0.5 * base)
    from_rest = np.sqrt(2.0 * room / a) if room < v * v / (2.0 * a) else room / v + v / (2.0 * a)
    straight = 2.0 * (length - base) / v
    turning = 2.0 * (about.bend_length + base) / bend_speed
    stops = float(about.occupied.sum()) + len(stations) * 2.0 * (from_rest - room / v)
    lost = sum(station.positions - 1.0 for station in stations)
    needed = np.ceil((straight + turning + stops) / about.takt + lost - 1e-9)
    return np.maximum(needed, 1.0).astype(np.int64)
