"""How much more could be asked before the recommended configuration fails, or another option wins.

Each number of the case is tightened alone. The configuration itself keeps its carriers, loop and
supplies and may move as hard as they allow; it is audited again, every check and the exact takt,
with the gentlest of some motions that holds. For the recommendation every option that
might then be cheaper is searched anew. Both edges are found as those of concessions are, on the way
from a value that is far too much to the one that is asked.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from recommender.choice.assemble import assemble
from recommender.choice.audit import Audit, report
from recommender.choice.boxes.gentlest import Fixed, Harder, holding_rows
from recommender.choice.checks import OPTION_CHECKS
from recommender.choice.deadline import TimeUpError, Unsettled, check_time
from recommender.choice.findings import Finding
from recommender.choice.options import Option
from recommender.choice.pricing import Cents
from recommender.choice.setting import SettingContext
from recommender.explain.asking import Asking, Question, Reply, ask_together
from recommender.explain.edge_search import NumberEdge, find_edge
from recommender.explain.oracle import Key, Oracle, body_of
from recommender.explain.requirements import Number, Requirement, Situation
from recommender.explain.scale import Concession, Scale
from recommender.explain.scene import Scene
from recommender.inputs.case import Case

_FAR: Final = 10.0
"""How many times as much is far too much."""

_MOST_RELIABLE: Final = 99.95

_WHATEVER_THE_MOTION: Final = frozenset(check.about.id for check in OPTION_CHECKS)

_ASIDE: Final = 0.003
"""How far beside an expected edge is looked, as a share of the value."""


@dataclass(frozen=True)
class Headroom:
    """How far one number of the case can be tightened.

    ``to`` is the last value that holds, ``None`` if ten times as much does too; ``stopped_by`` the
    worst check a step further, ``factor`` what it is of what is asked.
    """

    key: str
    start: str
    to: str | None
    stopped_by: Finding | None
    factor: float | None = None


@dataclass(frozen=True)
class TurningPoint:
    """How far one number can be tightened before the recommendation changes.

    ``to`` is the last value at which it stands, ``None`` if it does at ten times as much;
    ``option`` is recommended a step further, ``None`` if nothing works there.
    """

    key: str
    to: str | None
    option: str | None


def headroom(chosen: Audit, requirements: Sequence[Requirement], scene: Scene) -> list[Headroom]:
    """How far each number can be tightened before a configuration fails.

    Parameters
    ----------
    chosen : Audit
    requirements : sequence of Requirement
        Those of the case.
    scene : Scene
        The configuration with its case.

    Returns
    -------
    list of Headroom
        Of the first ones, if the time is up before all are found.
    """
    auditor = _Auditor(scene, chosen)
    situation = Situation(scene.configuration.option, scene.case)
    found: list[Headroom] = []
    for number in _tightened(requirements):
        try:
            found.append(_room(number, situation, auditor))
        except TimeUpError:
            break
    return found


def _room(number: Number, situation: Situation, auditor: "_Auditor") -> Headroom:
    asking = {number.key: _last(number, situation, auditor.expected(number))}
    told = ask_together(asking, _Watch(auditor).answer)
    if number.key not in told:
        raise TimeUpError
    edge, scale = told[number.key], Scale(number)
    if edge is None:
        return Headroom(number.key, number.write(number.lax), None, None)
    failures = auditor.audit(scale.change(edge.fails)(situation).case).failures
    return Headroom(
        key=number.key,
        start=number.write(number.lax),
        to=number.write(scale.si(edge.works)),
        stopped_by=failures[0] if failures else None,
        factor=edge.works / scale.lax if scale.lax else None,
    )


def turning_points(
    prices: dict[Option, Cents],
    chosen: Option,
    case: Case,
    requirements: Sequence[Requirement],
    oracle: Oracle,
    progress: Callable[[int, int], None] | None = None,
) -> list[TurningPoint]:
    """How far each number can be tightened before another option is recommended.

    Parameters
    ----------
    prices : dict
        Prices of all options that work.
    chosen : Option
        The one that is recommended.
    case : Case
    requirements : sequence of Requirement
        Those of the case.
    oracle : Oracle
    progress : callable, optional
        Called with the numbers done and their count.

    Returns
    -------
    list of TurningPoint
        Empty if the option works only with places that are not among those tried first; of the
        first numbers, if the time is up before all are found.
    """
    oracle.asked_for = Unsettled.TURNING
    points: list[TurningPoint] = []
    try:
        if oracle.price(Situation(chosen, case)) is None:
            # Only the seating model has found it, which is not asked for other cases.
            return []
        contest = _Contest(prices, chosen, oracle)
        numbers = list(_tightened(requirements))
        for done, number in enumerate(numbers):
            if progress is not None:
                progress(done, len(numbers))
            points.append(_turning_point(number, Situation(chosen, case), contest))
    except TimeUpError:
        pass
    return points


def _turning_point(number: Number, situation: Situation, contest: "_Contest") -> TurningPoint:
    told = ask_together({0: _last(number, situation)}, contest.answer)
    if not told:
        raise TimeUpError
    edge, scale = told[0], Scale(number)
    if edge is None:
        return TurningPoint(number.key, None, None)
    winner = contest.winner(scale.change(edge.fails)(situation).case)
    to = number.write(scale.si(edge.works))
    return TurningPoint(number.key, to, winner.id if winner else None)


def _tightened(requirements: Sequence[Requirement]) -> Iterator[Number]:
    """Each number on the way from far too much to what is asked."""
    for requirement in requirements:
        for move in requirement.moves:
            if isinstance(move, Number):
                yield replace(move, start=_too_much(move), lax=move.start, by_price=False)


def _too_much(number: Number) -> float:
    if number.key == "life.reliability":
        return _MOST_RELIABLE
    tighter_upwards = abs(number.lax) < abs(number.start)
    return number.start * _FAR if tighter_upwards else number.start / _FAR


def _last(
    number: Number, situation: Situation, guess: Concession | None = None
) -> Asking[NumberEdge | None]:
    """The edge towards too much, ``None`` if even that is met."""
    reply = yield Question((number.at(number.start)(situation),))
    if reply.works:
        return None
    return (yield from find_edge(number, situation, lambda _: True, known=True, guess=guess))


class _Auditor:
    """Audits one configuration under other cases."""

    def __init__(self, scene: Scene, known: Audit) -> None:
        self.scene = scene
        self._bodies = {body_of(scene.case): scene.layout.setting}
        self._motions = Harder.of(scene.about, scene.configuration.motion)
        self._harder: dict[Key, SettingContext] = {}
        self._audits: dict[Case, Audit] = {scene.case: known}

    def audit(self, case: Case) -> Audit:
        """All findings under a case; load cases are kept while the loaded carrier is the same."""
        if case not in self._audits:
            check_time(Unsettled.HEADROOM)
            scene = replace(self.scene, case=case)
            body = body_of(case)
            if body not in self._bodies:
                self._bodies[body] = scene.layout.setting
            setting: SettingContext = replace(self._bodies[body], about=scene.about)
            found = report(scene.configuration, setting, scene.catalogue)
            self._audits[case] = self._moved_harder(scene, body, found) if found.failures else found
        return self._audits[case]

    def _moved_harder(self, scene: Scene, body: Key, failing: Audit) -> Audit:
        """The audit with the gentlest of the harder motions that holds, if any does."""
        if any(finding.check in _WHATEVER_THE_MOTION for finding in failing.failures):
            return failing
        if body not in self._harder:
            self._harder[body] = self._motions.under(scene.about)
        setting = replace(self._harder[body], about=scene.about)
        configuration = scene.configuration
        fixed = Fixed.of(scene.layout.on, configuration, scene.catalogue)
        for row in holding_rows(fixed, setting)[:1]:
            moved = setting.take(np.array([row]))
            again = assemble(
                fixed.on, moved.settings, configuration.carriers, configuration.electrics
            )
            found = report(again, moved, scene.catalogue)
            if not found.failures:
                return found
        return failing

    def expected(self, number: Number) -> Concession | None:
        """Both sides of where the first check is expected to fail on the way to too much.

        In proportion where more is used for a larger number, inversely where it is a limit itself.
        """
        there = {
            entry.check: entry.utilisation
            for entry in self.audit(number.put(self.scene.case, number.start)).findings
        }
        edges = [
            _crossing(number, entry.utilisation, there.get(entry.check, 0.0))
            for entry in self.audit(self.scene.case).findings
        ]
        known = [edge for edge in edges if edge is not None]
        if not known:
            return None
        first = min(known, key=lambda edge: abs(edge - number.lax))
        further = first * math.exp(math.copysign(_ASIDE, abs(number.start) - abs(first)))
        nearer = first * first / further
        return Concession(number.key, "", "", number.start, nearer, further)


def _crossing(number: Number, here: float, there: float) -> float | None:
    """Value at which a check reaches its limit, from what is used of it at both ends of the way."""
    if not (0.0 < here <= 1.0 < there < math.inf):
        return None
    if abs(number.start) > abs(number.lax):
        return number.lax + (1.0 - here) / (there - here) * (number.start - number.lax)
    share = math.log(here) / (math.log(here) - math.log(there))
    return float(number.lax * (number.start / number.lax) ** share)


class _Watch:
    """Replies for one number, with what is used of the check that failed last.

    Where the configuration holds, that check tells how far it still is to the edge; the one that is
    used most may have nothing to do with the number.
    """

    def __init__(self, auditor: _Auditor) -> None:
        self.auditor = auditor
        self.watched = ""

    def answer(self, questions: Sequence[Question]) -> list[Reply]:
        """Whether every check holds."""
        return [self._reply(question.situations[0].case) for question in questions]

    def _reply(self, case: Case) -> Reply:
        found = self.auditor.audit(case)
        if found.failures:
            self.watched = found.failures[0].check
            return Reply(False, used=found.failures[0].utilisation)
        used = (entry.utilisation for entry in found.findings if entry.check == self.watched)
        return Reply(True, used=next(used, None))


class _Contest:
    """Asks whether one option stays the cheapest while the case is tightened.

    What is asked more never makes an option cheaper, so only those that cost less now than the
    chosen one does then have to be looked at.
    """

    def __init__(self, prices: dict[Option, Cents], chosen: Option, oracle: Oracle) -> None:
        self.prices = sorted(
            ((price, option) for option, price in prices.items() if option.id != chosen.id),
            key=lambda entry: entry[0],
        )
        self.chosen = chosen
        self.oracle = oracle

    def answer(self, questions: Sequence[Question]) -> list[Reply]:
        """Whether the chosen option is still recommended."""
        return [Reply(self._stays(question.situations[0].case)) for question in questions]

    def _stays(self, case: Case) -> bool:
        price = self.oracle.price(Situation(self.chosen, case))
        return price is not None and all(
            (other := self.oracle.price(Situation(option, case))) is None or other >= price
            for now, option in self.prices
            if now < price
        )

    def winner(self, case: Case) -> Option | None:
        """The cheapest option of those that work, the chosen one included."""
        best: tuple[Cents, Option] | None = None
        price = self.oracle.price(Situation(self.chosen, case))
        if price is not None:
            best = price, self.chosen
        for now, option in self.prices:
            if best is not None and now >= best[0]:
                break
            price = self.oracle.price(Situation(option, case))
            if price is not None and (best is None or price < best[0]):
                best = price, option
        return best[1] if best else None
