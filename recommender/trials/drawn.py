"""One fixed configuration under many draws of its inputs at once, as arrays.

The same formulas as in an audit, with the draws along the axis on which a search has its options
or its settings. Not every check is worked out so, and not for every input: `ALONG` names the
inputs; for the others, and for the checks that `utilisations` does not name, there are audits.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.bodies import Batch
from recommender.choice.carrier.directions import straight_directions, turning_directions
from recommender.choice.carrier.load_cases import CaseLoads, bend_loads, straight_loads
from recommender.choice.carrier.rest import settling_of
from recommender.choice.carrier.setting import LoadTable, OptionContext, SettingContext
from recommender.choice.carrier.settings import Settings
from recommender.choice.checks import BEND_CHECKS, SETTING_CHECKS, STRAIGHT_CHECKS
from recommender.choice.checks.entry import HOLDS
from recommender.choice.checks.findings import TAKT
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.lap import Lap, run_lap
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.loop.power import mean_power, peak_fleet_power
from recommender.choice.loop.takt import waits_of
from recommender.choice.parts.braking import fall_of, link_of
from recommender.choice.parts.configuration import Configuration
from recommender.choice.parts.options import Option, reserve_of
from recommender.choice.parts.pricing import offered
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.constants import STANDARD_GRAVITY, Array
from recommender.physics.fleet import batch_wait, places_utilisation, room_utilisation
from recommender.physics.takt import Waits
from recommender.physics.thermal import ambient_share

Values = Mapping[str, Array]
"""Of each input that is not sure its value in each draw, (draws,), SI."""

ALONG: Final = frozenset(
    {
        "load.mass",
        "load.friction",
        "load.clamping_force",
        "load.cg_height",
        "load.reach",
        "load.offset",
        "tooling.mass",
        "tooling.reach",
        "tooling.cg_height",
        "rate.items",
        "site.ambient",
        "life.hours",
    }
)
"""Inputs that arrays take, beside the dwell and the settling of each station.

