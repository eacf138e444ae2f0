"""Brake resistors: sized as by hand, never too small, and never cheaper for more."""

from collections.abc import Callable
from itertools import product
from typing import Any

import numpy as np
import pytest

from recommender.choice.parts.braking import link_of, most_returned, resistor_price, resistors_for
from recommender.choice.parts.options import Option, list_options
from recommender.choice.parts.pricing import cents, loop_length
from recommender.inputs.case import Case, read_case
from recommender.inputs.catalogue import BrakeResistor, Catalogue, OrderLine, Supply
from recommender.inputs.files import shipped


@pytest.fixture(scope="module")
def crate() -> Case:
    return read_case(shipped("cases") / "crate.toml")


def option_named(id_: str, case: Case, catalogue: Catalogue) -> Option:
    return next(option for option in list_options(case, catalogue) if option.id == id_)


def with_case(case: Case, table: str, **values: Any) -> Case:
    part = getattr(case, table).model_copy(update=values)
    return case.model_copy(update={table: part})


def test_what_comes_back_is_that_of_a_hand_calculation(crate: Case, catalogue: Catalogue) -> None:
    """bs-180 with 350 N and 17.5 N/√W at 3.6 m/s: 350 N pay, below 3.6·17.5²/2 = 551 N, and return
    1260 W less 400 W of copper. 35.4 kg at 3.6 m/s have 229.4 J. On 3.76 m of guide with
    350/1.25 = 280 N at most 280·3.759/2 = 526.3 J are braked away on a lap, each 10/3 s less the
    reserve of a twentieth in the rate: 526.3·1.05/(10/3) = 165.8 W."""
    option = option_named("bs-180_arc-280_x1", crate, catalogue)
    length = loop_length(option, 1.0)
    found = most_returned(option, crate, catalogue, length)
    assert found.power == pytest.approx(1260.0 - 400.0)
    assert found.energy == pytest.approx(229.4, abs=0.05)
    assert float(length) == pytest.approx(3.759, abs=5e-4)
    assert float(found.mean) == pytest.approx(165.8, abs=0.05)


def test_the_smallest_sizes_that_do_are_bought(crate: Case, catalogue: Catalogue) -> None:
    """Against counting up: any number of pieces of each size, the cheapest that covers."""
    rng = np.random.default_rng(8)
    options = list_options(crate, catalogue)
    link = min(0.5 * s.link_capacitance * (390.0**2 - 325.0**2) for s in catalogue.supply)
    for _ in range(300):
        option = options[rng.integers(len(options))]
        straight, carriers = float(rng.uniform(0.4, 10.0)), int(rng.integers(1, 60))
        returned = most_returned(option, crate, catalogue, loop_length(option, straight))
        kind, pieces = resistors_for(option, crate, catalogue, straight, carriers)
        prices = []
        for part, count in product(catalogue.brake_resistor, range(1, 60)):
            if (
                count * part.pulse_energy >= carriers * returned.energy - link
                and count * part.peak_power >= carriers * returned.power
                and count * part.mean_power >= float(returned.mean)
            ):
                prices.append(count * cents(part.price))
        none = carriers * returned.energy <= link
        price = int(pieces) * cents(catalogue.brake_resistor[int(kind)].price)
        assert price == (0 if none else min(prices))
        assert price == int(resistor_price(option, crate, catalogue, straight, carriers))


