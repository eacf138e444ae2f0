"""The audit agrees with the search about what is chosen, and finds every way to spoil it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from recommender.choice import checks
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks.findings import TAKT
from recommender.choice.decision.audit import Audit, audit
from recommender.choice.decision.option_report import configure
from recommender.choice.loop.built import layout_of, setting_of
from recommender.choice.loop.demand import LoopDemand
from recommender.choice.parts.configuration import Configuration, Group
from recommender.choice.parts.options import Option
from recommender.choice.parts.placement import Loop, Placement
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import screen
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from tests.oracles.grid_search import cheapest


@dataclass(frozen=True)
class Situation:
    """A configuration, the case that it is for, and the catalogue that it is built from."""

    configuration: Configuration
    case: Case
    catalogue: Catalogue

    def audit(self) -> Audit:
        return audit(self.configuration, self.case, self.catalogue)

    def with_configuration(self, **values: Any) -> "Situation":
        return replace(self, configuration=replace(self.configuration, **values))

    def with_motion(self, **factors: float) -> "Situation":
        motion = self.configuration.motion
        faster = {name: factor * getattr(motion, name) for name, factor in factors.items()}
        return self.with_configuration(motion=replace(motion, **faster))

    def with_electrics(self, **values: Any) -> "Situation":
        return self.with_configuration(electrics=replace(self.configuration.electrics, **values))

    def with_supply(self, id_: str) -> "Situation":
        """One supply for the whole loop."""
        return self.with_electrics(groups=(Group(id_, 0, self.configuration.sections),))

    def with_case(self, table: str, **values: Any) -> "Situation":
        changed = getattr(self.case, table).model_copy(update=values)
        return replace(self, case=self.case.model_copy(update={table: changed}))

    def with_rules(self, **values: Any) -> "Situation":
        rules = self.catalogue.rules.model_copy(update=values)
        return replace(self, catalogue=self.catalogue.model_copy(update={"rules": rules}))

    def with_station(self, number: int, **values: Any) -> "Situation":
        stations = list(self.case.station)
        stations[number] = stations[number].model_copy(update=values)
        return replace(self, case=self.case.model_copy(update={"station": tuple(stations)}))

    def with_carrier(self, **values: Any) -> "Situation":
        """The same carrier with other data."""
        option = self.configuration.option
        return self.with_option(carrier=option.carrier.model_copy(update=values))

    def with_roller(self, **values: Any) -> "Situation":
        option = self.configuration.option
        return self.with_option(roller=option.roller.model_copy(update=values))

    def with_option(self, **values: Any) -> "Situation":
        return self.with_configuration(option=replace(self.configuration.option, **values))


Spoil = Callable[[Situation], Situation]


def crowded(situation: Situation) -> Situation:
    """More carriers than there is room for on the loop."""
    return situation.with_configuration(carriers=60)


def stretched(situation: Situation) -> Situation:
    """Straights three metres longer, the stations of the back moved along."""
    loop, at = situation.configuration.loop, situation.configuration.placement.at
    longer = Loop(loop.straight + 3.0, loop.bend)
    moved = (place + (3.0 if place >= loop.back_start else 0.0) for place in at)
    return placed(situation.with_configuration(loop=longer), moved)


def huddled(situation: Situation) -> Situation:
    """The second station a hand's breadth behind the first."""
    base, at = situation.configuration.option.base, situation.configuration.placement.at
    first = 0.5 * base + 0.11
    return placed(situation, (first, first + 0.1, *at[2:]))


def at_the_bend(situation: Situation) -> Situation:
    """The first station so near the bend that a carrier standing there is still in it."""
    base, at = situation.configuration.option.base, situation.configuration.placement.at
    return placed(situation, (0.5 * base + 0.01, *at[1:]))


def placed(situation: Situation, places: Iterable[float]) -> Situation:
    at, length = tuple(places), situation.configuration.loop.length
    gaps = tuple((b - a) % length for a, b in zip(at, (*at[1:], at[0]), strict=True))
    return situation.with_configuration(placement=Placement(at, gaps))


def on_the_widest_pair(situation: Situation) -> Situation:
    pair = max(situation.catalogue.carrier, key=lambda carrier: carrier.coupling_distance or 0.0)
    bend = min(situation.catalogue.bend, key=lambda bend: bend.radius)
    family = situation.catalogue.families[pair.family]
    return situation.with_option(carrier=pair, family=family, bend=bend)


