"""Whether an option meets a case, and at what price, on the full physics.

The same screening and search as for the choice itself, arranged so that many questions are answered
quickly: checks of the option alone come first, load cases are worked out for many options at once
and kept while only rate, stations, loop, life or money change, and where no price is asked the
first configuration found is enough, sought where one was found before.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np

from recommender.choice.builds import Build
from recommender.choice.checks import BEND_CHECKS, STRAIGHT_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.deadline import Unsettled, check_time
from recommender.choice.grid import Grid, worst
from recommender.choice.options import Option
from recommender.choice.pricing import Cents, budget_of
from recommender.choice.screen import Screened, screen
from recommender.choice.search import cheapest, passes_alone
from recommender.choice.setting import OptionContext, SettingContext
from recommender.choice.workshop import Workshop
from recommender.explain.asking import Question, Reply
from recommender.explain.first_found import first_found, setting_used
from recommender.explain.requirements import Situation
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array

_KEPT: Final = 400
"""Screenings kept; each is some hundred kilobytes."""

_REMEMBERED: Final = 4
"""Sides and settings that served before and are tried first."""

Key = tuple[Any, ...]


class Oracle:
    """Answers questions about options and cases from one catalogue, each only once.

    Parameters
    ----------
    catalogue : Catalogue
    grid : Grid, optional
        How finely motion settings are looked at; that of the choice if not given.

    Raises
    ------
    TimeUpError
        By any question, if an end by the clock was set and is there.
    """

    def __init__(self, catalogue: Catalogue, grid: Grid | None = None) -> None:
        self.catalogue = catalogue
        self.grid = grid or Grid()
        self.asked_for = Unsettled.REASONS
        self._screened: dict[Key, tuple[Screened, Array]] = {}
        self._works: dict[Key, bool] = {}
        self._prices: dict[Key, Cents | None] = {}
        self._used: dict[Key, float] = {}
        self._served: dict[str, Served] = {}
        self._shared: Workshop | None = None

    def answer(self, questions: Sequence[Question]) -> list[Reply]:
        """Replies in the order of the questions."""
        priced = [situation for each in questions if each.priced for situation in each.situations]
        self._screen_ahead(priced)
        replies = {
            number: self._priced(question)
            for number, question in enumerate(questions)
            if question.priced
        }
        # One situation of each question after the other: most work in the first.
        turn = 0
        while len(replies) < len(questions):
            open_ = [number for number in range(len(questions)) if number not in replies]
            self._screen_ahead([questions[number].situations[turn] for number in open_])
            for number in open_:
                situations = questions[number].situations
                works = self._works_at(situations[turn])
                if works or turn == len(situations) - 1:
                    replies[number] = Reply(works, used=self._used.get(_whole(situations[0])))
            turn += 1
        return [replies[number] for number in range(len(questions))]

    def works(self, situation: Situation) -> bool:
        """Whether an option meets a case."""
        return self.answer([Question((situation,))])[0].works

    def price(self, situation: Situation) -> Cents | None:
        """Price of the option's cheapest configuration, ``None`` if nothing works."""
        return self.answer([Question((situation,), priced=True)])[0].price

    def passes_alone(self, situation: Situation) -> bool:
        """Whether the checks hold that look at neither motion nor loop."""
        return passes_alone(OptionContext(situation.option, situation.case, self.catalogue))

    def _priced(self, question: Question) -> Reply:
        prices = [self._price(situation) for situation in question.situations]
        known = [price for price in prices if price is not None]
        return Reply(bool(known), min(known, default=None))

    def _screen_ahead(self, situations: Sequence[Situation]) -> None:
        """Load cases for all options of one body at once."""
        groups: dict[Key, dict[str, Option]] = {}
        cases: dict[Key, Case] = {}
        for situation in situations:
            body, whole = body_of(situation.case), _whole(situation)
            known = (situation.option.id, body) in self._screened
            known = known or whole in self._prices or whole in self._works
            if not known and self.passes_alone(situation):
                groups.setdefault(body, {})[situation.option.id] = situation.option
                cases[body] = situation.case
        for body, options in groups.items():
            self._screen(list(options.values()), cases[body], body)

    def _screen(self, options: Sequence[Option], case: Case, body: Key) -> None:
        check_time(self.asked_for)
        while len(self._screened) > _KEPT:
            del self._screened[next(iter(self._screened))]
        on_axes: dict[int, tuple[Array, Array]] = {}
        for entry in screen(options, case, self.catalogue, self.grid):
            straight, bend = entry.context.straight, entry.context.bend
            shared = id(straight.loads)
            if shared not in on_axes:
                on_axes[shared] = (
                    worst(STRAIGHT_CHECKS, straight.loads),
                    worst(BEND_CHECKS, bend.loads),
                )
            used = np.maximum(straight.rows(on_axes[shared][0]), bend.rows(on_axes[shared][1]))
            self._screened[entry.context.about.option.id, body] = entry, used

    def _entry(self, situation: Situation) -> tuple[SettingContext, Array]:
        """The option's settings under a case, and what the checks of load cases say to them."""
        key = situation.option.id, body_of(situation.case)
        if key not in self._screened:
            self._screen([situation.option], situation.case, key[1])
        entry, used = self._screened[key]
        about = OptionContext(situation.option, situation.case, self.catalogue)
        return replace(entry.context, about=about), used

    def _settings(self, situation: Situation) -> Screened:
        """The option's settings with what every check without a loop says to them."""
        context, used = self._entry(situation)
        used = np.maximum(used, setting_used(context))
        self._used[_whole(situation)] = float(used.min())
        return Screened(context, used, np.maximum(used - 1.0, 0.0))

    def _works_at(self, situation: Situation) -> bool:
        key = _whole(situation)
        if key in self._prices:
            price = self._prices[key]
            return price is not None and _affordable(price, situation.case)
        if situation.case.commercial.budget is not None:
            price = self._price(situation)
            return price is not None
        if key not in self._works:
            self._works[key] = self.passes_alone(situation) and self._found_any(situation)
        return self._works[key]

    def _found_any(self, situation: Situation) -> bool:
        check_time(self.asked_for)
        workshop = self._workshop(situation.case, self._longest(situation.case))
        served = self._served.setdefault(situation.option.family.id, Served())
        if self._serves_again(situation, workshop, served):
            return True
        settings = self._settings(situation)
        holding = settings.holding
        if len(holding) == 0:
            return False
        context = settings.context.take(holding)
        for build in dict.fromkeys((*served.builds, *workshop.builds())):
            row = first_found(context, workshop, build)
            if row >= 0:
                served.note(build, row / len(holding))
                return True
        return False

    def _serves_again(self, situation: Situation, workshop: Workshop, served: "Served") -> bool:
        """Whether something like what served the option before serves it again."""
        context, used = self._entry(situation)
        holding = np.flatnonzero(used <= HOLDS)
        if not served.builds or len(holding) == 0:
            return False
        rows = np.unique([int(share * (len(holding) - 1)) for share in served.shares])
        some = context.take(holding[rows])
        some = some.take(np.flatnonzero(setting_used(some) <= HOLDS))
        if len(some.settings) == 0:
            return False
        for build in served.builds:
            if first_found(some, workshop, build) >= 0:
                served.note(build)
                return True
        return False

    def _price(self, situation: Situation) -> Cents | None:
        key = _whole(situation)
        if key not in self._prices:
            self._prices[key] = self._search(situation) if self.passes_alone(situation) else None
        price = self._prices[key]
        return price if price is not None and _affordable(price, situation.case) else None

    def _search(self, situation: Situation) -> Cents | None:
        if self._works.get(_whole(situation)) is False:
            return None
        check_time(self.asked_for)
        found = cheapest(
            self._settings(situation),
            self._workshop(situation.case, self._longest(situation.case)),
        )
        return found[0].price if found else None

    def _longest(self, case: Case) -> float:
        return case.loop.max_length or self.catalogue.rules.longest_loop

    def _workshop(self, case: Case, longest: float) -> Workshop:
        """A workshop for a case and a longest loop; what depends on neither is shared."""
        if self._shared is None or self._shared.longest < longest:
            most = max(longest, self.catalogue.rules.longest_loop)
            self._shared = Workshop(case, self.catalogue, most)
            self._shared.builds()
        return replace(self._shared, case=case, longest=longest)


