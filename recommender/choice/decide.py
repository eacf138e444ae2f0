"""The decision: every option looked at, the cheapest one proven and audited."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from time import monotonic
from typing import Final

import numpy as np

from recommender.choice import rounding
from recommender.choice.audit import Audit, report
from recommender.choice.configuration import Configuration
from recommender.choice.electrical import cheapest_controller
from recommender.choice.elsewhere import elsewhere
from recommender.choice.even import evenly_fed
from recommender.choice.grid import Grid
from recommender.choice.instance import assemble
from recommender.choice.layout import LoopContext
from recommender.choice.nearest import nearest
from recommender.choice.obstacle import longest_straight, obstacle
from recommender.choice.options import Option, list_options
from recommender.choice.pricing import Cents, cents
from recommender.choice.prove import Proven, best_settled, prove
from recommender.choice.refute import opened
from recommender.choice.screen import Screened, screen
from recommender.choice.search import Candidate, cheapest, passes_alone, within_budget
from recommender.choice.setting import OptionContext, SettingContext
from recommender.choice.settle import Settled, fed_configuration
from recommender.choice.workshop import Workshop
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

PROOF_TIME: Final = 30.0
"""Time after which the proof is left where it is, s, unless another is asked for."""


@dataclass(frozen=True)
class Looked:
    """What is known about one option.

    ``audit`` is the report on its cheapest configuration, or on the one nearest to passing if
    nothing passes; ``None`` if its stations fit on no loop, and then ``obstacle`` says why.
    """

    option: Option
    stations: tuple[str, ...]
    feasible: bool
    audit: Audit | None
    obstacle: str = ""


@dataclass(frozen=True)
class Decision:
    """Every option in the catalogue's order, and the proven choice."""

    looked: tuple[Looked, ...]
    chosen: Audit | None
    bound: Cents
    price: Cents
    optimal: bool


def decide(
    case: Case, catalogue: Catalogue, grid: Grid | None = None, *, seconds: float = PROOF_TIME
) -> Decision:
    """Look at every option of a case and choose.

    Parameters
    ----------
    case : Case
    catalogue : Catalogue
    grid : Grid, optional
        How finely motion settings are looked at.
    seconds : float
        Time after which the proof is left where it is.

    Returns
    -------
    Decision

    Raises
    ------
    RuntimeError
        If the arrays and the model disagree about the least price: a fault of ours.
    """
    deadline = monotonic() + seconds
    workshop = Workshop(case, catalogue, case.loop.max_length or catalogue.rules.longest_loop)
    options = list_options(case, catalogue)
    screened = {
        entry.context.about.option.id: entry
        for entry in screen(options, case, catalogue, grid or Grid())
    }
    able = [entry for entry in screened.values() if passes_alone(entry.context.about)]
    candidates = {
        entry.context.about.option.id: within_budget(cheapest(entry, workshop), case)
        for entry in able
    }
    best, seated, refused = _settled(able, candidates, workshop, deadline)
    proven = _prove(able, best, workshop, deadline) if best else None
    looked = tuple(
        _look(screened[option.id], candidates.get(option.id, []), refused, workshop)
        if option.id not in seated
        else Looked(option, _names(case), True, seated[option.id].audit)
        for option in options
    )
    if proven is None:
        return Decision(looked, None, 0, 0, optimal=True)
    chosen = proven.audit
    looked = tuple(
        replace(entry, audit=chosen, feasible=True)
        if entry.option == chosen.configuration.option
        else entry
        for entry in looked
    )
    return Decision(looked, chosen, proven.bound, proven.price, proven.optimal)


def _settled(
    able: Sequence[Screened],
    candidates: Mapping[str, Sequence[Candidate]],
    workshop: Workshop,
    deadline: float,
) -> tuple[Settled | None, dict[str, Settled], list[Candidate]]:
    """The best that is found, what is found for options without candidates, and who is refused."""
    every = [candidate for found in candidates.values() for candidate in found]
    best, refused = best_settled(every, workshop, deadline)
    missed = [entry for entry in able if not candidates[entry.context.about.option.id]]
    seated = elsewhere(missed, workshop, deadline)
    known = [settled for settled in (best, *seated.values()) if settled is not None]
    return min(known, key=lambda settled: settled.price, default=None), seated, refused


