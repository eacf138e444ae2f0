"""How much more could be asked before the recommended configuration fails, or another option wins.

Each number of the case is tightened alone. The configuration itself keeps its carriers, loop and
supplies and may move as hard as they allow; it is audited again, every check and the exact takt,
with the gentlest of some motions that holds. For the recommendation every option that
might then be cheaper is searched anew. Both edges are found as those of concessions are, on the way
from a value that is far too much to the one that is asked. What the case holds no value of, and a
rule of the house stands in for, is nothing that the enquiry could ask more of.
"""

import contextlib
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks import TIME_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.findings import TAKT, Finding, keeps_takt
from recommender.choice.deadline import TimeUpError, Unsettled, check_time
from recommender.choice.decision.audit import Audit, report
from recommender.choice.decision.gentlest import Fixed, Harder, holding_rows
from recommender.choice.loop.assemble import assemble
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.parts.options import Option
from recommender.choice.parts.pricing import Cents
from recommender.choice.search.candidates import passes_alone
from recommender.explain.edges import first_step
from recommender.explain.oracle import Key, Oracle
from recommender.explain.requirements import Number, Requirement, Situation, table_key, value_at
from recommender.explain.scene import Scene
from recommender.inputs.case import Case

_FAR: Final = 10.0
"""How many times as much is far too much."""

_MOST_RELIABLE: Final = 99.95


@dataclass(frozen=True)
class Headroom:
    """How far one number of the case can be tightened.

    ``to`` is the last value that holds, ``None`` if ten times as much does too and ``start`` if
    not even the next round value does; ``stopped_by`` the worst check a step further, one that no
    harder motion would cure if there is any, ``factor`` what it is of what is asked. Where one
    would cure it, ``harder`` is the worst check that the gentlest such motion fails.
    """

    key: str
    start: str
    to: str | None
    stopped_by: Finding | None
    factor: float | None = None
    harder: Finding | None = None

    @property
    def room(self) -> float:
        """By what factor it could be tightened, as a logarithm."""
        return math.inf if self.factor is None else abs(math.log(self.factor))


@dataclass(frozen=True)
class TurningPoint:
    """How far one number can be tightened before the recommendation changes.

    ``to`` is the last value at which it stands, ``None`` if it does at ten times as much;
    ``option`` is recommended a step further, ``None`` if nothing works there.
    """

    key: str
    to: str | None
    option: str | None


def headroom(
    chosen: Audit, requirements: Sequence[Requirement], scene: Scene, most: int | None = None
) -> list[Headroom]:
    """How far each number can be tightened before a configuration fails.

    Parameters
    ----------
    chosen : Audit
    requirements : sequence of Requirement
        Those of the case.
    scene : Scene
        The configuration with its case.
    most : int, optional
        How many are wanted, those with the least room; others may be left out. All unless given.

    Returns
    -------
    list of Headroom
        In the order of the requirements; of some, if the time is up before all are found.
    """
    trial, numbers = _Trial(scene, chosen), list(_tightened(requirements, scene.case))
    found: dict[int, Headroom] = {}
    with contextlib.suppress(TimeUpError):
        for k in _by_use(numbers, chosen) if most else range(len(numbers)):
            least = sorted(entry.room for entry in found.values())
            if most and len(found) >= most and _has_more(numbers[k], least[most - 1], trial):
                continue
            found[k] = _headroom(numbers[k], trial)
    return [found[k] for k in sorted(found)]


def _by_use(numbers: Sequence[Number], chosen: Audit) -> list[int]:
    """Numbers of which checks speak that are used most come first: they may have least room."""

    def used(number: Number) -> float:
        key = table_key(number.key)
        about = (each for each in chosen.findings if key in each.about.requirements)
        return max((each.utilisation for each in about), default=0.0)

    return sorted(range(len(numbers)), key=lambda k: -used(numbers[k]))


def _has_more(number: Number, room: float, trial: "_Trial") -> bool:
    """Whether a number has more room than that, by one look a step further."""
    if not number.lax or not math.isfinite(room):
        return False
    asked = number.shown(number.last)
    step = number.step_at(asked * math.exp(-number.sense * room)) - 1
    if step >= 0 and abs(math.log(number.shown(step) / asked)) <= room:
        step -= 1
    if step < 0:
        return False
    situation = Situation(trial.scene.configuration.option, trial.scene.case)
    case = number.change(step)(situation).case
    return trial.moves(case) and trial.holds(case)