def overdrawn(situation: Situation) -> Situation:
    """A weak supply for most of the loop beside a strong one; together they give enough."""
    configuration, most = situation.configuration, situation.configuration.sections - 1
    about = OptionContext(configuration.option, situation.case, situation.catalogue)
    setting = setting_of(about, configuration.motion)
    _, peak = LoopDemand(layout_of(configuration, setting)).of(0, most)
    weak, strong = situation.catalogue.supply[0], situation.catalogue.supply[-1]
    weak = weak.model_copy(update={"peak_power": peak - 1.0})
    catalogue = situation.catalogue.model_copy(update={"supply": (weak, strong)})
    fed = situation.with_electrics(groups=(Group(weak.id, 0, most), Group(strong.id, most, 1)))
    return replace(fed, catalogue=catalogue)


def late_controller(situation: Situation) -> Situation:
    """The controller that is bought takes 20 weeks; another one would have come in time."""
    bought = situation.configuration.electrics.controller
    parts = tuple(
        part.model_copy(update={"lead_time": 20.0}) if part.id == bought else part
        for part in situation.catalogue.controller
    )
    catalogue = situation.catalogue.model_copy(update={"controller": parts})
    return replace(situation, catalogue=catalogue).with_case("commercial", latest_delivery=18.0)


# What is spoilt, in which case, and the check that must find it.
SPOILT: dict[str, tuple[str, Spoil, str]] = {
    "a carrier fewer": (
        "crate",
        lambda s: s.with_configuration(carriers=s.configuration.carriers - 1),
        "fleet.lap",
    ),
    "a carrier fewer, event by event": (
        "cantilever",
        lambda s: s.with_configuration(carriers=s.configuration.carriers - 1),
        "fleet.takt",
    ),
    "a loop full of carriers": ("nest", crowded, "fleet.places"),
    "more carriers than the controller commands": (
        "batch",
        lambda s: s.with_configuration(carriers=200),
        "controller.carriers",
    ),
    "twice the acceleration under friction": (
        "crate",
        lambda s: s.with_motion(acceleration=2.0),
        "load.slip",
    ),
    "a tall load": ("batch", lambda s: s.with_case("load", cg_height=2.0), "load.tip"),
    "more acceleration than magnets give": (
        "nest",
        lambda s: s.with_motion(acceleration=2.0),
        "drive.peak_straight",
    ),
    "more acceleration than the enquiry allows": (
        "crate",
        lambda s: s.with_motion(acceleration=1.1 * 3.0 / s.configuration.motion.acceleration),
        "limit.acceleration",
    ),
    "more acceleration than the house builds for": (
        "nest",
        lambda s: s.with_rules(most_acceleration=0.9 * s.configuration.motion.acceleration),
        "house.acceleration",
    ),
    "bends three times as fast": (
        "cantilever",
        lambda s: s.with_motion(bend_speed=3.0, speed=2.0),
        "drive.peak_bend",
    ),
    "bends at a crawl": (
        "nest",
        lambda s: s.with_motion(bend_speed=0.02),
        "fleet.bend_spacing",
    ),
    "faster than rated": ("assembly", lambda s: s.with_motion(speed=9.0), "rating.speed"),
    "faster than the enquiry allows": (
        "crate",
        lambda s: s.with_case("limits", speed=0.9 * s.configuration.motion.speed),
        "limit.speed",
    ),
    "a bend that jerks the load": (
        "crate",
        lambda s: s.with_case("limits", jerk=5.0),
        "limit.jerk_bend",
    ),
    "harder than a load is taken to bear": (
        "cantilever",
        lambda s: s.with_motion(acceleration=10.5, jerk=210.0),
        "load.acceleration",
    ),
    "a clamp with a tenth of its force": (
        "nest",
        lambda s: s.with_case("load", clamping_force=30.0),
        "load.clamp",
    ),
    "a press on an overhang that must not give": (
        "nest",
        lambda s: s.with_station(1, tolerance=1e-6),
        "station.deflection",
    ),
    "more jerk than the enquiry allows": (
        "crate",
        lambda s: s.with_case("limits", jerk=0.9 * s.configuration.motion.jerk),
        "limit.jerk",
    ),
    "a load heavier than rated": (
        "crate",
        lambda s: s.with_case("load", mass=s.configuration.option.carrier.rated_payload),
        "rating.payload",
    ),
    "more items on a carrier than it may carry": (
        "two-up",
        lambda s: s.with_option(
            items=1 + int(s.configuration.option.carrier.rated_payload / s.case.load.mass)
        ),
        "rating.payload",
    ),
    "a guide that bears a third of the roll moment": (
        "cantilever",
        lambda s: s.with_carrier(rated_roll_moment=15.0),
        "rating.roll_moment",
    ),
    "a guide that bears little pitch": (
        "assembly",
        lambda s: s.with_carrier(rated_pitch_moment=100.0),
        "rating.pitch_moment",
    ),
    "a load so far out that a stop yaws it off": (
        "cantilever",
        lambda s: s.with_case("load", reach=1.2),
        "rating.yaw_moment",
    ),
    "a roller with a seventh of the static rating": (
        "assembly",
        lambda s: s.with_roller(static_rating=0.15 * s.configuration.option.roller.static_rating),
        "roller.static",
    ),
    "a roller with a quarter of the working load": (
        "assembly",
        lambda s: s.with_roller(working_load=0.25 * s.configuration.option.roller.working_load),
        "roller.working_load",
    ),
    "a hundred times the hours": (
        "crate",
        lambda s: s.with_case("life", hours=100 * s.case.life.hours),
        "roller.life",
    ),
    "windings that stand half the heat": (
        "nest",
        lambda s: s.with_carrier(
            continuous_force=0.5 * s.configuration.option.carrier.continuous_force
        ),
        "drive.continuous",
    ),
    "a wave higher than the rim": (
        "tray",
        lambda s: s.with_case(
            "load", liquid=s.case.load.liquid.model_copy(update={"freeboard": 0.01})
        ),
        "load.spill",
    ),
    "a tray twice as quick": (
        "tray",
        lambda s: s.with_motion(acceleration=4.0, jerk=16.0),
        "load.spill",
    ),
    "a dwell of half a minute": (
        "crate",
        lambda s: s.with_station(1, dwell=30.0),
        "station.exchange",
    ),
    "a longer loop than the enquiry allows": ("crate", stretched, "loop.length"),
    "a loop wider than the floor": (
        "crate",
        lambda s: s.with_case("loop", max_width=1.0),
        "loop.width",
    ),
    "a loop longer than the floor": (
        "crate",
        lambda s: s.with_case("loop", max_extent=1.5),
        "loop.extent",
    ),
    "stations on top of each other": ("nest", huddled, "fleet.gaps"),
    "a station nearer than asked": ("crate", huddled, "loop.stations"),
    "a station in the bend": ("crate", at_the_bend, "loop.stations"),
    "a batch with no room before it": (
        "nest",
        lambda s: s.with_station(1, positions=9),
        "fleet.gaps",
    ),
    "a slow station behind a quick one": ("cantilever", huddled, "fleet.room"),
    "a pair too long for its bend": ("assembly", on_the_widest_pair, "pair.bend"),
    "rails of a bend for another wheelbase": (
        "nest",
        lambda s: s.with_option(
            bend=s.configuration.option.bend.model_copy(update={"cut_for": 0.25})
        ),
        "guide.bend_fit",
    ),
    "a carrier that waits in an upright bend on weak magnets": (
        "upright",
        lambda s: s.with_carrier(continuous_force=25.0),
        "drive.standing",
    ),
    "a bus like a thread": (
        "crate",
        lambda s: replace(
            s,
            catalogue=s.catalogue.model_copy(
                update={
                    "catalogue": s.catalogue.catalogue.model_copy(update={"bus_resistance": 2.0})
                }
            ),
        ),
        "supply.voltage",
    ),
    "a load lying loose on an upright loop": (
        "crate",
        lambda s: s.with_case("loop", plane="upright"),
        "load.holding",
    ),
    "one small supply for a strong fleet": (
        "nest",
        lambda s: s.with_supply("dc-500").with_configuration(carriers=28),
        "supply.peak",
    ),
    "idle power that the supplies lack": (
        "crate",
        lambda s: replace(
            s,
            catalogue=s.catalogue.model_copy(
                update={
                    "catalogue": s.catalogue.catalogue.model_copy(
                        update={"section_idle_power": 200.0}
                    )
                }
            ),
        ),
        "supply.mean",
    ),
    "a supply for fewer sections": (
        "assembly",
        lambda s: s.with_supply("dc-500"),
        "supply.sections",
    ),
    "two supplies for the same section": (
        "crate",
        lambda s: s.with_electrics(groups=(Group("dc-500", 0, 5), Group("dc-500", 4, 4))),
        "supply.sections",
    ),
    "a section without a supply": (
        "crate",
        lambda s: s.with_electrics(groups=(Group("dc-500", 0, 4), Group("dc-500", 4, 3))),
        "supply.sections",
    ),
    "a supply for each section": (
        "crate",
        lambda s: s.with_electrics(groups=tuple(Group("dc-500", k, 1) for k in range(8))),
        "supply.number",
    ),
    "a run that draws more than its supply gives": ("nest", overdrawn, "supply.peak"),
    "feeds too far apart": (
        "crate",
        lambda s: s.with_electrics(feed_sections=s.configuration.electrics.feed_sections[:1]),
        "supply.feeds",
    ),
    "a feed in a bend": (
        "crate",
        lambda s: s.with_electrics(feed_sections=(0, 2, 4)),
        "supply.feeds",
    ),
    "a supply without a feed": (
        "crate",
        lambda s: s.with_electrics(groups=(Group("dc-500", 1, 3), Group("dc-500", 4, 5))),
        "supply.feeds",
    ),
    "a controller for fewer sections": (
        "assembly",
        lambda s: s.with_configuration(
            front=9 * s.configuration.front, back=9 * s.configuration.back
        ),
        "supply.sections",
    ),
    "brake resistors left at the works": (
        "crate",
        lambda s: s.with_configuration(resistors=()).with_motion(speed=3.0),
        "braking.energy",
    ),
    "brake resistors of a smaller size": (
        "crate",
        lambda s: s.with_configuration(resistors=(("br-100", 1),)).with_motion(speed=3.0),
        "braking.power",
    ),
    "a delivery sooner than a part that was bought": (
        "crate",
        late_controller,
        "commercial.chain",
    ),
    "a budget one cent short": (
        "crate",
        lambda s: s.with_case("commercial", budget=f"{float(s.audit().price) - 0.01:.2f} EUR"),
        "commercial.budget",
    ),
    "an upright loop under a low ceiling": (
        "upright",
        lambda s: s.with_case("loop", max_height=0.7),
        "loop.height",
    ),
    "a station longer than its straight": (
        "crate",
        lambda s: s.with_station(0, length=3.0),
        "loop.stations",
    ),
    "work for each item that leaves no time": (
        "two-up",
        lambda s: s.with_station(0, dwell_for="item", dwell=3.0),
        "station.exchange",
    ),
    "a delivery sooner than any bend": (
        "crate",
        lambda s: s.with_case("commercial", latest_delivery=7.5),
        "commercial.delivery",
    ),
}


