"""Whether an option meets a case, and at what price: all that explanations ask of the physics.

The same screening and search as for the choice itself. Checks of the option alone come first; load
cases are kept while only rate, stations, loop, life or money change, and where no price is asked
the first configuration found is enough.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.bodies import loaded_by
from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks import (
    FLEET_CHECKS,
    GEOMETRY_CHECKS,
    LAYOUT_CHECKS,
    SETTING_CHECKS,
)
from recommender.choice.checks.entry import HOLDS, Check
from recommender.choice.checks.liquid import calm
from recommender.choice.deadline import Unsettled, check_time
from recommender.choice.decision.ask import Asker, Priced
from recommender.choice.loop.layout import LayoutContext, LoopContext, placed_on
from recommender.choice.loop.takt import takt_used
from recommender.choice.parts import rounding
from recommender.choice.parts.builds import Build
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.options import Option
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents, budget_of
from recommender.choice.search.axes import axes_of
from recommender.choice.search.candidates import passes_alone, whole_powers
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import rows_of
from recommender.choice.search.waves import sampled
from recommender.explain.requirements import Situation, without_budget
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue

_KEPT: Final = 400
"""Screenings kept; each is some hundred kilobytes."""

_BODIES: Final = 6
"""Loads and limits for which load cases are kept of options that are asked about by price."""

_ABOUTS: Final = 4000
"""Options in cases that are kept."""

_SOME: Final = 7
"""Settings that are tried where something served before."""

_WITH_WAVES: Final = 6
"""Ways to build the straights that are tried where a liquid is carried."""

_NONE: Final = np.zeros(0, dtype=np.intp)

Key = tuple[Any, ...]


class Oracle:
    """Answers questions about options and cases from one catalogue, each only once.

    Parameters
    ----------
    catalogue : Catalogue
    options : sequence of Option
        Those that will be asked about: load cases are worked out for several at once.
    grid : Grid, optional
        How finely motion settings are looked at.

    Raises
    ------
    TimeUpError
        By any question, if an end by the clock was set and is there.
    """

    def __init__(
        self, catalogue: Catalogue, options: Sequence[Option] = (), grid: Grid | None = None
    ) -> None:
        self.catalogue, self.options, self.grid = catalogue, options, grid or Grid()
        self.asked_for = Unsettled.REASONS
        self.asker = Asker(catalogue, bodies=_BODIES)
        self._numbers: dict[Key, int] = {}
        self._abouts: dict[int, tuple[OptionContext, bool]] = {}
        self._screened: dict[Key, SettingContext] = {}
        self._works: dict[int | tuple[int, Cents], bool] = {}
        self._prices: dict[int, Cents | None] = {}
        self._served: dict[str, Build] = {}

    def works(self, *situations: Situation) -> bool:
        """Whether an option meets a case, in any of some situations."""
        return any(map(self._works_at, situations))

    def price(self, *situations: Situation) -> Cents | None:
        """The least price in any of some situations, to half a per cent; ``None`` if none works."""
        prices = (self._price(situation) for situation in situations)
        return min((price for price in prices if price is not None), default=None)

    def rough_price(self, *situations: Situation) -> Cents | None:
        """As `price`; a closer look may find it a per cent or two cheaper."""
        able = [each for each in situations if self._works_at(each)]
        found = (self._least(each.case, [each.option]) for each in able)
        return min((each.price for each in found if each is not None), default=None)

    def cheapest(self, *situations: Situation) -> tuple[Situation, Cents] | None:
        """Which of some options costs least, and its price, that of one that is built.

        Parameters
        ----------
        *situations : Situation
            Options with one and the same case; what it may spend is not looked at.
        """
        options = {situation.option.id: situation for situation in situations}
        found = self._least(situations[0].case, [each.option for each in situations], closely=True)
        return None if found is None else (options[found.configuration.option.id], found.price)

    def _least(
        self,
        case: Case,
        options: Sequence[Option],
        most: Cents = NEVER,
        *,
        anything: bool = False,
        closely: bool = False,
    ) -> Priced | None:
        """The cheapest of some options that is built and costs no more, whatever the budget."""
        check_time(self.asked_for)
        free = without_budget(case)
        found, _ = self.asker.cheaper(
            free, {}, most + 1, anything=anything, closely=closely, options=options
        )
        # One that the end of the time has cut short would be another price.
        check_time(self.asked_for)
        return found

    def price_within(
        self, budget: Cents, situation: Situation, *, anything: bool = False
    ) -> Cents | None:
        """The least price of an option that is built, or any, if it is within a budget."""
        option = [situation.option]
        found = self._least(situation.case, option, budget, anything=anything, closely=True)
        return None if found is None else found.price

    def passes_alone(self, situation: Situation) -> bool:
        """Whether the checks hold that look at neither motion nor loop."""
        return self._about(situation)[1]

    def _about(self, situation: Situation) -> tuple[OptionContext, bool]:
        """What is known of an option in a case, and whether the checks hold that it takes alone."""
        key = self._number(situation)
        if key not in self._abouts:
            if len(self._abouts) >= _ABOUTS:
                self._abouts.clear()
            case = self.asker.settling.settled(situation.option, situation.case)
            about = OptionContext(situation.option, case, self.catalogue)
            self._abouts[key] = about, passes_alone(about)
        return self._abouts[key]

    def _number(self, situation: Situation) -> int:
        """One number for all situations in which an option works alike, at the same price."""
        return self._numbers.setdefault(_whole(situation), len(self._numbers))

    def _works_at(self, situation: Situation) -> bool:
        key, budget = self._number(situation), budget_of(situation.case)
        if key in self._prices:
            return self._price(situation) is not None
        if key not in self._works:
            self._works[key] = self.passes_alone(situation) and self._found_any(situation)
        if budget is None or not self._works[key]:
            return self._works[key]
        # Whether anything costs no more than that is quicker to know than the price.
        if (key, budget) not in self._works:
            found = self.price_within(budget, situation, anything=True)
            self._works[key, budget] = found is not None
        return self._works[key, budget]

    def _price(self, situation: Situation) -> Cents | None:
        key, budget = self._number(situation), budget_of(situation.case)
        if key not in self._prices:
            able = self._works.get(key, True) and self.passes_alone(situation)
            found = self.cheapest(situation) if able else None
            self._prices[key] = None if found is None else found[1]
        price = self._prices[key]
        return price if price is not None and (budget is None or price <= budget) else None

    def _found_any(self, situation: Situation) -> bool:
        """Whether any setting works on any loop: the first one found is enough."""
        setting, family = self._holding(situation), situation.option.family.id
        if not len(setting.settings):
            return False
        price_book = self.asker.price_book(situation.case)
        # What served an option of the family before mostly serves again, with some setting.
        served, sloshes = self._served.get(family), situation.case.load.liquid is not None
        if served is not None:
            some = np.unique(np.linspace(0, len(setting.settings) - 1, _SOME).astype(int))
            if _serves(served, setting if sloshes else setting.take(some), price_book):
                return True
        builds = _spread(setting, price_book) if sloshes else price_book.builds()
        build = next((each for each in builds if _serves(each, setting, price_book)), None)
        if build is not None:
            self._served[family] = build
        return build is not None

    def _holding(self, situation: Situation) -> SettingContext:
        """The option's settings in which every check holds that needs no loop."""
        check_time(self.asked_for)
        setting = self._screened_for(situation)
        about, settings = setting.about, setting.settings
        # Most that fails is too slow with the quickest of everything that holds.
        if not len(settings) or takt_used(about, settings.quickest()) > HOLDS:
            return setting.take(_NONE)
        setting = setting.take(np.flatnonzero(takt_used(about, settings) <= HOLDS))
        for check in SETTING_CHECKS:
            outcome = check.evaluate(setting) if len(setting.settings) else None
            if outcome is not None:
                setting = setting.take(np.flatnonzero(outcome.utilisation() <= HOLDS))
        return setting

    def _screened_for(self, situation: Situation) -> SettingContext:
        """The option's settings in which the checks of load cases hold."""
        option, case = situation.option, situation.case
        body = loaded_by(case)
        if (option.id, body) not in self._screened:
            self._screen(option, case, body)
        return replace(self._screened[option.id, body], about=self._about(situation)[0])

    def _screen(self, option: Option, case: Case, body: Key) -> None:
        """The load cases of an option and of its family, which take hardly longer together."""
        options = {
            each.id: each
            for other in (option, *self.options)
            if other.carrier.id == option.carrier.id
            for each in [replace(other, items=option.items)]
            if (each.id, body) not in self._screened
            and (each.id == option.id or self.passes_alone(Situation(each, case)))
        }
        while len(self._screened) > _KEPT:
            del self._screened[next(iter(self._screened))]
        for context in self._contexts(list(options.values()), case):
            self._screened[context.about.option.id, body] = context

    def _contexts(self, options: Sequence[Option], case: Case) -> Iterator[SettingContext]:
        """Settings of some options in which the checks of load cases hold."""
        if case.load.liquid is not None:
            for axes in axes_of(options, case, self.catalogue):
                yield sampled(axes).setting
            return
        for context, on_axes in rows_of(options, case, self.catalogue, self.grid):
            yield context.take(np.flatnonzero(np.maximum(*on_axes) <= HOLDS))


