"""Everything that is explained about a decision."""

import contextlib
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Final, TypeAlias

from recommender.choice.checks.findings import Finding
from recommender.choice.deadline import TimeUpError, Unsettled
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.pricing import Cents, budget_of, cents
from recommender.explain.concessions import MOST_WAYS
from recommender.explain.contributions import Breakdown, breakdown
from recommender.explain.edges import Relaxed
from recommender.explain.headroom import Headroom, TurningPoint, headroom, turning_points
from recommender.explain.impasse import Impasse, find_impasse
from recommender.explain.offered import Offers
from recommender.explain.oracle import Oracle
from recommender.explain.reasons import (
    Explanation,
    Failing,
    explain,
    priced,
    worth_explaining,
)
from recommender.explain.requirements import Requirement, Situation, without_budget
from recommender.explain.scene import Scene
from recommender.explain.shortfall import enough_money, find_shortfall, too_dear, within_budget
from recommender.explain.table import list_requirements
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.arguments import trusted

Progress: TypeAlias = Callable[[str, int, int], None]
"""Called with what is done, how much of it is, and how much there is to do."""

_MOST_BREAKDOWNS: Final = 3


@dataclass(frozen=True)
class Explained:
    """Why each option is not the choice, and how firmly the choice stands.

    Attributes
    ----------
    requirements : tuple of Requirement
    failing : dict
        Explanations by the ids of options that fail, as far as they were asked for.
    scenes : dict
        Configurations by the ids of options that have one.
    headroom : list of Headroom
        That of the recommended configuration.
    turning_points : list of TurningPoint
        Where the recommendation changes, if that was asked for.
    impasse : Impasse or None
        What keeps every option from the case, if none meets it.
    in_brief : bool
        Whether only the checks were looked at, and nothing was asked beyond them.
    oracle : Oracle or None
        What prices are asked of that are not known yet.
    """

    requirements: tuple[Requirement, ...]
    failing: dict[str, Explanation]
    scenes: dict[str, Scene]
    headroom: list[Headroom] = field(default_factory=list)
    turning_points: list[TurningPoint] = field(default_factory=list)
    impasse: Impasse | None = None
    in_brief: bool = False
    oracle: Oracle | None = None

    def ask_prices(self, looked: OptionReport, case: Case, ways: int = MOST_WAYS) -> None:
        """See to it that the prices of the first offers of an option are known, if time allows."""
        found = self.failing.get(looked.option.id)
        if self.oracle is not None and found is not None:
            with trusted(), contextlib.suppress(TimeUpError):
                self.failing[looked.option.id] = priced(found, case, self.oracle, ways)

    def least_price(self, ways: Sequence[Relaxed]) -> Cents | None:
        """The least that some offers cost, each of another option, as far as time allows."""
        known = [way.price for way in ways if way.price is not None]
        if self.oracle is not None:
            by_case: dict[Case, list[Situation]] = {}
            for way in ways:
                by_case.setdefault(way.works.case, []).append(way.works)
            with trusted(), contextlib.suppress(TimeUpError):
                found = (self.oracle.cheapest(*alike) for alike in by_case.values())
                known += [one[1] for one in found if one is not None]
        return min(known, default=None)

    def breakdowns(self, looked: OptionReport) -> list[tuple[str, Breakdown]]:
        """What the worst checks of an option are made of, by the check's id.

        Those that fail, or the ones that are used most.
        """
        scene = self.scenes.get(looked.option.id)
        if self.in_brief or scene is None or looked.audit is None:
            return []
        findings = looked.audit.failures if not looked.feasible else looked.audit.findings
        worst = sorted(findings, key=lambda finding: -finding.utilisation)
        told: dict[str, tuple[str, Breakdown]] = {}
        for finding in worst:
            apart = breakdown(scene, finding)
            if apart is not None:
                told.setdefault(apart.title, (finding.check, apart))
            if len(told) == _MOST_BREAKDOWNS:
                break
        return list(told.values())


def explain_in_brief(decision: Decision, case: Case, catalogue: Catalogue) -> Explained:
    """What the checks of a decision say by themselves, which takes no further calculation."""
    return Explained((), {}, _scenes(decision, case, catalogue), in_brief=True)


