"""Fleet and rate: limits, arrays and arguments that are refused."""

import numpy as np
import pytest

from recommender.physics.cycle_mean import Edge, largest_cycle_mean
from recommender.physics.exchange import exchange_speed, exchange_time
from recommender.physics.fleet import (
    gap_utilisation,
    least_carriers,
    places,
    places_utilisation,
    room_utilisation,
    station_utilisation,
    waiting_places,
)
from recommender.physics.takt import exact_takt


def test_least_carriers_meet_littles_law_and_no_fewer_do() -> None:
    random = np.random.default_rng(2)
    lap, takt = random.uniform(3.0, 40.0, 500), random.uniform(0.5, 5.0, 500)
    positions = random.integers(1, 4, (500, 3))
    spare = np.sum(positions - 1, axis=-1)
    fleet = least_carriers(lap, positions, takt, 0.1)
    assert np.all(fleet * takt >= lap + spare * takt - 1e-9)
    assert np.all(fleet > spare)
    assert np.all((fleet - 1.0) * takt < lap + spare * takt)


def test_batches_need_more_carriers_than_they_hold_up() -> None:
    assert least_carriers(0.1, [3, 2], 10.0, 1.0) == 4.0


def test_variation_asks_for_more_carriers_the_busier_a_station_is() -> None:
    fleet = least_carriers(20.0, 1, 2.0, [[1.0], [1.8], [1.98], [2.0]], 0.5)
    assert fleet.tolist() == [11.0, 12.0, 23.0, np.inf]
    assert least_carriers(20.0, 1, 2.0, [2.0], 0.0) == 10.0


def test_takts_broadcast_against_stations() -> None:
    takt = np.array([[1.0], [2.0]])
    assert station_utilisation([0.5, 1.0, 1.5], 1, takt).shape == (2, 1, 3)
    assert least_carriers(8.0, [1, 2, 1], takt, 0.5).shape == (2, 1)
    assert places_utilisation([3, 4], [0.5, 0.5], takt, 10.0).shape == (2, 2)
    assert room_utilisation([1.0, 2.0], 0.5, 0.3, [3.0, 4.0], [1, 2], takt).shape == (2, 1, 2)


def test_room_is_refused_to_a_batch_longer_than_its_gap() -> None:
    assert gap_utilisation([2.5, 9.0], [1, 3]).tolist() == [1.2, 1 / 9]
    room = room_utilisation([1.0, 1.0], 0.5, 0.3, [1.5, 9.0], [1, 3], 100.0)
    assert np.isinf(room[0])
    assert room[1] < 1.0


def test_places_shrink_with_the_spacing_in_bends() -> None:
    assert places(10.0, 4.0, 0.5, [0.5, 0.8, np.inf]).tolist() == [20.0, 17.0, 12.0]
    with pytest.raises(ValueError, match="stretch"):
        places(10.0, 11.0, 0.5, 0.6)


def test_exchange_slows_down_near_a_bend() -> None:
    speeds = exchange_speed(2.0, [0.5, 3.0], 1, 0.4, [0.39, 0.4], 0.4)
    assert speeds.tolist() == [0.5, 2.0]
    assert exchange_time(0.4, 1, 0.5, 4.0, 80.0) > exchange_time(0.4, 1, 2.0, 4.0, 80.0)
    with pytest.raises(ValueError, match="positions"):
        exchange_time(0.4, 1.5, 2.0, 4.0, 80.0)


def test_waiting_carriers_are_those_not_on_their_way() -> None:
    assert waiting_places([3, 5, 9], 10.0, 2.0).tolist() == [0.0, 0.0, 4.0]


def test_exact_takt_tells_what_cannot_run() -> None:
    assert np.isinf(exact_takt([1.0, 1.0], 1.0, 0.3, 2.0, 1, 5))  # five on four places
    assert np.isinf(exact_takt([1.0, 1.0], 1.0, 0.3, 9.0, [2, 3], 3))  # two batches unfilled
    assert np.isfinite(exact_takt([1.0, 1.0], 1.0, 0.3, 9.0, [2, 3], 4))
    assert np.isinf(exact_takt([1.0, 1.0], 1.0, 0.3, [1.5, 9.0], [1, 3], 5))  # batch too long


def test_exact_takt_takes_headway_and_lag_of_room() -> None:
    loop = ([1.0, 1.0], 1.0, 0.3, 2.0, 1, 3)
    assert exact_takt(*loop, headway=1.7) == 1.7
    assert exact_takt(*loop, room=lambda _, distance: 3.0 * distance) > exact_takt(*loop)


def test_lag_slows_down_what_holes_hold_up() -> None:
    loop = ([1.0, 1.0], 1.0, 0.3, 4.0, 1)
    prompt, lagging = (
        [exact_takt(*loop, carriers, lag=lag) for carriers in (2, 6, 7)] for lag in (0.0, 0.2)
    )
    assert prompt[0] == lagging[0] == 2.0  # the lap
    assert lagging[1] == prompt[1] == 1.3  # a station
    assert lagging[2] == pytest.approx(1.6)  # the one hole passes eight places
    assert np.isinf(exact_takt(*loop, 8, lag=0.1))  # nobody could start first
    assert np.isfinite(exact_takt(*loop, 8))
    assert places_utilisation(3, [1.0], 2.0, 10.0, lag=2.0) == np.inf
    assert room_utilisation([1.0], 1.0, 0.3, 4.0, 1, 2.0, 0.1) == pytest.approx(3.8 / 10.0)


def test_phase_of_the_batches_matters_in_a_small_fleet() -> None:
    takts = [exact_takt([2.0, 2.0], 1.0, 0.5, 20.0, 2, 4, phase=[0, phase]) for phase in (0, 1)]
    assert takts == [1.5, 3.0]


@pytest.mark.parametrize(
    "change", [{"legs": [-1.0, 1.0]}, {"gaps": 0.0}, {"positions": 1.5}, {"dwells": np.nan}]
)
def test_exact_takt_refuses_impossible_arguments(change: dict[str, object]) -> None:
    loop = {"legs": [1.0, 1.0], "dwells": 1.0, "exchange": 0.3, "gaps": 2.0, "positions": 1}
    with pytest.raises(ValueError, match=next(iter(change))):
        exact_takt(**(loop | change), carriers=2)


def test_cycle_mean_of_separate_cycles_is_the_longest() -> None:
    edges = [Edge(0, 1, 1.0, 1), Edge(1, 0, 2.0, 1), Edge(2, 2, 1.8, 1), Edge(0, 2, 9.0, 1)]
    assert largest_cycle_mean(3, edges) == 1.8


def test_cycle_that_waits_for_itself_never_repeats() -> None:
    assert largest_cycle_mean(2, [Edge(0, 1, 1.0, 0), Edge(1, 0, 1.0, 0)]) == np.inf
    assert largest_cycle_mean(2, [Edge(0, 1, 1.0, -1), Edge(1, 0, 1.0, 2)]) == 2.0
    with pytest.raises(ValueError, match="edge"):
        largest_cycle_mean(2, [Edge(0, 1, 1.0, 1)])
    with pytest.raises(ValueError, match="weights"):
        largest_cycle_mean(1, [Edge(0, 0, -1.0, 1)])
