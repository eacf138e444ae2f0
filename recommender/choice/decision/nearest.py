"""For an option that fails: what is to blame, and the setting and loop nearest to passing.

Settings are spread over all that the drive and the carrier could do, beyond the limits at which the
search ends its axes as well: only so can be told apart what fails everywhere and what fails because
something else keeps the motion slow. Nearest is where fewest checks fail, and those by least; of
equals the one with fewest carriers and sections.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.load_cases import bend_loads, straight_loads
from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import (
    BEND_CHECKS,
    FLEET_CHECKS,
    GEOMETRY_CHECKS,
    LAYOUT_CHECKS,
    SETTING_CHECKS,
    STRAIGHT_CHECKS,
)
from recommender.choice.checks.causes import Cause, cores
from recommender.choice.checks.entry import HOLDS, CheckText, Outcome
from recommender.choice.checks.findings import Finding, option_findings
from recommender.choice.loop.layout import LayoutContext, LoopContext, on_loop
from recommender.choice.parts.builds import Build
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.grid import jerk_for
from recommender.choice.search.screen import Screened, acceleration_ceiling
from recommender.physics.constants import Array

_SPEEDS = np.array([0.25, 0.5, 0.75, 1.0])
_WIDE = 6
"""Points of an axis beyond those of the search, up to what drive and carrier can do."""

_SEARCHED = 24
"""Rows of the search that are looked at besides, those that hold or are nearest to it."""

_SEARCHED_WITH_LIQUID = 240
_COARSE = 0.05
"""Excesses that differ by less are as near."""


@dataclass(frozen=True)
class Nearest:
    """Loop, setting of one row and carriers nearest to passing, and what is to blame."""

    on: LoopContext
    setting: SettingContext
    carriers: int
    causes: tuple[Cause, ...]


@dataclass(frozen=True)
class _Column:
    """A check on all rows: outcome by row, or by entry of an axis to which rows point."""

    about: CheckText
    outcome: Outcome
    index: NDArray[np.intp] | None = None

    def used(self, rows: int) -> Array:
        """Utilisation of each row."""
        used = np.broadcast_to(self.outcome.utilisation(), self._shape(rows)).ravel()
        return used if self.index is None else used[self.index]

    def finding(self, row: int) -> Finding:
        """What it finds in one row, of what fails everywhere if anything does."""
        entry = row if self.index is None else int(self.index[row])
        at = (0, entry) if self.index is not None else (entry,)
        among = self.outcome.always_failing()
        return Finding(self.about, *self.outcome.governing(*at, among=among))

    def _shape(self, rows: int) -> tuple[int, ...]:
        return (rows,) if self.index is None else self.outcome.utilisation().shape


def nearest(screened: Screened, price_book: PriceBook) -> Nearest | None:
    """What an option fails for, and where it comes nearest to passing.

    Returns
    -------
    Nearest or None
        ``None`` if the stations fit on no loop at all.
    """
    about = screened.context.about
    alone = [Cause(finding) for finding in option_findings(about) if not finding.ok]
    # Where the option itself fails, other causes are looked for less finely.
    setting = _spread(screened, coarse=bool(alone))
    of_setting = [*_on_axes(setting), *_of_setting(setting)]
    layouts = [LayoutContext(on, setting) for on in _loops(about, price_book)]
    if not layouts:
        return None
    looked = [_Looked(layout, of_setting) for layout in layouts]
    if _never_lasting(looked):
        # More carriers than the rate needs would not help, so none are shown.
        looked = [_Looked(_ForRate(each.on, setting), of_setting) for each in layouts]
    best = min(looked, key=lambda each: each.nearest(hopeless=bool(alone))[0])
    row = best.nearest(hopeless=bool(alone))[1]
    holds = np.concatenate([each.table <= HOLDS for each in looked])
    # What is used most there says most about why, and what keeps the motion slow more than another
    # check that asks for a quick one.
    of_loop = np.arange(len(best.columns)) >= best.of_setting
    order = np.lexsort((-best.table[row], of_loop))
    found = [_cause([best.columns[order[k]] for k in core], row) for core in cores(holds[:, order])]
    carriers = best.layout.carriers[row]
    return Nearest(
        best.layout.on,
        setting.take(np.array([row])),
        int(carriers) if np.isfinite(carriers) else 1,
        (*alone, *found),
    )


class _ForRate(LayoutContext):
    """With the carriers that the rate asks for, and no more for the life of their rollers."""

    @property
    def carriers(self) -> Array:
        """Carriers of each row."""
        return self.carriers_for_rate


class _Looked:
    """All settings on one loop, and how much they use of each check."""

    def __init__(self, layout: LayoutContext, of_setting: Sequence[_Column]) -> None:
        self.layout = layout
        self.columns = [*of_setting, *_of_loop(layout)]
        self.of_setting = len(of_setting)
        rows = len(layout.setting.settings)
        self.table = np.stack([column.used(rows) for column in self.columns], axis=-1)

    def nearest(self, *, hopeless: bool) -> tuple[tuple[float, ...], int]:
        """How near the nearest row is, the weightiest measure first, and which one it is."""
        failing, excesses = self.table > HOLDS, np.maximum(self.table - 1.0, 0.0)
        excess = excesses.sum(axis=-1)
        size = self.layout.carriers + self.layout.sections
        key: tuple[Array, ...]
        if hopeless:
            # What fails by far does so anyway, and must not ask for a fleet that nobody would buy.
            key = (np.floor(np.minimum(excesses, 1.0).sum(axis=-1)), size, excess)
        else:
            # A motion that could be run on another loop is nearer than one that cannot be at all.
            motion = failing[:, : self.of_setting].sum(axis=-1)
            key = (failing.sum(axis=-1), motion, np.floor(excess / _COARSE), size, excess)
        row = int(np.lexsort(key[::-1])[0])
        return tuple(float(part[row]) for part in key), row


def _never_lasting(looked: Sequence[_Looked]) -> bool:
    """Whether the rollers last long enough with no motion and no number of carriers."""
    return not any(
        (each.table[:, k] <= HOLDS).any()
        for each in looked
        for k, column in enumerate(each.columns)
        if column.about.id == "roller.life"
    )


def _cause(core: Sequence[_Column], row: int) -> Cause:
    """A cause with its worst check at one row as the one that is told."""
    findings = sorted((column.finding(row) for column in core), key=lambda one: -one.utilisation)
    return Cause(findings[0], tuple(findings[1:]))


def _spread(screened: Screened, *, coarse: bool) -> SettingContext:
    """Settings over the whole reach of the option, and some of those that were searched."""
    context = screened.context
    about, batch = context.about, context.about.alone
    # A limit of the enquiry may be what is to blame, so it does not end the axes.
    top = about.option.carrier.top_speed
    step, speeds = (4, _SPEEDS[1::2]) if coarse else (2, _SPEEDS)
    searched = _searched(screened)
    accelerations = _axis(
        context.straight.loads.acceleration[context.straight.option_row],
        float(acceleration_ceiling(batch)[0, 0]),
        step,
    )
    bends = _axis(context.bend.loads.speed[context.bend.option_row], top, step)
    a, v, b = (axis.ravel() for axis in np.meshgrid(accelerations, top * speeds, bends))
    usable = b <= v
    a, v, b = a[usable], v[usable], b[usable]
    jerk = a / about.rules.ramp_time
    parts = [Settings(a, jerk, v, b), searched]
    if about.case.limits.jerk is not None:
        parts.append(Settings(a, jerk_for(a, about.rules.ramp_time, about.case), v, b))
    settings = Settings(
        *(
            np.concatenate([getattr(part, field.name) for part in parts])
            for field in fields(Settings)
        )
    )
    straight, of_straight = np.unique(settings.acceleration, return_inverse=True)
    bend, of_bend = np.unique(settings.bend_speed, return_inverse=True)
    return SettingContext(
        about,
        settings,
        LoadTable(straight_loads(batch, straight[None, :]), 0, of_straight),
        LoadTable(bend_loads(batch, bend[None, :]), 0, of_bend),
    )


def _axis(searched: Array, end: float, step: int) -> Array:
    """Points of the search, thinned out, and others from its end to what can be done at all."""
    last = float(searched[-1])
    wide = np.geomspace(last, max(end, last), _WIDE)
    return np.unique(np.concatenate([searched[::step], wide]))


def _searched(screened: Screened) -> Settings:
    """Some rows of the search: of those in which everything but the loop holds, or the nearest."""
    liquid = screened.context.about.case.load.liquid is not None
    most, holding = _SEARCHED_WITH_LIQUID if liquid else _SEARCHED, screened.holding
    if len(holding):
        rows = holding[np.unique(np.linspace(0, len(holding) - 1, most).astype(np.intp))]
    else:
        rows = np.lexsort((screened.used, screened.excess))[:most]
    return screened.context.settings.take(rows)


def _on_axes(setting: SettingContext) -> list[_Column]:
    """Checks of load cases; where straights and bends know the same one it is there twice."""
    return [
        _Column(check.about, outcome, table.index)
        for checks, table in ((STRAIGHT_CHECKS, setting.straight), (BEND_CHECKS, setting.bend))
        for check in checks
        if (outcome := check.evaluate(table.loads)) is not None
    ]


def _of_setting(setting: SettingContext) -> list[_Column]:
    return [
        _Column(check.about, outcome)
        for check in SETTING_CHECKS
        if (outcome := check.evaluate(setting)) is not None
    ]


def _of_loop(layout: LayoutContext) -> list[_Column]:
    return [
        _Column(check.about, outcome)
        for check in (*GEOMETRY_CHECKS, *FLEET_CHECKS, *LAYOUT_CHECKS)
        if (outcome := check.evaluate(layout)) is not None
    ]


def _loops(about: OptionContext, price_book: PriceBook) -> list[LoopContext]:
    """The shortest loop that takes the stations, and longer ones that the enquiry allows."""
    most = min(0.5 * price_book.longest - about.bend_length, about.longest_straight)
    # A longer loop may have fewer sections.
    able = [entry for entry in price_book.all_builds() if price_book.serves(about.option, entry)]
    for number, entry in enumerate(able):
        if shortest := _placed(about, [entry]):
            longer = [other for other in able[number + 1 :] if other.length <= most]
            spread = {len(longer) // 2, len(longer) - 1} if longer else set()
            return [*shortest, *_placed(about, [longer[k] for k in sorted(spread)])]
    return []


def _placed(about: OptionContext, entries: Sequence[Build]) -> list[LoopContext]:
    return [on for entry in entries if (on := on_loop(about, entry)) is not None]
