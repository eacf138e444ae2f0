"""A map says of each cell what an answer to that cell's case says, however few were worked out.

The answer's own search is the oracle: it knows nothing of neighbours.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from recommender.choice.decision.ask import Asker
from recommender.choice.decision.decide import price_alone
from recommender.choice.parts.electrical import NEVER
from recommender.inputs.case import Case, make_case
from recommender.inputs.catalogue import Catalogue
from recommender.inputs.given import with_values
from recommender.maps import study, trend
from recommender.maps.over import Over
from recommender.maps.study import map_of, read_inputs
from recommender.recommend import recommend
from recommender.results.map import Map
from recommender.trials.batch import processes

CELLS, MANY_CELLS = 8, 500
WorkedCase = Callable[[str], Any]


def case_at(case: Case, over: tuple[Over, Over], first: int, second: int) -> Case:
    one, other = over
    return with_values(case, {one.key: one.values[first], other.key: other.values[second]})


def differing(
    found: Map, case: Case, over: tuple[Over, Over], catalogue: Catalogue, count: int, seed: int
) -> list[str]:
    """Of some random cells those whose price is not the answer's, within the tolerance."""
    size = len(found.second.values)
    wrong = []
    for number in np.random.default_rng(seed).permutation(len(found.cells))[:count]:
        first, second = divmod(int(number), size)
        cell = found.cell(first, second)
        price, _ = price_alone(case_at(case, over, first, second), catalogue)
        told = None if cell.price is None else int(100 * cell.price)
        if told is None or price is None:
            same = told is price
        else:
            same = abs(told - price) <= found.tolerance * max(told, price)
        if not same:
            wrong.append(f"cell {first}, {second}: {told} for {price}")
    return wrong


@pytest.mark.parametrize(
    ("name", "texts"),
    [
        ("crate", ("mass,rate",)),
        *(
            pytest.param(*entry, marks=pytest.mark.nightly)
            for entry in (
                ("crate", ("mass,reach",)),
                ("two-up", ("mass,rate",)),
                ("nest", ("rate,mass",)),
                ("upright", ("mass,rate",)),
                ("cantilever", ("mass,rate",)),
                ("assembly", ("loop.max_length=8 m to 14 m", "rate")),
                ("batch", ("station.fill.dwell", "rate")),
            )
        ),
    ],
)
def test_random_cells_are_what_answers_say(
    name: str, texts: tuple[str, ...], worked_case: WorkedCase
) -> None:
    worked = worked_case(name)
    over = read_inputs(texts, worked.case, worked.thinned, 9)
    found = map_of(worked.case, over, worked.thinned)
    assert found.options
    assert not differing(found, worked.case, over, worked.thinned, CELLS, seed=3)


@pytest.mark.nightly
@pytest.mark.parametrize("name", ["crate", "two-up"])
def test_many_random_cells_of_a_fine_map_of_the_whole_catalogue(
    name: str, worked_case: WorkedCase
) -> None:
    worked = worked_case(name)
    over = read_inputs((), worked.case, worked.catalogue, 60)
    with processes(2) as executor:
        found = map_of(worked.case, over, worked.catalogue, executor=executor)
    assert found.worked_out < len(found.cells) / 4
    assert not differing(found, worked.case, over, worked.catalogue, MANY_CELLS, seed=7)


def test_what_is_taken_over_has_the_brake_resistors_that_its_cell_asks_for(
    worked_case: WorkedCase,
) -> None:
    """Half the load needs none; the price of the whole load is the answer's own."""
    worked = worked_case("nest")
    chosen, asker = worked.decision.chosen, Asker(worked.catalogue)
    assert chosen is not None
    half = with_values(worked.case, {"load.mass": 0.5 * worked.case.load.mass})
    light = asker.holds(chosen.configuration, half)
    assert light is not None
    heavy = asker.holds(light.configuration, worked.case)
    assert heavy is not None
    assert not light.configuration.resistors
    assert heavy.configuration.resistors == chosen.configuration.resistors != ()
    assert light.price < heavy.price == worked.decision.price


