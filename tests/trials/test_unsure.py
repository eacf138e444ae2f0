"""Inputs that are not sure: what is read, what is drawn, what is refused."""

import numpy as np
import pytest
from scipy import stats

from recommender.faults import InputError
from recommender.inputs.case import make_case
from recommender.inputs.given import with_values
from recommender.trials.unsure import USUAL, Unsure, quantiles, read_unsure

CASE = make_case(
    {
        "load": {"mass": "30 kg", "friction": 0.4},
        "rate": {"items": "18/min"},
        "station": [{"name": "a.b", "dwell": "1 s"}, {"name": "c", "dwell": "2 s"}],
    },
    "a case",
)


def test_a_normal_input_is_one_cut_at_three_deviations() -> None:
    """Against the truncated normal distribution of scipy."""
    unsure = Unsure("load.mass", 27.0, 33.0, normal=True)
    levels = np.linspace(0.0, 1.0, 41)
    expected = stats.truncnorm(-3.0, 3.0, loc=30.0, scale=1.0).ppf(levels)
    assert unsure.at(levels) == pytest.approx(expected, abs=1e-9)


def test_draws_fill_every_part_of_every_input_once_and_come_again() -> None:
    drawn = quantiles(500, 3, seed=7)
    assert drawn.shape == (500, 3)
    for column in drawn.T:
        assert sorted((column * 500).astype(int)) == list(range(500))
    assert np.array_equal(drawn, quantiles(500, 3, seed=7))
    assert not np.array_equal(drawn, quantiles(500, 3, seed=8))
    # No input tells anything of another.
    assert np.abs(np.corrcoef(drawn.T) - np.eye(3)).max() < 0.15


def test_inputs_are_read_as_they_are_said() -> None:
    found = read_unsure(
        ["load.mass=±10 %", "load.friction=0.3 to 0.5", "dwell=+-20%", "rate.items=normal 2 %"],
        CASE,
    )
    assert [(u.key, u.normal) for u in found] == [
        ("load.mass", False),
        ("load.friction", False),
        ("station.a.b.dwell", False),
        ("station.c.dwell", False),
        ("rate.items", True),
    ]
    ends = [end for u in found for end in (u.low, u.high)]
    asked = [27.0, 33.0, 0.3, 0.5, 0.8, 1.2, 1.6, 2.4, 0.3 * 0.94, 0.3 * 1.06]
    assert ends == pytest.approx(asked)
    assert found[0].taken == "30 kg ± 10 %"
    assert found[1].taken == "0.3 to 0.5"


def test_what_is_said_last_of_an_input_counts() -> None:
    found = read_unsure(["dwell=±20 %", "station.c.dwell=1.9 s to 2.2 s"], CASE)
    assert [u.taken for u in found] == ["1 s ± 20 %", "1.9 s to 2.2 s"]


def test_without_a_word_the_usual_inputs_are_taken() -> None:
    assert len(read_unsure([], CASE)) == len(USUAL) + 1
    nested = CASE.model_copy(update={"load": CASE.load.model_copy(update={"held": "nested"})})
    assert "load.friction" not in {unsure.key for unsure in read_unsure([], nested)}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("load.mass", "must be a key with its spread"),
        ("=±10 %", "must be a key with its spread"),
        ("load.mass=heavy", "must be a key with its spread"),
        ("load.mass=20 kg to", "must be a key with its spread"),
        ("load.mass=20 kg to 30 m", "mass"),
        ("load.mass=40 kg to 20 kg", "the first end must be the lower one"),
        ("load.mass=±100 %", "leave load.mass above 0"),
        ("load.mass=±0 %", "must be above 0"),
        ("load.mass=normal 40 %", "leave load.mass above 0"),
        ("load.mas=±10 %", "the nearest are load.mass"),
        ("load.friction=0.4 to 1.9", "load.friction"),
        ("load.friction=0.4 to nan", "the first end must be the lower one"),
        ("site.ambient=±10 %", "a temperature has no share"),
        ("rate.reserve=±10 %", "is no number of this case"),
    ],
)
def test_what_is_no_input_is_refused_with_what_would_do(text: str, told: str) -> None:
    with pytest.raises(InputError, match=r"^--vary") as refused:
        read_unsure([text], CASE)
    assert told in str(refused.value)


def test_values_are_put_where_they_belong() -> None:
    changed = with_values(CASE, {"load.mass": 31.0, "station.a.b.dwell": 1.5})
    assert changed.load.mass == 31.0
    assert [station.dwell for station in changed.station] == [1.5, 2.0]
    assert CASE.load.mass == 30.0
