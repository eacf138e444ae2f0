"""Printed motion examples against the motion functions."""

from dataclasses import replace

import pytest

from recommender.evidence.entry import Published
from recommender.evidence.motion import ENTRIES


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.id)
def test_reproduces_the_printed_value(entry: Published) -> None:
    assert entry.holds(), f"{entry.deviation():+.3g} {entry.unit}"


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.id)
@pytest.mark.parametrize("factor", [0.99, 1.01])
def test_notices_an_error_of_one_percent(entry: Published, factor: float) -> None:
    assert entry.tolerance < 0.01 * entry.published
    assert not replace(entry, compute=lambda: factor * entry.compute()).holds()


def test_ids_are_unique() -> None:
    assert len({entry.id for entry in ENTRIES}) == len(ENTRIES)