def chosen(worked: Any) -> Situation:
    """What is recommended for a worked case."""
    return Situation(worked.decision.chosen.configuration, worked.case, worked.catalogue)


@pytest.mark.parametrize("what", SPOILT)
def test_what_is_spoilt_fails_its_check(what: str, worked_case: Any) -> None:
    name, spoil, check = SPOILT[what]
    whole = chosen(worked_case(name))
    assert not whole.audit().failures
    failures = [finding.check for finding in spoil(whole).audit().failures]
    assert check in failures


def test_every_check_can_be_failed() -> None:
    lists = [value for name, value in vars(checks).items() if name.endswith("_CHECKS")]
    known = {check.about.id for entries in lists for check in entries} | {TAKT.id}
    assert {check for _, _, check in SPOILT.values()} == known


def test_audit_agrees_with_the_search(worked: Any) -> None:
    """Price, carriers and powers of every candidate of the chosen option."""
    if worked.decision.chosen is None:
        return
    case, catalogue = worked.case, worked.catalogue
    longest = case.loop.max_length or catalogue.rules.longest_loop
    option = worked.decision.chosen.configuration.option
    (entry,) = screen([option], case, catalogue, Grid())
    price_book = PriceBook(case, catalogue, longest)
    best = cheapest(entry, price_book)[0]
    powers = best.mean_power, best.peak_power
    choice = configure(best.on, best.setting, best.carriers, price_book, powers)
    checked = audit(choice, case, catalogue)
    findings = {finding.check: finding for finding in checked.findings}
    assert checked.price * 100 == best.price >= worked.decision.price
    assert choice.carriers == best.carriers
    idle = choice.sections * catalogue.catalogue.section_idle_power
    for check, milliwatts in (("supply.mean", best.mean_power), ("supply.peak", best.peak_power)):
        # Whole milliwatts, upward.
        short = milliwatts / 1e3 - (findings[check].demand - idle)
        assert -1e-6 <= short <= 1e-3 + 1e-6
    used = max(f.utilisation for f in checked.findings if not f.check.startswith("supply"))
    assert used <= 1 + 1e-9


