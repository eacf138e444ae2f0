"""From a candidate to a configuration that is built: stations seated, sections fed, audited.

A candidate is a setting on a loop with stations somewhere, priced as if its supplies were joined.
Here the seating model finds the best places for its stations, and the feeding model what serves
which sections; what comes out is recomputed from the case before it counts.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from recommender.choice.assemble import assemble
from recommender.choice.audit import Audit, audit
from recommender.choice.configuration import Configuration
from recommender.choice.feeding.feed import feed_loop
from recommender.choice.layout import LayoutContext, LoopContext
from recommender.choice.placement import Loop
from recommender.choice.pricing import Cents, cents
from recommender.choice.search import Candidate
from recommender.choice.seating.seat import seat
from recommender.choice.setting import SettingContext
from recommender.choice.unknown import Unknown
from recommender.choice.workshop import Workshop

_WORK = 5.0


@dataclass(frozen=True)
class Settled:
    """A configuration whose audit holds, and its price in cents."""

    audit: Audit
    price: Cents


def settle(candidate: Candidate, workshop: Workshop, work: float = _WORK) -> Settled | None:
    """The cheapest configuration of a candidate that passes its audit.

    Parameters
    ----------
    candidate : Candidate
    workshop : Workshop
    work : float
        Deterministic seconds of the solver that seating may take.

    Returns
    -------
    Settled or None
        ``None`` if it passes with none of the placements that were looked at.
    """
    best: Settled | None = None
    for on in _loops(candidate, work):
        built = fed_configuration(on, candidate.setting, candidate.carriers)
        if built is None:
            continue
        checked = audit(built, workshop.case, workshop.catalogue)
        price = cents(checked.price)
        if not checked.failures and (best is None or price < best.price):
            best = Settled(checked, price)
        if best is not None and best.price <= candidate.price:
            break
    return best


def fed_configuration(
    on: LoopContext, setting: SettingContext, carriers: int
) -> Configuration | None:
    """A configuration with the cheapest supplies and feeds.

    ``None`` if none serve it, or none are found in time.
    """
    try:
        fed = feed_loop(LayoutContext(on, setting, carriers))
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
