"""Where a catalogue has very many options most are left unexplored: what is said of them holds."""

from collections.abc import Callable
from typing import Any

import pytest

from recommender.choice.decision import options_search
from recommender.choice.decision.decide import decide
from recommender.inputs.catalogue import Catalogue


@pytest.mark.parametrize("name", ["crate", "upright"])
def test_of_many_options_no_more_is_said_than_was_looked_at(
    name: str,
    catalogue: Catalogue,
    worked_case: Callable[[str], Any],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    worked = worked_case(name)
    whole = {entry.option.id: entry for entry in worked.decision.looked}
    monkeypatch.setattr(options_search, "MANY", 1)
    monkeypatch.setattr(options_search, "_AT_ONCE", 4)
    decision = decide(worked.case, catalogue)
    assert decision.chosen == worked.decision.chosen
    assert decision.bound == worked.decision.bound
    left = 0
    for entry in decision.looked:
        known = whole[entry.option.id]
        if not known.feasible:
            assert not entry.feasible
            continue
        assert known.audit is not None
        # Something that works is never said to fail, nor to cost at least more than it does.
        assert entry.feasible or not entry.decided
        assert entry.bound <= 100 * known.audit.price
        left += not entry.decided
    assert left > 3
