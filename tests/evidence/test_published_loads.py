"""Published examples of loads against the functions of the product."""

import pytest

from recommender.evidence import loads, rollers

ENTRIES = loads.ENTRIES + rollers.ENTRIES


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.id)
def test_published_value_holds(entry):
    assert entry.holds(), f"{entry.quantity}: off by {entry.deviation()} {entry.unit}"


def test_ids_are_unique():
    assert len({entry.id for entry in ENTRIES}) == len(ENTRIES)
