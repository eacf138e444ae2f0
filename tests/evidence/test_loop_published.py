"""Printed examples of bends, lines and event graphs against the functions for loop and fleet."""

from dataclasses import replace

import pytest

from recommender.evidence import fleet, loop
from recommender.evidence.entry import Published

ENTRIES = (*loop.ENTRIES, *fleet.ENTRIES)


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.id)
def test_reproduces_the_printed_value(entry: Published) -> None:
    assert entry.holds(), f"{entry.deviation():+.3g} {entry.unit}"


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.id)
@pytest.mark.parametrize("factor", [0.98, 1.02])
def test_notices_an_error_of_two_percent(entry: Published, factor: float) -> None:
    assert not replace(entry, compute=lambda: factor * entry.compute()).holds()


def test_ids_are_unique() -> None:
    assert len({entry.id for entry in ENTRIES}) == len(ENTRIES)