def test_more_is_never_cheaper(crate: Case, catalogue: Catalogue) -> None:
    """More carriers, a longer loop, a heavier load or a higher rate; the limits of the motion do
    not move it, so that lifting one never makes an option dearer."""
    number = np.arange(1, 81)
    straights = np.linspace(0.4, 12.0, 30)
    for option in list_options(crate, catalogue)[::5]:
        along = resistor_price(option, crate, catalogue, 2.0, number)
        assert np.all(np.diff(along) >= 0)
        longer = resistor_price(option, crate, catalogue, straights, 6)
        assert np.all(np.diff(longer) >= 0)
        heavier = with_case(crate, "load", mass=60.0)
        quicker = with_case(crate, "rate", items=2.0 * crate.rate.items)
        for case in (heavier, quicker):
            assert np.all(resistor_price(option, case, catalogue, 2.0, number) >= along)
        freed = with_case(crate, "limits", acceleration=None, speed=None)
        slowed = with_case(crate, "limits", acceleration=0.5, speed=0.3)
        for case in (freed, slowed):
            assert np.array_equal(resistor_price(option, case, catalogue, 2.0, number), along)


def test_a_light_fleet_is_held_by_the_dc_link(
    crate: Case, catalogue: Catalogue, altered: Callable[..., Catalogue]
) -> None:
    """By hand: 4.7 mF from 325 V to 390 V take 109.2 J; 3.37 kg at 3.6 m/s bring 21.8 J each, so
    five carriers need nothing and six do. Supplies that take back all braking energy need none."""
    small = catalogue.supply[0]
    assert link_of(small) == pytest.approx(109.22, abs=0.01)
    light = with_case(with_case(crate, "load", mass=2.5), "tooling", mass=0.01)
    option = option_named("std-68_arc-280_x1", light, catalogue)
    assert option.carrier.mass == 0.86
    _, pieces = resistors_for(option, light, catalogue, 1.0, np.arange(1, 12))
    assert (pieces == 0).tolist() == [True] * 5 + [False] * 6
    taken = catalogue.rules.model_copy(update={"recovered": 1.0})
    back = altered(catalogue, rules=taken)
    assert not resistors_for(option, light, back, 1.0, np.arange(1, 80))[1].any()
    assert not resistor_price(option, light, altered(catalogue, brake_resistor=()), 1.0, 50)


def test_what_comes_down_on_an_upright_loop_counts(catalogue: Catalogue) -> None:
    """A lap lets a carrier down by the distance of the two runs: 2·0.28 m on a plain arc.

    Laps end at the rate that is asked with its reserve of a twentieth.
    """
    case = read_case(shipped("cases") / "upright.toml")
    flat = with_case(case, "loop", plane="flat")
    option = option_named("std-68_arc-280_x1", case, catalogue)
    up, level = (most_returned(option, c, catalogue, np.array(3.0)) for c in (case, flat))
    mass = option.carrier.mass + case.load.mass + case.tooling.mass
    fall = mass * 9.80665 * 0.56
    assert up.energy - level.energy == pytest.approx(fall)
    assert float(up.mean - level.mean) == pytest.approx(fall * 1.05 * case.rate.items)


@pytest.mark.parametrize(
    ("model", "values", "said"),
    [
        (OrderLine, {"per": "metre", "of": "carrier"}, "of and roller go with per"),
        (OrderLine, {"per": "station", "roller": "v-22"}, "of and roller go with per"),
        (OrderLine, {"per": "fortnight"}, "per"),
        (OrderLine, {"per": "order", "pieces": 0}, "pieces"),
        (BrakeResistor, {"pulse_energy": "2 kW"}, "energy"),
        (Supply, {"link_voltage": "400 V", "brake_voltage": "390 V"}, "below link_voltage"),
    ],
)
def test_entries_that_cannot_be_are_refused(model: Any, values: dict[str, Any], said: str) -> None:
    whole = {"id": "x", "description": "x", "price": "1.00", "lead_time": "1 weeks"}
    powers = {"mean_power": "1 W", "peak_power": "1 W"}
    rest = {
        OrderLine: {"item": "x", "per": "order"},
        BrakeResistor: {"pulse_energy": "1 J", **powers},
        Supply: {"max_sections": 1, **powers},
    }[model]
    assert model.model_validate({**whole, **rest}).id == "x"
    with pytest.raises(ValueError, match=said):
        model.model_validate({**whole, **rest, **values})
