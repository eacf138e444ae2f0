"""Recomputes one configuration from the case, with unrounded physics and nothing of the search.

Every check is evaluated at the configuration's own motion on its own loop, the takt comes from the
exact event graph instead of the conditions that the search uses, and the price from the bill of
materials. An answer that fails here is never shown.
"""

from dataclasses import dataclass
from decimal import Decimal

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks.configured import BUDGET, ConfiguredContext
from recommender.choice.checks.findings import (
    TAKT,
    Finding,
    built_findings,
    loop_findings,
    option_findings,
)
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.takt import loop_takt
from recommender.choice.parts.bill import PartLine, bill_of_materials, total_price
from recommender.choice.parts.configuration import Configuration
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.fleet import lap_waits


@dataclass(frozen=True)
class LoopFacts:
    """What a loop comes to beside its checks.

    Powers, in watts with what idle sections draw, are those of the whole loop, and mean and peak of
    what each supply serves. ``waiting`` carriers gather before each station, and ``waiting_room``
    find room there. Lengths, m, are those of a carrier with its load, and of the floor across the
    loop and along its straights, swing included; an upright loop stands as high as it is wide
    otherwise, and has a depth of floor. ``bodies`` are plate and load as they travel: rear and
    front from the carrier's middle, inner and outer edge from the guide centre line.
    """

    mean_power: float
    peak_power: float
    run_powers: tuple[tuple[float, float], ...]
    waiting: tuple[int, ...]
    waiting_room: tuple[int, ...]
    carrier_length: float
    floor_width: float
    floor_extent: float
    floor_depth: float | None
    positions: tuple[int, ...]
    station_lengths: tuple[float | None, ...]
    spacing: float
    bodies: tuple[tuple[str, float, float, float, float], ...]

    @staticmethod
    def of(built: ConfiguredContext) -> "LoopFacts":
        """The facts of a configuration."""
        layout, about = built.layout, built.layout.about
        mean, peak = built.fleet_powers
        return LoopFacts(
            mean_power=float(mean[0]),
            peak_power=float(peak[0]),
            run_powers=tuple(zip(*(powers.tolist() for powers in built.run_powers), strict=True)),
            waiting=layout.waiting,
            waiting_room=layout.on.waiting_room,
            carrier_length=about.carrier_length,
            floor_width=about.floor_width,
            floor_extent=layout.on.floor_extent,
            floor_depth=about.floor_depth if about.case.loop.plane == "upright" else None,
            positions=tuple(station.positions for station in about.case.station),
            station_lengths=tuple(station.length for station in about.case.station),
            spacing=about.spacing,
            bodies=about.bodies,
        )


@dataclass(frozen=True)
class Audit:
    """What is known about one configuration, check by check.

    ``lap_time`` is that of a carrier that nothing hinders.
    """

    configuration: Configuration
    findings: tuple[Finding, ...]
    parts: tuple[PartLine, ...]
    price: Decimal
    takt: float
    lap_time: float
    loop: LoopFacts

    @property
    def lap_in_service(self) -> float:
        """Time in which each carrier comes round, s."""
        return self.configuration.carriers * self.takt

    @property
    def lap_waits(self) -> tuple[float, float]:
        """Of that what a carrier waits for batches, and for places, s."""
        waits = lap_waits(
            self.lap_time, self.loop.positions, self.takt, self.configuration.carriers
        )
        return float(waits[0]), float(waits[1])

    @property
    def failures(self) -> tuple[Finding, ...]:
        """The checks that do not hold, worst first; those of supplies last.

        What a fleet draws where it cannot keep its takt is no reason against its option.
        """
        failing = [finding for finding in self.findings if not finding.ok]
        return tuple(sorted(failing, key=lambda f: (f.check.startswith("supply."), -f.utilisation)))

    @property
    def too_dear(self) -> bool:
        """Whether money is all that it lacks."""
        return [finding.check for finding in self.failures] == [BUDGET]

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
    setting = setting_of(about, configuration.motion)
    return report(configuration, setting, catalogue)


def report(configuration: Configuration, setting: SettingContext, catalogue: Catalogue) -> Audit:
    """All findings about a configuration whose setting is known already."""
    layout = layout_of(configuration, setting)
    return _report(configuration, layout, catalogue, loop_takt(layout, configuration.carriers))


def report_if_it_holds(
    configuration: Configuration, setting: SettingContext, catalogue: Catalogue
) -> Audit | None:
    """The same, ``None`` if a check fails; left off where the takt does, which is soon known."""
    layout = layout_of(configuration, setting)
    takt = loop_takt(layout, configuration.carriers)
    if not Finding(TAKT, takt, setting.about.takt).ok:
        return None
    found = _report(configuration, layout, catalogue, takt)
    return None if found.failures else found


def _report(
    configuration: Configuration, layout: LayoutContext, catalogue: Catalogue, takt: float
) -> Audit:
    about = layout.about
    parts = bill_of_materials(configuration, about.case, catalogue)
    price = total_price(parts)
    built = ConfiguredContext(configuration, layout, catalogue, price)
    findings = (
        *option_findings(about),
        *loop_findings(layout),
        *built_findings(built),
        Finding(TAKT, takt, about.takt),
    )
    lap_time = float(layout.lap_time[0])
    return Audit(configuration, findings, parts, price, takt, lap_time, LoopFacts.of(built))