class Served:
    """What served options of one family before, the last first.

    Sides, and settings by their share of the way from the slowest to the fastest.
    """

    def __init__(self) -> None:
        self.builds: list[Build] = []
        self.shares: list[float] = [0.0, 0.5, 1.0]

    def note(self, build: Build, share: float | None = None) -> None:
        """Remember a side, and where among the settings one was found."""
        if build in self.builds:
            self.builds.remove(build)
        self.builds.insert(0, build)
        del self.builds[_REMEMBERED:]
        if share is not None and share not in self.shares:
            self.shares.insert(3, share)
            del self.shares[3 + _REMEMBERED :]


def body_of(case: Case) -> Key:
    """What the load cases of a case depend on."""
    forces = tuple((station.name, station.force) for station in case.station)
    return case.load, case.tooling, case.loop.plane, forces, case.limits


def _whole(situation: Situation) -> Key:
    """What the price depends on; delivery is looked at by the checks of the option."""
    case = situation.case
    return (
        situation.option.id,
        case.load,
        case.tooling,
        (case.rate.items, case.rate.reserve),
        case.loop,
        case.station,
        case.limits,
        case.site,
        case.life,
        case.commercial.latest_delivery,
    )


def _affordable(price: Cents, case: Case) -> bool:
    budget = budget_of(case)
    return budget is None or price <= budget