def _scenes(decision: Decision, case: Case, catalogue: Catalogue) -> dict[str, Scene]:
    return {
        entry.option.id: Scene(entry.audit.configuration, case, catalogue)
        for entry in decision.looked
        if entry.audit is not None
    }


def _unmet(
    looked: Iterable[OptionReport], case: Case, about: Collection[str] | None = ()
) -> Failing:
    """Options that fail, for a reason that questions can find, and the situations in which they do.

    The budget is left out of those that are not named: what is dear beside all else that fails is
    no reason, and whether what would help is within the budget is asked at the end. The
    voltage along the bus is looked at in what is built alone: questions do not see it, and would
    promise what is not so.
    """
    failing: dict[str, tuple[Situation, tuple[Finding, ...]]] = {}
    free, named = without_budget(case), about or ()
    for entry in looked:
        asked = entry.option.id in named
        failures = entry.audit.failures if entry.audit else []
        thin_bus = bool(failures) and all(each.check == "supply.voltage" for each in failures)
        if entry.feasible or thin_bus or (entry.lacks_money(case) and not asked):
            continue
        findings = tuple(entry.audit.findings) if entry.audit else ()
        situation = Situation(entry.option, case if asked else free)
        failing[entry.option.id] = situation, findings
    return failing


def _dear(decision: Decision, case: Case) -> dict[str, tuple[Situation, Cents]]:
    """Options that were built and work but for the budget, and their prices."""
    short = ((entry.option, entry.lacks_money(case)) for entry in decision.looked)
    return {
        option.id: (Situation(option, case), lacks.price)
        for option, lacks in short
        if lacks is not None and lacks.built
    }


def explain_decision(
    decision: Decision,
    case: Case,
    catalogue: Catalogue,
    *,
    about: Collection[str] | None = None,
    turning: bool = False,
    offers_alone: bool = False,
    most_headroom: int | None = None,
    progress: Progress | None = None,
) -> Explained:
    """Explain the options of a decision.

    An option that no offer would make work, as `worth_explaining` has it, is told by its checks
    alone; unless nothing works, when it is part of the reason why.

    Parameters
    ----------
    decision : Decision
    case : Case
    catalogue : Catalogue
    about : collection of str, optional
        Ids of options that are explained whatever would help them; all of them unless given.
    turning : bool
        Whether to look for the values at which another option would be recommended.
    offers_alone : bool
        Whether of every option that fails only what would be offered is looked for, and its price
        once it is told; unless nothing works, when all is part of the reason.
    most_headroom : int, optional
        Of how many numbers it is to be known how far they hold, the tightest ones; of all unless
        given.
    progress : callable, optional

    Returns
    -------
    Explained
    """
    requirements = list_requirements(case, catalogue)
    failing = _unmet((entry for entry in decision.looked if entry.decided), case, about)
    dear = _dear(decision, case)
    scenes, chosen = _scenes(decision, case, catalogue), decision.chosen
    oracle = Oracle(catalogue, [situation.option for situation, _ in failing.values()])
    progress = progress or (lambda what, done, of: None)
    tell = partial(progress, "explaining options")
    one_by_one = _Explainer(failing, case, requirements, oracle, tell)
    with trusted():
        impasse = None
        if chosen is None and dear:
            impasse = _shortfall(dear, requirements, case, oracle)
        elif chosen is None:
            # Of those nobody knows why they should fail, only that nothing of them was found.
            open_ones = [e for e in decision.looked if not (e.decided or e.cut_off)]
            impasse = one_by_one.impasse(_unmet(open_ones, case))
        if offers_alone:
            one_by_one.add_offers()
        elif about is None or chosen is None:
            one_by_one.explain(failing)
        else:
            wanted = set(about)
            with contextlib.suppress(TimeUpError):
                wanted |= set(worth_explaining(failing, requirements, oracle))
            one_by_one.explain([id_ for id_ in failing if id_ in wanted])
        explanations, asked_later = one_by_one.explanations, oracle if offers_alone else None
        for id_, (situation, price) in dear.items():
            explanations.setdefault(id_, too_dear(situation, requirements, price))
        if chosen is None:
            return Explained(
                requirements, explanations, scenes, impasse=impasse, oracle=asked_later
            )
        points = []
        if turning:
            prices = {
                entry.option: cents(entry.audit.price)
                for entry in decision.looked
                if entry.feasible and entry.audit is not None
            }
            tell = partial(progress, "looking for turning points")
            asked = Situation(chosen.configuration.option, case)
            points = turning_points(prices, asked, requirements, oracle, tell)
        scene = scenes[chosen.configuration.option.id]
        room = headroom(chosen, requirements, scene, most_headroom)
    return Explained(requirements, explanations, scenes, room, points, oracle=asked_later)


