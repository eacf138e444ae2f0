"""Asking for more never makes it cheaper, and offering more never makes it dearer.

A price that is called proven may lie half a per cent above the least, so it may stray by as much
and no more. Where a liquid sloshes it is not proven, and only what is asked for is looked at.
"""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest

from recommender.choice.decision.decide import price_alone
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import shipped

RESOLUTION = 0.995

Change = Callable[[Case, float], Case]


def changed(table: str, **values: Any) -> Callable[[Case], Case]:
    """A case with other values in one of its tables."""

    def change(case: Case) -> Case:
        return case.model_copy(update={table: getattr(case, table).model_copy(update=values)})

    return change


def scaled(table: str, key: str) -> Change:
    """A number of the case times a factor; left alone where the case does not have it."""

    def change(case: Case, factor: float) -> Case:
        value = getattr(getattr(case, table), key)
        return case if value is None else changed(table, **{key: value * factor})(case)

    return change


def limited(table: str, key: str) -> Change:
    return lambda case, value: changed(table, **{key: None if math.isinf(value) else value})(case)


def dwelling(case: Case, factor: float) -> Case:
    stations = (s.model_copy(update={"dwell": s.dwell * factor}) for s in case.station)
    return case.model_copy(update={"station": tuple(stations)})


def rising(case: Case, factor: float) -> Case:
    """A tray with another freeboard."""
    if case.load.liquid is None:
        return case
    liquid = case.load.liquid
    liquid = liquid.model_copy(update={"freeboard": liquid.freeboard * factor})
    return changed("load", liquid=liquid)(case)


def gripping(case: Case, factor: float) -> Case:
    """Another friction under a load that nothing else holds."""
    return scaled("load", "friction")(case, factor) if case.load.held == "friction" else case


# Each from the least that is asked to the most; 1 or no limit is the case as it stands.
STEPS: dict[str, tuple[Change, tuple[float, ...]]] = {
    "rate.items": (scaled("rate", "items"), (0.75, 0.9, 1.0, 1.1)),
    "load.mass": (scaled("load", "mass"), (0.6, 0.85, 1.0, 1.15)),
    "load.reach": (scaled("load", "reach"), (0.5, 0.9, 1.0, 1.2)),
    "load.cg_height": (scaled("load", "cg_height"), (0.6, 1.0, 1.5)),
    "load.friction": (gripping, (1.3, 1.0, 0.8)),
    "load.liquid.freeboard": (rising, (1.3, 1.0, 0.85)),
    "tooling.mass": (scaled("tooling", "mass"), (0.2, 1.0, 1.6)),
    "loop.max_length": (scaled("loop", "max_length"), (1.4, 1.0, 0.85)),
    "loop.max_width": (limited("loop", "max_width"), (math.inf, 2.4, 1.7)),
    "loop.max_extent": (limited("loop", "max_extent"), (math.inf, 3.0, 2.2)),
    "station.dwell": (dwelling, (0.7, 1.0, 1.15)),
    "limits.acceleration": (limited("limits", "acceleration"), (math.inf, 6.0, 2.5)),
    "limits.speed": (limited("limits", "speed"), (math.inf, 1.4, 0.8)),
    "life.hours": (scaled("life", "hours"), (0.2, 1.0, 5.0)),
    "life.reliability": (limited("life", "reliability"), (90.0, 95.0, 99.0)),
}


def price(case: Case, catalogue: Catalogue) -> float:
    found, _ = price_alone(case, catalogue)
    return math.inf if found is None else float(found)


def asked() -> list[tuple[str, str]]:
    """What is changed in which case: each change in every other case that notices it."""
    read = {path.stem: read_case(path) for path in sorted(shipped("cases").glob("*.toml"))}
    pairs = []
    for column, key in enumerate(STEPS):
        notice = [name for name, case in read.items() if len(cases(case, key)) > 1]
        some = notice[column % 2 :: 2] if len(notice) > 3 else notice
        pairs += [(name, key) for name in some]
    return pairs


def cases(case: Case, key: str) -> list[Case]:
    """The case with one change in all its steps, from the least that is asked to the most."""
    change, steps = STEPS[key]
    return list(dict.fromkeys(change(case, step) for step in steps))


def sampled() -> list[Any]:
    """All that is asked; of three pairs two belong to the long run alone, of the tray's six."""
    return [
        pytest.param(*pair, marks=[pytest.mark.nightly] if number % _EVERY.get(pair[0], 3) else [])
        for number, pair in enumerate(asked())
    ]


_EVERY = {"tray": 7}
"""Waves are dear to look at."""


@pytest.mark.parametrize(("name", "key"), sampled())
def test_asking_for_more_is_never_cheaper(name: str, key: str, worked_case: Any) -> None:
    worked = worked_case(name)
    tried = []
    for case in cases(worked.case, key):
        tried.append(price(case, worked.thinned))
    for less, more in pairwise(tried):
        assert more >= less * RESOLUTION, tried


def test_fewer_carriers_to_choose_from_are_never_cheaper(worked: Any, altered: Any) -> None:
    catalogue, case = worked.catalogue, worked.case
    whole = float(worked.decision.price) if worked.decision.chosen else math.inf
    families = {carrier.family for carrier in catalogue.carrier}
    alone = {}
    for family in sorted(families):
        carriers = tuple(carrier for carrier in catalogue.carrier if carrier.family == family)
        alone[family] = price(case, altered(catalogue, carrier=carriers))
    # Together the families hold every carrier, so the best of them is the best of all.
    assert min(alone.values()) == pytest.approx(whole, rel=1.0 - RESOLUTION)


@pytest.mark.parametrize(
    "table",
    [
        "carrier",
        "bend",
        *(pytest.param(table, marks=pytest.mark.nightly) for table in ("straight", "supply")),
        pytest.param("controller", marks=pytest.mark.nightly),
    ],
)
def test_doing_without_a_part_of_the_choice_is_never_cheaper(
    worked: Any, table: str, altered: Any
) -> None:
    chosen = worked.decision.chosen
    if chosen is None:
        return
    used = {line.id for line in chosen.parts}
    parts = tuple(part for part in getattr(worked.thinned, table) if part.id not in used)
    if parts:
        less = altered(worked.thinned, **{table: parts})
        assert price(worked.case, less) >= RESOLUTION * float(worked.decision.price)


def test_more_items_allowed_on_a_carrier_are_never_dearer(worked: Any) -> None:
    counts = worked.case.rate.per_carrier
    catalogue = worked.thinned
    fewer = price(changed("rate", per_carrier=counts[:1])(worked.case), catalogue)
    more = price(changed("rate", per_carrier=(1, 2, 3))(worked.case), catalogue)
    assert more * RESOLUTION <= fewer
