"""Ranks that an option cannot undercut on each way to build the straights: prices, as a rule.

First roughly, from the length of the guide and the highest speeds, then by the quickest lap over
all placements of the stations, run by a setting that is as quick as the quickest in every respect.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.parts import rounding
from recommender.choice.parts.braking import fleet_price, resistors_for
from recommender.choice.parts.builds import Build
from recommender.choice.parts.electrical import NEVER, ElectricalCatalogue
from recommender.choice.parts.goals import Goal, Whole, rank, steps
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents, fixed_price, metre_price
from recommender.physics.constants import Array


@dataclass(frozen=True)
class PricedBuild:
    """One build for one option: what it costs before carriers, supplies and controller.

    ``measure`` is what nothing on it undercuts of the goal, in its steps; ``bound`` a rank.
    """

    build: Build
    base: Cents
    sections: int
    bound: int
    measure: int = 0

    def ranked(
        self, about: OptionContext, price_book: PriceBook, carriers: Whole, mean: Whole, peak: Whole
    ) -> tuple[Whole, Whole]:
        """Price and rank with some carriers and the best electrical parts for some powers.

        Parameters
        ----------
        about : OptionContext
        price_book : PriceBook
        carriers : ndarray of int, (rows,)
        mean, peak : ndarray of int, (rows,)
            Of the whole loop, idle sections included, in whole milliwatts.

        Returns
        -------
        tuple of ndarray
            `NEVER` where nothing serves, or more would have to be spent than may be.
        """
        option, case, catalogue = about.option, price_book.case, price_book.catalogue
        fleet = fleet_price(option, case, catalogue, self.build.length, carriers)
        measure = np.full(len(carriers), self.measure, dtype=np.int64)
        if price_book.goal is Goal.ENERGY:
            measure = mean
        elif price_book.goal is Goal.DELIVERY:
            measure = np.maximum(measure, resistor_weeks(about, price_book, self.build, carriers))
        price, ranks = (np.full(len(carriers), NEVER, dtype=np.int64) for _ in range(2))
        for weeks, electrical, due in served_after(price_book, measure):
            sets = electrical.choice(self.sections)
            supply = sets.cheapest(mean, peak)
            control = electrical.controller_price(self.sections, carriers)
            able = due & (ranks == NEVER) & (supply >= 0) & (control < NEVER)
            if able.any():
                whole = self.base + fleet + sets.price[supply] + control
                able &= _affordable(whole, price_book)
                price = np.where(able, whole, price)
                ranks = np.where(able, rank(np.maximum(measure, weeks), whole), ranks)
        return price, ranks


def served_after(
    price_book: PriceBook, measure: Whole
) -> Iterator[tuple[int, ElectricalCatalogue, NDArray[np.bool_]]]:
    """Electrical parts by the weeks that they take, and where none that take more come in time.

    What is waited for anyway is waited for with the cheapest parts that come until then.
    """
    stages = price_book.electrical_by_weeks
    following = [weeks for weeks, _ in stages[1:]]
    for number, (weeks, electrical) in enumerate(stages):
        due = measure < following[number] if following[number:] else measure >= 0
        yield weeks, electrical, np.asarray(due)


def resistor_weeks(
    about: OptionContext, price_book: PriceBook, build: Build, carriers: Whole
) -> Whole:
    """Weeks that brake resistors take at least where some are bought, (rows,), in steps."""
    kinds = price_book.catalogue.brake_resistor
    if not kinds:
        return np.zeros(len(carriers), dtype=np.int64)
    asked = about.option, price_book.case, price_book.catalogue, build.length
    soonest = steps(Goal.DELIVERY, min(part.lead_time for part in kinds))
    return np.where(resistors_for(*asked, carriers)[1] > 0, soonest, 0)


def _affordable(price: Whole, price_book: PriceBook) -> NDArray[np.bool_]:
    most = price_book.most_spent
    return price < NEVER if most is None else price <= most


def least_measure(about: OptionContext, price_book: PriceBook, sections: Whole) -> Whole:
    """What nothing on each build undercuts of the goal, (builds,), in its steps."""
    table, option = price_book.table(), about.option
    match price_book.goal:
        case Goal.FLOOR:
            along = table.length + 2.0 * about.floor_beyond
            return steps(Goal.FLOOR, about.floor_across * along)
        case Goal.DELIVERY:
            catalogue = price_book.catalogue
            own = max(part.lead_time for part in option.parts(catalogue))
            rail = 1 if option.family.lower_guide else 0
            return steps(Goal.DELIVERY, np.maximum(own, table.weeks[:, rail]))
        case Goal.ENERGY:
            return rounding.demand(
                sections * price_book.catalogue.catalogue.section_idle_power, "power"
            )
        case _:
            return np.zeros(len(table.length), dtype=np.int64)


@dataclass(frozen=True)
class BuildPrices:
    """Prices of one option on every build; arrays are (builds,), cents."""

    about: OptionContext
    price_book: PriceBook
    base: NDArray[np.int64]
    sections: NDArray[np.int64]
    measure: NDArray[np.int64]

    @staticmethod
    def of(about: OptionContext, price_book: PriceBook) -> "BuildPrices":
        """What each build costs before carriers and electrical parts, and its sections."""
        table, option = price_book.table(), about.option
        rail = 1 if option.family.lower_guide else 0
        base = table.price[:, rail] + fixed_price(option, price_book.case, price_book.catalogue)
        base = base + metre_price(option, table.length, price_book.catalogue)
        sections = table.pieces + 2 * option.bend.sections
        measure = least_measure(about, price_book, sections)
        return BuildPrices(about, price_book, base, sections, measure)

    def priced(self, row: int, bound: Cents) -> PricedBuild:
        """One of the builds with what it cannot undercut."""
        build = self.price_book.table().entries[row]
        base, sections, measure = (
            int(values[row]) for values in (self.base, self.sections, self.measure)
        )
        return PricedBuild(build, base, sections, bound, measure)

    def rough_bound(
        self, acceleration: float, speed: float, bend_speed: float
    ) -> NDArray[np.int64]:
        """What no setting with at most these limits undercuts; `NEVER` where nothing can be had."""
        length, longest = self.price_book.table().length, self.price_book.longest
        whole = 2.0 * (length + self.about.bend_length)
        # Once round the loop all distances between stations follow each other.
        shortest = self.about.distances_asked.sum()
        possible = (whole <= longest + 1e-9) & (whole >= shortest - 1e-9)
        rows = np.flatnonzero(possible & (length <= self.about.longest_straight + 1e-9))
        found = np.full(len(length), NEVER, dtype=np.int64)
        carriers = fewest_carriers(self.about, length[rows], acceleration, speed, bend_speed)
        found[rows] = self._with_carriers(rows, carriers)
        return found

    def _with_carriers(
        self, rows: NDArray[np.intp], carriers: NDArray[np.int64]
    ) -> NDArray[np.int64]:
        """Rank with some carriers and the cheapest electrical parts that serve the sections."""
        sections, measure = self.sections[rows], self.measure[rows]
        fleet = fleet_price(
            self.about.option,
            self.price_book.case,
            self.price_book.catalogue,
            self.price_book.table().length[rows],
            carriers,
        )
        ranks = np.full(len(rows), NEVER, dtype=np.int64)
        for weeks, electrical, due in served_after(self.price_book, measure):
            supplies = electrical.least_price(sections)
            control = electrical.controller_price(sections, carriers)
            price = self.base[rows] + fleet + supplies + control
            able = due & (ranks == NEVER) & (supplies < NEVER) & (control < NEVER)
            able &= _affordable(price, self.price_book)
            ranks = np.where(able, rank(np.maximum(measure, weeks), price), ranks)
        return ranks


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
