"""How much more could be asked before the recommended configuration fails, or another option wins.

Each number of the case is tightened alone. The configuration itself keeps its carriers, loop and
supplies and may move as hard as they allow; it is audited again, every check and the exact takt,
with the gentlest of some motions that holds. For the recommendation every option that
might then be cheaper is searched anew. Both edges are found as those of concessions are, on the way
from a value that is far too much to the one that is asked.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks.findings import Finding
from recommender.choice.deadline import TimeUpError, Unsettled, check_time
from recommender.choice.decision.audit import Audit, report
from recommender.choice.decision.gentlest import Fixed, Harder, holding_rows
from recommender.choice.loop.assemble import assemble
from recommender.choice.loop.layout import LoopContext
from recommender.choice.parts.options import Option
from recommender.choice.parts.pricing import Cents
from recommender.choice.search.candidates import passes_alone
from recommender.explain.edges import first_step
from recommender.explain.oracle import Key, Oracle
from recommender.explain.requirements import Number, Requirement, Situation
from recommender.explain.scene import Scene
from recommender.inputs.case import Case

_FAR: Final = 10.0
"""How many times as much is far too much."""

_MOST_RELIABLE: Final = 99.95


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
    trial = _Trial(scene, chosen)
    found: list[Headroom] = []
    for number in _tightened(requirements):
        try:
            found.append(_headroom(number, trial))
        except TimeUpError:
            break
    return found


def _headroom(number: Number, trial: "_Trial") -> Headroom:
    situation = Situation(trial.scene.configuration.option, trial.scene.case)

    def case_at(step: int) -> Case:
        return number.change(step)(situation).case

    step = (
        -1
        if trial.moves(case_at(-1))
        else first_step(lambda k: trial.moves(case_at(k)), number.last)
    )
    # What motion and loop allow may yet lack what is bought.
    if not trial.holds(case_at(step)):
        step = first_step(lambda step: trial.holds(case_at(step)), number.last, step + 1)
    if step < 0:
        return Headroom(number.key, number.write(number.lax), None, None)
    failures = trial.as_it_moves(case_at(step - 1)).failures
    return Headroom(
        key=number.key,
        start=number.write(number.lax),
        to=number.write(number.value(step)),
        stopped_by=failures[0] if failures else None,
        factor=number.shown(step) / number.shown(number.last) if number.lax else None,
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
    def stays(step: int) -> bool:
        return contest.stays(number.change(step)(situation).case)

    if stays(-1):
        return TurningPoint(number.key, None, None)
    step = first_step(stays, number.last)
    winner = contest.winner(number.change(step - 1)(situation).case)
    return TurningPoint(number.key, number.write(number.value(step)), winner.id if winner else None)


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


class _Trial:
    """One configuration under other cases, as hard as it may move.

    Whether a motion holds tells quickly where an edge may lie; only an audit looks at what is
    bought as well, so it has the last word.
    """

    def __init__(self, scene: Scene, known: Audit) -> None:
        self.scene = scene
        self._motions = Harder.of(scene.about, scene.configuration.motion)
        self._settings: dict[Key, SettingContext] = {}
        self._audits: dict[Case, Audit] = {scene.case: known}
        self._held = np.array([0])

    def moves(self, case: Case) -> bool:
        """Whether a motion holds, whatever is bought."""
        check_time(Unsettled.HEADROOM)
        setting = self._setting(case)
        if not passes_alone(setting.about):
            return False
        fixed = self._fixed(setting.about)
        # What held just before mostly does.
        if len(holding_rows(fixed, setting.take(self._held))):
            return True
        holding = holding_rows(fixed, setting)
        self._held = holding[:1] if len(holding) else self._held
        return len(holding) > 0

    def holds(self, case: Case) -> bool:
        """Whether the configuration passes its audit, as it moves or harder."""
        return not self.audit(case).failures

    def audit(self, case: Case) -> Audit:
        """All findings as hard as it has to move; as it does now if no motion holds."""
        known = self.as_it_moves(case)
        if not known.failures or not self.moves(case):
            return known
        setting, configuration = self._setting(case), self.scene.configuration
        fixed = self._fixed(setting.about)
        gentlest = setting.take(holding_rows(fixed, setting)[:1])
        again = assemble(
            fixed.on, gentlest.settings, configuration.carriers, configuration.electrics
        )
        harder = report(again, gentlest, self.scene.catalogue)
        return known if harder.failures else harder

    def as_it_moves(self, case: Case) -> Audit:
        """All findings with the motion as it is."""
        if case not in self._audits:
            check_time(Unsettled.HEADROOM)
            scene = replace(self.scene, case=case)
            self._audits[case] = report(scene.configuration, scene.setting, scene.catalogue)
        return self._audits[case]

    def _setting(self, case: Case) -> SettingContext:
        """The motions under a case; load cases are kept while the loaded carrier is the same."""
        about = OptionContext(self.scene.configuration.option, case, self.scene.catalogue)
        body = _borne(case)
        if body not in self._settings:
            self._settings[body] = self._motions.under(about)
        known = self._settings[body]
        if about.case.limits.jerk == known.about.case.limits.jerk:
            return known.under(about)
        return self._motions.under(about)

    def _fixed(self, about: OptionContext) -> Fixed:
        configuration = self.scene.configuration
        on = LoopContext(
            about,
            configuration.loop,
            configuration.placement,
            configuration.front,
            configuration.back,
        )
        return Fixed.of(on, configuration, self.scene.catalogue)


def _borne(case: Case) -> Key:
    """What the load cases of a case depend on."""
    load = case.load
    forces = tuple((station.name, station.force) for station in case.station)
    size = (load.length, load.width, load.reach, load.offset, load.cg_height)
    return load.mass, size, case.tooling, case.loop.plane, forces


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

    def stays(self, case: Case) -> bool:
        """Whether the chosen option is still recommended."""
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
