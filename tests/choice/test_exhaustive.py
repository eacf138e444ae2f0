"""The chosen price against everything that could be built, with nothing left out.

Every setting that holds of every option, every way to build a side, every set of supplies, feeds
and controllers, and as many carriers as needed or one more: enumerated plainly, without the order,
the bounds and the pruning of the search.
"""

from dataclasses import dataclass
from itertools import combinations_with_replacement, product
from typing import Any

import numpy as np

from recommender.choice.carrier.setting import SettingContext
from recommender.choice.checks import FLEET_CHECKS, GEOMETRY_CHECKS, LAYOUT_CHECKS, OPTION_CHECKS
from recommender.choice.loop.layout import LayoutContext, LoopContext, placed_on
from recommender.choice.loop.power import mean_power, peak_fleet_power
from recommender.choice.loop.ring import least_feeds
from recommender.choice.parts.builds import Build
from recommender.choice.parts.options import Option, list_options, reserve_of
from recommender.choice.search.grid import Grid
from recommender.choice.search.screen import Screened, screen
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.bend import bend_width
from recommender.physics.constants import Array

# Waves are dear to compute: where there is a liquid, both sides get a coarser grid.
WITH_LIQUID = Grid(accelerations=3, speeds=2, bend_speeds=3, ramp_times=2)
HOLDS = 1.0 + 1e-9


@dataclass(frozen=True)
class Manned(LayoutContext):
    """Settings on one loop, each row with a number of carriers of its own."""

    numbers: Array | None = None

    @property
    def carriers(self) -> Array:
        assert self.numbers is not None
        return self.numbers

    def among(self, rows: Array) -> "Manned":
        assert self.numbers is not None
        return Manned(self.on, self.setting.take(rows), None, self.numbers[rows])


@dataclass(frozen=True)
class Demand:
    """What settings that pass every check ask for, a row each."""

    carriers: Array
    mean: Array
    peak: Array


@dataclass(frozen=True)
class Supplies:
    """Every set of supplies that may serve some sections, feeds included; one entry each."""

    price: Array
    mean: Array
    peak: Array


def amount(part: Any) -> float:
    return float(part.price)


def work(catalogue: Catalogue, per: str) -> float:
    lines = (*catalogue.engineering, *catalogue.order_line)
    return sum(line.pieces * amount(line) for line in lines if line.per == per)


def sides(catalogue: Catalogue, longest: float) -> dict[float, list[tuple[int, ...]]]:
    """Every way to build a side, by its length."""
    lengths = [part.length for part in catalogue.straight]
    ranges = [range(int(longest / length + 1e-9) + 1) for length in lengths]
    found: dict[float, list[tuple[int, ...]]] = {}
    for counts in product(*ranges):
        length = sum(n * one for n, one in zip(counts, lengths, strict=True))
        if 0 < length <= longest + 1e-9:
            found.setdefault(round(length, 6), []).append(counts)
    return found


def holding(on: LoopContext, setting: SettingContext) -> Manned | None:
    """Settings that pass every check on a loop, with the fleet needed and with one more."""
    alone = LayoutContext(on, setting)
    possible = holds((*GEOMETRY_CHECKS, *FLEET_CHECKS), alone)
    rows = np.flatnonzero(possible & np.isfinite(alone.carriers_for_rate))
    if not len(rows):
        return None
    needed = LayoutContext(on, setting.take(rows)).carriers
    numbers = np.concatenate([needed, needed + 1])
    manned = Manned(on, setting.take(np.tile(rows, 2)), None, numbers)
    # The wave's check is dear, and it is needed only where all others hold.
    waves = tuple(check for check in LAYOUT_CHECKS if check.about.id == "load.spill")
    others = tuple(check for check in LAYOUT_CHECKS if check not in waves)
    for checks in (others, waves):
        if len(manned.setting.settings):
            manned = manned.among(np.flatnonzero(holds(checks, manned)))
    return manned if len(manned.setting.settings) else None


def holds(checks: tuple[Any, ...], layout: LayoutContext) -> Array:
    """Whether checks hold, row by row."""
    outcomes = [check.evaluate(layout) for check in checks]
    shares = [o.utilisation() <= HOLDS for o in outcomes if o is not None]
    return np.all([np.ones(len(layout.setting.settings), dtype=bool), *shares], axis=0)