def test_audit_of_an_option_equals_what_the_search_reported(worked: Any) -> None:
    """Worked out for one option alone and in a batch with all others."""
    for looked in worked.decision.looked:
        if not looked.feasible:
            continue
        again = audit(looked.audit.configuration, worked.case, worked.catalogue)
        assert again.price == looked.audit.price
        assert again.takt == pytest.approx(looked.audit.takt, rel=1e-12)
        assert [f.check for f in again.findings] == [f.check for f in looked.audit.findings]
        for one, other in zip(again.findings, looked.audit.findings, strict=True):
            assert one.demand == pytest.approx(other.demand, rel=1e-9, abs=1e-12), one.check
            assert one.limit == pytest.approx(other.limit, rel=1e-9, abs=1e-12), one.check


def test_one_carrier_fewer_never_keeps_the_takt(worked: Any) -> None:
    """The fleet is the smallest: by Little's law, or by the life of its rollers."""
    if worked.decision.chosen is None:
        return
    configuration = worked.decision.chosen.configuration
    fewer = replace(configuration, carriers=configuration.carriers - 1)
    failures = {f.check for f in audit(fewer, worked.case, worked.catalogue).failures}
    assert failures & {"fleet.lap", "roller.life"}


def test_more_headroom_everywhere_still_passes(worked: Any) -> None:
    """What only relieves a configuration fails no check."""
    if worked.decision.chosen is None:
        return
    configuration = worked.decision.chosen.configuration
    easier = worked.case.model_copy(
        update={
            "rate": worked.case.rate.model_copy(update={"items": 0.95 * worked.case.rate.items}),
            "life": worked.case.life.model_copy(update={"hours": 0.5 * worked.case.life.hours}),
        }
    )
    assert not audit(configuration, easier, worked.catalogue).failures