def _headroom(number: Number, trial: "_Trial") -> Headroom:
    situation = Situation(trial.scene.configuration.option, trial.scene.case)

    def case_at(step: int) -> Case:
        return number.change(step)(situation).case

    def first(holds: Callable[[Case], bool], step: int) -> int:
        if holds(case_at(step)):
            return step
        return first_step(lambda further: holds(case_at(further)), number.last, step + 1)

    # Whether a motion holds tells quickly where the edge may lie; yet what is bought may not do.
    step = first(trial.holds, first(trial.moves, -1))
    if step < 0:
        return Headroom(number.key, number.write(number.lax), None, None)
    stopped_by, harder = trial.stops(case_at(step - 1))
    return Headroom(
        key=number.key,
        start=number.write(number.lax),
        to=number.write(number.value(step)),
        stopped_by=stopped_by,
        harder=harder,
        factor=number.shown(step) / number.shown(number.last) if number.lax else None,
    )


def turning_points(
    prices: Mapping[Option, Cents],
    asked: Situation,
    requirements: Sequence[Requirement],
    oracle: Oracle,
    tell: Callable[[int, int], None] = lambda done, of: None,
) -> list[TurningPoint]:
    """How far each number can be tightened before another option is recommended.

    Parameters
    ----------
    prices : mapping
        Prices of all options that work.
    asked : Situation
        The option that is recommended, and the case.
    requirements : sequence of Requirement
        Those of the case.
    oracle : Oracle
    tell : callable, optional
        Called with the numbers done and their count.

    Returns
    -------
    list of TurningPoint
        Empty if the option works only with places that are not among those tried first; of the
        first numbers, if the time is up before all are found.
    """
    oracle.asked_for = Unsettled.TURNING
    points: list[TurningPoint] = []
    with contextlib.suppress(TimeUpError):
        # What only the seating model has found is not asked for other cases.
        numbers = [] if oracle.price(asked) is None else list(_tightened(requirements, asked.case))
        for done, number in enumerate(numbers):
            tell(done, len(numbers))
            points.append(_turning_point(number, asked, prices, oracle))
    return points


def _turning_point(
    number: Number, asked: Situation, prices: Mapping[Option, Cents], oracle: Oracle
) -> TurningPoint:
    def cheaper(step: int) -> Iterator[Option]:
        tightened = number.change(step)(asked)
        return _cheaper(tightened, oracle.price(tightened), prices, oracle)

    def stands(step: int) -> bool:
        works = oracle.price(number.change(step)(asked)) is not None
        return works and next(cheaper(step), None) is None

    if stands(-1):
        return TurningPoint(number.key, None, None)
    step = first_step(stands, number.last)
    others = [option.id for option in cheaper(step - 1)]
    return TurningPoint(
        number.key, number.write(number.value(step)), others[-1] if others else None
    )


def _cheaper(
    tightened: Situation, best: Cents | None, prices: Mapping[Option, Cents], oracle: Oracle
) -> Iterator[Option]:
    """Options that are ever cheaper in a tightened case, from a price on if there is one.

    What is asked more never makes an option cheaper, so only those have to be looked at that cost
    less now than the best does then.
    """
    for option, now in sorted(prices.items(), key=lambda entry: entry[1]):
        if best is not None and now >= best:
            return
        price = oracle.price(replace(tightened, option=option))
        if price is not None and (best is None or price < best):
            best = price
            yield option


def _tightened(requirements: Sequence[Requirement], case: Case) -> Iterator[Number]:
    """Each number that the case holds, on the way from far too much to what is asked."""
    for requirement in requirements:
        for move in requirement.moves:
            if isinstance(move, Number) and value_at(case, move.key) is not None:
                yield replace(move, start=_too_much(move), lax=move.start, by_price=False)


def _too_much(number: Number) -> float:
    if number.key == "life.reliability":
        return _MOST_RELIABLE
    tighter_upwards = abs(number.lax) < abs(number.start)
    return number.start * _FAR if tighter_upwards else number.start / _FAR


