"""What a loop asks of a line: of configurations that were found, and at least of whole boxes."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.loop.ring import least_feeds, ring_of
from recommender.choice.parts import rounding
from recommender.choice.parts.braking import fleet_price
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents
from recommender.choice.search.bound import least_with
from recommender.choice.search.box import Boxes
from recommender.choice.search.candidates import Candidate
from recommender.choice.search.price_bound import BuildPrices, PricedBuild, fewest_carriers
from recommender.choice.supplies.data import feed_data
from recommender.lines.candidates import Vectors, Whole
from recommender.lines.shared import Asks, micrometres, option_shared


@dataclass(frozen=True)
class Purse:
    """What an option asks for on each build, before any motion is chosen."""

    about: OptionContext
    price_book: PriceBook
    loops: int = 1
    ways: int = 1

    @cached_property
    def _prices(self) -> BuildPrices:
        return BuildPrices.of(self.about, self.price_book)

    @cached_property
    def _shared(self) -> Cents:
        return option_shared(self.about.option, self.price_book.catalogue)

    @cached_property
    def sections(self) -> Whole:
        """Sections on each build."""
        return self._prices.sections

    @cached_property
    def base(self) -> Whole:
        """Own price of each build before carriers and feeds, cents."""
        return np.asarray(self._prices.base - self._shared)

    @cached_property
    def along(self) -> NDArray[np.int64]:
        """Floor along the straights of each build, micrometres."""
        beyond = 2.0 * self.about.floor_beyond
        return np.array([micrometres(float(x) + beyond) for x in self.price_book.table().length])

    def most_feeds(self, row: int) -> int:
        """Feeds of which no more are counted than a price of their own has been paid for.

        Of one kind of feed, each that a ring needs beyond those that its length asks for is paid
        for beyond the least price as well; of several kinds that is not known.
        """
        sections, kinds = int(self.sections[row]), feed_data(self.price_book.catalogue)
        return -(-sections // kinds[0].max_sections) if len(kinds) == 1 else sections

    @cached_property
    def across(self) -> int:
        """Floor across the loop, micrometres."""
        about = self.about
        upright = about.case.loop.plane == "upright"
        return micrometres(about.floor_depth if upright else about.floor_width)

    def priced(self, row: int) -> PricedBuild:
        """One of the builds."""
        return self._prices.priced(row, 0)

    def asks(self, **numbers: int) -> Asks:
        """What a configuration of the option asks for."""
        return Asks(
            kind=self.about.option.carrier.id,
            across=self.across,
            ways=self.ways,
            **numbers,
        )

    def own(self, row: int | NDArray[np.intp], carriers: Whole) -> Whole:
        """Own price on a build, or on some, with some carriers, cents."""
        about, price_book = self.about, self.price_book
        length = price_book.table().length[row]
        asked = about.option, price_book.case, price_book.catalogue, length, carriers
        fleet = fleet_price(*asked, loops=self.loops)
        return np.asarray(self.base[row] + fleet + least_feed_price(price_book, self.sections[row]))

    def idle(self, sections: Whole) -> Whole:
        """What idle sections draw, milliwatts."""
        power = self.price_book.catalogue.catalogue.section_idle_power
        return rounding.demand(sections * power, "power")

    def rough(self, acceleration: float, speed: float) -> tuple[NDArray[np.intp], Vectors]:
        """What no setting with at most these limits undercuts on each build that is possible."""
        about, price_book = self.about, self.price_book
        length = price_book.table().length
        whole = 2.0 * (length + about.bend_length)
        shortest = about.distances_asked.sum()
        possible = (whole <= price_book.longest + 1e-9) & (whole >= shortest - 1e-9)
        rows = np.flatnonzero(possible & (length <= about.longest_straight + 1e-9))
        carriers = fewest_carriers(about, length[rows], acceleration, speed, speed)
        idle = self.idle(self.sections[rows])
        return rows, self._vectors(rows, carriers, idle, idle)

    def of_boxes(
        self, row: int, boxes: Boxes, carriers: Whole | None = None
    ) -> tuple[Boxes, Vectors]:
        """What no setting of some boxes undercuts on a build, and the boxes that may hold any.

        With ``carriers`` given none has fewer.
        """
        asked = self.priced(row), boxes, self.price_book, carriers
        boxes, number, powers = least_with(*asked)
        idle = self.idle(np.full(len(number), self.sections[row]))
        mean, peak = (rounding.demand(power, "power") + idle for power in powers)
        vectors = self._vectors(np.full(len(number), row), number, mean, peak)
        return boxes, replace(vectors, about=self._about(row))

    def one(self, vectors: Vectors, number: int, row: int) -> Vectors:
        """One of some vectors by itself, which is for a build."""
        columns = (vectors.own, vectors.carriers, vectors.sections, vectors.mean, vectors.peak)
        own, carriers, sections, mean, peak = (column[[number]] for column in columns)
        return Vectors(own, carriers, sections, mean, peak, self._about(row))

    def _about(self, row: int) -> Asks:
        numbers = dict.fromkeys(("own", "carriers", "sections", "mean", "peak"), 0)
        return self.asks(**numbers, feeds=self.most_feeds(row), along=int(self.along[row]))

    def _vectors(
        self, rows: NDArray[np.intp], carriers: Whole, mean: Whole, peak: Whole
    ) -> Vectors:
        sections = self.sections[rows]
        about = self.asks(own=0, carriers=0, sections=0, mean=0, peak=0)
        return Vectors(self.own(rows, carriers), carriers, sections, mean, peak, about)


def least_feed_price(price_book: PriceBook, sections: Whole) -> Whole:
    """What feeds that reach so many sections cost at least, cents."""
    counts = [
        (-(-np.asarray(sections) // part.max_sections)) * part.price
        for part in feed_data(price_book.catalogue)
    ]
    return np.asarray(np.min(counts, axis=0))


def asks_of(candidate: Candidate, purse: Purse, row: int) -> Asks | None:
    """What a configuration asks for that was found; ``None`` if no feed reaches all of it."""
    about, price_book = purse.about, purse.price_book
    on, sections = candidate.on, int(purse.sections[row])
    ring = ring_of(about.option, on.loop, on.front, on.back, price_book.catalogue)
    takes = [section.takes_feed for section in ring]
    fed = [
        (count * part.price, count)
        for part in feed_data(price_book.catalogue)
        if (count := least_feeds(takes, part.max_sections)) is not None
    ]
    if not fed:
        return None
    carriers = np.array([candidate.carriers])
    least = int(least_feed_price(price_book, np.array([sections]))[0])
    own = int(purse.own(row, carriers)[0]) - least + min(fed)[0]
    idle = int(purse.idle(np.array([sections]))[0])
    return purse.asks(
        own=own,
        carriers=candidate.carriers,
        sections=sections,
        mean=candidate.mean_power + idle,
        peak=candidate.peak_power + idle,
        feeds=max(count for _, count in fed),
        along=int(purse.along[row]),
    )
