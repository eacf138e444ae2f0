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
from recommender.choice.checks import FLEET_CHECKS, GEOMETRY_CHECKS, LAYOUT_CHECKS
from recommender.choice.checks.entry import HOLDS, Check
from recommender.choice.lap import Settings
from recommender.choice.layout import LayoutContext, LoopContext, placed_on
from recommender.choice.options import Option
from recommender.choice.power import mean_power, peak_fleet_power
from recommender.choice.pricing import (
    Cents,
    Composition,
    ElectricalChoice,
    carrier_price,
    cheapest_controller,
    compositions,
    controller_price,
    electrical_choice,
    fixed_price,
)
from recommender.choice.screen import Screened
from recommender.choice.setting import SettingContext
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
    composition: Composition
    carriers: int
    mean_power: int
    peak_power: int
    price: Cents
    used: float


@dataclass
class Workshop:
    """What all options share: compositions of a side, supplies by number of sections."""

    case: Case
    catalogue: Catalogue
    longest: float
    _compositions: tuple[Composition, ...] | None = None
    _all_compositions: tuple[Composition, ...] | None = None
    _electrics: dict[int, ElectricalChoice] = field(default_factory=dict)
    _controllers: dict[int, tuple[tuple[int, Cents, str], ...]] = field(default_factory=dict)

    def compositions(self) -> tuple[Composition, ...]:
        """All sides worth building up to the longest loop, by length."""
        if self._compositions is None:
            self._compositions = compositions(self.catalogue, 0.5 * self.longest)
        return self._compositions

    def all_compositions(self) -> tuple[Composition, ...]:
        """Sides up to the longest loop of the catalogue, whatever the enquiry allows."""
        if self._all_compositions is None:
            longest = max(self.longest, self.catalogue.rules.longest_loop)
            self._all_compositions = compositions(self.catalogue, 0.5 * longest)
        return self._all_compositions

    def electrics(self, sections: int) -> ElectricalChoice:
        """Sets of supplies for a number of sections."""
        if sections not in self._electrics:
            self._electrics[sections] = electrical_choice(self.catalogue, sections)
        return self._electrics[sections]

    def controllers(self, sections: int) -> tuple[tuple[int, Cents, str], ...]:
        """Controllers for a number of sections."""
        if sections not in self._controllers:
            self._controllers[sections] = cheapest_controller(self.catalogue, sections)
        return self._controllers[sections]

    def serves(self, option: Option, composition: Composition) -> bool:
        """Whether supplies and a controller can be had for so many sections."""
        sections = 2 * (composition.pieces + option.bend.sections)
        return len(self.electrics(sections).price) > 0 and len(self.controllers(sections)) > 0


@dataclass(frozen=True)
class _Side:
    """One composition for one option, and the price that it cannot undercut."""

    composition: Composition
    base: Cents
    least_carriers: int
    electrics: ElectricalChoice
    controllers: tuple[tuple[int, Cents, str], ...]

    def least_price(self, carriers: int, per_carrier: Cents) -> Cents:
        """A price that no configuration with at least so many carriers undercuts."""
        cheapest = min(entry[1] for entry in self.controllers)
        return self.base + carriers * per_carrier + int(self.electrics.price[0]) + cheapest


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
    per_carrier = carrier_price(screened.context.about.option, workshop.catalogue)
    found: list[Candidate] = []
    best: Cents | None = None
    for side in _sides(setting, workshop, per_carrier):
        if best is not None and side.least_price(side.least_carriers, per_carrier) > best:
            break
        for on in placed_on(setting.about, side.composition):
            for candidate in _on_loop(side, on, setting, used, per_carrier, best):
                found.append(candidate)
                best = candidate.price if best is None else min(best, candidate.price)
    found.sort(key=lambda candidate: (candidate.price, candidate.used))
    return found


