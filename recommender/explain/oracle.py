"""Whether an option meets a case, and at what price: all that explanations ask of the physics.

The same screening and search as for the choice itself. Checks of the option alone come first; load
cases are kept while only rate, stations, loop, life or money change, and where no price is asked
the first configuration found is enough.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks.entry import HOLDS
from recommender.choice.deadline import Unsettled, check_time
from recommender.choice.decision.decide import PROOF
from recommender.choice.decision.options_search import OptionsSearch
from recommender.choice.parts.builds import Build
from recommender.choice.parts.options import Option
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents, budget_of
from recommender.choice.search.candidates import cheapest, passes_alone
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import Screened, rows_of
from recommender.explain.first_found import first_found, setting_used, takt_used
from recommender.explain.requirements import Situation
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

_KEPT: Final = 400
"""Screenings kept; each is some hundred kilobytes."""

_SOME: Final = 7
"""Settings that are tried where something served before."""

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
        self._screened: dict[Key, tuple[SettingContext, Array]] = {}
        self._works: dict[Key, bool] = {}
        self._prices: dict[Key, Cents | None] = {}
        self._served: dict[str, Build] = {}
        self._shared: PriceBook | None = None

    def works(self, *situations: Situation) -> bool:
        """Whether an option meets a case, in any of some situations."""
        return any(map(self._works_at, situations))

    def price(self, *situations: Situation) -> Cents | None:
        """Price of the cheapest configuration found, ``None`` if nothing works."""
        prices = (self._price(situation) for situation in situations)
        return min((price for price in prices if price is not None), default=None)

    def built_price(self, situation: Situation) -> Cents | None:
        """The price of a configuration that is built; a closer look may find it cheaper."""
        check_time(self.asked_for)
        found = OptionsSearch(self._price_book(situation.case), PROOF)
        found.explore([situation.option])
        found.build()
        # One that the end of the time has cut short would be another price.
        check_time(self.asked_for)
        return found.best.price if found.best else None

    def passes_alone(self, situation: Situation) -> bool:
        """Whether the checks hold that look at neither motion nor loop."""
        return passes_alone(OptionContext(situation.option, situation.case, self.catalogue))

    def _works_at(self, situation: Situation) -> bool:
        key, budget = _whole(situation), budget_of(situation.case)
        if key not in self._prices:
            if key not in self._works:
                self._works[key] = self.passes_alone(situation) and self._found_any(situation)
            if budget is None or not self._works[key]:
                return self._works[key]
            if (key, budget) not in self._works:
                self._works[key, budget] = self._search(situation, budget) is not None
            return self._works[key, budget]
        return self._price(situation) is not None

    def _price(self, situation: Situation) -> Cents | None:
        key, budget = _whole(situation), budget_of(situation.case)
        if key not in self._prices:
            able = self._works.get(key, True) and self.passes_alone(situation)
            self._prices[key] = self._search(situation) if able else None
        price = self._prices[key]
        return price if price is not None and (budget is None or price <= budget) else None

    def _search(self, situation: Situation, at_most: Cents | None = None) -> Cents | None:
        """The price of the cheapest configuration, as far as it costs at most so much."""
        check_time(self.asked_for)
        context, used = self._screened_for(situation)
        used = np.maximum(used, setting_used(context))
        screened = Screened(context, used, np.maximum(used - 1.0, 0.0))
        found = cheapest(screened, self._price_book(situation.case), at_most)
        return found[0].price if found else None

    def _found_any(self, situation: Situation) -> bool:
        check_time(self.asked_for)
        context, used = self._screened_for(situation)
        holding = context.take(np.flatnonzero(used <= HOLDS))
        # Most that fails is too slow with the quickest of everything that holds.
        if (
            not len(holding.settings)
            or takt_used(holding.about, holding.settings.quickest()) > HOLDS
        ):
            return False
        price_book, family = self._price_book(situation.case), situation.option.family.id
        # What served an option of the family before mostly serves again, with some setting.
        some = np.unique(np.linspace(0, len(holding.settings) - 1, _SOME).astype(int))
        served = self._served.get(family)
        if served is not None and first_found(holding.take(some), price_book, [served]):
            return True
        build = first_found(holding, price_book, price_book.builds())
        if build is not None:
            self._served[family] = build
        return build is not None

    def _screened_for(self, situation: Situation) -> tuple[SettingContext, Array]:
        """The option's settings, and what the checks of load cases say to them."""
        option, case = situation.option, situation.case
        body = _body(case)
        if (option.id, body) not in self._screened:
            self._screen(option, case, body)
        context, used = self._screened[option.id, body]
        return replace(context, about=OptionContext(option, case, self.catalogue)), used

    def _screen(self, option: Option, case: Case, body: Key) -> None:
        """The load cases of an option and of those with its carrier."""
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
        for context, on_axes in rows_of(list(options.values()), case, self.catalogue, self.grid):
            self._screened[context.about.option.id, body] = context, np.maximum(*on_axes)

    def _price_book(self, case: Case) -> PriceBook:
        """What all options of a case share; what does not depend on the case is kept."""
        longest = case.loop.max_length or self.catalogue.rules.longest_loop
        if self._shared is None or self._shared.longest < longest:
            self._shared = PriceBook(
                case, self.catalogue, max(longest, self.catalogue.rules.longest_loop)
            )
        return replace(self._shared, case=case, longest=longest)


def _body(case: Case) -> Key:
    """What the load cases of a case depend on."""
    forces = tuple((station.name, station.force) for station in case.station)
    return case.load, case.tooling, case.loop.plane, forces, case.limits


def _whole(situation: Situation) -> Key:
    """What the price depends on; delivery is looked at by the checks of the option."""
    case = situation.case
    rate = case.rate.items, case.rate.reserve
    asked = case.load, case.tooling, case.loop, case.station, case.limits, case.site, case.life
    return situation.option.id, rate, asked, case.commercial.latest_delivery
