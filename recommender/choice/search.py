"""The cheapest configuration of each option, on arrays, and the candidates for the proof.

For one option the lengths of straight are looked at in the order of a price that they cannot
undercut, and on one length the settings in the order of the carriers that they need; whatever is
left when that price reaches the best one found cannot win.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from recommender.choice import rounding
from recommender.choice.builds import Build, builds
from recommender.choice.checks import FLEET_CHECKS, GEOMETRY_CHECKS, LAYOUT_CHECKS
from recommender.choice.checks.entry import HOLDS, Check
from recommender.choice.electrical import NEVER, ElectricalCatalogue
from recommender.choice.lap import Settings
from recommender.choice.layout import LayoutContext, LoopContext, placed_on
from recommender.choice.options import Option
from recommender.choice.power import mean_power, peak_fleet_power
from recommender.choice.pricing import Cents, carrier_price, fixed_price
from recommender.choice.screen import Screened
from recommender.choice.setting import OptionContext, SettingContext
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import Array
from recommender.physics.exchange import exchange_time

_MOST_CANDIDATES = 8


@dataclass(frozen=True)
class Candidate:
    """One setting of an option on one loop, priced; powers are whole milliwatts."""

    on: LoopContext
    setting: SettingContext
    build: Build
    carriers: int
    mean_power: int
    peak_power: int
    price: Cents
    used: float


@dataclass
class Workshop:
    """What all options share: ways to build the straights, supplies by number of sections."""

    case: Case
    catalogue: Catalogue
    longest: float
    _builds: dict[tuple[bool, bool, float], tuple[Build, ...]] = field(default_factory=dict)
    _tables: dict[int, "BuildTable"] = field(default_factory=dict)
    _electrical: ElectricalCatalogue | None = None

    def builds(self) -> tuple[Build, ...]:
        """All ways to build the straights up to the longest loop, by length."""
        return self._built(0.5 * self.longest)

    def all_builds(self) -> tuple[Build, ...]:
        """The ways up to the longest loop of the catalogue, whatever the enquiry allows."""
        return self._built(0.5 * max(self.longest, self.catalogue.rules.longest_loop))

    @property
    def joints_matter(self) -> bool:
        """Whether some station must be clear of the joints between sections."""
        return any(station.clear_of_joints for station in self.case.station)

    def _built(self, longest: float) -> tuple[Build, ...]:
        joints = self.joints_matter
        pinned = any(s.side != "any" or s.at is not None for s in self.case.station)
        key = joints, pinned, longest
        if key not in self._builds:
            self._builds[key] = builds(
                self.catalogue, longest, joints_matter=joints, sides_differ=pinned
            )
        return self._builds[key]

    def table(self) -> "BuildTable":
        """The ways to build the straights as arrays."""
        entries = self.builds()
        if id(entries) not in self._tables:
            self._tables[id(entries)] = BuildTable.of(entries)
        return self._tables[id(entries)]

    @property
    def electrical(self) -> ElectricalCatalogue:
        """Supplies, feeds and controllers."""
        if self._electrical is None:
            self._electrical = ElectricalCatalogue(self.catalogue)
        return self._electrical

    def serves(self, option: Option, build: Build) -> bool:
        """Whether supplies and a controller can be had for so many sections."""
        sections = build.pieces + 2 * option.bend.sections
        return sections <= self.electrical.most_sections


@dataclass(frozen=True)
class BuildTable:
    """Ways to build the straights, a row each; prices plain and with lower rail, (rows, 2)."""

    entries: tuple[Build, ...]
    length: Array
    pieces: NDArray[np.int64]
    price: NDArray[np.int64]

    @staticmethod
    def of(entries: tuple[Build, ...]) -> "BuildTable":
        """The table of some builds."""
        return BuildTable(
            entries,
            np.array([entry.length for entry in entries]),
            np.array([entry.pieces for entry in entries], dtype=np.int64),
            np.array([entry.price for entry in entries], dtype=np.int64).reshape(-1, 2),
        )


@dataclass(frozen=True)
class PricedBuild:
    """One build for one option: what it costs before carriers, supplies and controller."""

    build: Build
    base: Cents
    sections: int
    bound: Cents


def cheapest(screened: Screened, workshop: Workshop) -> list[Candidate]:
    """The cheapest candidate of an option first, behind it others that a proof should know of.

    Returns
    -------
    list of Candidate
        Empty if no setting on no loop holds.
    """
    rows = screened.holding
    if len(rows) == 0:
        return []
    setting = screened.context.take(rows)
    used = screened.used[rows]
    if _hopeless(setting):
        return []
    found: list[Candidate] = []
    best: Cents | None = None
    for priced in by_bound(setting, workshop):
        if best is not None and priced.bound > best:
            break
        for on in placed_on(setting.about, priced.build):
            for candidate in candidates_on(priced, on, setting, used, workshop, best):
                found.append(candidate)
                best = candidate.price if best is None else min(best, candidate.price)
    found.sort(key=lambda candidate: (candidate.price, candidate.used))
    return found


def by_bound(setting: SettingContext, workshop: Workshop) -> Iterator[PricedBuild]:
    """Ways to build the straights, in the order of a price that they cannot undercut."""
    settings, option = setting.settings, setting.about.option
    base, bound = least_prices(
        setting.about,
        workshop,
        float(settings.acceleration.max()),
        float(settings.speed.max()),
        float(settings.bend_speed.max()),
    )
    entries = workshop.table().entries
    for row in np.argsort(bound, kind="stable"):
        if bound[row] >= NEVER:
            return
        sections = entries[row].pieces + 2 * option.bend.sections
        yield PricedBuild(entries[row], int(base[row]), sections, int(bound[row]))


def least_prices(
    about: OptionContext, workshop: Workshop, acceleration: float, speed: float, bend_speed: float
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """What each build costs before carriers and electrical parts, and what it cannot undercut.

    Parameters
    ----------
    about : OptionContext
    workshop : Workshop
    acceleration, speed, bend_speed : float
        The highest that any setting has.

    Returns
    -------
    two arrays of int64, (builds,)
        Cents; the bound is `NEVER` or more where a build cannot be had.
    """
    table, electrical, option = workshop.table(), workshop.electrical, about.option
    rail = 1 if option.family.lower_guide else 0
    base = table.price[:, rail] + fixed_price(option, workshop.case, workshop.catalogue)
    carriers = fewest_carriers(about, table.length, acceleration, speed, bend_speed)
    sections = table.pieces + 2 * option.bend.sections
    fits = 2.0 * (table.length + about.bend_length) <= workshop.longest + 1e-9
    bound = np.full(len(base), NEVER, dtype=np.int64)
    bound[fits] = (
        base[fits]
        + carriers[fits] * carrier_price(option, workshop.catalogue)
        + electrical.least_price(sections[fits])
        + electrical.controller_price(sections[fits], carriers[fits])
    )
    return base, bound


def fewest_carriers(
    about: OptionContext, length: Array, acceleration: float, speed: float, bend_speed: float
) -> NDArray[np.int64]:
    """Carriers that no setting and no placement gets below on straights of some lengths.

    The lap is at least the guide at the highest speeds of any row, the dwells, and what each stop
    costs within the room that it surely has to either side: there the carrier is no quicker than
    from rest at the highest acceleration without jerk.
    """
    a, v = acceleration, speed
    stations, base = about.case.station, about.option.base
    room = min(0.5 * about.spacing, about.bend_clearance - 0.5 * base)
    from_rest = np.sqrt(2.0 * room / a) if room < v * v / (2.0 * a) else room / v + v / (2.0 * a)
    straight = 2.0 * (length - base) / v
    turning = 2.0 * (about.bend_length + base) / bend_speed
    stops = sum(station.occupied + 2.0 * (from_rest - room / v) for station in stations)
    lost = sum(station.positions - 1.0 for station in stations)
    needed = np.ceil((straight + turning + stops) / about.takt + lost - 1e-9)
    return np.maximum(needed, 1.0).astype(np.int64)


def _highest(setting: SettingContext) -> SettingContext:
    """One row with the highest limit of each kind that any row has."""
    settings = setting.settings
    names = ("acceleration", "jerk", "speed", "bend_speed")
    highest = Settings(*(np.array([getattr(settings, name).max()]) for name in names))
    return replace(setting.take(np.array([0])), settings=highest)


def _hopeless(setting: SettingContext) -> bool:
    """Whether some station cannot keep the takt on any loop, however quick its exchange.

    An exchange takes least on a straight and at the highest limits of any row.
    """
    about, settings = setting.about, _highest(setting).settings
    positions = np.array([float(station.positions) for station in about.case.station])
    occupied = np.array([station.occupied for station in about.case.station])
    limits = (settings.speed, settings.acceleration, settings.jerk)
    exchange = exchange_time(about.spacing, positions, *limits, lag=about.rules.start_lag)
    turning = about.bend_spacing / settings.bend_speed[0]
    return bool(
        (occupied + exchange > HOLDS * about.takt * positions).any() or turning > HOLDS * about.takt
    )


def candidates_on(
    priced: PricedBuild,
    on: LoopContext,
    setting: SettingContext,
    used: Array,
    workshop: Workshop,
    best: Cents | None = None,
) -> Iterator[Candidate]:
    """Candidates on one loop, by rising number of carriers, while they may still be cheapest."""
    layout, _ = _sieve(LayoutContext(on, setting), np.zeros_like(used), GEOMETRY_CHECKS)
    if len(layout.setting.settings) < len(used):
        return
    layout, used = _sieve(layout, used, FLEET_CHECKS)
    need = layout.carriers_for_rate
    per_carrier = carrier_price(setting.about.option, workshop.catalogue)
    # `bound` holds the fewest carriers of any setting; each one more adds its own price at least.
    for level in np.unique(need[np.isfinite(need)]):
        if best is not None and _least(priced, int(level), per_carrier, workshop) > best:
            return
        rows = np.flatnonzero(need == level)
        for candidate in _candidates(priced, layout.take(rows), used[rows], workshop, best):
            best = candidate.price if best is None else min(best, candidate.price)
            yield candidate


def _least(priced: PricedBuild, carriers: int, per_carrier: Cents, workshop: Workshop) -> Cents:
    """A price that no configuration on a build with at least so many carriers undercuts."""
    electrical = workshop.electrical
    supplies = int(electrical.choice(priced.sections).price[0])
    control = int(electrical.controller_price(priced.sections, carriers))
    return priced.base + carriers * per_carrier + supplies + control


def _sieve(
    layout: LayoutContext, used: Array, checks: tuple[Check[LayoutContext], ...]
) -> tuple[LayoutContext, Array]:
    """The rows in which some checks hold, and their utilisation so far."""
    for check in checks:
        if len(used) == 0:
            break
        outcome = check.evaluate(layout)
        if outcome is not None:
            used = np.maximum(used, outcome.utilisation())
            holds = np.flatnonzero(used <= HOLDS)
            if len(holds) < len(used):
                layout, used = layout.take(holds), used[holds]
    return layout, used


def _candidates(
    priced: PricedBuild, layout: LayoutContext, used: Array, workshop: Workshop, best: Cents | None
) -> Iterator[Candidate]:
    layout, used = _sieve(layout, used, LAYOUT_CHECKS)
    if len(used) == 0:
        return
    option, electrical = layout.about.option, workshop.electrical
    carriers = layout.carriers.astype(np.int64)
    mean, peak = whole_powers(layout)
    idle = rounding.demand(layout.idle_power, "power")
    sets = electrical.choice(priced.sections)
    supply = sets.cheapest(mean + idle, peak + idle)
    control = electrical.controller_price(priced.sections, carriers)
    possible = (supply >= 0) & (control < NEVER)
    price = (
        priced.base
        + carriers * carrier_price(option, workshop.catalogue)
        + sets.price[supply]
        + control
    )
    for row in _worth_keeping(
        price, used, layout.setting.settings.acceleration, carriers, mean, peak, possible, best
    ):
        yield Candidate(
            on=layout.on,
            setting=layout.setting.take(np.array([row])),
            build=priced.build,
            carriers=int(carriers[row]),
            mean_power=int(mean[row]),
            peak_power=int(peak[row]),
            price=int(price[row]),
            used=float(used[row]),
        )


def _worth_keeping(
    price: NDArray[np.int64],
    used: Array,
    acceleration: Array,
    carriers: NDArray[np.int64],
    mean: NDArray[np.int64],
    peak: NDArray[np.int64],
    possible: NDArray[np.bool_],
    best: Cents | None,
) -> Iterator[int]:
    """The cheapest rows, of equal ones that with most headroom, none dominated by another."""
    # Of rows with the same headroom the gentler one.
    order = np.lexsort((acceleration, used.round(3), price))
    kept: list[int] = []
    for row in order[possible[order]]:
        if (best is not None and price[row] > best) or len(kept) == _MOST_CANDIDATES:
            return
        if not any(
            carriers[k] <= carriers[row] and mean[k] <= mean[row] and peak[k] <= peak[row]
            for k in kept
        ):
            kept.append(int(row))
            yield int(row)


def whole_powers(layout: LayoutContext) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Mean and peak power of the moving fleet in whole milliwatts."""
    return (
        rounding.demand(mean_power(layout), "power"),
        rounding.demand(peak_fleet_power(layout), "power"),
    )
