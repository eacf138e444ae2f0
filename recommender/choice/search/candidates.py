"""Candidates for the cheapest configuration of an option on one loop, on arrays.

Settings are looked at in the order of the carriers that they need; whatever is left when the least
price of so many reaches the best one found cannot win.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recommender.choice.carrier.setting import OptionContext, SettingContext
from recommender.choice.checks import FLEET_CHECKS, GEOMETRY_CHECKS, LAYOUT_CHECKS, OPTION_CHECKS
from recommender.choice.checks.entry import HOLDS, Check
from recommender.choice.checks.findings import MOST_TAKTS, keeps_takt
from recommender.choice.checks.liquid import calm
from recommender.choice.loop.layout import LayoutContext, LoopContext
from recommender.choice.loop.power import mean_power, peak_fleet_power
from recommender.choice.parts import rounding
from recommender.choice.parts.builds import Build
from recommender.choice.parts.electrical import NEVER
from recommender.choice.parts.goals import rank
from recommender.choice.parts.price_book import PriceBook
from recommender.choice.parts.pricing import Cents, carrier_price
from recommender.choice.search.price_bound import PricedBuild
from recommender.physics.constants import Array

_MOST_CANDIDATES = 8


@dataclass(frozen=True)
class Candidate:
    """One setting of an option on one loop, priced; powers are whole milliwatts.

    Its ``rank`` is its price, unless something else is to be least.
    """

    on: LoopContext
    setting: SettingContext
    build: Build
    carriers: int
    mean_power: int
    peak_power: int
    price: Cents
    used: float
    rank: int


def passes_alone(about: OptionContext) -> bool:
    """Whether all checks hold that need neither motion nor loop."""
    outcomes = (check.evaluate(about) for check in OPTION_CHECKS)
    return all(outcome is None or float(outcome.utilisation()) <= HOLDS for outcome in outcomes)


def candidates_on(
    priced: PricedBuild,
    on: LoopContext,
    setting: SettingContext,
    used: Array,
    price_book: PriceBook,
    best: int | None = None,
) -> Iterator[Candidate]:
    """Candidates on one loop, by rising number of carriers, while they may still rank first."""
    layout, _ = _sieve(LayoutContext(on, setting), np.zeros_like(used), GEOMETRY_CHECKS)
    if len(layout.setting.settings) < len(used):
        return
    layout, used = _sieve(layout, used, FLEET_CHECKS)
    if len(used) and (still := calm(layout)) is not None:
        rows = np.flatnonzero(still)
        layout, used = layout.take(rows), used[rows]
    need = layout.carriers_for_rate
    per_carrier = carrier_price(setting.about.option, price_book.catalogue)
    # `bound` holds the fewest carriers of any setting; each one more adds its own price at least.
    for level in np.unique(need[np.isfinite(need)]):
        if best is not None and _least(priced, int(level), per_carrier, price_book) > best:
            return
        rows = np.flatnonzero(need == level)
        for candidate in _candidates(priced, layout.take(rows), used[rows], price_book, best):
            best = candidate.rank if best is None else min(best, candidate.rank)
            yield candidate


def _least(priced: PricedBuild, carriers: int, per_carrier: Cents, price_book: PriceBook) -> int:
    """A rank that no configuration on a build with at least so many carriers undercuts."""
    electrical = price_book.electrical
    supplies = int(electrical.choice(priced.sections).price[0])
    control = int(electrical.controller_price(priced.sections, carriers))
    return int(rank(priced.measure, priced.base + carriers * per_carrier + supplies + control))


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
    priced: PricedBuild, layout: LayoutContext, used: Array, price_book: PriceBook, best: int | None
) -> Iterator[Candidate]:
    layout, used = _sieve(layout, used, LAYOUT_CHECKS)
    if len(used) == 0:
        return
    carriers = layout.carriers.astype(np.int64)
    mean, peak = whole_powers(layout)
    idle = rounding.demand(layout.idle_power, "power")
    price, ranks = priced.ranked(layout.about, price_book, carriers, mean + idle, peak + idle)

    def keeps(row: int) -> bool:
        return keeps_takt(layout, int(carriers[row]), row)

    for row in _worth_keeping(
        ranks, used, layout.setting.settings.acceleration, carriers, mean, peak, best, keeps
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
            rank=int(ranks[row]),
        )


def _worth_keeping(
    ranks: NDArray[np.int64],
    used: Array,
    acceleration: Array,
    carriers: NDArray[np.int64],
    mean: NDArray[np.int64],
    peak: NDArray[np.int64],
    best: int | None,
    keeps: Callable[[int], bool],
) -> Iterator[int]:
    """The first rows that keep the takt, of equal ones that with most headroom, none dominated."""
    # Of rows with the same headroom the gentler one.
    order = np.lexsort((acceleration, used.round(3), ranks))
    kept: list[int] = []
    tried = 0
    for row in order[ranks[order] < NEVER]:
        dear = best is not None and ranks[row] > best
        if dear or len(kept) == _MOST_CANDIDATES or tried == MOST_TAKTS:
            return
        if not any(
            carriers[k] <= carriers[row] and mean[k] <= mean[row] and peak[k] <= peak[row]
            for k in kept
        ):
            tried += 1
            if not keeps(int(row)):
                continue
            kept.append(int(row))
            yield int(row)


def whole_powers(layout: LayoutContext) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Mean and peak power of the moving fleet in whole milliwatts."""
    return (
        rounding.demand(mean_power(layout), "power"),
        rounding.demand(peak_fleet_power(layout), "power"),
    )
