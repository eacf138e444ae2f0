"""Supplies, feeds and controller of a loop, against every way to divide and feed a small ring."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.loop.built import layout_of as built_layout
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.layout import LayoutContext
from recommender.choice.loop.ring import feed_distances, least_feeds, run_of
from recommender.choice.parts.electrical import cheapest_controller
from recommender.choice.parts.pricing import cents
from recommender.choice.supplies import feed as feeding
from recommender.choice.supplies.data import FeedData, SupplyData
from recommender.choice.supplies.even import evenly_fed
from recommender.choice.supplies.feed import feed_loop, servable_runs
from recommender.choice.supplies.model import Feeding, FeedingInstance, Run, solve_feeding
from recommender.choice.unknown import Unknown
from recommender.inputs.catalogue import Catalogue

ELECTRICAL = {"supplies", "feeds", "controllers"}

Table = dict[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True)
class Ring:
    """A ring with the mean and peak power of each of its runs, and what there is to buy."""

    takes_feed: tuple[bool, ...]
    powers: Table
    supplies: tuple[SupplyData, ...]
    feeds: tuple[FeedData, ...]
    most: int

    @property
    def instance(self) -> FeedingInstance:
        keys = np.array(list(self.powers)).T
        values = np.array(list(self.powers.values())).T
        runs = servable_runs(self.supplies, *keys, *values)
        return FeedingInstance(self.takes_feed, tuple(runs), self.supplies, self.feeds, self.most)


def drawn(rng: np.random.Generator, size: int, *, returning: bool = False) -> Ring:
    """Powers that do not add up: runs share what happens at their ends, and peaks are coarser.

    With ``returning`` energy some runs draw less than runs within them.
    """
    weights = rng.integers(20, 100, size)
    powers: Table = {}
    for first, count in product(range(size), range(1, size + 1)):
        if count == size and first > 0:
            continue
        mean = int(weights[[(first + k) % size for k in range(count)]].sum())
        mean += 0 if count == size else int(rng.integers(0, 40))
        if returning:
            mean = max(mean - int(rng.integers(0, 120)), 1)
        powers[first, count] = (mean, 2 * mean + int(rng.integers(0, 150)))
    kinds = int(rng.integers(1, 4))
    supplies = tuple(
        SupplyData(
            int(rng.integers(80, 420)),
            int(rng.integers(250, 900)),
            int(rng.integers(1, size + 2)),
            int(rng.integers(3, 9)) * 100,
        )
        for _ in range(kinds)
    )
    feeds = tuple(
        FeedData(int(rng.integers(1, size + 1)), int(rng.integers(1, 4)) * 50)
        for _ in range(rng.integers(1, 3))
    )
    takes = tuple(bool(x) for x in rng.random(size) < 0.75)
    return Ring(takes, powers, supplies, feeds, int(rng.integers(1, 5)))


def used(ring: Ring, run: Run) -> int:
    """Largest share of a limit in whole hundredths, upward; 0 where the supply cannot serve."""
    mean, peak = ring.powers[run.first, run.count]
    part = ring.supplies[run.supply]
    if mean > part.mean_power or peak > part.peak_power or run.count > part.max_sections:
        return 0
    shares = (mean / part.mean_power, peak / part.peak_power, run.count / part.max_sections)
    return int(np.ceil(100 * max(shares)))


def divisions(ring: Ring) -> list[tuple[Run, ...]]:
    """Every division of the ring into runs, with every supply for each that can serve it."""
    size, found = len(ring.takes_feed), []
    for pieces in range(1, ring.most + 1):
        for starts in combinations(range(size), pieces):
            if pieces == 1 and starts != (0,):
                continue
            lengths = feed_distances(starts, size)
            for kinds in product(range(len(ring.supplies)), repeat=pieces):
                runs = tuple(map(Run, starts, lengths, kinds, [0] * pieces))
                runs = tuple(Run(r.first, r.count, r.supply, used(ring, r)) for r in runs)
                if all(run.used for run in runs):
                    found.append(runs)
    return found


def enumerated(ring: Ring) -> Feeding | None:
    """The best of all divisions with all sets of feeds, by the criteria in their order."""
    size = len(ring.takes_feed)
    places = [k for k, takes in enumerate(ring.takes_feed) if takes]
    sets = [set_ for n in range(1, len(places) + 1) for set_ in combinations(places, n)]
    best: tuple[Any, Feeding] | None = None
    for runs, fed, (kind, feed) in product(divisions(ring), sets, enumerate(ring.feeds)):
        farthest = max(feed_distances(fed, size))
        inside = all(any((p - run.first) % size < run.count for p in fed) for run in runs)
        if farthest > feed.max_sections or not inside:
            continue
        price = sum(ring.supplies[run.supply].price for run in runs) + len(fed) * feed.price
        starts = [run.first for run in runs]
        key = (
            price,
            len(runs),
            len(fed),
            max(run.used for run in runs) if len(runs) > 1 else 0,
            farthest,
            kind,
            [k not in starts for k in range(size)],
            [run.supply for run in runs],
            [k not in fed for k in places],
        )
        if best is None or key < best[0]:
            best = key, Feeding(runs, kind, fed, price, proven=True)
    return best[1] if best else None


@pytest.mark.parametrize("returning", [False, True], ids=["rising", "returning"])
@pytest.mark.parametrize("seed", range(40))
def test_feeding_is_the_best_of_all_ways(seed: int, returning: bool) -> None:
    rng = np.random.default_rng([seed, returning])
    ring = drawn(rng, int(rng.integers(2, 7)), returning=returning)
    assert solve_feeding(ring.instance) == enumerated(ring)


def test_random_rings_are_of_every_sort() -> None:
    """The comparison above meets rings without an answer, and with one supply and several."""
    found = []
    for returning, seed in product((False, True), range(40)):
        rng = np.random.default_rng([seed, returning])
        ring = drawn(rng, int(rng.integers(2, 7)), returning=returning)
        answer = enumerated(ring)
        found.append(len(answer.runs) if answer else 0)
    assert min(found.count(number) for number in (0, 1, 2)) >= 5
    assert max(found) >= 3


@pytest.mark.parametrize("seed", range(6))
def test_answer_is_the_same_with_other_workers_and_seeds(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    ring = drawn(rng, 14)
    # Alike everywhere, so that a great many ways cost the same.
    even = {key: (40 * key[1] + 10, 110 * key[1] + 30) for key in ring.powers}
    ring = Ring((True,) * 14, even, (SupplyData(400, 1200, 8, 500),), (FeedData(5, 90),), 4)
    answers = {
        solve_feeding(ring.instance, workers=workers, seed=number)
        for workers, number in ((1, 0), (1, 7 + seed), (2, seed), (2, 50 + seed))
    }
    assert len(answers) == 1
    (answer,) = answers
    assert answer is not None and answer.proven and len(answer.runs) == 2


def test_no_work_is_no_answer() -> None:
    ring = drawn(np.random.default_rng(3), 6)
    assert solve_feeding(ring.instance) is not None
    with pytest.raises(Unknown):
        solve_feeding(ring.instance, work=0.0)


@pytest.mark.parametrize("seed", range(30))
def test_least_feeds_are_the_fewest_of_all_sets(seed: int) -> None:
    rng = np.random.default_rng(seed)
    size, reach = int(rng.integers(1, 10)), int(rng.integers(1, 12))
    takes = [bool(x) for x in rng.random(size) < 0.6]
    places = [k for k in range(size) if takes[k]]
    fewest = [
        number
        for number in range(1, size + 1)
        for fed in combinations(places, number)
        if max(feed_distances(fed, size)) <= reach
    ]
    assert least_feeds(takes, reach) == (min(fewest) if fewest else None)


def finished(worked: Any, catalogue: Catalogue) -> LayoutContext:
    """The layout of what is recommended for a worked case, with another catalogue's supplies."""
    built = worked.decision.chosen.configuration
    about = OptionContext(built.option, worked.case, catalogue)
    return built_layout(built, setting_of(about, built.motion))


