"""Which sections hang on which feed, each section asked on its own for the nearest one."""

from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.feed_branches import feed_branches
from recommender.choice.feeding.ring import Section


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
