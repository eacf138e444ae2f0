"""Where a catalogue has very many options most are left unexplored: the line is the same."""

import pytest

from recommender.choice.decision import options_search
from recommender.lines.decide import decide_line
from recommender.lines.frontier import Frontier
from tests.lines.small_lines import small_line


@pytest.mark.parametrize("seed", [3, 6])
def test_options_left_unexplored_are_looked_at_if_the_line_may_want_them(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    small = small_line(seed)
    expected = decide_line(small.line, small.catalogue)
    monkeypatch.setattr(options_search, "MANY", 1)
    monkeypatch.setattr(options_search, "_AT_ONCE", 1)
    asleep: list[int] = []
    wake = Frontier._wake

    def counted(self: Frontier) -> None:
        asleep.append(len(self.asleep))
        wake(self)

    monkeypatch.setattr(Frontier, "_wake", counted)
    found = decide_line(small.line, small.catalogue)
    assert max(asleep) >= 1
    assert expected.cheapest is not None and found.cheapest is not None
    assert found.price == expected.price
    assert found.bound == expected.bound
