"""What is known about one option: the report on its cheapest configuration, or on the nearest."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks.causes import Cause
from recommender.choice.checks.findings import option_findings
from recommender.choice.decision.audit import Audit, report
from recommender.choice.decision.explored import Explored
from recommender.choice.decision.finish import electrics_for, fed_configuration, passes, rank_of
from recommender.choice.decision.gentlest import Fixed, gentlest
from recommender.choice.decision.nearest import nearest
from recommender.choice.decision.obstacle import longest_straight, obstacle
from recommender.choice.loop.assemble import assemble
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.loop.power import peak_fleet_power
from recommender.choice.loop.ring import ring_of
from recommender.choice.parts import rounding
from recommender.choice.parts.configuration import Configuration
from recommender.choice.parts.electrical import NEVER, ElectricalCatalogue, cheapest_controller
from recommender.choice.parts.goals import Goal, near_enough
from recommender.choice.parts.options import Option
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents, budget_of, cents
from recommender.choice.search.axes import Axes
from recommender.choice.search.candidates import Candidate, whole_powers
from recommender.choice.search.screen import Screened
from recommender.choice.supplies.even import evenly_fed
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

_HARDLY_MORE = 1.0005
"""Share of the least energy that round numbers of the motion may take."""


_IN_VAIN: Final = 4
"""Candidates that are divided among supplies to no avail before the best so far is taken."""

REFUSED: Final = "it fails for "
"""How an obstacle begins that is no matter of places: a check that looks at the option alone."""


@dataclass(frozen=True)
class OptionReport:
    """What is known about one option.

    ``audit`` is the report on its cheapest configuration, or on the one nearest to passing if
    nothing passes; ``None`` if its stations fit on no loop, and then ``obstacle`` says why, or if
    something works that was not built.
    ``bound`` is a price that none of its configurations undercuts, cents, and ``least`` what none
    undercuts of something else that was to be least, in its steps. An option for which nothing was
    found, though not everything was refuted, is not ``decided``; nor is one that the end of the
    time left unseen, which is ``cut_off``.
    ``causes`` are what fails at every setting and place that was looked at; none where something
    holds there and only what is bought for it fails.
    """

    option: Option
    stations: tuple[str, ...]
    feasible: bool
    audit: Audit | None
    obstacle: str = ""
    bound: Cents = NEVER
    decided: bool = True
    causes: tuple[Cause, ...] = ()
    least: int | None = None
    cut_off: bool = False

    def lacks_money(self, case: Case) -> "Shortfall | None":
        """What it costs and what may be spent, if money is all that it lacks."""
        budget, found = budget_of(case), self.audit
        if budget is None or self.feasible or self.obstacle:
            return None
        if found is None:
            built = self.bound < NEVER and self.decided
            return Shortfall(self.bound, budget, self.bound, built=False) if built else None
        if not found.too_dear:
            return None
        return Shortfall(cents(found.price), budget, min(self.bound, cents(found.price)))


@dataclass(frozen=True)
class Shortfall:
    """What an option costs that works but for the budget, cents.

    ``price`` is that of its cheapest configuration, or what none undercuts if it was not ``built``;
    ``least`` is what none undercuts.
    """

    price: Cents
    budget: Cents
    least: Cents
    built: bool = True

    @property
    def sure(self) -> bool:
        """Whether nothing of the option is within the budget."""
        return self.least > self.budget


def station_names(case: Case) -> tuple[str, ...]:
    return tuple(station.name for station in case.station)


def report_on(
    explored: Explored | None,
    entry: Screened | None,
    refused: Sequence[Candidate],
    price_book: PriceBook,
    option: Option,
    *,
    gentle: bool = True,
) -> OptionReport:
    """What is known about an option.

    Parameters
    ----------
    explored : Explored, optional
        What its boxes came to; ``None`` if it fails before any motion is looked at.
    entry : Screened, optional
        Its settings on a grid, if nothing was found.
    refused : sequence of Candidate
        Those that do not pass their audit however they are settled.
    price_book : PriceBook
    option : Option
    """
    names = station_names(price_book.case)
    found = explored.candidates if explored else []
    bound = explored.bound if explored else NEVER
    passing = [candidate for candidate in found if all(candidate is not one for one in refused)]
    best = cheapest_report(passing, price_book)
    if best is not None and explored is not None:
        if gentle:
            best = made_gentle(explored.axes, best, price_book)
        return with_audit(option, best, bound, price_book)
    if found:
        # The report on the cheapest says what fails.
        audit = _plainest(reports_on(found[0], price_book))
        return OptionReport(option, names, False, audit, bound=bound)
    decided = explored is None or not explored.left
    if entry is None:
        raise RuntimeError(f"{option.id} was neither found nor screened")
    near = nearest(entry, price_book)
    if near is None:
        about = entry.context.about
        why = obstacle(about, _longest_straight(about, price_book))
        return OptionReport(option, names, False, None, why, bound, decided)
    built = near.on, near.setting, near.carriers
    reports = _divided(*built, price_book, _powers(*built))
    audit = _plainest(reports)
    if passes(audit, price_book):
        # Its boxes were left before anything was found.
        return with_audit(option, audit, bound, price_book)
    return OptionReport(option, names, False, audit, "", bound, decided, near.causes)


def with_audit(option: Option, best: Audit, bound: Cents, price_book: PriceBook) -> OptionReport:
    """What is known of an option that works, if enough may be spent."""
    return _if_paid_for(option, best, cents(best.price), bound, price_book)


def _if_paid_for(
    option: Option, audit: Audit | None, price: Cents, bound: Cents, price_book: PriceBook
) -> OptionReport:
    """An option that works at a price: whether the budget pays for it is open while it may."""
    budget, names = budget_of(price_book.case), station_names(price_book.case)
    able = budget is None or price <= budget
    decided = budget is None or able or bound > budget
    return OptionReport(option, names, able, audit, bound=bound, decided=decided)


def left_unexplored(option: Option, price_book: PriceBook, bound: Cents) -> OptionReport:
    """An option of very many that was left: too dear to matter, or refused by a check alone."""
    about = OptionContext(option, price_book.case, price_book.catalogue)
    failing = [finding for finding in option_findings(about) if not finding.ok]
    names = station_names(price_book.case)
    if failing:
        title = failing[0].about.title
        why = f"{REFUSED}{title[:1].lower()}{title[1:]}"
        return OptionReport(option, names, False, None, why, bound)
    return OptionReport(option, names, False, None, "", bound, decided=bound == NEVER)


def not_built(option: Option, price_book: PriceBook, bound: Cents, found: Cents) -> OptionReport:
    """An option of which something works, too dear to be built and told one by one.

    Whether it can be had at all is open where what was ``found`` costs more than may be spent, and
    less is not ruled out.
    """
    return _if_paid_for(option, None, found, bound, price_book)


def cut_off(option: Option, price_book: PriceBook, bound: Cents) -> OptionReport:
    """An option that was not looked at in time, unless a check alone refuses it."""
    left = left_unexplored(option, price_book, bound)
    return left if left.obstacle else replace(left, decided=False, cut_off=True)


def made_gentle(axes: Axes, known: Audit, price_book: PriceBook) -> Audit:
    """The same configuration with the gentlest motion that its carriers and supplies allow.

    Parameters
    ----------
    axes : Axes
        What its option may do.
    known : Audit
        The report on it as it was found, in which nothing fails.
    price_book : PriceBook

    Returns
    -------
    Audit
        As it was found if no gentler one passes its audit at the same price.
    """
    built, catalogue = known.configuration, price_book.catalogue
    setting = setting_of(axes.about, built.motion)
    on = layout_of(built, setting).on
    fixed = Fixed.of(on, built, catalogue)
    if price_book.goal is Goal.ENERGY:
        allowed = int(_HARDLY_MORE * rounding.demand(known.loop.mean_power, "power"))
        fixed = replace(fixed, mean_power=min(fixed.mean_power, allowed))
    gentle = gentlest(axes, fixed, setting)
    moved = assemble(on, gentle.settings, built.carriers, built.electrics)
    again = report(moved, gentle, catalogue)
    return again if passes(again, price_book) else known


def cheapest_report(passing: Sequence[Candidate], price_book: PriceBook) -> Audit | None:
    """The cheapest of some candidates that pass their checks, where stations were tried.

    Parameters
    ----------
    passing : sequence of Candidate
        Cheapest first.
    price_book : PriceBook

    Returns
    -------
    Audit or None
        ``None`` if something fails in each.
    """
    best: tuple[int, Audit] | None = None
    in_vain = 0
    for candidate in passing:
        if best is not None and near_enough(price_book.goal, best[0], candidate.rank):
            break
        reports = reports_on(candidate, price_book)
        found = next((audit for audit in reports if passes(audit, price_book)), None)
        rank = NEVER if found is None else rank_of(found, price_book)
        if found is not None and (best is None or rank < best[0]):
            best, in_vain = (rank, found), 0
        elif best is not None:
            in_vain += 1
        if in_vain == _IN_VAIN:
            break
    return best[1] if best else None


def _plainest(reports: Iterator[Audit]) -> Audit:
    """The report in which fewest checks fail: a division of the supplies may lack what is there."""
    first = next(reports)
    if not any(finding.check.startswith("supply.") for finding in first.failures):
        return first
    return min((first, *reports), key=lambda audit: len(audit.failures))


def reports_on(candidate: Candidate, price_book: PriceBook) -> Iterator[Audit]:
    """A candidate where its stations were tried: its supplies spread evenly, then as divided."""
    powers = candidate.mean_power, candidate.peak_power
    built = candidate.on, candidate.setting, candidate.carriers
    return _divided(*built, price_book, powers, electrics_for(candidate, price_book))


def _powers(on: LoopContext, setting: SettingContext, carriers: int) -> tuple[int, int] | None:
    """Mean and peak power in milliwatts; ``None`` if a leg of the lap cannot be run."""
    layout = LayoutContext(on, setting, carriers)
    if not (np.isfinite(layout.lap_time[0]) and np.isfinite(peak_fleet_power(layout)[0])):
        return None
    mean, peak = whole_powers(layout)
    return int(mean[0]), int(peak[0])


def _divided(
    on: LoopContext,
    setting: SettingContext,
    carriers: int,
    price_book: PriceBook,
    powers: tuple[int, int] | None,
    bought: Catalogue | None = None,
) -> Iterator[Audit]:
    """With supplies and feeds evenly spread, then as the model divides them."""
    built = configure(on, setting, carriers, price_book, powers, bought)
    yield report(built, setting, price_book.catalogue)
    fed = fed_configuration(on, setting, carriers, bought) if powers else None
    if fed is not None:
        yield report(fed, setting, price_book.catalogue)


def _longest_straight(about: OptionContext, price_book: PriceBook) -> float:
    """The longest straight of any loop of the catalogue that supplies and controllers serve, m."""
    most = (
        0.5 * max(price_book.longest, price_book.catalogue.rules.longest_loop) - about.bend_length
    )
    pieces = (price_book.electrical.most_sections - 2 * about.option.bend.sections) // 2
    return longest_straight(price_book.catalogue, most, pieces)


def configure(
    on: LoopContext,
    setting: SettingContext,
    carriers: int,
    price_book: PriceBook,
    powers: tuple[int, int] | None,
    bought: Catalogue | None = None,
) -> Configuration:
    """A configuration with the cheapest supplies for its powers (in milliwatts).

    Of electrical parts those are taken that are ``bought``, if that is said.

    Without powers, or where no set of supplies gives them, the strongest set that can be fed is
    taken, so that the checks can say what lacks.
    """
    about, electrical = on.about, price_book.electrical
    catalogue, fed_on = about.catalogue, on
    if bought is not None:
        electrical, catalogue = ElectricalCatalogue(bought), bought
        fed_on = replace(on, about=replace(about, catalogue=bought))
    sections = len(on.front) + len(on.back) + 2 * about.option.bend.sections
    idle = int(rounding.demand(sections * about.catalogue.catalogue.section_idle_power, "power"))
    sets = electrical.choice(sections)
    index = -1
    if powers is not None:
        mean, peak = (np.array([power + idle]) for power in powers)
        index = int(sets.cheapest(mean, peak)[0])
    if index < 0:
        ring = ring_of(about.option, on.loop, on.front, on.back, about.catalogue)
        most = max(sum(section.takes_feed for section in ring), 1)
        able = np.flatnonzero(sets.counts.sum(axis=1) <= most)
        index = int(able[-1]) if len(able) else 0
    largest = max(catalogue.controller, key=lambda part: (part.max_carriers, part.id))
    controller = cheapest_controller(catalogue, sections, carriers) or largest
    counts = [int(count) for count in sets.counts[index]]
    electrics = evenly_fed(fed_on, counts, sets.feeds[index], controller.id)
    return assemble(on, setting.settings, carriers, electrics)
