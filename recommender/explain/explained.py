"""Everything that is explained about a decision."""

import contextlib
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Final, TypeAlias

from recommender.choice.checks.findings import Finding
from recommender.choice.deadline import TimeUpError, Unsettled, late
from recommender.choice.decision.decision import Decision
from recommender.choice.decision.option_report import OptionReport
from recommender.choice.parts.pricing import Cents, cents
from recommender.explain.concessions import MOST_WAYS
from recommender.explain.contributions import Breakdown, breakdown
from recommender.explain.edges import Relaxed
from recommender.explain.headroom import Headroom, TurningPoint, headroom, turning_points
from recommender.explain.offered import Offers
from recommender.explain.oracle import Oracle
from recommender.explain.reasons import (
    Explanation,
    Failing,
    Impasse,
    explain,
    find_impasse,
    priced,
    worth_explaining,
)
from recommender.explain.requirements import Requirement, Situation
from recommender.explain.scene import Scene
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
                built = (self.oracle.built_price(*alike) for alike in by_case.values())
                known += [price for price in built if price is not None]
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


def _unmet(decision: Decision, case: Case) -> Failing:
    """Options that are known to fail, for a reason that questions can find.

    Of what is not decided nobody knows why it should fail, and the voltage along the bus is looked
    at in what is built alone: questions do not see it, and would promise what is not so.
    """
    failing: dict[str, tuple[Situation, tuple[Finding, ...]]] = {}
    for entry in decision.looked:
        failures = entry.audit.failures if entry.audit else []
        thin_bus = bool(failures) and all(each.check == "supply.voltage" for each in failures)
        if entry.decided and not (entry.feasible or thin_bus):
            findings = tuple(entry.audit.findings) if entry.audit else ()
            failing[entry.option.id] = Situation(entry.option, case), findings
    return failing


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
    requirements, failing = list_requirements(case, catalogue), _unmet(decision, case)
    scenes, chosen = _scenes(decision, case, catalogue), decision.chosen
    oracle = Oracle(catalogue, [situation.option for situation, _ in failing.values()])
    progress = progress or (lambda what, done, of: None)
    tell = partial(progress, "explaining options")
    offers_alone = offers_alone and chosen is not None
    with trusted():
        if offers_alone:
            explanations = _offers(failing, Offers(requirements, oracle), tell)
        else:
            if about is not None and chosen is not None:
                wanted = set(about)
                with contextlib.suppress(TimeUpError):
                    wanted |= set(worth_explaining(failing, requirements, oracle))
                failing = {id_: entry for id_, entry in failing.items() if id_ in wanted}
            explanations = _explanations(failing, case, requirements, oracle, tell)
        if chosen is None:
            impasse = _impasse(explanations, failing, requirements, oracle)
            return Explained(requirements, explanations, scenes, impasse=impasse)
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
    asked_later = oracle if offers_alone else None
    return Explained(requirements, explanations, scenes, room, points, oracle=asked_later)


def _explanations(
    failing: Failing,
    case: Case,
    requirements: Sequence[Requirement],
    oracle: Oracle,
    tell: Callable[[int, int], None],
) -> dict[str, Explanation]:
    """Why options fail, by their ids; of the first ones if the time is up before all are known."""
    explanations: dict[str, Explanation] = {}
    # Options that share a carrier fail alike, on other bends.
    alike: dict[tuple[str, int], Explanation] = {}
    for id_, (situation, findings) in failing.items():
        kin = situation.option.carrier.id, situation.option.items
        try:
            alike[kin] = explain(situation, requirements, oracle, findings, alike.get(kin))
            explanations[id_] = priced(alike[kin], case, oracle)
        except TimeUpError:
            break
        tell(len(explanations), len(failing))
    return explanations


def _offers(
    failing: Failing, offers: Offers, tell: Callable[[int, int], None]
) -> dict[str, Explanation]:
    """What is offered of options, by their ids; of the first ones if the time is up before."""
    explanations: dict[str, Explanation] = {}
    with contextlib.suppress(TimeUpError):
        for done, (id_, (situation, findings)) in enumerate(failing.items(), start=1):
            found = offers.of(situation, findings)
            if found is not None:
                explanations[id_] = found
            tell(done, len(failing))
    return explanations


def _impasse(
    explanations: dict[str, Explanation],
    failing: Failing,
    requirements: Sequence[Requirement],
    oracle: Oracle,
) -> Impasse | None:
    """What clashes in all options, which is known only once every one of them is explained."""
    oracle.asked_for = Unsettled.IMPASSE
    if not failing or (len(explanations) < len(failing) and late(Unsettled.IMPASSE)):
        return None
    with contextlib.suppress(TimeUpError):
        return find_impasse(explanations, failing, requirements, oracle)
    return None