def _prove(able: Sequence[Screened], best: Settled, workshop: Workshop, deadline: float) -> Proven:
    """The cheapest of all, from the best that the search has found."""
    entries = [left for entry in able for left in opened(entry, workshop, best.price)]
    return prove(best, entries, workshop, deadline)


def _names(case: Case) -> tuple[str, ...]:
    return tuple(station.name for station in case.station)


def _look(
    entry: Screened,
    found: Sequence[Candidate],
    refused: Sequence[Candidate],
    workshop: Workshop,
) -> Looked:
    option = entry.context.about.option
    names = _names(workshop.case)
    passing = [candidate for candidate in found if all(candidate is not one for one in refused)]
    best = _cheapest_report(passing, workshop)
    if best is not None:
        return Looked(option, names, True, best)
    if found:
        # The report on the cheapest says what fails.
        return Looked(option, names, False, next(_reports(found[0], workshop)))
    near = nearest(entry, workshop)
    if near is None:
        about = entry.context.about
        return Looked(
            option, names, False, None, obstacle(about, _longest_straight(about, workshop))
        )
    on, setting, carriers = near
    configuration = configure(on, setting, carriers, workshop, None)
    return Looked(option, names, False, report(configuration, setting, workshop.catalogue))


def _cheapest_report(passing: Sequence[Candidate], workshop: Workshop) -> Audit | None:
    """The cheapest of some candidates in which no check fails."""
    best: Audit | None = None
    for candidate in passing:
        if best is not None and cents(best.price) <= candidate.price:
            break
        for audit in _reports(candidate, workshop):
            if not audit.failures:
                best = audit if best is None or audit.price < best.price else best
                break
    return best


def _reports(candidate: Candidate, workshop: Workshop) -> Iterator[Audit]:
    """A candidate with its supplies and feeds evenly spread, then as the model divides them."""
    on, setting, carriers = candidate.on, candidate.setting, candidate.carriers
    powers = candidate.mean_power, candidate.peak_power
    built = configure(on, setting, carriers, workshop, powers)
    yield report(built, setting, workshop.catalogue)
    fed = fed_configuration(on, setting, carriers)
    if fed is not None:
        yield report(fed, setting, workshop.catalogue)


def _longest_straight(about: OptionContext, workshop: Workshop) -> float:
    """The longest straight of any loop of the catalogue that supplies and controllers serve, m."""
    most = 0.5 * max(workshop.longest, workshop.catalogue.rules.longest_loop) - about.bend_length
    pieces = (workshop.electrical.most_sections - 2 * about.option.bend.sections) // 2
    return longest_straight(workshop.catalogue, most, pieces)


def configure(
    on: LoopContext,
    setting: SettingContext,
    carriers: int,
    workshop: Workshop,
    powers: tuple[int, int] | None,
) -> Configuration:
    """A configuration with the cheapest supplies for its powers (in milliwatts).

    Without powers, or where no set of supplies gives them, the strongest set is taken, so that the
    checks can say what lacks.
    """
    about, electrical = on.about, workshop.electrical
    sections = len(on.front) + len(on.back) + 2 * about.option.bend.sections
    idle = int(rounding.demand(sections * about.catalogue.catalogue.section_idle_power, "power"))
    mean, peak = powers or (0, 0)
    sets = electrical.choice(sections)
    index = int(sets.cheapest(np.array([mean + idle]), np.array([peak + idle]))[0])
    if powers is None:
        index = len(sets.price) - 1
    largest = max(about.catalogue.controller, key=lambda part: (part.max_carriers, part.id))
    controller = cheapest_controller(about.catalogue, sections, carriers) or largest
    counts = [int(count) for count in sets.counts[index]]
    electrics = evenly_fed(on, counts, sets.feeds[index], controller.id)
    return assemble(on, setting.settings, carriers, electrics)