def supplies(catalogue: Catalogue, takes_feed: list[bool], most: int) -> Supplies:
    sets, sections = [], len(takes_feed)
    for size in range(1, most + 1):
        for chosen in combinations_with_replacement(catalogue.supply, size):
            if sum(part.max_sections for part in chosen) < sections:
                continue
            feeds = min(
                max(size, fewest_feeds(takes_feed, feed.max_sections, most))
                * (amount(feed) + work(catalogue, "feed"))
                for feed in catalogue.feed
            )
            price = sum(amount(part) for part in chosen) + feeds
            price += size * work(catalogue, "supply")
            mean = sum(part.mean_power for part in chosen)
            sets.append((price, mean, sum(part.peak_power for part in chosen)))
    return Supplies(*np.array(sets).reshape(-1, 3).T)


def fewest_feeds(takes_feed: list[bool], reach: int, most: int) -> float:
    """So many at least; exactly so many for a single supply, on sections that take one."""
    if most > 1:
        return -(-len(takes_feed) // reach)
    return least_feeds(takes_feed, reach) or np.inf


def electrical_price(
    catalogue: Catalogue, takes_feed: list[bool], fleet: Demand, most: int
) -> Array:
    """Least price of supplies, feeds and controller for each row; inf where none will do.

    Of at most so many supplies, looked at as if they were joined.
    """
    sections = len(takes_feed)
    idle = sections * catalogue.catalogue.section_idle_power
    sets = supplies(catalogue, takes_feed, most)
    covers = fleet.mean[:, None] + idle <= sets.mean
    covers &= fleet.peak[:, None] + idle <= sets.peak
    price = np.where(covers, sets.price, np.inf).min(axis=1, initial=np.inf)
    control = np.full(len(fleet.carriers), np.inf)
    for part in catalogue.controller:
        if part.max_sections >= sections:
            able = fleet.carriers <= part.max_carriers
            control = np.where(able, np.minimum(control, amount(part)), control)
    return price + control


def guide_price(option: Option, catalogue: Catalogue, counts: tuple[int, ...]) -> float:
    """Two bends and the straights of both sides with their lower rails."""
    parts: list[Any] = [option.bend] * 2
    for part, count in zip(catalogue.straight, counts, strict=True):
        parts += [part] * count
    price = sum(amount(part) for part in parts)
    if option.family.lower_guide:
        price += sum(amount(catalogue.lower_rails[part.id]) for part in parts)
    return price


def spares(option: Option, catalogue: Catalogue) -> float:
    """A carrier and a set of its rollers."""
    lines = [line for line in catalogue.order_line if line.per == "kind of carrier"]
    return sum(
        line.pieces * (amount(line) + (amount(option.carrier) if line.of else 0.0))
        for line in lines
        if line.roller in (None, option.roller.id)
    )


def resistors(
    option: Option, case: Case, catalogue: Catalogue, guide: float, carriers: Array
) -> Array:
    """Cheapest brake resistors of one size for what carriers return from their own top speed."""
    carrier, rules, fall = option.carrier, catalogue.rules, 0.0
    mass = carrier.mass + option.items * case.load.mass + case.fixture_mass(option.items)
    takt = option.items / (case.rate.items * (1.0 + reserve_of(case, catalogue)))
    kept = 1.0 - rules.recovered
    if case.loop.plane == "upright":
        bend = option.bend
        fall = 9.80665 * mass * float(bend_width(bend.radius, bend.transition))
    force, speed = carrier.magnets * carrier.peak_force, carrier.top_speed
    forces = np.linspace(0.0, force, 100_001)
    squared = carrier.magnets * carrier.motor_constant**2
    power = kept * (forces * speed - forces**2 / squared).max()
    energy = kept * (0.5 * mass * speed**2 + fall)
    mean = kept * (force / rules.drive_margin * guide / 2.0 + fall) / takt
    link = min(
        0.5 * part.link_capacitance * (part.brake_voltage**2 - part.link_voltage**2)
        for part in catalogue.supply
    )
    prices = []
    for part in catalogue.brake_resistor:
        pieces = np.maximum(
            np.ceil((carriers * energy - link) / part.pulse_energy),
            np.ceil(carriers * power / part.peak_power),
        )
        pieces = np.maximum(pieces, np.ceil(mean / part.mean_power))
        prices.append(np.where(carriers * energy <= link, 0.0, pieces * amount(part)))
    return np.min(prices, axis=0)


def least_prices(entry: Screened, case: Case, catalogue: Catalogue) -> tuple[float, float]:
    """Least price of one option over all that can be built; inf if nothing can.

    With any supplies as if they were joined, and with a single one, which needs no joining.
    """
    about = entry.context.about
    outcomes = [check.evaluate(about) for check in OPTION_CHECKS]
    rows = np.flatnonzero(entry.used <= HOLDS)
    if any(o is not None and float(o.utilisation()) > HOLDS for o in outcomes) or not len(rows):
        return np.inf, np.inf
    option, setting = about.option, entry.context.take(rows)
    longest = 0.5 * (case.loop.max_length or catalogue.rules.longest_loop) - about.bend_length
    fixed = work(catalogue, "order") + work(catalogue, "loop") + work(catalogue, "cabinet")
    fixed += len(case.station) * work(catalogue, "station") + spares(option, catalogue)
    each = amount(option.carrier) + work(catalogue, "carrier")
    best = [np.inf, np.inf]
    for length, ways in sides(catalogue, longest).items():
        # None of the worked cases minds the joints, so only the length places the stations.
        placed = placed_on(about, Build(ways[0], ways[0], length, 2 * sum(ways[0]), (0, 0)))
        for manned in (holding(on, setting) for on in placed):
            if manned is None:
                continue
            fleet = Demand(manned.carriers, mean_power(manned), peak_fleet_power(manned))
            for front, back in combinations_with_replacement(ways, 2):
                counts = tuple(a + b for a, b in zip(front, back, strict=True))
                sections = sum(counts) + 2 * option.bend.sections
                price = fixed + guide_price(option, catalogue, counts)
                price += sections * work(catalogue, "section")
                guide = 2.0 * (length + about.bend_length)
                price += np.ceil(guide - 1e-6) * work(catalogue, "metre")
                whole = price + fleet.carriers * each
                whole = whole + resistors(option, case, catalogue, guide, fleet.carriers)
                # Every straight section of the catalogue takes a feed, and no bend does.
                bend = [option.bend.takes_feed] * option.bend.sections
                takes = [*[True] * sum(front), *bend, *[True] * sum(back), *bend]
                for k, most in enumerate((catalogue.rules.most_supplies, 1)):
                    fed = whole + electrical_price(catalogue, takes, fleet, most)
                    best[k] = min(best[k], float(fed.min()))
    return best[0], best[1]


def test_nothing_on_a_grid_undercuts_what_is_said_of_any_option(worked: Any) -> None:
    """The choice is no dearer, no bound lies above what can be built, and nothing is called
    impossible that works; of the dearer options nearly all are as cheap as can be."""
    case, catalogue, decision = worked.case, worked.catalogue, worked.decision
    grid = WITH_LIQUID if case.load.liquid is not None else Grid()
    prices = {
        entry.context.about.option.id: least_prices(entry, case, catalogue)
        for entry in screen(list_options(case, catalogue), case, catalogue, grid)
    }
    least = min(alone for _, alone in prices.values())
    assert (decision.chosen is None) == np.isinf(least) == (worked.name == "impossible")
    if decision.chosen is not None:
        assert decision.price / 100 <= least + 1e-6
        assert decision.bound <= decision.price
    above: list[bool] = []
    for looked in decision.looked:
        joined, alone = prices[looked.option.id]
        assert looked.bound / 100 <= alone + 1e-6, looked.option.id
        assert looked.feasible or not looked.decided or np.isinf(joined), looked.option.id
        if looked.feasible and looked.audit is not None and np.isfinite(alone):
            above.append(float(looked.audit.price) > alone + 1e-6)
    # Where waves decide, dearer options are not looked at closely.
    assert case.load.liquid is not None or sum(above) <= 0.2 * len(above)