class _Trial:
    """One configuration under other cases, as hard as it may move."""

    def __init__(self, scene: Scene, known: Audit) -> None:
        self.scene = scene
        self._motions = Harder.of(scene.about, scene.configuration.motion)
        self._settings: dict[Key, SettingContext] = {}
        self._audits: dict[Case, Audit] = {scene.case: known}

    def moves(self, case: Case) -> bool:
        """Whether a motion holds, whatever is bought."""
        return self._gentlest(case) is not None

    def holds(self, case: Case) -> bool:
        """Whether the configuration passes its audit, as it moves or harder."""
        return not self.audit(case).failures

    def audit(self, case: Case) -> Audit:
        """All findings with the gentlest motion that holds; as it moves if nothing holds so."""
        gentlest = self._gentlest(case)
        if gentlest is not None:
            found = self._moved(gentlest)
            if not found.failures:
                return found
        return self.as_it_moves(case)

    def as_it_moves(self, case: Case) -> Audit:
        """All findings with the motion as it is."""
        if case not in self._audits:
            check_time(Unsettled.HEADROOM)
            scene = replace(self.scene, case=case)
            self._audits[case] = report(scene.configuration, scene.setting, scene.catalogue)
        return self._audits[case]

    def stops(self, case: Case) -> tuple[Finding | None, Finding | None]:
        """The worst check that stops it, and where a harder motion cures that, what stops this one.

        What a harder motion would cure is not told first while something else fails at any. Motions
        harder than the option may run are looked at too: what they fail is what keeps it from them.
        """
        failures = self.as_it_moves(case).failures
        about = OptionContext(self.scene.configuration.option, case, self.scene.catalogue)
        motions, carriers = self._motions.beyond().under(about), self.scene.configuration.carriers
        layout = LayoutContext(self._loop(about), motions, carriers)
        cured = np.ones(len(motions.settings), dtype=np.bool_)
        for failure in failures:
            cures = _holds_in(failure, layout, carriers)
            if not cures.any():
                return failure, None
            cured &= cures
        if not failures or not cured.any():
            return (failures[0] if failures else None), None
        still = self._moved(motions.take(np.flatnonzero(cured)[:1])).failures
        return failures[0], (still[0] if still else None)

    def _moved(self, setting: SettingContext) -> Audit:
        """All findings with another motion."""
        on, built = self._loop(setting.about), self.scene.configuration
        moved = assemble(on, setting.settings, built.carriers, built.electrics)
        return report(moved, setting, self.scene.catalogue)

    def _gentlest(self, case: Case) -> SettingContext | None:
        """The gentlest of some motions that hold under a case."""
        check_time(Unsettled.HEADROOM)
        about = OptionContext(self.scene.configuration.option, case, self.scene.catalogue)
        if not passes_alone(about):
            return None
        key = _borne(case)
        if key not in self._settings:
            self._settings[key] = self._motions.under(about)
        setting = self._settings[key].under(about)
        fixed = Fixed.of(self._loop(about), self.scene.configuration, self.scene.catalogue)
        rows = holding_rows(fixed, setting)
        return setting.take(rows[:1]) if len(rows) else None

    def _loop(self, about: OptionContext) -> LoopContext:
        on = self.scene.configuration
        return LoopContext(about, on.loop, on.placement, on.front, on.back)


def _borne(case: Case) -> Key:
    """What the motions of one configuration and their load cases depend on."""
    load = case.load
    forces = tuple((station.name, station.force) for station in case.station)
    size = (load.length, load.width, load.reach, load.offset, load.cg_height)
    return load.mass, size, case.tooling, case.loop.plane, forces, case.limits.jerk


def _holds_in(failure: Finding, layout: LayoutContext, carriers: int) -> NDArray[np.bool_]:
    """Motions of a loop in which a check holds that a harder motion may cure; none for another."""
    rows = len(layout.setting.settings)
    if failure.check == TAKT.id:
        quickest = layout.take(np.array([layout.lap_time.argmin()]))
        return np.full(rows, keeps_takt(quickest, carriers))
    for check in TIME_CHECKS:
        outcome = check.evaluate(layout) if check.about.id == failure.check else None
        if outcome is not None:
            return np.broadcast_to(outcome.utilisation() <= HOLDS, rows)
    return np.zeros(rows, dtype=np.bool_)
