"""What every check finds about one configuration."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.carrier.where import NOWHERE, Where
from recommender.choice.checks import (
    BEND_CHECKS,
    CONFIGURED_CHECKS,
    FLEET_CHECKS,
    GEOMETRY_CHECKS,
    LAYOUT_CHECKS,
    OPTION_CHECKS,
    SETTING_CHECKS,
    STRAIGHT_CHECKS,
)
from recommender.choice.checks.configured import ConfiguredContext
from recommender.choice.checks.entry import HOLDS, Check, CheckText, Context
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.takt import loop_takt

TAKT = CheckText(
    id="fleet.takt",
    title="Takt that the loop keeps",
    unit="duration",
    source="largest cycle mean of the event graph of stations and carriers",
    requirements=("rate.items",),
    evidence=("fleet", "rate-against-events"),
    fails="its carriers come every {demand} only, where one is due every {limit}",
    together="carriers would come every {demand}, where one is due every {limit}",
    slower="its carriers would come too seldom",
)


@dataclass(frozen=True)
class Finding:
    """One check of a configuration: what is asked, what is allowed, and what governs."""

    about: CheckText
    demand: float
    limit: float
    where: Where = NOWHERE

    @property
    def check(self) -> str:
        """Id of the check."""
        return self.about.id

    @property
    def governed_by(self) -> str:
        """What governs, in words."""
        return self.where.text

    @property
    def requirements(self) -> tuple[str, ...]:
        """Keys of the case that it comes from; of what a process presses, its force alone."""
        case = self.where.load_case
        if case is not None and case.station:
            return (f"station.{case.station}.force",)
        return self.about.requirements

    @property
    def utilisation(self) -> float:
        """Demand over limit."""
        if self.demand <= 0.0:
            return 0.0
        return self.demand / self.limit if self.limit > 0.0 else np.inf

    @property
    def ok(self) -> bool:
        """Whether the check holds."""
        return self.utilisation <= HOLDS


def option_findings(about: OptionContext) -> list[Finding]:
    """The checks that need neither motion nor loop."""
    return _findings(OPTION_CHECKS, about, ())


def loop_findings(layout: LayoutContext) -> list[Finding]:
    """The checks of one setting on one loop."""
    return [
        *_on_both_axes(layout.setting),
        *_findings(SETTING_CHECKS, layout.setting, (0,)),
        *_findings((*GEOMETRY_CHECKS, *FLEET_CHECKS, *LAYOUT_CHECKS), layout, (0,)),
    ]


def built_findings(built: ConfiguredContext) -> list[Finding]:
    """The checks of what is bought for it."""
    return _findings(CONFIGURED_CHECKS, built, (0,))


MOST_TAKTS: Final = 40
"""Rows of settings whose exact takt is asked before the rest is taken to miss it as well."""


def keeps_takt(layout: LayoutContext, carriers: int, row: int = 0) -> bool:
    """Whether one setting with so many carriers keeps its takt, leg by leg.

    The checks of the fleet are conditions that each takt needs; together they do not suffice where
    several stations hold each other up.
    """
    return Finding(TAKT, loop_takt(layout, carriers, row), layout.about.takt).ok


def _findings(
    checks: tuple[Check[Context], ...], context: Context, row: tuple[int, ...]
) -> list[Finding]:
    return [
        Finding(check.about, *outcome.governing(*row))
        for check in checks
        if (outcome := check.evaluate(context)) is not None
    ]


def _on_both_axes(setting: SettingContext) -> list[Finding]:
    """Checks of straights and of bends; where both look at the same thing the worse one counts."""
    worst: dict[str, Finding] = {}
    for checks, table in ((STRAIGHT_CHECKS, setting.straight), (BEND_CHECKS, setting.bend)):
        for finding in _findings(checks, table.alone(), (0, 0)):
            known = worst.get(finding.check)
            if known is None or finding.utilisation > known.utilisation:
                worst[finding.check] = finding
    return list(worst.values())
