"""Recomputes one configuration from the case, with unrounded physics and nothing of the search.

Every check is evaluated at the configuration's own motion on its own loop, the takt comes from the
exact event graph instead of the conditions that the search uses, and the price from the bill of
materials. An answer that fails here is never shown.
"""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from recommender.choice.configuration import Configuration
from recommender.choice.findings import (
    TAKT,
    Finding,
    built_findings,
    loop_findings,
    option_findings,
)
from recommender.choice.lap import Settings
from recommender.choice.layout import LayoutContext, LoopContext
from recommender.choice.load_cases import bend_loads, straight_loads
from recommender.choice.parts import PartLine, bill_of_materials, total_price
from recommender.choice.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.takt import loop_takt
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue


@dataclass(frozen=True)
class Audit:
    """What is known about one configuration, check by check."""

    configuration: Configuration
    findings: tuple[Finding, ...]
    parts: tuple[PartLine, ...]
    price: Decimal
    takt: float
    lap_time: float

    @property
    def failures(self) -> tuple[Finding, ...]:
        """The checks that do not hold, worst first."""
        failing = [finding for finding in self.findings if not finding.ok]
        return tuple(sorted(failing, key=lambda finding: -finding.utilisation))

    @property
    def rate(self) -> float:
        """Items that the loop really delivers, 1/s."""
        return self.configuration.option.items / self.takt


def audit(configuration: Configuration, case: Case, catalogue: Catalogue) -> Audit:
    """Recompute a configuration from the case.

    Parameters
    ----------
    configuration : Configuration
        Carriers, loop and motion; how they were found does not matter.
    case : Case
    catalogue : Catalogue

    Returns
    -------
    Audit
    """
    about = OptionContext(configuration.option, case, catalogue)
    motion = configuration.motion
    settings = Settings(
        *(
            np.array([value])
            for value in (motion.acceleration, motion.jerk, motion.speed, motion.bend_speed)
        )
    )
    one = np.array([0])
    setting = SettingContext(
        about,
        settings,
        LoadTable(straight_loads(about.alone, settings.acceleration[:, None]), 0, one),
        LoadTable(bend_loads(about.alone, settings.bend_speed[:, None]), 0, one),
    )
    return report(configuration, setting, catalogue)


def report(configuration: Configuration, setting: SettingContext, catalogue: Catalogue) -> Audit:
    """All findings about a configuration whose setting is known already."""
    about = setting.about
    on = LoopContext(
        about,
        configuration.loop,
        configuration.placement,
        configuration.front,
        configuration.back,
    )
    layout = LayoutContext(on, setting, configuration.carriers)
    parts = bill_of_materials(configuration, about.case, catalogue)
    price = total_price(parts)
    takt = loop_takt(layout, configuration.carriers)
    findings = (
        *option_findings(about),
        *loop_findings(layout),
        *built_findings(configuration, layout, catalogue, price),
        Finding(TAKT, takt, about.takt, ""),
    )
    return Audit(configuration, findings, parts, price, takt, float(layout.lap_time[0]))