def _whole(situation: Situation) -> Key:
    """What the price of an option depends on."""
    return situation.option.id, *case_key(situation.case)


def case_key(case: Case) -> Key:
    """What prices depend on in a case; delivery is looked at by the checks of the option."""
    rate = case.rate.items, case.rate.reserve
    asked = case.load, case.tooling, case.loop, case.station, case.limits, case.site, case.life
    return rate, asked, case.commercial.latest_delivery


def _spread(setting: SettingContext, price_book: PriceBook) -> list[Build]:
    """Some of the ways to build the straights, from the shortest that takes the stations on.

    Where waves decide each is dear, and lengths beside each other are alike.
    """
    about = setting.about
    able = [each for each in price_book.builds() if _in_reach(each, about, price_book)]
    first = next((k for k, each in enumerate(able) if placed_on(about, each)), len(able))
    some = np.linspace(first, len(able) - 1, _WITH_WAVES) if first < len(able) else _NONE
    return [able[k] for k in np.unique(some.round().astype(int))]


def _in_reach(build: Build, about: OptionContext, price_book: PriceBook) -> bool:
    """Whether a loop with its straights built in a way is no longer than it may be."""
    whole = 2.0 * (build.length + about.bend_length)
    return whole <= price_book.longest + 1e-9 and build.length <= about.longest_straight + 1e-9