def test_loop_is_fed_on_its_straights(worked_case: Callable[[str], Any]) -> None:
    """By hand: eight sections, front 0, bend 1 to 3, back 4, bend 5 to 7. One supply for 500 W and
    eight sections, 520 EUR, a controller for 2950 EUR, and from feed to feed at most six sections:
    one on either straight, 135 EUR each; 210 EUR of protection for the supply, and a cable of
    60 EUR for each feed."""
    worked = worked_case("nest")
    fed = feed_loop(finished(worked, worked.catalogue))
    assert fed is not None and fed.proven
    assert [(g.supply, g.first, g.count) for g in fed.electrics.groups] == [("dc-500", 0, 8)]
    assert fed.electrics.feed_sections == (0, 4)
    assert fed.price == 52000 + 21000 + 295000 + 2 * (13500 + 6000)


def test_even_division_that_serves_is_as_cheap_as_any(worked: Any) -> None:
    """Options that are dearer get it wherever it passes its checks, without asking the model."""
    compared = 0
    for looked in worked.decision.looked:
        if not looked.feasible:
            continue
        built = looked.audit.configuration
        about = OptionContext(built.option, worked.case, worked.catalogue)
        layout = built_layout(built, setting_of(about, built.motion))
        fed = feed_loop(layout)
        assert fed is not None and fed.proven
        counted = {line.id for line in worked.catalogue.lines if line.per in ("supply", "feed")}
        lines = [
            part for part in looked.audit.parts if part.item in ELECTRICAL or part.id in counted
        ]
        assert sum(cents(part.price) for part in lines) == fed.price
        compared += 1
    assert compared or worked.decision.chosen is None