def test_a_cell_and_the_case_itself_are_what_an_answer_in_words_says(
    worked_case: WorkedCase,
) -> None:
    worked = worked_case("crate")
    over = read_inputs(("mass=20 kg to 40 kg,rate=12/min to 20/min",), *_of(worked), 3)
    found = map_of(worked.case, over, worked.thinned)
    for cell, case in (
        (found.asked, worked.case),
        (found.cell(0, 1), case_at(worked.case, over, 0, 1)),
    ):
        choice = recommend(case, worked.thinned, in_brief=True).choice
        assert choice is not None
        assert (cell.option, cell.carriers, cell.price) == (
            choice.id,
            choice.carriers,
            choice.price,
        )


def _of(worked: Any) -> tuple[Case, Catalogue]:
    return worked.case, worked.thinned


@pytest.fixture(scope="module")
def small(worked_case: WorkedCase) -> tuple[Case, tuple[Over, Over], Catalogue, Map]:
    worked = worked_case("crate")
    over = read_inputs((), *_of(worked), 9)
    return worked.case, over, worked.thinned, map_of(worked.case, over, worked.thinned)


def test_it_is_the_same_on_two_processes(
    small: tuple[Case, tuple[Over, Over], Catalogue, Map],
) -> None:
    case, over, catalogue, found = small
    with processes(2) as executor:
        assert map_of(case, over, catalogue, executor=executor) == found