def _serves(build: Build, setting: SettingContext, price_book: PriceBook) -> bool:
    """Whether some setting works on a loop with its straights built in a way."""
    about = setting.about
    return _in_reach(build, about, price_book) and any(
        len(_serving(on, setting, price_book)) > 0 for on in placed_on(about, build)
    )


def _test_of(check: Check[LayoutContext]) -> Callable[[LayoutContext], NDArray[np.bool_] | None]:
    """In which rows a check holds; ``None`` if it has nothing to look at."""

    def holding(layout: LayoutContext) -> NDArray[np.bool_] | None:
        outcome = check.evaluate(layout)
        return None if outcome is None else outcome.utilisation() <= HOLDS

    return holding


_TESTS: Final = (
    *map(_test_of, (*GEOMETRY_CHECKS, *FLEET_CHECKS)),
    # Most rows spill by the move itself, which is told sooner than what earlier moves have left.
    calm,
    *map(_test_of, LAYOUT_CHECKS),
)


def _serving(on: LoopContext, setting: SettingContext, price_book: PriceBook) -> NDArray[np.intp]:
    """Rows that work on one loop."""
    layout = LayoutContext(on, setting)
    rows = np.arange(len(setting.settings))
    for holding in _TESTS:
        held = holding(layout)
        if held is None:
            continue
        holds = np.flatnonzero(held)
        if len(holds) < len(rows):
            rows, layout = rows[holds], layout.take(holds)
        if not len(rows):
            return rows
    return rows[_supplied(layout, price_book)]


def _supplied(layout: LayoutContext, price_book: PriceBook) -> NDArray[np.bool_]:
    """Whether supplies and a controller for each row can be had."""
    electrical, sections = price_book.electrical, layout.sections
    if sections > electrical.most_sections:
        return np.zeros(len(layout.setting.settings), dtype=np.bool_)
    mean, peak = whole_powers(layout)
    idle = rounding.demand(layout.idle_power, "power")
    carriers = layout.carriers.astype(np.int64)
    fed = electrical.choice(sections).cheapest(mean + idle, peak + idle) >= 0
    return np.asarray(fed & (electrical.controller_price(sections, carriers) < NEVER))