def test_even_division_serves_wherever_it_is_said_to(worked_case: Callable[[str], Any]) -> None:
    """Three supplies on eight sections of which two take a feed: no division serves, and the feeds
    that are bought are named all the same; with a feed on every section one does."""
    worked = worked_case("nest")
    on = finished(worked, worked.catalogue).on
    sharing = evenly_fed(on, (3, 0, 0), ("feed", 3), "mc-10")
    assert [group.count for group in sharing.groups] == [3, 3, 2]
    assert len(sharing.feed_sections) == 3
    bend = on.about.option.bend.model_copy(update={"takes_feed": True})
    about = replace(on.about, option=replace(on.about.option, bend=bend))
    fed = evenly_fed(replace(on, about=about), (3, 0, 0), ("feed", 3), "mc-10")
    for group in fed.groups:
        served = run_of(group.first, group.count, 8)
        assert sum(place in served for place in fed.feed_sections) == 1


def test_supplies_too_small_for_the_loop_share_it(
    worked_case: Callable[[str], Any], altered: Callable[..., Catalogue]
) -> None:
    worked = worked_case("nest")
    small = worked.catalogue.supply[0].model_copy(update={"max_sections": 5})
    catalogue = altered(worked.catalogue, supply=(small,))
    fed = feed_loop(finished(worked, catalogue))
    assert fed is not None and fed.proven
    assert [group.count for group in fed.electrics.groups] == [4, 4]
    assert fed.price == 2 * (52000 + 21000) + 295000 + 2 * (13500 + 6000)
    none = altered(catalogue, supply=(small.model_copy(update={"mean_power": 20.0}),))
    assert feed_loop(finished(worked, none)) is None


def test_loop_without_a_controller_or_feed_is_not_fed(
    worked_case: Callable[[str], Any], altered: Callable[..., Catalogue]
) -> None:
    worked = worked_case("nest")
    short = tuple(p.model_copy(update={"max_sections": 7}) for p in worked.catalogue.controller)
    assert cheapest_controller(worked.catalogue, 8, 6) is not None
    assert feed_loop(finished(worked, altered(worked.catalogue, controller=short))) is None
    bare = tuple(p.model_copy(update={"takes_feed": False}) for p in worked.catalogue.straight)
    assert feed_loop(finished(worked, altered(worked.catalogue, straight=bare))) is None


@pytest.mark.parametrize("seed", range(20))
def test_price_of_several_supplies_is_never_bounded_too_high(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both bounds, by sets and by shares, below the best division into two runs or more."""
    rng = np.random.default_rng(300 + seed)
    ring = drawn(rng, int(rng.integers(3, 7)))
    size = len(ring.takes_feed)
    # Runs come to no less than their weights, and peaks to no less than twice that.
    mean, peak = ring.powers[0, size][0], 2 * ring.powers[0, size][0]
    least = [least_feeds(ring.takes_feed, feed.max_sections) for feed in ring.feeds]
    several = {key: value for key, value in ring.powers.items() if key[1] < size}
    best = enumerated(
        Ring(
            ring.takes_feed,
            {**several, (0, size): (10**9, 10**9)},
            *(ring.supplies, ring.feeds, ring.most),
        )
    )
    if best is None:
        return
    limits = (ring.supplies, ring.feeds, least, ring.most, size, mean, peak)
    by_sets = feeding._several_at_least(*limits)
    monkeypatch.setattr(feeding, "_MOST_SETS", 0)
    by_shares = feeding._several_at_least(*limits)
    assert by_sets is not None and by_shares is not None
    assert by_sets <= best.price and by_shares <= best.price
