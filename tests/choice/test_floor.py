"""The floor along the straights: what it rules out, and that nothing else is lost by it."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.decision.decide import decide
from recommender.choice.decision.decision import Decision
from recommender.choice.parts.options import Option, list_options
from recommender.explain.explained import explain_decision
from recommender.filling.explanations import reason
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.files import shipped


def slower(case: Case) -> Case:
    """A rate that leaves the dearer carriers time for their exchange as well."""
    return case.model_copy(update={"rate": case.rate.model_copy(update={"items": 17.0 / 60.0})})


CRATE = slower(read_case(shipped("cases") / "crate.toml"))
LONG, SHORT, SHORTER, NONE = 2.6, 2.2, 2.08, 1.5


def on_floor(case: Case, **limits: float) -> Case:
    return case.model_copy(update={"loop": case.loop.model_copy(update=limits)})


def beyond(option: Option, case: Case) -> float:
    """By hand, for a plain arc: its centre is where the straight ends, and the middle of a chord
    lies on its radius. The corners of plate and load run on circles from there."""
    assert option.bend.transition == 0.0
    middle = math.sqrt(option.bend.radius**2 - (option.base / 2) ** 2)
    plate = middle + option.carrier.plate_width / 2, option.carrier.plate_length / 2
    load = middle + case.load.reach + case.load.width / 2, case.load.length / 2
    return max(math.hypot(*plate), math.hypot(*load))


@pytest.fixture(scope="module")
def plain(catalogue: Catalogue, altered: Callable[..., Catalogue]) -> Catalogue:
    """The catalogue with plain arcs alone, and carriers that bear the crate on either of them."""
    arcs = tuple(bend for bend in catalogue.bend if bend.transition == 0.0)
    able = {"bs-180", "bs-228", "pair-230"}
    carriers = tuple(carrier for carrier in catalogue.carrier if carrier.id in able)
    assert len(arcs) == 2
    assert len(carriers) == len(able)
    return altered(catalogue, bend=arcs, carrier=carriers)


@pytest.fixture(scope="module")
def decided(plain: Catalogue) -> Callable[[float], Decision]:
    found = {limit: decide(on_floor(CRATE, max_extent=limit), plain) for limit in FLOORS}
    return found.__getitem__


FLOORS = (LONG, SHORT, SHORTER, NONE)


def test_floor_is_the_straight_and_two_circles_of_corners(plain: Catalogue) -> None:
    for option in list_options(CRATE, plain):
        about = OptionContext(option, CRATE, plain)
        assert about.floor_beyond == pytest.approx(beyond(option, CRATE), rel=1e-12)


def test_a_load_ahead_of_the_middle_needs_more_floor(plain: Catalogue) -> None:
    option = list_options(CRATE, plain)[0]
    load = {"offset": 0.12}
    ahead = CRATE.model_copy(update={"load": CRATE.load.model_copy(update=load)})
    twice = {"length": CRATE.load.length + 0.24}
    longer = CRATE.model_copy(update={"load": CRATE.load.model_copy(update=twice)})
    about = OptionContext(option, ahead, plain)
    assert about.floor_beyond == pytest.approx(beyond(option, longer))


def test_chosen_loop_keeps_to_the_floor(decided: Callable[[float], Decision]) -> None:
    for limit in FLOORS[:3]:
        chosen = decided(limit).chosen
        assert chosen is not None
        configuration = chosen.configuration
        extent = configuration.loop.straight + 2 * beyond(configuration.option, CRATE)
        assert extent <= limit
        finding = next(entry for entry in chosen.findings if entry.check == "loop.extent")
        assert (finding.demand, finding.limit) == pytest.approx((extent, limit))


def test_less_floor_first_shortens_the_loop_and_then_changes_the_carrier(
    decided: Callable[[float], Decision], plain: Catalogue
) -> None:
    """With 800 mm of straight 2.083 m are swept by the single carrier, 2.075 m by the pair."""
    free = decide(CRATE, plain).chosen
    assert free is not None
    found = [decided(limit).chosen for limit in FLOORS]
    assert found[0].configuration.option == free.configuration.option
    assert found[0].price == free.price
    assert found[1].configuration.option == free.configuration.option
    assert found[1].configuration.loop.straight < free.configuration.loop.straight
    assert found[2].configuration.option.carrier.id == "pair-230"
    assert found[0].price < found[1].price < found[2].price
    assert found[3] is None


def test_less_floor_turns_a_cheap_wide_bend_into_a_dear_narrow_one(
    plain: Catalogue, altered: Callable[..., Catalogue]
) -> None:
    narrow, wide = sorted(plain.bend, key=lambda bend: bend.radius)
    cheap = wide.model_copy(update={"price": narrow.price / 2})
    swapped = altered(plain, bend=(narrow, cheap))
    free, tight = (
        decide(on_floor(CRATE, max_extent=limit), swapped).chosen for limit in (LONG, SHORT)
    )
    assert free is not None
    assert tight is not None
    assert free.configuration.option.bend.id == wide.id
    assert tight.configuration.option.bend.id == narrow.id


@pytest.mark.parametrize("limit", [SHORT, SHORTER, NONE])
def test_price_is_the_least_over_options_with_guides_as_long_as_the_floor_lets_them(
    limit: float, decided: Callable[[float], Decision], plain: Catalogue, altered: Any
) -> None:
    """For one option less floor is the same as less guide, which takes another way through."""
    prices = []
    for option in list_options(CRATE, plain):
        straight = limit - 2 * beyond(option, CRATE)
        guide = min(2 * (straight + math.pi * option.bend.radius), CRATE.loop.max_length)
        if straight <= 0.0:
            continue
        alone = altered(plain, bend=(option.bend,), carrier=(option.carrier,))
        found = decide(on_floor(CRATE, max_length=guide), alone)
        if found.chosen is not None:
            prices.append(found.price)
    assert min(prices, default=0) == decided(limit).price
    assert bool(prices) == (limit != NONE)


@pytest.mark.parametrize("limit", [SHORTER])
def test_nothing_is_lost_by_leaving_long_straights_out(
    limit: float,
    decided: Callable[[float], Decision],
    plain: Catalogue,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(OptionContext, "longest_straight", np.inf)
    whole, left = decide(on_floor(CRATE, max_extent=limit), plain), decided(limit)
    assert whole.price == left.price
    for one, other in zip(whole.looked, left.looked, strict=True):
        assert one.feasible == other.feasible
        if one.feasible and one.audit and other.audit:
            assert one.audit.price == other.audit.price


def test_a_floor_for_nothing_is_named_with_what_would_have_to_give(
    decided: Callable[[float], Decision], plain: Catalogue
) -> None:
    case, decision = on_floor(CRATE, max_extent=NONE), decided(NONE)
    explained = explain_decision(decision, case, plain)
    looked = {entry.option.id: entry for entry in decision.looked}["bs-180_arc-280_x1"]
    assert looked.audit.failures[0].check == "loop.extent"
    conflicts = explained.impasse.conflicts
    assert all("loop.max_extent" in conflict for conflict in conflicts)
    # Two bends with the load outside of them and the shortest straight: 2 x 649 mm and 400 mm.
    assert frozenset({"loop.max_extent", "load.reach"}) in conflicts
    assert frozenset({"loop.max_extent", "station.unload.after"}) in conflicts
    found = explained.failing[looked.option.id]
    eased = {entry.concessions[0].key: entry for entry in found.alone}["loop.max_extent"]
    for situation, works in ((eased.works, True), *((each, False) for each in eased.fails)):
        alone = next(
            entry for entry in decide(situation.case, plain).looked if entry.option == looked.option
        )
        assert alone.feasible is works
    said = reason(looked, decision, explained, case, plain)
    # 2 x 649 mm and the 800 mm that two stations 2 m apart need.
    assert "sweeps 2.1 m along its straights, 599 mm more than is free" in said
    assert "2.1 m of free floor along the straights or more" in said
