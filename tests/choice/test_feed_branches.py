"""Which sections hang on which feed, each section asked on its own for the nearest one."""

from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.loop.branches import feed_branches
from recommender.choice.loop.ring import Section, run_of
from recommender.choice.parts.configuration import Group
from recommender.choice.supplies.even import _places


def test_every_section_hangs_on_its_nearest_feed_and_on_the_former_of_two() -> None:
    rng = np.random.default_rng(21)
    closed = ties = 0
    for _ in range(300):
        size = int(rng.integers(1, 13))
        marks = np.cumsum(rng.uniform(0.2, 0.9, size + 1)).tolist()
        ring = [Section("x", start, end, True) for start, end in pairwise(marks)]
        first = int(rng.integers(0, size))
        count = size if rng.random() < 0.4 else int(rng.integers(1, size + 1))
        run = [(first + k) % size for k in range(count)]
        feeds = sorted(rng.choice(run, int(rng.integers(1, min(4, count) + 1)), replace=False))
        # A feed of another supply changes nothing here.
        others = [k for k in range(size) if k not in run][:1]
        group = SimpleNamespace(first=first, count=count, supply="s")
        electrics = SimpleNamespace(groups=[group], feed_sections=[*feeds, *others])
        built: Any = SimpleNamespace(electrics=electrics)
        whole = count == size
        closed += whole

        def choices(
            section: int, feed: int, run: list[int] = run, whole: bool = whole
        ) -> list[Any]:
            """Sections on the way from a feed, along the travel and against it."""
            apart = run.index(section) - run.index(feed)
            if whole:
                forward = apart % len(run)
                return [(forward, 0, feed), (len(run) - forward, 1, feed)]
            return [(abs(apart), 0 if apart > 0 else 1, feed)]

        expected = {}
        for section in run:
            if section not in feeds:
                choice = sorted(way for feed in feeds for way in choices(section, int(feed)))
                ties += len(choice) > 1 and choice[0][0] == choice[1][0]
                # Of two as near the former is the one that is reached along the travel.
                expected[section] = choice[0][2], choice[0][1] == 0
        found = {}
        for branch in feed_branches(built, ring):
            middles = [ring[k].middle for k in (branch.feed, *branch.order)]
            ways = np.diff(middles) if branch.forward else -np.diff(middles)
            assert branch.lengths == pytest.approx(ways % (marks[-1] - marks[0]))
            for section in branch.order:
                assert section not in found
                found[section] = branch.feed, branch.forward
            assert branch.supply == "s"
        assert found == expected
    assert closed > 50 and ties > 50


def serve(places: list[int], groups: list[Group], size: int, reach: int) -> bool:
    """Whether feeds reach each other all round, and every run has one."""
    ways = [(b - a) % size or size for a, b in pairwise([*places, places[0]])]
    runs = [set(run_of(group.first, group.count, size)) for group in groups]
    return max(ways) <= reach and all(run & set(places) for run in runs)


def test_feeds_are_spread_over_sections_that_take_one() -> None:
    """Each even place takes the nearest section that may be fed, from the first one that serves."""
    rng = np.random.default_rng(23)
    served = 0
    for _ in range(200):
        size = int(rng.integers(2, 14))
        takes = rng.random(size) < 0.5
        ring = [Section("x", float(k), k + 1.0, bool(take)) for k, take in enumerate(takes)]
        count, reach = int(rng.integers(1, 4)), int(rng.integers(2, 14))
        cut = int(rng.integers(1, size))
        groups = [Group("s", 0, cut), Group("s", cut, size - cut)][: int(rng.integers(1, 3))]
        if len(groups) == 1:
            groups = [Group("s", 0, size)]
        able = np.flatnonzero(takes).tolist()

        expected = None
        for start in range(size if able else 0):
            even = [(start + round(k * size / count)) % size for k in range(count)]
            fed = set()
            for place in even:
                apart = [min((k - place) % size, (place - k) % size) for k in able]
                fed.add(able[apart.index(min(apart))])
            if len(fed) == count and serve(sorted(fed), groups, size, reach):
                expected = tuple(sorted(fed))
                break
        found = _places(ring, groups, reach, count)
        if expected is not None:
            served += 1
            assert found == expected
        else:
            # None will do; as many are named as are bought.
            assert len(found) == count
    assert served > 40
