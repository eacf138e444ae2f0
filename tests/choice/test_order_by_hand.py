"""Braking energy and power of what is ordered, added up part by part."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks.order import _link, _mean_power, _stop_energy
from recommender.choice.loop.built import setting_of
from recommender.choice.loop.layout import LayoutContext, placed_on
from recommender.choice.loop.power import hop_energy, hop_speed, queue_energy
from recommender.choice.parts.configuration import Motion
from recommender.choice.parts.options import list_options
from recommender.choice.parts.price_book import PriceBook
from recommender.inputs.case import make_case
from recommender.inputs.catalogue import Catalogue
from recommender.physics.braking import mean_braking_power

CASE = make_case(
    {
        "load": {"mass": "3 kg"},
        "rate": {"items": "20/min"},
        "station": [{"name": "a", "dwell": "0.4 s"}, {"name": "b", "dwell": "1.6 s"}],
    },
    "test",
)


@pytest.fixture(scope="module")
def layout(catalogue: Catalogue) -> LayoutContext:
    option = next(o for o in list_options(CASE, catalogue) if o.carrier.id.startswith("std"))
    about = OptionContext(option, CASE, catalogue)
    price_book = PriceBook(CASE, catalogue, catalogue.rules.longest_loop)
    build = min(price_book.builds(), key=lambda each: abs(each.length - 2.0))
    setting = setting_of(about, Motion(1.5, 30.0, 0.8, 0.4))
    return LayoutContext(placed_on(about, build)[0], setting, 6)


def context_of(layout: LayoutContext, carriers: int = 6, speed: float = 0.8) -> Any:
    configuration = SimpleNamespace(carriers=carriers, motion=SimpleNamespace(speed=speed))
    return SimpleNamespace(layout=layout, configuration=configuration)


def test_links_add_up_by_their_number(catalogue: Catalogue) -> None:
    first, second = catalogue.supply[0], catalogue.supply[-1]
    context: Any = SimpleNamespace(supplies=lambda: [(first, 2), (second, 3)])
    expected = 0.0
    for part, count in ((first, 2), (second, 3)):
        upper, lower = part.brake_voltage, part.link_voltage
        expected += count * 0.5 * part.link_capacitance * (upper**2 - lower**2)
    assert _link(context) == pytest.approx(expected)
    assert expected > 0.0


def test_a_stop_of_all_carriers_returns_what_they_have(layout: LayoutContext) -> None:
    about = layout.about
    mass = about.option.carrier.mass + 3.0
    expected = 6 * mass * 0.5 * 0.8**2 * (1.0 - about.rules.recovered)
    assert _stop_energy(context_of(layout)) == pytest.approx(expected)


def test_mean_power_is_that_of_all_changes_of_speed_on_a_lap(layout: LayoutContext) -> None:
    about, lap, plan = layout.about, layout.lap, layout.on.plan
    mass = about.option.carrier.mass + 3.0
    braked = 0.0
    for leg in plan.order:
        braked += 0.5 * mass * float(lap.peak[leg, 0] ** 2 - lap.end[leg, 0] ** 2)
    each = float(hop_energy(layout.setting)[0])
    hops = float(queue_energy(layout)[0]) / each
    braked += hops * 0.5 * mass * float(hop_speed(layout.setting)[0]) ** 2
    found = _mean_power(context_of(layout))
    assert found == pytest.approx((1.0 - about.rules.recovered) * braked / about.takt)
    assert hops > 0.5
    assert np.isfinite(found)


def test_no_more_comes_back_than_the_force_can_brake(
    layout: LayoutContext, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However long the queues are, a carrier brakes on the guide alone, at its own force."""
    about = layout.about
    mass = about.option.carrier.mass + 3.0
    endless = 1e6 * hop_energy(layout.setting)
    monkeypatch.setattr("recommender.choice.checks.order.queue_energy", lambda _: endless)
    most = float(mean_braking_power(mass * 1.5, layout.on.loop.length, about.takt))
    found = _mean_power(context_of(layout))
    assert found == pytest.approx((1.0 - about.rules.recovered) * most)