def test_lap_time_is_the_sum_of_what_happens_in_a_lap(worked: Any) -> None:
    """Never shorter than all dwells and the guide at the speeds of the configuration."""
    found = worked.decision.chosen
    if found is None:
        return
    configuration, motion = found.configuration, found.configuration.motion
    about = OptionContext(configuration.option, worked.case, worked.catalogue)
    standing = float(about.occupied.sum())
    bends = 2 * configuration.loop.bend / motion.bend_speed
    straights = 2 * configuration.loop.straight / motion.speed
    stops = len(worked.case.station) * motion.speed / motion.acceleration
    assert found.lap_time >= standing + bends + straights * (1 - 1e-9)
    # A stop costs at most what speeding up and braking between the limits take.
    ramps = motion.acceleration / motion.jerk
    legs = len(worked.case.station) + 4
    assert found.lap_time <= standing + bends * 2 + straights + stops + legs * 2 * ramps + legs * (
        motion.speed / motion.acceleration
    )


def option_of(situation: Situation) -> Option:
    return situation.configuration.option


def test_utilisation_of_the_drive_is_that_of_newton(worked_case: Any, catalogue: Catalogue) -> None:
    """A hand calculation of one check of the audit: m·a + resistance against the peak force."""
    situation = chosen(worked_case("nest"))
    checked = {f.check: f for f in situation.audit().findings}["drive.peak_straight"]
    option, motion = option_of(situation), situation.configuration.motion
    case, margin = situation.case, catalogue.rules.drive_margin
    mass = option.carrier.mass + case.load.mass * option.items + case.tooling.mass
    resistance = checked.demand / margin - mass * motion.acceleration
    # Rolling and drag of a loaded carrier of a few kilograms: some newtons.
    assert option.carrier.drag < resistance < option.carrier.drag + 20.0
    share = (motion.speed - option.carrier.knee_speed) / (
        option.carrier.no_load_speed - option.carrier.knee_speed
    )
    available = option.carrier.total_peak_force * min(1.0, 1.0 - share)
    assert checked.limit == pytest.approx(available)
    assert np.isfinite(checked.utilisation)