def _shortfall(
    dear: Mapping[str, tuple[Situation, Cents]],
    requirements: Sequence[Requirement],
    case: Case,
    oracle: Oracle,
) -> Impasse:
    """What clashes with the budget; if the time is up before, what would be enough."""
    budget, known = budget_of(case), list(dear.values())
    assert budget is not None
    with contextlib.suppress(TimeUpError):
        return find_shortfall(known, requirements, oracle.asker, budget)
    return Impasse((), False, (enough_money(known, requirements),))


class _Explainer:
    """Explains options one after the other, each once; ``explanations`` holds them by their ids.

    What the end of the time cuts off is left out.
    """

    def __init__(
        self,
        failing: Failing,
        case: Case,
        requirements: Sequence[Requirement],
        oracle: Oracle,
        tell: Callable[[int, int], None],
    ) -> None:
        self.failing, self.case = failing, case
        self.requirements, self.oracle, self.tell = requirements, oracle, tell
        self.explanations: dict[str, Explanation] = {}
        # Options that share a carrier fail alike, on other bends.
        self._alike: dict[tuple[str, int], Explanation] = {}

    def of(self, id_: str, among: Failing | None = None) -> Explanation:
        """Why an option fails, without prices unless they are known."""
        if id_ not in self.explanations:
            among = self.failing if among is None else among
            situation, findings = among[id_]
            kin = situation.option.carrier.id, situation.option.items
            like = self._alike.get(kin)
            found = explain(situation, self.requirements, self.oracle, findings, like)
            self._alike[kin] = found
            self.explanations[id_] = self._within_budget(found, situation)
            self.tell(len(self.explanations), len(among))
        return self.explanations[id_]

    def _within_budget(self, found: Explanation, situation: Situation) -> Explanation:
        """An explanation whose ways are within the budget, which was left out of the questions."""
        if situation.case.commercial == self.case.commercial:
            return found
        return within_budget(found, self.case, self.oracle)

    def explain(self, ids: Iterable[str]) -> None:
        """Explain some options, with prices; of the others nothing is known then."""
        known: dict[str, Explanation] = {}
        with contextlib.suppress(TimeUpError):
            for id_ in ids:
                known[id_] = priced(self.of(id_), self.case, self.oracle)
        self.explanations = known

    def add_offers(self) -> None:
        """Find what is offered of the options that are not explained."""
        offers, found = Offers(self.requirements, self.oracle), dict(self.explanations)
        with contextlib.suppress(TimeUpError):
            for done, (id_, (situation, findings)) in enumerate(self.failing.items(), start=1):
                if id_ not in found and (offered := offers.of(situation, findings)) is not None:
                    self.explanations[id_] = self._within_budget(offered, situation)
                self.tell(done, len(self.failing))

    def impasse(self, undecided: Failing) -> Impasse | None:
        """What clashes in all options, where none works; ``None`` if the time is up before.

        Of options that are ``undecided`` what nothing was found of, nor is now.
        """
        self.oracle.asked_for = Unsettled.IMPASSE
        found = None
        with contextlib.suppress(TimeUpError):
            open_ = {i: entry for i, entry in undecided.items() if not self.oracle.works(entry[0])}
            every = {**self.failing, **open_}
            if every:
                explained = partial(self.of, among=every)
                found = find_impasse(every, explained, self.requirements, self.oracle)
        self.oracle.asked_for = Unsettled.REASONS
        # What is said of those that are not decided is that they are not.
        self.explanations = {i: why for i, why in self.explanations.items() if i in self.failing}
        return found