def _sides(setting: SettingContext, workshop: Workshop, per_carrier: Cents) -> list[_Side]:
    """Compositions that may be built, in the order of a price they cannot undercut."""
    about = setting.about
    fixed = fixed_price(about.option, workshop.case, workshop.catalogue)
    rail = 1 if about.option.family.lower_guide else 0
    sides = []
    for composition in workshop.compositions():
        side = _side(setting, workshop, composition, fixed + composition.price[rail])
        if side is not None:
            sides.append(side)
    sides.sort(key=lambda side: side.least_price(side.least_carriers, per_carrier))
    return sides


def _side(
    setting: SettingContext, workshop: Workshop, composition: Composition, base: Cents
) -> _Side | None:
    about = setting.about
    if 2.0 * (composition.length + about.bend_length) > workshop.longest + 1e-9:
        return None
    sections = 2 * (composition.pieces + about.option.bend.sections)
    electrics, controllers = workshop.electrics(sections), workshop.controllers(sections)
    if not len(electrics.price) or not controllers:
        return None
    return _Side(composition, base, _fewest(composition, setting), electrics, controllers)


def _fewest(composition: Composition, setting: SettingContext) -> int:
    """Carriers that no setting and no placement gets below.

    The lap is at least the guide at the highest speeds of any row, the dwells, and what each stop
    costs within the room that it surely has to either side: there the carrier is no quicker than
    from rest at the highest acceleration without jerk.
    """
    about, settings = setting.about, setting.settings
    a, v, bend = settings.acceleration.max(), settings.speed.max(), settings.bend_speed.max()
    stations, base = about.case.station, about.option.base
    room = min(0.5 * about.spacing, about.bend_clearance - 0.5 * base)
    from_rest = np.sqrt(2.0 * room / a) if room < v * v / (2.0 * a) else room / v + v / (2.0 * a)
    straight = 2.0 * (composition.length - base) / v
    turning = 2.0 * (about.bend_length + base) / bend
    stops = sum(station.occupied + 2.0 * (from_rest - room / v) for station in stations)
    lost = sum(station.positions - 1.0 for station in stations)
    return max(1, int(np.ceil((straight + turning + stops) / about.takt + lost - 1e-9)))


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


def _on_loop(
    side: _Side,
    on: LoopContext,
    setting: SettingContext,
    used: Array,
    per_carrier: Cents,
    best: Cents | None,
) -> Iterator[Candidate]:
    """Candidates on one loop, by rising number of carriers, while they may still be cheapest."""
    layout, _ = _sieve(LayoutContext(on, setting), np.zeros_like(used), GEOMETRY_CHECKS)
    if len(layout.setting.settings) < len(used):
        return
    layout, used = _sieve(layout, used, FLEET_CHECKS)
    need = layout.carriers_for_rate
    for level in np.unique(need):
        if best is not None and side.least_price(int(level), per_carrier) > best:
            return
        rows = np.flatnonzero(need == level)
        for candidate in _priced(side, layout.take(rows), used[rows], per_carrier, best):
            best = candidate.price if best is None else min(best, candidate.price)
            yield candidate


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


def _priced(
    side: _Side, layout: LayoutContext, used: Array, per_carrier: Cents, best: Cents | None
) -> Iterator[Candidate]:
    layout, used = _sieve(layout, used, LAYOUT_CHECKS)
    if len(used) == 0:
        return
    carriers = layout.carriers.astype(np.int64)
    mean, peak = whole_powers(layout)
    idle = rounding.demand(layout.idle_power, "power")
    supply = side.electrics.cheapest(mean + idle, peak + idle)
    control = controller_price(side.controllers, carriers)
    possible = (supply >= 0) & (control >= 0)
    price = side.base + carriers * per_carrier + side.electrics.price[supply] + control
    for row in _worth_keeping(
        price, used, layout.setting.settings.acceleration, carriers, mean, peak, possible, best
    ):
        yield Candidate(
            on=layout.on,
            setting=layout.setting.take(np.array([row])),
            composition=side.composition,
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