def test_columns_by_themselves_cost_the_same(
    small: tuple[Case, tuple[Over, Over], Catalogue, Map], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As they are worked out when a check has found something cheaper."""
    case, over, catalogue, found = small
    monkeypatch.setattr(study, "_undercut", lambda *_: True)
    alone = map_of(case, over, catalogue)
    assert alone.alone
    assert not found.alone
    assert alone.worked_out > found.worked_out
    for one, other in zip(alone.cells, found.cells, strict=True):
        assert (one.price is None) == (other.price is None)
        if one.price is not None and other.price is not None:
            assert float(one.price) == pytest.approx(float(other.price), rel=found.tolerance)


def test_prices_rise_with_what_is_asked(
    small: tuple[Case, tuple[Over, Over], Catalogue, Map],
) -> None:
    *_, found = small
    prices = np.array([float(cell.price or "inf") for cell in found.cells])
    table = prices.reshape(len(found.first.values), -1)
    below = 1.0 - found.tolerance
    assert (table[1:] >= below * table[:-1]).all()
    assert (table[:, 1:] >= below * table[:, :-1]).all()


def test_what_was_taken_for_granted_wrongly_is_noticed(
    worked_case: WorkedCase, monkeypatch: pytest.MonkeyPatch
) -> None:
    """More acceleration allowed asks for less, not more."""
    worked = worked_case("crate")
    case = worked.case
    over = read_inputs(("limits.acceleration=0.6 m/s^2 to 3 m/s^2,rate",), *_of(worked), 7)
    right = map_of(case, over, worked.thinned)
    monkeypatch.setattr(trend, "_HARDER", {**trend._HARDER, "limits.acceleration": 1})
    noticed = map_of(case, over, worked.thinned)
    assert right.first.harder == "less"
    assert noticed.alone
    assert not right.alone
    assert [cell.price for cell in noticed.cells] == [cell.price for cell in right.cells]


def test_where_a_liquid_sloshes_each_cell_is_asked_as_its_answer_is(
    worked_case: WorkedCase, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Waves are dear to look at: here it counts which cases are asked about."""
    asked: list[Case] = []

    def counted(case: Case, _: Catalogue) -> tuple[None, int]:
        asked.append(case)
        return None, NEVER

    monkeypatch.setattr(study, "cheapest_alone", counted)
    worked = worked_case("tray")
    over = read_inputs((), worked.case, worked.catalogue, None)
    found = map_of(worked.case, over, worked.catalogue)
    cells = [case_at(worked.case, over, i, j) for i in range(10) for j in range(10)]
    assert asked == [*cells, worked.case]
    assert found.worked_out == len(found.cells) + 1
    assert all(cell.option is None and cell.proven for cell in found.cells)


@pytest.mark.nightly
def test_where_a_liquid_sloshes_cells_are_their_answers(worked_case: WorkedCase) -> None:
    worked = worked_case("tray")
    over = read_inputs(("mass=11 kg to 13 kg,rate=6/min to 9/min",), *_of(worked), 3)
    few = tuple(replace(entry, values=entry.values[:: len(entry.values) - 1]) for entry in over)
    inputs = few[0], few[1]
    found = map_of(worked.case, inputs, worked.thinned)
    assert found.alone
    assert found.checked == 0
    assert found.worked_out == len(found.cells) + 1
    assert (found.first.harder, found.second.harder) == ("unknown", "unknown")
    assert not differing(found, worked.case, inputs, worked.thinned, 2, seed=1)


@pytest.mark.nightly
def test_what_is_cheapest_beyond_the_budget_does_not_work(worked_case: WorkedCase) -> None:
    worked = worked_case("crate")
    commercial = worked.case.commercial.model_copy(update={"budget": "46000 EUR"})
    case = worked.case.model_copy(update={"commercial": commercial})
    over = read_inputs((), case, worked.thinned, 5)
    found = map_of(case, over, worked.thinned)
    prices = [cell.price for cell in found.cells if cell.price is not None]
    assert prices
    assert max(prices) <= 46000
    # That nothing is to be had for the money is as sure as a price.
    assert any(cell.price is None and cell.proven for cell in found.cells)
    assert not differing(found, case, over, worked.thinned, 8, seed=5)


@pytest.mark.parametrize(
    ("key", "load", "tooling", "force", "known"),
    [
        ("mass", {}, {}, "0 N", True),
        ("reach", {}, {}, "0 N", True),
        # A process that lifts the load, one that presses it down, a fixture that reaches beyond
        # the load, one that stands higher, and loads that reach inward.
        ("mass", {}, {}, "80 N", False),
        ("mass", {}, {}, "-80 N", True),
        ("mass", {}, {"mass": "2 kg", "reach": "90 mm"}, "0 N", False),
        ("mass", {}, {"mass": "2 kg", "cg_height": "200 mm"}, "0 N", False),
        ("mass", {}, {"mass": "2 kg"}, "0 N", True),
        ("mass", {"reach": "-60 mm"}, {}, "0 N", False),
        # Long loads that reach less meet on the inside of a bend.
        ("reach", {"length": "400 mm", "width": "500 mm"}, {}, "0 N", False),
    ],
)
def test_of_which_inputs_more_is_known_to_cost_as_much(
    key: str,
    load: dict[str, str],
    tooling: dict[str, str],
    force: str,
    known: bool,
    catalogue: Catalogue,
) -> None:
    case = make_case(
        {
            "load": {
                "mass": "3 kg",
                "reach": "60 mm",
                "length": "80 mm",
                "width": "60 mm",
                "held": "clamped",
                **load,
            },
            "tooling": tooling,
            "rate": {"items": "20/min"},
            "station": [
                {"name": "a", "dwell": "1 s", "force": ["0 N", "0 N", force]},
                {"name": "b", "dwell": "1 s"},
            ],
        },
        "a case",
    )
    reach = key if case.load.reach > 0.0 or key != "reach" else "reach=0 mm to 80 mm"
    one, rate = read_inputs((f"{reach},rate",), case, catalogue, 3)
    assert (trend.trend(one, rate, case, catalogue) == 1) is known
    assert trend.trend(rate, one, case, catalogue) == 1
