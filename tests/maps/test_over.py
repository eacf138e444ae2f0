"""The two inputs of a map: what is read, and what is refused with which words."""

import pytest

from recommender.faults import InputError
from recommender.inputs.case import make_case
from recommender.maps.over import read_over

CASE = make_case(
    {
        "load": {"mass": "30 kg", "friction": 0.4},
        "rate": {"items": "18/min"},
        "station": [{"name": "a.b", "dwell": "1 s"}, {"name": "c", "dwell": "2 s"}],
    },
    "a case",
)


def test_inputs_come_together_or_one_by_one() -> None:
    together = read_over(["mass=10 kg to 60 kg,rate=6/min to 40/min"], CASE, 5)
    apart = read_over(["load.mass=10 kg to 60 kg", "rate.items=6/min to 40/min"], CASE, 5)
    assert together == apart
    mass, rate = together
    assert mass.values == (10.0, 22.5, 35.0, 47.5, 60.0)
    assert mass.asked == 30.0
    assert rate.values[-1] * 60.0 == pytest.approx(40.0)


def test_without_a_range_it_goes_from_a_third_to_five_thirds_in_round_numbers() -> None:
    mass, rate = read_over([], CASE, 3)
    assert (mass.key, mass.values[0], mass.values[-1]) == ("load.mass", 10.0, 50.0)
    assert [round(60.0 * value, 9) for value in rate.values] == [6.0, 18.0, 30.0]


def test_any_number_of_the_case_will_do() -> None:
    dwell, friction = read_over(["station.a.b.dwell", "load.friction=0.2 to 0.6"], CASE, 3)
    assert dwell.values == pytest.approx((0.33, 1.015, 1.7))
    assert friction.values == pytest.approx((0.2, 0.4, 0.6))
    given, _ = read_over(["limits.speed=0.5 m/s to 2 m/s,mass"], CASE, 3)
    assert given.asked is None


@pytest.mark.parametrize(
    ("texts", "says"),
    [
        (["mass"], 'must be two inputs, such as mass,rate or load.mass="10 kg to 60 kg"'),
        (["mass", "rate", "reach"], "must be two inputs"),
        (["mass,load.mass"], "names load.mass twice"),
        (["mas,rate"], '"mas" is no number of this case; the nearest are mass, load.mass'),
        (["load.held,rate"], '"load.held" is no number of this case'),
        (["reach,rate"], "load.reach is 0 mm in this case, which makes no range; write one, such"),
        (["limits.speed,rate"], "limits.speed is not given in this case"),
        (
            ["mass=10 kg,rate"],
            'the range of load.mass must be two values, such as "30 kg to 60 kg"',
        ),
        (["mass=10 to 60,rate"], "the range of load.mass must be two values"),
        (["mass=60 kg to 10 kg,rate"], "the range of load.mass must begin with the lower end"),
        (["load.friction=0.1 to nan,rate"], "the range of load.friction must begin with"),
        (["load.friction=0.5 to 9,rate"], "load.friction must be at most 1.5"),
        (["mass=0 kg to 9 kg,rate"], "load.mass must be greater than 0"),
    ],
)
def test_what_makes_no_map_is_refused(texts: list[str], says: str) -> None:
    with pytest.raises(InputError) as refused:
        read_over(texts, CASE, 5)
    assert says in str(refused.value)
    assert str(refused.value).startswith("--over")


@pytest.mark.parametrize("points", [-1, 2, 101])
def test_too_few_points_and_too_many_are_refused(points: int) -> None:
    with pytest.raises(InputError, match=r"--points must be from 3 to 100 \(read: -?\d+\)"):
        read_over([], CASE, points)