Where the load reaches farther, carriers may need more room in bends, which arrays do not look at:
what they say of places is not believed then (`recommender.trials.fitted`).
"""

_OF_STATION: Final = ("dwell", "settling")
_AT_ONCE: Final = 60_000
"""Draws times load cases that are worked out at a time, for the sake of memory."""


def along(key: str, case: Case) -> bool:
    """Whether arrays take an input; none where carriers of a line wait on their way for a turn."""
    if case.takes_turns:
        return False
    table, _, name = key.rpartition(".")
    stations = {f"station.{station.name}" for station in case.station}
    return key in ALONG or (table in stations and name in _OF_STATION)


@dataclass(frozen=True)
class _Bodies(Batch):
    """As many options as there are draws, all the same; numbers of the case may differ."""

    count: int = 1

    def column(self, read: Callable[[Option], Any]) -> Array:
        return np.broadcast_to(
            np.asarray(read(self.options[0]), dtype=np.float64), (self.count, 1)
        ).copy()


@dataclass(frozen=True)
class _Drawn(OptionContext):
    """An option with a row for each draw.

    Dwells are (stations, draws), since checks look at them station by station, and times for which
    a place is occupied (draws, stations).
    """

    asked: Case | None = None
    values: Values = field(default_factory=dict)
    count: int = 1

    @cached_property
    def loaded(self) -> _Bodies:
        """The loaded carrier in each draw."""
        tables = {}
        for name in ("load", "tooling"):
            update = {
                key.removeprefix(f"{name}."): value[:, None]
                for key, value in self.values.items()
                if key.startswith(f"{name}.")
            }
            tables[name] = getattr(self.case, name).model_copy(update=update)
        return _Bodies((self.option,), self.case.model_copy(update=tables), self.rules, self.count)

    def of(self, key: str, usual: float) -> Array:
        return np.broadcast_to(self.values.get(key, np.asarray(usual)), (self.count,))

    @cached_property
    def mass(self) -> Any:
        return self.loaded.mass[:, 0]

    @cached_property
    def continuous_force(self) -> Any:
        ambient = self.of("site.ambient", self.case.site.ambient)
        share = ambient_share(ambient, self.rules.rated_ambient, self.rules.winding_limit)
        return (self.option.carrier.continuous_force * share)[:, None]

    @cached_property
    def takt(self) -> Any:
        reserve = reserve_of(self.case, self.catalogue)
        rate = self.of("rate.items", self.case.rate.items)
        return self.option.items / (rate * (1.0 + reserve))

    @cached_property
    def dwells(self) -> Array:
        found = []
        for station in self.case.station:
            drawn = self.of(f"station.{station.name}.dwell", station.dwell)
            found.append(drawn * (self.option.items if station.dwell_for == "item" else 1))
        return np.stack(found)

    @cached_property
    def occupied(self) -> Array:
        asked = self.asked or self.case
        own = settling_of(self.loaded, [station.tolerance for station in asked.station])
        settled = []
        for k, station in enumerate(asked.station):
            key = f"station.{station.name}.settling"
            if station.settling is None:
                settled.append(self.values.get(key, own[:, k]))
            else:
                settled.append(self.of(key, station.settling))
        return self.dwells.T + np.stack(settled, axis=-1)


class _Layout(LayoutContext):
    """A loop on which all rows are of one motion."""

    @cached_property
    def lap(self) -> Lap:
        settings = self.setting.settings
        one = run_lap(self.on.plan, settings.take(slice(0, 1)), self.on.bend_travel)
        arrays: dict[str, Any] = {
            name: np.broadcast_to(value, (*value.shape[:-1], len(settings)))
            for name, value in vars(one).items()
            if isinstance(value, np.ndarray)
        }
        return replace(one, settings=settings, **arrays)

    @cached_property
    def lap_time(self) -> Array:
        return np.asarray(self.lap.moving_time + self.about.occupied.sum(axis=-1))


def utilisations(
    configuration: Configuration, case: Case, catalogue: Catalogue, values: Values
) -> dict[str, Array]:
    """What each check comes to in each draw, (draws,), by its id.

    Of the takt only whether it is kept: 0 if it is, 2 if not.

    Parameters
    ----------
    configuration : Configuration
    case : Case
    catalogue : Catalogue
    values : mapping of str to ndarray
        Keys for which `along` holds.

    Returns
    -------
    dict
        Without the checks that are not worked out here.
    """
    count = len(next(iter(values.values())))
    usual = OptionContext(configuration.option, case, catalogue)
    alone = layout_of(configuration, setting_of(usual, configuration.motion))
    waits = waits_of(alone, configuration.carriers)
    step = max(_AT_ONCE // len((*straight_directions(case), *turning_directions(case))), 1)
    pieces = []
    for first in range(0, count, step):
        some = {key: value[first : first + step] for key, value in values.items()}
        layout = _layout(configuration, case, catalogue, some, min(step, count - first))
        pieces.append(_checks(configuration, layout, waits))
    return {check: np.concatenate([piece[check] for piece in pieces]) for check in pieces[0]}


def _layout(
    configuration: Configuration, case: Case, catalogue: Catalogue, values: Values, count: int
) -> _Layout:
    about = _Drawn(configuration.option, case, catalogue, case, values, count)
    motion = configuration.motion
    settings = Settings(
        *(
            np.full(count, value)
            for value in (motion.acceleration, motion.jerk, motion.speed, motion.bend_speed)
        )
    )
    rows = np.arange(count)
    straight = straight_loads(about.loaded, settings.acceleration[:, None])
    bend = bend_loads(about.loaded, settings.bend_speed[:, None])
    setting = SettingContext(
        about,
        settings,
        LoadTable(_turned(straight, about.alone), 0, rows),
        LoadTable(_turned(bend, about.alone), 0, rows),
    )
    on = LoopContext(
        about,
        configuration.loop,
        configuration.placement,
        configuration.front,
        configuration.back,
    )
    return _Layout(on, setting, configuration.carriers)


def _turned(loads: CaseLoads, batch: Batch) -> CaseLoads:
    """With the draws along the axis of settings in place of options, or back, for a batch of one or
    of all of them."""

    def turned(part: Any) -> dict[str, Any]:
        return {
            entry.name: np.swapaxes(value, 0, 1)
            for entry in fields(part)
            if isinstance(value := getattr(part, entry.name), np.ndarray) and value.ndim > 1
        }

    rollers = replace(loads.rollers, **turned(loads.rollers))
    return replace(loads, batch=batch, rollers=rollers, **turned(loads))


def _checks(configuration: Configuration, layout: _Layout, waits: Waits | None) -> dict[str, Array]:
    """The checks in some draws."""
    about = layout.about
    assert isinstance(about, _Drawn)
    found = _load_checks(layout.setting, about)
    for check in SETTING_CHECKS:
        outcome = check.evaluate(layout.setting)
        if outcome is not None:
            found[check.about.id] = outcome.utilisation()
    payload = about.loaded.payload[:, 0]
    rated = about.option.carrier.rated_payload
    found["rating.payload"] = np.asarray(payload / rated, dtype=np.float64)
    found |= _fleet_checks(layout, about)
    found |= _supply_checks(configuration, layout)
    found |= _braking_checks(configuration, about)
    found[TAKT.id] = np.where(_too_slow(waits, layout, about), 2.0, 0.0)
    return found


def _load_checks(setting: SettingContext, about: _Drawn) -> dict[str, Array]:
    """Checks of load cases; where both axes have the same one the worse counts."""
    found: dict[str, Array] = {}
    for checks, table in ((STRAIGHT_CHECKS, setting.straight), (BEND_CHECKS, setting.bend)):
        loads = _turned(table.loads, about.loaded)
        for check in checks:
            outcome = check.evaluate(loads)
            if outcome is not None:
                own = outcome.utilisation()[:, 0]
                found[check.about.id] = np.maximum(found.get(check.about.id, own), own)
    return found


def _fleet_checks(layout: _Layout, about: _Drawn) -> dict[str, Array]:
    """Stations, fleet and life."""
    on, positions, takt, lag = layout.on, about.positions, about.takt, about.rules.start_lag
    taken = about.occupied + layout.exchange
    order = on.order
    room = room_utilisation(
        layout.station_legs[:, order],
        about.occupied[:, order],
        layout.exchange[:, order],
        on.gaps[order],
        positions[order],
        takt,
        lag=lag,
    )
    lap = layout.carriers * takt
    hours = about.of("life.hours", about.case.life.hours)
    return {
        "fleet.bend_spacing": about.least_bend_spacing / layout.setting.settings.bend_speed / takt,
        "station.exchange": (taken / (takt[:, None] * positions)).max(axis=-1),
        "fleet.lap": (layout.lap_time + batch_wait(positions, takt)) / lap,
        "fleet.places": places_utilisation(layout.carriers, taken, takt, on.places, lag=lag),
        "fleet.room": room.max(axis=-1),
        "roller.life": hours * 3600.0 / (layout.life_laps * lap),
    }


def _supply_checks(configuration: Configuration, layout: _Layout) -> dict[str, Array]:
    """Powers, where one supply feeds the whole loop."""
    groups = configuration.electrics.groups
    if len(groups) != 1 or groups[0].count != configuration.sections:
        return {}
    known = {part.id: part for part in layout.about.catalogue.supply}
    supply = known[groups[0].supply]
    return {
        "supply.mean": (mean_power(layout) + layout.idle_power) / supply.mean_power,
        "supply.peak": (peak_fleet_power(layout) + layout.idle_power) / supply.peak_power,
    }


def _braking_checks(configuration: Configuration, about: _Drawn) -> dict[str, Array]:
    """What comes back as all carriers stop from their top speed."""
    catalogue = about.catalogue
    resistors = {part.id: part for part in offered(catalogue, about.case).brake_resistor}
    if not resistors:
        return {}
    supplies = {part.id: part for part in catalogue.supply}
    taken = sum(link_of(supplies[group.supply]) for group in configuration.electrics.groups)
    taken += sum(count * resistors[id_].pulse_energy for id_, count in configuration.resistors)
    fall = STANDARD_GRAVITY * fall_of(about.option, about.case)
    each = about.mass * (0.5 * configuration.motion.speed**2 + fall)
    return {"braking.energy": configuration.carriers * each * (1.0 - about.rules.recovered) / taken}


def _too_slow(waits: Waits | None, layout: _Layout, about: _Drawn) -> NDArray[np.bool_]:
    """Whether the loop falls short of the takt that is asked, exactly, (draws,).

    It does if there is a cycle of waits that lasts longer than its takts, and then the longest way
    along the waits, less a takt for each repetition, grows without end.
    """
    limit = about.takt * HOLDS
    if waits is None:
        return np.ones(about.count, dtype=bool)
    station = np.searchsorted(waits.first, np.arange(waits.nodes), side="right") - 1
    usual = OptionContext(about.option, about.asked or about.case, about.catalogue).occupied
    order = layout.on.order
    own: dict[tuple[int, int, int], float] = {}
    for edge in waits.edges:
        key = edge.source, edge.target, edge.count
        rest = edge.weight - float(usual[order[station[edge.source]]])
        own[key] = max(own.get(key, rest), rest)
    dwells = about.occupied[:, order]
    waited = [
        (source, target, dwells[:, station[source]] + rest - limit * count)
        for (source, target, count), rest in own.items()
    ]
    latest = np.zeros((waits.nodes, about.count))
    tolerance = 1e-12 * float(limit.max())
    for _ in range(waits.nodes + 1):
        before = latest.copy()
        for source, target, weight in waited:
            np.maximum(latest[target], before[source] + weight, out=latest[target])
        grown = (latest > before + tolerance).any(axis=0)
        if not grown.any():
            break
    return np.asarray(grown | (waits.least > limit))
