"""From a candidate to a configuration that is built: stations seated, sections fed, audited.

A candidate is a setting on a loop with stations somewhere, priced as if its supplies were joined.
Here the seating model finds the best places for its stations, and the feeding model what serves
which sections; what comes out is recomputed from the case before it counts.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.decision.audit import Audit, audit
from recommender.choice.loop.assemble import assemble
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.parts.configuration import Configuration
from recommender.choice.parts.delivery import delivery_of
from recommender.choice.parts.goals import Goal, in_units, measure_of, rank, steps
from recommender.choice.parts.placement import Loop
from recommender.choice.parts.price_book import PriceBook, within_weeks
from recommender.choice.parts.pricing import Cents, cents
from recommender.choice.search.candidates import Candidate
from recommender.choice.stations.seat import seat
from recommender.choice.supplies.feed import feed_loop
from recommender.choice.unknown import Unknown
from recommender.inputs.catalogue import Catalogue

_WORK = 5.0


@dataclass(frozen=True)
class Finished:
    """A configuration whose audit holds, its price in cents, and its rank."""

    audit: Audit
    price: Cents
    rank: int


def finish(candidate: Candidate, price_book: PriceBook, work: float = _WORK) -> Finished | None:
    """The cheapest configuration of a candidate that passes its audit, or what ranks first.

    Parameters
    ----------
    candidate : Candidate
    price_book : PriceBook
    work : float
        Deterministic seconds of the solver that seating may take.

    Returns
    -------
    Finished or None
        ``None`` if it passes with none of the placements that were looked at.
    """
    best: Finished | None = None
    for on in _loops(candidate, work):
        built = fed_configuration(
            on, candidate.setting, candidate.carriers, electrics_for(candidate, price_book)
        )
        if built is None:
            continue
        checked = audit(built, price_book.case, price_book.catalogue)
        ranked = rank_of(checked, price_book)
        if passes(checked, price_book) and (best is None or ranked < best.rank):
            best = Finished(checked, cents(checked.price), ranked)
        if best is not None and best.rank <= candidate.rank:
            break
    return best


def passes(found: Audit, price_book: PriceBook) -> bool:
    """Whether no check fails, whatever may be spent where the price itself is to be least.

    What is cheapest is the same with a budget and without; it is compared with it at the end.
    """
    return not found.failures or (price_book.goal is Goal.PRICE and found.too_dear)


def measured(goal: Goal, found: Audit, catalogue: Catalogue) -> int:
    """What a configuration has of a goal, in its steps."""
    loop = found.loop
    match goal:
        case Goal.FLOOR:
            across = loop.floor_width if loop.floor_depth is None else loop.floor_depth
            return int(steps(goal, across * loop.floor_extent))
        case Goal.DELIVERY:
            return int(steps(goal, delivery_of(found.parts, catalogue).steps[0].weeks))
        case Goal.ENERGY:
            return int(steps(goal, loop.mean_power))
        case _:
            return 0


def rank_of(found: Audit, price_book: PriceBook) -> int:
    """The rank of a configuration that is built."""
    measure = measured(price_book.goal, found, price_book.catalogue)
    return int(rank(measure, cents(found.price)))


def electrics_for(candidate: Candidate, price_book: PriceBook) -> Catalogue | None:
    """The catalogue with electrical parts that come in time; ``None`` if time does not matter."""
    if price_book.goal is not Goal.DELIVERY:
        return None
    weeks = in_units(Goal.DELIVERY, measure_of(candidate.rank))
    return within_weeks(price_book.catalogue, weeks)


def fed_configuration(
    on: LoopContext, setting: SettingContext, carriers: int, bought: Catalogue | None = None
) -> Configuration | None:
    """A configuration with the cheapest supplies and feeds, of those that are ``bought`` if said.

    ``None`` if none serve it, or none are found in time.
    """
    fed_on = on if bought is None else replace(on, about=replace(on.about, catalogue=bought))
    try:
        fed = feed_loop(LayoutContext(fed_on, setting, carriers))
    except Unknown:
        return None
    return assemble(on, setting.settings, carriers, fed.electrics) if fed else None


def _loops(candidate: Candidate, work: float) -> Iterator[LoopContext]:
    """The loop with its stations seated as well as can be, then as they were tried first."""
    about, build = candidate.on.about, candidate.build
    try:
        seated = seat(
            about,
            build.front,
            build.back,
            candidate.setting.settings,
            candidate.carriers,
            work=work,
        )
    except Unknown:
        seated = None
    if seated is not None:
        loop = Loop(build.length, about.bend_length)
        yield LoopContext(about, loop, seated.placement, seated.front, seated.back)
    yield candidate.on
