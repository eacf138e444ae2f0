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

from recommender.choice.decision.explored import CLOSE, Effort, Explored
from recommender.choice.decision.on_build import OnBuild
from recommender.choice.loop.layout import fits_on
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.axes import Axes
from recommender.choice.search.bound import Bounded, bounded_on_each
from recommender.choice.search.box import Boxes
from recommender.choice.search.price_bound import BuildPrices
from recommender.choice.search.waves import sampled
from recommender.inputs.case import Case
from recommender.physics.slosh import sloshing_period

_AT_ONCE = 64

# Where waves decide: how much closer the sample lies of an option that is looked at closely, builds
# after which others are looked at first if nothing was found, and how many of them.
_FINER = 2.0
_IN_VAIN = 5
_SPREAD = 5


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
    if explored.sloshes:
        _explore_with_waves(_by_bound(whole, price_book, explored, beyond), price_book, explored)
        return explored.tidy()
    opened = []
    for first in _by_bound(whole, price_book, explored, beyond):
        build = OnBuild(first.priced, price_book, explored)
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


def _explore_with_waves(
    by_bound: Iterator[Bounded], price_book: PriceBook, explored: Explored
) -> None:
    """Look at a sample of settings on each build; after some in vain on a few of the others first.

    Where waves decide each build is dear to look at, and lengths beside each other are alike.
    """
    sample, opened = sampled(explored.axes).in_time, []
    for first in by_bound:
        build = OnBuild(first.priced, price_book, explored, sample)
        if build.loops or fits_on(explored.axes.about, first.priced.build):
            build.look(first, build.loops)
            opened.append((build, first))
        if len(opened) == _IN_VAIN and not explored.candidates:
            break
    rest = [(OnBuild(e.priced, price_book, explored, sample), e) for e in by_bound]
    able = [(build, first) for build, first in rest if build.loops]
    if not able or _found_on_some(able, explored):
        for build, first in able:
            if first.least < explored.wanted:
                build.look(first, build.loops)
        opened += rest
    else:
        explored.left += [first for _, first in rest]
    for build, first in sorted(opened, key=lambda entry: entry[1].least):
        build.narrow(first)


def _found_on_some(able: Sequence[tuple[OnBuild, Bounded]], explored: Explored) -> bool:
    """Whether anything is found on some of these builds, from the shortest to the longest."""
    by_length = sorted(able, key=lambda entry: entry[0].priced.build.length)
    some = np.linspace(0, len(able) - 1, _SPREAD).round().astype(int)
    for build, first in (by_length[k] for k in np.unique(some)):
        build.look(first, build.loops)
    return bool(explored.candidates)


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
    # Where there are no steps, or nothing is found, no build may keep the others from being looked
    # at at all.
    shares = (1.0,) if explored.goal.discrete and explored.candidates else (0.5, 1.0)
    further.left = explored.left
    sample = sampled(explored.axes, _FINER).in_time if explored.sloshes else None
    for share in shares:
        entries = sorted(further.left, key=lambda entry: entry.least)
        further.left = []
        for number, entry in enumerate(entries):
            part = share * (number + 1) / len(entries) if share < 1.0 else 1.0
            further.effort = effort.part(part)
            if entry.least < further.wanted:
                build = OnBuild(entry.priced, price_book, further, sample)
                if sample is None:
                    build.divide(entry)
                else:
                    build.look(entry, build.loops)
                    build.narrow(entry)
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
